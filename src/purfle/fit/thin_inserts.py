"""Tapered walls: where an insert is so narrow that its walls meet before full depth, and levelling leaves little."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import Polygon

from purfle.fit.cells import middle, where
from purfle.geometry.offsetting import difference, grow, intersection, opening, polygons, slivers_between
from purfle.geometry.thin_places import chords_across
from purfle.model.findings import Finding
from purfle.model.pieces import Insert
from purfle.model.tapered import TaperedRule
from purfle.tolerances import TOUCHING
from purfle.units import in_mm
from purfle.wood import practice

LONG_IN_WIDTHS = 2.0
"""A thin end longer than so many widths is a stem or a needle, not the tip of a corner: points below 28 degrees."""
SHARPEST_V = 15.0
"""No V cutter with a smaller angle is asked for, degrees (from memory)."""
ALIKE = 0.01
"""Widths of a thin place that differ by less are one, mm."""


@dataclass(frozen=True, slots=True)
class Thin:
    """A thin place of an insert: how far apart its walls stand there at the face, how long it is, a place in it. mm."""

    width: float
    length: float
    place: tuple[float, float]


def least_left(walls: TaperedRule) -> float:
    """What should be left of an insert when it is level, mm: no more than it sinks in (practice table, from memory)."""
    return min(float(practice("fit", "wood left after levelling, minimum").typical or 0.0), walls.sink)


def thin_insert_findings(inserts: Sequence[Insert], walls: TaperedRule) -> tuple[Finding, ...]:
    """A finding for each insert that has stems, necks or needles thinner than should be left of it, when it is level.

    Between walls w apart its section ends w / (2 tan(half angle)) below the face, which is as deep as its recess is.
    """
    least = least_left(walls)
    width = 2.0 * least * walls.slope
    found = []
    for insert in inserts:
        thin = _thin_places(insert.region, width)
        if thin:
            found.append(_finding(insert, min(thin, key=_order), (len(thin), least), walls))
    return tuple(found)


def _order(thin: Thin) -> tuple[float, float, tuple[float, float]]:
    return round(thin.width, 3), -round(thin.length, 3), thin.place


def _thin_places(region: Polygon, width: float) -> list[Thin]:
    """Every place that no disc of this width reaches, corners left out."""
    body = opening(region, width / 2.0)
    parts = [part for part in slivers_between(region, body) if part.area > TOUCHING * part.length]
    outside = difference(grow(shapely.box(*region.bounds), width), region)
    found = []
    for part in parts:
        long = 2.0 * float(shapely.minimum_bounding_radius(part))
        ends = polygons(intersection(grow(part, 2.0 * TOUCHING), body))
        is_end = sum(1 for one in ends if one.length > 10.0 * TOUCHING) == 1
        if is_end and long <= LONG_IN_WIDTHS * width:
            continue
        chords = chords_across(part, outside, width)  # the shortest first; at a needle's point they end in nothing
        if chords:
            wide = chords[len(chords) // 2].length
            alike = [chord.centroid for chord in chords if abs(chord.length - wide) <= ALIKE]
            place = min(alike, key=lambda one: round(one.distance(part.centroid), 3))
            found.append(Thin(float(wide), long, (float(place.x), float(place.y))))
        else:
            found.append(Thin(2.0 * part.area / part.length, long, middle(part)))
    return found


def _finding(insert: Insert, thin: Thin, figures: tuple[int, float], walls: TaperedRule) -> Finding:
    count, least = figures
    thick = thin.width / (2.0 * walls.slope)
    what = (
        f'"{insert.name}" is only {thick:.2f} mm thick in a narrow place when it is level, and {in_mm(least)} should '
        f"be left: between walls {thin.width:.2f} mm apart the V cutter goes no deeper"
    )
    what += f". So it is in {count} places; this is the thinnest" if count > 1 else ""
    angle = 2.0 * math.degrees(math.atan2(thin.width / 2.0, least))
    sharper = f"take a V cutter of {math.floor(angle)}° at most, " if angle >= SHARPEST_V else ""
    mend = (
        f"draw it wider than {2.0 * least * walls.slope:.1f} mm there, {sharper}or level it with a scraper, not a plane"
    )
    place = f"{where(thin.place)}, {thin.length:.1f} mm long"
    return Finding("look", what, place, mend, "fit", thin.place)
