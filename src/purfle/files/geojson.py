"""Shapes as RFC 7946-shaped GeoJSON, for a look or for another program. Plane coordinates, not places on the earth."""

import json
from collections.abc import Sequence
from typing import Any


def geojson_bytes(features: Sequence[dict[str, Any]]) -> bytes:
    """A collection of features as UTF-8 text, one feature a line.

    >>> geojson_bytes([])
    b'{"type": "FeatureCollection", "features": [\\n\\n]}\\n'
    """
    lines = ",\n".join(json.dumps(feature, ensure_ascii=False, allow_nan=False) for feature in features)
    return f'{{"type": "FeatureCollection", "features": [\n{lines}\n]}}\n'.encode()
