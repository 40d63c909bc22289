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


@dataclass(frozen=True, slots=True)
class Print:
    """A shape ready to be tried: its outline, size in cells and spectrum, None if it is larger than the wood."""

    shape: Polygon
    cells: tuple[int, int]
    spectrum: NDArray[np.complex64] | None


@dataclass(slots=True)
class Raster:
    """Cells of `step` mm from (0, 0) up; `blocked` is 1 where a part must not lie."""

    step: float
    blocked: Mask
    _wood: NDArray[np.complex64] | None = None

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
        return _filled(region, self.blocked.shape, (1.0, 1.0), self.step, edges_only)

    def block(self, region: Polygon, between: float) -> None:
        """Take the wood of one part, with the room to keep from it."""
        left, low, right, high = (value / self.step + 1 for value in region.bounds)
        reach = between / self.step + 2
        rows, columns = self.blocked.shape
        window = (
            slice(max(0, math.floor(low - reach)), min(rows, math.ceil(high + reach) + 1)),
            slice(max(0, math.floor(left - reach)), min(columns, math.ceil(right + reach) + 1)),
        )
        blocked = self.blocked.copy()
        start = (1.0 - window[1].start, 1.0 - window[0].start)
        blocked[window] |= self._near(_filled(region, blocked[window].shape, start, self.step), between)
        self.blocked, self._wood = blocked, None

    def copy(self) -> "Raster":
        """The same raster, to be blocked further on its own; blocking makes a new mask and leaves the old one alone."""
        return Raster(self.step, self.blocked, self._wood)

    def _near(self, mask: Mask, distance: float) -> Mask:
        """1 in each cell within a distance of a masked one, and a cell more: what is free then nearly always holds."""
        away = np.asarray(cv2.distanceTransform((mask == 0).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE))
        near: Mask = (away * self.step <= distance + self.step).astype(np.uint8)
        return near

    def print_of(self, shape: Polygon) -> Print:
        """A shape made ready to be tried on this raster and its copies."""
        left, low, right, high = shape.bounds
        cells = math.ceil((high - low) / self.step) + 2, math.ceil((right - left) / self.step) + 2
        if cells[0] > self.blocked.shape[0] or cells[1] > self.blocked.shape[1]:
            return Print(shape, cells, None)
        mask = _filled(shape, cells, (-left / self.step, -low / self.step), self.step).astype(np.float32)
        return Print(shape, cells, np.conj(scipy.fft.rfft2(mask, s=self._spectrum_shape())))

    def free_places(self, tried: Print, along: bool, most: int) -> NDArray[np.float64]:
        """How far a shape may be moved from where it was printed, best first: (n, 2), mm.

        Best is nearest to the left end if `along`, else nearest to the lower edge. There are the `most` best ones, and
        as many spread over all others.
        """
        if tried.spectrum is None:
            return np.empty((0, 2))
        if self._wood is None:
            self._wood = scipy.fft.rfft2(self.blocked.astype(np.float32), s=self._spectrum_shape())
        # counts blocked cells below the shape for each shift; it runs around the ends of the raster,
        # and only shifts that keep the shape within it are used
        hits = scipy.fft.irfft2(self._wood * tried.spectrum, s=self._spectrum_shape())
        rows, columns = (size - cells + 1 for size, cells in zip(self.blocked.shape, tried.cells, strict=True))
        free = hits[:rows, :columns] < 0.5
        spots = np.flatnonzero(free.T if along else free)
        spots = np.concatenate([spots[:most], spots[most :: max(1, (len(spots) - most) // most)]])
        x, y = np.divmod(spots, rows) if along else np.divmod(spots, columns)[::-1]
        return np.asarray((np.column_stack([x, y]) - 1.0) * self.step - tried.shape.bounds[:2], np.float64)

    def _spectrum_shape(self) -> list[int]:
        return [scipy.fft.next_fast_len(size, real=True) for size in self.blocked.shape]


def _filled(
    region: Region, size: tuple[int, ...], start: tuple[float, float], step: float, edges_only: bool = False
) -> Mask:
    """1 in each cell that a region, or only its edges, covers or touches; `start` is the cell of the place (0, 0)."""
    mask = np.zeros(size, np.uint8)
    for part in shapely.get_parts(region):
        layer = np.zeros(size, np.uint8)
        rings = [shapely.get_coordinates(ring) for ring in (part.exterior, *part.interiors)]
        corners = [np.round((ring / step + start) * 2**_FRACTION).astype(np.int32) for ring in rings]
        if edges_only:
            cv2.polylines(layer, corners, True, 1, shift=_FRACTION)
        else:
            cv2.fillPoly(layer, corners, 1, shift=_FRACTION)
        mask |= layer
    return mask
