"""The rings of a region as lines and arcs, as both kinds of outline file hold them."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
import shapely
from shapely import Point

from purfle.geometry.arcs import Segment, fit_all
from purfle.geometry.pose import Polyline
from purfle.model.cutting import SetUp
from purfle.model.pieces import Region
from purfle.model.templates import Template
from purfle.tolerances import ARC_FIT, QUADRANT_SEGMENTS

Rings = tuple[tuple[Segment, ...], ...]
DECIMALS = 5
"""Places in outline files keep this many decimals in mm: rounding is a two-hundredth of what the fit is allowed."""


@dataclass(frozen=True, slots=True)
class OutlineSheet:
    """What one outline file shows: the name of its group and its title, the stock, and lines by id, kind and region."""

    group: str
    title: str
    stock: Region
    lines: tuple[tuple[str, Literal["recess", "part"], Region], ...]


def sheet_of(set_up: SetUp) -> OutlineSheet:
    """The finished lines of a set-up."""
    lines = tuple((line.id, line.kind, line.region) for line in set_up.lines)
    title = f"set-up {set_up.number}: {set_up.title}"
    return OutlineSheet(f"set-up-{set_up.number}", title, set_up.outline, lines)


def template_sheet(template: Template) -> OutlineSheet:
    """A template: its wood as the stock, and what is cut out of it, the opening and the holes of its pins."""
    holes = [_hole(place, template.pin / 2.0) for place in template.pins]
    lines = [("opening", "recess", template.opening)]
    lines += [(f"pin-{number}", "recess", hole) for number, hole in enumerate(holes, 1)]
    title = f"template {template.number}: {template.name}"
    return OutlineSheet(f"template-{template.number}", title, template.outline, tuple(lines))  # type: ignore[arg-type]


def _hole(middle: tuple[float, float], radius: float) -> Region:
    """A round hole, with corners so near to each other that it is fitted by arcs."""
    return Point(middle).buffer(radius, quad_segs=QUADRANT_SEGMENTS)


@lru_cache(maxsize=64)
def rings_of(regions: tuple[Region, ...]) -> tuple[Rings, ...]:
    """For each region its rings, outsides and holes, as closed chains of lines and arcs within `tolerances.ARC_FIT`.

    Outsides run counter-clockwise and holes clockwise, largest part first, so that equal regions give equal rings.
    All regions of a set-up are asked for together, which is quicker, and remembered, since each is written twice.
    """
    outlines = [_outlines(region) for region in regions]
    fitted = iter(fit_all([(ring, ARC_FIT) for rings in outlines for ring in rings], closed=True))
    return tuple(tuple(next(fitted) for _ in rings) for rings in outlines)


def _outlines(region: Region) -> list[Polyline]:
    parts = [part for part in shapely.get_parts(shapely.orient_polygons(region)) if not part.is_empty]
    parts.sort(key=lambda part: (-part.area, part.bounds))
    return [np.asarray(ring.coords)[:, :2] for part in parts for ring in (part.exterior, *part.interiors)]


def written(number: float) -> str:
    """A number of an outline file, no longer than it must be."""
    text = f"{number:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
