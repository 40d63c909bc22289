"""`walls` in [fit] of the job file: straight ones, or tapered ones that a V cutter makes."""

from purfle.files.toml_table import Limits, Table
from purfle.model.job import FitWish, TaperedWish

STRAIGHT, TAPERED = "straight", "tapered"
GLUE_ROOM, SAW_ROOM = 0.5, 1.0
"""Below an insert with tapered walls, and above the ground (mm), unless it is said: common practice, no source."""
LEAST_GLUE_ROOM, MOST_GLUE_ROOM, MOST_SAW_ROOM = 0.1, 2.0, 5.0
OF_KEYS = {
    "seam": "A seam with tapered walls closes as the inserts are pressed in",
    "proud": "Inserts with tapered walls are sawn off above the face: saw_room says how far",
}
"""Keys of [fit] that say something of butterfly keys alone, whose walls stay straight; and why of nothing else."""
STRAIGHT_ONLY = {
    "over_depth": "With tapered walls nothing is let in over another",
    "corners": "Corners of tapered walls are sharp already",
}
"""Keys of [fit] that say nothing of tapered walls, and why."""


def tapered_fit(table: Table, top: Table, usual: tuple[float, Limits]) -> FitWish | None:
    """The fit with tapered walls; None where walls are straight. `top`: the whole file; `usual`: proud, and seams."""
    if table.choice("walls", (STRAIGHT, TAPERED), STRAIGHT) == STRAIGHT:
        return None
    has_keys = bool(top.values.get("butterfly_key"))
    for key, why in (STRAIGHT_ONLY if has_keys else STRAIGHT_ONLY | OF_KEYS).items():
        if table.has(key):
            table.fault(f"{why}: {key} says nothing here", key, f"Take {key} out.")
    for key in ("corners", "order", "cutters"):
        if top.values.get(key):
            what = f"[{key}] says nothing of tapered walls"
            top.fault(what, key, f'Take [{key}] out, or let it in with walls = "straight".')
    proud, seams = usual
    room = table.length("glue_room", GLUE_ROOM, (LEAST_GLUE_ROOM, MOST_GLUE_ROOM))
    walls = TaperedWish(table.text("v_cutter"), table.length("saw_room", SAW_ROOM, (0.2, MOST_SAW_ROOM)))
    return FitWish(
        seam=table.length("seam", limits=seams) if has_keys else 0.0,
        cutter=table.text("cutter"),
        proud=table.length("proud", proud) if has_keys else walls.saw_room,
        glue_room=room,
        tapered=walls,
    )
