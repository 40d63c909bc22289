"""The section of a board at stations along it: width of its outline, less every recess, as if nothing were let in."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.model.board import Layout
from purfle.model.carrying import Axis

Reals = NDArray[np.float64]
LEAST_WIDTH = 1.0
"""Where an outline comes to a point, its last stretch counts as so wide (mm)."""


@dataclass(frozen=True, slots=True)
class Sections:
    """Sections in the middle of each stretch: width, second moment of area, and how far its faces lie from its middle
    axis; the same of a solid board is `solid`.
    """

    width: Reals
    moment: Reals
    above: Reals
    below: Reals
    solid: Reals


def sections_of(layout: Layout, axis: Axis, middles: Reals) -> Sections:
    """The sections of a board. An inlay counts as cut away: nobody can rely on its glue across end grain.

    Source: parallel axes, I = sum of b h^3 / 12 + b h e^2 over rectangles, recesses with a minus sign (closed form).
    """
    thick = layout.board.thickness
    width = np.maximum(_widths(layout.board.outline, axis, middles), LEAST_WIDTH)
    area, first = width * thick, width * thick**2 / 2.0
    cuts: list[tuple[Reals, float, float]] = []
    for region, depth, is_show in _recesses(layout):
        across = np.minimum(_widths(region, axis, middles), width)
        middle = thick - depth / 2.0 if is_show else depth / 2.0
        cuts.append((across, depth, middle))
        area = area - across * depth
        first = first - across * depth * middle
    centre = first / area
    moment = width * thick**3 / 12.0 + width * thick * (thick / 2.0 - centre) ** 2
    for across, depth, middle in cuts:
        moment = moment - across * depth**3 / 12.0 - across * depth * (middle - centre) ** 2
    return Sections(width, moment, thick - centre, centre, width * thick**3 / 12.0)


def _recesses(layout: Layout) -> list[tuple[BaseGeometry, float, bool]]:
    """Recesses of inlays in the board itself and of fittings, with depth, and whether they are in the show face."""
    inlays = [(one.recess, one.depth, one.face == "show") for one in layout.inlays if not one.into]
    return [*inlays, *((one.wanted, one.depth, one.face == "show") for one in layout.fittings)]


def _widths(region: BaseGeometry, axis: Axis, places: Reals) -> Reals:
    """How wide a region is across the axis at each place along it."""
    x0, y0, x1, y1 = region.bounds
    low, high = (y0 - 1.0, y1 + 1.0) if axis == "A" else (x0 - 1.0, x1 + 1.0)
    ends = np.array([[(at, low), (at, high)] if axis == "A" else [(low, at), (high, at)] for at in places])
    return np.asarray(shapely.length(shapely.intersection(shapely.linestrings(ends), region)), float)
