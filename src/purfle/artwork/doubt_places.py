"""Where areas made from a picture are doubtful: the report that is drawn on the picture, with what to do about it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from purfle.artwork.doubts import WEAK_STEP
from purfle.model.artwork import OUTSIDE, Area, Areas, Picture
from purfle.tolerances import SAME_COLOUR, THINNEST_PIECE

Floats = NDArray[np.float64]
Kind = Literal["weak", "shaded", "small"]

EVERY_PX = 2.0
"""A border is looked at so often along its length."""
NEAR_PX, FAR_PX = 3.0, 9.0
"""Colours are compared so far on either side of a border; far off, whether colour still changes there."""
STILL_CHANGES = 1.7
"""Colour that changes this many times as much over the far distance as over the near one is shading, not a border."""
SHORTEST = 3
"""So many doubtful places in a row are told; a single one is grain."""
OWN_SHARE = 0.25
"""Change of colour, as a share of the areas' difference, below which nothing is there to be shaded."""


@dataclass(frozen=True, slots=True)
class DoubtPlace:
    """One doubtful place: a stretch of border, or the outline of an area; in px, y up."""

    kind: Kind
    line: Floats


@dataclass(frozen=True, slots=True)
class DoubtReport:
    """Every doubtful place, and the sentences that tell what to do, each with the kind of place it speaks of.

    `mm_per_px` None: the size is still open.
    """

    places: tuple[DoubtPlace, ...]
    sentences: tuple[tuple[Kind | None, str], ...]
    mm_per_px: float | None


def doubt_report(picture: Picture, areas: Areas, mm_per_px: float | None) -> DoubtReport:
    """What is doubtful in the areas of a picture, where, and what to do; at a size, if that is chosen."""
    places = [*_doubtful_borders(picture, areas)]
    if mm_per_px is not None:
        small = [area for area in _drawn(areas) if is_small(area, THINNEST_PIECE / mm_per_px)]
        places += [DoubtPlace("small", shapely.get_coordinates(area.region.exterior)) for area in small]
    return DoubtReport(tuple(places), tuple(_sentences(places, areas, mm_per_px)), mm_per_px)


def is_small(area: Area, width: float) -> bool:
    """True if no disc of this diameter fits into an area anywhere: no piece can be made of it."""
    if area.region.area < np.pi * width**2 / 4.0:
        return True
    return bool(area.region.buffer(-width / 2.0, quad_segs=4).is_empty)


def _drawn(areas: Areas) -> list[Area]:
    return [area for area in areas.areas if area.number not in areas.ground]


def _sentences(places: list[DoubtPlace], areas: Areas, mm_per_px: float | None) -> Iterator[tuple[Kind | None, str]]:
    """The gravest first."""
    count = {kind: sum(place.kind == kind for place in places) for kind in ("shaded", "weak", "small")}
    if count["shaded"]:
        what = f"{_places(count['shaded'])}: shading, not flat colour; the border there is invented."
        yield "shaded", f"{what} Merge both areas, or choose the number of woods."
    if count["weak"]:
        what = f"{_places(count['weak'])}: a weak border, less than half of the step in colour is there."
        yield "weak", f"{what} Look whether it belongs there; if not, merge both areas."
    if count["small"]:
        what = f"{count['small']} area{'s' * (count['small'] > 1)} nowhere {THINNEST_PIECE:g} mm wide at this size"
        yield "small", f"{what}: no piece can be made of that. Enlarge the design, drop or merge them."
    if mm_per_px is None:
        error = f"Borders are expected to be right within {areas.unit_error:.2f} px on average"
        yield None, f"{error}. Choose a height to see it in mm, and which areas are too small."
    else:
        error = f"Borders are expected to be right within {areas.unit_error * mm_per_px:.3f} mm on average at this size"
        yield None, f"{error}. A larger picture makes it less."
    if not places:
        yield None, "No doubtful place was found."


def _places(count: int) -> str:
    return "1 place" if count == 1 else f"{count} places"


def _doubtful_borders(picture: Picture, areas: Areas) -> Iterator[DoubtPlace]:
    """Stretches of border that the colours beside them do not bear out."""
    pixels = np.asarray(cv2.GaussianBlur(picture.pixels, (0, 0), 0.8), np.uint8)
    colours = {area.number: np.array(area.colour, np.float64) for area in areas.areas}
    for arc in areas.arcs:
        if OUTSIDE in (arc.left, arc.right):
            continue
        points, across = _along(arc.points)
        if len(points) <= SHORTEST:
            continue
        way = colours[arc.right] - colours[arc.left]
        near, far = (_change(pixels, points, reach * across) @ way for reach in (NEAR_PX, FAR_PX))
        full = max(float(way @ way), SAME_COLOUR)
        weak = _in_thick(areas, (arc.left, arc.right), points, NEAR_PX * across) & (near < WEAK_STEP * full)
        roomy = _in_thick(areas, (arc.left, arc.right), points, FAR_PX * across)
        shaded = roomy & (far > STILL_CHANGES * near) & (far > OWN_SHARE * full) & (near < 0.8 * full)
        for kind, flags in (("shaded", shaded), ("weak", weak & ~shaded)):
            yield from (DoubtPlace(_kind(kind), points[run]) for run in _runs(flags))


def _kind(word: str) -> Kind:
    return "shaded" if word == "shaded" else "weak"


def _along(line: Floats) -> tuple[Floats, Floats]:
    """Places along a line, evenly spaced, and the direction to its right at each."""
    step = np.linalg.norm(np.diff(line, axis=0), axis=1)
    reach = np.concatenate([[0.0], np.cumsum(step)])
    at = np.linspace(0.0, reach[-1], max(2, int(reach[-1] / EVERY_PX) + 1))
    points = np.column_stack([np.interp(at, reach, line[:, axis]) for axis in (0, 1)])
    way = np.gradient(points, axis=0)
    way /= np.maximum(np.linalg.norm(way, axis=1, keepdims=True), SAME_COLOUR)
    return points, np.column_stack([way[:, 1], -way[:, 0]])


def _change(pixels: NDArray[np.uint8], points: Floats, off: Floats) -> Floats:
    """Colour to the right of each place less that to its left."""
    return _colour_at(pixels, points + off) - _colour_at(pixels, points - off)


def _colour_at(pixels: NDArray[np.uint8], points: Floats) -> Floats:
    x = np.asarray(points[:, 0] - 0.5, np.float32)[None]
    y = np.asarray(len(pixels) - points[:, 1] - 0.5, np.float32)[None]
    found = cv2.remap(pixels, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(found[0], np.float64)


def _in_thick(areas: Areas, sides: tuple[int, int], points: Floats, off: Floats) -> NDArray[np.bool_]:
    """Where both sides of a border still lie in their own areas that far off it: elsewhere nothing can be said."""
    left, right = (areas.areas[number].region for number in sides)
    shapely.prepare((left, right))
    inside_right = shapely.contains_xy(right, *(points + off).T)
    inside_left = shapely.contains_xy(left, *(points - off).T)
    return np.asarray(inside_left & inside_right)


def _runs(flags: NDArray[np.bool_]) -> list[slice]:
    """Stretches of flags that are set, long enough to be told."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [
        slice(int(start), int(end))
        for start, end in zip(edges[::2], edges[1::2], strict=True)
        if end - start >= SHORTEST
    ]
