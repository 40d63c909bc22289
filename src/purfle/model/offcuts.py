"""Which piece comes out of which offcut, and where."""

import math
from dataclasses import dataclass

from shapely import Polygon

from purfle.geometry.pose import Pose
from purfle.model.findings import Finding
from purfle.model.shop import Offcut


@dataclass(frozen=True, slots=True)
class Laid:
    """A part that the maker laid on an offcut: `piece` is its name or number, `inlay` the artwork that it is of, where
    names alone leave that open.

    `at`: the middle of the box around the part, mm from the left and the lower end of the offcut. `angle`: how far it
    is turned against the drawing, degrees, to the left; None: its fibres along those of the offcut.
    """

    piece: str
    offcut: str
    at: tuple[float, float]
    angle: float | None = None
    inlay: str = ""


@dataclass(frozen=True, slots=True)
class OffcutRule:
    """Room kept: `margin` from the offcut's edge, `between` pieces, `from_defect`; `grain_tolerance` in degrees.

    `step`: raster of the search in mm. `spares_below`: pieces of less area (mm2) get a spare. `copies` of every part
    where there is room, itself counted. `are_blocks`: parts are sawn off, so that an offcut is never too thick; of each
    block `slices` are wanted, and each further one takes the thickness of a part and `slice_over` mm (below 0: what
    holds the block together is needed once). `reach`: what the cutters go through; thicker offcuts come last. `laid`:
    what the maker laid; all else goes around it.
    """

    margin: float
    between: float
    from_defect: float
    grain_tolerance: float = 10.0
    step: float = 1.0
    spares_below: float = 30.0
    copies: int = 1
    are_blocks: bool = False
    slices: int = 1
    slice_over: float = 0.0
    reach: float = math.inf
    laid: tuple[Laid, ...] = ()


@dataclass(frozen=True, slots=True)
class Wanted:
    """A part that needs wood: insert outline in the artwork frame of its inlay, its grain there, its thickness.

    `hangs`: with tapered walls the insert hangs on a plate, its finished face down, until it is sawn off. Then `region`
    is the plate, `hangs` the insert on it, and all of it, grain too, in the mirror image of that frame (`TURNED`).
    """

    inlay: str
    number: int
    name: str
    wood: str
    region: Polygon
    grain: float
    thickness: float
    hangs: Polygon | None = None


TURNED = Pose(180.0, mirrored=True)
"""Takes the artwork frame of an inlay to that of its inserts turned over, left and right swapped; and back."""


@dataclass(frozen=True, slots=True)
class Tab:
    """A bridge between a part and the wood around it, left standing until it is cut by hand.

    `place`: the middle of its foot on the part's wall, in the frame of the set-up; `outwards`: where it leads from
    there, degrees. `width`: at its narrowest; `length`: of its foot along the wall; `height`: above the underside. The
    cutter's middle goes level `over` it for so long, about the place `middle`.
    """

    place: tuple[float, float]
    outwards: float
    width: float
    length: float
    height: float
    middle: tuple[float, float]
    over: float

    @property
    def bar(self) -> Polygon:
        """The tab seen from above, as wide as it is at its narrowest, from the wall to the wood around."""
        turn, across = math.radians(self.outwards), self.over - self.width
        out, half = (math.cos(turn), math.sin(turn)), self.width / 2.0
        (x, y), corners = self.place, ((-half, 0.0), (half, 0.0), (half, across), (-half, across))
        return Polygon([(x + far * out[0] - side * out[1], y + far * out[1] + side * out[0]) for side, far in corners])


@dataclass(frozen=True, slots=True)
class Sawing:
    """How parts are sawn off a block that is not cut through: `thickness` of each slice when planed, in mm.

    `planing`: taken off each sawn face; `groove`: of the saw, `saw` its name, empty where the shop names none.
    `levels`: how deep below the face each cut of the saw begins.
    """

    thickness: float
    planing: float
    groove: float
    saw: str
    levels: tuple[float, ...]

    @classmethod
    def of(cls, sizes: tuple[float, float, float], saw: str, copies: int) -> "Sawing":
        """So many slices; `sizes`: thickness, planing and groove."""
        thickness, planing, groove = sizes
        apart = thickness + 2.0 * planing + groove
        return cls(*sizes, saw, tuple(thickness + planing + k * apart for k in range(copies)))

    @property
    def copies(self) -> int:
        """How many slices come off the block: as many of each part."""
        return len(self.levels)

    @property
    def depth(self) -> float:
        """How deep the outlines are cut: as deep as the last groove of the saw."""
        return self.levels[-1] + self.groove


@dataclass(frozen=True, slots=True)
class Place:
    """One part on one offcut: `pose` takes the frame of the part to the offcut frame (never mirrored).

    `tabs`: those that it stands on while it is cut, in the offcut frame.
    """

    part: Wanted
    offcut: str
    pose: Pose
    spare: bool = False
    tabs: tuple[Tab, ...] = ()

    @property
    def region(self) -> Polygon:
        """The part's outline in the offcut frame."""
        return self.pose.region(self.part.region)

    @property
    def insert(self) -> Polygon:
        """The insert's outline in the offcut frame; with tapered walls within that of its plate."""
        return self.pose.region(self.part.hangs or self.part.region)

    @property
    def to_artwork(self) -> Pose:
        """From the offcut frame to the artwork frame of its inlay."""
        return self.pose.inverse() if self.part.hangs is None else self.pose.inverse().then(TURNED)


@dataclass(frozen=True, slots=True)
class ShortGrain:
    """A thin part of a piece whose fibres run across it: width in mm, angle between its length and the grain."""

    inlay: str
    number: int
    name: str
    width: float
    angle: float
    place: tuple[float, float]


@dataclass(frozen=True, slots=True)
class ThinPart:
    """A thin part of a piece: its mean `width` and `length` in mm, and its `angle` to the fibres, 0 to 90 degrees.

    `share` of the wood's bending strength along the fibres that it has so; `best`: the direction of fibres in the
    artwork frame that serves the piece best, and the share it would have then. `place` in the artwork frame.
    """

    inlay: str
    number: int
    name: str
    wood: str
    width: float
    length: float
    angle: float
    share: float
    best: float
    best_share: float
    place: tuple[float, float]


@dataclass(frozen=True, slots=True)
class OnOffcuts:
    """All parts placed. `used`: only offcuts with a place, in rack order. `to_buy`: one line a wood that ran out.

    `blocks`: the offcuts that parts are sawn off, by their names. `boards_to_buy`: the wood of each of those lines, and
    the length, width and thickness (mm) of the board. `thin`: the thin parts of all pieces.
    """

    used: tuple[Offcut, ...]
    places: tuple[Place, ...]
    unplaced: tuple[Wanted, ...]
    short_grain: tuple[ShortGrain, ...]
    to_buy: tuple[str, ...]
    findings: tuple[Finding, ...] = ()
    blocks: tuple[tuple[str, Sawing], ...] = ()
    boards_to_buy: tuple[tuple[str, tuple[float, float, float]], ...] = ()
    thin: tuple[ThinPart, ...] = ()

    def sawing(self, offcut: str) -> Sawing | None:
        """How parts are sawn off the offcut of this name; None where they are not."""
        return dict(self.blocks).get(offcut)
