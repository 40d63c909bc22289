"""The dry fit of tapered walls: recess and insert as their programs cut them, at several depths, and put together.

With S the outline at the finished face, the recess at depth z has to be S shrunk by z tau, and so has the insert once
it is turned over and sunk. A cutter with sloping edges bounds all depths by a few: with U(z) the section,

    U(z2) grown by (z2 - z) tau  is within  U(z)  is within  U(z1) shrunk by (z - z1) tau       for z1 < z < z2

so sections at the face, half way, and where the insert ends below tell about all walls in between. A wall is wrong
where it stands off its outline by more than `tolerances.TAPERED_AS_CUT` over a spot that wide: tips that run to nothing
may be a little longer or shorter than that.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from purfle.geometry.pose import Pose
from purfle.model.findings import Finding
from purfle.model.tapered import TaperedRule
from purfle.proof.at_fault import cut_away, left_standing
from purfle.proof.cones import ConeRun, cone_section
from purfle.proof.found import look, stop
from purfle.proof.regions import grown, grown_evenly, polygons
from purfle.tolerances import (
    DEPTH_AS_CUT,
    JUST_BELOW,
    NO_WOOD,
    SEAM_AS_CUT,
    SHALLOWER_SINK,
    TAPERED_AS_CUT,
)

_MEND = "write the files again from the job; do not cut with this one"
NEAR = 30.0
"""What is cut further than this (mm) from an outline is none of its concern."""
_WIDER = 1.25
"""Each disc that is tried in a gap is larger than the last by this share."""
_RIDGE = 2.0
"""What is longer than this (mm) is a ridge; the tip of a corner is shorter."""
_STEP = 0.8
"""Of the height by which ridges differ: no ridge lies between two depths that are so far apart."""
_DEPTHS = 4
"""So many depths at which ridges end are looked at: stems of one picture are mostly alike."""


@dataclass(frozen=True, slots=True, eq=False)
class TaperedSide:
    """Recess or insert: its outline from the outline files, and its programs in running order, in one frame."""

    name: str
    outline: BaseGeometry
    runs: tuple[ConeRun, ...]


@dataclass(frozen=True, slots=True, eq=False)
class TaperedPair:
    """A recess and its insert. `to_recess`: from the insert's stock, turned over, to the recess's frame."""

    rule: TaperedRule
    recess: TaperedSide
    insert: TaperedSide
    to_recess: Pose


@dataclass(frozen=True, slots=True)
class TaperedFit:
    """A pair put together. Lengths in mm; `seam`: its widest place at the face, with `seam_at` in the recess's frame.

    `interference`: how far wood stands in the way at its worst; `sinks`, `room`: how deep the insert goes, and what is
    left below it, by the depths as cut; `ridges`: area of the recess that is narrower than its insert goes deep.
    """

    seam: float
    seam_at: tuple[float, float]
    interference: float
    sinks: float
    room: float
    ridges: float
    findings: tuple[Finding, ...]


@dataclass(slots=True)
class _Work:
    pair: TaperedPair
    findings: list[Finding] = field(default_factory=list)

    @property
    def rule(self) -> TaperedRule:
        return self.pair.rule

    def on_recess(self, side: TaperedSide, place: tuple[float, float]) -> tuple[float, float]:
        """A place of either side in the recess's frame."""
        return place if side is self.pair.recess else self.pair.to_recess.point(*place)

    def room(self, side: TaperedSide) -> Callable[[float], BaseGeometry]:
        """What straight cutters of a radius can clear to full depth in the recess, or around the insert."""
        if side is self.pair.recess:
            bottom = grown(side.outline, -self.rule.recess_depth * self.rule.slope)
            return lambda radius: _opened(bottom, radius)
        foot = grown(side.outline, self.rule.saw_room * self.rule.slope)
        near = shapely.box(*shapely.buffer(side.outline.envelope, NEAR).bounds)
        return lambda radius: near.difference(_closed(foot, radius))


def fit_tapered(pair: TaperedPair) -> TaperedFit:
    """Compare both sides with their outlines, then put the insert into its recess."""
    work = _Work(pair)
    deeper = _depths(work, pair.recess, pair.rule.recess_depth)
    further = _depths(work, pair.insert, pair.rule.insert_depth)
    depths = (JUST_BELOW, pair.rule.sink / 2.0, pair.rule.sink - JUST_BELOW)
    holes = [_recess_at(work, depth) for depth in depths]
    parts = [_insert_at(work, depth) for depth in depths]
    _below_insert(work)
    _above_face(work)
    _glue_room(work)
    interference = max(_interference(work, *one) for one in zip(holes, parts, depths, strict=True))
    _seated(work)
    gap = holes[0].difference(parts[0])
    seam, place = _widest(gap)
    if seam > SEAM_AS_CUT:
        what = f"the seam of {pair.recess.name} opens to {seam:.3f} mm at the face"
        work.findings.append(stop(what, _between(work, place, JUST_BELOW, uncut=False), _MEND, place))
    narrow = pair.recess.outline.difference(_opened(pair.recess.outline, pair.rule.sink * pair.rule.slope))
    ridges = _thick(narrow, TAPERED_AS_CUT).area
    sinks, room = pair.rule.sink + deeper + further, pair.rule.glue_room - further
    return TaperedFit(seam, place, interference, sinks, room, ridges, tuple(work.findings))


# --- each side against its outline


def _depths(work: _Work, side: TaperedSide, full: float) -> float:
    """By how much the cutter with sloping edges goes too deep, 0 where no place is wide enough for its full depth.

    Deeper than `DEPTH_AS_CUT`, or than its edges reach, it is a finding; so is full speed in the wood.
    """
    error = 0.0
    for run in side.runs:
        if run.cone.slope == 0.0 or not len(run.reading.end):
            continue
        lowest = int(np.nanargmin(run.reading.end[:, 2]))
        deep = -float(run.reading.end[lowest, 2])
        spot = work.on_recess(side, _at(run, lowest))
        error = deep - full if abs(deep - full) <= DEPTH_AS_CUT else error
        if deep > full + DEPTH_AS_CUT - JUST_BELOW:
            what = f"cuts {deep:.2f} mm deep instead of {full:.2f} mm"
            work.findings.append(stop(what, _line(run, lowest), _MEND, spot))
        if deep > run.cone.length + JUST_BELOW:
            what = f"cuts {deep:.2f} mm deep with a cutter whose edges reach {run.cone.length:.2f} mm"
            mend = "take a larger V cutter, or less sink, and write the files again"
            work.findings.append(stop(what, _line(run, lowest), mend, spot))
        rapid = np.flatnonzero((run.reading.kind == 0) & (run.reading.end[:, 2] < -JUST_BELOW))
        if len(rapid):
            what = "goes into the wood at full speed"
            spot = work.on_recess(side, _at(run, int(rapid[0])))
            work.findings.append(stop(what, _line(run, int(rapid[0])), _MEND, spot))
    return error


def _line(run: ConeRun, move: int) -> str:
    return f"{run.reading.file}, line {run.reading.line[move]}, {_spot(_at(run, move))}"


def _at(run: ConeRun, move: int) -> tuple[float, float]:
    x, y = run.reading.end[move, :2]
    return float(x), float(y)


def _spot(place: Sequence[float]) -> str:
    return f"at {place[0]:.2f}, {place[1]:.2f} mm"


def _gouge(work: _Work, side: TaperedSide, region: BaseGeometry, depth: float, what: str) -> None:
    """Wood that is cut away from a wall, told with the move that took it. `depth`: below the top of its stock."""
    _, place = _widest(region)
    where = f"{cut_away(side.runs, place, depth)}, {_spot(place)}"
    work.findings.append(stop(what, where, _MEND, work.on_recess(side, place)))


def _standing(work: _Work, side: TaperedSide, region: BaseGeometry, depth: float, what: str) -> None:
    """Wood that is left standing, told with the move that should have taken it."""
    _, place = _widest(region)
    where = f"{left_standing(side.runs, place, depth, work.room(side))}, {_spot(place)}"
    work.findings.append(stop(what, where, _MEND, work.on_recess(side, place)))


def _between(work: _Work, place: tuple[float, float], depth: float, uncut: bool) -> str:
    """Both walls that meet at a place of the recess's frame: either may have too much wood, or too little."""
    turned = work.pair.to_recess.inverse().point(*place)
    walls = []
    for side, spot, below in ((work.pair.recess, place, depth), (work.pair.insert, turned, work.rule.sink - depth)):
        by = left_standing(side.runs, spot, below, work.room(side)) if uncut else cut_away(side.runs, spot, below)
        walls.append(f"{by}, {_spot(spot)}")
    return f"between {' and '.join(walls)}"


def _taken(side: TaperedSide, depth: float) -> BaseGeometry:
    """What the programs take away at a depth, as far as it has to do with this outline: a set-up may cut many."""
    left, low, right, high = side.outline.bounds
    near = shapely.box(left - NEAR, low - NEAR, right + NEAR, high + NEAR)
    parts = [part for run in side.runs for part in shapely.get_parts(cone_section(run, depth)) if part.intersects(near)]
    taken: BaseGeometry = shapely.union_all(parts)
    return taken


def _recess_at(work: _Work, depth: float) -> BaseGeometry:
    """The recess at a depth, compared with what it has to be there."""
    side, rule = work.pair.recess, work.rule
    hole = _belonging(_taken(side, depth), side.outline)
    wanted = _opened(grown_evenly(side.outline, -depth * rule.slope), rule.tip_radius)
    _compare(work, side, (hole, wanted), (depth, depth))
    return hole


def _belonging(taken: BaseGeometry, outline: BaseGeometry) -> BaseGeometry:
    """The parts of what was taken away that lie in an outline: others are other recesses, and looked at with theirs."""
    parts = polygons(taken)
    return MultiPolygon(list(parts[shapely.intersects(parts, outline)]))


def _insert_at(work: _Work, depth: float) -> BaseGeometry:
    """The insert where it lies `depth` below the face, as it is once turned over, in the recess's frame."""
    side, rule = work.pair.insert, work.rule
    below = rule.sink - depth
    wanted = _closed(grown_evenly(side.outline, -depth * rule.slope), rule.tip_radius)
    part = _piece(side, _taken(side, below))
    _compare(work, side, (part, wanted), (below, depth))
    return shapely.transform(part, work.pair.to_recess.points)


def _piece(side: TaperedSide, taken: BaseGeometry) -> BaseGeometry:
    """What stands of the insert between what was taken away around it."""
    left, low, right, high = side.outline.bounds
    room = max(right - left, high - low)
    stock = shapely.box(left - room, low - room, right + room, high + room)
    pieces = polygons(stock.difference(taken))
    shared = shapely.area(shapely.intersection(pieces, side.outline))
    whole: BaseGeometry = shapely.union_all(pieces[shared > shapely.area(pieces) / 2.0])
    return whole


def _compare(
    work: _Work, side: TaperedSide, regions: tuple[BaseGeometry, BaseGeometry], depths: tuple[float, float]
) -> None:
    """Where a section is not what it has to be, told with the move whose cut ends there."""
    section, wanted = regions
    is_recess = side is work.pair.recess
    beyond, short = (
        _thick(section.difference(wanted), TAPERED_AS_CUT),
        _thick(wanted.difference(section), TAPERED_AS_CUT),
    )
    for region, uncut in ((beyond, not is_recess), (short, is_recess)):
        if region.is_empty:
            continue
        words, tell = ("wood is left standing on", _standing) if uncut else ("wood is cut away from", _gouge)
        what = f"{words} the tapered wall of {side.name}, {region.area:.4f} mm2 at {depths[1]:.2f} mm below the face"
        tell(work, side, region, depths[0], what)


def _below_insert(work: _Work) -> None:
    """The wall of the recess goes on to its floor: no wood may be cut away from it there either."""
    side, rule = work.pair.recess, work.rule
    depth = rule.recess_depth - JUST_BELOW
    hole = _belonging(_taken(side, depth), side.outline)
    wanted = _opened(grown_evenly(side.outline, -depth * rule.slope), rule.tip_radius)
    gouged = _thick(hole.difference(wanted), TAPERED_AS_CUT)
    if not gouged.is_empty:
        what = f"wood is cut away from the tapered wall of {side.name}, {gouged.area:.4f} mm2 at its floor"
        _gouge(work, side, gouged, depth, what)


def _above_face(work: _Work) -> None:
    """What of the insert stands above the face widens evenly: cut away there, it would show when it is levelled."""
    side, rule = work.pair.insert, work.rule
    above = rule.saw_room / 2.0
    wanted = grown_evenly(side.outline, above * rule.slope)
    gouged = _thick(_taken(side, rule.sink + above).intersection(wanted), TAPERED_AS_CUT)
    if not gouged.is_empty:
        what = f"wood is cut away from the tapered wall of {side.name}, {above:.2f} mm above the face"
        _gouge(work, side, gouged, rule.sink + above, what)
    ground = _thick(wanted_clear(side.outline, rule).difference(_taken(side, rule.insert_depth - SHALLOWER_SINK)), 0.0)
    if ground.area > NO_WOOD:
        what = f"wood is left around {side.name} that would meet the ground: {ground.area:.2f} mm2"
        _standing(work, side, ground, rule.insert_depth - SHALLOWER_SINK, what)


def wanted_clear(outline: BaseGeometry, rule: TaperedRule) -> BaseGeometry:
    """A strip around the insert that has to be clear down to its full depth: the straight cutter's, at least."""
    inner = grown(outline, rule.saw_room * rule.slope + DEPTH_AS_CUT)
    return grown(outline, rule.saw_room * rule.slope + 1.0).difference(inner)


def _glue_room(work: _Work) -> None:
    """Below the insert some of the glue room is free everywhere but over ridges."""
    side, rule = work.pair.recess, work.rule
    depth = rule.sink + rule.glue_room / 4.0
    wanted = grown_evenly(side.outline, -rule.recess_depth * rule.slope)
    standing = _thick(wanted.difference(_taken(side, depth)), TAPERED_AS_CUT)
    if not standing.is_empty:
        what = f"wood stands on the bottom of {side.name}, less than {rule.glue_room:.2f} mm below its insert"
        _standing(work, side, standing, depth, what)


# --- put together


def _interference(work: _Work, hole: BaseGeometry, part: BaseGeometry, depth: float) -> float:
    """How far the insert stands in wood at a depth."""
    over = part.difference(hole)
    wide, place = _widest(over)
    blunt = 2.0 * work.rule.tip_radius
    if wide > 2.0 * TAPERED_AS_CUT + (blunt if depth > JUST_BELOW else 0.0):
        what = f"the insert of {work.pair.recess.name} meets wood {depth:.2f} mm below the face, {wide:.3f} mm of it"
        work.findings.append(stop(what, _between(work, place, depth, uncut=True), _MEND, place))
    elif wide > 2.0 * TAPERED_AS_CUT:
        what = f"in corners or ridges below the face the insert of {work.pair.recess.name} stands {wide:.3f} mm in wood"
        mend = "take that off its lower edges with a knife, or take a V cutter with a sharper tip"
        work.findings.append(look(what, _spot(place), mend, place))
    return wide


def _seated(work: _Work) -> None:
    """Whether the insert is held up before its walls meet: with a blunt tip its ridges go deeper than the recess's.

    Walls that meet above the insert's lower face end in a ridge there, but tip radius / slope higher in the recess: by
    so much the insert is held up. Corners are no ridges: `_interference` tells what is to be taken off them.
    """
    rule, outline, held = work.rule, work.pair.recess.outline, (0.0, (0.0, 0.0))
    for depth in _ridge_depths(outline, rule) if rule.tip_radius > 0.0 else ():
        hole = _belonging(_taken(work.pair.recess, depth), outline)
        part = _piece(work.pair.insert, _taken(work.pair.insert, rule.sink - depth))
        over = shapely.transform(part, work.pair.to_recess.points).difference(hole)
        held = max([held, *((min(end, rule.sink) - depth, place) for end, place in _ridges(over, depth, rule))])
    up, place = held
    if up > DEPTH_AS_CUT:
        what = (
            f"the insert of {work.pair.recess.name} does not sink in: the flat tip of the V cutter leaves a narrow "
            f"place shallower than the insert's lower edge, so it stands {up:.2f} mm proud and its seam "
            f"{up * rule.slope:.2f} mm open on each side"
        )
        wider = 2.0 * (rule.sink * rule.slope + rule.tip_radius)
        mend = f"take a V cutter with a sharper tip, or draw it wider than {wider:.2f} mm there, or sink it less"
        work.findings.append(stop(what, _spot(place), mend, place))


def _ridge_depths(outline: BaseGeometry, rule: TaperedRule) -> list[float]:
    """Depths (mm) just below the ends of the recess's ridges, by the outline alone; those of the longest ridges."""
    high = rule.tip_radius / rule.slope
    found: dict[float, float] = {}
    for step in range(1, 1 + int(rule.sink / (_STEP * high))):
        depth = step * _STEP * high
        shrunk = grown(outline, -depth * rule.slope)
        for one in polygons(shrunk.difference(_opened(shrunk, rule.tip_radius))):
            for end, _ in _ridges(one, depth, rule):
                near = max(round(min(end, rule.sink + high) - 0.95 * high, 2), JUST_BELOW)
                found[near] = found.get(near, 0.0) + one.length
    return sorted(sorted(found, key=lambda depth: -found[depth])[:_DEPTHS])


def _ridges(over: BaseGeometry, depth: float, rule: TaperedRule) -> list[tuple[float, tuple[float, float]]]:
    """Of wood in the way at a depth what is long: how deep it goes until its walls meet, and where it is widest."""
    found = []
    for one in polygons(over):
        disc = shapely.maximum_inscribed_circle(one, tolerance=JUST_BELOW) if one.length > 2.0 * _RIDGE else None
        if disc is not None and disc.length > TAPERED_AS_CUT:
            x, y = shapely.get_coordinates(disc)[0]
            found.append((depth + disc.length / rule.slope, (float(x), float(y))))
    return found


def _widest(gap: BaseGeometry) -> tuple[float, tuple[float, float]]:
    """How wide a gap is at its widest, to a quarter, and where: twice the largest disc in it."""
    if gap.is_empty:
        return 0.0, (0.0, 0.0)
    low, high, place = 0.0, JUST_BELOW, gap.representative_point()
    while not (left := gap.buffer(-high)).is_empty:
        low, high, place = high, high * _WIDER, left.representative_point()
    return low + high if low else 0.0, (float(place.x), float(place.y))


def _opened(region: BaseGeometry, radius: float) -> BaseGeometry:
    return grown(grown(region, -radius), radius) if radius > 0.0 else region


def _closed(region: BaseGeometry, radius: float) -> BaseGeometry:
    return grown(grown(region, radius), -radius) if radius > 0.0 else region


def _thick(region: BaseGeometry, least: float) -> BaseGeometry:
    """The spots of a region in which a disc as wide as `least` has room."""
    if region.is_empty or least == 0.0:
        return region
    parts = polygons(region)
    kept = ~shapely.is_empty(shapely.buffer(parts, -least / 2.0))
    return MultiPolygon(list(parts[kept]))
