"""Tapered walls on shapes that nobody here has drawn: do recess and insert meet, what is gouged, how much is run twice.

    python bench/tapered.py [--set colour ...] [--count 300] [--out FILE.jsonl] [--only NAME] [--all-cutters]

From each drawing the most intricate area (most border for its size, plain discs and squares left out) is made 90 mm
large; no two are alike. Recess and mirrored insert are cut with one of three V cutters in turn, or with all three. What
is cut is worked out from the trails alone: every move sweeps the hull of two discs at each level, by shapely. The walls
are then measured by exact distances to the outline and between the two, no offset of ours in it. The seam is how wide
the gap between both is; `tip_short` how far a tip of the insert ends before that of the recess: where both run to
nothing it is long and not wide. Seconds are of the processor.

A connected trail is a net of curves that hang together. `entries`: trails that begin in solid wood, by their places
alone: not at the face, not where an earlier trail has been, not where the flat cutter has cleared. `nets` are counted
from the trails' places too. `lifts`: trails beyond one for each net, which come down where it is cut already.

Goals: no failure, seam at the face <= 0.02 mm, interference <= 0.005, gouged <= 0.005, run twice <= 10 %, one entry
into solid wood for each net of curves, at most.
"""

import argparse
import json
import math
import statistics
import sys
import time
import traceback
from itertools import repeat, zip_longest
from pathlib import Path

import numpy as np
import shapely
from corpus import SETS, sample

from purfle import artwork
from purfle.errors import PurfleError
from purfle.files.svg_drawing import read_svg
from purfle.model.tapered import TaperedRule, Trail
from purfle.tapered import insert_curves, recess_curves, rounded, trails_over

SIZE = 90.0
FLAT_RADIUS = 1.5875
PLAIN = 1.6
"""Shapes rounder than this (border squared over 4 pi area; a disc has 1) tell nothing."""
ALIKE = 0.02
"""Shapes that differ by less than this share of their area are one shape."""
CUTTERS = {
    "60 deg": TaperedRule(half_angle=30.0, tip_radius=0.0, sink=2.5, glue_room=0.5, saw_room=1.0),
    "90 deg": TaperedRule(half_angle=45.0, tip_radius=0.0, sink=1.5, glue_room=0.5, saw_room=1.0),
    "30 deg, blunt 0.1": TaperedRule(half_angle=15.0, tip_radius=0.1, sink=3.0, glue_room=0.6, saw_room=1.0),
}
GOALS = {"seam_mm": 0.02, "interference_mm": 0.005, "gouged_mm": 0.005, "retraced_share": 0.1, "uncut_bottom_mm": 0.005}
GOALS |= {"below_mm": 0.005}
DISC = np.column_stack([np.cos(np.linspace(0, 2 * np.pi, 145)), np.sin(np.linspace(0, 2 * np.pi, 145))])
"""A disc of 144 sides, half outside and half inside the true one: off it by 0.00012 of its radius."""
DISC *= (1.0 + 1.0 / math.cos(math.pi / 144)) / 2.0


def shapes(name: str, count: int, known: list):
    """The most intricate area of each drawing of a set, until there are enough that are not among those known."""
    found = 0
    for drawing, data in sample(name, None):
        try:
            areas = artwork.areas_of_drawing(read_svg(data, drawing))
        except PurfleError:
            continue
        scale = SIZE / max(artwork.design_size(areas))
        drawn = artwork.choose_woods(areas, scale, [("any", (0, 0, 0))], ()).areas
        parts = [part for area in drawn for part in shapely.get_parts(area.region) if part.area > 4.0]
        if not parts:
            continue
        best = max(parts, key=lambda part: part.length**2 / part.area)
        if best.length**2 / (4 * math.pi * best.area) >= PLAIN and not seen(shape := at_size(best), known):
            known.append(shape)
            yield drawing, shape
            found += 1
        if found == count:
            return


def seen(shape, known: list) -> bool:
    """Is it like one of those: less than a fiftieth of it elsewhere?"""
    alike = [one for one in known if abs(one.area - shape.area) < ALIKE * shape.area]
    return any(shapely.symmetric_difference(one, shape).area < ALIKE * shape.area for one in alike)


def at_size(region):
    """The region with its lower left corner at the origin, its longer side SIZE."""
    left, low, right, high = region.bounds
    grown = SIZE / max(right - left, high - low)
    return shapely.transform(region, lambda xy: (xy - [left, low]) * grown)


def section(trails: tuple[Trail, ...], rule: TaperedRule, depth: float):
    """What the V cutter has taken away at a depth."""
    ways = [np.stack([trail.places[:-1], trail.places[1:]], axis=1) for trail in trails]
    moves = np.concatenate(ways) if ways else np.empty((0, 2, 3))
    upper = moves[:, 0, 2] > moves[:, 1, 2]
    moves[upper] = moves[upper][:, ::-1]
    moves = moves[moves[:, 1, 2] >= depth]
    if not len(moves):
        return shapely.Polygon()
    share = np.clip((depth - moves[:, 0, 2]) / np.maximum(moves[:, 1, 2] - moves[:, 0, 2], 1e-12), 0, 1)[:, None]
    moves[:, 0] += share * (moves[:, 1] - moves[:, 0])
    radius = rule.tip_radius + np.maximum(moves[:, :, 2] - depth, 0.0) * rule.slope
    level = np.abs(radius[:, 0] - radius[:, 1]) < 1e-6
    discs = moves[~level, :, None, :2] + radius[~level, :, None, None] * DISC
    hulls = shapely.convex_hull(shapely.multipoints(discs.reshape(int((~level).sum()), 2 * len(DISC), 2)))
    return shapely.union_all([*hulls[shapely.area(hulls) > 0], *grooves(moves[level], radius[level, 0])])


def grooves(moves, radius):
    """Moves of one depth that follow each other, up to 60 together, widened: the same and much quicker."""
    if not len(moves):
        return
    joined = (moves[1:, 0] == moves[:-1, 1]).all(axis=1) & (np.abs(radius[1:] - radius[:-1]) < 1e-6)
    begins = np.flatnonzero(np.concatenate([[True], ~joined])).tolist()
    runs = [
        run for first, last in zip(begins, [*begins[1:], len(moves)], strict=True) for run in range(first, last, 60)
    ]
    for first, last in zip(runs, [*runs[1:], len(moves)], strict=True):
        if radius[first] > 0.0:
            line = shapely.LineString([moves[first, 0, :2], *moves[first:last, 1, :2]])
            yield line.buffer(radius[first], quad_segs=48)


def off(wall, outline, wanted: float):
    """How far the corners of a wall lie from the outline, less what is wanted; positive inside it counts as deeper."""
    places = shapely.get_coordinates(wall)
    if not len(places):
        return np.zeros(1)
    border = outline.boundary
    shapely.prepare(border)
    away = shapely.distance(shapely.points(places), border)
    shapely.prepare(outline)
    return np.where(shapely.contains_xy(outline, places), away, -away) - wanted


def beyond(first, second) -> float:
    """How far a region sticks out of another one."""
    places = shapely.points(shapely.get_coordinates(first))
    if not len(places) or second.is_empty:
        return 0.0
    shapely.prepare(second)
    return float(shapely.distance(places, second).max())


def mirror(places):
    return places * [-1, 1]


def width(gap) -> float:
    """How wide a gap is at its widest, twice the disc that fits, rounded up to one of a few figures."""
    for radius in (0.0005, 0.001, 0.002, 0.003, 0.005, 0.0075, 0.01, 0.02, 0.05, 0.1, 0.5):
        if gap.buffer(-radius).is_empty:
            return 2.0 * radius
    return math.inf


def measured(outline, rule: TaperedRule) -> dict[str, float]:
    start = time.process_time()
    outline = rounded(outline, rule.tip_radius)
    around = rule.saw_room * rule.slope + 2 * FLAT_RADIUS + 1.0
    mirrored = shapely.transform(outline, mirror)
    recess = recess_curves(outline, rule, FLAT_RADIUS)
    insert = insert_curves(mirrored, rule, FLAT_RADIUS, around)
    (in_recess, of_recess), (in_insert, of_insert) = trails_over(recess), trails_over(insert)
    seconds = time.process_time() - start
    row = {
        "seconds": seconds,
        "corners": int(shapely.get_num_coordinates(outline)),
        "retraced_share": (of_recess.retraced + of_insert.retraced) / (of_recess.once + of_insert.once),
        "plunges": of_recess.plunges + of_insert.plunges,
        "entries": entries(in_recess, recess.cleared) + entries(in_insert, insert.cleared),
        "nets": nets(in_recess) + nets(in_insert),
        "trails": len(in_recess) + len(in_insert),
        "lifts": len(in_recess) + len(in_insert) - nets(in_recess) - nets(in_insert),
        "once_mm": of_recess.once + of_insert.once,
    }
    return row | walls(outline, rule, (recess, in_recess), (insert, in_insert)) | bottoms(rule, recess, in_recess)


def places_of(trail: Trail) -> list[tuple]:
    """The places of a trail to 1 nm, so that those of two trails can be compared."""
    return [tuple(place) for place in np.round(trail.places, 6).tolist()]


def entries(trails: tuple[Trail, ...], cleared) -> int:
    """How many trails begin in solid wood."""
    been: set[tuple] = set()
    count = 0
    for trail in trails:
        places = places_of(trail)
        x, y, depth = places[0]
        count += not (depth < 1e-6 or places[0] in been or shapely.contains_xy(cleared, x, y))
        been.update(places)
    return count


def nets(trails: tuple[Trail, ...]) -> int:
    """How many groups of trails hang together by a place that they share."""
    groups: list[set[tuple]] = []
    for trail in trails:
        here = set(places_of(trail))
        groups = [one for one in groups if one.isdisjoint(here)] + [here.union(*(g for g in groups if g & here))]
    return len(groups)


def walls(outline, rule: TaperedRule, recess, insert) -> dict[str, float]:
    """Seam, interference and gouges at several depths. Recess and insert each: curves and trails."""
    plate = insert[0].floor.union(shapely.transform(outline, mirror)).buffer(5.0)
    interference = below = gouged = seam = tip = standing = 0.0
    for depth in (0.0, 0.7 * rule.sink):
        hole = section(recess[1], rule, depth).union(recess[0].cleared)
        taken = section(insert[1], rule, rule.sink - depth).union(insert[0].cleared)
        left = shapely.transform(plate.difference(taken), mirror)
        # what hangs on it beyond what is cut around it is cut off
        part = shapely.union_all([one for one in shapely.get_parts(left) if one.representative_point().within(outline)])
        wanted = depth * rule.slope
        on_hole, on_part = off(hole, outline, wanted), off(part, outline, wanted)
        gouged = max(gouged, float(-on_hole.min()), float(on_part.max()))
        standing = max(standing, float(on_hole.max()), float(-on_part.min()))
        if depth == 0.0:
            interference, seam, tip = beyond(part, hole), width(hole.difference(part)), beyond(hole, part)
        below = max(below, beyond(part, hole))
    above = section(insert[1], rule, rule.sink + rule.saw_room / 2)
    gouged = max(gouged, float(off(above, shapely.transform(outline, mirror), -rule.saw_room / 2 * rule.slope).max()))
    # below the face a blunt tip leaves wood in corners and ridges (docs/method/tapered-walls.md, 5): told by itself
    sharp = {"below_mm": below} if rule.tip_radius == 0.0 else {"below_blunt_mm": below}
    found = {
        "seam_mm": seam,
        "tip_short_mm": tip,
        "interference_mm": interference,
        "gouged_mm": gouged,
        "standing_mm": standing,
    }
    return found | {"below_mm": 0.0, "below_blunt_mm": 0.0} | sharp


def bottoms(rule: TaperedRule, curves, trails) -> dict[str, float]:
    """The thickest place of the bottom that stands as high as the insert reaches down."""
    level = curves.full_depth - rule.glue_room - 1e-3
    left = curves.floor.difference(curves.cleared).difference(section(trails, rule, level))
    thick = 0.0
    while not left.buffer(-(thick + 0.0025)).is_empty:
        thick += 0.0025
    return {"uncut_bottom_mm": 2 * thick}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", nargs="*", default=["colour", "flat", "figures", "lines"], choices=sorted(SETS))
    parser.add_argument("--count", type=int, default=300, help="shapes in all")
    parser.add_argument("--only")
    parser.add_argument("--all-cutters", action="store_true", help="all three with each shape")
    parser.add_argument("--out", type=Path, help="a line of JSON for each run; what is there already is not done again")
    wish = parser.parse_args()
    rows = [json.loads(line) for line in wish.out.read_text().splitlines()] if wish.out and wish.out.exists() else []
    done = {(row["set"], row["drawing"], row["cutter"]) for row in rows}
    for name, drawing, cutter, outline in wanted(wish.set, wish.count, wish.all_cutters):
        if (name, drawing, cutter) not in done and wish.only in (None, drawing):
            rows.append({"set": name, "drawing": drawing, "cutter": cutter} | run(outline, CUTTERS[cutter]))
            tell(rows[-1], wish.out)
    summary(rows)
    sys.exit(any(row["misses"] for row in rows))


def wanted(sets: list[str], count: int, every: bool):
    """The runs: set, drawing, cutter, outline; one shape of each set in turn, so that what is measured is fair."""
    known: list = []
    shares = [count * (place + 1) // len(sets) - count * place // len(sets) for place in range(len(sets))]
    rows = zip_longest(
        *(zip(repeat(name), shapes(name, share, known)) for name, share in zip(sets, shares, strict=True))
    )
    for number, (name, (drawing, outline)) in enumerate(one for row in rows for one in row if one is not None):
        for cutter in CUTTERS if every else [[*CUTTERS][number % len(CUTTERS)]]:
            yield name, drawing, cutter, outline


def run(outline, rule: TaperedRule) -> dict:
    """The figures of one run and which goals it misses; a fault of ours is counted, told, and the run goes on."""
    try:
        row = measured(outline, rule)
    except Exception:
        return {"failed": traceback.format_exc(limit=-4), "misses": ["failed"]}
    misses = [key for key, most in GOALS.items() if row[key] > most]
    return row | {"misses": misses + (["entries"] if row["entries"] > row["nets"] else [])}


def tell(row: dict, out: Path | None) -> None:
    if row["misses"]:
        print(row["set"], row["drawing"], row["cutter"], {key: row.get(key, "") for key in row["misses"]}, flush=True)
    if out:
        with out.open("a") as file:
            file.write(json.dumps(row) + "\n")


def summary(rows: list[dict]) -> None:
    made = [row for row in rows if "failed" not in row]
    print(f"{len(rows)} runs, {len(rows) - len(made)} failed, {sum(bool(row['misses']) for row in rows)} miss a goal")
    print(f"{'':20}{'p50':>10}{'p95':>10}{'most':>10}{'goal':>8}")
    for key in [key for key in made[0] if key not in ("set", "drawing", "cutter", "misses")] if made else []:
        values = sorted(float(row[key]) for row in made)
        at95 = values[math.ceil(0.95 * len(values)) - 1]
        goal = f"{GOALS[key]:8g}" if key in GOALS else ""
        print(f"{key:20}{statistics.median(values):10.4g}{at95:10.4g}{values[-1]:10.4g}{goal}")


if __name__ == "__main__":
    main()
