"""The rings of a region as lines and arcs, as both kinds of outline file hold them."""

from functools import lru_cache

import numpy as np
import shapely

from purfle.geometry.arcs import Segment, fit_all
from purfle.geometry.pose import Polyline
from purfle.model.pieces import Region
from purfle.tolerances import ARC_FIT

Rings = tuple[tuple[Segment, ...], ...]
DECIMALS = 5
"""Places in outline files keep this many decimals in mm: rounding is a two-hundredth of what the fit is allowed."""


@lru_cache(maxsize=64)
def rings_of(regions: tuple[Region, ...]) -> tuple[Rings, ...]:
    """For each region its rings, outsides and holes, as closed chains of lines and arcs within `tolerances.ARC_FIT`.

    Outsides run counter-clockwise and holes clockwise, largest part first, so that equal regions give equal rings.
    All regions of a set-up are asked for together, which is quicker, and remembered, since each is written twice.
    """
    outlines = [_outlines(region) for region in regions]
    fitted = iter(fit_all([(ring, ARC_FIT) for rings in outlines for ring in rings], closed=True))
    return tuple(tuple(next(fitted) for _ in rings) for rings in outlines)


def _outlines(region: Region) -> list[Polyline]:
    parts = [part for part in shapely.get_parts(shapely.orient_polygons(region)) if not part.is_empty]
    parts.sort(key=lambda part: (-part.area, part.bounds))
    return [np.asarray(ring.coords)[:, :2] for part in parts for ring in (part.exterior, *part.interiors)]


def written(number: float) -> str:
    """A number of an outline file, no longer than it must be."""
    text = f"{number:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
