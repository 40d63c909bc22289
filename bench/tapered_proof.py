"""Damage to the programs of pairs with tapered walls: how much of it the dry fit catches, and how long that takes.

    python bench/tapered_proof.py [--count 10] [--json FILE]

Five shapes with a sharp and a blunt V cutter; of each pair up to `count` instances a side of every kind: end points
moved by 0.02 mm towards a wall, end points 0.05 mm too deep, dropped lines that change a wall by 0.02 mm; besides whole
programs too deep, the insert mirrored, other cutters in the spindle. Caught is what brings a finding that says stop;
sound files must bring none. Seconds are of the processor, one pair read back and put together.
"""

import argparse
import json
import sys
import time
from collections import defaultdict
from pathlib import Path

import numpy as np
import shapely
from shapely import Point, box

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from tapered_bench import RULES, bench
from tapered_damage import all_deeper, deeper, dropped, mirrored, moved, other_cutters
from tapered_sweep import star

SHAPES = {
    "star of 5": star(5, 14.0, 6.0),
    "star of 9": star(9, 14.0, 9.0),
    "ring": Point(0, 0).buffer(9, quad_segs=32).difference(Point(2, 0).buffer(3)),
    "comb": shapely.union_all([box(0, 0, 25, 4), *(box(x, 3, x + 2.5, 12) for x in range(1, 24, 6))]),
    "drop": shapely.convex_hull(shapely.union(Point(0, 0).buffer(6, quad_segs=32), Point(16, 3).buffer(0.2))),
}


def stops(one) -> bool:
    return any(finding.severity == "stop" for finding in one.fit().findings)


def damages(made, count: int, chance):
    for side in ("recess", "insert"):
        for _ in range(count):
            yield "end point moved by 0.02", moved(made, side, chance, 0.02)
            yield "end point deeper by 0.05", deeper(made, side, chance, 0.05)
            yield "line dropped", dropped(made, side, chance)
        for by in (0.05, 0.1, -0.05):
            yield f"program deeper by {by}", all_deeper(made, side, by)
    yield "insert mirrored", mirrored(made)
    for damage in other_cutters(made):
        yield f"cutter: {damage.kind}", damage


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=10)
    parser.add_argument("--json", type=Path)
    wish = parser.parse_args()
    chance = np.random.default_rng(1)
    tried, caught, seconds, alarms = defaultdict(int), defaultdict(int), [], 0
    for name, shape in SHAPES.items():
        for rule in RULES:
            made = bench(shape, rule)
            begin = time.process_time()
            alarms += stops(made)
            seconds.append(time.process_time() - begin)
            for kind, damage in damages(made, wish.count, chance):
                if damage is None:
                    continue
                tried[kind] += 1
                if stops(damage.bench):
                    caught[kind] += 1
                else:
                    print(f"MISSED {name}, {rule}: {kind}, {damage.file}, {damage.place}", flush=True)
    for kind in tried:
        print(f"{kind:28}{caught[kind]:5} of {tried[kind]}")
    print(f"all: {sum(caught.values())} of {sum(tried.values())}; false alarms {alarms} of {len(seconds)}")
    print(f"seconds for one pair: median {np.median(seconds):.2f}, most {max(seconds):.2f}")
    if wish.json:
        wish.json.write_text(json.dumps({"tried": tried, "caught": caught, "alarms": alarms, "seconds": seconds}))
    sys.exit(alarms + sum(tried.values()) - sum(caught.values()) > 0)


if __name__ == "__main__":
    main()
