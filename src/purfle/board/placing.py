"""Where each inlay and each fitting lies in the board frame."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from purfle.board.mirroring import mirror_of, mirrored_fit
from purfle.board.wishes import InlayWish, whole_fit
from purfle.geometry.pose import UNDERSIDE, Pose
from purfle.model.board import ROUND_KINDS, Board, Fitting, Inlay
from purfle.model.findings import Face
from purfle.model.job import Artwork, Distance, FittingRule
from purfle.model.pieces import Fit
from purfle.tolerances import QUADRANT_SEGMENTS

Bounds = tuple[float, float, float, float]


def place_inlays(board: Board, wishes: Sequence[InlayWish]) -> tuple[Inlay, ...]:
    """All inlays, in their order; what is let into another lies as that does."""
    placed: dict[str, Inlay] = {}
    swaps: dict[str, Pose] = {}
    for wish in wishes:
        swap = swaps[wish.into] if wish.into else mirror_of(wish.fit)
        if wish.into:
            fit = mirrored_fit(wish.fit, swap) if wish.spot.mirrored else wish.fit
            host = placed[wish.into]
            inlay = replace(host, name=wish.name, fit=fit, depth=wish.depth, into=wish.into)
        else:
            inlay = place_inlay(board, wish)
        placed[wish.name], swaps[wish.name] = inlay, swap
    return tuple(placed.values())


def place_inlay(board: Board, wish: InlayWish) -> Inlay:
    """The inlay where the maker wants it. Its pose is mirrored if and only if it lies on the underside."""
    if wish.spot.pose is not None:
        pose = wish.spot.pose.then(turning(0.0, wish.face))
        return Inlay(wish.name, wish.face, wish.fit, pose, wish.depth, wish.proud, wish.glue_room, wish.kind)
    swap, whole = mirror_of(wish.fit), wish.whole or wish.fit
    fit, whole = ((mirrored_fit(one, swap) if wish.spot.mirrored else one) for one in (wish.fit, whole))
    turned = turning(wish.spot.angle, wish.face)
    left, low, right, high = inserts_bounds(whole, turned)
    spot = wish.spot
    wanted_x = distance_from_datum(spot.along_a, board.length)
    wanted_y = distance_from_datum(spot.along_b, board.width)
    now_x, now_y = ((left + right) / 2, (low + high) / 2) if spot.to_middle else (left, low)
    pose = replace(turned, x=wanted_x - now_x, y=wanted_y - now_y)
    return Inlay(wish.name, wish.face, fit, pose, wish.depth, wish.proud, wish.glue_room, wish.kind)


def in_board(inlays: Sequence[Inlay]) -> tuple[Inlay, ...]:
    """What is let into the board's own wood: the orders of a design with tapered walls as one inlay, and what lies in
    an insert not at all."""
    found = []
    for inlay in inlays:
        if not inlay.into:
            later = [one.fit for one in inlays if one.into and one.fit.walls is not None]
            beside = later if inlay.fit.walls is not None else []
            found.append(replace(inlay, fit=whole_fit([inlay.fit, *beside])) if beside else inlay)
    return tuple(found)


def place_artwork(board: Board, rule: Artwork, frame: BaseGeometry) -> Pose:
    """Where one artwork of several stands, as seen on its face: mirrored, turned, then moved to its distances.

    `frame` is what they are measured to. Distances along A and B are those of the show face, on either face.
    """
    mirror = Pose(180.0, mirrored=True) if rule.mirrored else Pose()
    turned = mirror.then(turning(rule.angle, rule.face))
    left, low, right, high = turned.region(frame).bounds
    x = _shift(rule.along_a, board.length, (left, right), rule.to_middle)
    y = _shift(rule.along_b, board.width, (low, high), rule.to_middle)
    return turned.then(Pose(0.0, x, y)).then(turning(0.0, rule.face))


def _shift(wanted: Distance, extent: float, ends: tuple[float, float], to_middle: bool) -> float:
    """How far to move along one axis, so that the middle, or the end nearest to the edge in question, stands right."""
    middle = to_middle or wanted.datum == "centre"
    now = sum(ends) / 2.0 if middle else ends[1] if wanted.datum == "far_edge" else ends[0]
    return distance_from_datum(wanted, extent) - now


def turning(angle: float, face: Face) -> Pose:
    """The pose that turns an artwork on its face, before it is moved; `angle` as seen on that face.

    >>> turning(90.0, "underside").point(1.0, 0.0)
    (0.0, -1.0)
    """
    return Pose(angle).then(UNDERSIDE) if face == "underside" else Pose(angle)


def inserts_bounds(fit: Fit, pose: Pose) -> Bounds:
    """Bounds of all inserts of a fit (there is one at least), placed by a pose: what the maker measures to."""
    left, low, right, high = shapely.total_bounds([pose.region(insert.region) for insert in fit.inserts])
    return float(left), float(low), float(right), float(high)


def distance_from_datum(wanted: Distance, extent: float) -> float:
    """A place along one axis as a distance from its datum edge; `extent` is the board's size along that axis.

    >>> distance_from_datum(Distance("far_edge", 20.0), 420.0), distance_from_datum(Distance("centre", -5.0), 420.0)
    (400.0, 205.0)
    """
    start = {"edge": 0.0, "far_edge": extent, "centre": extent / 2}[wanted.datum]
    return start - wanted.amount if wanted.datum == "far_edge" else start + wanted.amount


def place_fitting(board: Board, number: int, rule: FittingRule) -> Fitting:
    """The recess for one piece of hardware, its play added to its size; distances locate its middle.

    One that runs out over an edge is cut off there; a distance of 0 from an edge then means: its outer side lies on
    that edge.
    """
    round_one = rule.is_disc or rule.kind in ROUND_KINDS
    size = (rule.length + rule.play, (rule.length if round_one else rule.width) + rule.play)
    x, y = middle_of(board, rule)
    wanted = _disc(x, y, size[0] / 2) if round_one else _rectangle(x, y, size)
    if rule.open_edge and wanted.intersects(board.rectangle):
        wanted = _cut_off(wanted, board)
        left, low, right, high = wanted.bounds
        size, x, y = (right - left, high - low), (left + right) / 2, (low + high) / 2
    made = Fitting(number, rule.kind, rule.name, rule.face, wanted, (x, y), size, rule.depth, rule.open_edge)
    return replace(made, is_disc=rule.is_disc, knuckle=rule.knuckle, line=rule.line)


def middle_of(board: Board, rule: FittingRule) -> tuple[float, float]:
    """The middle of a fitting in the board frame, before anything of it is cut off at an edge."""
    size = (rule.length + rule.play, rule.width + rule.play)
    return _middle(rule, rule.along_a, board.length, size[0]), _middle(rule, rule.along_b, board.width, size[1])


def _middle(rule: FittingRule, wanted: Distance, extent: float, size: float) -> float:
    """The middle along one axis; on an edge, it moves inward by half the size."""
    middle = distance_from_datum(wanted, extent)
    on_the_edge = rule.open_edge and wanted.amount == 0 and wanted.datum != "centre"
    if not on_the_edge:
        return middle
    return middle + size / 2 if wanted.datum == "edge" else middle - size / 2


def _cut_off(wanted: Polygon, board: Board) -> Polygon:
    """The part of a convex recess that lies on the board, exactly up to its edges."""
    kept = shapely.clip_by_rect(wanted, 0.0, 0.0, board.length, board.width)
    return kept if isinstance(kept, Polygon) and not kept.is_empty else wanted


def _rectangle(x: float, y: float, size: tuple[float, float]) -> Polygon:
    return box(x - size[0] / 2, y - size[1] / 2, x + size[0] / 2, y + size[1] / 2)


def _disc(x: float, y: float, radius: float) -> Polygon:
    """A disc whose corners lie on the circle, so that its bounds are those of the circle."""
    turn = np.linspace(0.0, 2 * math.pi, 4 * QUADRANT_SEGMENTS, endpoint=False)
    return Polygon(np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn)]))
