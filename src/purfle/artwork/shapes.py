"""Ready shapes: outlines drawn by Purfle itself, in mm, centred on the origin."""

import math

import numpy as np
import shapely
from shapely import Polygon

from purfle.geometry.pose import Polyline
from purfle.model.ready import Fan, Part, Star
from purfle.tolerances import FLAT, SAME_PLACE


def disc(diameter: float) -> Polygon:
    """A disc centred on the origin; its corners lie on the circle, its chords within `tolerances.FLAT` of it.

    >>> disc(20.0).bounds
    (-10.0, -10.0, 10.0, 10.0)
    """
    return oval(diameter, diameter)


def oval(length: float, width: float) -> Polygon:
    """An ellipse centred on the origin, `length` along x and `width` along y, the same in all four quarters.

    >>> oval(40.0, 20.0).bounds
    (-20.0, -10.0, 20.0, 10.0)
    """
    turn = bow(max(length, width) / 2.0, 0.0, 90.0)
    quarter = turn / (max(length, width) / 2.0) * np.array([length, width]) / 2.0
    return Polygon(in_four_quarters(quarter))


def rectangle(length: float, width: float, corner_radius: float = 0.0) -> Polygon:
    """A rectangle centred on the origin, its corners rounded by a radius; 0: square.

    >>> rectangle(40.0, 20.0).area
    800.0
    """
    half = np.array([length, width]) / 2.0
    if corner_radius == 0.0:
        return shapely.box(-half[0], -half[1], half[0], half[1])
    return Polygon(in_four_quarters(bow(corner_radius, 0.0, 90.0) + (half - corner_radius)))


def diamond(length: float, width: float) -> Polygon:
    """A rhombus with its corners on the axes, `length` along x and `width` along y.

    >>> diamond(40.0, 20.0).area
    400.0
    """
    return Polygon([(length / 2.0, 0.0), (0.0, width / 2.0), (-length / 2.0, 0.0), (0.0, -width / 2.0)])


def star(form: Star) -> list[Part]:
    """The star, or its points in halves: left ones of the first wood, right ones of the second, all from the middle."""
    step = 2.0 * math.pi / form.points
    turns = step * np.arange(form.points)
    tips = form.diameter / 2.0 * np.column_stack([np.sin(turns), np.cos(turns)])
    notches = form.waist / 2.0 * np.column_stack([np.sin(turns + step / 2.0), np.cos(turns + step / 2.0)])
    if not form.halved:
        return [Part("", 0, Polygon(np.stack([tips, notches], axis=1).reshape(-1, 2)))]
    parts = []
    for number in range(form.points):
        tip, before, after = tips[number], notches[number - 1], notches[number]
        parts.append(Part(f"point {number + 1} left", 0, Polygon([(0.0, 0.0), tip, before])))
        parts.append(Part(f"point {number + 1} right", 1, Polygon([(0.0, 0.0), after, tip])))
    return parts


def fan(form: Fan, woods: int) -> list[Part]:
    """The blades of a fan from left to right, the woods in turn, symmetric about y."""
    each = form.spread / form.blades
    parts = []
    for number in range(form.blades):
        first = 90.0 + form.spread / 2.0 - number * each
        outline = np.concatenate([_blade_end(form, first - each, first), _blade_foot(form, first - each, first)])
        parts.append(Part(f"blade {number + 1}", number % woods, Polygon(outline)))
    return parts


def _blade_end(form: Fan, start: float, end: float) -> Polyline:
    """The outer end of a blade between two directions, counter-clockwise."""
    if not form.scalloped:
        return bow(form.radius, start, end)
    half, middle = math.radians(end - start) / 2.0, (start + end) / 2.0
    corners = form.radius / (math.cos(half) + math.sin(half))  # from there a half circle just reaches the radius
    towards = np.array([math.cos(math.radians(middle)), math.sin(math.radians(middle))])
    return bow(corners * math.sin(half), middle - 90.0, middle + 90.0) + corners * math.cos(half) * towards


def _blade_foot(form: Fan, start: float, end: float) -> Polyline:
    return bow(form.hub, start, end)[::-1] if form.hub > 0.0 else np.zeros((1, 2))


def bow(radius: float, start: float, end: float) -> Polyline:
    """Part of a circle around the origin, directions in degrees, counter-clockwise; chords within FLAT of it.

    Source: a chord that spans the angle t stands off its circle by radius * (1 - cos(t / 2)).
    """
    sweep = math.radians(end - start)
    widest = 2.0 * math.acos(max(0.0, 1.0 - FLAT / radius)) if radius > 0.0 else math.pi
    turns = math.radians(start) + np.linspace(0.0, sweep, max(1, math.ceil(sweep / widest)) + 1)
    points = radius * np.column_stack([np.cos(turns), np.sin(turns)])
    points[np.abs(points) < SAME_PLACE] = 0.0
    return points


def in_four_quarters(quarter: Polyline) -> Polyline:
    """A ring from its first quarter (counter-clockwise, x and y not below 0), mirrored exactly."""
    upper = np.concatenate([quarter, quarter[::-1] * [-1.0, 1.0]])
    ring = np.concatenate([upper, upper[::-1] * [1.0, -1.0]])
    moved = (ring != np.roll(ring, 1, axis=0)).any(axis=1)  # a point on an axis is its own mirror image
    return np.asarray(ring[moved])
