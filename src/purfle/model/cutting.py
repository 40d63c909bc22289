"""Set-ups, passes and paths. A path is a tuple of lines and turns; z is 0 at the top of the wood, negative below."""

from dataclasses import dataclass
from typing import Any, Literal

from shapely import Polygon

from purfle.model.findings import Face, Finding
from purfle.model.offcuts import Sawing, Tab
from purfle.model.pieces import Region
from purfle.model.shop import Cutter
from purfle.model.templates import Guiding, Template
from purfle.tolerances import SAME_PLACE

Stock = str
"""Name of what lies on the machine: "board" or the name of an offcut."""
PassKind = Literal["roughing", "last", "spring"]
WayRound = Literal["conventional", "climb"]
CuttingWay = Literal["machine", "templates", "guided router", "knife and saw"]
"""How a job is cut: by programs on a machine; with a hand router whose guide bushes follow templates; with a
position-guided hand router, which follows the outline files by itself; or with knife, chisel and fret saw."""

Holding = Literal["tape", "tabs", "sawn free"]
"""How parts are held while they are cut: by tape under all of the offcut, by tabs left standing besides, or by the
block that they are cut into and sawn off."""


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight move to (x, y, z), at a `share` of the feed."""

    x: float
    y: float
    z: float
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Turn:
    """A circular move in the xy plane about (cx, cy) to (x, y, z); counter-clockwise if `ccw`. Never a full circle.

    At a `share` of the feed.
    """

    x: float
    y: float
    z: float
    cx: float
    cy: float
    ccw: bool
    share: float = 1.0


Move = Straight | Turn


@dataclass(frozen=True, slots=True)
class Trip:
    """One unbroken trip of the cutter in the wood: enters at `start` from the safe height, then `moves`.

    `start` (x, y, z): z is where it may arrive without touching wood that is still there.
    """

    start: tuple[float, float, float]
    moves: tuple[Move, ...]

    def __reduce__(self) -> tuple[Any, ...]:
        """How it is handed to another process: its moves as plain numbers, a quarter of the work."""
        rows = [
            (m.x, m.y, m.z, m.share) if isinstance(m, Straight) else (m.x, m.y, m.z, m.cx, m.cy, m.ccw, m.share)
            for m in self.moves
        ]
        return _trip, (self.start, rows)


def _trip(start: tuple[float, float, float], rows: list[tuple[Any, ...]]) -> Trip:
    return Trip(start, tuple(Straight(*row) if len(row) == 4 else Turn(*row) for row in rows))


MORE_LEFT = "more where it is narrow"
"""Stands among the words of a roughing pass that went along the middle of narrow places alone."""


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass: `depth` below the face (positive), `off_line` distance kept from the line, the trips, the minutes."""

    number: int
    kind: PassKind
    what: str
    depth: float
    off_line: float
    way_round: WayRound
    trips: tuple[Trip, ...]
    minutes: float

    @property
    def leaves_more(self) -> bool:
        """True if it leaves more than its distance from the line in narrow places."""
        return self.kind == "roughing" and MORE_LEFT in self.what

    @property
    def least_share(self) -> float:
        """The smallest share of the feed that it goes at."""
        return min((move.share for trip in self.trips for move in trip.moves), default=1.0)


@dataclass(frozen=True, slots=True)
class CuttingFigures:
    """Speed (rpm), feed and plunge feed (mm/min), chip load (mm an edge) with its source, deflection of the tip (mm).

    `force` (N) on the cutter in its deepest cut, which bends it; `power` (W) at the cutter in its widest; `rim_speed`
    (m/s) of its edges.
    """

    speed: float
    feed: float
    plunge_feed: float
    chip_load: float
    chip_source: str
    deflection: float
    force: float
    power: float
    rim_speed: float


@dataclass(frozen=True, slots=True)
class CutLine:
    """One closed finished line that this program cuts to, in the frame of its set-up.

    `id` is a plain name ("recess-1", "piece-7", "hinge-1"), unique in its set-up. `kind`: a recess (wood inside the
    region goes) or a part (wood inside stays). `remnants`: what the cutter leaves of what was wanted, for the chisel.
    `tapered`: its walls slope; then `region` is the outline at the finished face. `tabs` that a part is held by.
    """

    id: str
    kind: Literal["recess", "part"]
    region: Region
    depth: float
    remnants: tuple[Polygon, ...] = ()
    tapered: bool = False
    tabs: tuple[Tab, ...] = ()


@dataclass(frozen=True, slots=True)
class Program:
    """One file for the machine: one cutter in one set-up. `tapered`: it works on tapered walls and their bottoms."""

    file: str
    cutter: Cutter
    passes: tuple[Pass, ...]
    figures: CuttingFigures
    minutes: float
    tapered: bool = False

    def first_through(self, thickness: float) -> Pass | None:
        """The first pass that goes through a stock of this thickness (mm), roughing or not; None if none does."""
        return next((one for one in self.passes if one.depth > thickness + SAME_PLACE), None)

    def skin(self, thickness: float) -> float:
        """What roughing leaves below parts of a stock of this thickness (mm); 0 where it leaves none."""
        return max(
            0.0, thickness - max((one.depth for one in self.passes if one.kind == "roughing"), default=thickness)
        )


@dataclass(frozen=True, slots=True)
class HandStep:
    """One pass that is guided by hand along one line: `depth` below the face, `off_line` kept from it; minutes."""

    line: str
    cutter: Cutter
    kind: PassKind
    depth: float
    off_line: float
    minutes: float


@dataclass(frozen=True, slots=True)
class SetUp:
    """One clamping of one stock. `outline`: of the stock in the set-up frame, whose origin is the program's zero.

    `lines` are the finished lines; `programs` in the order they run; `holding` a sentence or two. `order` of letting
    in: a later one is done when everything of the order before it is glued in and levelled. Cut by hand it has `steps`
    instead of programs, with templates a guiding for each connected line too. `sawing`: how its parts are sawn off.
    """

    number: int
    title: str
    slug: str
    stock: Stock
    face: Face
    outline: Polygon
    thickness: float
    lines: tuple[CutLine, ...]
    programs: tuple[Program, ...]
    holding: str
    safe_height: float
    set_up_minutes: float
    order: int = 1
    steps: tuple[HandStep, ...] = ()
    guides: tuple[Guiding, ...] = ()
    sawing: Sawing | None = None

    @property
    def on_tape(self) -> tuple[CutLine, ...]:
        """The parts that come loose while they are cut: tape alone holds them then. What hangs on a plate does not."""
        parts = [line for line in self.lines if line.kind == "part" and not line.tapered]
        return tuple(line for line in parts if not line.tabs and self.sawing is None)

    @property
    def on_tabs(self) -> tuple[CutLine, ...]:
        """The parts that stand on tabs until those are cut by hand."""
        return tuple(line for line in self.lines if line.tabs)

    @property
    def cutting_minutes(self) -> float:
        """How long the cutter runs in it, by programs or by hand."""
        return sum(one.minutes for one in self.programs) + sum(one.minutes for one in self.steps)

    @property
    def cutters(self) -> tuple[Cutter, ...]:
        """The cutters that it needs, in the order in which they are used."""
        return tuple(dict.fromkeys([*(one.cutter for one in self.programs), *(one.cutter for one in self.steps)]))


@dataclass(frozen=True, slots=True)
class CuttingRule:
    """How cutting is done. `allowance` is left by roughing; `step_over` and `depth_per_pass` as shares of the diameter.

    `clearing`: name of a larger cutter that clears the recesses of inlays before the finishing one; none if empty.
    `through`: how far below the offcut a part is cut through, into the sacrificial board. `unit`: of the programs.
    `last_pass`: its way round. `spring_passes`: how often it is gone again.
    `holding`: how parts are held while they are cut. `skin`: what roughing leaves of the thickness below parts; `tabs`:
    how many a part is held by, `tab_width` at the narrowest, `tab_height`. `planing`: taken off each sawn face; `saw`:
    its name, empty for the first of the shop. `copies` of each part.
    """

    allowance: float = 0.1
    step_over: float = 0.4
    depth_per_pass: float = 0.5
    ramp_angle: float = 3.0
    through: float = 0.3
    unit: Literal["mm", "inch"] = "mm"
    clearing: str = ""
    way: CuttingWay = "machine"
    last_pass: WayRound = "climb"
    spring_passes: int = 0
    holding: Holding = "tape"
    skin: float = 0.3
    tabs: int = 3
    tab_width: float = 3.0
    tab_height: float = 0.8
    planing: float = 0.5
    saw: str = ""
    copies: int = 1


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """All set-ups in the order they are done: board (show face, underside), offcuts, then over recesses."""

    set_ups: tuple[SetUp, ...]
    findings: tuple[Finding, ...] = ()
    templates: tuple[Template, ...] = ()

    @property
    def minutes(self) -> float:
        """Cutting and setting up together."""
        return sum(s.set_up_minutes + s.cutting_minutes for s in self.set_ups)
