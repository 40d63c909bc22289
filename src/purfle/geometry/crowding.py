"""How many edges lie over one another: what it costs to node them, known before it is paid.

An overlay compares the edges whose boxes overlap, and has a place more for each two that cross. Thousands of lines
across one another have millions of such pairs: minutes, and gigabytes, within one call that nothing can stop.
"""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Edges = NDArray[np.float64]
"""(n, 2, 2): both ends of each."""
MOST_PAIRS = 500_000
"""Pairs of edges, besides those that follow one another, whose boxes overlap in one drawing: one of the open sets with
62,000 nodes has a tenth of it (bench/RESULTS.md), and noding them takes some seconds."""
MOST_SWEPT = 60_000_000
"""Edges that a line swept over a shape may meet, at all ends together: two or three seconds of the second engine."""
MOST_ABOUT = 20_000_000
"""Corners of areas about each area, at all areas together, counted by boxes: some five seconds for each look whether
they share every vertex. The open sets have 14 million at most (a flag of 51,000 nodes)."""
_FIRST_LOOK = 256
"""So many edges are held against all others at first; twice as many each time as long as they are few pairs."""


def edges_of(places: NDArray[np.float64], line: NDArray[np.int64]) -> Edges:
    """The edges of lines: their places one after another, and the number of the line that each belongs to."""
    first = np.flatnonzero(line[:-1] == line[1:])
    return np.stack((places[first], places[first + 1]), axis=1)


def is_swept_slowly(edges: Edges, most: int = MOST_SWEPT) -> bool:
    """True if a line swept over the edges would meet more than so many of them, at all their ends together."""
    if len(edges) ** 2 <= most:
        return False
    height = np.ptp(edges[:, :, 1])
    met = np.abs(edges[:, 0, 1] - edges[:, 1, 1]).sum() / height if height > 0.0 else 0.0
    return bool(len(edges) * met > most)


def is_crowded(edges: Edges, most: int = MOST_PAIRS) -> bool:
    """True if more than so many pairs of edges have boxes that overlap; those of one place counted once an edge.

    Edges that follow one another touch: two such pairs an edge are not counted.
    """
    if len(edges) * (len(edges) - 1) // 2 <= most:
        return False
    lines = shapely.linestrings(edges)
    tree = shapely.STRtree(lines)
    # each pair is found from both its edges, each edge finds itself and both its neighbours
    left, at, count = 2 * most, 0, _FIRST_LOOK
    while at < len(lines):
        looked = lines[at : at + count]
        found = tree.query(looked).shape[1]
        left -= max(found - 3 * len(looked), 0)
        if left < 0:
            return True
        at += count
        count = count * 2 if found < 100 * count else count
    return False


def vertices_about(regions: Sequence[BaseGeometry]) -> int:
    """Vertices of all regions whose boxes meet that of a region, at all regions together."""
    every = np.array(regions, object)
    boxes = shapely.box(*shapely.bounds(every).T)
    return int(shapely.get_num_coordinates(every)[shapely.STRtree(every).query(boxes)[1]].sum())
