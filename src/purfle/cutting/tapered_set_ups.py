"""Tapered walls in a set-up: which lines are cut with them, and the programs that do it.

They have programs of their own, beside those of straight walls in the same clamping, so that each can be read back as
what it is: the bottoms are cleared by the straight cutter, then the V cutter runs its trails.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from shapely import Polygon

from purfle.cutting.lines import Named, called
from purfle.geometry.offsetting import polygons
from purfle.geometry.pose import Pose
from purfle.model.board import Inlay
from purfle.model.cutting import CutLine, CuttingRule, Pass
from purfle.model.job import Job
from purfle.model.offcuts import Place
from purfle.model.shop import Cutter, Shop
from purfle.model.tapered import TaperedRule
from purfle.shop import v_cutter_named
from purfle.units import figure

if TYPE_CHECKING:
    from purfle.cutting.tapered import TaperedWork


def recess_line(inlay: Inlay, line_id: str, frame: Pose) -> Named:
    """The outline of a recess at the face, in its set-up."""
    line = CutLine(line_id, "recess", frame.region(inlay.recess), inlay.depth, tapered=True)
    return Named(line, f"recess of {inlay.name}")


def insert_line(place: Place, line_id: str, walls: TaperedRule) -> Named:
    """The outline of an insert at the finished face, which lies below in its offcut."""
    line = CutLine(line_id, "part", place.insert, walls.insert_depth, tapered=True)
    return Named(line, called(place, line_id))


def tapered_work(job: Job, shop: Shop, walls: TaperedRule, flat: Cutter) -> "TaperedWork":
    """Cutters and rules of a job's tapered walls. `flat`: the straight cutter."""
    from purfle.cutting.tapered import TaperedWork  # few jobs have tapered walls

    assert job.fit.tapered is not None
    cutter = v_cutter_named(shop, job.fit.tapered.v_cutter)
    return TaperedWork(walls, cutter, flat, job.cutting, _left(job.cutting, job))


def _left(rule: CuttingRule, job: Job) -> str:
    return figure(rule.allowance, job.unit, "depth")


def passes_over(lines: Sequence[Named], work: "TaperedWork") -> dict[Cutter, list[Pass]]:
    """The passes of all tapered lines of a set-up by cutter, in running order: bottoms cleared, then the trails."""
    from purfle.cutting.tapered import tapered_insert, tapered_recess

    found: dict[Cutter, list[Pass]] = {}
    for named in lines:
        if named.line.kind == "recess":
            of_line = tapered_recess(named.line.region, named.name, work)
        else:
            of_line = tapered_insert(_one(named), named.name, work)
        for cutter, passes in of_line.items():
            found.setdefault(cutter, []).extend(passes)
    return {cutter: found[cutter] for cutter in (work.flat, work.v_cutter) if found.get(cutter)}


def _one(named: Named) -> Polygon:
    return next(polygons(named.line.region))
