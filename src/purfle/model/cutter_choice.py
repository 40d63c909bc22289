"""What each cutter of the shop makes of a design, and which of them to use."""

from dataclasses import dataclass
from typing import Literal

from purfle.errors import Fault
from purfle.model.pieces import Fit, Region
from purfle.model.shop import Cutter

DepartureKind = Literal["area", "detail", "corner"]


@dataclass(frozen=True, slots=True)
class Departure:
    """A place where the design as made departs from the drawing.

    `kind`: an area of which nothing is left; a lost detail of one (a slot, a neck, a narrow end); or a corner or tip
    that comes out shorter, by so much that it is seen. `depth`: how far it reached beyond what is left of its wood, mm;
    of an area the radius of the largest disc in it. `instead`: the wood that lies there now. `place`: inside it.
    """

    kind: DepartureKind
    name: str
    wood: str
    region: Region
    depth: float
    place: tuple[float, float]
    instead: str


@dataclass(frozen=True, slots=True)
class Fidelity:
    """How true a design comes out. Lengths in mm, areas in mm2.

    `changed_area` is of another wood than drawn, `changed_share` of what is drawn to be let in. `largest_move`: how far
    an outline of a wood moved at most, lost details left out, at `moved_at`; `usual_move` its root mean square.
    `inside_radius`: the tightest inside corner of recesses and inserts, None where there is none.
    """

    departures: tuple[Departure, ...]
    pieces: int
    changed_area: float
    changed_share: float
    largest_move: float
    moved_at: tuple[float, float]
    usual_move: float
    inside_radius: float | None

    @property
    def lost(self) -> tuple[Departure, ...]:
        """Areas and details that are gone."""
        return tuple(one for one in self.departures if one.kind != "corner")

    @property
    def corners(self) -> tuple[Departure, ...]:
        """Corners and tips that come out shorter, the shortest first."""
        return tuple(one for one in self.departures if one.kind == "corner")


@dataclass(frozen=True, slots=True)
class Clearing:
    """A larger cutter that clears the floor before, and the minutes that everything then takes, its change counted."""

    cutter: Cutter
    minutes: float


@dataclass(frozen=True, slots=True)
class CutterTrial:
    """What one cutter makes of the design. `fits` and `fidelity` are missing where it is `refused`, with the faults.

    `minutes` of cutting recesses and inserts; None where it is too short for them. `too_short`: in words, what it
    cannot reach. `clearings`: larger cutters that can go before it.
    """

    cutter: Cutter
    fits: tuple[Fit, ...] = ()
    fidelity: Fidelity | None = None
    minutes: float | None = None
    too_short: str = ""
    clearings: tuple[Clearing, ...] = ()
    refused: tuple[Fault, ...] = ()

    @property
    def is_usable(self) -> bool:
        """True if it makes the design and reaches its depth."""
        return self.fidelity is not None and not self.too_short and not self.refused


@dataclass(frozen=True, slots=True)
class CutterSet:
    """One or two cutters for the design: which finishes, which clears before it, if any, and what that comes to.

    `is_worth_it`: no other set is both quicker and truer.
    """

    finishing: Cutter
    clearing: Cutter | None
    minutes: float
    changed_share: float
    lost: int
    is_worth_it: bool = False


@dataclass(frozen=True, slots=True)
class CutterChoice:
    """Every cutter tried, larger ones first; every set of them, quickest first; and the set to take.

    `drawn`: what the drawing lets in, by wood. `chosen`: the cutter that the job names, if it names one. `recommended`
    and `why` are missing where no cutter makes the design. `kept`: which areas keep a cutter of their own in every row.
    """

    trials: tuple[CutterTrial, ...]
    sets: tuple[CutterSet, ...]
    recommended: CutterSet | None
    why: str
    rule: str
    drawn: tuple[tuple[str, Region], ...]
    depth: float
    chosen: str = ""
    kept: str = ""
