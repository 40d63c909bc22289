"""Pieces to inserts and recess: every piece, the ground too, gives up half the seam."""

import numpy as np
import shapely
from shapely import Polygon

from purfle.errors import Fault, FitError
from purfle.fit.cells import middle, where
from purfle.fit.symmetry import symmetrical
from purfle.fit.walls import shrunk_ground
from purfle.geometry.measuring import Gaps, gaps_between
from purfle.geometry.offsetting import Region, difference, shrink
from purfle.hard_stop import busy
from purfle.model.pieces import Fit, FitRule, Insert, Piece, Pieces, SeamFigures
from purfle.tolerances import SEAM_CORNER_FACTOR, SEAM_DRAWN, SEAM_SHARE

_SAMPLES = 0.3
"""Sampling step along a seam; near junctions, and wherever the gap is uncommon, it is a tenth of the seam."""
_FINEST_SEAM = 0.05
"""A seam of no width is sampled like one of this width."""


def let_in(pieces: Pieces, rule: FitRule) -> Fit:
    """Inserts and recess with a seam of `rule.seam` between any two, and the seam as measured.

    Raises FitError if an insert falls apart or vanishes, if a seam comes out too narrow, or if it opens at a junction
    beyond `tolerances.SEAM_CORNER_FACTOR`.
    """
    half = rule.seam / 2.0
    inserts = plain = _inserts(pieces.pieces, half)
    for symmetry in pieces.symmetries:
        inserts = symmetrical(inserts, symmetry)
    ground = shrunk_ground(pieces.ground, pieces.domain, half)
    seam = seam_figures(inserts, ground, pieces, rule)
    if inserts is not plain and not _is_sound(seam, rule):
        # an image may lie some thousandths nearer to a neighbour than the insert itself: the seam comes first
        inserts, seam = plain, seam_figures(plain, ground, pieces, rule)
    _refuse_bad_seam(seam, rule)
    recess = difference(pieces.domain, ground)
    return Fit(rule, pieces, inserts, recess, seam)


def seam_figures(inserts: tuple[Insert, ...], ground: Region, pieces: Pieces, rule: FitRule) -> SeamFigures:
    """The seam of inserts in their recess, measured by distances between outlines and nothing else."""
    busy("measuring its seam", lambda: "whole artwork")
    return _figures(gaps_of(inserts, ground, pieces, rule.seam), rule.seam)


def gaps_of(inserts: tuple[Insert, ...], ground: Region, pieces: Pieces, seam: float) -> Gaps:
    """The width of a seam all along it, artwork frame, mm; `seam`: as asked for."""
    fine = max(seam, _FINEST_SEAM) / 10.0
    bodies = [*(insert.region for insert in inserts), ground]
    edges = [*(body.boundary for body in bodies[:-1]), ground.boundary.difference(pieces.domain.exterior)]
    return gaps_between(bodies, edges, (_SAMPLES, fine), shapely.MultiPoint(list(pieces.junctions)))


def _inserts(pieces: tuple[Piece, ...], half: float) -> tuple[Insert, ...]:
    inserts, faults = [], []
    for piece in pieces:
        region = shrink(piece.region, half)
        if isinstance(region, Polygon) and not region.is_empty:
            inserts.append(
                Insert(piece.number, piece.name, piece.wood, piece.colour, region, cutter_radius=piece.cutter_radius)
            )
        else:
            faults.append(
                Fault(
                    f'insert {piece.number}, "{piece.name}", falls apart when its half of the seam is taken off',
                    where(middle(piece.region)),
                    "draw it wider, or choose a narrower seam",
                )
            )
    if faults:
        raise FitError.of(faults)
    return tuple(inserts)


def _figures(gaps: Gaps, seam: float) -> SeamFigures:
    least, most = int(np.argmin(gaps.widths)), int(np.argmax(gaps.widths))
    length = float(gaps.lengths.sum())
    within = float(gaps.lengths[gaps.widths <= seam + SEAM_SHARE].sum())

    def place(number: int) -> tuple[float, float]:
        return float(gaps.places[number, 0]), float(gaps.places[number, 1])

    return SeamFigures(
        float(gaps.widths[least]), place(least), float(gaps.widths[most]), place(most), within / length, length / 2.0
    )


def _is_sound(seam: SeamFigures, rule: FitRule) -> bool:
    widest = max(SEAM_CORNER_FACTOR * rule.seam, SEAM_SHARE)
    return seam.narrowest >= rule.seam - SEAM_DRAWN and seam.widest <= widest


def _refuse_bad_seam(seam: SeamFigures, rule: FitRule) -> None:
    if seam.narrowest < rule.seam - SEAM_DRAWN:
        raise FitError(
            f"the seam comes out at {seam.narrowest:.4f} mm instead of {rule.seam:.4f} mm",
            where(seam.narrowest_at),
            "change the size of the artwork a little, or simplify it there",
        )
    if seam.widest > max(SEAM_CORNER_FACTOR * rule.seam, SEAM_SHARE):
        raise FitError(
            f"the seam opens to {seam.widest:.3f} mm where pieces meet at a sharp angle",
            where(seam.widest_at),
            "let the areas meet at a blunter angle there",
        )
