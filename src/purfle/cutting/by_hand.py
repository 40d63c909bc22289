"""What both ways of cutting by hand share: how fast a hand moves, and whether the cutter reaches."""

from collections.abc import Iterator

from purfle.model.cutting import SetUp
from purfle.model.findings import Finding
from purfle.shop.trial import BY_HAND
from purfle.units import in_mm

HAND_FEED = 1000.0
"""How fast a hand router is moved, mm a minute (common practice, no source)."""


def hand_findings(set_up: SetUp, above: float) -> Iterator[Finding]:
    """A cutter that is too short. `above`: what it has to reach through above the wood (a template), mm."""
    for cutter in set_up.cutters:
        deepest = max(step.depth for step in set_up.steps if step.cutter == cutter)
        if deepest > cutter.cutting_length:
            what = f"{cutter.name} cuts {in_mm(cutter.cutting_length)} deep, {in_mm(round(deepest, 2))} are needed"
            less = "let in less deep" if set_up.stock == "board" else f"plane {set_up.stock} thinner"
            yield finding("stop", what, set_up.title, f"use a longer cutter, or {less}")
        elif deepest + above > cutter.stick_out:
            through = "through the template and into the wood it has to reach" if above else "it has to reach"
            what = f"{cutter.name} sticks out {in_mm(cutter.stick_out)}; {through} {in_mm(round(deepest + above, 2))}"
            mend = "use a longer cutter, or thinner wood for the templates" if above else "use a longer cutter"
            yield finding("stop", what, set_up.title, mend)


def tight_finding(seam: float, wider: str) -> Iterator[Finding]:
    """A seam that goes in by force alone. `wider`: how a wider one is had."""
    if seam < BY_HAND:
        what = f"a seam of {seam:.2f} mm does not go in by hand as it is cut: the narrowest that usually does is "
        what += f"{BY_HAND:.2f} mm (from memory)"
        mend = (
            "ease the edges of each insert with a file or sandpaper, a stroke at a time all round, until it goes in; "
        )
        yield finding("look", what, "fit.seam", f"{mend}or {wider}")


def finding(severity: str, what: str, where: str, mend: str) -> Finding:
    """One finding of the plan."""
    return Finding(severity, what, where, mend, "cutting")  # type: ignore[arg-type]
