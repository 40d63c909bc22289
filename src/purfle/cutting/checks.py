"""What the machine and the cutter cannot do, as findings."""

from collections.abc import Iterator, Sequence

import shapely
from shapely import STRtree

from purfle.cutting.figures import THINNEST_CHIP
from purfle.cutting.lines import Named, tighter_than
from purfle.cutting.passes import WIDEST_STEP
from purfle.model.cutting import CuttingRule, Program, SetUp
from purfle.model.findings import Finding
from purfle.model.shop import Cutter, Machine
from purfle.shop.chip_loads import most_rim_speed
from purfle.tolerances import SAME_PLACE, SIDE_AS_CUT
from purfle.units import in_mm

SEAM_SHARE = 0.25
"""The tip may bend by this share of the seam (common practice, from memory)."""
LEAST_CLEARANCE = 2.0
"""Rapid moves go at least this high above the wood (common practice, no source)."""


def rule_findings(rule: CuttingRule, cutter: Cutter, machine: Machine) -> Iterator[Finding]:
    """What the rule asks for that is not sound, whatever is cut."""
    if rule.depth_per_pass > 1.0:
        what = (
            f"a pass takes {rule.depth_per_pass:.2g} diameters of the cutter; the feed is lowered for passes over one"
        )
        yield _finding("look", what, cutter.name, "set the depth per pass to 1 diameter or less")
    if rule.step_over > WIDEST_STEP:
        what = f"a step-over of {rule.step_over:.0%} leaves ridges where the path turns; {WIDEST_STEP:.0%} is used"
        yield _finding("look", what, cutter.name, f"set the step-over to {WIDEST_STEP:.0%} or less")
    if machine.safe_height < LEAST_CLEARANCE:
        what = f"the safe height is {in_mm(machine.safe_height)}: rapid moves would touch the wood or what holds it"
        yield _finding("stop", what, machine.name, "set the machine's safe height above everything that holds the wood")


def set_up_findings(set_up: SetUp, machine: Machine, seam: float | None) -> Iterator[Finding]:
    """What of a set-up the machine or a cutter cannot do."""
    for program in set_up.programs:
        yield from _reach(program, set_up)
        yield from _travel(program, set_up, machine)
        yield from _bending(program, where_of(set_up, program), seam)
        yield from _driving(program, machine, where_of(set_up, program))


def where_of(set_up: SetUp, program: Program) -> str:
    """A set-up, and where it has several programs the cutter of the one that a finding is about."""
    return set_up.title if len(set_up.programs) == 1 else f"{set_up.title}: {program.cutter.name}"


def part_findings(parts: Sequence[Named], title: str) -> Iterator[Finding]:
    """Parts whose outline their cutter cannot follow, and parts so near that a neighbour's path cuts into them."""
    widths = [max(cutter.width for _, cutter in part.cut_by) for part in parts]
    for part, width in zip(parts, widths, strict=True):
        for gap in tighter_than(part.line.region, width / 2.0):
            x, y = gap.representative_point().coords[0]
            where = f"{title}: at x {x:.1f} mm, y {y:.1f} mm on the offcut"
            yield _finding(
                "stop", f"{part.name} has a corner that the cutter cannot follow", where, "choose a smaller cutter"
            )
    regions = [part.line.region for part in parts]
    pairs = STRtree(regions).query(regions, predicate="dwithin", distance=max(widths) - SIDE_AS_CUT)
    for first, second in zip(*(pair.tolist() for pair in pairs), strict=True):
        apart = shapely.distance(regions[first], regions[second])
        if first < second and apart <= max(widths[first], widths[second]) - SIDE_AS_CUT:
            what = f"the path around {parts[first].name} cuts into {parts[second].name}: {apart:.2f} mm apart"
            yield _finding("stop", what, title, "place the parts at least a cutter's width apart")


def _reach(program: Program, set_up: SetUp) -> Iterator[Finding]:
    cutter, title = program.cutter, where_of(set_up, program)
    deepest = max(one.depth for one in program.passes)
    if deepest > cutter.cutting_length + SAME_PLACE:
        what = f"{cutter.name} cuts {in_mm(cutter.cutting_length)} deep, the deepest pass needs {in_mm(deepest)}"
        yield _finding("stop", what, title, f"use a cutter with longer edges{_or_less(set_up, program)}")
    elif deepest > cutter.stick_out + SAME_PLACE:
        what = f"{cutter.name} sticks out {in_mm(cutter.stick_out)}: the collet would rub on the wood"
        yield _finding("stop", what, title, f"let it stick out more than {in_mm(deepest)}")


def _or_less(set_up: SetUp, program: Program) -> str:
    """What else brings a cut that is too deep within the cutter's reach; slices stay as thick as they are."""
    if set_up.sawing is not None:
        return ""
    if set_up.stock == "board":
        return ", or let in less deep"
    too_deep = max(one.depth for one in program.passes) - program.cutter.cutting_length
    return f", or plane {set_up.stock} to {in_mm(set_up.thickness - too_deep)} at most"


def _travel(program: Program, set_up: SetUp, machine: Machine) -> Iterator[Finding]:
    x0, y0, x1, y1 = _extent(program)
    for axis, need, travel in (("x", x1 - x0, machine.travel[0]), ("y", y1 - y0, machine.travel[1])):
        if need > travel + SAME_PLACE:
            what = f"the path needs {need:.0f} mm along {axis}, {machine.name} travels {in_mm(travel)}"
            yield _finding("stop", what, set_up.title, "use a larger machine, or make the work smaller")
    height = set_up.safe_height + max(one.depth for one in program.passes)
    if height > machine.travel[2] + SAME_PLACE:
        what = f"the cutter moves {in_mm(height)} up and down, {machine.name} travels {in_mm(machine.travel[2])}"
        yield _finding("stop", what, set_up.title, "lower the safe height, or let in less deep")


def _extent(program: Program) -> tuple[float, float, float, float]:
    """The bounds of all places that the cutter's middle goes to (ends of moves: turns bulge within the same wood)."""
    trips = [trip for one in program.passes for trip in one.trips]
    xs = [x for trip in trips for x in (trip.start[0], *[move.x for move in trip.moves])]
    ys = [y for trip in trips for y in (trip.start[1], *[move.y for move in trip.moves])]
    return min(xs), min(ys), max(xs), max(ys)


def _bending(program: Program, title: str, seam: float | None) -> Iterator[Finding]:
    figures, cutter = program.figures, program.cutter
    if seam is not None and figures.deflection > SEAM_SHARE * seam:
        what = f"the tip of {cutter.name} may bend {figures.deflection:.3f} mm, over a quarter of the seam"
        yield _finding("look", what, title, "let the cutter stick out less, or go slower on the last pass")
    if figures.chip_load < THINNEST_CHIP:
        what = f"{cutter.name} takes chips of {figures.chip_load:.4f} mm: it rubs and burns"
        yield _finding("look", what, title, "lower the speed of the machine")


def _driving(program: Program, machine: Machine, title: str) -> Iterator[Finding]:
    """A rim faster than a table of speeds has it, and more power than the spindle has."""
    figures, cutter = program.figures, program.cutter
    fastest, speed = most_rim_speed(cutter.diameter)
    if figures.rim_speed > fastest:
        what = (
            f"the rim of {cutter.name} runs at {figures.rim_speed:.0f} m/s; a table of router speeds has {fastest:.0f}"
        )
        yield _finding("look", what, title, f"look up what its maker says; that table has {speed:.0f} rpm at most")
    if machine.power is not None and figures.power > machine.power:
        what = f"{cutter.name} takes about {figures.power:.0f} W in the wood, {machine.name} has {machine.power:.0f} W"
        yield _finding("look", what, title, "lower the depth per pass, or the feed")


def _finding(severity: str, what: str, where: str, mend: str) -> Finding:
    return Finding(severity, what, where, mend, "cutting")  # type: ignore[arg-type]
