"""The one law of tapered walls: at depth z the recess and the insert in it are the outline eroded by z tau.

    S    outline at the finished face          tau   tan of half the cutter's angle
    c    sink                                  Dr    c + g, depth of the recess
    g    glue room below the insert            Di    c + h, depth around the insert
    h    saw room above the ground             b     radius of the flat at the cutter's tip

         |  h: sawn off                 |
    _____|______________________________|_____  ground, S
          \\                            /
           \\        insert           /   c
            \\______________________/         <- face of the insert's stock, S eroded by c tau
             \\____________________/     g    <- bottom of the recess, S eroded by Dr tau

The recess is cut with the tip at min((d - b) / tau, Dr) below the ground, d the distance within S to its boundary. The
insert lies mirrored, its finished face down in its stock: what is outside it is cut with the tip at
c + min((d - b) / tau, h) below the stock's face, d the distance outside S. Both then have the same sections, so convex
corners, concave corners and holes mate; above the ground the insert widens.

Derived here; docs/method/tapered-walls.md has the steps.
"""

import math

import shapely

from purfle.geometry.offsetting import (
    Region,
    closing,
    difference,
    grow,
    opening,
    polygonal,
    polygons,
    region_of,
    shrink,
    union,
)
from purfle.model.tapered import DepthErrors, TaperedRule
from purfle.tolerances import FILM, OFFSET_PLACE

_ROUNDS = 8
"""Rounds of rounding an outline; two are enough for nearly all."""


def recess_section(outline: Region, rule: TaperedRule, depth: float) -> Region:
    """The recess at a depth below the ground. Valid: 0 <= depth <= rule.recess_depth."""
    return shrink(outline, depth * rule.slope)


def insert_section(outline: Region, rule: TaperedRule, depth: float) -> Region:
    """The insert at a depth below the face of its stock, in the frame of `outline`: mirror that for the stock.

    Valid: 0 <= depth <= rule.insert_depth. At depth c - z it is the recess's section at z.
    """
    above = (depth - rule.sink) * rule.slope
    return grow(outline, above) if above > 0.0 else shrink(outline, -above)


def rounded(outline: Region, tip_radius: float) -> Region:
    """The outline that a blunt tip can cut on both sides: its corners rounded by the tip's radius, convex and concave.

    Parts that are thinner than the tip go, slots that are narrower are filled; what is then still thinner than the tip,
    between two filled slots, is made wider. Without it the insert interferes at each corner: see
    `corner_interference`.
    """
    if tip_radius == 0.0:
        return outline
    for _ in range(_ROUNDS):
        outline = closing(opening(outline, tip_radius), tip_radius)
        left = difference(outline, opening(outline, tip_radius))
        thin = [part for part in polygons(left) if not shrink(part, FILM).is_empty]
        if not thin:
            break
        outline = union(outline, grow(region_of(thin), 2.0 * tip_radius))
    # many round corners are dense with places that carry no shape
    return polygonal(shapely.simplify(outline, OFFSET_PLACE))


def corner_interference(tip_radius: float, corner: float) -> float:
    """How far the wood in a corner stands in the way of the other part, where a sharp outline is cut by a blunt tip.

    A disc of radius b in a corner of `corner` degrees stays b (1 / sin(t / 2) - 1) away from its point (closed form).
    Valid: 0 < corner <= 180.

    >>> import math
    >>> tip = 2.0 * math.degrees(math.atan2(18 * math.sin(math.pi / 5), 45 - 18 * math.cos(math.pi / 5)))
    >>> round(tip, 2), round(corner_interference(0.1, tip), 4)
    (38.33, 0.2046)
    """
    return tip_radius * (1.0 / math.sin(math.radians(corner / 2.0)) - 1.0)


def depth_errors(rule: TaperedRule, recess: float, insert: float) -> DepthErrors:
    """What becomes of the fit where the recess is cut too deep by `recess` and around the insert by `insert`.

    The recess widens by tau for each mm, so the insert sinks by as much as both together; below it g - insert is left.
    Once that is used up it stands on the bottom, and the seam opens by tau for each mm more.

    >>> rule = TaperedRule(half_angle=45.0, tip_radius=0.0, sink=3.0, glue_room=0.5, saw_room=1.0)
    >>> depth_errors(rule, recess=0.1, insert=0.2)  # doctest: +NORMALIZE_WHITESPACE
    DepthErrors(sinks=3.3000000000000003, room=0.3, grows=0.09999999999999999, opens=0.0)
    """
    room = rule.glue_room - insert
    opens = max(0.0, -room) * rule.slope
    return DepthErrors(rule.sink + recess + insert + min(0.0, room), room, recess * rule.slope, opens)


def cusp(spacing: float, rule: TaperedRule) -> float:
    """Height of what stays between two ways of the tip on the bottom, `spacing` apart."""
    return max(0.0, spacing - 2.0 * rule.tip_radius) / (2.0 * rule.slope)


def spacing_for(height: float, rule: TaperedRule) -> float:
    """How far apart two ways of the tip may be so that what stays between them is no higher than `height`."""
    return 2.0 * (rule.slope * height + rule.tip_radius)
