"""What the board carries, in the report: lengths in mm, weights in kg, stress in N/mm2."""

import math
from typing import Any

from purfle.model.carrying import Carrying


def carrying_entry(found: Carrying | None) -> dict[str, Any] | None:
    """The figures; None where the board stands on nothing that is known."""
    if found is None:
        return None
    tips = found.tipping
    return {
        "axis": found.axis,
        "supports_mm": list(found.supports),
        "feet_mm": [list(foot) for foot in found.feet],
        "weight_kg": found.weight,
        "sag_mm": found.sag,
        "sag_at_mm": found.sag_at,
        "after_years_mm": found.after_years,
        "solid_sag_mm": found.solid,
        "leaning_kg": found.leaning,
        "leaning_is_assumed": found.leaning_is_assumed,
        "stress_n_per_mm2": found.stress,
        "stress_at_mm": found.stress_at,
        "strength_n_per_mm2": found.strength,
        "stiffness_lost_share": found.stiffness_lost,
        "strength_lost_share": found.strength_lost,
        "best_supports_in_mm": found.best,
        "best_sag_mm": found.best_sag,
        "tips_at_kg": tips.weight if math.isfinite(tips.weight) else None,
        "tips_at_mm": list(tips.place) if math.isfinite(tips.weight) else None,
    }
