"""Tapered walls: the passes of a recess, and of the insert that sinks into it.

A straight cutter clears the bottom, to the line where the walls begin; then the V cutter runs its trails, first no
deeper than each roughing level, then to full depth.
"""

from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from purfle.cutting.passes import Work, recess_passes, spring_passes
from purfle.cutting.trips import ABOVE_WOOD
from purfle.geometry.offsetting import Region, polygons, shrink
from purfle.model.cutting import CuttingRule, Pass, Straight, Trip
from purfle.model.shop import Cutter, VCutter
from purfle.model.tapered import TaperedRule, Trail
from purfle.tapered import Curves, insert_curves, plate_reach, recess_curves, trails_over
from purfle.tolerances import SAME_PLACE


@dataclass(frozen=True, slots=True)
class TaperedWork:
    """Cutters and rules for one pair. `left` names the allowance of the straight cutter's roughing passes."""

    walls: TaperedRule
    v_cutter: VCutter
    flat: Cutter
    rule: CuttingRule
    left: str

    @property
    def around(self) -> float:
        """How far around an insert its plate reaches."""
        return plate_reach(self.walls, self.flat.radius)

    def passes_of(self, cutter: Cutter, depth: float) -> Work:
        """What the passes of one cutter go by."""
        return Work(cutter, self.rule, depth, self.left)


def tapered_recess(outline: Region, name: str, work: TaperedWork) -> dict[Cutter, list[Pass]]:
    """The passes of a recess by cutter, in running order; `outline` as rounded by the tip, in the set-up's frame."""
    curves = recess_curves(outline, work.walls, work.flat.radius)
    passes = _clearing(curves, curves.floor, name, work)
    return passes | {work.v_cutter: _v_passes(curves, name, work)}


def tapered_insert(outline: Polygon, name: str, work: TaperedWork) -> dict[Cutter, list[Pass]]:
    """The passes around an insert by cutter, in running order; `outline` as it lies in its stock, finished face down.

    The plate that it hangs on is a part with straight walls, cut loose like any other.
    """
    curves = insert_curves(outline, work.walls, work.flat.radius, work.around)
    return _clearing(curves, curves.floor, name, work) | {work.v_cutter: _v_passes(curves, name, work)}


def _clearing(curves: Curves, floor: Region, name: str, work: TaperedWork) -> dict[Cutter, list[Pass]]:
    """The flat cutter over the bottom, where there is room for it."""
    wide = [part for part in polygons(floor) if not shrink(part, work.flat.radius + SAME_PLACE).is_empty]
    if not wide:
        return {}
    return {work.flat: recess_passes(wide, f"bottom of {name}", work.passes_of(work.flat, curves.full_depth))}


def _v_passes(curves: Curves, name: str, work: TaperedWork) -> list[Pass]:
    """The trails at each level and at full depth."""
    trails, _ = trails_over(curves)
    *rough, full = work.passes_of(work.v_cutter, curves.full_depth).levels
    passes = [
        Pass(0, "roughing", f"V cutter, first: {name}", level, 0.0, "climb", _trips(trails, level), 0.0)
        for level in rough
    ]
    last = Pass(0, "last", f"V cutter, to the line: {name}", full, 0.0, "climb", _trips(trails, full), 0.0)
    return [*passes, last, *spring_passes(last, work.rule)]


def _trips(trails: tuple[Trail, ...], deepest: float) -> tuple[Trip, ...]:
    """Each trail as a trip that goes no deeper than `deepest`."""
    return tuple(_trip(np.minimum(trail.places, [np.inf, np.inf, deepest])) for trail in trails)


def _trip(places: np.ndarray[tuple[int, int], np.dtype[np.float64]]) -> Trip:
    x, y, _ = places[0].tolist()
    return Trip((x, y, ABOVE_WOOD), tuple(Straight(px, py, 0.0 - depth) for px, py, depth in places.tolist()))
