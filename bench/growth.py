"""How the time for pieces grows with the nodes of a drawing: two families of made drawings, from 100 to 100,000 nodes.

    python bench/growth.py [--most 100000] [--family outline --family crowd] [--json FILE]

`outline`: one wavy outline, 250 mm round, ever more finely drawn. `crowd`: eight-sided areas of two woods, 2 to 4 mm
wide, with ground between that the cutter cannot pass everywhere; the drawing grows with its areas. Prints the seconds
of the processor for pieces and seam, and those divided by n log2 n, in microseconds: level or falling where time grows
no faster than n log n.
"""

import argparse
import json
import math
import time
from pathlib import Path

import numpy as np
from shapely import Polygon

from purfle.errors import PurfleError
from purfle.fit import let_in, make_pieces
from purfle.model.pieces import DrawnArea, FitRule

CUTTER, SEAM = 3.175, 0.1
SIDES = 8
WOODS = ("holly", "wenge")


def outline(nodes: int) -> tuple[DrawnArea, ...]:
    """One area whose outline waves seven times round a circle, with so many nodes."""
    turn = np.linspace(0.0, 2.0 * math.pi, nodes, endpoint=False)
    reach = 35.0 + 5.0 * np.sin(7.0 * turn)
    return (
        DrawnArea("wave", "holly", (1, 1, 1), Polygon(np.column_stack((np.cos(turn), np.sin(turn))) * reach[:, None])),
    )


def crowd(nodes: int) -> tuple[DrawnArea, ...]:
    """Areas with eight nodes each, in rows, so near to one another that the cutter cannot pass everywhere."""
    chance = np.random.default_rng(nodes)
    count = max(1, nodes // SIDES)
    row = math.ceil(math.sqrt(count))
    turn = (np.arange(SIDES) + 0.5) * 2.0 * math.pi / SIDES
    areas = []
    for number in range(count):
        centre = np.array((number % row, number // row)) * 5.0 + chance.uniform(-0.4, 0.4, 2)
        shape = Polygon(centre + np.column_stack((np.cos(turn), np.sin(turn))) * chance.uniform(1.0, 2.0))
        wood = int(chance.integers(2))
        areas.append(DrawnArea(f"area {number}", WOODS[wood], (wood, 0, 0), shape))
    return tuple(areas)


FAMILIES = {"outline": outline, "crowd": crowd}


def measured(family: str, nodes: int) -> dict[str, object]:
    """Seconds for pieces and seam of one drawing, and what came of it."""
    areas = FAMILIES[family](nodes)
    rule = FitRule(CUTTER / 2.0, SEAM, time_limit_s=1e6)
    row: dict[str, object] = {"family": family, "nodes": nodes}
    start = time.process_time()
    try:
        pieces = make_pieces(areas, rule)
        row["widest_mm"] = let_in(pieces, rule).seam.widest
        row |= {
            "pieces": len(pieces.pieces),
            "residual_mm": max(pieces.closing_residual_geos, pieces.closing_residual_clipper),
        }
    except PurfleError as refusal:
        row["refused"] = refusal.what
    seconds = time.process_time() - start
    return row | {"seconds": seconds, "us_per_n_log_n": 1e6 * seconds / (nodes * math.log2(nodes))}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--family", action="append", choices=FAMILIES)
    parser.add_argument("--most", type=int, default=100_000, help="nodes of the largest drawing")
    parser.add_argument("--json", type=Path)
    wish = parser.parse_args()
    sizes = [size for size in (100, 300, 1_000, 3_000, 10_000, 30_000, 100_000) if size <= wish.most]
    rows = []
    for family in wish.family or FAMILIES:
        print(f"{family:>10}{'nodes':>9}{'seconds':>10}{'us/(n lg n)':>13}{'pieces':>8}{'residual':>10}{'widest':>8}")
        for size in sizes:
            row = measured(family, size)
            rows.append(row)
            figures = f"{'':10}{size:9}{row['seconds']:10.2f}{row['us_per_n_log_n']:13.2f}"
            told = row.get("refused") or f"{row['pieces']:8}{row['residual_mm']:10.4f}{row['widest_mm']:8.3f}"
            print(f"{figures}{told}", flush=True)
    if wish.json:
        wish.json.write_text(json.dumps(rows, indent=1))


if __name__ == "__main__":
    main()
