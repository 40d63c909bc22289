"""Parts on tabs: what is cut by hand, and what has to stand until then.

A part on tabs is free only after its tabs are cut by hand. So the proof cuts them as the card lists them, flush with
the wall as it stands above them, and no more: a bridge that the card does not list, or one longer or higher than it
says, still holds the part, and that is told.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from purfle.model.findings import Finding
from purfle.proof.card import LineOnCard, SetUpOnCard
from purfle.proof.card_tabs import TabOnCard
from purfle.proof.found import stop
from purfle.proof.regions import only_wood, polygons
from purfle.tolerances import DEPTH_AS_CUT, GRID, SIDE_AS_CUT

_MEND = "write the files again from the job; do not cut with this one"
_INWARDS = 1.5
"""The wall of a part may bend away behind a tab by this, mm: what is cut by hand reaches so far, but not into it."""


@dataclass(frozen=True, slots=True)
class Tabbed:
    """A part on tabs as cut: all that it hangs together with at the underside, and at the tops of its tabs.

    `tops`: for each tab that wood just above its top and just below it. `above`: the part just above all of them.
    """

    line: LineOnCard
    joined: BaseGeometry
    tops: tuple[tuple[BaseGeometry, BaseGeometry], ...]
    above: BaseGeometry
    width: float

    @property
    def pared(self) -> BaseGeometry:
        """What is left at the underside once its tabs are cut flush with the wall above them."""
        feet = [
            _box(tab, tab.length / 2.0 + SIDE_AS_CUT, (-_INWARDS, self.width + SIDE_AS_CUT)) for tab in self.line.tabs
        ]
        by_hand = shapely.union_all(feet).difference(self.above)
        parts = polygons(self.joined.difference(by_hand))
        if not len(parts):
            return MultiPolygon()
        shared = shapely.area(shapely.intersection(parts, self.above))
        best: BaseGeometry = parts[int(np.argmax(shared))]
        return best


def tab_levels(set_up: SetUpOnCard) -> tuple[float, ...]:
    """The depths just above and just below the tops of the tabs of a set-up."""
    return tuple(
        sorted({one for line in set_up.lines for tab in line.tabs for one in levels_of(tab, set_up.thickness)})
    )


def levels_of(tab: TabOnCard, thickness: float) -> tuple[float, float]:
    """The depths just above and just below the top of a tab."""
    return thickness - tab.height - DEPTH_AS_CUT, thickness - tab.height + DEPTH_AS_CUT


def check_tabs(set_up: SetUpOnCard, tabbed: tuple[Tabbed, ...], files: str) -> list[Finding]:
    """Every tab stands where the card says, as wide and as high, and holds its part to what reaches the edge."""
    found = []
    for one in tabbed:
        for tab, (over, under) in zip(one.line.tabs, one.tops, strict=True):
            x, y = tab.place
            where = f"{files}, line '{one.line.id}', at {x:.2f}, {y:.2f} mm of set-up {set_up.number}"
            off = float(shapely.distance(shapely.boundary(one.above), shapely.Point(tab.place)))
            half = tab.width / 2.0 - SIDE_AS_CUT
            bridge, middle = _box(tab, half, (0.0, one.width)), _box(tab, half, (one.width / 4, one.width * 3 / 4))
            if off > SIDE_AS_CUT + GRID:
                found.append(stop(f"a tab stands {off:.2f} mm off the wall of its part", where, _MEND))
            elif not only_wood(bridge.difference(under)).is_empty:
                what = f"no tab {tab.width:.2f} mm wide and {tab.height:.2f} mm high stands here: the part comes loose"
                found.append(stop(what, where, _MEND))
            elif not only_wood(middle.intersection(over)).is_empty:
                found.append(stop(f"the tab here is higher than {tab.height:.2f} mm", where, _MEND))
        if not shapely.dwithin(one.joined, set_up.outline.exterior, GRID):
            what = f"the tabs of '{one.line.id}' lead to wood that is loose itself"
            found.append(stop(what, f"{files}, line '{one.line.id}'", _MEND))
    return found


def _box(tab: TabOnCard, half: float, reach: tuple[float, float]) -> Polygon:
    """The rectangle over a tab: so far to each side along the wall, and from one reach outwards to another."""
    turn = math.radians(tab.outwards)
    out, along = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    corners: list[NDArray[np.float64]] = [
        np.array(tab.place) + side * half * along + far * out
        for side, far in ((-1.0, reach[0]), (1.0, reach[0]), (1.0, reach[1]), (-1.0, reach[1]))
    ]
    return Polygon(corners)
