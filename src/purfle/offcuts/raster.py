"""A coarse picture of the free wood on an offcut: where a part might go. What it offers is checked exactly later."""

import math
from dataclasses import dataclass, field
from typing import TypeAlias

import cv2
import numpy as np
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
    """Cells of `step` mm from (0, 0) up; 1 where a part must not lie.

    `strict` blocks a cell too much all around: what is free in it nearly always holds. `loose` blocks a cell too
    little: what fits at all is free in it, give or take a cell.
    """

    step: float
    strict: Mask
    loose: Mask
    _spectra: dict[bool, NDArray[np.complex64]] = field(default_factory=dict)

    @classmethod
    def of(cls, offcut: Offcut, rule: OffcutRule) -> "Raster":
        """The raster of an empty offcut: its edge and its defects are blocked, with the room to keep from them."""
        _, _, length, width = offcut.outline.bounds
        step = max(rule.step, math.sqrt(length * width / MOST_CELLS))
        shape = (math.ceil(width / step) + 3, math.ceil(length / step) + 3)
        outline = offcut.outline
        # cells that the edge itself touches count as beyond it
        start = (1.0, 1.0)
        beyond = 1 - _filled(outline, shape, start, step) | _filled(outline, shape, start, step, edges_only=True)
        strict, loose = _near(beyond, rule.margin, step)
        if not offcut.defects.is_empty:
            around = _near(_filled(offcut.defects, shape, start, step), rule.from_defect, step)
            strict, loose = strict | around[0], loose | around[1]
        return cls(step, strict, loose)

    @property
    def size(self) -> int:
        """How many cells there are."""
        return int(self.strict.size)

    @property
    def free_area(self) -> float:
        """Wood (mm2) on which parts may lie, rather too much than too little."""
        return float(np.count_nonzero(self.loose == 0)) * self.step**2

    def block(self, region: Polygon, between: float) -> None:
        """Take the wood of one part, with the room to keep from it."""
        left, low, right, high = (value / self.step + 1 for value in region.bounds)
        reach = between / self.step + 2
        rows, columns = self.strict.shape
        window = (
            slice(max(0, math.floor(low - reach)), min(rows, math.ceil(high + reach) + 1)),
            slice(max(0, math.floor(left - reach)), min(columns, math.ceil(right + reach) + 1)),
        )
        start = (1.0 - window[1].start, 1.0 - window[0].start)
        around = _near(_filled(region, self.strict[window].shape, start, self.step), between, self.step)
        self.strict, self.loose = self.strict.copy(), self.loose.copy()
        self.strict[window] |= around[0]
        self.loose[window] |= around[1]
        self._spectra = {}

    def copy(self) -> "Raster":
        """The same raster, to be blocked further on its own; blocking makes new masks and leaves the old ones alone."""
        return Raster(self.step, self.strict, self.loose, self._spectra)

    def print_of(self, shape: Polygon) -> Print:
        """A shape made ready to be tried on this raster and its copies."""
        left, low, right, high = shape.bounds
        cells = math.ceil((high - low) / self.step) + 2, math.ceil((right - left) / self.step) + 2
        if cells[0] > self.strict.shape[0] or cells[1] > self.strict.shape[1]:
            return Print(shape, cells, None)
        mask = _filled(shape, cells, (-left / self.step, -low / self.step), self.step).astype(np.float32)
        return Print(shape, cells, np.conj(np.fft.rfft2(mask, s=self._spectrum_shape())))

    def free_places(self, tried: Print, along: bool, most: int, loosely: bool = False) -> NDArray[np.float64]:
        """How far a shape may be moved from where it was printed, best first: (n, 2), mm.

        Best is nearest to the left end if `along`, else nearest to the lower edge. There are the `most` best ones, and
        as many spread over all others. `loosely`: they may be short of room by a cell or two.
        """
        if tried.spectrum is None:
            return np.empty((0, 2))
        if loosely not in self._spectra:
            mask = self.loose if loosely else self.strict
            self._spectra[loosely] = np.fft.rfft2(mask.astype(np.float32), s=self._spectrum_shape()).astype(
                np.complex64
            )
        # counts blocked cells below the shape for each shift; it runs around the ends of the raster,
        # and only shifts that keep the shape within it are used
        hits = np.fft.irfft2(self._spectra[loosely] * tried.spectrum, s=self._spectrum_shape())
        rows, columns = (size - cells + 1 for size, cells in zip(self.strict.shape, tried.cells, strict=True))
        free = hits[:rows, :columns] < 0.5
        spots = np.flatnonzero(free.T if along else free)
        spots = np.concatenate([spots[:most], spots[most :: max(1, (len(spots) - most) // most)]])
        x, y = np.divmod(spots, rows) if along else np.divmod(spots, columns)[::-1]
        return np.asarray((np.column_stack([x, y]) - 1.0) * self.step - tried.shape.bounds[:2], np.float64)

    def _spectrum_shape(self) -> list[int]:
        return [cv2.getOptimalDFTSize(size) for size in self.strict.shape]


def _near(mask: Mask, distance: float, step: float) -> tuple[Mask, Mask]:
    """1 in each cell within a distance of a masked one: strictly, with a cell more, and loosely, with a cell less."""
    away = np.asarray(cv2.distanceTransform((mask == 0).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)) * step
    return (away <= distance + step).astype(np.uint8), (away <= max(distance - step, 0.0)).astype(np.uint8)


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
