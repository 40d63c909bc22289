"""Uneven light on a sheet of paper: lamp, window, soft shadows and creases, found and divided out.

Light changes slowly from place to place, drawing changes at once. So the picture is cut into parts along its sharp
edges, and a smooth field of light is fitted together with one colour for each part:

    log(picture) = light(x, y) + colour of the part

The paper's own colour is part of the light, so that it comes out as one colour everywhere. The field is bilinear
between the knots of a grid, held smooth by its second differences; what light does not explain counts for little.
Source: the idea of telling light from drawing by how fast they change is Retinex (Land, McCann, J. Opt. Soc. Am. 61
(1971) 1-11; Horn, Computer Graphics and Image Processing 3 (1974) 277-299); the fit of parts and field is our own.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from purfle.artwork.pixels import Flags, Floats32
from purfle.tolerances import SOLVABLE

LOOK_SIDE = 400
"""Light is looked for in a picture that is no larger than this."""
KNOT_PX = 10
"""Distance between the knots of the field, in px of that picture."""
SHARPER, LEAST_EDGE, CLEAR_EDGE = 2.0, 0.05, 0.12
"""An edge is drawn where log light changes twice as fast at 1 px as at 4 px, and by 5 % a px at least; or by 12 %."""
EVERY = 3
"""Every third pixel tells as much of the light as all of them."""
SMALLEST_PART = 12
"""Parts of fewer pixels tell nothing of the light."""
MOST_PARTS = 400
"""So many parts, the largest, are used."""
SMOOTH = 0.2
"""Weight of a second difference of the field, in pixels of paper."""
DARKEST = 2e-3
"""Light below this share is taken as this: its logarithm is noise."""
DIM = 0.04
"""Light at which a pixel counts for half: dark ink is mostly noise and reflections."""
OUTLIER = 0.05
"""A pixel this far off (log light) counts for a half."""
ROUNDS = 4
STRAIGHT_BELOW = 0.0031308
"""The sRGB curve is a straight line below this light (IEC 61966-2-1)."""
WHITE = 250.0
"""The level that white paper gets."""
COLOURED = 0.3
"""Paper whose channels differ by more than this share is coloured paper, and keeps its colour."""
PAPER_ABOVE, PAPER_GREY = 0.66, 0.12
"""Paper shows at least this share of the paper's light, and no channel differs by more than this from another."""
CREASED = 0.93
"""Paper in a crease or fold shows less light than this."""
WIDEST_CREASE = 0.02
"""Whatever is pale and wider than this share of the sheet is drawn, not creased."""
NEAR_DRAWING_PX = 4
"""Paper this near to the drawing keeps its pixels: they hold the place of the border."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def evened(pixels: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], float]:
    """The sheet (h, w, 3) under even light, its paper of one colour, and how many times the light varied.

    White paper becomes white; coloured paper keeps its mean colour.
    """
    high, wide = pixels.shape[:2]
    scale = max(1.0, max(high, wide) / LOOK_SIDE)
    size = (round(wide / scale), round(high / scale))
    light = _linear()[pixels]
    small = cv2.resize(light, size, interpolation=cv2.INTER_AREA)
    field = _field(np.log(np.maximum(small, DARKEST)).astype(np.float64))
    spread = np.exp(np.percentile(field.mean(axis=2), (1, 99)))
    drawn_out = cv2.resize(field.astype(np.float32), (wide, high), interpolation=cv2.INTER_CUBIC)
    share = np.asarray(light / np.exp(drawn_out), np.float32)
    _clear_paper(share)
    paper = np.exp(field.reshape(-1, 3).mean(axis=0))
    is_white = float(paper.max() / paper.min()) - 1.0 < COLOURED
    brightest = _linear()[round(WHITE)]
    target = np.full(3, brightest) if is_white else paper * min(1.0, brightest / float(paper.max()))
    return _levels(share * target.astype(np.float32)), float(spread[1] / spread[0])


def paper_levels(pixels: NDArray[np.uint8], rim: int) -> NDArray[np.uint8]:
    """The colour of most of a sheet's rim, looked at just inside of it."""
    inner = pixels[rim : len(pixels) - rim, rim : pixels.shape[1] - rim]
    sides = (inner[0], inner[-1], inner[:, 0], inner[:, -1])
    return np.asarray(np.median(np.concatenate(sides), axis=0), np.uint8)


def _linear() -> Floats32:
    """Light of 0 to 1 for each sRGB level. Source: IEC 61966-2-1."""
    share = np.arange(256, dtype=np.float32) / np.float32(255.0)
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4).astype(np.float32)


def _levels(light: Floats32) -> NDArray[np.uint8]:
    """sRGB levels of light, by a table of 4096 steps of its square root. Source: IEC 61966-2-1."""
    root = np.arange(4096, dtype=np.float32) / np.float32(4095.0)
    curve = np.where(root**2 <= STRAIGHT_BELOW, 12.92 * root**2, 1.055 * root ** np.float32(2 / 2.4) - 0.055)
    table = np.clip(np.rint(255.0 * curve), 0, 255).astype(np.uint8)
    return table[np.rint(4095.0 * np.sqrt(np.clip(light, 0.0, 1.0))).astype(np.int16)]


def _field(seen: Floats) -> Floats:
    """The field of log light (h, w, 3), the paper's colour in it."""
    parts, paper = _parts(seen)
    grid = _Grid.of(seen.shape[:2])
    places = np.flatnonzero(parts >= 0)[::EVERY]
    values = seen.reshape(-1, 3)[places]
    unknown = np.where(parts.ravel()[places] == paper, 0, parts.ravel()[places] + 1)
    light = np.exp(values.mean(axis=1))
    trust = light / (light + DIM)
    weights, solved = trust, np.zeros((grid.count, 3))
    for _ in range(ROUNDS):
        solved, off = _solved(grid, (places, unknown, weights), values)
        weights = trust / (1.0 + (np.abs(off).max(axis=1) / OUTLIER) ** 2)
    return grid.drawn(solved[: grid.count])


def _parts(seen: Floats) -> tuple[NDArray[np.int32], int]:
    """The part of each pixel between sharp edges, -1 on edges and in specks; and which part is the paper's."""
    grey = seen.astype(np.float32)
    fine, coarse = _slope(grey, 0.8), _slope(grey, 3.2)
    edge = (fine > LEAST_EDGE) & (fine > SHARPER * coarse) | (fine > CLEAR_EDGE)
    open_ = (cv2.dilate(edge.astype(np.uint8), np.ones((3, 3), np.uint8)) == 0).astype(np.uint8)
    _, parts, stats, _ = cv2.connectedComponentsWithStats(open_, connectivity=4)
    sizes = stats[:, cv2.CC_STAT_AREA].copy()
    sizes[0] = 0
    kept = np.argsort(-sizes, kind="stable")[:MOST_PARTS]
    kept = kept[sizes[kept] >= SMALLEST_PART]
    number = np.full(len(sizes), -1, np.int32)
    number[kept] = np.arange(len(kept))
    rim = np.concatenate([parts[2], parts[-3], parts[:, 2], parts[:, -3]])
    share = np.bincount(number[rim] + 1, minlength=len(kept) + 1)[1:]
    return number[parts], int(share.argmax()) if len(share) else 0


def _slope(grey: Floats32, blur: float) -> Floats32:
    """How fast log light changes, per px, in the channel that changes most."""
    smooth = cv2.GaussianBlur(grey, (0, 0), blur)
    x, y = (cv2.Sobel(smooth, cv2.CV_32F, *way, scale=0.125) for way in ((1, 0), (0, 1)))
    return np.asarray(np.hypot(x, y).max(axis=2), np.float32)


@dataclass(frozen=True, slots=True)
class _Grid:
    """Knots of a bilinear field: `left`, `share` for each column of the picture, `top`, `down` for each row."""

    shape: tuple[int, int]
    knots: tuple[int, int]

    @classmethod
    def of(cls, shape: tuple[int, ...]) -> "_Grid":
        high, wide = shape[0], shape[1]
        return cls((high, wide), (high // KNOT_PX + 2, wide // KNOT_PX + 2))

    @property
    def count(self) -> int:
        return self.knots[0] * self.knots[1]

    def around(self, places: Ints) -> tuple[Ints, Floats]:
        """The four knots around each place (n, 4), and their shares in it."""
        row, column = np.divmod(places, self.shape[1])
        top, down = np.divmod(row / KNOT_PX, 1.0)
        left, right = np.divmod(column / KNOT_PX, 1.0)
        first = top.astype(np.int64) * self.knots[1] + left.astype(np.int64)
        knots = np.stack([first, first + 1, first + self.knots[1], first + self.knots[1] + 1], axis=1)
        shares = [(1 - down) * (1 - right), (1 - down) * right, down * (1 - right), down * right]
        return knots, np.stack(shares, axis=1)

    def bends(self) -> Floats:
        """The sum of squared second differences along rows and columns, and across, as a matrix."""
        numbers = np.arange(self.count).reshape(self.knots)
        matrix = np.zeros((self.count, self.count))
        for turned in (numbers, numbers.T):
            first, middle, last = (turned[:, off : turned.shape[1] - 2 + off].ravel() for off in range(3))
            _add(matrix, (first, middle, last), (1.0, -2.0, 1.0))
        corners = (numbers[1:, 1:], numbers[:-1, 1:], numbers[1:, :-1], numbers[:-1, :-1])
        _add(matrix, tuple(one.ravel() for one in corners), (1.0, -1.0, -1.0, 1.0))
        return matrix

    def drawn(self, knots: Floats) -> Floats:
        """The field at every pixel, from its values (count, c) at the knots."""
        around, shares = self.around(np.arange(self.shape[0] * self.shape[1]))
        return np.asarray((knots[around] * shares[..., None]).sum(axis=1)).reshape(*self.shape, -1)


def _add(matrix: Floats, places: tuple[Ints, ...], factors: tuple[float, ...]) -> None:
    """Adds the squares of sums of unknowns to a matrix of normal equations."""
    for one, here in zip(places, factors, strict=True):
        for other, there in zip(places, factors, strict=True):
            np.add.at(matrix, (one, other), here * there)


def _solved(grid: _Grid, samples: tuple[Ints, Ints, Floats], values: Floats) -> tuple[Floats, Floats]:
    """The knots and the parts' colours that explain the values best, and how far each value is off.

    `samples`: places, unknown of each one's part (0: paper, which has none), weights.
    """
    places, unknown, weights = samples
    around, shares = grid.around(places)
    count = grid.count + int(unknown.max(initial=0))
    of_part = np.where(unknown > 0, grid.count + unknown - 1, 0)[:, None]
    index = np.concatenate([around, of_part], axis=1)
    factor = np.concatenate([shares, (unknown > 0).astype(np.float64)[:, None]], axis=1)
    weighed = weights[:, None] * factor
    wanted = [np.bincount(index.ravel(), (weighed * one[:, None]).ravel(), count) for one in values.T]
    cells = (index[:, :, None] * count + index[:, None, :]).ravel()
    matrix = np.bincount(cells, (weighed[:, :, None] * factor[:, None, :]).ravel(), count * count)
    whole = np.asarray(matrix, np.float64).reshape(count, count)
    whole[: grid.count, : grid.count] += SMOOTH * grid.bends()
    whole[np.diag_indices(count)] += SOLVABLE
    solved = np.linalg.solve(whole, np.stack(wanted, axis=1))
    found = (solved[index] * factor[..., None]).sum(axis=1)
    return np.asarray(solved, np.float64), np.asarray(values - found)


def _clear_paper(share: Floats32) -> None:
    """Makes paper of one colour, but for what lies beside the drawing: creases, fibres and grain go.

    `share` (h, w, 3): of the paper's light. Pale areas wider than a crease are drawn, and stay.
    """
    low, top = share.min(axis=2), share.max(axis=2)
    smooth = cv2.blur(low, (3, 3))
    paper = (smooth > PAPER_ABOVE) & (cv2.blur(top - low, (3, 3)) < PAPER_GREY)
    wide = max(5, round(WIDEST_CREASE * max(low.shape))) | 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (wide, wide))
    pale = cv2.morphologyEx((paper & (smooth < CREASED)).astype(np.uint8), cv2.MORPH_OPEN, disc)
    drawn = (~paper).astype(np.uint8) | np.asarray(pale, np.uint8)
    # single pixels are grain, not drawing
    drawn = cv2.morphologyEx(drawn, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8))
    side = 2 * NEAR_DRAWING_PX + 1
    clear: Flags = cv2.dilate(drawn, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))) == 0
    share[clear] = 1.0
