"""A coarse picture of the free wood on an offcut: where a part might go. What it offers is checked exactly later."""

import math
from dataclasses import dataclass
from typing import TypeAlias

import cv2
import numpy as np
import scipy.fft
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from purfle.model.offcuts import OffcutRule
from purfle.model.pieces import Region
from purfle.model.shop import Offcut

Mask: TypeAlias = NDArray[np.uint8]
MOST_CELLS = 250_000
"""A larger offcut gets a coarser raster: the search stays below some tens of milliseconds a part."""
_FRACTION = 4
"""Bits behind the point in which the filler takes its corners."""


@dataclass(slots=True)
class Raster:
    """Cells of `step` mm from (0, 0) up; `blocked` is 1 where a part must not lie."""

    step: float
    blocked: Mask

    @classmethod
    def of(cls, offcut: Offcut, rule: OffcutRule) -> "Raster":
        """The raster of an empty offcut: its edge and its defects are blocked, with the room to keep from them."""
        _, _, length, width = offcut.outline.bounds
        step = max(rule.step, math.sqrt(length * width / MOST_CELLS))
        shape = (math.ceil(width / step) + 3, math.ceil(length / step) + 3)
        raster = cls(step, np.ones(shape, np.uint8))
        # cells that the edge itself touches count as beyond it
        beyond = 1 - raster.filled(offcut.outline) | raster.filled(offcut.outline, edges_only=True)
        blocked = raster._near(beyond, rule.margin)
        if not offcut.defects.is_empty:
            blocked |= raster._near(raster.filled(offcut.defects), rule.from_defect)
        raster.blocked = blocked
        return raster

    def filled(self, region: Region, edges_only: bool = False) -> Mask:
        """1 in each cell that a region, or only its edges, covers or touches."""
        mask = np.zeros(self.blocked.shape, np.uint8)
        for part in shapely.get_parts(region):
            layer = np.zeros(self.blocked.shape, np.uint8)
            rings = [shapely.get_coordinates(ring) for ring in (part.exterior, *part.interiors)]
            corners = [np.round((ring / self.step + 1) * 2**_FRACTION).astype(np.int32) for ring in rings]
            if edges_only:
                cv2.polylines(layer, corners, True, 1, shift=_FRACTION)
            else:
                cv2.fillPoly(layer, corners, 1, shift=_FRACTION)
            mask |= layer
        return mask

    def block(self, region: Polygon, between: float) -> None:
        """Take the wood of one part, with the room to keep from it."""
        self.blocked = self.blocked | self._near(self.filled(region), between)

    def copy(self) -> "Raster":
        """The same raster, to be blocked further on its own."""
        return Raster(self.step, self.blocked.copy())

    def _near(self, mask: Mask, distance: float) -> Mask:
        """1 in each cell within a distance of a masked one, and a cell more: what is free then nearly always holds."""
        away = np.asarray(cv2.distanceTransform((mask == 0).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE))
        near: Mask = (away * self.step <= distance + self.step).astype(np.uint8)
        return near

    def free_places(self, shape: Polygon, along: bool) -> NDArray[np.float64]:
        """Where the lower left corner of a shape's bounds may lie, best first: (n, 2), mm.

        Best is nearest to the left end if `along`, else nearest to the lower edge.
        """
        left, low, right, high = shape.bounds
        rows, columns = self.blocked.shape
        if math.ceil((right - left) / self.step) + 1 > columns or math.ceil((high - low) / self.step) + 1 > rows:
            return np.empty((0, 2))
        part = self.filled(shapely.transform(shape, lambda xy: xy - [left, low]))
        hits = self._hits(part)
        last_row = rows - math.ceil((high - low) / self.step) - 1
        last_column = columns - math.ceil((right - left) / self.step) - 1
        y, x = np.nonzero(hits[: last_row + 1, : last_column + 1] < 0.5)
        order = np.lexsort((y, x) if along else (x, y))
        return np.asarray(np.column_stack([x, y])[order] * self.step, np.float64)

    def _hits(self, part: Mask) -> NDArray[np.float32]:
        """For each shift of a part the number of its cells that fall on blocked ones."""
        shape = [scipy.fft.next_fast_len(2 * size, real=True) for size in self.blocked.shape]
        # beyond the raster everything is blocked: pad with ones
        wood = np.ones(shape, np.float32)
        wood[: self.blocked.shape[0], : self.blocked.shape[1]] = self.blocked
        across = scipy.fft.rfft2(wood) * np.conj(scipy.fft.rfft2(part.astype(np.float32), s=shape))
        found: NDArray[np.float32] = scipy.fft.irfft2(across, s=shape)[: self.blocked.shape[0], : self.blocked.shape[1]]
        return found
