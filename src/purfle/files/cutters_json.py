"""`cutters.json`: what each cutter makes of a design and how long it takes. Described by `docs/cutters.schema.json`.

Units stand in the names of the keys (`_mm`, `_mm2`, `_min`); shares run from 0 to 1. Same input, same bytes.
"""

from typing import Any

import purfle
from purfle.errors import Fault
from purfle.files.assembly import json_bytes
from purfle.model.cutter_choice import CutterChoice, CutterSet, CutterTrial, Departure, Fidelity
from purfle.units import LengthUnit

CUTTERS_FILE = "cutters.json"
VERSION = 1
Entry = dict[str, Any]


def cutters_bytes(choice: CutterChoice, name: str, change: str, unit: LengthUnit) -> bytes:
    """The table as it is written. `name`, `change`: of the job, or the drawing's name and nothing."""
    return json_bytes(
        {
            "version": VERSION,
            "purfle": purfle.__version__,
            "job": name,
            "change": change or None,
            "unit": unit,
            "recess_depth_mm": float(choice.depth),
            "chosen": choice.chosen or None,
            "kept": choice.kept or None,
            "rule": choice.rule,
            "recommended": _set(choice.recommended) if choice.recommended else None,
            "why": choice.why,
            "cutters": [_trial(trial) for trial in choice.trials],
            "sets": [_set(one) for one in choice.sets],
        }
    )


def _set(one: CutterSet) -> Entry:
    return {
        "finishing": one.finishing.name,
        "clearing": one.clearing.name if one.clearing else None,
        "cutting_min": float(one.minutes),
        "changed_share": float(one.changed_share),
        "lost": one.lost,
        "is_worth_it": one.is_worth_it,
    }


def _trial(trial: CutterTrial) -> Entry:
    cutter = trial.cutter
    return {
        "name": cutter.name,
        "number": cutter.number,
        "width_mm": float(cutter.width),
        "reach_mm": float(min(cutter.cutting_length, cutter.stick_out)),
        "too_short": trial.too_short or None,
        "refused": [_fault(one) for one in trial.refused],
        "cutting_min": None if trial.minutes is None else float(trial.minutes),
        "after_clearing": [{"by": one.cutter.name, "cutting_min": float(one.minutes)} for one in trial.clearings],
        "made": None if trial.fidelity is None else _fidelity(trial.fidelity),
    }


def _fidelity(made: Fidelity) -> Entry:
    return {
        "pieces": made.pieces,
        "changed_mm2": float(made.changed_area),
        "changed_share": float(made.changed_share),
        "lost": [_departure(one) for one in made.lost],
        "lost_mm2": float(sum(one.region.area for one in made.lost)),
        "shorter": [_departure(one) for one in made.corners],
        "largest_move_mm": float(made.largest_move),
        "largest_move_at_mm": [float(one) for one in made.moved_at],
        "usual_move_mm": float(made.usual_move),
        "inside_radius_mm": None if made.inside_radius is None else float(made.inside_radius),
    }


def _departure(one: Departure) -> Entry:
    return {
        "kind": one.kind,
        "name": one.name,
        "wood": one.wood,
        "instead": one.instead,
        "area_mm2": float(one.region.area),
        "reach_mm": float(one.depth),
        "at_mm": [float(one.place[0]), float(one.place[1])],
    }


def _fault(one: Fault) -> Entry:
    return {"what": one.what, "where": one.where, "mend": one.mend}
