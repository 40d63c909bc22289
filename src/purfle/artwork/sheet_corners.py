"""The four corners of a sheet or board in a photograph: found by its edges, or put in order as they were given."""

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.artwork.pixels import Floats32
from purfle.errors import PictureError

Floats = NDArray[np.float64]
Bytes = NDArray[np.uint8]

LOOK_SIDE = 720
"""The sheet is first looked for in a picture that is no larger than this."""
SMALLEST_SHARE = 0.08
"""A sheet takes up at least this share of its photograph."""
STRAIGHT = 0.5
"""Share of a side's length along which its edge has to be seen in one straight line."""
REACH_SHARE = 0.012
"""How far on either side of a rough side its edge is looked for, as a share of the picture's longer side."""
NEAR_LINE_PX = 2.5
"""An edge point lies on its side within this: paper is never quite straight."""
PLACES = 160
"""So many places along each side are looked at."""
CLEAR_OF_CORNER = 0.04
"""Share of a side left out at both its ends, where the other sides are near."""
LEAST_STEP = 5.0
"""Light, of 255, by which an edge steps at least."""
LEVELS_OF_LIGHT = 2.2
"""The power by which levels stand for light, near enough (IEC 61966-2-1)."""
LINE_ROUNDS = 12
"""A robust line settles in a few rounds."""
WAYS = 4
"""A sheet has four sides."""


def corners_of_sheet(pixels: Bytes, name: str) -> Floats:
    """The corners (4, 2) of the one large sheet in a photograph, clockwise from the upper left one.

    In px from the top left corner of the top left pixel, y down. Raises PictureError where no four straight sides
    are seen.
    """
    scale = max(1.0, max(pixels.shape[:2]) / LOOK_SIDE)
    size = (round(pixels.shape[1] / scale), round(pixels.shape[0] / scale))
    small = cv2.GaussianBlur(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), (0, 0), 1.2)
    best: _Sides | None = None
    for channel in _channels(np.asarray(small, np.uint8)):
        rough = _rough_corners(channel)
        if rough is None:
            continue
        sides = _sides(pixels, in_order(rough * scale))
        if best is None or sides.seen > best.seen:
            best = sides
    if best is None or best.seen < STRAIGHT or not is_convex(best.corners):
        raise PictureError(
            "The four corners of the sheet cannot be found in this photograph.",
            name,
            "Lay the sheet on a darker, plain ground with all four corners in the picture; or give the four corners "
            'in the picture, in px from its upper left corner, as corners = ["120, 80", "1500, 95", "1620, 1900", '
            '"60, 1880"].',
        )
    return best.corners


@dataclass(frozen=True, slots=True)
class _Sides:
    """Corners where the straight sides meet, and the share of the worst side along which its edge was seen."""

    corners: Floats
    seen: float


def in_order(corners: Floats) -> Floats:
    """Four corners clockwise as seen, from the one nearest to the upper left corner of the picture."""
    middle = corners.mean(axis=0)
    angles = np.arctan2(corners[:, 1] - middle[1], corners[:, 0] - middle[0])
    turned = corners[np.argsort(angles, kind="stable")]
    # of the four starts the one whose sides run most nearly right, down, left, up
    first = int(np.argmin([(np.roll(turned, -start, axis=0) * _TOWARDS).sum() for start in range(WAYS)]))
    return np.asarray(np.roll(turned, -first, axis=0))


_TOWARDS = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]])
"""Summed up with the corners, this is least where they start at the upper left."""


def is_convex(corners: Floats) -> bool:
    """True if no corner of the four lies within the triangle of the others, or on one of its sides."""
    before, after = corners - np.roll(corners, 1, axis=0), np.roll(corners, -1, axis=0) - corners
    turns = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    lengths = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
    return bool((turns > 0.05 * lengths).all())


def _channels(small: Bytes) -> list[Bytes]:
    """What a sheet may stand out in: its darkest channel (white on wood), brightness, difference from the rim."""
    grey = np.asarray(cv2.cvtColor(small, cv2.COLOR_RGB2GRAY), np.uint8)
    lab = np.asarray(cv2.cvtColor(small, cv2.COLOR_RGB2LAB), np.float32)
    rim = np.concatenate([lab[:3].reshape(-1, 3), lab[-3:].reshape(-1, 3), lab[:, :3].reshape(-1, 3)])
    colour = np.linalg.norm((lab - np.median(rim, axis=0))[..., 1:], axis=2)
    apart = np.linalg.norm(lab - np.median(rim, axis=0), axis=2)
    found = [small.min(axis=2), grey, _spread(colour), _spread(apart)]
    return [np.ascontiguousarray(channel) for channel in found]


def _spread(values: Floats32) -> Bytes:
    return np.asarray(np.clip(values * 2.0, 0, 255), np.uint8)


def _rough_corners(channel: Bytes) -> Floats | None:
    """The four corners of the largest part that stands out; None if it is no quadrangle or too small."""
    _, mask = cv2.threshold(channel, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((7, 7), np.uint8))
    outlines, _ = cv2.findContours(np.asarray(mask, np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not outlines:
        return None
    hull = cv2.convexHull(max(outlines, key=cv2.contourArea))
    if cv2.contourArea(hull) < SMALLEST_SHARE * channel.size:
        return None
    length = cv2.arcLength(hull, True)
    for share in np.linspace(0.01, 0.12, 23):
        corners = cv2.approxPolyDP(hull, share * length, True)
        if len(corners) == WAYS:
            return np.asarray(corners, np.float64).reshape(WAYS, 2) + 0.5
        if len(corners) < WAYS:
            break
    return None


def _sides(pixels: Bytes, rough: Floats) -> _Sides:
    """The sides found again in the picture itself, each as a straight line through the places where the edge steps."""
    reach = max(4.0, REACH_SHARE * max(pixels.shape[:2]))
    lines, shares = [], []
    for start, end in pairwise([*rough, rough[0]]):
        points = _edge_points(pixels, (start, end), reach)
        line, share = _robust_line(points)
        lines.append(line)
        shares.append(share)
    corners = np.array([_meeting(lines[side - 1], lines[side]) for side in range(WAYS)])
    moved = np.linalg.norm(corners - rough, axis=1).max()
    # a corner that runs away from where the outline turned belongs to other lines
    return _Sides(corners, min(shares) if moved < 3.0 * reach else 0.0)


def _edge_points(pixels: Bytes, side: tuple[Floats, Floats], reach: float) -> Floats:
    """Places (n, 2) along a side where the picture steps most across it, to parts of a pixel."""
    start, end = side
    way = end - start
    across = np.array([-way[1], way[0]]) / max(float(np.linalg.norm(way)), 1.0)
    along = np.linspace(CLEAR_OF_CORNER, 1.0 - CLEAR_OF_CORNER, PLACES)
    steps = np.arange(-np.ceil(reach), np.ceil(reach) + 0.25, 0.5)
    places = (start + along[:, None] * way)[:, None] + steps[None, :, None] * across
    seen = _at(pixels, places)
    # a step is the difference of what lies within 2 px on either side, in the channel that shows it most
    smooth = cv2.blur(seen.reshape(PLACES, len(steps), -1), (5, 1), borderType=cv2.BORDER_REPLICATE)
    step = np.abs(smooth[:, 6:] - smooth[:, :-6]).max(axis=2)
    top = np.clip(step.argmax(axis=1), 1, step.shape[1] - 2)
    rows = np.arange(PLACES)
    before, here, after = (step[rows, top + off].astype(np.float64) for off in (-1, 0, 1))
    bend = before - 2.0 * here + after
    off = np.where(bend < 0.0, 0.5 * (before - after) / np.where(bend < 0.0, bend, -1.0), 0.0)
    found = steps[3] + (top + np.clip(off, -0.5, 0.5)) * 0.5
    points = start + along[:, None] * way + found[:, None] * across
    return np.asarray(points[here > LEAST_STEP])


def _at(pixels: Bytes, places: Floats) -> Floats32:
    """Colours at places (n, m, 2), between pixels in proportion; beyond the picture those of its rim."""
    x, y = (np.asarray(places[..., axis] - 0.5, np.float32) for axis in (0, 1))
    found = np.asarray(cv2.remap(pixels, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float32)
    # a lens blurs light, not levels: in levels a bright sheet looks half a pixel larger than it is
    return np.asarray(255.0 * (found / 255.0) ** LEVELS_OF_LIGHT, np.float32)


def _robust_line(points: Floats) -> tuple[tuple[Floats, Floats], float]:
    """A line (a point, its direction) through most of the points, and the share of all places that lie on it."""
    if len(points) < 2:
        return (np.zeros(2), np.array([1.0, 0.0])), 0.0
    weights = np.ones(len(points))
    scale = 4.0 * NEAR_LINE_PX
    for _ in range(LINE_ROUNDS):
        middle = np.average(points, axis=0, weights=weights)
        off = points - middle
        _, vectors = np.linalg.eigh((off * weights[:, None]).T @ off)
        away = np.abs(off @ vectors[:, 0])
        scale = max(0.5 * NEAR_LINE_PX, 0.6 * scale)
        weights = 1.0 / (1.0 + (away / scale) ** 4)
    return (middle, vectors[:, 1]), float((away < NEAR_LINE_PX).sum() / PLACES)


def _meeting(one: tuple[Floats, Floats], other: tuple[Floats, Floats]) -> Floats:
    """Where two lines meet; far away where they are level with each other."""
    matrix = np.stack([one[1], -other[1]], axis=1)
    if abs(float(np.linalg.det(matrix))) < np.sin(np.radians(5.0)):
        return np.array([np.inf, np.inf])
    reach = np.linalg.solve(matrix, other[0] - one[0])
    return np.asarray(one[0] + reach[0] * one[1])
