"""Stringing: thin lines of wood along a straight line, a frame, a circle or a path, in strips that can be cut."""

import math
from collections.abc import Iterable
from itertools import pairwise

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import translate

from purfle.artwork.shapes import bow, disc
from purfle.errors import DrawingError
from purfle.geometry.pose import Polyline, Pose
from purfle.model.pieces import Region
from purfle.model.ready import FrameTrack, Part, PathTrack, RingTrack, StraightTrack, Stringing
from purfle.tolerances import FLAT, SAME_PLACE

SIDES = ("front", "right", "back", "left")
"""The sides of a frame, counter-clockwise; a quarter turn takes each to the next."""
MITRE_LIMIT = 10.0
"""Corners of a path sharper than this many widths long are cut off. Common practice of drawing, no source."""


def stringing(form: Stringing) -> list[Part]:
    """The strips of a line of stringing, centred on the origin; ends meet square, corners of a frame are mitred."""
    match form.track:
        case StraightTrack(length):
            return _called("", _strips(length, form.width, form.longest))
        case FrameTrack():
            return _frame(form.track, form.width, form.longest)
        case RingTrack(diameter):
            return _ring(diameter, form.width, form.longest)
        case PathTrack(path):
            return [Part("", 0, ribbon(path, form.width))]


def ribbon(path: str, width: float) -> Region:
    """What a line of this width along SVG path data (mm, y down) covers, mitred at its corners, centred on its bounds.

    Raises: DrawingError where the path data cannot be read or has no length.
    """
    from purfle.files.svg_path import Stroke, filled, outline_of, stroked  # slow to load, and most jobs draw no path

    pen, sound = outline_of(path, FLAT)
    if not sound or not any(len(contour) > 1 for contour in pen.contours):
        mend = 'Write path data as SVG has it, in mm: path = "M 0 0 L 40 0 C ...".'
        raise DrawingError("The path cannot be read, or has no length", f'path "{path[:40]}"', mend)
    rings = stroked(pen, Stroke(width, "butt", "miter", MITRE_LIMIT, (), 0.0), FLAT)
    region = filled([ring * [1.0, -1.0] for ring in rings], "nonzero")
    left, low, right, high = region.bounds
    return translate(region, -(left + right) / 2.0, -(low + high) / 2.0)


def _strips(length: float, width: float, longest: float) -> list[Polygon]:
    """A straight line of stringing, centred, in equal strips none of which is longer than `longest`."""
    ends = np.linspace(-length / 2.0, length / 2.0, _count(length, longest) + 1)
    half = width / 2.0
    return [shapely.box(start, -half, end, half) for start, end in pairwise(ends.tolist())]


def _count(length: float, longest: float) -> int:
    return max(1, math.ceil(length / longest - SAME_PLACE)) if longest > 0.0 else 1


def _called(name: str, regions: Iterable[Region]) -> list[Part]:
    """Parts of one wood: the only one by the name alone, several numbered as strips."""
    several = list(regions)
    if len(several) == 1:
        return [Part(name, 0, several[0])]
    return [Part(f"{name} strip {number}".strip(), 0, region) for number, region in enumerate(several, 1)]


def _ring(diameter: float, width: float, longest: float) -> list[Part]:
    """A ring, whole or in equal bends."""
    outer, inner = diameter / 2.0, diameter / 2.0 - width
    count = _count(math.pi * (diameter - width), longest)
    if count == 1:
        return [Part("", 0, Polygon(disc(diameter).exterior, [disc(2.0 * inner).exterior]))]
    ends = np.linspace(90.0, 450.0, count + 1)
    return _called("", (bend(outer, inner, *pair) for pair in pairwise(ends.tolist())))


def bend(outer: float, inner: float, start: float, end: float) -> Polygon:
    """Part of a ring around the origin between two directions in degrees."""
    return Polygon(np.concatenate([bow(outer, start, end), bow(inner, start, end)[::-1]]))


def _frame(track: FrameTrack, width: float, longest: float) -> list[Part]:
    """Four sides mitred at square corners, or butted to four bends."""
    parts: list[Part] = []
    for number, side in enumerate(SIDES):
        place = quarter_turn(number)
        along, across = (track.length, track.width) if number % 2 == 0 else (track.width, track.length)
        for part in _side(side, (along, across), (width, longest), track.corner_radius):
            parts.append(Part(part.name, part.wood, shapely.transform(part.region, place.points)))
    return parts


def quarter_turn(number: int) -> Pose:
    """The pose that takes the front side of a frame to the given one of `SIDES`."""
    return Pose(90.0 * number)


def _side(side: str, size: tuple[float, float], strip: tuple[float, float], radius: float) -> list[Part]:
    """The front side of a frame (size along it, and across), and the corner at its right end if it is rounded."""
    along, across = size
    width, longest = strip
    foot = -across / 2.0
    if radius == 0.0:
        outer = along / 2.0
        corners = [(-outer, foot), (outer, foot), (outer - width, foot + width), (width - outer, foot + width)]
        return _called(side, _cut_across(Polygon(corners), _count(along, longest)))
    corner = max(radius, width)
    straight = [translate(strip, 0.0, foot + width / 2.0) for strip in _strips(along - 2.0 * corner, width, longest)]
    after = SIDES[(SIDES.index(side) + 1) % 4]
    bent = translate(_corner(radius, width), along / 2.0 - corner, foot + corner)
    return [*_called(side, straight), Part(f"{side} {after} corner", 0, bent)]


def _cut_across(side: Polygon, count: int) -> list[Polygon]:
    """A side cut square into parts of equal length over its outside."""
    left, low, right, high = side.bounds
    if count == 1:
        return [side]
    ends = np.linspace(left, right, count + 1).tolist()
    return [shapely.clip_by_rect(side, start, low, end, high) for start, end in pairwise(ends)]


def _corner(radius: float, width: float) -> Polygon:
    """The bend at the front right corner, its inner straight ends on the axes."""
    corner = max(radius, width)
    outer = bow(radius, -90.0, 0.0) + np.array([corner - radius, radius - corner])
    inner = bow(radius - width, -90.0, 0.0)[::-1] if radius > width else np.zeros((1, 2))
    ends: Polyline = np.array([[0.0, -corner], [corner, 0.0]]) if radius < corner else np.zeros((0, 2))
    return Polygon(np.concatenate([ends[:1], outer, ends[1:], inner]))
