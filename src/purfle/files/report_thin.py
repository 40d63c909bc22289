"""The parts of `report.json` that tell of thin parts and of butterfly keys."""

from typing import Any

from purfle.model.keys import KeyFigures
from purfle.model.offcuts import ThinPart

Entry = dict[str, Any]


def thin_entry(one: ThinPart) -> Entry:
    """A thin part of a piece."""
    return {
        "inlay": one.inlay,
        "number": one.number,
        "name": one.name,
        "width_mm": float(one.width),
        "length_mm": float(one.length),
        "off_grain_deg": float(one.angle),
        "strength_share": float(one.share),
        "best_grain_deg": float(one.best),
        "best_strength_share": float(one.best_share),
        "at_mm": [float(one.place[0]), float(one.place[1])],
    }


def key_entry(one: KeyFigures) -> Entry:
    """What is known of a butterfly key."""
    return {
        "name": one.inlay,
        "length_mm": float(one.length),
        "depth_mm": float(one.depth),
        "depth_share": float(one.depth_share),
        "waist_share": float(one.waist_share),
        "flare_deg": float(one.flare),
        "off_grain_deg": float(one.off_grain),
        "across_board_grain_deg": float(one.across),
        "to_next_mm": None if one.to_next is None else float(one.to_next),
    }
