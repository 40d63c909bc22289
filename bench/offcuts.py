"""Parts on offcuts: room and grain on random racks, density beside a strip packer, and the time for a full rack.

    python bench/offcuts.py racks [--count 1000] [--first 0]
    python bench/offcuts.py many
    python bench/offcuts.py density [--sets 6]      (needs `pip install spyrrow`; for this bench alone)

`racks`: random parts on random racks (outlines with notches and holes, knots, any grain, several woods and
thicknesses); every place is checked on the outlines themselves, and a second run has to give the same places to the
bit. Exit status 1 where one fails. `many`: 60 parts on 12 offcuts, seconds of the processor. `density`: the shortest
strip on which all parts find room, with the same turns, room between parts and time for both; one thread each.
"""

import argparse
import hashlib
import math
import sys
import time
from collections.abc import Iterator
from itertools import combinations

import numpy as np
import shapely
from shapely import MultiPolygon, Point, Polygon, box

from purfle.model.offcuts import OffcutRule, OnOffcuts, Wanted
from purfle.model.shop import Offcut
from purfle.offcuts import place
from purfle.offcuts.packing import Stock, pack

NEAR = 1e-6
"""mm and degrees that an exact check forgives: the last digits of the sums."""
WOODS = ("holly", "wenge", "padauk")
STRIP, BETWEEN, TOLERANCE = 120.0, 4.0, 10.0
SHRINK = 0.98
"""Each further strip is so much shorter than the last one that took all parts."""


def star(chance: np.random.Generator, least: float, most: float) -> Polygon:
    """A polygon around a middle with so many corners, convex or not, never crossing itself."""
    corners = int(chance.integers(3, 14))
    turn = np.linspace(0.0, 2.0 * math.pi, corners, endpoint=False) + chance.uniform(0.0, 6.0)
    reach = chance.uniform(least, most, corners)
    return Polygon(np.column_stack((np.cos(turn), np.sin(turn))) * reach[:, None])


def strip_of_wood(chance: np.random.Generator, size: float) -> Polygon:
    """A bent band, as streamers and stems are."""
    t = np.linspace(0.0, 1.0, 24)
    bend, half = chance.uniform(-0.5, 0.5) * size, chance.uniform(0.04, 0.12) * size
    middle = np.column_stack((t * size, bend * np.sin(math.pi * t * chance.uniform(0.6, 1.6))))
    line = shapely.LineString(middle)
    band = line.buffer(half)
    assert isinstance(band, Polygon)
    return band


def leaf(chance: np.random.Generator, size: float) -> Polygon:
    """Two arcs between two tips."""
    t = np.linspace(0.0, math.pi, 20)
    high, low = chance.uniform(0.1, 0.35, 2) * size
    above = np.column_stack((size * (1 - np.cos(t)) / 2, high * np.sin(t)))
    below = np.column_stack((size * (1 + np.cos(t)) / 2, -low * np.sin(t)))
    return Polygon(np.vstack((above, below[1:-1])))


def shape(chance: np.random.Generator, least: float, most: float) -> Polygon:
    """One part: a star, a leaf, a band or a rectangle."""
    size = float(chance.uniform(least, most))
    kind = int(chance.integers(4))
    if kind == 0:
        return star(chance, size / 5.0, size / 2.0)
    if kind == 1:
        return leaf(chance, size)
    if kind == 2:
        return strip_of_wood(chance, size)
    return box(0.0, 0.0, size, size * float(chance.uniform(0.15, 0.8)))


def offcut(chance: np.random.Generator, name: str, wood: str) -> Offcut:
    """One piece of stock: free outline, now and then with a hole, and up to three knots."""
    outline = star(chance, 35.0, 120.0) if chance.random() < 0.5 else box(0.0, 0.0, *chance.uniform(40.0, 240.0, 2))
    if chance.random() < 0.2:
        holed = outline.difference(outline.representative_point().buffer(float(chance.uniform(2.0, 9.0))))
        outline = holed if isinstance(holed, Polygon) else outline
    outline = shapely.transform(outline, lambda xy: xy - np.array(outline.bounds[:2]))
    long, deep = outline.bounds[2:]
    knots = [
        Point(chance.uniform(0.0, long), chance.uniform(0.0, deep)).buffer(float(chance.uniform(1.0, 10.0)))
        for _ in range(int(chance.integers(0, 4)))
    ]
    defects = shapely.union_all([knot for knot in knots if knot.intersects(outline)])
    parts = [one for one in shapely.get_parts(defects) if isinstance(one, Polygon)]
    thickness = float(chance.choice([3.6, 4.0, 9.0]))
    return Offcut(name, wood, outline, thickness, float(chance.uniform(-180.0, 180.0)), MultiPolygon(parts))


def rack(number: int) -> tuple[tuple[Wanted, ...], tuple[Offcut, ...], OffcutRule]:
    """The parts, offcuts and rule of one random rack."""
    chance = np.random.default_rng(number)
    parts = tuple(
        Wanted("picture", n, f"part {n}", str(chance.choice(WOODS)), shape(chance, 4.0, 70.0),
               float(chance.uniform(0.0, 180.0)), float(chance.choice([3.4, 8.0])))
        for n in range(1, int(chance.integers(2, 15)))
    )  # fmt: skip
    offcuts = tuple(offcut(chance, f"offcut {n}", str(chance.choice(WOODS))) for n in range(int(chance.integers(1, 7))))
    margin, between, defect = (float(chance.choice([0.0, 2.0, 5.5])) for _ in range(3))
    tolerance, copies = float(chance.choice([0.0, 10.0, 25.0])), int(chance.integers(1, 3))
    rule = OffcutRule(margin, between, defect, tolerance, copies=copies)
    return parts, offcuts, rule


def faults(placed: OnOffcuts, offcuts: tuple[Offcut, ...], rule: OffcutRule) -> Iterator[str]:
    """What is wrong with the places, on the outlines themselves."""
    by_name = {one.name: one for one in offcuts}
    for lies in placed.places:
        wood, region = by_name[lies.offcut], lies.region
        if region.difference(wood.outline).area > NEAR or region.distance(wood.outline.boundary) < rule.margin - NEAR:
            yield f"{lies.part.name} leaves the wood of {lies.offcut}"
        if not wood.defects.is_empty and (
            region.distance(wood.defects) < rule.from_defect - NEAR or region.intersection(wood.defects).area > NEAR
        ):
            yield f"{lies.part.name} is too near to a defect of {lies.offcut}"
        off = (lies.pose.direction(lies.part.grain) - wood.grain) % 180.0
        if min(off, 180.0 - off) > rule.grain_tolerance + NEAR:
            yield f"{lies.part.name} lies {min(off, 180.0 - off):.3f} degrees off the grain"
        if lies.pose.mirrored or wood.wood != lies.part.wood or wood.thickness < lies.part.thickness:
            yield f"{lies.part.name} lies on the wrong wood, too thin a one, or turned over"
    for one, other in combinations(placed.places, 2):
        if one.offcut == other.offcut:
            first, second = one.region, other.region
            if first.distance(second) < rule.between - NEAR or first.intersection(second).area > NEAR:
                yield f"{one.part.name} and {other.part.name} are too near to one another on {one.offcut}"


def fingerprint(placed: OnOffcuts) -> str:
    """All places to the bit."""
    lies = [(one.part.name, one.offcut, one.pose.angle, one.pose.x, one.pose.y, one.spare) for one in placed.places]
    return hashlib.sha256(repr(lies).encode()).hexdigest()


def racks(first: int, count: int) -> int:
    """Checks so many random racks; the number that failed."""
    began, failed, parts_laid, left = time.process_time(), 0, 0, 0
    for number in range(first, first + count):
        parts, offcuts, rule = rack(number)
        placed = place(parts, offcuts, rule)
        found = list(faults(placed, offcuts, rule))
        if fingerprint(placed) != fingerprint(place(parts, offcuts, rule)):
            found.append("a second run laid them elsewhere")
        for one in found:
            print(f"rack {number}: {one}", flush=True)
        failed += bool(found)
        parts_laid, left = parts_laid + len(placed.places), left + len(placed.unplaced)
    took = time.process_time() - began
    print(f"{count} racks, {parts_laid} places checked, {left} parts without room: {failed} racks failed; {took:.0f} s")
    return failed


def many() -> None:
    """Sixty parts on twelve offcuts, among them notched ones with knots."""
    chance = np.random.default_rng(60)
    parts = tuple(
        Wanted("picture", n, f"part {n}", WOODS[n % 3], shape(chance, 15.0, 90.0), float(chance.uniform(-5, 5)), 3.4)
        for n in range(60)
    )
    offcuts = []
    for n in range(12):
        long, deep = chance.uniform(160.0, 320.0), chance.uniform(90.0, 160.0)
        outline = Polygon([(4, 0), (long, 3), (long - 6, deep * 0.7), (long - 40, deep), (0, deep - 5)])
        outline = shapely.transform(outline, lambda xy, o=outline: xy - np.array(o.bounds[:2]))
        knot = Point(long * 0.4, deep * 0.5).buffer(7.0)
        offcuts.append(Offcut(f"offcut {n}", WOODS[n % 3], outline, 4.0, 0.0, MultiPolygon([knot] if n % 2 else [])))
    rule = OffcutRule(6.0, 5.0, 3.0)
    began = time.process_time()
    placed = place(parts, tuple(offcuts), rule)
    took = time.process_time() - began
    wrong = list(faults(placed, tuple(offcuts), rule))
    laid = len(placed.places) - sum(one.spare for one in placed.places)
    print(
        f"{laid} of 60 parts laid on {len(placed.used)} of 12 offcuts, {len(wrong)} faults: {took:.2f} s of processor"
    )


def design_set(number: int) -> list[Polygon]:
    """The parts of one set: mixed shapes, and every third set rectangles alone."""
    chance = np.random.default_rng(1000 + number)
    count = (17, 24, 36)[number // 2 % 3]
    if number % 3 == 2:
        return [box(0.0, 0.0, *sorted(chance.uniform(8.0, 60.0, 2), reverse=True)) for _ in range(count)]
    return [shape(chance, 12.0, 80.0) for _ in range(count)]


def strip_of_ours(shapes: list[Polygon]) -> tuple[float, float]:
    """Length of the shortest strip found, and the seconds of processor that it took to find it."""
    parts = tuple(Wanted("set", n, str(n), "holly", one, 0.0, 3.0) for n, one in enumerate(shapes))
    rule = OffcutRule(BETWEEN, BETWEEN, 0.0, TOLERANCE)  # the other keeps its room to the edges of the strip too
    length = sum(one.area for one in shapes) / STRIP / 0.40
    began, best = time.process_time(), math.inf
    while True:
        filled, left = pack(Stock.of(Offcut("strip", "holly", box(0, 0, length, STRIP), 4.0), rule), parts)
        if left and math.isfinite(best):
            return best, time.process_time() - began
        if left:
            length /= SHRINK**4
            continue
        best = max(float(region.bounds[2]) for region in filled.taken) + BETWEEN
        length = best * SHRINK


def strip_of_other(shapes: list[Polygon], seconds: int) -> float:
    """Length of the strip that the strip packer finds in so many seconds, in one thread."""
    import spyrrow  # type: ignore[import-not-found]

    turns = [(side + off) % 360.0 for side in (0.0, 180.0) for off in (0.0, 5.0, -5.0, 10.0, -10.0)]
    items = [spyrrow.Item(str(n), list(one.exterior.coords), 1, turns) for n, one in enumerate(shapes)]
    how = spyrrow.StripPackingConfig(
        early_termination=False, min_items_separation=BETWEEN, total_computation_time=seconds, num_workers=1, seed=1
    )
    return float(spyrrow.StripPackingInstance("set", STRIP, items).solve(how).width)


def density(sets: int) -> None:
    """Prints both densities of each set at equal time, and the ratio of ours to the other."""
    ratios = []
    for number in range(sets):
        shapes = design_set(number)
        wood = sum(one.area for one in shapes) / STRIP
        ours, took = strip_of_ours(shapes)
        seconds = max(1, math.ceil(took))
        other = strip_of_other(shapes, seconds)
        ratios.append(other / ours)
        kind = "rectangles" if number % 3 == 2 else "mixed"
        print(
            f"set {number}: {len(shapes)} {kind}: ours {wood / ours:.3f} ({took:.1f} s), strip packer "
            f"{wood / other:.3f} ({seconds} s), ratio {other / ours:.3f}",
            flush=True,
        )
    print(f"ratio of densities, ours to the strip packer's: mean {np.mean(ratios):.3f}, least {min(ratios):.3f}")


def main() -> int:
    """The exit status."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=["racks", "many", "density"])
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--sets", type=int, default=6)
    given = parser.parse_args()
    if given.what == "racks":
        return int(racks(given.first, given.count) > 0)
    many() if given.what == "many" else density(given.sets)
    return 0


if __name__ == "__main__":
    sys.exit(main())
