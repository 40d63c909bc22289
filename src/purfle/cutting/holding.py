"""How parts are held while they are cut, and whether that is enough."""

from collections.abc import Iterator, Sequence

from purfle.cutting.lines import Named
from purfle.model.cutting import Program
from purfle.model.findings import Finding

TAPE_HOLDS = 0.085
"""What double-sided tape holds under a load that comes and goes, N for each mm2, pushed along the wood. Source: design
strength of a maker's double-coated acrylic tape, 85 kPa, "a safety factor of at least 5" (3M VHB W20F, technical data
08/2006; it shears at 480 kPa on steel after three days). On planed wood and a clean board less is likely."""
TAPE_SAFETY = 3.0
"""So many times the force of the cut the tape should hold. A force at the rim of a disc also twists it: by the shear
F / A of the push and 2 F / A at the rim of the twist, F r over the polar moment A r2 / 2 (closed form)."""
TAB_BREAKS = 4.0
"""What a tab bears at its narrowest, N/mm2: pulled across its fibres, where wood is weakest. Hardwoods bear 3.5 to 7,
8 to 16 sheared along them (Wood Handbook, FPL-GTR-282, table 5-3, from memory); softwoods 1.5 to 3."""
TAB_SAFETY = 3.0
"""So many times the load on the tab that bears most it should hold (common practice, no source)."""


def least_of_tabs(force: float, count: int) -> float:
    """The least cross section (mm2) of each of so many tabs that hold a part against a force (N) of the cutter.

    A force at the rim pushes each with F / n; and it twists the part about its middle, by F r against n tabs r away:
    F / n more on that which bears most.

    Source: balance of forces and of moments, tabs evenly round a disc (closed form). Valid: two tabs or more.

    >>> round(least_of_tabs(4.4, 3), 2)
    2.2
    """
    return TAB_SAFETY * 2.0 * force / count / TAB_BREAKS


def least_on_tape(force: float) -> float:
    """The least area (mm2) of a part that tape holds against a force (N) of the cutter.

    >>> round(least_on_tape(3.4))
    120
    """
    return TAPE_SAFETY * force / TAPE_HOLDS


def tape_findings(parts: Sequence[Named], program: Program, where: str) -> Iterator[Finding]:
    """The parts that a program frees, and that lie on too little tape for the force of its last pass."""
    force = program.figures.force
    small = [part for part in parts if part.line.region.area < least_on_tape(force) and not part.line.tabs]
    if not small:
        return
    names = "; ".join(part.name for part in small)
    those = "a part lies" if len(small) == 1 else f"{len(small)} parts lie"
    what = (
        f"{those} on less than the {least_on_tape(force):.0f} mm2 of tape that hold {TAPE_SAFETY:g} times the "
        f"{force:.1f} N of the last pass: {names}"
    )
    mend = "glue the offcut to the board below over paper, which a knife splits"
    yield Finding("look", what, where, mend, "cutting")
    if any(one.kind == "spring" for one in program.passes):
        what = f"the spring pass goes round parts that are free by then, and presses them sideways: {names}"
        mend = "leave it out (spring_passes = 0 in [cutting]), or let the parts stand on tabs"
        yield Finding("look", what, where, mend, "cutting")


def tab_findings(parts: Sequence[Named], program: Program, where: str) -> Iterator[Finding]:
    """The parts whose tabs are too weak for the force of the last pass of their program."""
    force = program.figures.force
    weak = [part for part in parts if part.line.tabs and _section(part) < least_of_tabs(force, len(part.line.tabs))]
    if not weak:
        return
    least, fewest = min(_section(part) for part in weak), min(len(part.line.tabs) for part in weak)
    what = (
        f"{fewest} tabs of {least:.1f} mm2 each are to bear {2.0 * force / fewest:.1f} N on one of them, of the "
        f"{force:.1f} N of the last pass; {TAB_SAFETY:g} times that take {least_of_tabs(force, fewest):.1f} mm2: "
        + "; ".join(part.name for part in weak)
    )
    mend = "ask for more tabs, or wider or higher ones (tabs, tab_width, tab_height in [cutting])"
    yield Finding("look", what, where, mend, "cutting")


def _section(part: Named) -> float:
    """The cross section of the weakest tab of a part, mm2."""
    return min(tab.width * tab.height for tab in part.line.tabs)
