"""Folds and crumbs that offsetting leaves where two arcs meet or two fronts touch.

A fold is where an outline runs back along itself for a hair's breadth; a crumb is a part or a hole thinner than a film.
Both are valid to every engine and harmless to areas; lines and arcs fitted within a tolerance cross there.
"""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, Polygon

from purfle.geometry.offsetting import Region, polygons, region_of
from purfle.tolerances import FILM

FOLDED_DEG = 150.0
"""An outline that turns by more than this at a place runs back; sharper tips than 30 degrees are longer than a fold."""
TWINS = 1e-5
"""Two places of an outline nearer to each other than this are one: a fold may turn by a right angle at each of them."""
LONGEST_FOLD = 0.5
"""What runs back further than this is a tip that somebody drew."""


def unfolded(region: Region) -> Region:
    """The region without its folds and crumbs; itself where it has none, or where it would not be sound without them.

    Each place where the outline runs back goes, if it stands off the chord between its neighbours by less than `FILM`
    and one of its neighbours is nearer than `LONGEST_FOLD`. No outline moves by more than `FILM`.
    """
    whole = [*polygons(region)]
    parts = [_part(part) for part in whole if part.area > FILM * part.length]
    if len(parts) == len(whole) and all(same for _, same in parts):
        return region
    made = region_of([part for part, _ in parts])
    return made if made.is_valid else region


def _part(part: Polygon) -> tuple[Polygon, bool]:
    """A part without folds and crumbs, and whether it had none."""
    rings = [part.exterior, *part.interiors]
    kept = [ring for ring in rings if ring is part.exterior or Polygon(ring).area > FILM * ring.length]
    found = [_ring(ring) for ring in kept]
    same = len(kept) == len(rings) and all(one is ring for one, ring in zip(found, kept, strict=True))
    return (part, True) if same else (Polygon(found[0], found[1:]), False)


def _ring(ring: LinearRing) -> LinearRing:
    places = shapely.get_coordinates(ring)[:-1]
    count = len(places)
    while len(places) > 3 and (folded := _folded(places)).any():
        # one at a time, the shortest way back first: the next place may stand right without it
        places = np.delete(places, int(np.argmin(np.where(folded, _nearer(places), np.inf))), axis=0)
    return ring if len(places) == count else LinearRing(places)


def _legs(places: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    return places - np.roll(places, 1, axis=0), np.roll(places, -1, axis=0) - places


def _nearer(places: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far each place is from the nearer of its neighbours."""
    before, after = _legs(places)
    nearer: NDArray[np.float64] = np.minimum(np.hypot(*before.T), np.hypot(*after.T))
    return nearer


def _folded(places: NDArray[np.float64]) -> NDArray[np.bool_]:
    before, after = _legs(places)
    cross = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    turn = np.degrees(np.arctan2(cross, (before * after).sum(axis=1)))
    nearer = _nearer(places)
    # over the longer leg the nearer neighbour stands this far off it
    off = cross / np.maximum(np.maximum(np.hypot(*before.T), np.hypot(*after.T)), FILM)
    runs_back = (turn > FOLDED_DEG) & (nearer < LONGEST_FOLD) & (off < FILM)
    folded: NDArray[np.bool_] = runs_back | (np.hypot(*before.T) < TWINS)
    return folded
