"""Places of a recess that no part was ever cut for: told once for each inlay, whatever files they are seen in."""

from collections.abc import Sequence

import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from purfle.model.findings import Finding
from purfle.proof.found import stop
from purfle.proof.regions import grown, inside, polygons
from purfle.proof.seams import Together, hollow, limit
from purfle.tolerances import THINNEST_PIECE

_EMPTY = ("stay empty: no part is cut for them", "stays empty: no part is cut for it")
_LISTED = 3
"""So many places are named, the largest first."""


def empty_places(kinds: Sequence[Together]) -> BaseGeometry:
    """Where programs, SVG and DXF alike leave room for a whole part, grown back to the walls.

    A part that one kind of file has lost or made too small is that file's fault, and leaves no such place.
    """
    if not kinds:
        return MultiPolygon()
    most = limit(kinds[0])
    shared: BaseGeometry = shapely.intersection_all([hollow(one) for one in kinds])
    roomy = [part for part in polygons(shared) if not grown(part, -THINNEST_PIECE / 2).is_empty]
    return shapely.union_all([grown(part, most / 2) for part in roomy])


def is_empty_place(finding: Finding) -> bool:
    """True for what `tell_empty` gives."""
    return any(words in finding.what for words in _EMPTY)


def tell_empty(inlay: str, empty: BaseGeometry) -> Finding:
    """The one finding that stands for all of them."""
    parts = sorted(polygons(empty), key=lambda part: -float(part.area))
    places = [inside(part) for part in parts]
    what = f"{len(parts)} places of the picture {_EMPTY[0]}"
    mend = "find wood for them, or make the design smaller"
    if len(parts) == 1:
        what = f"1 place of the picture {_EMPTY[1]}"
        mend = "find wood for it, or make the design smaller"
    spots = "; ".join(f"at {x:.2f}, {y:.2f} mm" for x, y in places[:_LISTED])
    more = f" and {len(places) - _LISTED} more" if len(places) > _LISTED else ""
    return stop(what, f"inlay '{inlay}', {spots} on the board{more}", mend, places[0])
