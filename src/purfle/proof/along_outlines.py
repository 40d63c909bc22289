"""Cutting by hand along outline files: the operator's passes of the card, applied to the outlines as they are read.

A position-guided router keeps its cutter's edge off a line by what the operator sets. In a recess the cutter works from
inside: roughing takes all that it reaches off the line, the last pass runs once along it. Round a part it runs outside.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from purfle.model.findings import Finding
from purfle.proof.card import Card, LineOnCard, SetUpOnCard
from purfle.proof.card_by_hand import StepOnCard
from purfle.proof.cuts import LineCut, SetUpCut
from purfle.proof.found import look, stop
from purfle.proof.outlines import Outlines
from purfle.proof.regions import grown, inside, only_wood
from purfle.proof.shelf import CARD
from purfle.tolerances import DEPTH_AS_CUT, DEPTH_LISTED, GRID, NO_WOOD, SIDE_AS_CUT

_MEND = "write the files again from the job; do not cut with these"
MOST_AT_ONCE = 1.0
"""A pass that takes more diameters of its cutter at once is told (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Swept:
    """What one pass does: `gone` wood within a recess, or round a part; `stays`: what is left of a part."""

    step: StepOnCard
    gone: BaseGeometry
    stays: BaseGeometry


def cut_along(
    card: Card, set_up: SetUpOnCard, outlines: Mapping[str, Outlines], findings: list[Finding]
) -> SetUpCut | None:
    """One set-up as the passes of its card cut it along one of its outline files; None where no line is cut.

    That both files hold the same lines is seen with the walls.
    """
    findings += _steps(card, set_up)
    lines: dict[str, LineCut] = {}
    sources: dict[str, str] = {}
    grooves: dict[str, BaseGeometry] = {}
    radii = [card.cutters[one.cutter].diameter / 2.0 for one in set_up.steps if one.cutter in card.cutters]
    for line in set_up.lines:
        of_line = [one for one in outlines.values() if line.id in one.lines]
        steps = [one for one in set_up.steps if one.line == line.id and one.cutter in card.cutters]
        if not of_line or not steps:
            continue
        swept = [_swept(card, line, step, of_line[0].lines[line.id]) for step in steps]
        lines[line.id] = _line_cut(set_up, line, swept)
        sources[line.id] = f"{of_line[0].file}, passes of '{line.id}' on the card"
        if line.kind == "part":
            grooves[line.id] = shapely.union_all([one.gone for one in swept])
    findings += _into_neighbours(set_up, lines, grooves)
    radius = min(radii, default=0.0)
    return SetUpCut(set_up, (), (), lines, MultiPolygon(), (), sources, radius, True) if lines else None


def _swept(card: Card, line: LineOnCard, step: StepOnCard, outline: BaseGeometry) -> _Swept:
    radius = card.cutters[step.cutter].diameter / 2.0
    if line.kind == "part":
        ring = grown(outline, radius + step.off_line)
        stays = grown(ring, -radius)
        return _Swept(step, grown(ring, radius).difference(stays), stays)
    room = grown(outline, -(radius + step.off_line))
    if room.is_empty and step.off_line == 0.0:
        # a recess exactly as wide as the cutter: a hair of room is what the cutter needs
        room = grown(outline, -(radius - SIDE_AS_CUT / 3.0))
    reached = grown(room, radius)
    return _Swept(
        step, reached if step.kind == "roughing" else reached.difference(grown(room, -radius)), MultiPolygon()
    )


def _line_cut(set_up: SetUpOnCard, line: LineOnCard, swept: Sequence[_Swept]) -> LineCut:
    """The line at its least and its most over the height of the wood, and how deep."""
    depth = max(one.step.depth for one in swept)
    if line.kind == "recess":
        full = [one.gone for one in swept if one.step.depth >= depth - DEPTH_AS_CUT]
        return LineCut(shapely.union_all(full), shapely.union_all([one.gone for one in swept]), depth)
    through = [one.stays for one in swept if one.step.depth >= set_up.thickness - GRID]
    least = shapely.intersection_all([one.stays for one in swept])
    return LineCut(least, shapely.intersection_all(through) if through else set_up.outline, depth)


def _where(set_up: SetUpOnCard, line: str) -> str:
    return f"{CARD}, set-up {set_up.number} ({set_up.title}), steps of '{line}'"


def _steps(card: Card, set_up: SetUpOnCard) -> Iterator[Finding]:
    """Every line has passes that get deeper; the last one is on the line; no deeper than cutter and stock allow."""
    floor = set_up.thickness + set_up.cut_through
    for line in set_up.lines:
        steps = [step for step in set_up.steps if step.line == line.id]
        where = _where(set_up, line.id)
        if not steps:
            yield stop(f"no pass cuts '{line.id}'", where, _MEND)
            continue
        depths = [step.depth for step in steps]
        if any(after < before for before, after in pairwise(depths)):
            yield stop("the passes do not get deeper one after the other", where, _MEND)
        if steps[-1].kind != "last" or steps[-1].off_line > 0.0 or any(one.kind == "last" for one in steps[:-1]):
            yield stop("the last pass does not stand at the end, on the line", where, _MEND)
        for cutter in sorted({step.cutter for step in steps} & card.cutters.keys()):
            edges = card.cutters[cutter].cutting_length
            if max(depths) > edges + DEPTH_LISTED:
                what = f"cuts {max(depths):.2f} mm deep with a cutter whose edges are {edges:.2f} mm long"
                yield stop(what, where, "take a longer cutter and write the files again")
            if card.way == "knife and saw":
                continue  # a chisel takes what it takes
            at_once = max(after - before for before, after in pairwise([0.0, *depths]))
            if at_once > MOST_AT_ONCE * card.cutters[cutter].diameter + DEPTH_LISTED:
                what = f"a pass takes {at_once:.2f} mm at once, more than its cutter is wide"
                yield look(what, where, "set the depth per pass lower, and write the files again")
        if max(depths) > floor + DEPTH_LISTED:
            what = f"cuts {max(depths):.2f} mm deep; the stock and what lies below it allow {floor:.2f} mm"
            yield stop(what, where, _MEND)


def _into_neighbours(
    set_up: SetUpOnCard, lines: Mapping[str, LineCut], grooves: Mapping[str, BaseGeometry]
) -> Iterator[Finding]:
    """The groove round one part must leave its neighbours alone."""
    for name, groove in grooves.items():
        for other in grooves:
            shared = only_wood(groove.intersection(lines[other].least)) if other != name else MultiPolygon()
            if shared.area > NO_WOOD:
                x, y = inside(shared)
                what = f"the groove round '{name}' cuts {shared.area:.3f} mm2 out of '{other}'"
                yield stop(what, f"{_where(set_up, name)}, at {x:.2f}, {y:.2f} mm of set-up {set_up.number}", _MEND)
