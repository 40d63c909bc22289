"""Drawings that nobody here has drawn, rendered as pictures and traced: how far off, what is too many or too few.

    python bench/traced_drawings.py [--set colour ...] [--count 50] [--kind png ...] [--size 512] [--out FILE.jsonl]
    python bench/traced_drawings.py --large        three drawings at 12 MP: time against `cv2.findContours`, memory

Constants of the tracing were tuned on the set `colour` (and on the shapes of bench/tracing.py); the others are
untouched.

A drawing is taken if the SVG reader carries it wholly and the picture can show it: every area somewhere 3 px wide, at
most 24 colours. What is not taken is counted, with the reason. The truth is the exact partition that our reader gives
at one mm for one px (tested against resvg in bench/svg_reading.py); resvg renders the picture, on a ground colour that
the drawing does not have. It rounds outlines to quarters of a pixel, so pictures are rendered four times finer and
averaged. Kinds: png; JPEG q90, q75, q50; blur (Gaussian of 1 px); twice (enlarged twofold, bicubic, errors in px of the
larger picture); plain and plain75: PNG and JPEG q75 of what resvg renders by itself, its rounding included.

For each picture: distance between traced and true borders of areas, both ways, every half pixel along all but the frame
(mean, 95th percentile); corners; frame less the sum of areas and overlaps; areas too many or few; curves on 100 px of
border; processor time; memory. A corner is resolvable where the boundary turns by 40 to 150 degrees between two legs
that run on straight (within 20 degrees) for 8 px and no other border comes within 6 px; found if a traced corner of
over 25 degrees stands within 1.5 px. An area is matched if one of like colour (12 in CIELAB) shares over half of both.
Whether a neck or a slit under 2 px wide joins or parts two areas is for pixels to say, not for the drawing (two fields
that touch in a corner are one area or two): areas that match once all are cut at such necks count as there; how many
they were stands in the column `neck`. Colours within 1 in CIELAB are one colour in the truth, as they are to any eye.
"""

import argparse
import hashlib
import io
import json
import math
import os
import re
import signal
import sys
import time
import traceback
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import resvg_py
import shapely
from corpus import SETS, sample
from drawings import _forget_peak as forget_peak
from drawings import _peak_mb as peak_mb
from lxml import etree
from PIL import Image
from shapely import Polygon
from tracing import coded, contour_seconds, sampled

from purfle.artwork import areas_of_picture
from purfle.artwork.colour import lab_of
from purfle.errors import PurfleError
from purfle.files.picture import read_picture_bytes
from purfle.files.svg_drawing import read_svg
from purfle.model.artwork import OUTSIDE, Areas, Colour, Drawing, TraceRule

KINDS = ("png", "q90", "q75", "q50", "blur", "twice", "plain", "plain75")
FINER = 4
TUNED_ON = "colour"
GROUNDS: tuple[Colour, ...] = ((255, 255, 255), (201, 163, 107), (150, 200, 220), (60, 60, 60), (210, 120, 210))
GROUND_APART = 25.0
LIKE = 12.0
SAME = 1.0
NECKS = (0.5, 1.0)
"""Half the widths in px at which areas are cut before they are matched again."""
LEAST_RADIUS = 1.5
DUST = 0.02
LEG, CLEAR = 8.0, 6.0
LEAST_TURN, MOST_TURN, LEG_BENDS = 40.0, 150.0, 20.0
TRACED_TURN, FOUND_WITHIN, GOOD_WITHIN = 25.0, 1.5, 0.4
TOO_LONG = 8
"""Processor seconds after which a drawing's truth is given up."""
GOALS = {"png": (0.06, 0.2), "q75": (0.10, 0.3)}


@dataclass(frozen=True)
class Truth:
    """What a picture ought to be traced to: faces with their colours, their borders, the resolvable corners. y down."""

    width: int
    height: int
    faces: tuple[tuple[Colour, Polygon], ...]
    lines: shapely.Geometry
    corners: np.ndarray
    ground: Colour

    def times(self, factor: int) -> "Truth":
        def larger(points: np.ndarray) -> np.ndarray:
            return points * factor

        faces = tuple((colour, shapely.transform(face, larger)) for colour, face in self.faces)
        size = self.width * factor, self.height * factor
        return Truth(*size, faces, shapely.transform(self.lines, larger), self.corners * factor, self.ground)


Area = tuple[Colour, Polygon]


class NotTaken(Exception):
    """A drawing that says nothing about tracing, and why."""


def sized(data: bytes, size: int, unit: str) -> tuple[bytes, int, int]:
    """The drawing with its longer side `size` units long, and its width and height in whole units."""
    root = etree.fromstring(data)
    box = root.get("viewBox")
    if box is None:
        box = f"0 0 {_number(root.get('width'))} {_number(root.get('height'))}"
        root.set("viewBox", box)
    wide, high = (float(value) for value in re.split(r"[ ,]+", box.strip())[2:])
    width, height = (max(1, round(side * size / max(wide, high))) for side in (wide, high))
    root.set("width", f"{width}{unit}")
    root.set("height", f"{height}{unit}")
    root.set("preserveAspectRatio", "none")
    return etree.tostring(root), width, height


def _number(text: str | None) -> float:
    found = re.match(r"[0-9.]+", text or "")
    if not found:
        raise NotTaken("neither a view box nor a size")
    return float(found.group())


def truth_of(data: bytes, name: str, size: int) -> Truth:
    """The partition that the drawing means, in px of its picture."""
    larger, width, height = sized(data, size, "mm")
    drawing = read_svg(larger, name)
    if drawing.not_carried:
        raise NotTaken(f"not carried wholly: {drawing.not_carried[0].what}")
    used = {shape.colour for shape in drawing.shapes}
    ground = _ground(used)
    faces = _faces(drawing, ground, shapely.box(0, 0, width, height))
    if len({colour for colour, _ in faces}) > 24:
        raise NotTaken("more than 24 colours")
    if len(faces) < 2:
        raise NotTaken("one colour only")
    finest = min(_radius(face) for _, face in faces)
    if finest < LEAST_RADIUS:
        raise NotTaken(f"an area is nowhere {2 * LEAST_RADIUS:g} px wide at this size")
    frame = shapely.box(0, 0, width, height)
    lines = shapely.union_all([face.boundary for _, face in faces])
    lines = shapely.difference(lines, frame.boundary.buffer(0.01))
    return Truth(width, height, tuple(faces), lines, corners_of(faces, lines, frame), ground)


def _ground(used: set[Colour]) -> Colour:
    lab = lab_of(np.array(sorted(used)))
    for ground in GROUNDS:
        if float(np.linalg.norm(lab - lab_of(np.array(ground)), axis=1).min()) > GROUND_APART:
            return ground
    raise NotTaken("no ground colour differs from all of its colours")


def _faces(drawing: Drawing, ground: Colour, frame: Polygon) -> list[Area]:
    """What shows of every colour, the topmost paint first; hair-thin slits between abutting shapes are closed."""
    by_colour: dict[Colour, list[shapely.Geometry]] = {}
    covered: shapely.Geometry = Polygon()

    def down(points: np.ndarray) -> np.ndarray:
        return np.stack([points[:, 0], drawing.height - points[:, 1]], axis=1)

    for shape in reversed(drawing.shapes):
        region = shapely.intersection(shapely.make_valid(shapely.transform(shape.region, down)), frame)
        by_colour.setdefault(_known_as(shape.colour, by_colour), []).append(shapely.difference(region, covered))
        covered = shapely.union(covered, region).buffer(DUST / 4).buffer(-DUST / 4)
    by_colour.setdefault(ground, []).append(shapely.difference(frame, covered))
    faces = []
    for colour, parts in by_colour.items():
        joined = shapely.union_all(parts).buffer(DUST, join_style="mitre").buffer(-DUST, join_style="mitre")
        joined = joined.buffer(-DUST, join_style="mitre").buffer(DUST, join_style="mitre")
        faces += [(colour, part) for part in shapely.get_parts(joined) if part.area > 0.5]
    return faces


def _known_as(colour: Colour, known: dict[Colour, list[shapely.Geometry]]) -> Colour:
    """The colour that is the same to the eye and is there already; else itself."""
    if known and colour not in known:
        away = np.linalg.norm(lab_of(np.array(list(known))) - lab_of(np.array(colour)), axis=1)
        return list(known)[int(away.argmin())] if away.min() < SAME else colour
    return colour


def _radius(face: Polygon) -> float:
    return float(shapely.length(shapely.maximum_inscribed_circle(face, 0.1)))


def corners_of(faces: list[Area], lines: shapely.Geometry, frame: Polygon) -> np.ndarray:
    """Resolvable corners (n, 2): see the head of this file."""
    found = []
    for _, face in faces:
        for ring in (face.exterior, *face.interiors):
            found += _corners_of_ring(np.asarray(ring.coords)[:-1])
    if not found:
        return np.zeros((0, 2))
    places = np.unique(np.round(np.array(found), 2), axis=0)
    places = places[shapely.distance(shapely.points(places), frame.boundary) > CLEAR]
    return np.array([place for place in places if _stands_clear(place, lines)]).reshape(-1, 2)


def _corners_of_ring(points: np.ndarray) -> list[np.ndarray]:
    closed = np.concatenate([points, points[:1]])
    steps = np.hypot(*np.diff(closed, axis=0).T)
    travelled = np.concatenate([[0.0], np.cumsum(steps)])
    total = travelled[-1]
    if total < 3 * LEG:
        return []
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    turn = np.abs(np.degrees(_turns(before, after)))
    found = []
    for number in np.nonzero(turn > LEAST_TURN / 2)[0]:
        at = travelled[number] + np.array([-LEG, -LEG / 2, -0.5, 0.5, LEG / 2, LEG])
        x, y = (np.interp(at % total, travelled, closed[:, axis]) for axis in (0, 1))
        way = np.stack([x, y], axis=1)
        legs = [way[1] - way[0], way[2] - way[1], way[4] - way[3], way[5] - way[4]]
        bends = [abs(math.degrees(float(_turns(legs[n], legs[n + 1])))) for n in (0, 1, 2)]
        if bends[0] < LEG_BENDS and bends[2] < LEG_BENDS and LEAST_TURN < bends[1] < MOST_TURN:
            found.append(points[number])
    return found


def _turns(before: np.ndarray, after: np.ndarray) -> np.ndarray:
    cross = before[..., 0] * after[..., 1] - before[..., 1] * after[..., 0]
    return np.arctan2(cross, (before * after).sum(axis=-1))


def _stands_clear(place: np.ndarray, lines: shapely.Geometry) -> bool:
    """Whether exactly one line runs through the disc about a place: no junction, no other border."""
    near = shapely.intersection(lines, shapely.Point(place).buffer(CLEAR))
    merged = shapely.line_merge(near) if near.geom_type == "MultiLineString" else near
    return merged.geom_type == "LineString" and not merged.is_ring


def rendered(data: bytes, size: int, ground: Colour, finer: int = FINER) -> np.ndarray:
    """The drawing as resvg renders it so much finer, averaged over each pixel; rgb."""
    larger, width, height = sized(data, size, "")
    colour = "#{:02x}{:02x}{:02x}".format(*ground)
    extent = {"width": width * finer, "height": height * finer}
    png = resvg_py.svg_to_bytes(svg_string=larger.decode(), background=colour, **extent)
    image = Image.open(io.BytesIO(bytes(png))).convert("RGB")
    return np.asarray(image.resize((width, height), Image.Resampling.BOX))


def picture_of(pixels: np.ndarray, kind: str) -> bytes:
    """The file of a picture of this kind."""
    kind = {"plain": "png", "plain75": "q75"}.get(kind, kind)
    if kind == "twice":
        image = Image.fromarray(pixels)
        pixels, kind = np.asarray(image.resize((2 * image.width, 2 * image.height), Image.Resampling.BICUBIC)), "png"
    return coded(pixels, kind)


def figures(truth: Truth, areas: Areas) -> dict[str, object]:
    """Every figure of one traced picture but its time."""

    def down(points: np.ndarray) -> np.ndarray:
        return np.stack([points[:, 0], truth.height - points[:, 1]], axis=1)

    inner = [arc for arc in areas.arcs if OUTSIDE not in (arc.left, arc.right)]
    traced = shapely.multilinestrings([shapely.linestrings(down(arc.points)) for arc in inner])
    # what runs out in the frame within half a pixel has the frame itself for a border
    rim = shapely.box(0, 0, truth.width, truth.height).boundary
    off = np.concatenate([away(sampled(traced), truth.lines, rim), away(sampled(truth.lines), traced, rim)])
    regions = [shapely.transform(area.region, down) for area in areas.areas]
    frame = truth.width * truth.height
    corners = _corner_distances(truth.corners, [down(arc.points) for arc in inner])
    found = corners[corners <= FOUND_WITHIN]
    traced_areas = [(area.colour, region) for area, region in zip(areas.areas, regions, strict=True)]
    spurious, missing, at_necks = matched(traced_areas, truth)
    curves = sum(len(arc.curves) for arc in inner)
    return {
        "mean": float(off.mean()),
        "p95": float(np.quantile(off, 0.95)),
        "most": float(off.max()),
        "corners": len(corners),
        "corners_found": len(found),
        "corners_good": int((corners <= GOOD_WITHIN).sum()),
        "corners_off": float(found.sum()),
        "gap": frame - float(sum(shapely.area(regions))),
        "overlap": float(sum(shapely.area(regions)) - shapely.area(shapely.union_all(regions))),
        "areas": len(truth.faces),
        "spurious": len(spurious),
        "missing": len(missing),
        "at_necks": at_necks,
        "places": [f"too many at {x:.0f},{y:.0f} ({a:.0f} px²)" for x, y, a in spurious]
        + [f"missing at {x:.0f},{y:.0f} ({a:.0f} px²)" for x, y, a in missing],
        "curves": curves,
        "border": float(traced.length),
    }


def away(points: np.ndarray, *lines: shapely.Geometry) -> np.ndarray:
    """The distance of each point from the lines, found by the tree of their segments."""
    pieces = []
    for one in shapely.get_parts(lines):
        places = shapely.get_coordinates(one)
        pieces.append(shapely.linestrings(np.stack([places[:-1], places[1:]], axis=1)))
    tree = shapely.STRtree(np.concatenate(pieces))
    (which, _), found = tree.query_nearest(points, return_distance=True, all_matches=False)
    distances = np.zeros(len(points))
    distances[which] = found
    return distances


def _corner_distances(corners: np.ndarray, arcs: list[np.ndarray]) -> np.ndarray:
    if len(corners) == 0:
        return np.zeros(0)
    places = [arc[[0, -1]] for arc in arcs]
    for arc in arcs:
        # a closed arc may have its corner where it begins
        around = np.concatenate([arc, arc[1:2]]) if (arc[0] == arc[-1]).all() else arc
        step = np.diff(around, axis=0)
        turn = np.abs(np.degrees(_turns(step[:-1], step[1:])))
        places.append(around[1:-1][turn > TRACED_TURN])
    return np.asarray(shapely.distance(shapely.points(corners), shapely.multipoints(np.concatenate(places))))


def matched(traced: list[Area], truth: Truth) -> tuple[list, list, int]:
    """Places and sizes of traced areas that match no true one, and of true ones that none matches.

    And how many areas matched only once all were cut at their necks.
    """
    true = list(truth.faces)
    pairs = _pairs(traced, true)
    many = set(range(len(traced))) - {one for one, _ in pairs}
    few = set(range(len(true))) - {other for _, other in pairs}
    before = len(many) + len(few)
    for width in NECKS:
        for changed in (_cut, _joined):
            if not many and not few:
                break
            (mine, owners), (theirs, true_owners) = changed(traced, width), changed(true, width)
            pairs = _pairs(mine, theirs)
            many &= _left(owners, {one for one, _ in pairs})
            few &= _left(true_owners, {other for _, other in pairs})
    places = [_place(traced[number][1]) for number in sorted(many)], [_place(true[number][1]) for number in sorted(few)]
    return *places, before - len(many) - len(few)


def _cut(areas: list[Area], width: float) -> tuple[list[Area], list[tuple[int, ...]]]:
    """What is left of areas that are cut where they are narrower than twice this, and whose parts they are."""
    parts: list[Area] = []
    owners: list[tuple[int, ...]] = []
    for number, (colour, region) in enumerate(areas):
        kept = [
            part
            for part in shapely.get_parts(region.buffer(-width).buffer(width))
            if part.area > TraceRule().smallest_px
        ]
        parts += [(colour, part) for part in kept or [region]]
        owners += [(number,)] * max(len(kept), 1)
    return parts, owners


def _joined(areas: list[Area], width: float) -> tuple[list[Area], list[tuple[int, ...]]]:
    """Areas of one colour that slits narrower than twice this part, as one; and which ones each is made of."""
    joined: list[Area] = []
    owners: list[tuple[int, ...]] = []
    for colour in dict.fromkeys(colour for colour, _ in areas):
        mine = [number for number, area in enumerate(areas) if area[0] == colour]
        closed = shapely.union_all([areas[number][1].buffer(width) for number in mine]).buffer(-width)
        for part in shapely.get_parts(closed):
            inside = tuple(number for number in mine if part.covers(areas[number][1].representative_point()))
            joined.append((colour, part))
            owners.append(inside)
    return joined, owners


def _left(owners: list[tuple[int, ...]], matched_parts: set[int]) -> set[int]:
    """The areas of which some part is not matched."""
    return {owner for part, mine in enumerate(owners) if part not in matched_parts for owner in mine}


def _pairs(traced: list[Area], true: list[Area]) -> list[tuple[int, int]]:
    """Which traced area matches which true one: each of them once."""
    tree = shapely.STRtree([face for _, face in true])
    used: set[int] = set()
    found = []
    for place, (colour, region) in enumerate(traced):
        for number in tree.query(region, predicate="intersects").tolist():
            true_colour, face = true[number]
            like = np.linalg.norm(lab_of(np.array(colour)) - lab_of(np.array(true_colour))) < LIKE
            if number not in used and like and region.intersection(face).area > 0.5 * max(region.area, face.area):
                used.add(number)
                found.append((place, number))
                break
    return found


def _place(region: Polygon) -> tuple[float, float, float]:
    point = region.representative_point()
    return point.x, point.y, region.area


def measured(task: tuple[str, str, bytes, int, tuple[str, ...]]) -> list[dict[str, object]]:
    """The figures of one drawing in every kind of picture; or why it is not taken; or the refusal or fault it met."""
    group, name, data, size, kinds = task
    head: dict[str, object] = {"set": group, "drawing": name, "size": size}
    signal.signal(signal.SIGPROF, _too_much)
    signal.setitimer(signal.ITIMER_PROF, TOO_LONG)
    try:
        truth = truth_of(data, name, size)
        fine, plain = (rendered(data, size, truth.ground, finer) for finer in (FINER, 1))
        signal.setitimer(signal.ITIMER_PROF, 0)
    except (NotTaken, PurfleError) as reason:
        return [head | {"kind": kind, "not_taken": str(reason).splitlines()[0]} for kind in kinds]
    rows = []
    for kind in kinds:
        row = head | {"kind": kind}
        try:
            picture = read_picture_bytes(picture_of(plain if kind.startswith("plain") else fine, kind), name)
            forget_peak()
            start = time.process_time()
            areas = areas_of_picture(picture, TraceRule())
            row |= {"seconds": time.process_time() - start, "peak_mb": peak_mb()}
            row |= figures(truth.times(2) if kind == "twice" else truth, areas)
        except PurfleError as refusal:
            row |= {"refused": refusal.faults[0].what}
        except Exception as fault:
            row |= {"fault": f"{type(fault).__name__}: {fault}", "trace": traceback.format_exc(limit=-6)}
        rows.append(row)
    return rows


def _too_much(*_: object) -> None:
    raise NotTaken(f"its truth takes more than {TOO_LONG} s")


def table(rows: list[dict], kinds: tuple[str, ...]) -> None:
    """One line for each set and kind; then the sets that constants were not tuned on, together."""
    print(
        f"{'set':9}{'kind':6}{'n':>4}{'mean':>7}{'p95':>7}{'goal':>5}{'corner':>8}{'found':>7}{'good':>6}"
        f"{'gap':>8}{'+/10':>6}{'-/10':>6}{'neck':>6}{'curves':>7}{'s':>6}{'p95 s':>6}{'MB':>5}  (refused, faults)"
    )
    groups = list(dict.fromkeys(row["set"] for row in rows))
    for label, names in [(group, {group}) for group in groups] + [("untouched", set(groups) - {TUNED_ON})]:
        for kind in kinds:
            line([row for row in rows if row["kind"] == kind and row["set"] in names], label, kind)


def line(rows: list[dict], label: str, kind: str) -> None:
    made = [row for row in rows if "mean" in row]
    if not made:
        return

    def total(key: str) -> float:
        return float(sum(row[key] for row in made))

    mean, p95 = (float(np.mean([row[key] for row in made])) for key in ("mean", "p95"))
    goal = GOALS.get(kind)
    met = "" if goal is None else "yes" if mean <= goal[0] and p95 <= goal[1] else "no"
    corners, found = max(total("corners"), 1.0), max(total("corners_found"), 1.0)
    gap = max(abs(row["gap"]) + abs(row["overlap"]) for row in made)
    many, few, necks = (10 * total(key) / len(made) for key in ("spurious", "missing", "at_necks"))
    seconds = np.percentile([row["seconds"] for row in made], [50, 95])
    print(
        f"{label:9}{kind:6}{len(made):4d}{mean:7.3f}{p95:7.3f}{met:>5}{total('corners_off') / found:8.2f}"
        f"{100 * found / corners:6.1f}%{100 * total('corners_good') / corners:5.0f}%{gap:8.0e}{many:6.2f}{few:6.2f}"
        f"{necks:6.2f}"
        f"{100 * total('curves') / total('border'):7.2f}{seconds[0]:6.2f}{seconds[1]:6.2f}"
        f"{max(row['peak_mb'] for row in made):5.0f}"
        f"  ({sum('refused' in row for row in rows)}, {sum('fault' in row for row in rows)})"
    )


def worst(rows: list[dict], kinds: tuple[str, ...], count: int = 10) -> None:
    """The pictures that are furthest off, with what stands out about each."""
    for kind in kinds:
        mine = sorted((row for row in rows if row["kind"] == kind and "mean" in row), key=lambda row: -row["mean"])
        print(f"\nfurthest off, {kind}:")
        for row in mine[:count]:
            where = "; ".join(row["places"][:3])
            lost = row["corners"] - row["corners_found"]
            print(
                f"  {row['set']}/{row['drawing']}: "
                f"mean {row['mean']:.3f}, p95 {row['p95']:.2f}, most {row['most']:.1f} px; "
                f"{lost} of {row['corners']} corners lost; {where or 'all areas there'}"
            )
        for row in [row for row in rows if row["kind"] == kind and ("refused" in row or "fault" in row)]:
            print(f"  {row['set']}/{row['drawing']}: {row.get('refused') or 'FAULT ' + row['fault']}")


def large(sets: list[str]) -> None:
    """One drawing of each set at 12 MP, and the tern's: time as a multiple of `cv2.findContours`, memory."""
    for group in sets:
        for name, data in sample(group, 40):
            try:
                truth = truth_of(data, name, 512)
            except (NotTaken, PurfleError):
                continue
            _, width, height = sized(data, 512, "")
            pixels = rendered(data, round(512 * math.sqrt(12e6 / (width * height))), truth.ground, 1)
            for kind in ("png", "q75"):
                picture = read_picture_bytes(coded(pixels, kind), name)
                forget_peak()
                before, start = peak_mb(), time.process_time()
                areas = areas_of_picture(picture, TraceRule())
                seconds, peak = time.process_time() - start, peak_mb()
                size = pixels.shape[1], pixels.shape[0]
                times = seconds / contour_seconds(areas, *size)
                print(
                    f"{group}/{name} {size[0]} x {size[1]} {kind}: {seconds:.2f} s, "
                    f"{times:.0f} x findContours (goal 100), "
                    f"peak {peak:.0f} MB, {before:.0f} before (goal 1500); {len(areas.areas)} areas"
                )
            break


def _wish() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--set", action="append", choices=SETS, help="one of the sets; may be given again")
    parser.add_argument("--kind", action="append", choices=KINDS, help="one kind of picture; may be given again")
    parser.add_argument("--count", type=int, default=50, help="drawings of each set that are taken")
    parser.add_argument("--drawing", action="append", help="only the drawings of this name")
    parser.add_argument("--size", type=int, default=512, help="px of the longer side")
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--out", type=Path, help="JSON lines, one for each picture; what is there is not done again")
    parser.add_argument("--large", action="store_true", help="one drawing of each set at 12 MP instead")
    return parser.parse_args()


def main() -> None:
    wish = _wish()
    cv2.setNumThreads(1)
    if wish.large:
        large(wish.set or list(SETS))
        return
    kinds = tuple(wish.kind or KINDS)
    done = [json.loads(text) for text in wish.out.read_text().splitlines()] if wish.out and wish.out.exists() else []
    rows: list[dict] = []
    for group in wish.set or SETS:
        rows += _of_one_set(group, wish, kinds, done)
    reasons = Counter((row["set"], row["not_taken"]) for row in rows if "not_taken" in row and row["kind"] == kinds[0])
    for (group, reason), count in reasons.most_common(25):
        print(f"not taken: {count:4} of {group}: {reason[:110]}")
    taken = [row for row in rows if "not_taken" not in row]
    print(f"\n{len({(row['set'], row['drawing']) for row in taken})} drawings taken, {wish.size} px")
    table(taken, kinds)
    worst(taken, kinds)
    sys.exit(1 if any("fault" in row for row in taken) else 0)


def _of_one_set(group: str, wish: argparse.Namespace, kinds: tuple[str, ...], done: list[dict]) -> list[dict]:
    """Rows of a set, drawing after drawing of its scattered order, until `count` of them are taken."""
    known = {(row["drawing"], row["kind"]): row for row in done if row["set"] == group and row["size"] == wish.size}
    chosen = sorted(sample(group, None), key=lambda one: hashlib.sha256(one[0].encode()).digest())
    chosen = [one for one in chosen[: 12 * wish.count] if not wish.drawing or one[0] in wish.drawing]
    rows: list[dict] = []
    taken = 0
    with ProcessPoolExecutor(wish.processes) as pool:
        while chosen and taken < wish.count:
            some, chosen = chosen[: wish.count - taken], chosen[wish.count - taken :]
            left = [one for one in some if any((one[0], kind) not in known for kind in kinds)]
            fresh = pool.map(measured, [(group, *one, wish.size, kinds) for one in left])
            for name, mine in [(one[0], None) for one in some if one not in left] + [(one[0], fresh) for one in left]:
                found = [known[name, kind] for kind in kinds] if mine is None else next(mine)
                if mine is not None and wish.out:
                    with wish.out.open("a") as sink:
                        sink.writelines(json.dumps(row) + "\n" for row in found)
                rows += found
                taken += "not_taken" not in found[0]
    return rows


if __name__ == "__main__":
    main()
