"""Rigid placing of plane geometry: the only place that converts between frames."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Polyline = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pose:
    """Mirror in the x axis if `mirrored`, then turn by `angle` (degrees, counter-clockwise), then move by (x, y).

    >>> Pose(90.0, 10.0, 0.0).point(2.0, 0.0)
    (10.0, 2.0)
    >>> p = Pose(30.0, 5.0, -2.0, mirrored=True)
    >>> x, y = p.inverse().point(*p.point(1.5, 0.25))
    >>> round(x, 12), round(y, 12)
    (1.5, 0.25)
    """

    angle: float = 0.0
    x: float = 0.0
    y: float = 0.0
    mirrored: bool = False

    def matrix(self) -> NDArray[np.float64]:
        """The 2 x 3 matrix [linear part | shift]."""
        quarters = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
        turn = math.radians(self.angle)
        cos, sin = quarters.get(self.angle % 360.0) or (math.cos(turn), math.sin(turn))
        flip = -1.0 if self.mirrored else 1.0
        return np.array([[cos, -sin * flip, self.x], [sin, cos * flip, self.y]])

    def points(self, xy: NDArray[np.float64]) -> NDArray[np.float64]:
        """The places of an (n, 2) array of points."""
        matrix = self.matrix()
        return np.asarray(xy, np.float64) @ matrix[:, :2].T + matrix[:, 2]

    def point(self, x: float, y: float) -> tuple[float, float]:
        """The place of one point."""
        moved = self.points(np.array([[x, y]]))[0]
        return float(moved[0]), float(moved[1])

    def region(self, geometry: BaseGeometry) -> BaseGeometry:
        """A shapely geometry, placed."""
        return shapely.transform(geometry, self.points)

    def direction(self, angle: float) -> float:
        """A direction in degrees, placed; result in [0, 360)."""
        return ((-angle if self.mirrored else angle) + self.angle) % 360.0

    def inverse(self) -> "Pose":
        """The pose that takes the result back."""
        linear = self.matrix()[:, :2]
        back = -linear.T @ np.array([self.x, self.y])
        angle = self.angle if self.mirrored else -self.angle
        return Pose(angle, float(back[0]), float(back[1]), self.mirrored)

    def then(self, outer: "Pose") -> "Pose":
        """This pose first, `outer` after it."""
        x, y = outer.point(self.x, self.y)
        angle = (-self.angle if outer.mirrored else self.angle) + outer.angle
        return Pose(angle, x, y, self.mirrored != outer.mirrored)


SHOW = Pose()
"""Show-face frame: origin at the datum corner, x along the front datum edge A, y along the left datum edge B."""
UNDERSIDE = Pose(mirrored=True)
"""Show-face frame to underside frame: the board turned over about edge A, so y runs from A towards negative values."""
