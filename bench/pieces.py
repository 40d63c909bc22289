"""Pieces on random partitions: how many are cut, how closed they are, how even their seams, how long it takes.

    python bench/pieces.py [--count 50] [--first 0] [--cutter 1.5875] [--seam 0.1] [--json FILE]

Each drawing is made from its number: discs, bars, stars, curved lines and crescents laid over one another on 90 mm, in
five woods. Prints a table and, if asked, writes JSON. Times are of one core's work, not of the clock on the wall.
"""

import argparse
import json
import sys
import time
from pathlib import Path

import numpy as np
import shapely
from shapely import LineString, Point, Polygon, box

from purfle.errors import FitError
from purfle.fit import let_in, make_pieces
from purfle.geometry.offsetting import difference, polygonal, sound, union_of
from purfle.geometry.partition import tiling_of
from purfle.model.pieces import DrawnArea, FitRule

SIZE = 90.0
WOODS = ("holly", "maple", "wenge", "padauk", "sapele")


def disc(chance, centre, size):
    return Point(*centre).buffer(size / 2, quad_segs=int(chance.integers(8, 48)))


def bar(chance, centre, size):
    x, y = centre
    return shapely.affinity.rotate(
        box(x - size / 2, y, x + size / 2, y + size * chance.uniform(0.05, 0.8)), chance.uniform(0, 90)
    )


def star(chance, centre, size):
    count = int(chance.integers(5, 12))
    turn = np.sort(chance.uniform(0, 2 * np.pi, count))
    reach = size * chance.uniform(0.2, 0.8, count)
    return Polygon(np.column_stack((centre[0] + reach * np.cos(turn), centre[1] + reach * np.sin(turn))))


def line(chance, centre, size):
    along = np.linspace(0, 1, 30)[:, None]
    middle, end = (centre + chance.uniform(-2, 2, 2) * size for _ in range(2))
    curve = (1 - along) ** 2 * centre + 2 * along * (1 - along) * middle + along**2 * end
    return LineString(curve).buffer(chance.uniform(0.2, 4))


def crescent(chance, centre, size):
    bite = Point(*(centre + chance.uniform(-0.3, 0.3, 2) * size)).buffer(size * 0.4)
    return Point(*centre).buffer(size / 2).difference(bite)


SHAPES = (disc, bar, star, line, crescent)


def drawing(number: int) -> tuple[DrawnArea, ...]:
    """The areas of one random drawing, in painter's order from the bottom to the top."""
    chance = np.random.default_rng(number)
    laid: list[tuple[str, object]] = []
    for _ in range(int(chance.integers(3, 22))):
        shape = SHAPES[int(chance.integers(len(SHAPES)))]
        centre, size = chance.uniform(0.1, 0.9, 2) * SIZE, chance.uniform(0.02, 0.3) * SIZE
        laid.append((WOODS[int(chance.integers(len(WOODS)))], sound(shape(chance, centre, size))))
    areas = []
    for place, (wood, region) in enumerate(laid):
        above = [one for _, one in laid[place + 1 :]]
        seen = polygonal(difference(region, union_of(above)) if above else region)
        if not seen.is_empty:
            areas.append(DrawnArea(f"area {place}", wood, (place, place, place), seen))
    return tuple(areas)


def measured(number: int, rule: FitRule) -> dict[str, object]:
    """The figures of one drawing, or why it was refused."""
    areas = drawing(number)
    start = time.process_time()
    try:
        pieces = make_pieces(areas, rule)
        made = time.process_time()
        seam = let_in(pieces, rule).seam
    except FitError as refusal:
        return {"drawing": number, "refused": refusal.what, "where": refusal.where}
    tiling = tiling_of([pieces.ground, *(piece.region for piece in pieces.pieces)], pieces.domain)
    return {
        "drawing": number,
        "areas": len(areas),
        "pieces": len(pieces.pieces),
        "lost": len(pieces.lost),
        "closing_residual_geos_mm": pieces.closing_residual_geos,
        "closing_residual_clipper_mm": pieces.closing_residual_clipper,
        "tiling_apart_mm2": tiling.area_apart,
        "art_changed": pieces.art_changed,
        "seam_narrowest_mm": seam.narrowest,
        "seam_widest_mm": seam.widest,
        "seam_share_within": seam.share_within,
        "pieces_s": made - start,
        "seam_s": time.process_time() - made,
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=50)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--cutter", type=float, default=1.5875, help="cutter radius in mm")
    parser.add_argument("--seam", type=float, default=0.1, help="seam in mm")
    parser.add_argument("--json", type=Path)
    wish = parser.parse_args()
    rule = FitRule(wish.cutter, wish.seam)
    rows = [measured(number, rule) for number in range(wish.first, wish.first + wish.count)]
    made = [row for row in rows if "refused" not in row]
    print(f"{len(made)} of {len(rows)} drawings made")
    for row in rows:
        if "refused" in row:
            print(f"  drawing {row['drawing']} refused: {row['refused']}; {row['where']}")
    print(f"{'':28}{'median':>10}{'p90':>10}{'p95':>10}{'least':>10}{'most':>10}")
    for key in list(made[0])[1:] if made else ():
        values = np.array([row[key] for row in made], float)
        figures = (*np.percentile(values, [50, 90, 95]), values.min(), values.max())
        print(f"{key:28}" + "".join(f"{figure:10.4g}" for figure in figures))
    if wish.json:
        wish.json.write_text(
            json.dumps({"cutter_radius_mm": wish.cutter, "seam_mm": wish.seam, "drawings": rows}, indent=1)
        )
    sys.exit(0 if len(made) == len(rows) else 1)


if __name__ == "__main__":
    main()
