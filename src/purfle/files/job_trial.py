"""`[fit_trial]` in the job file: numbered square plugs, each with a recess and a seam of its own, in rows."""

from itertools import pairwise
from string import Template

from purfle.files.job_place import depth_of
from purfle.files.named_woods import wood_in
from purfle.files.own_texts import own_text, quoted
from purfle.files.toml_table import Table
from purfle.model.board import Board
from purfle.model.job import Distance, FitTrial, ReadyRule

LEAST_SIZE, MOST_SIZE = 8.0, 80.0
"""A plug (mm) that fingers still hold, and one that calipers still take."""
MOST_PLUGS = 24
CORNER, BETWEEN, AROUND = 3.0, 8.0, 8.0
"""Radius of a plug's corners, wood between two recesses, and around them, mm (common practice, no source)."""
TRIAL_SEAMS_MM = tuple(round(0.02 * number, 2) for number in range(1, 8))
TRIAL_SEAMS_INCH = tuple(0.001 * number for number in range(1, 8))
"""Seams of a new trial: in steps of what a maker feels (common practice, no source)."""

FIRST_MM = {
    "units": "mm",
    "paper": "a4",
    "board_length": "210 mm",
    "board_width": "40 mm",
    "board_thickness": "12 mm",
    "size": "20 mm",
    "depth": "3 mm",
    "proud": "0.5 mm",
}
FIRST_INCH = {
    "units": "inch",
    "paper": "letter",
    "board_length": "8 1/4 in",
    "board_width": "1 1/2 in",
    "board_thickness": "1/2 in",
    "size": "3/4 in",
    "depth": "1/8 in",
    "proud": "1/64 in",
}
"""Sizes of a new trial: handy ones, common practice, no source."""


def trial_of(top: Table, board: Board, seams: tuple[float, float]) -> tuple[FitTrial | None, tuple[ReadyRule, ...]]:
    """The trial that the job is, with its plugs as artworks; None and nothing where it is none.

    `seams`: the narrowest and the widest (mm) that a job may have.
    """
    if not top.has("fit_trial"):
        return None, ()
    table = top.table("fit_trial")
    for key in (
        "picture",
        "shape",
        "stringing",
        "banding",
        "lettering",
        "butterfly_key",
        "fitting",
        "order",
        "cutters",
    ):
        if top.values.get(key):
            mend = f"Take [{key}] out, or make a job of its own for it."
            top.fault(f"{key} stands beside fit_trial, which is a job of its own", key, mend)
    size = table.length("size", 20.0, (LEAST_SIZE, MOST_SIZE))
    trial = FitTrial(wood_in(table, "wood"), size, _seams(table, seams))
    depth = depth_of(table, board)
    places = _places(table, trial, board)
    table.close()
    from purfle.model.ready import Rectangle  # few jobs are a trial

    form = Rectangle(size, size, min(CORNER, size / 4.0))
    rules = [
        ReadyRule(
            kind="shape",
            name=plug_name(number),
            form=form,
            woods=(trial.wood,),
            along_a=Distance("edge", x),
            along_b=Distance("edge", y),
            to_middle=True,
            angle=0.0,
            mirrored=False,
            depth=depth,
            face="show",
            seam=seam,
        )
        for number, (seam, (x, y)) in enumerate(zip(trial.seams, places, strict=False), 1)
    ]
    return trial, tuple(rules)


def plug_name(number: int) -> str:
    """What a plug of a trial is called."""
    return f"plug {number}"


def _seams(table: Table, limits: tuple[float, float]) -> tuple[float, ...]:
    """The seams of the plugs, each wider than the one before."""
    value = table.values.get("seams") if table.has("seams") else None
    if not isinstance(value, list) or not 2 <= len(value) <= MOST_PLUGS:
        mend = f'Write seams = ["0.02 mm", "0.04 mm", "0.06 mm"]: 2 to {MOST_PLUGS} of them, the narrowest first.'
        table.fault("seams has to be a list of lengths", "seams", mend)
        return limits
    found = [table.as_length(one, "seams") for one in value]
    seams = tuple(limits[0] if one is None else one for one in found)
    if None not in found and any(not limits[0] <= one <= limits[1] for one in seams):
        table.fault("A seam of the trial cannot be so", "seams", f"Use {limits[0]:g} mm to {limits[1]:g} mm.")
    elif None not in found and any(b <= a for a, b in pairwise(seams)):
        table.fault("The seams do not grow", "seams", "Write the narrowest first, each wider than the one before.")
    return seams


def _places(table: Table, trial: FitTrial, board: Board) -> list[tuple[float, float]]:
    """The middles of the recesses, in rows from the back left corner on, as one reads."""
    pitch = trial.size + BETWEEN
    across, down = (int((side - 2.0 * AROUND + BETWEEN) // pitch) for side in (board.length, board.width))
    count = len(trial.seams)
    if board.length > 1.0 and across * down < count:
        what = f"the board has room for {max(0, across) * max(0, down)} plugs, {count} are asked for"
        table.fault(what, "seams", "Use a larger board, smaller plugs (size), or fewer seams.")
        return [(board.length / 2.0, board.width / 2.0)] * count
    rows = -(-count // max(across, 1))
    in_row = -(-count // rows)
    left = (board.length - (in_row - 1) * pitch) / 2.0
    top = (board.width + (rows - 1) * pitch) / 2.0
    return [(left + pitch * (k % in_row), top - pitch * (k // in_row)) for k in range(count)]


def trial_text(name: str, cutter: str, woods: tuple[str, str], inches: bool) -> str:
    """A commented job.toml of a trial that works as it is; `woods` of the board and of the plugs."""
    plain = " ".join(name.split())
    said = {"name": plain, "name_text": quoted(plain), "cutter": quoted(cutter)}
    said |= {"ground": quoted(woods[0]), "wood": quoted(woods[1])}
    seams = [f'"{seam:.3f} in"' for seam in TRIAL_SEAMS_INCH] if inches else [f'"{s:.2f} mm"' for s in TRIAL_SEAMS_MM]
    said |= FIRST_INCH if inches else FIRST_MM
    return Template(own_text("first_trial.toml")).substitute(said, seams=", ".join(seams))
