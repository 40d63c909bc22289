"""A design made symmetrical: one half is kept, the other half becomes its mirror image."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon

from purfle.artwork.drawing import arcs_of
from purfle.artwork.picking import called
from purfle.artwork.woods import design_bounds
from purfle.errors import Fault, JobFileError
from purfle.geometry.measuring import inscribed_radius
from purfle.geometry.mirroring import MirrorLine, joined
from purfle.geometry.offsetting import Region, polygons
from purfle.model.artwork import Area, Areas, SymmetryWish
from purfle.model.findings import Finding
from purfle.tolerances import GRID

_SEARCHED = 0.04
"""The line is looked for this share of the design's size about its centre of gravity."""
_ROUNDS_OF_SEARCH = 18
_GOLDEN = (5.0**0.5 - 1.0) / 2.0
_COARSE = 1e-3
"""Outlines may be simplified by this share of the design's size while the line is looked for."""
_CHANGED_MUCH = 0.1
"""A larger share of the design than this that changes is worth a look."""
NEARLY, OFF_MIDDLE = 0.02, 0.01
"""A picture is nearly its own mirror image if no larger share of it has no counterpart; its centre of gravity then lies
so near to its middle, as a share of its size."""
_REST_SHARE, _REST_WIDTH = 0.1, 4.0
"""What crosses the line with less than this share of itself, narrower than so many errors of the trace, is a rest."""


@dataclass(frozen=True, slots=True)
class Half:
    """One part of an area on the kept side, whether it is ground, and whether it lies against the line."""

    area: Area
    region: Polygon
    bare: bool
    on_line: bool


def made_symmetrical(
    areas: Areas, wish: SymmetryWish, scale: float, dropped: Sequence[Area] = ()
) -> tuple[Areas, list[Finding]]:
    """The areas with one half replaced by the mirror image of the other, and what was done.

    They are mirror images of one another about the middle of the new frame, to the rounding of a float. A mirrored
    area takes name and colour of the area that it replaces, where there was one much like it. `dropped`: areas that
    other edits took away; one on the half that is given up would have been dropped for nothing.

    Raises: JobFileError where the line lies outside the design, or an edit stands on the half that is given up.
    """
    line = _line_of(areas, wish, scale)
    _refuse_lost_edits(line, wish, dropped)
    halves = _halves(areas, line, wish.upper_half)
    others = _halves(areas, line, not wish.upper_half)
    made, ground = _both_halves(halves, others, line)
    if all(ground):
        mend = "Move the line, or keep the other half."
        what = f"Nothing of the design lies on the {_side(wish, True)} half."
        raise JobFileError(what, "[areas] keep", mend)
    result = _framed(areas, made, ground, line, wish)
    return result, [_told(areas, line, wish, scale, _changed(areas, made, ground))]


def _line_of(areas: Areas, wish: SymmetryWish, scale: float) -> MirrorLine:
    left, low, right, high = design_bounds(areas)
    start, end = (left, right) if wish.upright else (low, high)
    if wish.at is None:
        return found_line(areas, wish.upright, scale)
    at = start + wish.at / scale
    if not start < at < end:
        size, word = (end - start) * scale, "wide" if wish.upright else "high"
        mend = f"The design is {size:.1f} mm {word}: use more than 0 and less than that, or leave it out."
        raise JobFileError(
            f"The mirror line at {wish.at:g} mm lies outside the design.", "[areas] mirror_line_at", mend
        )
    return MirrorLine(wish.upright, at)


def found_line(areas: Areas, upright: bool, scale: float) -> MirrorLine:
    """The line about which the design is most nearly its own mirror image.

    The centre of gravity of a symmetrical design lies on its line; from there the place with the least area without
    a counterpart is looked for by golden sections (Kiefer 1953, from memory).
    """
    drawn = [area for area in areas.areas if area.number not in areas.ground]
    whole = shapely.union_all([area.region for area in drawn])
    left, low, right, high = whole.bounds
    size = right - left if upright else high - low
    rough = shapely.union_all([shapely.simplify(area.region, size * _COARSE) for area in drawn])
    middle = whole.centroid.x if upright else whole.centroid.y

    def unlike(at: float) -> float:
        line = MirrorLine(upright, at)
        return float(shapely.symmetric_difference(rough, line.region(rough)).area)

    begin, end = middle - size * _SEARCHED, middle + size * _SEARCHED
    for _ in range(_ROUNDS_OF_SEARCH):
        first, second = end - _GOLDEN * (end - begin), begin + _GOLDEN * (end - begin)
        begin, end = (begin, second) if unlike(first) < unlike(second) else (first, end)
    best = min(((begin + end) / 2.0, (left + right if upright else low + high) / 2.0, middle), key=unlike)
    grid = GRID / scale
    return MirrorLine(upright, round(best / grid) * grid)


def symmetry_seen(areas: Areas, scale: float) -> tuple[Finding, ...]:
    """A note where a traced picture is nearly, and not quite, its own mirror image."""
    for upright in (True, False):
        line, unlike = _nearly(areas, upright)
        if line is not None and unlike <= NEARLY:
            left, low, _, _ = design_bounds(areas)
            at = (line.at - (left if upright else low)) * scale
            where = f"{at:.2f} mm from its {'left end' if upright else 'foot'}"
            kind, word = ("an upright", "upright") if upright else ("a level", "level")
            what = (
                f"The picture is nearly its own mirror image about {kind} line {where}: {100.0 * unlike:.1f} % differs."
            )
            mend = f'Say symmetrical = "{word}" in [areas] to have both halves exactly alike.'
            return (Finding("note", what, "whole picture", mend, "artwork"),)
    return ()


def _nearly(areas: Areas, upright: bool) -> tuple[MirrorLine | None, float]:
    """The middle line of a design whose centre of gravity lies on it, and the share that has no counterpart there."""
    shapes = _by_colour([(area, area.number in areas.ground) for area in areas.areas])
    if not shapes:
        return None, 1.0
    left, low, right, high = shapely.total_bounds(list(shapes.values()))
    start, end = (left, right) if upright else (low, high)
    weights = [shape.area for shape in shapes.values()]
    centres = [shape.centroid.x if upright else shape.centroid.y for shape in shapes.values()]
    middle, of_all = (start + end) / 2.0, float(np.average(centres, weights=weights))
    if abs(of_all - middle) > OFF_MIDDLE * (end - start):
        return None, 1.0
    line = MirrorLine(upright, float(middle))
    apart = sum(shapely.symmetric_difference(shape, line.region(shape)).area for shape in shapes.values())
    return line, float(apart / sum(weights) / 2.0)


def _refuse_lost_edits(line: MirrorLine, wish: SymmetryWish, dropped: Sequence[Area]) -> None:
    """An area dropped on the half that is given up only stays away if its counterpart was dropped too."""
    faults = []
    for area in dropped:
        if not line.half(area.region, wish.upper_half).is_empty:
            continue
        image = line.region(area.region).representative_point()
        if not any(other.region.covers(image) for other in dropped if other is not area):
            what = f"{called(area)} is dropped on the {_side(wish, False)} half, which is given up for a mirror image."
            mend = f"Drop its counterpart on the {_side(wish, True)} half instead, or keep the other half."
            faults.append(Fault(what[:1].upper() + what[1:], "[areas] symmetrical", mend))
    if faults:
        raise JobFileError.of(faults)


def _halves(areas: Areas, line: MirrorLine, upper: bool) -> list[Half]:
    """The parts of all areas on one side; rests of an area that just reaches over the line go to their neighbour."""
    parts: list[Half] = []
    rests: list[Polygon] = []
    for area in areas.areas:
        for part in polygons(line.half(area.region, upper)):
            half = Half(area, part, area.number in areas.ground, line.touched_by(part))
            if half.on_line and _is_rest(part, area, areas.unit_error):
                rests.append(part)
            else:
                parts.append(half)
    for rest in rests:
        borders = [rest.boundary.intersection(half.region.boundary).length for half in parts]
        best = int(np.argmax(borders))
        together = list(polygons(joined(parts[best].region, rest)))
        if len(together) == 1:
            parts[best] = replace(parts[best], region=together[0], on_line=True)
        else:
            raise AssertionError("a rest hangs on nothing")
    return parts


def _is_rest(part: Polygon, area: Area, error: float) -> bool:
    if part.area >= _REST_SHARE * area.region.area:
        return False
    return 2.0 * inscribed_radius(part, error + GRID) < _REST_WIDTH * (error + GRID)


def _both_halves(halves: list[Half], others: list[Half], line: MirrorLine) -> tuple[list[Area], list[bool]]:
    """Every half as one area with its image where both are the same area, else as two; and which of them are ground."""
    made: list[Area] = []
    bare: list[bool] = []
    for half in halves:
        image = line.region(half.region)
        (outline,) = polygons(image)
        twin = _twin_of(outline, half, others)
        same = twin is None or twin.area.number == half.area.number or twin.area.colour == half.area.colour
        regions: list[tuple[Region, Area]] = [(half.region, half.area)]
        if half.on_line and (same or half.bare):
            regions = [(joined(half.region, outline), half.area)]
        else:
            regions.append((outline, half.area if twin is None else twin.area))
        for region, area in regions:
            (whole,) = polygons(region)
            made.append(replace(area, number=len(made), region=whole))
            bare.append(half.bare)
    return made, bare


def _twin_of(image: Polygon, half: Half, others: list[Half]) -> Half | None:
    """What stood where the image comes to lie, if it was much like it."""
    alike = [other for other in others if other.bare == half.bare and other.region.intersects(image)]
    shared = [shapely.intersection(other.region, image).area for other in alike]
    if not shared or max(shared) < 0.5 * image.area:
        return None
    twin = alike[int(np.argmax(shared))]
    return twin if max(shared) > 0.5 * twin.region.area else None


def _framed(areas: Areas, made: list[Area], bare: list[bool], line: MirrorLine, wish: SymmetryWish) -> Areas:
    """The areas in a frame of twice the kept half, from 0 on; the design's own corner moves along."""
    extent = areas.width if wish.upright else areas.height
    shift = extent - 2.0 * line.at if wish.upper_half else 0.0
    along = np.array([shift, 0.0] if wish.upright else [0.0, shift])
    moved = tuple(replace(area, region=shapely.transform(area.region, lambda xy: xy + along)) for area in made)
    size = 2.0 * (extent - line.at if wish.upper_half else line.at)
    left, low, right, high = design_bounds(areas)
    design = (left + along[0], low + along[1], right + along[0], high + along[1])
    width, height = (size, areas.height) if wish.upright else (areas.width, size)
    ground = frozenset(number for number, is_bare in enumerate(bare) if is_bare)
    return replace(areas, width=width, height=height, areas=moved, arcs=arcs_of(moved), ground=ground, design=design)


def _changed(areas: Areas, made: list[Area], bare: list[bool]) -> float:
    """The share of the design that is drawn in another colour now, or no longer, or for the first time."""
    before = _by_colour([(area, area.number in areas.ground) for area in areas.areas])
    after = _by_colour(list(zip(made, bare, strict=True)))
    apart = sum(
        shapely.symmetric_difference(before.get(colour, Polygon()), after.get(colour, Polygon())).area
        for colour in sorted({*before, *after})
    )
    return float(apart / sum(region.area for region in before.values()) / 2.0)


def _by_colour(areas: list[tuple[Area, bool]]) -> dict[tuple[int, int, int], Region]:
    colours = sorted({area.colour for area, bare in areas if not bare})
    return {
        colour: shapely.union_all([area.region for area, bare in areas if not bare and area.colour == colour])
        for colour in colours
    }


def _told(areas: Areas, line: MirrorLine, wish: SymmetryWish, scale: float, changed: float) -> Finding:
    left, low, _, _ = design_bounds(areas)
    at = (line.at - (left if wish.upright else low)) * scale
    found = "given" if wish.at is not None else "found"
    place = f"{at:.2f} mm from its {'left end' if wish.upright else 'foot'} ({found})"
    what = (
        f"Made symmetrical about {'an upright' if wish.upright else 'a level'} line {place}: the {_side(wish, True)} "
        f"half is kept; {100.0 * changed:.1f} % of the design changed."
    )
    mend = "Give mirror_line_at or keep if it should be otherwise."
    severity = "look" if changed > _CHANGED_MUCH else "note"
    return Finding("look" if severity == "look" else "note", what, "[areas] symmetrical", mend, "artwork")


def _side(wish: SymmetryWish, kept: bool) -> str:
    upper = wish.upper_half == kept
    return ("right" if upper else "left") if wish.upright else ("upper" if upper else "lower")
