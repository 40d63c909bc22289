"""Crowds: drawings of so many areas, with so many corners, that they cannot be fitted to one another one by one.

A coat of arms has hundreds. Most are lost to the cutter in the end, after each of them was trimmed, closed and
quarrelled over with all that lie about it, round after round. So those that hardly take the cutter are given to their
neighbours at once, the thinnest first, until what is left is little enough. No other drawing is touched.
"""

from dataclasses import replace

import shapely

from purfle.fit.cells import Partition, centre
from purfle.fit.sweeping import put_drawn_in_order
from purfle.units import in_mm

CROWD = 100
"""More areas than that can be a crowd: none of 6,600 icons and line drawings has as many, one flag in five has."""
LITTLE = 8_000
"""So many vertices of cells, or fewer, settle in two seconds or three, however many cells there are: no crowd."""
_WIDTHS = (1.0, 1.2, 1.5, 1.8)
"""Widths up to which areas go, in radii of the cutter, one after the other: the cutter passes nowhere below 2."""


def thin_out(partition: Partition, areas: int) -> None:
    """Give thin cells of a crowd to their neighbours until what is left settles soon.

    `areas`: how many are drawn. Valid: the cells are as drawn and in order.
    """
    if areas <= CROWD or _vertices(partition) <= LITTLE:
        return
    before, width = len(partition.inserts), 0.0
    finest = min(map(partition.cutter_of, partition.inserts), default=partition.rule.cutter_radius)
    for share in _WIDTHS:
        width = max(share * finest, partition.rule.thinnest)
        _put_in_order(partition, width)
        if _vertices(partition) <= LITTLE:
            break
    gone = before - len(partition.inserts)
    if gone and partition.inserts:
        largest = max(partition.inserts, key=lambda cell: cell.key)
        what = f"{areas} areas are too many to be fitted one by one: {gone} of the larger ones, "
        what += f"nowhere wider than {in_mm(width)}, went to those beside them at once"
        mend = "let in a part of the drawing by itself, make it larger, or use a smaller cutter"
        partition.note("look", what, centre(largest.region), mend)


def _put_in_order(partition: Partition, width: float) -> None:
    """Dissolve and join cells as drawn as though no piece could be thinner than a width."""
    rule = partition.rule
    partition.rule = replace(rule, thinnest=width)
    for cell in partition.cells:
        cell.sturdy = None  # the disc that showed it thick enough was a smaller one
    put_drawn_in_order(partition)
    partition.rule = rule


def _vertices(partition: Partition) -> int:
    return int(shapely.get_num_coordinates([cell.region for cell in partition.cells]).sum())
