"""How long clearing paths are against the shortest that nested rings allow, and whether anything stays uncut.

Run: python bench/clearing.py [--json FILE] [--regions N] [--drawings N]

The bound is area(T) / s + perimeter(T) / 2 with T the room of the cutter's middle, less the allowance, and s the
step-over: the length of all nested rings without a single link. With T0, the room without the allowance taken off, in
its place it is longer and easier to keep to: both are told. Ramps are not counted. What is uncut or gouged is found by
widening the path with shapely, which shares no code with the planning. Goal: ratio at most 1.07 on each.

With --drawings the recesses are those of N drawings of each set (`bench/corpus.py`), 90 mm large, for two cutters.
`least`: the longer of the bound and the perimeter of T, all of which has to be gone along whatever lies within: in
rooms narrower than a step-over that is more than the bound.
"""

import argparse
import json
import math
import statistics
import time
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
import shapely
from corpus import SETS, sample
from shapely import LineString, Point, Polygon, box

from purfle import artwork
from purfle.cutting.passes import Work, recess_passes
from purfle.errors import PurfleError
from purfle.files.svg_drawing import read_svg
from purfle.fit import let_in, make_pieces
from purfle.geometry.offsetting import Region
from purfle.model.cutting import CuttingRule, Pass, Straight, Trip
from purfle.model.pieces import FitRule
from purfle.model.shop import Cutter

CUTTER = Cutter(1, "1/8 in", 3.175, 2, 12.0, 16.0, 24000.0)
RULE = CuttingRule()
SMALL = Cutter(2, "1/16 in", 1.5875, 2, 6.0, 12.0, 24000.0)
DEPTH = 1.5
SIZE = 90.0
GOAL = 1.07
SLIVER = 0.006
"""What is thinner than twice this is neither uncut nor gouged, mm."""


@dataclass(frozen=True)
class Row:
    region: str
    area_mm2: float
    path_mm: float
    bound_mm: float
    ratio: float
    ratio_of_whole_room: float
    ratio_to_least: float
    entries: int
    rooms: int
    uncut_mm2: float
    gouged_mm2: float
    seconds: float


def regions(count: int) -> list[tuple[str, Region]]:
    """Plain shapes, then shapes made at random from a fixed seed, all such that the cutter reaches every corner."""
    radius = 1.6
    ring = Point(0, 0).buffer(40, quad_segs=64).difference(Point(5, 0).buffer(12, quad_segs=64))
    star = Polygon([_polar(45 if k % 2 else 18, k * math.pi / 7) for k in range(14)])
    plain = [("disc 60 mm", Point(0, 0).buffer(30, quad_segs=64)), ("rectangle 90 x 50", box(0, 0, 90, 50))]
    plain += [("ring with an island", ring), ("strip 8 x 120", box(0, 0, 120, 8)), ("star of 7", star)]
    made = [(f"made at random {seed}", _made(seed)) for seed in range(count)]
    return [(name, region.buffer(-radius, quad_segs=64).buffer(radius, quad_segs=64)) for name, region in plain + made]


def drawn(count: int) -> list[tuple[str, Region, Cutter]]:
    """The recesses of drawings that nobody here has drawn, each connected one by itself."""
    found = []
    for cutter in (CUTTER, SMALL):
        rule = FitRule(cutter.radius, 0.1)
        for group in SETS:
            for name, data in sample(group, count):
                try:
                    areas = artwork.areas_of_drawing(read_svg(data, name))
                    scale = SIZE / max(artwork.design_size(areas))
                    colours = dict.fromkeys(one.colour for one in areas.areas if one.number not in areas.ground)
                    woods = [("#{:02x}{:02x}{:02x}".format(*colour), colour) for colour in colours]
                    areas_of_wood = artwork.choose_woods(areas, scale, woods, ()).areas
                    recess = let_in(make_pieces(areas_of_wood, rule), rule).recess
                except PurfleError:
                    continue
                parts = enumerate(shapely.get_parts(recess), 1)
                found += [(f"{group} {name} {number}, {cutter.name}", part, cutter) for number, part in parts]
    return found


def measure(name: str, region: Region, cutter: Cutter = CUTTER) -> Row:
    """One region: path, bound, what is left and what is taken beside it."""
    start = time.process_time()
    passes = recess_passes([region], name, Work(cutter, RULE, DEPTH, "0.1 mm"))
    seconds = time.process_time() - start
    trips = passes[-2].trips
    rooms = [region.buffer(-cutter.radius - off, quad_segs=32) for off in (RULE.allowance, 0.0)]
    path = sum(_length(_places(trip)) for trip in trips)
    bound, whole = (room.area / (RULE.step_over * cutter.width) + room.length / 2 for room in rooms)
    least = max(bound, rooms[0].length)
    gone = _swept(passes, cutter)
    uncut, gouged = _thick(region.difference(gone)), _thick(gone.difference(region))
    ratios = [path / length if length > 0 else math.nan for length in (bound, whole, least)]
    entries = (len(trips), len(shapely.get_parts(rooms[1])))
    return Row(name, region.area, path, bound, *ratios, *entries, uncut, gouged, seconds)


def main() -> None:
    """Measure, print, and write JSON if asked to."""
    parser = argparse.ArgumentParser(description="Length of clearing paths against their bound.")
    parser.add_argument("--json", type=Path)
    parser.add_argument("--regions", type=int, default=40)
    parser.add_argument("--drawings", type=int, default=0)
    chosen = parser.parse_args()
    made = drawn(chosen.drawings) if chosen.drawings else [(*one, CUTTER) for one in regions(chosen.regions)]
    rows = [measure(*one) for one in made if not one[1].is_empty]
    heads = f"{'region':22} {'mm2':>8} {'path mm':>9} {'ratio':>6} {'entries/rooms':>13}"
    print(heads + f" {'uncut':>7} {'gouged':>7} {'s':>6}")
    for row in rows:
        print(
            f"{row.region:22} {row.area_mm2:8.0f} {row.path_mm:9.0f} {row.ratio:6.3f} "
            f"{f'{row.entries}/{row.rooms}':>13} {row.uncut_mm2:7.3f} {row.gouged_mm2:7.3f} {row.seconds:6.2f}"
        )
    print(_summary(rows, "ratio"))
    print(_summary(rows, "ratio_of_whole_room"))
    print(_summary(rows, "ratio_to_least"))
    left = [row.region for row in rows if row.uncut_mm2 or row.gouged_mm2]
    print(f"uncut or gouged: {left or 'none'}; not one entry a room: ", end="")
    print([row.region for row in rows if row.entries != row.rooms] or "none")
    if chosen.json:
        chosen.json.write_text(json.dumps([asdict(row) for row in rows], indent=1))


def _summary(rows: list[Row], name: str) -> str:
    """One kind of ratio over all, its median and largest, and how many are above the goal."""
    ratios = {row.region: getattr(row, name) for row in rows if not math.isnan(getattr(row, name))}
    total = sum(row.path_mm for row in rows) / sum(row.path_mm / getattr(row, name) for row in rows if ratios)
    above = sum(ratio > GOAL for ratio in ratios.values())
    worst = max(ratios, key=lambda region: ratios[region])
    words = f"{name}: over all {total:.4f}, median {statistics.median(ratios.values()):.3f}, "
    return words + f"above {GOAL}: {above} of {len(ratios)}, largest {ratios[worst]:.3f} ({worst})"


def _polar(radius: float, angle: float) -> tuple[float, float]:
    return radius * math.cos(angle), radius * math.sin(angle)


def _made(seed: int) -> Region:
    random = np.random.default_rng(seed)
    shapes = []
    for _ in range(int(random.integers(2, 7))):
        x, y = random.uniform(0, 80, 2)
        w, h = random.uniform(8, 50, 2)
        shapes.append(shapely.affinity.rotate(box(x, y, x + w, y + h), float(random.uniform(0, 90))))
        shapes.append(Point(random.uniform(0, 80, 2)).buffer(float(random.uniform(4, 25))))
    islands = [Point(random.uniform(0, 80, 2)).buffer(float(random.uniform(1, 9))) for _ in range(3)]
    return shapely.union_all(shapes).difference(shapely.union_all(islands))


def _places(trip: Trip) -> np.ndarray:
    """The places of the tip at full depth, turns flattened."""
    ways, here = [], np.array(trip.start)
    for move in trip.moves:
        end = np.array([move.x, move.y, move.z])
        if isinstance(move, Straight):
            ways.append(np.vstack([here, end]))
        else:
            ways.append(_turned(here, end, (move.cx, move.cy), move.ccw))
        here = end
    return np.vstack([way for way in ways if way[:, 2].max() < -DEPTH + 1e-9])


def _turned(here: np.ndarray, end: np.ndarray, centre: tuple[float, float], ccw: bool) -> np.ndarray:
    radius = math.dist(here[:2], centre)
    begin = math.atan2(here[1] - centre[1], here[0] - centre[0])
    finish = math.atan2(end[1] - centre[1], end[0] - centre[0])
    sweep = (finish - begin) % math.tau if ccw else -((begin - finish) % math.tau)
    angles = begin + sweep * np.linspace(0, 1, max(3, math.ceil(abs(sweep) * math.sqrt(radius / 1.6e-3)) + 1))
    xy = np.column_stack([centre[0] + radius * np.cos(angles), centre[1] + radius * np.sin(angles)])
    return np.column_stack([xy, np.full(len(angles), end[2])])


def _length(way: np.ndarray) -> float:
    return float(np.hypot(*np.diff(way[:, :2], axis=0).T).sum())


def _swept(passes: list[Pass], cutter: Cutter) -> Region:
    ways = [_places(trip)[:, :2] for one in passes if one.depth > DEPTH - SLIVER for trip in one.trips]
    lines = [LineString(way[k : k + 101]) for way in ways for k in range(0, len(way) - 1, 100)]
    swept = list(shapely.buffer(lines, cutter.radius, quad_segs=64))
    # GEOS sometimes leaves out most of a line that comes near itself: then its segments one by one
    for number in np.flatnonzero(~shapely.covers(swept, lines)).tolist():
        ends = shapely.get_coordinates(lines[number])
        segments = [LineString(ends[k : k + 2]) for k in range(len(ends) - 1)]
        swept[number] = shapely.union_all(shapely.buffer(segments, cutter.radius, quad_segs=64))
    return shapely.union_all(swept)


def _thick(region: Region) -> float:
    """Area of what is thicker than a sliver."""
    return float(region.buffer(-SLIVER, quad_segs=4).area)


if __name__ == "__main__":
    main()
