"""Where a boundary really runs: crossings moved by the mixture of the two colours along their row or column."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from purfle.artwork.arc_graph import ArcGraph, Floats, Ints
from purfle.artwork.labels import Labels
from purfle.artwork.mixing import Mixing
from purfle.artwork.pixels import Floats32, places_of
from purfle.tolerances import SAME_COLOUR

LONGEST_STEP_PX = 1.5
"""A crossing moves this far at most: beyond it the label, not the mixture, is wrong."""
SMALLEST_STEP = 40.0
"""Colours nearer than this, in levels, are too alike to measure the softness of a border on."""


def moved_crossings(graph: ArcGraph, labels: Labels, weighed: Floats32, mixing: Mixing, reach: int) -> Floats:
    """The crossings (n, 2) at the sub-pixel place where the summed share of their first colour ends.

    The sum runs `reach` pixels each way, and no further than half of a thin run. For a straight border that crosses
    the row once it is exact: a pixel's value is the mean over its square.
    """
    moved = graph.raw.copy()
    upright, level = slice(0, graph.upright), slice(graph.upright, None)
    rows = _Rows(labels, weighed, mixing, reach)
    moved[upright, 0] = _along_rows(rows, graph.pixel[upright], moved[upright, 0])
    columns = _Rows(np.ascontiguousarray(labels.T), weighed.transpose(1, 0, 2), mixing, reach)
    moved[level, 1] = _along_rows(columns, graph.pixel[level, ::-1], moved[level, 1])
    return moved


@dataclass(frozen=True, slots=True)
class _Rows:
    """What is measured along: the picture, or the picture turned so that its columns are rows."""

    labels: Labels
    weighed: Floats32
    mixing: Mixing
    reach: int


def _along_rows(rows: _Rows, pixel: Ints, raw: Floats) -> Floats:
    width = rows.labels.shape[1]
    column, row = pixel[:, 0], pixel[:, 1]
    inside = np.nonzero((column >= 0) & (column < width - 1) & (row >= 0) & (row < rows.labels.shape[0]))[0]
    moved = raw.copy()
    if len(inside) == 0:
        return moved
    column, row = column[inside], row[inside]
    first, second = rows.labels[row, column], rows.labels[row, column + 1]
    back = _run(rows, row, column, -1)
    forth = _run(rows, row, column + 1, 1)
    place = (column + 1 - back).astype(np.float64)
    for step in range(1 - rows.reach, rows.reach + 1):
        used = (step > -back) & (step <= forth)
        value = rows.weighed[row, np.clip(column + step, 0, width - 1)]
        place += np.where(used, rows.mixing.shares(value, first, second), 0.0)
    place -= rows.mixing.moved[first, second]
    furthest = min(float(rows.reach), LONGEST_STEP_PX)
    moved[inside] = np.clip(place, column + 1 - furthest, column + 1 + furthest)
    return moved


def _run(rows: _Rows, row: Ints, start: Ints, step: int) -> Ints:
    """How many pixels may be summed from `start` on: `reach`, but half of a thin run, and none beyond the frame."""
    labels, reach = rows.labels, rows.reach
    width = labels.shape[1]
    colour = labels[row, start]
    count, going = np.zeros(len(row), np.int64), np.ones(len(row), bool)
    for far in range(2 * reach):
        at = start + step * far
        going &= (at >= 0) & (at < width) & (labels[row, np.clip(at, 0, width - 1)] == colour)
        count += going
    end = start + step * count
    half = np.minimum(reach, (count + 1) // 2)
    at_frame = (end < 0) | (end >= width)
    return np.where(count >= 2 * reach, reach, np.where(at_frame, np.minimum(count, reach), half))


def softness(labels: Labels, weighed: Floats32, colours: Floats32) -> float:
    """How soft borders are: the median over clean borders of the sum of share x (1 - share) across them.

    About 0.17 for a border averaged over each pixel, 0.56 for one blurred by a Gaussian of 1 px.
    """
    found = [
        _softness_along_rows(labels, weighed, colours),
        _softness_along_rows(np.ascontiguousarray(labels.T), weighed.transpose(1, 0, 2), colours),
    ]
    values = np.concatenate(found)
    return float(np.median(values)) if len(values) > 10 else 0.17


def _softness_along_rows(labels: Labels, weighed: Floats32, colours: Floats32, margin: int = 5) -> Floats:
    height, width = labels.shape
    if width < 4 * margin or height < 5:
        return np.zeros(0)
    row, column = places_of(labels[:, margin - 1 : width - margin - 1] != labels[:, margin : width - margin])
    column = column + margin - 1
    pick = np.linspace(0, len(row) - 1, min(len(row), 8000)).astype(np.int64)
    row, column = row[pick], column[pick]
    first, second = labels[row, column], labels[row, column + 1]
    clean = np.ones(len(row), bool)
    for far in range(margin):
        clean &= (labels[row, column - far] == first) & (labels[row, column + 1 + far] == second)
    # steep borders only: two rows up and down it has moved by one pixel at most
    for other in (np.maximum(row - 2, 0), np.minimum(row + 2, height - 1)):
        clean &= (labels[other, column - 1] == first) & (labels[other, column + 2] == second)
    row, column, first, second = row[clean], column[clean], first[clean], second[clean]
    way = colours[first] - colours[second]
    length2 = np.maximum((way * way).sum(axis=1), np.float32(SAME_COLOUR))
    total = np.zeros(len(row))
    for step in range(-3, 5):
        share = ((weighed[row, column + step] - colours[second]) * way).sum(axis=1) / length2
        share = np.clip(share, 0.0, 1.0)
        total += share * (1.0 - share)
    return np.asarray(total[length2 > SMALLEST_STEP**2], np.float64)


def steps_across(labels: Labels, values: Floats32, colours: NDArray[np.generic]) -> tuple[Ints, Ints, Floats]:
    """For every upright and level crossing inside the picture: its two labels and the share of their colour
    difference that really stands between the pixels 3 px to either side."""
    first_of, second_of, shares = [], [], []
    for turned, sideways in ((labels, values), (np.ascontiguousarray(labels.T), values.transpose(1, 0, 2))):
        row, column = places_of(turned[:, :-1] != turned[:, 1:])
        low, high = np.maximum(column - 2, 0), np.minimum(column + 3, turned.shape[1] - 1)
        first, second = turned[row, column], turned[row, column + 1]
        same = (turned[row, low] == first) & (turned[row, high] == second)
        row, low, high, first, second = row[same], low[same], high[same], first[same], second[same]
        way = np.asarray(colours, np.float32)[first] - np.asarray(colours, np.float32)[second]
        step = ((sideways[row, low] - sideways[row, high]) * way).sum(axis=1)
        first_of.append(first.astype(np.int64))
        second_of.append(second.astype(np.int64))
        shares.append(step / np.maximum((way * way).sum(axis=1), np.float32(SAME_COLOUR)))
    return np.concatenate(first_of), np.concatenate(second_of), np.concatenate(shares).astype(np.float64)
