"""Hardware recesses as asked for, and the wood that is left between the two faces."""

import numpy as np
import shapely
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from purfle.model.findings import Finding
from purfle.proof.card import Card, FittingOnCard
from purfle.proof.cuts import LineCut, SetUpCut
from purfle.proof.found import stop
from purfle.proof.holes import Hollow
from purfle.proof.regions import Sandwich, grown, inside
from purfle.tolerances import DEPTH_LISTED, FITTING_AS_CUT, NO_WOOD

_MEND = "write the files again from the job; do not cut with this one"


def check_fitting(card: Card, fitting: FittingOnCard, cut: SetUpCut) -> list[Finding]:
    """The recess of one fitting against what the maker asked for: middle, size, shape. Depth is checked as a wall."""
    line = cut.lines.get(fitting.line)
    where = f"{cut.files_of(fitting.line)}, '{fitting.line}' ({fitting.name})"
    if line is None or line.most.is_empty:
        return [
            stop(f"the recess for fitting {fitting.number} ({fitting.name}) is not cut", where, _MEND, fitting.centre)
        ]
    if cut.set_up.face != fitting.face:
        what = f"the recess for fitting {fitting.number} ({fitting.name}) is cut into the wrong face"
        return [stop(what, where, _MEND, fitting.centre)]
    read = cut.set_up.to_board.region(line.most).intersection(card.board)
    wanted = _wanted(fitting).intersection(card.board)
    found = _middle_and_size(fitting, read, wanted, where)
    if not found and not _shape_fits(fitting, read, wanted, cut.smallest_radius):
        what = f"the recess for fitting {fitting.number} ({fitting.name}) does not have the shape that was asked for"
        found.append(stop(what, where, _MEND, fitting.centre))
    return found


def _wanted(fitting: FittingOnCard) -> Polygon:
    """The recess as asked for, with sharp corners."""
    (x, y), (along_a, along_b) = fitting.centre, fitting.size
    if fitting.round:
        return shapely.Point(x, y).buffer(along_a / 2, quad_segs=90)
    return box(x - along_a / 2, y - along_b / 2, x + along_a / 2, y + along_b / 2)


def _middle_and_size(fitting: FittingOnCard, read: BaseGeometry, wanted: BaseGeometry, where: str) -> list[Finding]:
    if read.is_empty:
        return [stop(f"the recess of {fitting.name} lies off the board", where, _MEND, fitting.centre)]
    left, low, right, high = read.bounds
    sides = np.abs(np.array(read.bounds) - np.array(wanted.bounds))
    if sides.max() <= FITTING_AS_CUT:
        return []
    x0, y0, x1, y1 = wanted.bounds
    what = (
        f"the recess for fitting {fitting.number} ({fitting.name}) measures {right - left:.2f} x {high - low:.2f} mm "
        f"about {(left + right) / 2:.2f}, {(low + high) / 2:.2f}; asked for were {x1 - x0:.2f} x {y1 - y0:.2f} mm "
        f"about {(x0 + x1) / 2:.2f}, {(y0 + y1) / 2:.2f}"
    )
    return [stop(what, where, _MEND, fitting.centre)]


def _shape_fits(fitting: FittingOnCard, read: BaseGeometry, wanted: BaseGeometry, cutter: float) -> bool:
    """Corners as round as the cutter leaves them; an oblong may end in half circles."""
    round_by = min(fitting.size) / 2 if fitting.kind == "oblong" else cutter
    least = grown(grown(wanted, -round_by + FITTING_AS_CUT), round_by - FITTING_AS_CUT)
    reached = Sandwich(wanted, FITTING_AS_CUT).difference(read)
    if reached.over.is_empty and reached.short.is_empty:
        return True
    return bool(reached.over.is_empty and Sandwich(least, FITTING_AS_CUT).difference(read).short.is_empty)


def hollows(card: Card, cuts: dict[int, SetUpCut]) -> list[Hollow]:
    """Every recess of the board whose programs could be read."""
    found = []
    names = {(f.set_up, f.line): f"fitting {f.number} ({f.name})" for f in card.fittings}
    for inlay in card.inlays:
        names |= {(inlay.set_up, line): f"inlay '{inlay.name}'" for line in inlay.lines}
    for number, cut in cuts.items():
        if cut.set_up.stock != "board":
            continue
        for name, line in cut.lines.items():
            own = next((f.name for f in card.fittings if (f.set_up, f.line) == (number, name)), "")
            found.append(_hollow(names.get((number, name), name), cut, line, own))
    return [hollow for hollow in found if not hollow.region.is_empty]


def _hollow(name: str, cut: SetUpCut, line: LineCut, fitting: str) -> Hollow:
    return Hollow(name, cut.set_up.face, cut.set_up.to_board.region(line.most), line.depth, fitting)


def wood_left(card: Card, found: list[Hollow]) -> tuple[float | None, list[Finding]]:
    """Least wood left under any recess, alone or with one of the other face, and where that is too little."""
    left: list[tuple[float, str, tuple[float, float]]] = []
    for hollow in found:
        left.append((card.thickness - hollow.depth, f"below {hollow.name}", inside(hollow.region)))
    for above in (hollow for hollow in found if hollow.face == "show"):
        for below in (hollow for hollow in found if hollow.face == "underside"):
            both = above.region.intersection(below.region)
            if both.area > NO_WOOD:
                words = f"between {above.name} on the show face and {below.name} on the underside"
                left.append((card.thickness - above.depth - below.depth, words, inside(both)))
    findings = []
    for amount, words, place in left:
        if amount < card.least_left - DEPTH_LISTED or amount < 0:
            what = f"{amount:.2f} mm of wood are left {words}; {card.least_left:.2f} mm are needed"
            if amount < 0:
                what = f"the cutter comes through the board {words}"
            where = f"the board at {place[0]:.2f}, {place[1]:.2f} mm"
            findings.append(stop(what, where, "make a recess shallower, or move one, and write the files again", place))
    return min((amount for amount, _, _ in left), default=None), findings
