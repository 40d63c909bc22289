"""From areas to drawn areas at true size, each with its wood and its name."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point

from purfle.artwork.colour import ciede2000, lab_of
from purfle.artwork.picking import taken
from purfle.errors import Fault, JobFileError, PictureError
from purfle.model.artwork import Area, Areas, Colour, Which
from purfle.model.findings import Finding
from purfle.model.pieces import DrawnArea
from purfle.units import in_mm
from purfle.wood import known_as

Assignment = tuple[Which, str]

COLOUR_WITHIN = 10.0
"""A wood assigned by colour goes to the drawn colour nearest to it, no further off than this (CIEDE2000)."""
FAR_OFF = 25.0
"""A wood chosen for a colour that differs more than this (CIEDE2000) does not look like it: worth a look."""


@dataclass(frozen=True, slots=True)
class ChosenWoods:
    """The drawn areas in mm, origin at the design's lower left corner, and what was noticed while choosing."""

    areas: tuple[DrawnArea, ...]
    findings: tuple[Finding, ...]


def design_size(areas: Areas) -> tuple[float, float]:
    """Width and height of everything that is let in, in the unit of `areas`; the ground does not count."""
    left, low, right, high = design_bounds(areas)
    return right - left, high - low


def choose_woods(
    areas: Areas,
    mm_per_unit: float,
    woods: Sequence[tuple[str, Colour]],
    assignments: tuple[Assignment, ...],
    meant: Mapping[str, str] = MappingProxyType({}),
) -> ChosenWoods:
    """Every area that is not ground, at true size, with the wood that looks most like its colour among `woods`.

    `assignments` come first: by area name, then by a point inside it (mm from the design's lower left corner), then
    by colour. `meant`: the wood that an area's own name stands for, where nothing is
    assigned (a layer called after its wood). Raises JobFileError with every assignment that fits nothing.
    """
    if not 0.0 < mm_per_unit < float("inf"):
        raise JobFileError(f"The scale {mm_per_unit!r} is not above zero.", "height of the picture", "Give a height.")
    if not woods:
        mend = "Put an offcut on the rack in the shop file."
        raise JobFileError("There is no wood on the rack to choose from.", "shop file", mend)
    drawn = [area for area in areas.areas if area.number not in areas.ground]
    regions = _regions_mm(areas, drawn, mm_per_unit)
    faults: list[Fault] = []
    drawn_names = [area.name for area in drawn]
    gone = dict(areas.gone)
    faults += [taken(one, gone[one], f'wood "{wood}" for it') for one, wood in assignments if one in gone]
    usable = tuple(one for one in assignments if one[0] not in gone)
    assigned = _assigned(drawn, drawn_names, regions, usable, faults)
    stocked = {name for name, _ in woods}
    strips = [(area.name, area.wood) for area in drawn if area.wood]
    faults += [_not_on_rack(which, wood, woods) for which, wood in (*assignments, *strips) if wood not in stocked]
    if faults:
        raise JobFileError.of(faults)
    nearest = _nearest_woods(sorted({area.colour for area in drawn}), woods)
    assigned = {place: meant[area.name] for place, area in enumerate(drawn) if area.name in meant} | assigned
    chosen = [area.wood or assigned.get(place, nearest[area.colour][0]) for place, area in enumerate(drawn)]
    full_names = _full_names(drawn_names, chosen)
    result = tuple(
        DrawnArea(name, wood, area.colour, region, apart=bool(area.wood))
        for name, wood, area, region in zip(full_names, chosen, drawn, regions, strict=True)
    )
    by_choice = [area.colour for place, area in enumerate(drawn) if place not in assigned and not area.wood]
    twice = [*_said_twice(usable, drawn_names, regions), *_said_of_strips(drawn, regions, usable)]
    return ChosenWoods(result, (*twice, *_findings(by_choice, nearest)))


def design_bounds(areas: Areas) -> tuple[float, float, float, float]:
    """Bounds of everything that is let in, before it was edited, in the unit of `areas`."""
    drawn = [area.region for area in areas.areas if area.number not in areas.ground]
    if drawn and areas.design is not None:
        return areas.design
    if not drawn:
        mend = "Choose another ground colour, or another picture."
        raise PictureError("Nothing is left to let in: every area is ground.", "the picture", mend)
    left, low, right, high = shapely.total_bounds(np.array(drawn, dtype=object))
    return float(left), float(low), float(right), float(high)


def _regions_mm(areas: Areas, drawn: list[Area], mm_per_unit: float) -> list[shapely.Polygon]:
    left, low, _, _ = design_bounds(areas)
    origin = np.array([left, low])

    def to_mm(points: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray((points - origin) * mm_per_unit)

    return [shapely.transform(area.region, to_mm) for area in drawn]


def _at(regions: list[shapely.Polygon], place: tuple[float, float]) -> int | None:
    """Which region a point lies in, the first one where it lies on a boundary; None: on bare ground."""
    point = Point(place)
    return next((number for number, region in enumerate(regions) if region.covers(point)), None)


def _on_ground(place: tuple[float, float], use: str) -> Fault:
    mend = "Give a point inside an area, measured from the lower left corner of the design."
    return Fault(f"No area lies at {_told(place)}.", f"{use} at that point", mend)


def _told(place: tuple[float, float]) -> str:
    """A point that the maker wrote, fine enough to come back as it was written."""
    return in_mm(*place)


def _assigned(
    drawn: list[Area],
    drawn_names: list[str],
    regions: list[shapely.Polygon],
    assignments: tuple[Assignment, ...],
    faults: list[Fault],
) -> dict[int, str]:
    """Wood by area. Names outrank points, points outrank colours; later ones outrank earlier ones of their kind."""
    ranks: tuple[dict[int, str], ...] = ({}, {}, {})
    for which, wood in assignments:
        if isinstance(which, str):
            rank, places = 2, [number for number, name in enumerate(drawn_names) if name == which]
            if not places:
                known = ", ".join(sorted({name for name in drawn_names if name})) or "none has a name yet"
                mend = f"Use one of the names of the areas ({known}), or a colour or a point."
                faults.append(Fault(f'No area is called "{which}".', f'wood "{wood}" for it', mend))
        elif len(which) == 2:
            number = _at(regions, which)
            rank, places = 1, [] if number is None else [number]
            if number is None:
                faults.append(_on_ground(which, f'wood "{wood}"'))
        else:
            rank, places = 0, _of_colour(drawn, which)
            if not places:
                faults.append(_no_such_colour(drawn, which, wood))
        ranks[rank].update(dict.fromkeys(places, wood))
    return {**ranks[0], **ranks[1], **ranks[2]}


def _said_twice(
    assignments: tuple[Assignment, ...], drawn_names: list[str], regions: list[shapely.Polygon]
) -> list[Finding]:
    """What is told where a point says another wood for an area than its name does, which outranks it."""
    by_name = {which: wood for which, wood in assignments if isinstance(which, str)}
    found = []
    for which, wood in assignments:
        if isinstance(which, str) or len(which) != 2:
            continue
        number = _at(regions, which)
        if number is not None and by_name.get(drawn_names[number], wood) != wood:
            name = drawn_names[number]
            two = f"{by_name[name]} by its name, {wood} by a point in it"
            what = f'Two woods are said for "{name}": {two}. The name counts.'
            mend = "Take one of the two lines out of [woods]."
            found.append(Finding("look", what, f"wood for {_told(which)}", mend, "artwork"))
    return found


def _said_of_strips(
    drawn: list[Area], regions: list[shapely.Polygon], assignments: tuple[Assignment, ...]
) -> list[Finding]:
    """What is told where stringing made of a line is given another wood by its name or by a point in it."""
    found = []
    for which, wood in assignments:
        if isinstance(which, str):
            meant = [area for area in drawn if area.name == which]
        else:
            number = _at(regions, which) if len(which) == 2 else None
            meant = [] if number is None else [drawn[number]]
        for area in [area for area in meant if area.wood not in ("", wood)]:
            what = f'Two woods are said for "{area.name}": {area.wood} in [areas.lines], {wood} in [woods]. '
            mend = "Take it out of [woods]."
            found.append(Finding("look", what + "The first counts.", f"wood for {area.name}", mend, "artwork"))
    return found


def _of_colour(drawn: list[Area], wanted: Colour) -> list[int]:
    colours = sorted({area.colour for area in drawn})
    differences = ciede2000(lab_of(np.array(colours)), lab_of(np.array(wanted)))
    nearest = int(differences.argmin())
    if differences[nearest] > COLOUR_WITHIN:
        return []
    return [number for number, area in enumerate(drawn) if area.colour == colours[nearest]]


def _no_such_colour(drawn: list[Area], wanted: Colour, wood: str) -> Fault:
    known = ", ".join(hex_of(colour) for colour in sorted({area.colour for area in drawn}))
    return Fault(f"No area is drawn in {hex_of(wanted)}.", f'wood "{wood}" for it', f"The colours drawn are {known}.")


def _not_on_rack(which: Which, wood: str, woods: Sequence[tuple[str, Colour]]) -> Fault:
    shown = which if isinstance(which, str) else _told(which) if len(which) == 2 else hex_of(which)
    rack = ", ".join(sorted({name for name, _ in woods}))
    return Fault(f'There is no "{wood}" on the rack.', f"wood for {shown}", f"On the rack: {rack}.")


def _nearest_woods(colours: list[Colour], woods: Sequence[tuple[str, Colour]]) -> dict[Colour, tuple[str, float]]:
    """For each colour the wood that looks most like it, and how far it is off; the first one of equals."""
    theirs = lab_of(np.array([colour for _, colour in woods]))
    found: dict[Colour, tuple[str, float]] = {}
    same = {colour: name for name, colour in reversed(woods)}
    for colour in colours:
        if colour in same:
            found[colour] = same[colour], 0.0
            continue
        differences = ciede2000(lab_of(np.array(colour))[None, :], theirs)
        nearest = int(differences.argmin())
        found[colour] = (woods[nearest][0], float(differences[nearest]))
    return found


def _short(wood: str) -> str:
    """The kind of wood in one word: "holly" for American holly."""
    return known_as(wood).split()[-1]


def _full_names(names: list[str], chosen: list[str]) -> list[str]:
    """The names as given; the rest are called after their wood, numbered as they come."""
    taken = set(names)
    count: dict[str, int] = {}
    full = []
    for name, wood in zip(names, chosen, strict=True):
        while not name:
            count[wood] = count.get(wood, 0) + 1
            candidate = f"{_short(wood)} piece {count[wood]}"
            name = "" if candidate in taken else candidate
        full.append(name)
    return full


def _findings(colours: list[Colour], nearest: dict[Colour, tuple[str, float]]) -> tuple[Finding, ...]:
    found: list[Finding] = []
    by_wood: dict[str, list[Colour]] = {}
    for colour in sorted(set(colours)):
        wood, off = nearest[colour]
        by_wood.setdefault(wood, []).append(colour)
        if off > FAR_OFF:
            what = f"No wood on the rack looks like {hex_of(colour)}; {wood} is the nearest."
            found.append(Finding("look", what, hex_of(colour), "Assign a wood to this colour.", "artwork"))
    for wood, same in sorted(by_wood.items()):
        if len(same) > 1:
            shown = " and ".join(hex_of(colour) for colour in same)
            mend = "Assign another wood to one of them if they should differ."
            found.append(Finding("note", f"The colours {shown} are both cut from {wood}.", wood, mend, "artwork"))
    return tuple(found)


def hex_of(colour: Colour) -> str:
    """A colour as "#rrggbb"."""
    return "#{:02x}{:02x}{:02x}".format(*colour)
