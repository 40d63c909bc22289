"""A drawing on paper: lines of four weights, regions, marks and texts, in mm from its top left corner, y down.

What is drawn claims its place, so that whatever is placed later can keep clear of it.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.sheets.lettering import Weight
from purfle.sheets.rooms import MARK_POINTS, Place, mark_shape

Option = TypeVar("Option")

HEAVY, EDGE, FINE, HAIR = 0.9, 0.5, 0.3, 0.18
"""Datum edges; outline of the board; pieces and recesses; dimensions, hidden and centre lines, tables. In mm."""
HIDDEN, CENTRE, PENCIL = (1.8, 1.1), (7.0, 1.2, 1.2, 1.2), (3.0, 1.0)
"""Dashes: what lies on the other face; a centre line; a line to be pencilled."""
RING = 1.0
"""Radius of the ring that a distance starts from."""
HEAD = (3.2, 0.55)
"""Length and half width of the head that a distance ends with."""
_AT_A_TIME = 24
_ONE_IN = 3
"""Where nothing is free, so many of the further places are looked at to find the one that crowds least."""
ALIKE = 0.05
"""Outlines nearer than this (mm on paper) are alike to the eye."""
FEW_DASHES, LEAST_DASH = 12, 0.7
"""A ring has so many dashes at least, finer ones if need be; where one would be shorter than this (mm), none."""
Shapes = NDArray[np.object_]


@dataclass
class Drawing:
    """A drawing being made. `taken`: what no later text, mark or line may lie on."""

    width: float
    height: float
    parts: list[str] = field(default_factory=list)
    texts: list[dict[str, Any]] = field(default_factory=list)
    taken: list[BaseGeometry] = field(default_factory=list)

    def data(self) -> dict[str, Any]:
        """The finished drawing, for its sheet."""
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(self.width)}mm" height="{_n(self.height)}mm" '
            f'viewBox="0 0 {_n(self.width)} {_n(self.height)}">'
        )
        return {
            "width": self.width,
            "height": self.height,
            "svg": head + "".join(self.parts) + "</svg>",
            "texts": self.texts,
        }

    def line(self, points: Sequence[Place], weight: float = HAIR, dash: Sequence[float] = ()) -> None:
        """An open line through some points."""
        path = "M" + " L".join(f"{_n(x)} {_n(y)}" for x, y in points)
        self.parts.append(f'<path d="{path}" fill="none" {_stroke(weight, dash)}/>')

    def region(self, shape: BaseGeometry, weight: float = FINE, fill: str = "none", dash: Sequence[float] = ()) -> None:
        """A region (polygons with holes), outlined; weight 0 leaves the outline out. Small rings have finer dashes."""
        if dash:
            return self._dashed(shape, weight, fill, dash)
        path = region_path(shape)
        if path:
            self.parts.append(f'<path d="{path}" fill="{fill}" fill-rule="evenodd" {_stroke(weight, dash)}/>')

    def _dashed(self, shape: BaseGeometry, weight: float, fill: str, dash: Sequence[float]) -> None:
        if fill != "none":
            self.region(shape, 0.0, fill)
        by_dash: dict[tuple[float, ...], list[str]] = {}
        for ring in shapely.get_rings(shapely.get_parts(shape)):
            by_dash.setdefault(dash_of(ring, dash), []).append(region_path(Polygon(ring)))
        for finer, paths in by_dash.items():
            self.parts.append(f'<path d="{"".join(paths)}" fill="none" {_stroke(weight, finer)}/>')

    def ring(self, at: Place) -> None:
        """The ring on a datum edge that a distance starts from."""
        self.circle(at, RING, fill="#fff")

    def circle(self, at: Place, radius: float, weight: float = FINE, fill: str = "none") -> None:
        """A circle."""
        self.parts.append(
            f'<circle cx="{_n(at[0])}" cy="{_n(at[1])}" r="{_n(radius)}" fill="{fill}" {_stroke(weight)}/>'
        )

    def head(self, at: Place, direction: Place) -> None:
        """A slender head with its point at a place, pointing in a direction (a unit vector)."""
        (x, y), (dx, dy), (long, half) = at, direction, HEAD
        back = (x - dx * long, y - dy * long)
        corners = [at, (back[0] - dy * half, back[1] + dx * half), (back[0] + dy * half, back[1] - dx * half)]
        self.region(Polygon(corners), 0.0, "#000")

    def mark(self, at: Place, label: str) -> None:
        """A numbered mark: a ring, or a longer one where the label needs it."""
        shape = mark_shape(at, label)
        self.region(shape, FINE, "#fff")
        self.text(at, label, MARK_POINTS, "bold")

    def text(self, at: Place, text: str, points: float, weight: Weight = "regular", **more: Any) -> None:
        """A text in one line. More: anchor (c, l, r), turned (reads from the right), white (breaks lines), boxed."""
        self.texts.append({"x": at[0], "y": at[1], "t": text, "size": points, "weight": weight, **more})

    def arrows(self, middle: Place, long: float, angle: float) -> None:
        """The grain: a long arrow with an open head at both ends, at an angle counter-clockwise on the paper."""
        along = (math.cos(math.radians(angle)), -math.sin(math.radians(angle)))
        ends = [(middle[0] + s * along[0] * long / 2, middle[1] + s * along[1] * long / 2) for s in (-1, 1)]
        self.line(ends, FINE)
        for end, s in zip(ends, (-1, 1), strict=True):
            for side in (-1, 1):
                back = (end[0] - s * along[0] * 2.6, end[1] - s * along[1] * 2.6)
                self.line([end, (back[0] - side * along[1] * 1.2, back[1] + side * along[0] * 1.2)], FINE)

    def is_free(self, shape: BaseGeometry) -> bool:
        """True if a shape lies inside the drawing and on nothing that claimed its place."""
        return bool(self._are_free(np.array([shape], dtype=object))[0])

    def best(self, options: Iterable[tuple[Option, BaseGeometry]]) -> Option:
        """The first option whose shape is free, or else the one that crowds least; its shape claims the place."""
        found, shapes = map(list, zip(*options, strict=True))
        number = self._first_free(np.array(shapes, dtype=object))
        self.taken.append(shapes[number])
        option: Option = found[number]
        return option

    def _first_free(self, shapes: Shapes) -> int:
        """Which of some shapes is the first free one, or else crowds least."""
        free = self.first_free(shapes)
        if free is not None:
            return free
        few = np.r_[: min(_AT_A_TIME, len(shapes)), _AT_A_TIME : len(shapes) : _ONE_IN]
        return int(few[self._crowding(shapes[few]).argmin()])

    def first_free(self, shapes: Shapes) -> int | None:
        """Which of some shapes is the first free one; None if none is. Few are asked at a time: most are free."""
        for start in range(0, len(shapes), _AT_A_TIME):
            free = self._are_free(shapes[start : start + _AT_A_TIME])
            if free.any():
                return start + int(free.argmax())
        return None

    def _are_free(self, shapes: Shapes) -> NDArray[np.bool_]:
        """For each of some shapes whether it lies inside the drawing and on nothing that claimed its place."""
        bounds = shapely.bounds(shapes)
        free = (bounds[:, :2] >= 0).all(axis=1) & (bounds[:, 2:] <= (self.width, self.height)).all(axis=1)
        if self.taken and free.any():
            where = np.flatnonzero(free)
            free[where[shapely.STRtree(self.taken).query(shapes[where], predicate="intersects")[0]]] = False
        return np.asarray(free, bool)

    def _crowding(self, shapes: Shapes) -> NDArray[np.float64]:
        """How badly shapes would be placed: area in mm2 shared with what claimed its place, or lost off the paper."""
        inside = shapely.intersection(shapes, shapely.box(0, 0, self.width, self.height))
        cost = np.asarray(10.0 * (shapely.area(shapes) - shapely.area(inside)), np.float64)
        if self.taken:
            mine, theirs = shapely.STRtree(self.taken).query(shapes, predicate="intersects")
            met, which = np.unique(theirs, return_inverse=True)
            plain = shapely.simplify(np.array(self.taken, dtype=object)[met], ALIKE)
            shared = shapely.intersection(shapes[mine], plain[which])
            np.add.at(cost, mine, shapely.area(shared) + shapely.length(shared))
        return cost


def region_path(shape: BaseGeometry) -> str:
    """Every ring of a region as one SVG path."""
    polygons = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    return "".join("M" + "L".join(_pairs(ring)) + "Z" for ring in shapely.get_rings(polygons))


def _pairs(ring: BaseGeometry) -> list[str]:
    """The corners of a ring, its first one not again at the end; in mm with three decimals at most."""
    corners = np.round(shapely.get_coordinates(ring)[:-1], 3) + 0.0
    return [f"{x:g} {y:g}" for x, y in corners.tolist()]


def dash_of(ring: BaseGeometry, dash: Sequence[float]) -> tuple[float, ...]:
    """The dashes of a ring on paper: finer where it is small, none where it is so small that they would be a smudge."""
    share = min(1.0, float(shapely.length(ring)) / (FEW_DASHES * sum(dash)))
    return tuple(share * long for long in dash) if share * dash[0] >= LEAST_DASH else ()


def _stroke(weight: float, dash: Sequence[float] = ()) -> str:
    if not weight:
        return 'stroke="none"'
    dashes = f' stroke-dasharray="{" ".join(_n(d) for d in dash)}"' if dash else ""
    return f'stroke="#000" stroke-width="{_n(weight)}" stroke-linejoin="round"{dashes}'


def _n(value: float) -> str:
    """A number of mm with three decimals at most: finer than any printer."""
    return f"{round(value, 3) + 0.0:g}"
