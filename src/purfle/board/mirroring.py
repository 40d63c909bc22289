"""A fit with its left and right swapped: the inserts themselves change, so they are cut the other way round too."""

from dataclasses import replace
from typing import TypeVar

from purfle.geometry.pose import Pose
from purfle.model.pieces import Fit, Insert, Piece, Pieces

Part = TypeVar("Part", Insert, Piece)


def mirror_of(fit: Fit) -> Pose:
    """What swaps left and right of a fit within the bounds of its domain."""
    left, _, right, _ = fit.pieces.domain.bounds
    return Pose(180.0, left + right, 0.0, mirrored=True)


def mirrored_fit(fit: Fit, swap: Pose) -> Fit:
    """The fit mirrored left to right; every place in it moves along."""
    seam = replace(fit.seam, narrowest_at=swap.point(*fit.seam.narrowest_at), widest_at=swap.point(*fit.seam.widest_at))
    return replace(
        fit,
        pieces=_mirrored_pieces(fit.pieces, swap),
        inserts=tuple(_moved(insert, swap) for insert in fit.inserts),
        recess=swap.region(fit.recess),
        seam=seam,
        choices=tuple(replace(choice, place=swap.point(*choice.place)) for choice in fit.choices),
    )


def _mirrored_pieces(pieces: Pieces, swap: Pose) -> Pieces:
    return replace(
        pieces,
        domain=swap.region(pieces.domain),
        ground=swap.region(pieces.ground),
        pieces=tuple(_moved(piece, swap) for piece in pieces.pieces),
        lost=tuple(replace(lost, region=swap.region(lost.region)) for lost in pieces.lost),
        chiselled=tuple(swap.region(corner) for corner in pieces.chiselled),
        junctions=tuple(swap.point(*junction) for junction in pieces.junctions),
        findings=tuple(
            found if found.place is None else replace(found, place=swap.point(*found.place))
            for found in pieces.findings
        ),
    )


def _moved(part: Part, swap: Pose) -> Part:
    return replace(part, region=swap.region(part.region))
