"""What a maker should look at before trusting areas that were made from a picture; and pictures that show no areas."""

from dataclasses import dataclass

import numpy as np

from purfle.artwork.crossings import steps_across
from purfle.artwork.labels import Labels
from purfle.artwork.palette import Palette
from purfle.artwork.pixels import CLEAN, Flags, Pixels
from purfle.errors import PictureError
from purfle.model.artwork import Areas
from purfle.model.findings import Finding

LEAST_FLAT = 0.25
"""A picture with a smaller share of flat pixels is a photograph or a shaded drawing."""
MOST_AREAS = 600
"""More areas than this are texture; nobody lets in so many pieces."""
WEAK_STEP = 0.5
"""A border is weak where less than this share of its colour difference stands within 3 px of it."""
FEW_WEAK, MANY_WEAK = 0.08, 0.45
"""Clean drawings have 1 to 2 % weak border, photographs 30 % and more (own measurements)."""
SOFT = 1.0
"""Borders softer than this (see `crossings.softness`) come from a picture that was enlarged or is out of focus."""
LEAST_TOLD = 0.01
"""A smaller error (mm) is told as this: nothing in a shop is truer."""
FLAT_COLOURS = "It needs flat colours: a drawing, a print or a cut-out, one colour for each wood."


@dataclass(frozen=True, slots=True)
class Sight:
    """What tracing saw: how many times the light varied, softness of borders, specks joined, share of weak border."""

    light: float
    softness: float
    specks: int
    weak: float
    rim_share: float
    roughened: float


def refuse_if_not_flat(flat: Flags, name: str) -> None:
    """Raises PictureError for a picture without flat colours."""
    share = float(flat.mean())
    if share < LEAST_FLAT:
        what = f"Only {100 * share:.0f} % of this picture is flat colour; its areas would be invented."
        raise PictureError(what, name, FLAT_COLOURS)


def refuse_if_no_areas(count: int, name: str) -> None:
    """Raises PictureError where everything is one colour, or nothing but specks."""
    if count <= 1:
        what = "The whole picture is one colour; there is nothing to let in."
        raise PictureError(what, name, "Choose a picture whose areas differ in colour from their ground.")
    if count > MOST_AREAS:
        what = f"The picture falls apart into {count} areas; that is texture or noise, not drawing."
        mend = "Set the number of colours, enlarge the smallest area that counts, or draw over the picture."
        raise PictureError(what, name, mend)


def weak_share(labels: Labels, pixels: Pixels, palette: Palette) -> float:
    """The share of the boundary across which less than half of the colour difference is really there."""
    first, _, steps = steps_across(labels, pixels.values, palette.colours)
    return float((steps < WEAK_STEP).mean()) if len(first) else 0.0


def refuse_if_shaded(weak: float, name: str) -> None:
    """Raises PictureError where most of the boundary has no step of colour under it."""
    if weak > MANY_WEAK:
        what = f"Shading, not flat colour: {100 * weak:.0f} % of the borders would be invented."
        raise PictureError(what, name, FLAT_COLOURS)


def expected_error(pixels: Pixels, soft: float) -> float:
    """The mean distance between traced and true boundary that such a picture allows, in px.

    Source: own measurements on drawn shapes (bench/tracing.py).
    """
    return float(np.hypot(0.04, 0.06 * min(pixels.noise, 8.0)) + 0.05 * max(soft - 0.2, 0.0))


def doubts_of(sight: Sight, pixels: Pixels, smallest_px: float, error: float) -> tuple[Finding, ...]:
    """Every doubt worth telling, the gravest first."""
    found: list[Finding] = []
    if sight.weak > FEW_WEAK:
        what = f"{100 * sight.weak:.0f} % of the borders have no clear step of colour."
        mend = "Look at the areas; merge what belongs together, or set the number of colours."
        found.append(Finding("look", what, "borders between areas", mend, "artwork"))
    if sight.rim_share < 0.6:
        what = f"Only {100 * sight.rim_share:.0f} % of the picture's rim has the colour taken as ground."
        mend = "Say which colour is the ground."
        found.append(Finding("look", what, "rim of the picture", mend, "artwork"))
    if sight.specks:
        what = f"{sight.specks} areas smaller than {smallest_px:g} px were joined to a neighbour."
        mend = "If one of them was meant, bring a larger picture."
        severity = "note" if pixels.noise >= CLEAN else "look"
        found.append(Finding("note" if severity == "note" else "look", what, "whole picture", mend, "artwork"))
    if sight.light > 1.0:
        what = f"Light varies {sight.light:.2f} times across the picture; it was evened out by the ground's colour."
        found.append(Finding("note", what, "whole picture", "Nothing to mend; look at pale areas.", "artwork"))
    if sight.softness > SOFT:
        what = f"The picture was enlarged or is out of focus: expect {error:.2f} px at the borders."
        found.append(Finding("look", what, "whole picture", "Bring the original.", "artwork"))
    if sight.roughened > 0.01:
        what = f"{100 * sight.roughened:.1f} % of the boundary is left in steps: areas are too narrow there."
        found.append(Finding("look", what, "narrow areas", "Bring a larger picture.", "artwork"))
    found.append(_error_told(f"{error:.2f} px"))
    return tuple(found)


def doubts_at_size(areas: Areas, mm_per_unit: float) -> tuple[Finding, ...]:
    """The doubts of areas with the expected error of a traced boundary in mm, now that the size is chosen."""
    in_px = _error_told(f"{areas.unit_error:.2f} px")
    in_mm = _error_told(f"{max(areas.unit_error * mm_per_unit, LEAST_TOLD):.2f} mm")
    return tuple(in_mm if doubt == in_px else doubt for doubt in areas.doubts)


def _error_told(error: str) -> Finding:
    what = f"Boundaries are expected to be right within {error} on average."
    return Finding("note", what, "whole picture", "Bring a larger picture for a smaller error.", "artwork")
