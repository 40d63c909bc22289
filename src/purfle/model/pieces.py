"""Pieces that can be cut, and the fit: inserts and recess with their seam. All in the artwork frame, mm."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, TypeAlias

from shapely import MultiPolygon, Polygon, get_parts

from purfle.model.artwork import Colour
from purfle.model.findings import Finding
from purfle.model.tapered import TaperedRule

if TYPE_CHECKING:
    from purfle.geometry.symmetry import Symmetry

Region: TypeAlias = Polygon | MultiPolygon
CornerWay = Literal["round", "chisel"]
"""A recess's inside corner: left as round as the cutter makes it, the insert rounded with it; or chiselled sharp."""
Way = Literal["over", "beside"]
"""One over another: let into an insert that is already glued; or side by side with the others in one recess."""


@dataclass(frozen=True, slots=True)
class FitRule:
    """What the fit is held to. `cutter_radius`: of the finishing cutter, where an area names no other. `seam`: width
    of every joint.

    `corners`: what becomes of the recess's inside corners; `corner_wishes` say otherwise for the corner nearest to a
    place of the artwork.
    """

    cutter_radius: float
    seam: float
    thinnest: float = 0.8
    tip: float = 0.8
    time_limit_s: float = 30.0
    corners: CornerWay = "round"
    corner_wishes: tuple[tuple[tuple[float, float], CornerWay], ...] = ()


@dataclass(frozen=True, slots=True)
class DrawnArea:
    """What goes into the fit: one area at true size with its wood chosen. The ground is not among them.

    `apart`: a part of its own, which is not joined to a neighbour of the same wood (a strip of stringing).
    `cutter_radius`: of the cutter that finishes this area, None for that of the rule. `shared_name`: what the job calls
    it where several artworks go by one name; `name` then tells them apart. `words`: those that a letter belongs to, as
    the job calls them.
    """

    name: str
    wood: str
    colour: Colour
    region: Region
    apart: bool = False
    cutter_radius: float | None = None
    shared_name: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """One connected area made cuttable, as the pieces tile (seam not yet taken).

    `number` counts from 1. `region` equals its closing by the cutter radius less half the seam, within
    `tolerances.CLOSED`; the insert that is left when half the seam is off equals that by the whole radius.
    `cutter_radius`: of its own finishing cutter, None for that of the rule.
    """

    number: int
    name: str
    wood: str
    colour: Colour
    region: Polygon
    cutter_radius: float | None = None


@dataclass(frozen=True, slots=True)
class Lost:
    """A detail of the drawing that no piece carries any more: what it was, why, and what became of the wood."""

    name: str
    wood: str
    region: Region
    why: str
    instead: str


@dataclass(frozen=True, slots=True)
class Pieces:
    """Pieces and ground that tile `domain`. `ground` equals its closing too; islands of ground belong to it.

    `closing_residual_geos`, `closing_residual_clipper`: deepest part of any closing minus its piece, by each engine.
    `art_changed`: share of the drawn insert area that changed wood. `junctions`: where three or more pieces meet
    (ground counted), or where a piece's border has a corner sharper than the seam rule allows for. `chiselled`: what
    of the inserts fills corners that the ground's cutter leaves round; less these, the ground equals its closing.
    """

    domain: Polygon
    ground: Region
    pieces: tuple[Piece, ...]
    lost: tuple[Lost, ...]
    junctions: tuple[tuple[float, float], ...]
    closing_residual_geos: float
    closing_residual_clipper: float
    art_changed: float
    findings: tuple[Finding, ...] = ()
    chiselled: tuple[Polygon, ...] = ()
    symmetries: "tuple[Symmetry, ...]" = ()
    """The mirror lines that groups of areas, or all of them, have, and their pieces with them."""


@dataclass(frozen=True, slots=True)
class Insert:
    """A piece with its half of the seam taken off: the outline that is cut. `number`, `name` are the piece's.

    `hosts`: numbers of the inserts that it is let into once they are glued and levelled; none if into the board itself.
    `cutter_radius`: as the piece's.
    """

    number: int
    name: str
    wood: str
    colour: Colour
    region: Polygon
    hosts: tuple[int, ...] = ()
    cutter_radius: float | None = None


@dataclass(frozen=True, slots=True)
class OrderChoice:
    """How one area is let in, where both ways were open or the job names it: over its hosts, or beside all others.

    `by`: "rule" or "job". `why`: the reason in words. `place`: inside the area, artwork frame.
    """

    name: str
    way: Way
    by: Literal["rule", "job"]
    why: str
    place: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SeamFigures:
    """The seam as drawn, measured by sampling distances: narrowest, widest (with places), share within +0.01 mm."""

    narrowest: float
    narrowest_at: tuple[float, float]
    widest: float
    widest_at: tuple[float, float]
    share_within: float
    length: float


@dataclass(frozen=True, slots=True)
class Fit:
    """Recess and inserts of one inlay. `recess` is what is cut away from the ground (holes are islands left).

    `order` 1 is let into the board. A later one is let into inserts of the order before it, which are its ground; with
    tapered walls into the board beside them, when they are glued in and level.
    `choices`: the ways of letting in that were chosen for the whole design, kept with order 1. `walls`: where they are
    tapered; inserts and recess are then the same outlines at the finished face, and the seam closes as they are pressed
    in.
    """

    rule: FitRule
    pieces: Pieces
    inserts: tuple[Insert, ...]
    recess: Region
    seam: SeamFigures
    order: int = 1
    choices: tuple[OrderChoice, ...] = ()
    walls: TaperedRule | None = None

    def radius_of(self, insert: Insert) -> float:
        """Radius of the cutter that finishes an insert."""
        return self.rule.cutter_radius if insert.cutter_radius is None else insert.cutter_radius

    def recess_parts(self) -> tuple[tuple[Polygon, float], ...]:
        """Every connected recess with the radius of its finishing cutter: the smallest of those of its inserts."""
        parts = [part for part in get_parts(self.recess) if isinstance(part, Polygon)]
        found = [[self.radius_of(one) for one in self.inserts if part.intersects(one.region)] for part in parts]
        return tuple(
            (part, min(radii, default=self.rule.cutter_radius)) for part, radii in zip(parts, found, strict=True)
        )
