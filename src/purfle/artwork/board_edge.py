"""The outline of a board with live edges, found in a photograph of its show face."""

from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from purfle.artwork.photograph import board_to_flat, warped
from purfle.errors import PictureError
from purfle.model.artwork import Picture
from purfle.model.board import Board
from purfle.model.findings import Finding
from purfle.units import in_mm

Mask = NDArray[np.uint8]
Pixels = NDArray[np.uint8]

AROUND = 0.08
"""How far beyond its rectangle the board is looked for, as a share of its longer side."""
SURELY_TABLE = 0.5
"""Beyond this share of that strip there is only table: the maker measured length and width."""
LONGEST_PX = 1400
"""The board is looked for in a picture no longer than this: an edge is followed to about a thousandth of the board."""
ROUNDS = 5
"""Rounds in which wood and table are told apart; the picture changes little after three."""
LEAST_TABLE = 0.02
"""The table has to be seen on at least this share of the picture around the board."""
STEADY_PX = 1.5
"""Bits of edge smaller than this are grain of the picture, not of the wood."""
OFF, OFF_SHARE = 3.0, 0.015
"""The board that is seen may differ from its stated length and width by so many mm, or this share of the side."""
FINEST = 0.01
"""Places on the outline are rounded to this (mm); they are known to some tenths."""


@dataclass(frozen=True, slots=True)
class EdgeSeen:
    """The outline in the board frame, mm, within its rectangle; `px_mm`: what a px of the picture is."""

    outline: Polygon
    px_mm: float
    findings: tuple[Finding, ...]


def edge_seen(picture: Picture, board: Board) -> EdgeSeen:
    """The outline of the board's show face, followed where wood and table meet in its photograph.

    Wood is what looks like the inside of the rectangle that was measured on it, table what looks like the strip well
    outside (cv2.grabCut: Rother, Kolmogorov, Blake, ACM Trans. Graph. 23 (2004) 309-314). Raises PictureError where no
    table is seen around the board, or nothing that looks like wood.
    """
    assert board.photograph is not None
    around = AROUND * max(board.length, board.width)
    scale = LONGEST_PX / (max(board.length, board.width) + 2 * around)
    size = (round((board.length + 2 * around) * scale), round((board.width + 2 * around) * scale))
    to_flat = board_to_flat(picture, board.photograph, (board.length, board.width), (scale, around))
    flat = warped(picture.pixels, to_flat, size)
    seen = warped(np.full(picture.pixels.shape[:2], 255, np.uint8), to_flat, size, beyond=0) > 254
    wood = _wood(flat, _guess(board, seen, (scale, around), picture.name))
    outline = _outline(wood, board, (scale, around), picture.name)
    kept = shapely.intersection(outline, board.rectangle)
    largest = max(shapely.get_parts(kept), key=lambda part: part.area)
    whole = shapely.set_precision(Polygon(largest.exterior), FINEST)
    if not isinstance(whole, Polygon) or whole.is_empty:
        raise _not_found(picture.name)
    return EdgeSeen(whole.normalize(), 1.0 / scale, _as_measured(outline, board))


def _guess(board: Board, seen: NDArray[np.bool_], place: tuple[float, float], name: str) -> Mask:
    """What is surely wood, surely table, or to be found out (the marks of cv2.grabCut)."""
    scale, around = place
    guess = np.full(seen.shape, cv2.GC_PR_FGD, np.uint8)
    ring = round(around * scale * (1.0 - SURELY_TABLE))
    inner = round(around * scale)
    high, wide = seen.shape
    rows, columns = np.mgrid[:high, :wide]
    to_rim = np.minimum.reduce([rows, columns, high - 1 - rows, wide - 1 - columns])
    guess[to_rim < inner] = cv2.GC_PR_BGD
    guess[(to_rim < ring) | ~seen] = cv2.GC_BGD
    if (seen & (to_rim < ring)).mean() < LEAST_TABLE:
        raise PictureError(
            "The photograph shows no table around the board, so its edge cannot be told.",
            name,
            f"Photograph it with {in_mm(around)} of a plain table on every side, or give outline as places in mm.",
        )
    left, front = _corner(board)
    wide_mm, high_mm = _rectangle(board)
    x0, x1 = (round((around + value) * scale) for value in (left, left + wide_mm))
    y0, y1 = (round((around + board.width - value) * scale) for value in (front + high_mm, front))
    guess[y0:y1, x0:x1][seen[y0:y1, x0:x1]] = cv2.GC_FGD
    return guess


def _corner(board: Board) -> tuple[float, float]:
    assert board.photograph is not None
    return board.photograph.corner


def _rectangle(board: Board) -> tuple[float, float]:
    assert board.photograph is not None
    return board.photograph.photograph.sheet or (board.length, board.width)


def _wood(flat: Pixels, guess: Mask) -> Mask:
    """1 where there is wood. What it is told by starts from one seed, so the same picture gives the same board."""
    cv2.setRNGSeed(0)
    marks, backs, fronts = guess.copy(), np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(np.ascontiguousarray(flat), marks, (0, 0, 1, 1), backs, fronts, ROUNDS, cv2.GC_INIT_WITH_MASK)
    return np.asarray((marks == cv2.GC_FGD) | (marks == cv2.GC_PR_FGD), np.uint8)


def _outline(wood: Mask, board: Board, place: tuple[float, float], name: str) -> Polygon:
    """The outline of the largest part, without holes (knots, chalk), in the board frame."""
    scale, around = place
    smooth = cv2.GaussianBlur(wood.astype(np.float32), (0, 0), STEADY_PX)
    # twice as fine, so that the smoothed edge is followed to half a px
    fine = cv2.resize(smooth, None, fx=2.0, fy=2.0, interpolation=cv2.INTER_LINEAR) > 0.5
    rings, _ = cv2.findContours(fine.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    large = [ring for ring in rings if len(ring) > 2]
    if not large:
        raise _not_found(name)
    ring = max(large, key=cv2.contourArea).reshape(-1, 2)
    # a fine pixel's middle lies (i + 0.5) / 2 px from the corner of the picture
    px = (ring + 0.5) / 2.0
    found = Polygon(np.column_stack([px[:, 0] / scale - around, board.width + around - px[:, 1] / scale])).buffer(0.0)
    # findContours runs through the middles of the outermost pixels
    largest = max(shapely.get_parts(found.buffer(0.25 / scale)), key=lambda part: part.area, default=None)
    if largest is None or largest.area < 0.5 * _rectangle(board)[0] * _rectangle(board)[1]:
        raise _not_found(name)
    simple = shapely.simplify(Polygon(largest.exterior), 0.5 / scale)
    assert isinstance(simple, Polygon)
    return simple


def _not_found(name: str) -> PictureError:
    return PictureError(
        "The edge of the board cannot be told from the table in this photograph.",
        name,
        "Lay it on a plain table of another colour, or give outline as places in mm.",
    )


def _as_measured(outline: Polygon, board: Board) -> tuple[Finding, ...]:
    """A finding for each side on which the board that is seen ends elsewhere than the job says."""
    left, low, right, high = outline.bounds
    sides = (
        ("line B, left", -left, board.length),
        ("line A, in front", -low, board.width),
        ("the right", right - board.length, board.length),
        ("the back", high - board.width, board.width),
    )
    findings = []
    for side, over, long in sides:
        if abs(over) > max(OFF, OFF_SHARE * long):
            ends = "beyond" if over > 0 else "short of"
            what = f"In its photograph the board ends {in_mm(abs(over))} {ends} where the job has its edge at {side}"
            mend = "Measure length and width between the lines that touch it, and where the rectangle lies."
            findings.append(Finding("look", what, "board.photograph", mend, "board"))
    return tuple(findings)
