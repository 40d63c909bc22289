"""A drawing that is its own mirror image gets pieces that are: one wedge counts, the others become its images.

Settling takes wood in some order, so the two sides of a mirror line come out a little different, and now and then one
loses a tip that the other keeps. Of a settled partition the wedge between two mirror lines is taken and repeated about
the centre; whose the images are is told by what lies there already. Only outlines count: the woods of a star's light
and dark halves may change places.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from shapely import Point, Polygon, STRtree

from purfle.fit.cells import Cell, Partition, where
from purfle.geometry.offsetting import Region, closing, difference, intersection, polygons, region_of, union_of
from purfle.geometry.partition import border_length, shared, within_reach, without
from purfle.geometry.symmetry import Symmetry, symmetry_of
from purfle.model.findings import Finding
from purfle.model.pieces import Insert
from purfle.tolerances import TOUCHING

_REACH = 8.0
"""Areas that lie no further apart, in radii of the cutter, can change one another."""
_RIM = 0.05
"""What reaches over a mirror line by less than this, mm, is there because settling moved a border that lies on it."""
_SAME_LENGTH = 0.002
"""Outlines whose lengths differ by a smaller share are one."""
_SAME = 0.3
"""An image that covers this share of itself with a piece is that piece."""


def symmetries_of(partition: Partition) -> tuple[Symmetry, ...]:
    """The mirror lines of each group of areas that lie within reach of one another, and last those of the whole."""
    regions = [cell.region for cell in partition.inserts]
    reach = _REACH * partition.rule.cutter_radius
    groups = [[regions[number] for number in one] for one in within_reach(regions, reach)]
    found = [symmetry_of(one) for one in (groups if len(groups) == 1 else [*groups, regions])]
    return tuple(one for one in found if one)


def alike_in_cutters(partition: Partition, symmetry: Symmetry) -> bool:
    """True if areas that are images of one another are finished by the same cutter: another one for one side makes that
    side come out otherwise.
    """
    cells = partition.inserts
    if all(cell.cutter is None for cell in cells):
        return True
    cells = [cell for cell in cells if cell.region.intersects(symmetry.zone)]
    images = _images([cell.region for cell in cells], symmetry)
    return all(cells[source].cutter == cells[owner].cutter for source, _, owner in images if owner >= 0)


def make_symmetrical(partition: Partition, symmetries: Sequence[Symmetry]) -> None:
    """Let every piece become what the first wedge makes of it; what is no piece's is the ground's."""
    for symmetry in symmetries:
        cells = [cell for cell in partition.inserts if cell.region.intersects(symmetry.zone)]
        others = [cell for cell in partition.inserts if cell not in cells]
        held: list[list[Region]] = [[] for _ in cells]
        for source, image, owner in _images([cell.region for cell in cells], symmetry):
            if owner < 0:
                cells.append(cells[source].like(image))
                held.append([image])
            else:
                held[owner].append(image)
        kept = [(cell, union_of(parts)) for cell, parts in zip(cells, held, strict=True) if parts]
        for cell, region in kept:
            _become(cell, region)
        partition.cells = [partition.ground, *others, *(cell for cell, _ in kept)]
    ground = partition.ground
    # a film along a mirror line is nobody's yet: it is not the ground's, and noding gives it to a neighbour
    inserts = closing(union_of([cell.region for cell in partition.inserts]), 2.0 * TOUCHING)
    _become(ground, difference(partition.domain, inserts))


def _become(cell: Cell, region: Region) -> None:
    """Take on a region; only where it differs by more than a film need the cell be looked at again."""
    changed = [*polygons(without(region, cell.region)), *polygons(without(cell.region, region))]
    cell.become(region, region_of(changed))


def symmetrical(inserts: tuple[Insert, ...], symmetry: Symmetry) -> tuple[Insert, ...]:
    """Inserts made of the images of what the first wedge holds of them; as they were if one would be another then."""
    meant = [number for number, insert in enumerate(inserts) if insert.region.intersects(symmetry.zone)]
    held: dict[int, list[Region]] = {number: [] for number in meant}
    for _, image, owner in _images([inserts[number].region for number in meant], symmetry):
        if owner < 0:
            return inserts
        held[meant[owner]].append(image)
    made = list(inserts)
    for number, parts in held.items():
        region = union_of(parts)
        before = inserts[number].region
        # a slit along a mirror line would show in the length of the outline alone
        if not isinstance(region, Polygon) or abs(region.length - before.length) > _SAME_LENGTH * before.length:
            return inserts
        made[number] = replace(inserts[number], region=region)
    return tuple(made)


def findings_once(partition: Partition, symmetries: Sequence[Symmetry]) -> list[Finding]:
    """What was noted while settling: of what mirror lines repeat, that of the first wedge alone, for all of them."""
    told: dict[tuple[str, str], Finding] = {}
    for finding, at in zip(partition.findings, partition.noted_at, strict=True):
        place = Point(at)
        repeated = [one for one in symmetries if one.zone.dwithin(place, partition.rule.cutter_radius)]
        if all(one.wedge(math.dist(one.centre, at) + 1.0).dwithin(place, partition.rule.tip) for one in repeated):
            like = ", and at every place like it" if repeated else ""
            # told once for one place, whatever the last digit of that is in the artwork
            told.setdefault((finding.what, where(at)), replace(finding, where=finding.where + like))
    return list(told.values())


def _images(regions: Sequence[Region], symmetry: Symmetry) -> Iterator[tuple[int, Polygon, int]]:
    """Each part of a region in the first wedge, its image in every wedge, and whose that is: -1 for none."""
    tree = STRtree(list(regions))
    for source, part in _in_first_wedge(regions, symmetry):
        yield source, part, source
        for number in range(1, 2 * symmetry.lines):
            for image in polygons(symmetry.image(part, number)):
                beside = sorted(tree.query(image, predicate="intersects").tolist())
                shares = [(shared(regions[one], image).area, -one) for one in beside]
                most, owner = max(shares, default=(0.0, 0))
                yield source, image, -owner if most > _SAME * image.area else -1


def _in_first_wedge(regions: Sequence[Region], symmetry: Symmetry) -> list[tuple[int, Polygon]]:
    """What of each region lies in the first wedge; what reaches over a mirror line from its twin is its neighbour's."""
    parts = [(number, part) for number, region in enumerate(regions) for part in polygons(symmetry.first_of(region))]
    held: dict[int, float] = defaultdict(float)
    for number, part in parts:
        held[number] += part.area
    intruders = {number for number in held if _is_intruder(number, regions, held, symmetry)}
    sound = [one for one in parts if one[0] not in intruders and 2.0 * one[1].area >= _RIM * one[1].length]
    for _, rim in (one for one in parts if one not in sound):
        borders = [border_length(rim, part) for _, part in sound]
        if borders and max(borders) > _RIM:
            taker = borders.index(max(borders))
            number, part = sound[taker]
            together = symmetry.first_of(closing(union_of([part, rim]), 2.0 * TOUCHING))
            sound[taker] = (number, together if isinstance(together, Polygon) else part)
    return sound


def _is_intruder(number: int, regions: Sequence[Region], held: dict[int, float], symmetry: Symmetry) -> bool:
    """True if a region is not its own image in a line at the wedge, and its image holds more of the wedge than it."""
    for line in {1, 2 * symmetry.lines - 1}:
        image = symmetry.image(regions[number], line)
        shares = [(intersection(regions[other], image).area, other) for other in held]
        most, twin = max(shares)
        if twin != number and most > _SAME * image.area and held[twin] > held[number]:
            return True
    return False
