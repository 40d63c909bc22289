"""Straight lines through the pixel edges that an arc crosses: as few as may be, and none can touch another arc.

Each pixel edge is crossed by one arc at most. A line that leaves every cell through the arc's own pixel edge, in their
order, stays in cells that no other arc shares with it, but where two arcs part one cell between them; there too they
leave it through four places that do not alternate, so the lines do not cross. This holds wherever on its edge each
crossing lies, so lines may run through the places that were measured, and pass over those that lie near enough.
"""

import numpy as np
from numpy.typing import NDArray

from purfle.artwork.bundles import Flags, Floats, Ints

WITHIN_PX = 0.45
"""A crossing stays so near to the middle of its pixel edge, which ends half a pixel from there."""
AHEAD = (24, 16, 12, 9, 7, 6, 5, 4, 3, 2)
"""A line leads so many crossings on, the first of these numbers that it can."""


def held_to_edges(raw: Floats, moved: Floats) -> Floats:
    """The moved crossings, held to their own pixel edges; `raw`: the middles of these."""
    return np.asarray(raw + np.clip(moved - raw, -WITHIN_PX, WITHIN_PX))


def fewest_lines(places: Floats, middles: Floats, upright: Flags, tolerance: float) -> Ints:
    """Which of these places (n, 2) to keep, so that lines through them cross all pixel edges between in their order.

    `middles` (n, 2) of the pixel edges, `upright` (n,) where the boundary crosses between two pixels of a row. The
    first and the last place are kept, and are no crossings. No place is further from its line than `tolerance`.
    """
    count = len(places)
    steps = [(ahead, _leads(places, middles, upright, ahead, tolerance).tolist()) for ahead in AHEAD if ahead < count]
    kept = [0]
    while kept[-1] < count - 1:
        here = kept[-1]
        kept.append(here + next((ahead for ahead, leads in steps if here < len(leads) and leads[here]), 1))
    return np.array(kept, np.int64)


def _leads(places: Floats, middles: Floats, upright: Flags, ahead: int, tolerance: float) -> NDArray[np.bool_]:
    """Where (n - ahead,) a line may lead from a place to the one so many further on."""
    start, way = places[:-ahead], places[ahead:] - places[:-ahead]
    leads, before = np.ones(len(start), bool), np.zeros(len(start))
    for step in range(1, ahead):
        between = slice(step, step + len(start))
        # an upright edge is crossed where the line is level with it, a level one where it is above or below
        axis = np.where(upright[between], 1, 0)
        rows = np.arange(len(start))
        along = way[rows, axis]
        share = (middles[between][rows, axis] - start[rows, axis]) / np.where(along == 0.0, np.inf, along)
        at = start[rows, 1 - axis] + share * way[rows, 1 - axis]
        leads &= (along != 0.0) & (share > before) & (share < 1.0)
        leads &= np.abs(at - middles[between][rows, 1 - axis]) < WITHIN_PX
        leads &= np.abs(at - places[between][rows, 1 - axis]) <= tolerance
        before = share
    return leads
