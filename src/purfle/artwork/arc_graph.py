"""The arc graph of a label image: where neighbouring pixels differ, each boundary stretch stored once.

Marching squares with many labels. A *crossing* lies on the edge between two pixels that differ; a *cell* is the square
between four pixel centres. Two crossings in a cell are joined, three or four make a junction. The picture is padded
with a label of its own for what lies outside, so the frame is a boundary like any other.

        first | second        an upright crossing: the boundary runs up and down between two pixels
        ------+------         a level crossing: it runs left and right, first above second

Frame: pixels, y down, origin at the top left corner of the top left pixel.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from purfle.artwork.labels import Labels
from purfle.artwork.parts import Parts, parts_of
from purfle.artwork.pixels import places_of
from purfle.model.artwork import OUTSIDE

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

ABOVE, BELOW, LEFT, RIGHT = 0, 1, 2, 3


@dataclass(frozen=True, slots=True)
class Chain:
    """An arc before it is smoothed: `crossings` in order, face numbers on either side, its junctions (-1: closed)."""

    crossings: Ints
    left: int
    right: int
    start: int
    end: int

    @property
    def closed(self) -> bool:
        """True if it meets no junction."""
        return self.start < 0

    @property
    def on_frame(self) -> bool:
        """True if it is a stretch of the picture's frame."""
        return OUTSIDE in (self.left, self.right)


@dataclass(frozen=True, slots=True)
class ArcGraph:
    """Every crossing, junction and arc of a label image.

    `raw` (n, 2): the middle of each pixel edge that is crossed, the first `upright` of them upright ones.
    `pixel` (n, 2): column and row of the first of the two pixels (may be -1: outside). `junctions` (m, 2): raw places.
    `faces` (h, w): face number of each pixel, in reading order of their first pixels; `labels_of`: label of each face.
    """

    raw: Floats
    upright: int
    pixel: Ints
    junctions: Floats
    chains: tuple[Chain, ...]
    faces: NDArray[np.int32]
    labels_of: NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class _Cells:
    """The cells that have crossings, row by row: `place` (n, 2) row and column, `count` (n,) of them.

    `crossing` (n, 4): in the order above, below, left, right; -1 where there is none.
    """

    place: Ints
    crossing: Ints
    count: Ints

    @classmethod
    def of(cls, upright: Flags, level: Flags) -> "_Cells":
        """The cells between crossings that are flagged; crossings are counted row by row, upright ones first."""
        rows, columns = level.shape[0], upright.shape[1]
        sides = (upright[:-1], upright[1:], level[:, :-1], level[:, 1:])
        count = np.zeros((rows, columns), np.int8)
        for side in sides:
            count += side
        row, column = places_of(count != 0)
        crossing = np.full((len(row), 4), -1, np.int64)
        at_upright, at_level = np.flatnonzero(upright), np.flatnonzero(level)
        for number, (side, down, across) in enumerate(zip(sides, (0, 1, 0, 0), (0, 0, 0, 1), strict=True)):
            has = side[row, column]
            known, before, width = (at_upright, 0, columns) if number < 2 else (at_level, len(at_upright), columns + 1)
            place = (row[has] + down) * width + column[has] + across
            crossing[has, number] = before + np.searchsorted(known, place)
        return cls(np.stack([row, column], axis=1), crossing, count[row, column].astype(np.int64))


def arc_graph(labels: Labels, parts: Parts | None = None) -> ArcGraph:
    """The arc graph of a label image (h, w). Cost: linear in pixels, a step of Python for each crossing.

    `parts`: the connected parts of these labels, where they are known already.
    """
    padded = np.full((labels.shape[0] + 2, labels.shape[1] + 2), -1, np.int32)
    padded[1:-1, 1:-1] = labels
    upright, level = padded[:, :-1] != padded[:, 1:], padded[:-1] != padded[1:]
    (row_u, column_u), (row_l, column_l) = places_of(upright), places_of(level)
    cells = _Cells.of(upright, level)
    raw = np.concatenate([np.stack([column_u, row_u - 0.5], axis=1), np.stack([column_l - 0.5, row_l], axis=1)]).astype(
        np.float64
    )
    pixel = np.concatenate([np.stack([column_u, row_u], axis=1), np.stack([column_l, row_l], axis=1)]) - 1
    link = np.full(2 * len(raw), -1, np.int64)
    falling, rising, meeting = _saddles(padded, cells)
    _join_pairs(cells, link)
    _join_saddles(cells, falling, rising, link)
    junctions = _join_junctions(cells, meeting, raw, labels.shape, link)
    faces, labels_of = _faces(parts or parts_of(labels), cells.place[falling], cells.place[rising])
    chains = _chains(link, len(row_u), pixel, faces)
    return ArcGraph(raw, len(row_u), pixel, junctions, chains, faces, labels_of)


def _saddles(padded: NDArray[np.int32], cells: _Cells) -> tuple[Ints, Ints, Ints]:
    """Which cells have four crossings, joined along the falling diagonal or the rising one; and which are junctions.

    Where both diagonals agree, the label that is rarer around the cell is held together: it is the thin line.
    """
    four = np.flatnonzero(cells.count == 4)
    row, column = cells.place[four].T
    top_left, top_right = padded[row, column], padded[row, column + 1]
    low_left, low_right = padded[row + 1, column], padded[row + 1, column + 1]
    falls, rises = top_left == low_right, top_right == low_left
    both = np.nonzero(falls & rises)[0]
    for place in both:
        top, left = max(row[place] - 1, 0), max(column[place] - 1, 0)
        around = padded[top : row[place] + 3, left : column[place] + 3]
        falling_is_rarer = (around == top_left[place]).sum() <= (around == top_right[place]).sum()
        falls[place], rises[place] = falling_is_rarer, not falling_is_rarer
    meeting = np.concatenate([np.flatnonzero(cells.count == 3), four[~falls & ~rises]])
    return four[falls], four[rises], meeting


def _half(crossing: Ints, side: int) -> Ints:
    """The half of a crossing in the cell that sees it on this side: 2n towards above or left, else 2n + 1."""
    return 2 * crossing + (1 if side in (ABOVE, LEFT) else 0)


def _join(link: Ints, first: Ints, second: Ints) -> None:
    link[first], link[second] = second, first


def _join_pairs(cells: _Cells, link: Ints) -> None:
    plain = cells.crossing[cells.count == 2]
    halves = np.stack([_half(plain[:, side], side) for side in range(4)], axis=1)
    pairs = halves[plain >= 0].reshape(-1, 2)
    _join(link, pairs[:, 0], pairs[:, 1])


def _join_saddles(cells: _Cells, falling: Ints, rising: Ints, link: Ints) -> None:
    # joined along the falling diagonal, the boundary cuts off the top right and the low left pixel
    for where, pairs in ((falling, ((ABOVE, RIGHT), (BELOW, LEFT))), (rising, ((ABOVE, LEFT), (BELOW, RIGHT)))):
        found = cells.crossing[where]
        for one, other in pairs:
            _join(link, _half(found[:, one], one), _half(found[:, other], other))


def _join_junctions(cells: _Cells, meeting: Ints, raw: Floats, shape: tuple[int, int], link: Ints) -> Floats:
    """Raw places of the junctions: the mean of their crossings, on the frame if the cell is. Links become -2 - n."""
    found, (row, column) = cells.crossing[meeting], cells.place[meeting].T
    has = found >= 0
    number = np.broadcast_to(np.arange(len(meeting))[:, None], found.shape)
    halves = np.stack([_half(found[:, side], side) for side in range(4)], axis=1).reshape(found.shape)
    link[halves[has]] = -2 - number[has]
    places = np.where(has[..., None], raw[np.maximum(found, 0)], 0.0).sum(axis=1) / has.sum(axis=1)[:, None].clip(1)
    height, width = shape
    for axis, cell, far in ((1, row, height), (0, column, width)):
        places[cell == 0, axis] = 0.0
        places[cell == far, axis] = float(far)
    return np.asarray(places, np.float64)


def _faces(found: Parts, falling: Ints, rising: Ints) -> tuple[NDArray[np.int32], NDArray[np.int16]]:
    """Faces are the connected parts of one label, joined over corners where a saddle joins them."""
    parts, owners = found.parts, found.owners
    parent = list(range(len(owners)))

    def root(part: int) -> int:
        while parent[part] != part:
            parent[part] = parent[parent[part]]
            part = parent[part]
        return part

    # padded row r, column c is pixel r - 1, c - 1; saddles never touch the outside, which is connected
    for where, ends in ((falling, ((-1, -1), (0, 0))), (rising, ((-1, 0), (0, -1)))):
        for row, column in where.tolist():
            one, other = (root(int(parts[row + down, column + across])) for down, across in ends)
            parent[max(one, other)] = min(one, other)
    roots = np.array([root(part) for part in range(len(owners))], np.int64)
    # a part's first pixel differs from the one before it; written from the last such pixel to the first one
    flat = parts.ravel()
    starts = np.concatenate([[0], np.flatnonzero(flat[1:] != flat[:-1]) + 1])[::-1]
    first_of_part = np.zeros(len(owners), np.int64)
    first_of_part[flat[starts]] = starts
    first = np.full(len(owners), parts.size, np.int64)
    np.minimum.at(first, roots, first_of_part)
    values = np.unique(roots)
    order = values[np.argsort(first[values], kind="stable")]
    number = np.zeros(len(owners), np.int32)
    number[order] = np.arange(len(order))
    return np.take(number[roots], parts), owners[order]


def _chains(link: Ints, upright: int, pixel: Ints, faces: NDArray[np.int32]) -> tuple[Chain, ...]:
    """Follow the links: first from every junction, then around what is left (closed arcs)."""
    links = link.tolist()
    seen = bytearray(len(links) // 2)
    found: list[tuple[list[int], int, int, int]] = []
    for half in np.nonzero(link <= -2)[0].tolist():
        if not seen[half >> 1]:
            found.append(_walk(links, half ^ 1, seen, -2 - links[half]))
    for crossing in range(len(seen)):
        if not seen[crossing]:
            found.append(_walk(links, 2 * crossing, seen, -1))
    chains = []
    for crossings, first_half, start, end in found:
        left, right = _sides(first_half, upright, pixel, faces)
        chains.append(Chain(np.array(crossings, np.int64), left, right, start, end))
    return tuple(chains)


def _walk(links: list[int], half: int, seen: bytearray, start: int) -> tuple[list[int], int, int, int]:
    """Crossings from the one that is left through `half` until a junction or the first one comes again."""
    first_half, first, crossings = half, half >> 1, [half >> 1]
    seen[first] = 1
    while True:
        other = links[half]
        if other <= -2:
            return crossings, first_half, start, -2 - other
        crossing = other >> 1
        if crossing == first:
            return crossings, first_half, -1, -1
        seen[crossing] = 1
        crossings.append(crossing)
        half = other ^ 1


def _sides(half: int, upright: int, pixel: Ints, faces: NDArray[np.int32]) -> tuple[int, int]:
    """Faces to the left and right, as seen on the picture, of a boundary that leaves its crossing through `half`."""
    crossing, forward = half >> 1, half & 1
    column, row = (int(value) for value in pixel[crossing])
    is_upright = crossing < upright
    first = _face_at(faces, column, row)
    second = _face_at(faces, column + (1 if is_upright else 0), row + (0 if is_upright else 1))
    # upwards (half 0 of an upright one) the first pixel is on the left; rightwards (half 1 of a level one) too
    first_is_left = (forward == 0) if is_upright else (forward == 1)
    return (first, second) if first_is_left else (second, first)


def _face_at(faces: NDArray[np.int32], column: int, row: int) -> int:
    inside = 0 <= row < faces.shape[0] and 0 <= column < faces.shape[1]
    return int(faces[row, column]) if inside else OUTSIDE
