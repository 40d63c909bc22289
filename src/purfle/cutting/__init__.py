"""Layout and places -> set-ups, passes, paths, times.

Takes: the job (its cutting rule and the cutter that finishes the fit), the board with everything placed on it, the
parts placed on offcuts, and the shop.

Promises:
- set-ups in the order they are done: show face, underside, offcuts, then recesses in glued inserts; one with nothing
  to cut is left out;
- nothing of a recess is left uncut but what a round cutter cannot reach, and that is listed for the chisel;
- the cutter never leaves its recess and never cuts into a part; islands are kept;
- one entry for each connected room and pass, on a ramp; no lift within a room;
- the last pass stands on the line, within `tolerances.SIDE_AS_CUT`;
- no pass deeper than the rule's depth per pass, but the last, which takes the allowance alone;
- the same input gives the same plan.

Refuses: a cutter that the shop does not have (JobFileError); a recess that its cutter cannot enter (FitError). What
the machine or the cutter cannot do is a finding that says stop.
"""

from purfle.cutting.choosing import CHANGE_MINUTES
from purfle.cutting.estimating import CuttingTask, minutes_of_parts, minutes_of_recesses
from purfle.cutting.figures import bending, deflection, figures_for, refuse_too_fast
from purfle.cutting.lines import fitting_id, part_ids, recess_ids
from purfle.cutting.planning import (
    Clamping,
    bare_set_up,
    board_clampings,
    in_order,
    offcut_clampings,
    plan,
    plan_of,
    plan_set_up,
    with_fibres,
)
from purfle.cutting.sawing_free import block_over, next_slice_over, reach_of
from purfle.cutting.tabs import room_for_tabs

__all__ = [
    "CHANGE_MINUTES",
    "Clamping",
    "CuttingTask",
    "bare_set_up",
    "bending",
    "block_over",
    "board_clampings",
    "deflection",
    "figures_for",
    "fitting_id",
    "in_order",
    "minutes_of_parts",
    "minutes_of_recesses",
    "next_slice_over",
    "offcut_clampings",
    "part_ids",
    "plan",
    "plan_of",
    "plan_set_up",
    "reach_of",
    "recess_ids",
    "refuse_too_fast",
    "room_for_tabs",
    "with_fibres",
]
