"""From the frame of a set-up to the paper of a sheet."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.sheets.rooms import Place


@dataclass(frozen=True, slots=True)
class Paper:
    """From a set-up's frame, y up, to the paper: (x0, y1) comes to (left, top); `zoom` mm of paper to one of wood."""

    x0: float
    y1: float
    left: float
    top: float
    zoom: float

    def place(self, at: Place) -> Place:
        """One point."""
        return self.left + (at[0] - self.x0) * self.zoom, self.top + (self.y1 - at[1]) * self.zoom

    def region(self, shape: BaseGeometry) -> BaseGeometry:
        """A region."""
        return shapely.transform(shape, self._places)

    def _places(self, xy: NDArray[np.float64]) -> NDArray[np.float64]:
        x, y = self.left + (xy[:, 0] - self.x0) * self.zoom, self.top + (self.y1 - xy[:, 1]) * self.zoom
        return np.column_stack([x, y])
