"""What the drawing shows and no piece carries: details lost, areas lost, and the share of the art that changed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from purfle.fit.cells import GROUND, Partition, middle
from purfle.geometry.measuring import are_within, inscribed_radius, samples_along
from purfle.geometry.offsetting import Region, polygons, union_of
from purfle.geometry.partition import in_parts, shared, without
from purfle.model.findings import Finding
from purfle.model.pieces import DrawnArea, Lost
from purfle.tolerances import DETAIL_IN_RADII, TOUCHING
from purfle.units import in_mm

_NOTHING_LEFT = 0.05
"""An area of which no larger share is kept counts as left out."""
_MUCH_LEFT = 0.8
"""An area of which less is kept has lost what the eye would miss."""
_LONG_IN_WIDTHS = 2.0
"""A detail longer than so many cutter widths, and larger than two of its discs, is a stem or a line, not a tip."""
_BETWEEN_OUTLINES = 0.75
"""A lost part is a thin stem or slot, no strip along a border that moved, where this share of its outline is drawn."""
_TAPERS = 1.6
"""The largest width of a tip is twice its mean one, that of a stem or slot about its mean one: the limit between."""
_SEEN = 0.1
"""A stem or slot narrower than this, mm, is as fine as a common seam: it shows nothing."""
_STEP = 0.2
"""Places along the outline of a lost part, mm apart."""


@dataclass(frozen=True, slots=True)
class Losses:
    """Details lost, a finding for what the eye would miss of them, and the share of the insert area that changed."""

    lost: tuple[Lost, ...]
    findings: tuple[Finding, ...]
    art_changed: float


def losses_of(partition: Partition, areas: tuple[DrawnArea, ...]) -> Losses:
    """What the areas as drawn lose to a settled partition."""
    least = DETAIL_IN_RADII * partition.rule.cutter_radius
    gone = _Gone(partition, math.pi * least * least)
    parts = [gone.of(area.wood, area.region) for area in areas]
    lost = _lost_details(partition, areas, (*parts, gone.of(GROUND, partition.drawn[GROUND])), least)
    of_areas, told = _lost_findings(partition, areas, parts, lost)
    of_ground, filled = _filled(partition, [one for one in lost if one.wood == GROUND], {one.name for one in told})
    parted = _parted(partition, areas, math.pi * least * least)
    untold = [one for one in lost if not any(one is other for other in (*told, *filled))]
    return Losses(lost, (*of_areas, *of_ground, *parted, *_lesser(partition, untold)), gone.share())


def _lost_details(
    partition: Partition, areas: tuple[DrawnArea, ...], gone: Sequence[list[Polygon]], least: float
) -> tuple[Lost, ...]:
    """Every part of an area, and of the ground, that is of another wood now and larger than a rounded corner.

    A corner of 60 degrees rounded by the cutter leaves a remnant with a disc of a third of its radius: no detail yet.
    What is thinner counts where it is a stem or slot of its own, at least as long as the cutter is wide.
    """
    lost = []
    names = {area.name or area.wood for area in areas}
    shown = [(area.name or area.wood, area.wood, area.region) for area in areas]
    shown.append((GROUND, GROUND, partition.drawn[GROUND]))
    holders, outlines = _Holders(partition), _DrawnOutlines(partition)
    in_order = sorted(zip(shown, gone, strict=True), key=lambda one: (one[0][0], one[0][1], one[0][2].bounds))
    for (name, wood, region), parts in in_order:
        for part in sorted(parts, key=lambda part: (-part.area, part.bounds)):
            has_room = part.area >= math.pi * least * least and inscribed_radius(part, least / 8.0) > least
            is_told = has_room or (name in names and part.area > 0.5 * region.area)
            if is_told or outlines.are_beside(wood, part):
                lost.append(Lost(name, wood, part, _why(partition), holders.instead(part)))
    return tuple(lost)


class _DrawnOutlines:
    """The outlines of each wood as drawn, made when they are asked for."""

    def __init__(self, partition: Partition) -> None:
        self.partition = partition
        self.of: dict[str, BaseGeometry] = {}

    def are_beside(self, wood: str, part: Polygon) -> bool:
        """True for a lost stem or slot longer than the cutter is wide, with outlines as drawn on both its sides.

        The tip of a wedge has them too; tips are told by themselves.
        """
        rule = self.partition.rule
        length, width = part.length / 2.0, 2.0 * part.area / part.length
        if length < 2.0 * rule.cutter_radius or width < max(_SEEN, rule.seam):
            return False
        if 2.0 * inscribed_radius(part, width / 16.0) > _TAPERS * width:
            return False
        if wood not in self.of:
            self.of[wood] = self.partition.drawn[wood].boundary
        places, lengths = samples_along(part.boundary, _STEP)
        as_drawn = are_within(self.of[wood], places, 2.0 * TOUCHING)
        return bool(lengths[as_drawn].sum() > _BETWEEN_OUTLINES * lengths.sum())


def _lost_findings(
    partition: Partition, areas: tuple[DrawnArea, ...], gone: Sequence[list[Polygon]], lost: tuple[Lost, ...]
) -> tuple[list[Finding], list[Lost]]:
    """A finding for each area of which no piece shows anything any more, and for each that lost
    much, or a long detail; and the details that are told so. Letters of the same words that are gone are told together.
    """
    findings: list[Finding] = []
    told: list[Lost] = []
    letters: dict[str, list[DrawnArea]] = {}
    by_name: dict[tuple[str, str], list[Lost]] = {}
    for one in lost:
        by_name.setdefault((one.name, one.wood), []).append(one)
    in_order = sorted(zip(areas, gone, strict=True), key=lambda one: (one[0].name, one[0].wood, one[0].region.bounds))
    for area, parts in in_order:
        kept = 1.0 - sum(part.area for part in parts) / area.region.area
        details = by_name.get((area.name or area.wood, area.wood), [])
        if kept < _NOTHING_LEFT and area.words and area.cutter_radius is None:
            letters.setdefault(area.words, []).append(area)
            told += details
        elif kept < _NOTHING_LEFT:
            findings.append(_left_out(partition, area))
            told += details
        elif details and (thinned := _thinned(partition, area, kept, details)):
            findings += thinned
            told += details
    findings += [_letters_left_out(partition, words, gone) for words, gone in sorted(letters.items())]
    return findings, told


class _Gone:
    """What of each wood, as drawn, is of another wood now: one overlay for a wood, however many areas it has.

    `least`: the area in mm2 that a part has at least to be told of, unless it is half of what it is gone of.
    """

    def __init__(self, partition: Partition, least: float) -> None:
        self.least = least
        self.parts = {
            wood: np.array(list(polygons(without(region, _now(partition, wood)))), object)
            for wood, region in partition.drawn.items()
        }
        self.trees = {wood: STRtree(parts) for wood, parts in self.parts.items()}

        self.drawn = sum(region.area for wood, region in partition.drawn.items() if wood != GROUND)

    def share(self) -> float:
        """The share of the drawn insert area that is of another wood now."""
        return float(
            sum(shapely.area(parts).sum() for wood, parts in self.parts.items() if wood != GROUND) / self.drawn
        )

    def of(self, wood: str, region: Region) -> list[Polygon]:
        """What of an area of this wood is gone."""
        met = self.parts[wood][np.sort(self.trees[wood].query(region, predicate="intersects"))]
        shapely.prepare(region)
        # what is too small to be told of counts by its size alone, and lies in the area as it is: no overlay for it
        told = (shapely.area(met) >= min(self.least, region.area / 2.0)) | ~shapely.covers(region, met)
        found = [
            list(polygons(shared(part, region))) if is_told else [part] for part, is_told in zip(met, told, strict=True)
        ]
        return [one for parts in found for one in parts]


class _Holders:
    """Who has a place now. Cells with many vertices are held in parts, so that no place is compared with all of one."""

    def __init__(self, partition: Partition) -> None:
        self.cells = sorted(partition.cells, key=lambda cell: cell.key)
        self.ground = partition.ground
        parts = [(part, rank) for rank, cell in enumerate(self.cells) for part in in_parts(cell.region)]
        self.parts = np.array([part for part, _ in parts], object)
        self.ranks = np.array([rank for _, rank in parts])
        self.tree = STRtree(self.parts)

    def instead(self, place: Region) -> str:
        """Who has the wood of a lost part now: the one with most of it."""
        met = self.tree.query(place, predicate="intersects")
        held = np.zeros(len(self.cells))
        np.add.at(held, self.ranks[met], [shared(part, place).area for part in self.parts[met]])
        if not len(met):
            return "nothing"
        most = np.flatnonzero(held.round(4) == held.round(4).max())[-1]
        cell = self.cells[most]
        return "the ground stays" if cell is self.ground else f'"{cell.name}" ({cell.wood}) fills it'


def _left_out(partition: Partition, area: DrawnArea) -> Finding:
    """What is told of an area that is gone. Its own cutter may be fine enough, and that of what is round it not."""
    name, size = f'"{area.name or area.wood}"', f"{area.region.area:.1f} mm2"
    fits_its_own = area.cutter_radius is not None and area.cutter_radius < partition.rule.cutter_radius
    what = f"{name} ({size}) is too small or too narrow for the cutter: left out"
    mend = "draw it larger, or use a smaller cutter"
    if fits_its_own:
        width = 2.0 * partition.rule.cutter_radius
        what = f"{name} ({size}) is left out: a cutter of {in_mm(width)} cannot shape it beside its neighbours"
        mend = "give its neighbours a smaller cutter too"
    ground = partition.drawn[GROUND]
    shapely.prepare(ground)  # asked for every area that is gone
    if not ground.dwithin(area.region, TOUCHING):
        mend += f', or let it in over what surrounds it: [order] {name} = "over"'
    return Finding("look", what, partition.where(middle(area.region)), mend, "fit")


def _letters_left_out(partition: Partition, words: str, letters: list[DrawnArea]) -> Finding:
    """What is told of the letters of some words that are gone: all of them at once, in the order of the words."""
    by_sign: dict[str, DrawnArea] = {}
    for letter in letters:
        by_sign.setdefault((letter.shared_name or letter.name).removeprefix("letter "), letter)
    if len(by_sign) == 1:
        return _left_out(partition, letters[0])
    signs = sorted(by_sign, key=lambda sign: (words.find(sign), sign))
    named = ", ".join(f'"{sign}"' for sign in signs[:-1]) + f' and "{signs[-1]}"'
    what = f'{named} of "{words}" are too small or too narrow for the cutter: left out'
    first = by_sign[signs[0]]
    mend = "write them larger or bolder, or use a smaller cutter"
    if not any(letter.region.dwithin(partition.drawn[GROUND], TOUCHING) for letter in letters):
        mend += f', or let them in over what surrounds them: [order] "{first.shared_name or first.name}" = "over"'
    return Finding("look", what, partition.where(middle(first.region)), mend, "fit")


def _thinned(partition: Partition, area: DrawnArea, kept: float, gone: list[Lost]) -> list[Finding]:
    """What an area lost, where much of it is gone or a long stretch. Less than that the list of lost details tells."""
    width = 2.0 * partition.rule.cutter_radius
    long = [one for one in gone if _is_long(partition, one)]
    largest = max(long or gone, key=lambda one: (one.region.area, one.region.bounds))
    size = sum(one.region.area for one in gone)
    details = "a detail" if len(gone) == 1 else f"{len(gone)} details"
    ends = _length_of(largest.region)
    wide = largest.region.area / ends
    if kept >= _MUCH_LEFT and not long:
        return []
    what = f'"{area.name or area.wood}" loses {details} to the cutter, {size:.1f} mm2 in all; {largest.instead}'
    place = f"{partition.where(middle(largest.region))}, {ends:.1f} mm long and about {wide:.1f} mm wide"
    if kept < _MUCH_LEFT:
        what += f". Only {100.0 * kept:.0f} % of it is left{_as_part_of(partition, area, gone)}"
    mend = f"draw it wider than {width:.1f} mm there, use a smaller cutter, or leave it out of the drawing"
    return [Finding("look", what, place, mend, "fit")]


def _as_part_of(partition: Partition, area: DrawnArea, gone: list[Lost]) -> str:
    """The piece that what is left of an area belongs to, where that goes by another name: one of its wood beside it."""
    rest = without(area.region, union_of([one.region for one in gone]))
    alike = [cell for cell in sorted(partition.inserts, key=lambda cell: cell.key) if cell.wood == area.wood]
    near = [(shared(cell.region, rest).area, cell) for cell in alike if cell.region.intersects(rest)]
    if not near or any(cell.name == area.name for _, cell in near):
        return ""
    return f', as part of "{max(near, key=lambda one: one[0])[1].name}"'


def _filled(partition: Partition, lost: Sequence[Lost], named: set[str]) -> tuple[list[Finding], list[Lost]]:
    """What is told of the ground where pieces fill an opening that is drawn in them, or a long slot; and which.

    `named`: areas that are told of already. A slot beside what they lost is not told once more.
    """
    openings = [
        one for one in polygons(partition.drawn[GROUND]) if not one.intersects(shapely.boundary(partition.domain))
    ]
    by_filler: dict[str, list[Lost]] = {}
    for one in lost:
        drawn = sum(shared(one.region, opening).area for opening in openings)
        is_told = any(one.instead.startswith(f'"{name}" ') for name in named)
        if drawn > 0.5 * one.region.area or (_is_long(partition, one) and not is_told):
            by_filler.setdefault(one.instead, []).append(one)
    findings = []
    for instead, places in sorted(by_filler.items()):
        largest = max(places, key=lambda one: (one.region.area, one.region.bounds))
        size = sum(one.region.area for one in places)
        shown = "an opening or slot" if len(places) == 1 else f"{len(places)} openings or slots"
        what = f"the cutter cannot leave {shown} of the ground, {size:.1f} mm2 in all; {instead}"
        where = f"{partition.where(middle(largest.region))}, {_length_of(largest.region):.1f} mm long"
        width = 2.0 * partition.rule.cutter_radius
        mend = f"draw it wider than {width:.1f} mm, use a smaller cutter, or leave it out of the drawing"
        findings.append(Finding("look", what, where, mend, "fit"))
    return findings, [one for places in by_filler.values() for one in places]


def _parted(partition: Partition, areas: tuple[DrawnArea, ...], least: float) -> list[Finding]:
    """What is told of areas that are one as drawn and fall into pieces, each with more than `least` mm2 of it."""
    cells = sorted(partition.inserts, key=lambda cell: cell.key)
    tree = STRtree([cell.region for cell in cells])
    findings = []
    for area in sorted(areas, key=lambda one: (one.name, one.wood, one.region.bounds)):
        near = [cells[index] for index in np.sort(tree.query(area.region)) if cells[index].wood == area.wood]
        if len(near) < 2:
            continue
        held = [cell.region for cell in near if shared(cell.region, area.region).area > least]
        if len(held) > len(list(polygons(area.region))):
            smallest = min(held, key=lambda region: (region.area, region.bounds))
            others = union_of([region for region in held if region is not smallest])
            neck = middle(shapely.shortest_line(smallest, others))
            what = f'"{area.name or area.wood}" falls into {len(held)} pieces where it is too narrow for the cutter'
            mend = f"draw it wider than {2.0 * partition.rule.cutter_radius:.1f} mm there, or use a smaller cutter"
            findings.append(Finding("look", what, partition.where(neck), mend, "fit"))
    return findings


def _lesser(partition: Partition, lost: Sequence[Lost]) -> list[Finding]:
    """How many details are lost that nothing else tells, so that none goes without a word."""
    if not lost:
        return []
    largest = max(lost, key=lambda one: (one.region.area, one.region.bounds))
    size = sum(one.region.area for one in lost)
    details = "1 small detail" if len(lost) == 1 else f"{len(lost)} small details"
    what = f"the cutter cannot make {details} of the drawing, {size:.1f} mm2 in all"
    where = f"the largest: {partition.where(middle(largest.region))}"
    mend = "look at the finished picture; report.json lists each under lost"
    return [Finding("note", what, where, mend, "fit")]


def _is_long(partition: Partition, one: Lost) -> bool:
    """True for a stem, a line or a slot, however thin, not for the tip of one."""
    width = 2.0 * partition.rule.cutter_radius
    if _length_of(one.region) <= _LONG_IN_WIDTHS * width:
        return False
    least = DETAIL_IN_RADII * partition.rule.cutter_radius
    return one.region.area > 2.0 * math.pi * width**2 / 4.0 or inscribed_radius(one.region, least / 8.0) <= least


def _length_of(region: Region) -> float:
    """How long a detail is from end to end, in mm."""
    return float(shapely.minimum_bounding_radius(region)) * 2.0


def _now(partition: Partition, wood: str) -> Region:
    if wood == GROUND:
        return partition.ground.region
    return union_of([cell.region for cell in partition.inserts if cell.wood == wood])


def _why(partition: Partition) -> str:
    width = 2.0 * partition.rule.cutter_radius
    return f"a cutter of {in_mm(width)} cannot shape it beside its neighbours"
