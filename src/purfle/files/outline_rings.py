"""The rings of a region as lines and arcs, as both kinds of outline file hold them."""

from functools import lru_cache

import numpy as np
import shapely

from purfle.geometry.arcs import Segment, fit_all
from purfle.model.pieces import Region
from purfle.tolerances import ARC_FIT

DECIMALS = 5
"""Places in outline files keep this many decimals in mm: rounding is a two-hundredth of what the fit is allowed."""


@lru_cache(maxsize=256)
def rings_of(region: Region) -> tuple[tuple[Segment, ...], ...]:
    """Each ring of a region, outsides and holes, as a closed chain of lines and arcs within `tolerances.ARC_FIT`.

    Outsides run counter-clockwise and holes clockwise, largest part first, so that equal regions give equal rings.
    The last regions are remembered, since every set-up is written twice.
    """
    parts = [part for part in shapely.get_parts(shapely.orient_polygons(region)) if not part.is_empty]
    parts.sort(key=lambda part: (-part.area, part.bounds))
    rings = [ring for part in parts for ring in (part.exterior, *part.interiors)]
    return tuple(fit_all([(np.asarray(ring.coords)[:, :2], ARC_FIT) for ring in rings], closed=True))


def written(number: float) -> str:
    """A number of an outline file, no longer than it must be."""
    text = f"{number:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
