"""The cutting plan of a job that a position-guided hand router cuts along outline files, or knife and saw on patterns.

Every line gets passes: roughing stays off it by the allowance, level after level, in a recess over all of it; the last
pass runs along it at full depth. A recess is cut from inside its line, a part from outside.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from purfle.cutting.by_hand import HAND_FEED, finding, hand_findings, tight_finding
from purfle.cutting.checks import part_findings
from purfle.cutting.passes import ALLOWANCES, Work
from purfle.cutting.planning import Clamping, bare_set_up
from purfle.geometry.offsetting import Region, polygons, shrink
from purfle.model.cutting import CutLine, CuttingPlan, CuttingRule, HandStep, SetUp
from purfle.model.findings import Finding
from purfle.model.job import Job
from purfle.model.shop import Cutter, Shop
from purfle.units import figure

SAWN, PARED, CHOPPED = 50.0, 40.0, 60.0
"""Sawn and filed or pared along a line, mm a minute; chopped out of a recess, mm2 a minute (common practice, no
source)."""


def plan_along_outlines(job: Job, shop: Shop, clampings: Sequence[Clamping]) -> CuttingPlan:
    """All set-ups with their passes."""
    set_ups = tuple(_set_up(job, shop, clamping) for clamping in clampings)
    found = [one for clamping in clampings for one in clamping.notes]
    for clamping, set_up in zip(clampings, set_ups, strict=True):
        parts = any(line.kind == "part" for line in set_up.lines)
        found += part_findings(clamping.straight, clamping.title) if parts else ()
        found += [*hand_findings(set_up, 0.0), *_rule_findings(job.cutting, set_up)]
    if any(line.kind == "part" for set_up in set_ups for line in set_up.lines):
        found += tight_finding(job.fit.seam, "ask for a wider seam in [fit]")
    return CuttingPlan(set_ups, tuple(found))


def _rule_findings(rule: CuttingRule, set_up: SetUp) -> Iterator[Finding]:
    if rule.depth_per_pass > 1.0 and set_up.number == 1:
        what = f"a pass takes {rule.depth_per_pass:.2g} diameters of the cutter: more than a hand router holds"
        yield finding("look", what, set_up.title, "set the depth per pass to 1 diameter or less")


def _set_up(job: Job, shop: Shop, clamping: Clamping) -> SetUp:
    bare = bare_set_up(job, shop, clamping)
    cutters = {named.line.id: cutter for cutter, group in clamping.groups for named in group}
    if job.cutting.way == "knife and saw":
        steps = tuple(step for line in bare.lines for step in _by_saw(job.cutting, line, cutters[line.id]))
        return replace(bare, steps=steps, holding=_holding_of_saw(bare))
    steps = tuple(step for line in bare.lines for step in _steps(job.cutting, line, cutters[line.id]))
    return replace(bare, steps=steps, holding=_holding(job, bare))


def _by_saw(rule: CuttingRule, line: CutLine, saw: Cutter) -> Iterator[HandStep]:
    """A recess is chopped out within its knifed line and pared to it; a part sawn off its line and filed to it."""
    length, off = float(line.region.length), rule.allowance if line.kind == "part" else 0.0
    first = length / SAWN if line.kind == "part" else float(line.region.area) / CHOPPED
    yield HandStep(line.id, saw, "roughing", line.depth, off, first)
    yield HandStep(line.id, saw, "last", line.depth, 0.0, length / PARED)


def _holding_of_saw(bare: SetUp) -> str:
    if bare.stock != "board":
        return "Glue the patterns of sheet 10 on the wood, arrows along its grain; saw on a table with a V notch"
    up = "Show face up" if bare.face == "show" else "Underside up, the board turned over about edge A"
    sheet = 2 if bare.face == "show" else 3
    return f"{up}, clamped flat. Lay the pattern of sheet 10 with its middle lines on pencilled ones (sheet {sheet})"


def _steps(rule: CuttingRule, line: CutLine, cutter: Cutter) -> Iterator[HandStep]:
    """Roughing level by level, then the last pass at full depth; parts are cut through into the sacrificial board."""
    depth = line.depth + (rule.through if line.kind == "part" else 0.0)
    off = _allowance(rule, line, cutter)
    around = float(line.region.length) / HAND_FEED
    inside = float(shrink(line.region, cutter.radius).area) / (0.5 * cutter.width) / HAND_FEED
    for level in Work(cutter, rule, depth, "").levels:
        level = min(level, depth)  # what rounding of floats adds to the last one
        yield HandStep(line.id, cutter, "roughing", level, off, around + (inside if line.kind == "recess" else 0.0))
    yield HandStep(line.id, cutter, "last", depth, 0.0, around)


def _allowance(rule: CuttingRule, line: CutLine, cutter: Cutter) -> float:
    """The allowance, or as much of it as lets the cutter through between the walls of a recess."""
    if line.kind == "part":
        return rule.allowance
    whole = _parts(line.region, cutter.radius)
    shares = [share * rule.allowance for share in ALLOWANCES]
    return next((off for off in shares if off == 0.0 or _parts(line.region, cutter.radius + off) == whole), 0.0)


def _parts(region: Region, off: float) -> int:
    return len(list(polygons(shrink(region, off))))


def _holding(job: Job, bare: SetUp) -> str:
    if bare.stock != "board":
        through = figure(job.cutting.through, job.unit, "depth")
        return (
            f"Double-sided tape under the whole offcut, on a sacrificial board: the cutter goes {through} into it. "
            "Strips as thick as the offcut beside it carry the base. Lay the stock's outline in the file on the wood"
        )
    up = "Show face up" if bare.face == "show" else "Underside up, the board turned over about edge A"
    return f"{up}, clamped flat. Lay the stock's outline in the file on the board: zero at the datum corner, A along x"
