"""The pieces of one face drawn together with their numbers, and the order in which they go in."""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.geometry.pose import UNDERSIDE
from purfle.model.board import Inlay
from purfle.model.findings import FACES, Face
from purfle.model.job import JobResult
from purfle.sheets.drawing import FINE, Drawing
from purfle.sheets.labels import Numbered, number_pieces
from purfle.sheets.parts import Part, parts_of
from purfle.sheets.rooms import Place, laid_on_paper
from purfle.sheets.tints import is_dark, tints

TOUCHES = 0.1
"""Pieces that stand apart by no more than the seam and this lie against each other, mm."""
BORDER = 7.5
"""Paper kept round the pieces for numbers that stand beside them."""
SCALES = (
    0.2,
    0.25,
    0.5,
    0.75,
    1.0,
    1.25,
    1.5,
    1.75,
    2.0,
    2.25,
    2.5,
    3.0,
    3.5,
    4.0,
    5.0,
    6.0,
    7.5,
    10.0,
    15.0,
    20.0,
    30.0,
    50.0,
)


@dataclass(frozen=True, slots=True)
class Step:
    """One piece as it goes in: what it lies against (labels; 'board' for the ground), and what it lies inside of.

    `into`: labels of the pieces that it is let into once they are glued in and level; none for the board.
    """

    part: Part
    against: tuple[str, ...]
    host: str
    into: tuple[str, ...] = ()


def main_face(result: JobResult) -> Face:
    """The face with the most pieces; the show face where both have as many."""
    counts = {face: sum(p.inlay.face == face for p in parts_of(result)) for face in FACES}
    return max(FACES, key=lambda face: counts[face])


def draw_pieces(result: JobResult, face: Face, room: Place) -> tuple[Drawing, float]:
    """The pieces of a face as one sees them, as large as the room lets them be, and the scale."""
    parts = [p for p in parts_of(result) if p.inlay.face == face]
    shapes = [_seen(p.inlay, p.insert.region) for p in parts]
    x0, y0, x1, y1 = shapely.union_all(shapes).bounds
    wide, high = room[0] - 2 * BORDER, room[1] - 2 * BORDER
    fitting = [s for s in SCALES if (x1 - x0) / s <= wide and (y1 - y0) / s <= high]
    scale = fitting[0] if fitting else max((x1 - x0) / wide, (y1 - y0) / high)
    left = (room[0] - (x1 - x0) / scale) / 2

    def places(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack([left + (xy[:, 0] - x0) / scale, BORDER + (y1 - xy[:, 1]) / scale])

    drawing = Drawing(room[0], (y1 - y0) / scale + 2 * BORDER)
    shades = tints([p.insert.wood for p in parts])
    on_paper = [laid_on_paper(shape, places) for shape in shapes]
    for part, shape in zip(parts, on_paper, strict=True):
        drawing.region(shape, FINE, shades[part.insert.wood])
    dark = [part.label for part in parts if is_dark(shades[part.insert.wood])]
    seen = [uncovered(number, parts, on_paper) for number in range(len(parts))]
    number_pieces(drawing, [Numbered.of(part.label, shape) for part, shape in zip(parts, seen, strict=True)], dark)
    return drawing, scale


def uncovered(number: int, parts: list[Part], shapes: list[BaseGeometry]) -> BaseGeometry:
    """What is seen of a piece beside those that are let into it later: the largest part of it, for its number."""
    order, shape = parts[number].inlay.order, shapes[number]
    over = [other for part, other in zip(parts, shapes, strict=True) if part.inlay.order > order]
    left = shape.difference(shapely.union_all(over)) if over else shape
    return shape if left.is_empty else max(shapely.get_parts(left), key=lambda one: float(one.area))


def _seen(inlay: Inlay, region: BaseGeometry) -> BaseGeometry:
    """A shape of an inlay as one sees it on its face, y up."""
    on_board = inlay.pose.region(region)
    return UNDERSIDE.region(on_board) if inlay.face == "underside" else on_board


def steps_of(result: JobResult) -> list[Step]:
    """The pieces in the order in which they go in: inlay by inlay, large before small, one inside another after it."""
    steps: list[Step] = []
    for inlay in result.layout.inlays:
        parts = [p for p in parts_of(result) if p.inlay is inlay]
        its = _neighbours(inlay, parts)
        is_later = inlay.fit.walls is not None and bool(inlay.into)
        steps += _in_order([_beside_earlier(step, steps) for step in its] if is_later else its)
    return steps


def _beside_earlier(step: Step, before: list[Step]) -> Step:
    """A piece with tapered walls that is let in when others are in: it lies against those of them that it touches."""
    region = step.part.insert.region
    earlier = [one.part for one in before if one.part.inlay.fit.walls is not None]
    near = [one for one in earlier if shapely.dwithin(one.insert.region, region, TOUCHES)]
    is_within = shapely.union_all([one.insert.region for one in near]).covers(region.exterior)
    ground = tuple(label for label in step.against if label != "board" or not is_within)
    return replace(step, against=(*(one.label for one in near), *ground))


def _neighbours(inlay: Inlay, parts: list[Part]) -> list[Step]:
    regions = [p.insert.region for p in parts]
    near = inlay.fit.rule.seam + TOUCHES
    wall = inlay.fit.recess.boundary
    shapely.prepare([wall, *regions])
    made = []
    for part, region in zip(parts, regions, strict=True):
        touching = shapely.dwithin(region, regions, near)
        others = [p.label for p, is_near in zip(parts, touching, strict=True) if is_near and p is not part]
        is_inside = not shapely.dwithin(region, wall, near)
        host = others[0] if is_inside and len(others) == 1 else ""
        into = tuple(str(number) for number in part.insert.hosts)
        ground = () if is_inside or into else ("board",)
        made.append(Step(part, (*others, *ground), host, into))
    return made


def _in_order(steps: list[Step]) -> list[Step]:
    """Large before small; a piece that lies inside another right after it."""
    by_size = sorted(steps, key=lambda s: -s.part.insert.region.area)
    ordered = [s for s in by_size if not s.host]
    for step in (s for s in by_size if s.host):
        labels = [s.part.label for s in ordered]
        at = labels.index(step.host) + 1 if step.host in labels else len(ordered)
        ordered.insert(at, step)
    return ordered
