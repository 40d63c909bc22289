"""Walls: program, SVG and DXF of one set-up are three accounts of the same lines; the odd one out is named."""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from purfle.geometry.pose import Pose
from purfle.model.findings import Finding
from purfle.proof.card import LineOnCard, SetUpOnCard
from purfle.proof.cuts import LineCut, SetUpCut
from purfle.proof.found import stop
from purfle.proof.outlines import Outlines
from purfle.proof.regions import Difference, Sandwich, inside, likeness, only_wood, polygons
from purfle.tolerances import DEPTH_AS_CUT, OUTLINES_AGREE, SIDE_AS_CUT

_MEND = "write the files again from the job; do not cut with this one"
NOT_FREE = 0.2
"""A part as cut of which so large a share lies outside its outline still hangs on the wood around it."""
_NOTHING = Difference(MultiPolygon(), MultiPolygon())


@dataclass(frozen=True, slots=True)
class Accounts:
    """All that is known of one set-up: as cut by its programs, and by its two outline files; None where missing."""

    set_up: SetUpOnCard
    cut: SetUpCut | None
    svg: Outlines | None
    dxf: Outlines | None
    to_board: dict[str, Pose]

    def region(self, kind: str, line: str) -> BaseGeometry | None:
        """The region of one line by one account ("svg" or "dxf")."""
        outlines = self.svg if kind == "svg" else self.dxf
        return outlines.lines.get(line) if outlines else None

    def place(self, line: str, place: tuple[float, float]) -> tuple[float, float] | None:
        """A place of the set-up in the board frame, by way of the line that it belongs to."""
        pose = self.to_board.get(line)
        return pose.point(*place) if pose else None


@dataclass(frozen=True, slots=True)
class Walls:
    """What the walls of one set-up have to say: findings, uncut wood, and gouged wood for each program."""

    findings: tuple[Finding, ...]
    uncut: float
    gouged: tuple[float, ...]


def check_walls(accounts: Accounts) -> Walls:
    """Compare the three accounts of every line of a set-up."""
    findings = [*_names(accounts), *_stock(accounts)]
    short: list[BaseGeometry] = []
    over: list[BaseGeometry] = []
    for line in accounts.set_up.lines:
        difference = _check_line(accounts, line, findings)
        # what is short of a part is wood gouged out of it; what is over was left uncut
        first, second = (over, short) if line.kind == "part" else (short, over)
        first.append(difference.short)
        second.append(difference.over)
    cut = accounts.cut
    if cut is None:
        return Walls(tuple(findings), 0.0, ())
    if not cut.stray.is_empty:
        findings.append(_stray(cut))
        over.append(cut.stray)
    gouged = shapely.union_all(over)
    shares = tuple(float(top.intersection(gouged).area) for top in cut.tops)
    return Walls(tuple(findings), float(shapely.union_all(short).area), shares)


def _names(accounts: Accounts) -> list[Finding]:
    """Both outline files must hold the lines of the card, as the kind that the card says, and no others."""
    found = []
    wanted = {line.id: line.kind for line in accounts.set_up.lines}
    for outlines in (accounts.svg, accounts.dxf):
        if outlines is None:
            continue
        for name in sorted(wanted.keys() - outlines.lines.keys()):
            found.append(stop(f"the line '{name}' is missing", outlines.file, _MEND))
        for name in sorted(outlines.lines.keys() - wanted.keys()):
            found.append(stop(f"the line '{name}' is not on the assembly card", outlines.file, _MEND))
        for name, kind in outlines.kinds.items():
            if wanted.get(name, kind) != kind:
                found.append(
                    stop(f"the line '{name}' is drawn as a {kind}, the card says {wanted[name]}", outlines.file, _MEND)
                )
    return found


def _stock(accounts: Accounts) -> list[Finding]:
    """The stock must be the same in both files and on the card."""
    sandwich = Sandwich(accounts.set_up.outline, DEPTH_AS_CUT)
    found = []
    for outlines in (accounts.svg, accounts.dxf):
        if outlines is not None and not sandwich.difference(outlines.stock).nothing:
            how = likeness(outlines.stock, accounts.set_up.outline)
            what = "the outline of the stock is not the one on the assembly card" + (f": {how}" if how else "")
            found.append(stop(what, outlines.file, _MEND))
    return found


def _check_line(accounts: Accounts, line: LineOnCard, findings: list[Finding]) -> Difference:
    """Compare one line's accounts and put down what is wrong; gives how the programs differ from the outlines."""
    svg, dxf = accounts.region("svg", line.id), accounts.region("dxf", line.id)
    cut = accounts.cut.lines.get(line.id) if accounts.cut else None
    files_agree = svg is None or dxf is None or dxf is svg or Sandwich(svg, OUTLINES_AGREE).difference(dxf).nothing
    if cut is None:
        if not files_agree:
            findings.append(_outline_off(accounts, line, "both", ""))
        return _NOTHING
    findings.extend(_depth(accounts, line, cut))
    if not files_agree and accounts.cut and accounts.cut.from_outlines:
        findings.append(_outline_off(accounts, line, "both", ""))
        return _NOTHING
    from_svg = _against(accounts, line, svg, cut)
    from_dxf = from_svg if dxf is svg else _against(accounts, line, dxf, cut)
    if files_agree and from_svg.nothing and from_dxf.nothing:
        return _NOTHING
    if not files_agree and from_svg.nothing != from_dxf.nothing:
        culprit, other = ("dxf", svg) if from_svg.nothing else ("svg", dxf)
        wrong = accounts.region(culprit, line.id)
        how = likeness(wrong, other) if wrong is not None and other is not None else ""
        findings.append(_outline_off(accounts, line, culprit, how))
        return _NOTHING
    if not files_agree:
        findings.append(_outline_off(accounts, line, "both", ""))
    difference = from_dxf if from_svg.nothing else from_svg
    outline = dxf if from_svg.nothing else svg
    if not difference.nothing and outline is not None:
        findings.append(_wall_off(accounts, line, difference, likeness(cut.most, outline)))
    return difference


def _against(accounts: Accounts, line: LineOnCard, outline: BaseGeometry | None, cut: LineCut) -> Difference:
    """How a line as cut differs from one outline; where the outline leaves the stock there is no wood to differ in."""
    if outline is None:
        return _NOTHING
    difference = Sandwich(outline, SIDE_AS_CUT).difference(cut.least, cut.most)
    wood = accounts.set_up.outline
    if difference.nothing or line.kind == "part":
        return difference
    return Difference(only_wood(difference.short.intersection(wood)), only_wood(difference.over.intersection(wood)))


def _outline_off(accounts: Accounts, line: LineOnCard, culprit: str, how: str) -> Finding:
    svg, dxf = accounts.svg, accounts.dxf
    names = {"svg": svg.file if svg else "", "dxf": dxf.file if dxf else ""}
    if culprit == "both":
        what = f"the outline of '{line.id}' is not the same in the SVG and the DXF file"
        return stop(what, f"{names['svg']} and {names['dxf']}, line '{line.id}'", _MEND)
    others = "DXF" if culprit == "svg" else "SVG"
    cut_by = accounts.cut.cut_by if accounts.cut else "program"
    what = f"the outline of '{line.id}' is not the one of the {others} file and of the {cut_by}"
    return stop(what + (f": {how}" if how else ""), f"{names[culprit]}, line '{line.id}'", _MEND)


def _wall_off(accounts: Accounts, line: LineOnCard, difference: Difference, how: str) -> Finding:
    """The programs leave a wall off its outline: name the program and the nearest of its moves."""
    cut = accounts.cut
    assert cut is not None
    gouged, uncut = difference.over, difference.short
    if line.kind == "part":
        gouged, uncut = uncut, gouged
    words = []
    if not uncut.is_empty:
        words.append(f"{uncut.area:.3f} mm2 left uncut")
    if not gouged.is_empty:
        words.append(f"{gouged.area:.3f} mm2 gouged")
    place = difference.worst
    if line.kind == "part" and uncut.area > NOT_FREE * cut.lines[line.id].most.area:
        what = f"the part '{line.id}' is not free: it is still joined to the wood around it"
        return stop(what, f"{cut.files_of(line.id)}, line '{line.id}'", _MEND, accounts.place(line.id, place))
    what = f"the wall of '{line.id}' is off its outline, {' and '.join(words)}" + (f"; {how}" if how else "")
    by = cut.sources.get(line.id) or nearest_move(cut, place)
    where = f"{by}, line '{line.id}', {_spot(cut, place)}"
    return stop(what, where, _MEND, accounts.place(line.id, place))


def _spot(cut: SetUpCut, place: tuple[float, float]) -> str:
    return f"at {place[0]:.2f}, {place[1]:.2f} mm of set-up {cut.set_up.number}"


def _stray(cut: SetUpCut) -> Finding:
    parts = polygons(cut.stray)
    place = inside(parts[int(np.argmax(shapely.area(parts)))])
    what = f"the program cuts {cut.stray.area:.3f} mm2 of wood where there is no line"
    where = f"{nearest_move(cut, place)}, {_spot(cut, place)}"
    board = cut.set_up.to_board.point(*place) if cut.set_up.stock == "board" else None
    return stop(what, where, _MEND, board)


def _depth(accounts: Accounts, line: LineOnCard, cut: LineCut) -> list[Finding]:
    """Depth as cut against depth as planned, at the deepest place; a part may be cut through deeper than planned."""
    deeper = cut.depth - line.depth
    may_be_deeper = line.kind == "part" and accounts.set_up.sawing is None
    if cut.most.is_empty or abs(deeper) <= DEPTH_AS_CUT or (may_be_deeper and deeper > 0):
        return []
    files = accounts.cut.files_of(line.id) if accounts.cut else ""
    what = f"'{line.id}' is cut {cut.depth:.2f} mm deep instead of {line.depth:.2f} mm"
    place = inside(cut.most)
    return [stop(what, f"{files}, line '{line.id}'", _MEND, accounts.place(line.id, place))]


def nearest_move(cut: SetUpCut, place: tuple[float, float]) -> str:
    """File and line of the move that passes nearest to a place."""
    best, words = np.inf, ""
    for reading, way in zip(cut.readings, cut.ways, strict=True):
        bits = np.flatnonzero(np.isfinite(way.start).all(axis=1) & (np.minimum(way.start, way.end)[:, 2] < 0))
        if not len(bits):
            continue
        lines = shapely.linestrings(np.stack([way.start[bits, :2], way.end[bits, :2]], axis=1))
        away = shapely.distance(lines, shapely.Point(place))
        # the wall stands a radius off the way, so the move at fault is the one whose groove ends nearest
        nearest = int(np.argmin(np.abs(away - way.radius)))
        if abs(away[nearest] - way.radius) < best:
            best = abs(away[nearest] - way.radius)
            words = f"{reading.file}, line {reading.line[way.move[bits[nearest]]]}"
    return words or ", ".join(reading.file for reading in cut.readings)
