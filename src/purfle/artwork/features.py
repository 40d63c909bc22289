"""Areas as GeoJSON features in the picture's own pixels."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from purfle.model.artwork import Areas

Ring = list[list[float]]


def to_geojson_features(areas: Areas) -> dict[str, Any]:
    """A FeatureCollection of all areas, ground included: origin at the top left corner of the top left pixel, y down.

    Properties: `colour` as "#rrggbb", `area_px2`, `ground` (True for bare board). Outer rings run counter-clockwise
    as numbers, holes clockwise.

    Source: RFC 7946 for the shape of the features; its coordinates would be degrees, these are pixels.
    """
    features = []
    for area in areas.areas:
        rings = [area.region.exterior, *area.region.interiors]
        features.append(
            {
                "type": "Feature",
                "properties": {
                    "colour": "#{:02x}{:02x}{:02x}".format(*area.colour),
                    "area_px2": round(float(area.region.area), 3),
                    "ground": area.number in areas.ground,
                },
                "geometry": {
                    "type": "Polygon",
                    "coordinates": [_down(np.asarray(ring.coords), areas.height) for ring in rings],
                },
            }
        )
    return {"type": "FeatureCollection", "features": features}


def _down(ring: NDArray[np.float64], height: float) -> Ring:
    """The ring with y down; turned round, since the flip would reverse its sense. Adding 0.0 avoids -0.0."""
    turned = np.stack([ring[:, 0], height - ring[:, 1]], axis=1)[::-1]
    ring_down: Ring = (np.round(turned, 4) + 0.0).tolist()
    return ring_down
