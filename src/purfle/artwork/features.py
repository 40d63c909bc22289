"""Areas as GeoJSON features in the picture's own pixels, or in the drawing's mm."""

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from purfle.model.artwork import Areas

Ring = list[list[float]]


def to_geojson_features(areas: Areas) -> dict[str, Any]:
    """A FeatureCollection of all areas, ground included: origin at the top left corner of the top left pixel, y down.

    Of a drawing: in mm, origin at the lower left corner of the design, y up. Properties: `name` (that the drawing
    gives it), `colour` as "#rrggbb", `area_px2` or `area_mm2`, `ground` (True for bare board). Outer rings run
    counter-clockwise as numbers, holes clockwise.

    Source: RFC 7946 for the shape of the features; its coordinates would be degrees, these are pixels or mm.
    """
    features = []
    turned = _down if areas.unit == "px" else _up
    for area in areas.areas:
        region = area.region if areas.unit == "px" else shapely.orient_polygons(area.region)
        rings = [region.exterior, *region.interiors]
        features.append(
            {
                "type": "Feature",
                "properties": {
                    **({"name": area.name} if area.name else {}),
                    "colour": "#{:02x}{:02x}{:02x}".format(*area.colour),
                    f"area_{areas.unit}2": round(float(area.region.area), 3),
                    "ground": area.number in areas.ground,
                },
                "geometry": {
                    "type": "Polygon",
                    "coordinates": [turned(np.asarray(ring.coords), areas.height) for ring in rings],
                },
            }
        )
    return {"type": "FeatureCollection", "features": features}


def _down(ring: NDArray[np.float64], height: float) -> Ring:
    """The ring with y down; turned round, since the flip would reverse its sense. Adding 0.0 avoids -0.0."""
    turned = np.stack([ring[:, 0], height - ring[:, 1]], axis=1)[::-1]
    ring_down: Ring = (np.round(turned, 4) + 0.0).tolist()
    return ring_down


def _up(ring: NDArray[np.float64], _: float) -> Ring:
    """The ring as it is. Adding 0.0 avoids -0.0."""
    ring_up: Ring = (np.round(ring, 4) + 0.0).tolist()
    return ring_up
