"""How long clearing paths are against the shortest that nested rings allow, and whether anything stays uncut.

Run: python bench/clearing.py [--json FILE] [--regions N]

The bound is area(T0) / s + perimeter(T0) / 2 with T0 the room of the cutter's middle, less the allowance, and s the
step-over: the length of all nested rings without a single link. Ramps are not counted. What is uncut or gouged is
found by widening the path with shapely, which shares no code with the planning. Goal: ratio at most 1.07 over all.
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
from shapely import LineString, Point, Polygon, box

from purfle.cutting.passes import Work, recess_passes
from purfle.geometry.offsetting import Region
from purfle.model.cutting import CuttingRule, Pass, Straight, Trip
from purfle.model.shop import Cutter

CUTTER = Cutter(1, "1/8 in", 3.175, 2, 12.0, 16.0, 24000.0)
RULE = CuttingRule()
DEPTH = 1.5
SLIVER = 0.006
"""What is thinner than twice this is neither uncut nor gouged, mm."""


@dataclass(frozen=True)
class Row:
    region: str
    area_mm2: float
    path_mm: float
    bound_mm: float
    ratio: float
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


def measure(name: str, region: Region) -> Row:
    """One region: path, bound, what is left and what is taken beside it."""
    start = time.process_time()
    passes = recess_passes([region], name, Work(CUTTER, RULE, DEPTH, "0.1 mm"))
    seconds = time.process_time() - start
    trips = passes[0].trips
    room = region.buffer(-CUTTER.radius - RULE.allowance, quad_segs=32)
    path = sum(_length(_places(trip)) for trip in trips)
    bound = room.area / (RULE.step_over * CUTTER.width) + room.length / 2
    gone = _swept(passes)
    rooms = len(shapely.get_parts(region.buffer(-CUTTER.radius, quad_segs=32)))
    uncut, gouged = _thick(region.difference(gone)), _thick(gone.difference(region))
    return Row(name, region.area, path, bound, path / bound, len(trips), rooms, uncut, gouged, seconds)


def main() -> None:
    """Measure, print, and write JSON if asked to."""
    parser = argparse.ArgumentParser(description="Length of clearing paths against their bound.")
    parser.add_argument("--json", type=Path)
    parser.add_argument("--regions", type=int, default=40)
    chosen = parser.parse_args()
    rows = [measure(name, region) for name, region in regions(chosen.regions) if not region.is_empty]
    heads = f"{'region':22} {'mm2':>8} {'path mm':>9} {'ratio':>6} {'entries/rooms':>13}"
    print(heads + f" {'uncut':>7} {'gouged':>7} {'s':>6}")
    for row in rows:
        print(
            f"{row.region:22} {row.area_mm2:8.0f} {row.path_mm:9.0f} {row.ratio:6.3f} "
            f"{f'{row.entries}/{row.rooms}':>13} {row.uncut_mm2:7.3f} {row.gouged_mm2:7.3f} {row.seconds:6.2f}"
        )
    ratios = [row.ratio for row in rows]
    total = sum(row.path_mm for row in rows) / sum(row.bound_mm for row in rows)
    summary = {"ratio_over_all": total, "median": statistics.median(ratios), "largest": max(ratios), "goal": 1.07}
    print(", ".join(f"{name} {value:.3f}" for name, value in summary.items()))
    if chosen.json:
        chosen.json.write_text(json.dumps({"summary": summary, "rows": [asdict(row) for row in rows]}, indent=1))


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


def _swept(passes: list[Pass]) -> Region:
    ways = [_places(trip)[:, :2] for one in passes for trip in one.trips]
    lines = [LineString(way[k : k + 101]) for way in ways for k in range(0, len(way) - 1, 100)]
    return shapely.union_all(shapely.buffer(lines, CUTTER.radius, quad_segs=64))


def _thick(region: Region) -> float:
    """Area of what is thicker than a sliver."""
    return float(region.buffer(-SLIVER, quad_segs=4).area)


if __name__ == "__main__":
    main()
