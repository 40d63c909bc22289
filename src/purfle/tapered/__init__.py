"""Tapered walls: from an outline to what a V cutter does for the recess and for the insert in it.

Takes: the outline at the finished face, and a `TaperedRule`.

Promises:
- recess and insert have the same section at every depth, so that convex corners, concave corners and holes mate;
- the tip runs along the medial axis and the contour of full depth: nothing is cut that has to stay, by more than
  `tolerances.AXIS_FLAT`, and nothing is left on a wall by more than `tolerances.AXIS_PRUNED` shows at the face;
- on the bottom no cusp reaches the insert;
- solid wood is entered once for each separate net of curves, and at most a tenth of the way is run twice;
- the same input gives the same trails.

Refuses: nothing; what is too narrow for full depth gets a ridge.
"""

from purfle.tapered.curves import Curves, insert_curves, plate_of, plate_reach, recess_curves
from purfle.tapered.law import (
    corner_interference,
    cusp,
    depth_errors,
    insert_section,
    recess_section,
    rounded,
    spacing_for,
)
from purfle.tapered.trails import TrailFigures, trails_over

__all__ = [
    "Curves",
    "TrailFigures",
    "corner_interference",
    "cusp",
    "depth_errors",
    "insert_curves",
    "insert_section",
    "plate_of",
    "plate_reach",
    "recess_curves",
    "recess_section",
    "rounded",
    "spacing_for",
    "trails_over",
]
