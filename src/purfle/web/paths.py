"""Regions as path data for the page: mm in the frame of the face, y up, to a hundredth."""

from functools import lru_cache

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.geometry.pose import Pose

CURVE = 0.02
"""How far (mm) a drawn outline may lie off the real one: a fifth of a dot at five dots a mm."""


def path_of(region: BaseGeometry, within: float = CURVE) -> str:
    """The rings of a region as path data; empty for nothing."""
    drawn = shapely.simplify(region, within) if within else region
    return "".join(_ring(ring) for one in shapely.get_parts(drawn) for ring in _rings(one))


def placed_path(region: BaseGeometry, pose: Pose, within: float = CURVE) -> str:
    """The same of a region that is placed; what it takes to draw it is worked out once, wherever it stands."""
    return path_of(pose.region(_thin(shapely.to_wkb(region), within)), 0.0)


def placed_spot(region: BaseGeometry, pose: Pose) -> list[float]:
    """A place well inside a region that is placed, and the room around it."""
    x, y, room = _spot(shapely.to_wkb(region))
    at_x, at_y = pose.point(x, y)
    return [round(at_x, 2), round(at_y, 2), room]


@lru_cache(maxsize=1024)
def _thin(region: bytes, within: float) -> BaseGeometry:
    return shapely.simplify(shapely.from_wkb(region), within)


@lru_cache(maxsize=1024)
def _spot(region: bytes) -> tuple[float, float, float]:
    return spot_in(shapely.from_wkb(region))


def _rings(one: BaseGeometry) -> list[BaseGeometry]:
    return [one.exterior, *one.interiors] if isinstance(one, Polygon) and not one.is_empty else []


def _ring(ring: BaseGeometry) -> str:
    """One ring with steps from point to point in hundredths, as short as they can be said."""
    points = np.rint(shapely.get_coordinates(ring)[:-1] * 100.0).astype(np.int64)
    if not len(points):
        return ""
    steps = np.diff(points, axis=0)
    steps = steps[np.any(steps != 0, axis=1)]
    words = [f"{_said(x)} {_said(y)}" for x, y in steps.tolist()]
    x, y = points[0].tolist()
    return f"M{_said(x)} {_said(y)}l{' '.join(words)}Z" if words else ""


def _said(hundredths: int) -> str:
    return f"{hundredths / 100:.2f}".rstrip("0").rstrip(".") if hundredths % 100 else str(hundredths // 100)


def spot_in(region: BaseGeometry) -> tuple[float, float, float]:
    """A place well inside a region and how far it is from its outline, for a number to stand there."""
    line = shapely.maximum_inscribed_circle(region, 0.4)
    x, y = shapely.get_coordinates(line)[0].tolist()
    return round(x, 2), round(y, 2), round(float(shapely.length(line)), 2)
