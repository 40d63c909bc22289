"""Tapered walls: what their shape is stated by, and the trails on which a V cutter makes them."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

PLATE = 2.0
"""The thinnest plate that an insert hangs on until it is sawn off, mm (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class TaperedRule:
    """The walls of a recess and of the insert that sinks into it. Lengths in mm.

    `half_angle`: between the V cutter's axis and its edge, degrees. `tip_radius`: of the flat at its tip. `sink`: how
    deep the insert goes in. `glue_room`: below it. `saw_room`: between the ground and the wood that the insert hangs
    on until it is sawn off.
    """

    half_angle: float
    tip_radius: float
    sink: float
    glue_room: float
    saw_room: float

    @property
    def slope(self) -> float:
        """How far a wall goes sideways for each mm of depth, tan of the half angle."""
        return math.tan(math.radians(self.half_angle))

    @property
    def recess_depth(self) -> float:
        """Full depth of the recess below the ground."""
        return self.sink + self.glue_room

    @property
    def insert_depth(self) -> float:
        """Full depth of what is cut away around the insert, below the face of its stock."""
        return self.sink + self.saw_room

    @property
    def stock_thickness(self) -> float:
        """What the stock of an insert needs: the insert, the saw room, and a plate to hang on."""
        return self.insert_depth + PLATE


@dataclass(frozen=True, slots=True)
class DepthErrors:
    """What becomes of the fit where recess and insert are cut too deep (too shallow where negative). Lengths in mm.

    `sinks`: how deep the insert goes in then. `room`: left for glue below it; below 0 it stands on the bottom.
    `grows`: by how much the drawing's outline lies outside its place, all round. `opens`: the seam at the face on each
    side, 0 while the walls still touch.
    """

    sinks: float
    room: float
    grows: float
    opens: float


@dataclass(frozen=True, slots=True, eq=False)
class Trail:
    """One unbroken way of a V cutter's tip: places (n, 3) as x, y and depth below the face, positive.

    `plunges`: it enters solid wood straight down; else it begins at the face or where an earlier trail has been.
    """

    places: NDArray[np.float64]
    plunges: bool

    @property
    def length(self) -> float:
        """Length of the way, depth counted."""
        return float(np.sqrt((np.diff(self.places, axis=0) ** 2).sum(axis=1)).sum())
