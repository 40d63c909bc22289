"""The table [board] of the job file: the wood, its size, its edges, and a photograph of it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from shapely import Polygon

from purfle.files.job_photograph import board_photograph_of
from purfle.files.job_place import pair_of
from purfle.files.job_season import rings_of
from purfle.files.named_woods import wood_in
from purfle.files.toml_table import MORE_THAN_NOTHING, Table
from purfle.model.board import Board
from purfle.tolerances import QUADRANT_SEGMENTS, SEEN_ON_A_RULE
from purfle.units import in_mm, retold

LEAST_LEFT = 6.0
"""Wood left (mm) under recesses where the file is silent: common practice, no source."""
LONGEST, THICKEST = 20_000.0, 500.0
"""Sizes (mm) of a board beyond which a figure is a slip of the pen."""
SEEN = "photograph"
"""What outline says where the board's edge is to be followed in its photograph."""
ROUND = "circle"
"""What outline says of a board that is a disc."""
FEWEST_PLACES = 3


def board_of(table: Table, folder: Path) -> tuple[Board, float]:
    """The board, and the wood that has to be left under every recess."""
    board = Board(
        wood=wood_in(table, "wood"),
        length=table.length("length", limits=(MORE_THAN_NOTHING[0], LONGEST)),
        width=table.length("width", limits=(MORE_THAN_NOTHING[0], LONGEST)),
        thickness=table.length("thickness", limits=(MORE_THAN_NOTHING[0], THICKEST)),
        grain=table.number("grain", 0.0, -180.0, 180.0),
    )
    if table.has("photograph"):
        seen = board_photograph_of(table.table("photograph"), folder, (board.length, board.width))
        board = replace(board, photograph=seen)
    board = replace(_with_outline(table, board), rings=rings_of(table))
    least_left = table.length("least_left", min(LEAST_LEFT, board.thickness / 2))
    if board.thickness > MORE_THAN_NOTHING[0] and least_left >= board.thickness:
        table.fault("least_left is the whole thickness of the board", "least_left", "Use a third of the thickness.")
    table.close()
    return board, least_left


def _with_outline(table: Table, board: Board) -> Board:
    """The board with its outline, where its edges are not all straight."""
    if not table.has("outline"):
        return board
    value = table.values["outline"]
    if isinstance(value, str) and value.strip().casefold() == SEEN:
        return _seen(table, board)
    if isinstance(value, str) and value.strip().casefold() == ROUND:
        return _disc(table, board)
    if not isinstance(value, list) or len(value) < FEWEST_PLACES:
        table.fault(
            "outline has to be places on the edge of the board, circle, or photograph",
            "outline",
            'Write outline = [["0 mm", "12 mm"], ["300 mm", "0 mm"], ["310 mm", "180 mm"]]: from B and from A, going '
            f'round the board; or outline = "{SEEN}" with a [board.photograph].',
        )
        return board
    faults = len(table.source.faults)
    places = [pair_of(table, one, "outline") for one in value]
    if len(table.source.faults) > faults:
        return board
    return replace(board, shape=_round(table, places, board))


def _disc(table: Table, board: Board) -> Board:
    """A round board, as wide as it is long."""
    if abs(board.length - board.width) > SEEN_ON_A_RULE:
        table.fault("A round board is as wide as it is long", "outline", "Give its diameter as length and as width.")
        return board
    radius = board.length / 2
    turn = np.linspace(0.0, 2 * np.pi, 4 * QUADRANT_SEGMENTS, endpoint=False)
    places = radius * (1.0 + np.column_stack([np.cos(turn), np.sin(turn)]))
    # to a nanometre, so that it touches all four lines exactly
    return replace(board, shape=Polygon(np.round(places, 6)), width=board.length)


def _seen(table: Table, board: Board) -> Board:
    if board.photograph is None:
        mend = f'Add [board.photograph] with file and rectangle, or give places in mm instead of "{SEEN}".'
        table.fault("There is no photograph of the board to follow its edge in", "outline", mend)
    elif not table.table("photograph").has("rectangle"):
        mend = (
            "Mark four corners of a rectangle on the board with a square, and give rectangle, from_left, from_front "
            "and their corners in the picture to [board.photograph]."
        )
        table.fault("A board whose edges are not straight has no corners to be measured by", "outline", mend)
    return replace(board, edges_seen=True)


def _round(table: Table, places: list[tuple[float, float]], board: Board) -> Polygon | None:
    """The outline through these places, or a fault."""
    outline = Polygon(places)
    if not outline.is_valid or outline.is_empty or outline.area < MORE_THAN_NOTHING[0]:
        mend = "Give its places in their order around the board, each one once."
        table.fault("The outline crosses itself, or encloses nothing", "outline", mend)
        return None
    left, low, right, high = outline.bounds
    over = max(-left, -low, right - board.length, high - board.width)
    if over > SEEN_ON_A_RULE:
        what = f"The outline goes {in_mm(over)} beyond the length and width of the board"
        mend = "length and width are those of the rectangle that the board lies in, from lines A and B."
        table.fault(retold(what, table.source.unit or "mm"), "outline", mend)
        return None
    kept = shapely.intersection(outline, board.rectangle).normalize()
    return kept if isinstance(kept, Polygon) else None
