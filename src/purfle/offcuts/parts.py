"""The parts that need wood: every insert of every inlay, with the direction of its fibres."""

import difflib
import math
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon

from purfle.errors import Fault, PlacingError
from purfle.geometry.offsetting import polygons
from purfle.model.board import Inlay, Layout
from purfle.model.offcuts import TURNED, Wanted
from purfle.model.pieces import Insert

SLENDER = 1.5
"""A piece longer than this times its width has its fibres along its length. Source: common practice, no source."""

EVEN_ANGLE = 0.5
"""Degrees that a length found by its outline is rounded to: the outline of a petal says 90.2 for 90, and no eye
lays fibres truer."""


def wanted_parts(layout: Layout, grain: tuple[tuple[str, float], ...], over: float = 0.0) -> tuple[Wanted, ...]:
    """Every part to be cut from offcuts, in the order of the inlays.

    Its fibres run as `grain` says for its name (degrees from edge A as seen on the face, counter-clockwise); else along
    its length if it is a key or slender; else along those of the board. `over`: how much thicker than inserts their
    offcuts have to be. Raises PlacingError for the name of no part.
    """
    _refuse_unknown(layout, grain)
    wanted = (
        _wanted(inlay, insert, _grain(layout, inlay, insert, dict(grain)))
        for inlay in layout.inlays
        for insert in inlay.fit.inserts
    )
    return tuple(replace(one, thickness=one.thickness + over) if over else one for one in wanted)


def _wanted(inlay: Inlay, insert: Insert, grain: float) -> Wanted:
    """The part; with tapered walls the plate that the insert hangs on, turned over."""
    named = (inlay.name, insert.number, insert.name, insert.wood)
    walls = inlay.fit.walls
    if walls is None:
        return Wanted(*named, insert.region, grain, inlay.insert_thickness)
    from purfle.tapered import plate_of, plate_reach  # few jobs have tapered walls

    hangs = TURNED.region(insert.region)
    plate = next(polygons(plate_of(hangs, plate_reach(walls, inlay.fit.rule.cutter_radius))))
    return Wanted(*named, plate, TURNED.direction(grain) % 180.0, inlay.insert_thickness, hangs)


def _refuse_unknown(layout: Layout, grain: tuple[tuple[str, float], ...]) -> None:
    names = {insert.name for inlay in layout.inlays for insert in inlay.fit.inserts}
    faults = []
    for name, _ in grain:
        if name not in names:
            near = difflib.get_close_matches(name, sorted(names), n=1)
            mend = f"perhaps '{near[0]}' is meant" if near else f"pieces are: {', '.join(sorted(names))}"
            faults.append(Fault(f"no piece is called '{name}'", f"grain of '{name}'", mend))
    if faults:
        raise PlacingError.of(faults)


def _grain(layout: Layout, inlay: Inlay, insert: Insert, named: dict[str, float]) -> float:
    """Direction of the fibres in the artwork frame, from 0 up to 180 degrees."""
    if insert.name in named:
        on_board = -named[insert.name] if inlay.face == "underside" else named[insert.name]
        return inlay.pose.inverse().direction(on_board) % 180.0
    length, width, direction = length_width_direction(insert.region)
    if inlay.kind == "key" or length > SLENDER * width:
        return round(direction / EVEN_ANGLE) * EVEN_ANGLE % 180.0
    return inlay.pose.inverse().direction(layout.board.grain) % 180.0


def length_width_direction(region: Polygon) -> tuple[float, float, float]:
    """Length, width and direction of the length (0 up to 180 degrees) of the smallest rectangle around a region.

    >>> from shapely import box
    >>> length_width_direction(box(0, 0, 2, 6))
    (6.0, 2.0, 90.0)
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(region))
    if len(corners) < 4:
        return 0.0, 0.0, 0.0
    sides = [corners[1] - corners[0], corners[2] - corners[1]]
    long = max(sides, key=lambda side: float(np.hypot(*side)))
    lengths = sorted(float(np.hypot(*side)) for side in sides)
    return lengths[1], lengths[0], math.degrees(math.atan2(long[1], long[0])) % 180.0
