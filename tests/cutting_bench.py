"""A bench for cutting tests: small jobs put together by hand, and a sweep of trips that shares no code with cutting.

The sweep flattens every move itself and lets shapely widen it by the cutter: what is gone is gone.
"""

import math
from dataclasses import replace

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Polygon, box

from purfle.geometry.pose import Pose
from purfle.model.board import Board, Fitting, Inlay, Layout
from purfle.model.cutting import Move, Pass, SetUp, Straight, Trip, Turn
from purfle.model.job import Job
from purfle.model.offcuts import OnOffcuts, Place, Wanted
from purfle.model.pieces import Fit, FitRule, Pieces, Region, SeamFigures
from purfle.model.shop import Cutter, Machine, Offcut, Shop
from sample import tern_result

CUTTER = Cutter(1, "3 mm straight", 3.0, 2, 14.0, 18.0, 24000.0)
MACHINE = Machine("bench router", (600.0, 400.0, 90.0), 18000.0, 3000.0, 5000.0, 300.0, 6.0)
SHOP = Shop((CUTTER,), MACHINE, ())
BOARD = Board("white oak", 200.0, 150.0, 20.0)
NO_PARTS = OnOffcuts((), (), (), (), ())
HALF_WIDTHS = (0.001, 0.002, 0.004, 0.006, 0.012, 0.05, 0.1, 0.15, 0.3, 1.0)
"""The widths that slivers are looked at with, mm."""
FLATTENED = 2e-4
"""How far the sweep's chords stand off a turn, mm."""


def job(**changes: object) -> Job:
    """The sample's job with the 3 mm cutter, everything else as told."""
    base = tern_result().job
    return replace(base, fit=replace(base.fit, cutter=CUTTER.name), **changes)  # type: ignore[arg-type]


def inlay(recess: Region, depth: float = 3.0, name: str = "picture", face: str = "show") -> Inlay:
    """An inlay whose recess is this region of the board; it has no inserts."""
    pieces = Pieces(box(0, 0, 1, 1), Polygon(), (), (), (), 0.0, 0.0, 0.0)
    seam = SeamFigures(0.1, (0.0, 0.0), 0.1, (0.0, 0.0), 1.0, 1.0)
    fit = Fit(FitRule(CUTTER.radius, 0.1), pieces, (), recess, seam)
    return Inlay(name, face, fit, Pose(), depth, 0.5, 0.1)  # type: ignore[arg-type]


def layout(*inlays: Inlay, fittings: tuple[Fitting, ...] = (), board: Board = BOARD) -> Layout:
    """These on the board."""
    return Layout(board, inlays, fittings, (), (), None, ())


def placed(*parts: Polygon, thickness: float = 4.0) -> OnOffcuts:
    """These parts, where they are, on one offcut."""
    offcut = Offcut("offcut 1", "maple", box(0, 0, 200, 100), thickness)
    wanted = [Wanted("picture", n, f"part {n}", "maple", part, 0.0, 3.4) for n, part in enumerate(parts, 1)]
    return OnOffcuts((offcut,), tuple(Place(one, offcut.name, Pose()) for one in wanted), (), (), ())


def discs_and_boxes(seed: int) -> Region:
    """A region made of a few discs and boxes that a 3 mm cutter can clear to its corners."""
    random = np.random.default_rng(seed)
    shapes = []
    for _ in range(int(random.integers(1, 6))):
        x, y = random.uniform(20, 100, 2)
        w, h = random.uniform(5, 40, 2)
        shapes.append(shapely.affinity.rotate(box(x, y, x + w, y + h), float(random.uniform(0, 90))))
        shapes.append(shapely.Point(random.uniform(20, 100, 2)).buffer(float(random.uniform(3, 20))))
    islands = [shapely.Point(random.uniform(20, 100, 2)).buffer(random.uniform(0.5, 9)) for _ in range(4)]
    region = shapely.union_all(shapes).difference(shapely.union_all(islands))
    # an opening by a hair more than the cutter: what is asked for can be cut
    return region.buffer(-1.51, quad_segs=64).buffer(1.51, quad_segs=64)


def places(trip: Trip) -> np.ndarray:
    """The places of the cutter's tip along a trip, turns flattened."""
    along = [np.array([trip.start])]
    for move in trip.moves:
        along.append(_flattened(along[-1][-1], move))
    return np.vstack(along)


def _flattened(start: np.ndarray, move: Move) -> np.ndarray:
    end = np.array([[move.x, move.y, move.z]])
    if isinstance(move, Straight):
        return end
    assert isinstance(move, Turn)
    x, y = start[0] - move.cx, start[1] - move.cy
    radius = math.hypot(x, y)
    begin, finish = math.atan2(y, x), math.atan2(move.y - move.cy, move.x - move.cx)
    sweep = (finish - begin) % math.tau if move.ccw else -((begin - finish) % math.tau)
    count = max(2, math.ceil(abs(sweep) / (2 * math.acos(1 - min(FLATTENED / radius, 0.5)))))
    share = np.linspace(0, 1, count + 1)[1:]
    turned = begin + sweep * share
    height = start[2] + (move.z - start[2]) * share
    ring = np.column_stack([move.cx + radius * np.cos(turned), move.cy + radius * np.sin(turned), height])
    return np.vstack([ring[:-1], end])


def swept(passes: list[Pass], cutter: Cutter, depth: float | None = None) -> Region:
    """What the cutter has taken away at `depth` (at any depth if None): each stretch of 100 places widened."""
    lines = []
    for one in passes:
        for trip in one.trips:
            way = places(trip)
            low = np.full(len(way), True) if depth is None else way[:, 2] <= -depth + 1e-6
            lines += [
                LineString(stretch[:, :2]) if len(stretch) > 1 else shapely.Point(stretch[0, :2])
                for k in range(0, max(1, len(way) - 1), 100)
                for stretch in _runs(way[k : k + 101], low[k : k + 101])
            ]
    widened = shapely.buffer(lines, cutter.radius, quad_segs=64)
    return shapely.union_all(widened) if lines else MultiPolygon()


def _runs(way: np.ndarray, low: np.ndarray) -> list[np.ndarray]:
    """The unbroken runs of places that are low enough."""
    cuts = np.flatnonzero(np.diff(low.astype(int))) + 1
    runs = zip(np.split(way, cuts), np.split(low, cuts), strict=True)
    return [run for run, is_low in runs if is_low[0]]


def deepest_inside(region: Region) -> float:
    """About the radius of the largest disc that fits in a region: how wide a sliver really is; 0 for nothing."""
    return max((half for half in HALF_WIDTHS if not region.buffer(-half, quad_segs=4).is_empty), default=0.0)


def path_length(passes: list[Pass]) -> float:
    """Length of everything at the depth of its pass, mm: ramps and ways down are not in it."""
    total = 0.0
    for one in passes:
        for trip in one.trips:
            way = places(trip)
            at_depth = np.abs(way[:, 2] + one.depth) < 1e-9
            both = at_depth[1:] & at_depth[:-1]
            total += float(np.hypot(*np.diff(way[:, :2], axis=0).T)[both].sum())
    return total


def passes_of(set_up: SetUp, kind: str) -> list[Pass]:
    """The passes of one kind in a set-up."""
    return [one for program in set_up.programs for one in program.passes if one.kind == kind]
