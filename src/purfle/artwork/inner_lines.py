"""Drawn lines that lie inside one area alone (a mouth, a whisker): kept, dropped, or made stringing, as the maker says.

A line that is dropped becomes part of the area that it lies in; one that is made stringing is replaced by a strip of
even width and of its own wood. Both give and take whole outlines, so that areas tile their frame as they did.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import Polygon

from purfle.artwork.drawing import arcs_of
from purfle.artwork.outlines import lines_inside, mean_width
from purfle.artwork.picking import Picker, called, said
from purfle.artwork.strips import room_along, strip_along
from purfle.errors import Fault, JobFileError
from purfle.model.artwork import Area, Areas, LineWish
from purfle.model.findings import Finding
from purfle.model.pieces import FitRule
from purfle.tolerances import TOUCHING
from purfle.wood import find, known_as

WHERE = "[areas.lines]"
AS_DRAWN = f"Take it out of {WHERE} to have it as drawn."
STRIP_NAME = "stringing"
CUTTER_PLAY = 0.006
"""A recess is wider than its cutter by this at least, mm: both its sides as drawn stand 0.003 mm off the cutter's."""
ROUNDED_UP = 0.005
"""Half of the last figure told (mm), so that a width rounded to it is none too small."""


@dataclass(frozen=True, slots=True)
class InnerLine:
    """A line inside one area: the line, the area that it lies in, and its mean width in the unit of the areas."""

    line: Area
    host: Area
    width: float


def inner_lines(areas: Sequence[Area], ground: frozenset[int]) -> list[InnerLine]:
    """Every drawn line inside one area, in the order of their numbers; stringing made of one is none."""
    found = lines_inside(areas, ground)
    return [InnerLine(line, host, mean_width(line.region)) for line, host in found if not line.wood]


def with_lines_chosen(areas: Areas, picker: Picker, wishes: Sequence[LineWish]) -> tuple[Areas, list[Finding]]:
    """The areas with every line inside one area as the maker wishes it; what was done is told.

    Raises: JobFileError with every wish that meets no such line, speaks against another, or leaves a strip no room.
    """
    lines = {one.line.number: one for one in inner_lines(picker.areas, areas.ground)}
    chosen = _chosen(picker, wishes, lines)
    _check_room(picker, [(lines[number], wish) for number, wish in chosen.items() if wish.way == "stringing"])
    if picker.faults:
        raise JobFileError.of(picker.faults)
    made = _made(picker, lines, chosen)
    told = [_told(picker, lines[number], wish) for number, wish in sorted(chosen.items()) if wish.way != "keep"]
    if not chosen:
        what = "No line lies inside one area alone."
        told = [Finding("note", what, WHERE, "Nothing to mend.", "artwork")]
    dropped = {number for number, wish in chosen.items() if wish.way == "drop"}
    left = [number for number in range(len(made)) if number not in dropped]
    kept = tuple(replace(made[number], number=place) for place, number in enumerate(left))
    ground = frozenset(place for place, number in enumerate(left) if number in areas.ground)
    return replace(areas, areas=kept, arcs=arcs_of(kept), ground=ground), told


def lines_told(areas: Areas, design: tuple[float, float, float, float], scale: float) -> list[Finding]:
    """Every line inside one area of which nothing was said, and what may be made of it. `scale`: mm in a unit."""
    notes = []
    for one in inner_lines(areas.areas, areas.ground):
        if one.line.settled:
            continue
        point = one.line.region.representative_point()
        place = f"{(point.x - design[0]) * scale:.1f}, {(point.y - design[1]) * scale:.1f}"
        written = place.replace(",", " mm,") + " mm"  # told in the maker's unit, as a job file takes it
        width = f"{one.width * scale:.1f} mm"
        what = f"A line {width} wide lies inside {called(one.host)}; it is a piece of its own."
        mend = (
            f'Say in {WHERE} what becomes of it: "{written}" = "keep", "drop", or '
            f'{{ stringing = "holly", width = "{width}" }}.'
        )
        notes.append(Finding("note", what, f"the line at {place} mm", mend, "artwork"))
    return notes


def strip_told(name: str, width: float, rule: FitRule) -> Finding:
    """How wide a strip of stringing comes out (mm), and whether its cutter can make its recess at all."""
    half, cutter = rule.seam / 2.0, 2.0 * rule.cutter_radius
    least = max(cutter - rule.seam + CUTTER_PLAY, rule.thinnest)
    where = f'"{name}"'
    if width >= least:
        what = (
            f'The strip "{name}" is cut {width - 2.0 * half:.2f} mm wide, its recess {width + 2.0 * half:.2f} mm wide.'
        )
        return Finding("note", what, where, "Nothing to mend.", "artwork")
    why = f"its cutter, {cutter:.2f} mm, goes into no recess that narrow"
    mend = f'Give it width = "{least + ROUNDED_UP:.2f} mm" or more in {WHERE}'
    if cutter - rule.seam + CUTTER_PLAY <= rule.thinnest:
        why = f"a piece narrower than {rule.thinnest:.2f} mm breaks as it is cut"
    elif width >= rule.thinnest:
        mend += f", or a cutter of {width + rule.seam - CUTTER_PLAY - ROUNDED_UP:.2f} mm or less in [cutters]"
    what = f'The strip "{name}", {width:.2f} mm wide, is too narrow: {why}, so it will be lost.'
    return Finding("look", what, where, f"{mend}.", "artwork")


def _chosen(picker: Picker, wishes: Sequence[LineWish], lines: dict[int, InnerLine]) -> dict[int, LineWish]:
    """What is wished of each line: names and points outrank colours, which outrank "all"."""
    ranks: tuple[dict[int, LineWish], ...] = ({}, {}, {})
    for wish in wishes:
        which = wish.which
        if which is None:
            rank, numbers = 0, list(lines)
        else:
            rank = 1 if not isinstance(which, str) and len(which) == 3 else 2
            picked = picker.pick(which, WHERE)
            numbers = [number for number in picked if number in lines]
            if picked and not numbers:
                picker.faults.append(_no_line(picker, wish, lines))
        for number in numbers:
            other = ranks[rank].get(number, wish)
            if replace(other, which=which) != wish:
                what = f"Two things are said of the line at {picker.place_in(picker.areas[number])}."
                picker.faults.append(Fault(what, WHERE, "Keep one of them."))
            ranks[rank][number] = wish
    return {**ranks[0], **ranks[1], **ranks[2]}


def _no_line(picker: Picker, wish: LineWish, lines: dict[int, InnerLine]) -> Fault:
    assert wish.which is not None, "all lines are lines"
    places = ", ".join(f'"{picker.place_in(one.line)}"' for one in lines.values())
    mend = f"Lines inside one area lie at {places}." if places else "No line lies inside one area; take this out."
    at_point = not isinstance(wish.which, str) and len(wish.which) == 2
    what = f"{'What lies at ' if at_point else ''}{said(wish.which)} is no line inside one area."
    return Fault(what, WHERE, mend)


def _check_room(picker: Picker, wanted: Sequence[tuple[InnerLine, LineWish]]) -> None:
    """A fault for every strip that would run out of its area, or into another strip."""
    strips: list[tuple[InnerLine, Polygon]] = []
    for one, wish in wanted:
        within = _whole(one.host, [one])
        strip = _strip(picker, one, wish)
        room = room_along(one.line.region, within) * picker.mm_per_unit
        beside = [other for other, region in strips if strip.dwithin(region, TOUCHING)]
        if beside or strip.interiors or not strip.within(within) or strip.dwithin(within.boundary, TOUCHING):
            into = "another line" if beside or strip.interiors else f"the edge of {called(one.host)}"
            what = f"Stringing {_width(picker, one, wish):.1f} mm wide runs into {into}."
            mend = f"Give it less width: the line is {one.width * picker.mm_per_unit:.1f} mm wide as drawn"
            mend += "." if beside or strip.interiors else f", and there is room for {room:.1f} mm."
            picker.faults.append(Fault(what, f"{WHERE}, the line at {picker.place_in(one.line)}", mend))
        strips.append((one, strip))


def _whole(host: Area, lines: Sequence[InnerLine]) -> Polygon:
    """An area together with lines inside it, which are holes of it."""
    (whole,) = shapely.get_parts(shapely.coverage_union_all([host.region, *(one.line.region for one in lines)]))
    assert isinstance(whole, Polygon)
    return whole


def _strip(picker: Picker, one: InnerLine, wish: LineWish) -> Polygon:
    """The strip along a line, of the width wished for, else as wide as the line is on average."""
    parts = shapely.get_parts(strip_along(one.line.region, _width(picker, one, wish) / picker.mm_per_unit))
    return max(parts, key=lambda part: part.area)


def _width(picker: Picker, one: InnerLine, wish: LineWish) -> float:
    """The width of a strip, mm."""
    return wish.width or one.width * picker.mm_per_unit


def _made(picker: Picker, lines: dict[int, InnerLine], chosen: dict[int, LineWish]) -> list[Area]:
    """All areas, under the same numbers, with what is wished done; those that are dropped still stand in the list."""
    made = list(picker.areas)
    taken = {area.name for area in made}
    changed: dict[int, list[InnerLine]] = {}
    for number, wish in sorted(chosen.items()):
        one = lines[number]
        if wish.way == "keep":
            made[number] = replace(one.line, settled=True)
            continue
        changed.setdefault(one.host.number, []).append(one)
        if wish.way == "stringing":
            name = one.line.name or _free_name(taken)
            taken.add(name)
            strip = shapely.orient_polygons(_strip(picker, one, wish))
            width = _width(picker, one, wish) / picker.mm_per_unit
            made[number] = Area(number, one.line.colour, strip, name, find(wish.wood).id, width, settled=True)
    for host, those in changed.items():
        whole = _whole(made[host], those)
        strips = [made[one.line.number].region.exterior for one in those if chosen[one.line.number].way == "stringing"]
        made[host] = replace(made[host], region=Polygon(whole.exterior, [*whole.interiors, *strips]))
    return made


def _free_name(taken: set[str]) -> str:
    """ "stringing", "stringing 2", and so on."""
    name, count = STRIP_NAME, 1
    while name in taken:
        count += 1
        name = f"{STRIP_NAME} {count}"
    return name


def _told(picker: Picker, one: InnerLine, wish: LineWish) -> Finding:
    """What was done with one line."""
    where = f"the line at {picker.place_in(one.line)}"
    if wish.way == "drop":
        what = f"Dropped: the line at {picker.place_in(one.line)} belongs to {called(one.host)} now."
        return Finding("note", what, where, AS_DRAWN, "artwork")
    width = one.width * picker.mm_per_unit
    wood = known_as(find(wish.wood).id)
    what = f"Stringing of {wood}, {_width(picker, one, wish):.1f} mm wide, runs inside {called(one.host)} along a line "
    return Finding("note", what + f"drawn {width:.1f} mm wide.", where, AS_DRAWN, "artwork")
