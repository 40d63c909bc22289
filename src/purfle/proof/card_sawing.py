"""Parts that are sawn off a block, on the assembly card: the levels of the saw, and what is left of each slice."""

from dataclasses import dataclass
from itertools import pairwise

from purfle.proof.shelf import Shelf
from purfle.tolerances import DEPTH_AS_CUT


@dataclass(frozen=True, slots=True)
class SawingOnCard:
    """`thickness` of each slice when planed, `planing` off each sawn face, `groove` of the saw; mm.

    `levels`: how deep below the face each groove begins.
    """

    thickness: float
    planing: float
    groove: float
    levels: tuple[float, ...]

    @property
    def depth(self) -> float:
        """How deep the lowest groove goes."""
        return self.levels[-1] + self.groove

    @property
    def left(self) -> list[float]:
        """The thickness of each slice once its sawn faces are planed, from the face down."""
        below = [after - before - self.groove - 2.0 * self.planing for before, after in pairwise(self.levels)]
        return [self.levels[0] - self.planing, *below]


def read_sawing(shelf: Shelf | None) -> SawingOnCard | None:
    """How a set-up's parts are sawn off; None where they are not."""
    if shelf is None:
        return None
    sawing = SawingOnCard(
        shelf.number("thickness", above=0.0),
        shelf.number("planing", at_least=0.0),
        shelf.number("groove", above=0.0),
        shelf.numbers("levels"),
    )
    if not sawing.levels:
        shelf.fault("levels", "the saw has no level")
        sawing = SawingOnCard(sawing.thickness, sawing.planing, sawing.groove, (sawing.thickness,))
    shelf.nothing_else()
    return sawing


def sawing_references(sawing: SawingOnCard | None, stands: tuple[bool, float], top: Shelf, key: str) -> None:
    """Parts alone are sawn off, each slice thick enough, and wood of the block is left below the lowest groove."""
    cuts_parts, thickness = stands
    if sawing is None:
        return
    if not cuts_parts:
        top.fault(key, "recesses are not sawn off")
    for number, left in enumerate(sawing.left, 1):
        if abs(left - sawing.thickness) > DEPTH_AS_CUT:
            what = f"slice {number} is {left:.2f} mm thick when planed, not {sawing.thickness:.2f} mm"
            top.fault(f"{key}.levels", what)
    if sawing.depth >= thickness:
        top.fault(f"{key}.levels", f"the lowest groove ends {sawing.depth} mm deep in {thickness} mm of wood")
