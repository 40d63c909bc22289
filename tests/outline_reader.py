"""Outline files read by the tests' own few lines, which share nothing with the writer nor with the proof.

Source: SVG 1.1, path data M, L, A, Z and appendix F.6.5 (centre of an arc from its ends), from memory.
"""

import json
import math
import re
from xml.etree import ElementTree

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

FLAT = 0.0005
SVG = "{http://www.w3.org/2000/svg}"
Files = dict[str, bytes]
Corner = tuple[float, float]


def arc_points(start: Corner, end: Corner, radius: float, large: bool, ccw: bool) -> list[Corner]:
    """Points along an arc after its start, so near that their chords stay within a thousandth of it."""
    chord = math.dist(start, end)
    rise = math.sqrt(max(0.0, radius**2 - chord**2 / 4))
    side = -1.0 if large == ccw else 1.0
    nx, ny = -(end[1] - start[1]) / chord, (end[0] - start[0]) / chord
    cx, cy = (start[0] + end[0]) / 2 + side * rise * nx, (start[1] + end[1]) / 2 + side * rise * ny
    a, b = (math.atan2(p[1] - cy, p[0] - cx) for p in (start, end))
    turn = (b - a) % (2 * math.pi) if ccw else -((a - b) % (2 * math.pi))
    steps = max(1, math.ceil(abs(turn) / (2 * math.acos(max(0.0, 1 - FLAT / radius)))))
    turned = [a + turn * i / steps for i in range(1, steps)]
    reach = math.dist(start, (cx, cy))
    return [(cx + reach * math.cos(t), cy + reach * math.sin(t)) for t in turned] + [end]


def rings_of(path: str) -> list[list[Corner]]:
    """Every ring of a path of M, L, A, Z, its arcs as points."""
    rings: list[list[Corner]] = []
    for letter, body in re.findall(r"([MLAZ])([^MLAZ]*)", path):
        values = [float(v) for v in re.findall(r"-?[\d.]+(?:e-?\d+)?", body)]
        if letter == "M":
            rings.append([(values[0], values[1])])
        elif letter == "L":
            rings[-1] += list(zip(values[::2], values[1::2], strict=True))
        elif letter == "A":
            for i in range(0, len(values), 7):
                radius, _, _, large, sweep, x, y = values[i : i + 7]
                # the group turns y over, so that what SVG calls sweep runs counter-clockwise in the frame of the file
                rings[-1] += arc_points(rings[-1][-1], (x, y), radius, large == 1, sweep == 1)
    return rings


def svg_lines(svg: bytes) -> dict[str, BaseGeometry]:
    """The region of each line of an outline file, even-odd, in the frame of its set-up; the stock is not among them."""
    found = {}
    for path in ElementTree.fromstring(svg).iter(f"{SVG}path"):
        if path.get("id") == "stock-outline":
            continue
        rings = [shapely.Polygon(ring) for ring in rings_of(path.get("d", ""))]
        region: BaseGeometry = shapely.Polygon()
        for ring in rings:
            region = region.symmetric_difference(ring)
        found[path.get("id", "")] = region
    return found


def placed(region: BaseGeometry, pose: dict[str, float]) -> BaseGeometry:
    """Mirrored in the x axis if `mirrored`, turned by `angle`, moved: the pose of the assembly card."""
    turn = math.radians(pose["angle"])
    flip = -1.0 if pose["mirrored"] else 1.0

    def moved(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        x, y = xy[:, 0], xy[:, 1] * flip
        cos, sin = math.cos(turn), math.sin(turn)
        return np.column_stack([x * cos - y * sin + pose["x"], x * sin + y * cos + pose["y"]])

    return shapely.transform(region, moved)


def put_together(files: Files) -> dict[str, tuple[BaseGeometry, dict[int, BaseGeometry]]]:
    """For each inlay its recess and its parts by number (no spares), from the SVG files, in the board frame."""
    card = json.loads(files["assembly.json"])
    lines = {s["number"]: svg_lines(files[s["svg"]]) for s in card["set_ups"]}
    faces = {s["number"]: s["face"] for s in card["set_ups"]}
    found = {}
    for inlay in card["inlays"]:
        number = inlay["recess"]["set_up"]
        over = {"angle": 0.0, "x": 0.0, "y": 0.0, "mirrored": faces[number] == "underside"}
        recess = shapely.union_all([placed(lines[number][line], over) for line in inlay["recess"]["lines"]])
        parts = [p for p in inlay["parts"] if not p["spare"]]
        outlines = {p["number"]: placed(lines[p["set_up"]][p["line"]], p["to_board"]) for p in parts}
        found[inlay["name"]] = recess, outlines
    return found


def seam_widths(
    recess: BaseGeometry, parts: list[BaseGeometry], step: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places along the outline of every part, and how far the next part or the wall is from each."""
    walls = [*parts, shapely.box(*recess.bounds).buffer(5).difference(recess)]
    rings, body = shapely.get_rings(walls, return_index=True)
    edges = [shapely.linestrings(np.stack([xy[:-1], xy[1:]], axis=1)) for xy in map(shapely.get_coordinates, rings)]
    owner = np.repeat(body, [len(e) for e in edges])
    every = np.concatenate(edges)
    places, widths = [], []
    for number, part in enumerate(parts):
        xy = shapely.get_coordinates(shapely.segmentize(shapely.boundary(part), step))
        tree = shapely.STRtree(every[owner != number])
        found, apart = tree.query_nearest(shapely.points(xy), all_matches=False, return_distance=True)
        places.append(xy[found[0]])
        widths.append(apart)
    return np.concatenate(places), np.concatenate(widths)
