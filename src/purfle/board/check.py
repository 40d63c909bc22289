"""The check before cutting: one distance on the underside that comes out different when the board lies wrong."""

import math
from dataclasses import dataclass

from purfle.board.placing import in_board, inserts_bounds
from purfle.model.board import Board, Fitting, Hole, Inlay, Mark
from purfle.model.findings import Face, Finding
from purfle.tolerances import SEEN_ON_A_RULE

Place = tuple[float, float]
Shape = tuple[str, float, float, float]


@dataclass(frozen=True, slots=True)
class Feature:
    """One recess or hole of the underside: what it is called, its middle, and all that makes it look like another."""

    name: str
    middle: Place
    shape: Shape


def check_mark(
    board: Board, inlays: tuple[Inlay, ...], fittings: tuple[Fitting, ...], holes: tuple[Hole, ...] = ()
) -> Mark | None:
    """A line of the underside that would lie elsewhere if the board lay end for end; if there is none, back to front.

    It is taken to the middle of the recess whose mirrored place is furthest from any recess like it, so two equal
    hinges that swap places prove nothing. None if the underside is the same either way, or bare.
    """
    features = _features(inlays, fittings, holes)
    for axis, extent in ((0, board.length), (1, board.width)):
        moved = [(_moved_by(one, features, axis, extent), one) for one in features]
        moves = [(amount, one) for amount, one in moved if amount > SEEN_ON_A_RULE]
        if moves:
            _, telling = max(moves, key=lambda it: (round(it[0] / SEEN_ON_A_RULE), -features.index(it[1])))
            return _mark(telling, axis)
    return None


def symmetry_finding(
    inlays: tuple[Inlay, ...], fittings: tuple[Fitting, ...], holes: tuple[Hole, ...] = ()
) -> Finding | None:
    """Says that no distance can prove how the board lies; None where the underside is bare."""
    if not _features(inlays, fittings, holes):
        return None
    return Finding(
        "look",
        "the underside has its recesses alike end for end and back to front: no distance proves how the board lies",
        "underside",
        "mark edges A and B on the wood before you turn it over",
        "board",
        None,
        "underside",
    )


def _features(inlays: tuple[Inlay, ...], fittings: tuple[Fitting, ...], holes: tuple[Hole, ...]) -> list[Feature]:
    """Everything of the underside; a hole only where it stands in no recess, since its recess tells as much."""
    face: Face = "underside"
    features = [_inlay_feature(inlay) for inlay in in_board(inlays) if inlay.face == face]
    features += [
        Feature(f.name, f.centre, (f.kind, round(f.size[0], 3), round(f.size[1], 3), round(f.depth, 3)))
        for f in fittings
        if f.face == face
    ]
    return features + [
        Feature(h.name, h.centre, (h.kind, round(h.drill, 3), round(h.drill, 3), round(h.depth, 3)))
        for h in holes
        if h.face == face and not h.floor
    ]


def _inlay_feature(inlay: Inlay) -> Feature:
    """An inlay is like no other; a picture that were mirrored would show it whatever its place."""
    left, low, right, high = inserts_bounds(inlay.fit, inlay.pose)
    shape = ("key", round(right - left, 3), round(high - low, 3), round(inlay.depth, 3))
    return Feature(inlay.name, ((left + right) / 2, (low + high) / 2), shape)


def _moved_by(feature: Feature, features: list[Feature], axis: int, extent: float) -> float:
    """How far the mirrored place of a feature is from the nearest feature of its shape: 0 if nothing would change."""
    mirrored = list(feature.middle)
    mirrored[axis] = extent - mirrored[axis]
    return min(math.dist(mirrored, other.middle) for other in features if other.shape == feature.shape)


def _mark(feature: Feature, axis: int) -> Mark:
    name = f"check: middle of {feature.name}"
    if axis == 0:
        return Mark(0, name, "underside", "line_x", feature.middle[0], None)
    return Mark(0, name, "underside", "line_y", None, feature.middle[1])
