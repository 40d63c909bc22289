"""The board with everything placed on it, or every reason why not."""

from dataclasses import replace

from purfle.board.check import check_mark, symmetry_finding
from purfle.board.clearances import (
    Recess,
    faults_of,
    findings_of,
    nearest_across,
    off_board,
    recesses_of,
    walls_between,
    wood_left,
)
from purfle.board.holes import hole_faults, hole_findings, holes_of, through_faults, with_cover, withdrawal_notes
from purfle.board.hosts import host_findings
from purfle.board.live_edges import live_edges_finding
from purfle.board.marks import marks_of
from purfle.board.placing import place_fitting, place_inlays
from purfle.board.thickness import taken_findings, thickness_map
from purfle.board.walls import host_wall_findings
from purfle.board.wishes import InlayWish
from purfle.errors import Fault, PlacingError
from purfle.mate import ALONE, Mate
from purfle.model.board import Board, Fitting, Hole, Inlay, Layout
from purfle.model.job import FittingRule


def lay_out(
    board: Board,
    wishes: tuple[InlayWish, ...],
    rules: tuple[FittingRule, ...],
    least_left: float,
    mate: Mate = ALONE,
) -> Layout:
    """The layout of a board: inlays in the order of the wishes, fittings numbered from 1 in the order of the rules.

    `least_left` (mm) of wood must stay between a recess and the other face, or what is cut from there. Raises
    PlacingError with every inlay that is empty, else with every recess that is off the board or too deep; anything else
    is a finding.
    """
    inlays, fittings, recesses, holes = _placed(board, wishes, rules)
    faults = _refused(board, recesses, holes)
    if faults:
        raise PlacingError.of(faults)
    walls = mate.share(walls_between, board, recesses)
    check = check_mark(board, inlays, fittings, holes)
    alike = symmetry_finding(inlays, fittings, holes) if check is None else None
    marks, left, nearest = marks_of(board, inlays, fittings), wood_left(board, recesses), nearest_across(recesses)
    findings = [*findings_of(board, recesses, least_left), *walls(), *host_findings(inlays)]
    findings += [*host_wall_findings(inlays), *([alike] if alike else [])]
    findings += [live_edges_finding(board)] if board.shape is not None else []
    findings += taken_findings(board, recesses)
    findings += [*hole_findings(board, holes, recesses), *withdrawal_notes(board, rules, holes)]
    holes, left_everywhere = with_cover(board, holes, recesses), thickness_map(board, recesses, holes)
    made = Layout(board, inlays, fittings, marks, left, check, nearest, tuple(findings))
    return replace(made, holes=holes, thickness=left_everywhere)


def glance(
    board: Board, wishes: tuple[InlayWish, ...], rules: tuple[FittingRule, ...], least_left: float
) -> tuple[Layout, tuple[Fault, ...]]:
    """The layout in a tenth of the time, and every fault for which `lay_out` would refuse it.

    Everything lies where it will; marks, thin walls, wood left and thickness are not worked out. Raises PlacingError
    where an inlay is empty.
    """
    inlays, fittings, recesses, holes = _placed(board, wishes, rules)
    faults = tuple(_refused(board, recesses, holes))
    findings = () if faults else tuple(findings_of(board, recesses, least_left))
    return Layout(board, inlays, fittings, (), (), None, (), findings, holes), faults


def _placed(
    board: Board, wishes: tuple[InlayWish, ...], rules: tuple[FittingRule, ...]
) -> tuple[tuple[Inlay, ...], tuple[Fitting, ...], tuple[Recess, ...], tuple[Hole, ...]]:
    """Everything where the maker wants it."""
    empty = [
        Fault(f"{wish.name} has no piece to let in", wish.name, "take it out, or give it an artwork with areas")
        for wish in wishes
        if not wish.fit.inserts or wish.fit.recess.is_empty
    ]
    if empty:
        raise PlacingError.of(empty)
    inlays = place_inlays(board, wishes)
    let_in = [rule for rule in rules if rule.is_let_in]
    fittings = tuple(place_fitting(board, number, rule) for number, rule in enumerate(let_in, 1))
    return inlays, fittings, recesses_of(inlays, fittings), holes_of(board, rules)


def _refused(board: Board, recesses: tuple[Recess, ...], holes: tuple[Hole, ...]) -> list[Fault]:
    """Why it cannot be laid out; none where it can."""
    faults = [*faults_of(board, recesses), *hole_faults(board, holes, off_board(board, recesses))]
    return [*faults, *through_faults(board, holes)] if faults else []
