"""What the drawing shows and no piece carries: details lost, areas lost, and the share of the art that changed."""

import math

import shapely

from purfle.fit.cells import GROUND, Partition, middle, where
from purfle.geometry.measuring import inscribed_radius
from purfle.geometry.offsetting import Region, polygons, union_of
from purfle.geometry.partition import shared, without
from purfle.model.findings import Finding
from purfle.model.pieces import DrawnArea, Lost
from purfle.tolerances import DETAIL_IN_RADII

_NOTHING_LEFT = 0.05
"""An area of which no larger share is kept counts as left out."""
_MUCH_LEFT = 0.8
"""An area of which less is kept has lost what the eye would miss."""
_LONG_IN_WIDTHS = 2.0
"""A detail longer than so many cutter widths, and larger than two of its discs, is a stem or a line, not a tip."""


Now = dict[str, Region]
"""What there is of each wood now, the ground under its own name."""


def woods_now(partition: Partition) -> Now:
    """What there is of each wood that was drawn."""
    return {wood: _now(partition, wood) for wood in (GROUND, *partition.drawn)}


def art_changed(partition: Partition, now: Now) -> float:
    """Share of the drawn insert area that changed wood."""
    drawn = sum(region.area for wood, region in partition.drawn.items() if wood != GROUND)
    woods = [(wood, region) for wood, region in partition.drawn.items() if wood != GROUND]
    kept = sum(shared(region, now[wood]).area for wood, region in woods)
    return float(max(0.0, 1.0 - kept / drawn))


def lost_details(partition: Partition, areas: tuple[DrawnArea, ...], now: Now) -> tuple[Lost, ...]:
    """Every part of an area, and of the ground, that is of another wood now and larger than a rounded corner.

    A corner of 60 degrees rounded by the cutter leaves a remnant with a disc of a third of its radius: no detail yet.
    """
    least = DETAIL_IN_RADII * partition.rule.cutter_radius
    lost = []
    names = {area.name or area.wood: area for area in areas}
    shown = [(area.name or area.wood, area.wood, area.region) for area in areas]
    shown.append((GROUND, GROUND, partition.drawn[GROUND]))
    for name, wood, region in sorted(shown, key=lambda one: (one[0], one[1], one[2].bounds)):
        gone = without(region, now[wood])
        for part in sorted(polygons(gone), key=lambda part: (-part.area, part.bounds)):
            if inscribed_radius(part, least / 8.0) > least or (name in names and part.area > 0.5 * region.area):
                lost.append(Lost(name, wood, part, _why(partition, region), _instead(partition, part)))
    return tuple(lost)


def lost_findings(
    areas: tuple[DrawnArea, ...], partition: Partition, lost: tuple[Lost, ...], now: Now
) -> tuple[Finding, ...]:
    """A finding for each area of which no piece shows anything any more, and for each that lost
    much, or a long detail.
    """
    findings = []
    for area in sorted(areas, key=lambda area: (area.name, area.wood, area.region.bounds)):
        kept = shared(area.region, now[area.wood]).area / area.region.area
        gone = [one for one in lost if one.name == (area.name or area.wood) and one.wood == area.wood]
        if kept < _NOTHING_LEFT:
            findings.append(_left_out(area))
        elif gone:
            findings += _thinned(area, kept, gone, 2.0 * partition.rule.cutter_radius)
    return tuple(findings)


def _left_out(area: DrawnArea) -> Finding:
    return Finding(
        "look",
        f'"{area.name or area.wood}" ({area.region.area:.1f} mm2) is too small or too narrow for the cutter: left out',
        where(middle(area.region)),
        "draw it larger, or use a smaller cutter",
        "fit",
    )


def _thinned(area: DrawnArea, kept: float, gone: list[Lost], width: float) -> list[Finding]:
    """What an area lost, where much of it is gone or a long stretch. Less than that the list of lost details tells."""
    largest = max(gone, key=lambda one: (one.region.area, one.region.bounds))
    size = sum(one.region.area for one in gone)
    details = "a detail" if len(gone) == 1 else f"{len(gone)} details"
    ends = _length_of(largest.region)
    is_stem = ends > _LONG_IN_WIDTHS * width and largest.region.area > 2.0 * math.pi * width**2 / 4.0
    if kept >= _MUCH_LEFT and not is_stem:
        return []
    what = f'"{area.name or area.wood}" loses {details} to the cutter, {size:.1f} mm2 in all; {largest.instead}'
    place = f"{where(middle(largest.region))}, {ends:.1f} mm long"
    if kept < _MUCH_LEFT:
        what += f". Only {100.0 * kept:.0f} % of it is left"
    mend = f"draw it wider than {width:.1f} mm there, use a smaller cutter, or drop what is left of it"
    return [Finding("look", what, place, mend, "fit")]


def _length_of(region: Region) -> float:
    """How long a detail is from end to end, in mm."""
    return float(shapely.minimum_bounding_radius(region)) * 2.0


def _now(partition: Partition, wood: str) -> Region:
    if wood == GROUND:
        return partition.ground.region
    return union_of([cell.region for cell in partition.inserts if cell.wood == wood])


def _why(partition: Partition, region: Region) -> str:
    width = 2.0 * partition.rule.cutter_radius
    return f"a cutter of {width:.2f} mm cannot shape it beside its neighbours"


def _instead(partition: Partition, part: Region) -> str:
    """Who has the wood of a lost part now."""
    held = [(shared(cell.region, part).area, cell) for cell in partition.cells if cell.region.intersects(part)]
    if not held:
        return "nothing"
    _, cell = max(held, key=lambda found: (round(found[0], 4), found[1].key))
    return "the ground stays" if cell is partition.ground else f'"{cell.name}" ({cell.wood}) fills it'
