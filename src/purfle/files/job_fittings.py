"""The tables [[fitting]] of the job file: hardware by its maker's measurements, its screws, and where several stand."""

from collections.abc import Sequence
from dataclasses import replace
from typing import get_args

from purfle.files.job_place import depth_of, place_of, to_middle
from purfle.files.job_repeats import repeats_of
from purfle.files.job_screws import insert_rule, own_insert, screw_rule, through_rule
from purfle.files.toml_table import MORE_THAN_NOTHING, Table, nearest
from purfle.model.board import BARE_KINDS, ROUND_KINDS, Board, FittingKind
from purfle.model.findings import FACES
from purfle.model.job import Distance, FittingRule, ScrewRule
from purfle.units import in_mm, retold, show

KINDS: tuple[FittingKind, ...] = get_args(FittingKind)
MOST_PLAY, MOST_KNUCKLE = 5.0, 50.0
"""Limits (mm) beyond which a figure is a slip of the pen."""
CAN_BE_ROUND = (*ROUND_KINDS, "foot plate")
HELD_BY_SCREWS = ("hinge", "round", "oblong", "foot plate")


def fittings_of(tables: Sequence[Table], board: Board) -> tuple[FittingRule, ...]:
    """Every fitting that the file asks for, each place of a repeated one by itself, in the order of the file."""
    return tuple(rule for table in tables for rule in _fittings(table, board))


def _fittings(table: Table, board: Board) -> tuple[FittingRule, ...]:
    kind, known = table.choice("kind", KINDS), table.values.get("kind")
    if isinstance(known, str) and known.strip().casefold() not in KINDS:
        near = nearest(KINDS, known)
        if near not in KINDS:
            return ()  # which keys belong to it nobody knows: the kind is told, and nothing that follows from it
        kind = next(one for one in KINDS if one == near)
    length, width = (0.0, 0.0) if kind in BARE_KINDS else _size(table, kind)
    depth, thickness = (0.0, 0.0) if kind in BARE_KINDS else _depth(table, board, kind)
    to_end = kind not in BARE_KINDS and table.choice("measured_to", ("end", "middle"), "middle") == "end"
    knuckle = table.length("knuckle", 0.0, (0.0, MOST_KNUCKLE)) if kind == "hinge" else 0.0
    rule = FittingRule(
        kind=kind,
        name=table.text("name", kind),
        face=table.choice("face", FACES),
        length=length,
        width=width,
        depth=depth,
        play=0.0 if kind in BARE_KINDS else table.length("play", 0.0, (0.0, MOST_PLAY)),
        along_a=Distance("edge", 0.0),
        along_b=Distance("edge", 0.0),
        open_edge=kind not in BARE_KINDS and table.yes("open_edge", knuckle > 0.0),
        thickness=thickness,
        is_disc=kind == "foot plate" and table.has("diameter"),
        knuckle=knuckle,
        line=table.source.line_of(table.path) or 0,
    )
    rule = _with_holes(table, rule)
    if table.has("places"):
        rules = repeats_of(table, rule, board)
    else:
        along_a, along_b = place_of(table)
        rules = (
            replace(
                rule,
                along_a=to_middle(along_a, length) if to_end else along_a,
                along_b=to_middle(along_b, width) if to_end else along_b,
            ),
        )
    table.close()
    return rules


def _with_holes(table: Table, rule: FittingRule) -> FittingRule:
    """The fitting with the holes that it is held by."""
    if rule.kind == "threaded insert":
        return replace(rule, insert=own_insert(table))
    if rule.kind == "cable hole":
        return replace(rule, screws=through_rule(table.length("diameter"), ((0.0, 0.0),)))
    if rule.kind == "drawer pull":
        return replace(rule, screws=_pull(table))
    if rule.kind in HELD_BY_SCREWS and table.has("screws"):
        rule = replace(rule, screws=screw_rule(table.table("screws"), (rule.length, rule.width), rule.is_disc))
    if rule.kind == "foot plate" and table.has("insert"):
        rule = replace(rule, insert=insert_rule(table.table("insert")))
    return rule


def _pull(table: Table) -> ScrewRule:
    """The two screws of a drawer pull: right through from behind, or into the wood from the front."""
    spacing, along = table.length("spacing"), table.choice("along", ("A", "B"), "A")
    ends = tuple((way * spacing / 2, 0.0) if along == "A" else (0.0, way * spacing / 2) for way in (-1.0, 1.0))
    if table.has("screws") and table.has("hole"):
        mend = "Keep hole for screws right through the board, or [fitting.screws] for wood screws."
        table.fault("hole and screws both say how the pull is held", "hole", mend)
    if table.has("screws"):
        return screw_rule(table.table("screws"), (0.0, 0.0), False, ends)
    return through_rule(table.length("hole"), ends)


def _size(table: Table, kind: FittingKind) -> tuple[float, float]:
    """Size along A and along B; a magnet and whatever gives a diameter is round."""
    if kind in ROUND_KINDS or table.has("diameter"):
        if kind not in CAN_BE_ROUND:
            table.fault(f"A {kind} has no diameter", "diameter", "Give its length (along A) and its width (along B).")
        diameter = table.length("diameter")
        return diameter, diameter
    return table.length("length"), table.length("width")


def _depth(table: Table, board: Board, kind: FittingKind) -> tuple[float, float]:
    """Depth of the recess, and thickness of the hardware: as given, or the one from the other."""
    laid_on = kind == "foot plate" and not table.yes("let_in", True)
    thickness = table.length("thickness") if table.has("thickness") or laid_on else 0.0
    if laid_on:
        for key in ("depth", "sunk"):
            if table.has(key):
                table.fault(f"{key} stands beside let_in = false", key, f"Take {key} or let_in out.")
        return 0.0, thickness
    if not thickness or table.has("depth"):
        if table.has("sunk"):
            table.fault("sunk goes with thickness alone", "sunk", "Give thickness instead of depth, or take sunk out.")
        depth = depth_of(table, board)
        return depth, thickness or depth
    depth = thickness + table.length("sunk", 0.0, (0.0, board.thickness))
    if board.thickness > MORE_THAN_NOTHING[0] and depth >= board.thickness:
        what = f"thickness and sunk together, {in_mm(depth)}, go through the board"
        mend = f"Use less than {show(board.thickness, table.source.unit or 'mm')}; a third of it is common practice."
        table.fault(retold(what, table.source.unit or "mm"), "thickness", mend)
    return depth, thickness
