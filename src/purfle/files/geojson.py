"""Shapes as RFC 7946-shaped GeoJSON, for a look or for another program. Plane coordinates, not places on the earth."""

import json
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import mapping

from purfle.model.artwork import Areas

PIXEL_DECIMALS = 5
"""A hundred-thousandth of a pixel: neighbours keep one and the same boundary, and files stay small."""


def areas_features(areas: Areas) -> list[dict[str, Any]]:
    """Areas of a picture in its pixel frame: origin at the top left corner of the top left pixel, y down.

    Exterior rings run counter-clockwise in these numbers. `ground` is true for bare board.
    """

    def to_pixels(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.round(np.column_stack([xy[:, 0], areas.height - xy[:, 1]]), PIXEL_DECIMALS)

    features = []
    for area in areas.areas:
        shown = shapely.orient_polygons(shapely.transform(area.region, to_pixels))
        properties = {
            "area": area.number,
            "colour": "#{:02x}{:02x}{:02x}".format(*area.colour),
            "area_px2": round(area.region.area, PIXEL_DECIMALS),
            "ground": area.number in areas.ground,
        }
        features.append({"type": "Feature", "properties": properties, "geometry": mapping(shown)})
    return features


def geojson_bytes(features: Sequence[dict[str, Any]]) -> bytes:
    """A collection of features as UTF-8 text, one feature a line.

    >>> geojson_bytes([])
    b'{"type": "FeatureCollection", "features": [\\n]}\\n'
    """
    lines = ",\n".join(json.dumps(feature, ensure_ascii=False, allow_nan=False) for feature in features)
    return f'{{"type": "FeatureCollection", "features": [\n{lines}{chr(10) if lines else ""}]}}\n'.encode()
