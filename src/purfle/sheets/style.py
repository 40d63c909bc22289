"""The paper and the unit of a set of sheets, and every figure as it is printed."""

import math
from dataclasses import dataclass, replace

from purfle.model.job import Paper
from purfle.tolerances import SAME_PLACE
from purfle.units import LengthUnit, number, on_rule, unit_word

PAPERS: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height in mm. Source: ISO 216; ANSI/ASME Y14.1 size A."""
SIDE, TOP, BOTTOM = 12.0, 29.0, 17.0
"""Margins of the body; the head of the sheet stands above `TOP`."""
MINUS = "\u2212"


def unbroken(size: str) -> str:
    """A size that stays in one line where it stands in running text."""
    return size.replace(" × ", "\N{NO-BREAK SPACE}×\N{NO-BREAK SPACE}")


@dataclass(frozen=True, slots=True)
class Style:
    """How this maker reads: the unit of lengths and the paper. `in_decimals`: no depth is told as a fraction."""

    unit: LengthUnit
    paper: Paper
    in_decimals: bool = False

    def for_depths(self, *mm: float) -> "Style":
        """The style for depths that are read side by side: in inches all fractions, or none.

        >>> inch = Style("inch", "letter")
        >>> [inch.for_depths(3.175, 6.35).depth(3.175), inch.for_depths(3.175, 6.0).depth(3.175)]
        ['1/8', '0.125']
        """
        has_decimals = self.unit == "inch" and any("." in self.depth(depth) for depth in mm)
        return replace(self, in_decimals=True) if has_decimals else self

    @property
    def across(self) -> float:
        """Width of the body of a page."""
        return PAPERS[self.paper][0] - 2 * SIDE

    @property
    def down(self) -> float:
        """Height of the body of a page."""
        return PAPERS[self.paper][1] - TOP - BOTTOM

    @property
    def word(self) -> str:
        """The word put after a figure."""
        return unit_word(self.unit)

    def rule(self, mm: float) -> str:
        """A distance as a rule shows it: half millimetres, or sixty-fourths of an inch."""
        if self.unit == "inch":
            return number(mm, "inch").replace("-", MINUS)
        return number(on_rule(mm, self.unit), self.unit, "depth").replace("-", MINUS)

    def true(self, mm: float) -> str:
        """A distance to a hundredth of a millimetre or a thousandth of an inch."""
        return number(mm, "mm" if self.unit == "mm" else "inch-decimal", "seam").replace("-", MINUS)

    def width(self, mm: float) -> str:
        """A measured width of a groove: to 0.001 mm or 0.0001 in, as it goes into the shop file and into a router."""
        return number(mm, self.unit, "width")

    def rule_error(self, mm: float) -> str:
        """By how much the rule's figure is too long (+) or too short."""
        shown = self.true(self.rule_off(mm))
        is_none = not shown.strip("0." + MINUS)
        return shown.removeprefix(MINUS) if is_none else shown if shown.startswith(MINUS) else "+" + shown

    def rule_off(self, mm: float) -> float:
        """The rule's figure less the true distance, in mm."""
        return on_rule(mm, self.unit) - mm

    def length(self, mm: float) -> str:
        """A length or size: 0.1 mm, 1/64 in or 0.001 in."""
        return number(mm, self.unit).replace("-", MINUS)

    def drill(self, mm: float) -> str:
        """The diameter of a drill that something goes into: to 0.1 mm or 1/64 in, never narrower than that.

        >>> Style("inch", "letter").drill(8.5), Style("mm", "a4").drill(8.52), Style("mm", "a4").drill(8.5)
        ('11/32', '8.6', '8.5')
        """
        step = {"mm": 0.1, "inch": 25.4 / 64, "inch-decimal": 0.0254}[self.unit]
        return self.length(math.ceil(mm / step - SAME_PLACE) * step)

    def tenths(self, mm: float) -> str:
        """As `length`, in mm always with its tenth, for figures below each other."""
        shown = self.length(mm)
        return f"{shown}.0" if self.unit == "mm" and "." not in shown else shown

    def depth(self, mm: float) -> str:
        """A depth or thickness: to 0.01 mm or 0.001 in, at least one decimal."""
        shown = number(mm, self.unit, "depth").replace("-", MINUS)
        return self.true(mm) if self.in_decimals and "/" in shown else shown

    def proud(self, mm: float) -> str:
        """What stands proud: as a depth, in inches always in thousandths, so that several can be compared."""
        return self.depth(mm) if self.unit == "mm" else self.true(mm)

    def seam(self, mm: float) -> str:
        """A seam: 0.01 mm or 0.001 in."""
        return number(mm, self.unit, "seam")

    def size(self, *mm: float) -> str:
        """'420 × 260 × 19', without its unit."""
        return " × ".join(self.length(x) for x in mm)

    @property
    def rule_words(self) -> str:
        """What is marked on the rule that the figures are read on."""
        return "half millimetres" if self.unit == "mm" else "64ths of an inch"
