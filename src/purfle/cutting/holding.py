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
