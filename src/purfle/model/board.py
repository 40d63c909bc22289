"""The board with its two faces, what is let into it, and where."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from shapely import Point, Polygon

from purfle.geometry.pose import Pose
from purfle.model.artwork import Photograph
from purfle.model.findings import Face, Finding
from purfle.model.pieces import Fit, Region
from purfle.tolerances import QUADRANT_SEGMENTS

FittingKind = Literal[
    "hinge",
    "magnet",
    "round",
    "oblong",
    "threaded insert",
    "foot plate",
    "ferrule",
    "cable hole",
    "drawer pull",
]
ROUND_KINDS = ("magnet", "round", "ferrule")
"""Fittings whose recess is always round; a foot plate may be."""
BARE_KINDS = ("threaded insert", "cable hole", "drawer pull")
"""Fittings that are holes and nothing else: nothing is let in."""
HoleKind = Literal["screw", "threaded insert", "cable hole", "bolt"]


@dataclass(frozen=True, slots=True)
class BoardPhotograph:
    """A photograph of the show face. Its `photograph.sheet` is what the four corners are those of.

    `corner`: where the lower left corner of that rectangle is on the board, mm from edge B and from edge A.
    """

    file: Path
    photograph: Photograph
    corner: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Board:
    """A board. `length` along the front datum edge A (x), `width` along the left datum edge B (y).

    `grain` is the direction of its fibres in degrees from A. `photograph`: of its show face, where there is one; then
    that is shown under the drawing. `shape` (board frame): the outline of a board whose edges are not all straight;
    A and B are then the front and left lines of the rectangle that it lies in. `edges_seen`: that outline is still to
    be found in the photograph. `rings`: angle of its growth rings to its face, degrees, 0 flat-sawn to 90 quarter-sawn;
    None where nothing says.
    """

    wood: str
    length: float
    width: float
    thickness: float
    grain: float = 0.0
    photograph: BoardPhotograph | None = None
    shape: Polygon | None = None
    edges_seen: bool = False
    rings: float | None = None

    @property
    def outline(self) -> Polygon:
        """The show face, board frame."""
        return self.rectangle if self.shape is None else self.shape

    @property
    def surface(self) -> float:
        """Both faces and all edges, mm2."""
        return float(2.0 * self.outline.area + self.outline.length * self.thickness)

    @property
    def rectangle(self) -> Polygon:
        """The rectangle between A, B and the lines across from them, board frame; the outline of most boards."""
        return Polygon([(0, 0), (self.length, 0), (self.length, self.width), (0, self.width)])


@dataclass(frozen=True, slots=True)
class Fitting:
    """A recess for hardware, as the maker asked for it. `wanted` in the board frame, with sharp corners if drawn so.

    `centre` is its middle in the board frame; `size` (along x, along y), for a round one twice its diameter.
    `open_edge`: True where it runs out over the edge of the board. `is_disc`: round although its kind need not be.
    `knuckle`: how far a hinge stands over the edge. `line`: where the job file speaks of it, 0: nowhere.
    """

    number: int
    kind: FittingKind
    name: str
    face: Face
    wanted: Polygon
    centre: tuple[float, float]
    size: tuple[float, float]
    depth: float
    open_edge: bool = False
    is_disc: bool = False
    knuckle: float = 0.0
    line: int = 0

    @property
    def is_round(self) -> bool:
        """True for a recess that is a circle."""
        return self.is_disc or self.kind in ROUND_KINDS

    @property
    def id(self) -> str:
        """The name of its finished line, unique in its set-up."""
        return f"{self.kind.replace(' ', '-')}-{self.number}"


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole that is drilled by hand, square to its face; `centre` in the board frame.

    `number` runs through on each face, in the order in which holes are marked. `drill`: its diameter; `body`: that of
    what goes into it. `depth` below the face, `floor` that of the recess it starts from; `is_through`: out of the other
    face. `fitting`: the name of what it serves; `line`: where the job file speaks of that, 0: nowhere. `left`: the wood
    beyond its bottom, to the other face or what is cut from there. `long`: of its screw, 0 where it has none.
    """

    number: int
    kind: HoleKind
    name: str
    fitting: str
    face: Face
    centre: tuple[float, float]
    drill: float
    body: float
    depth: float
    floor: float = 0.0
    is_through: bool = False
    line: int = 0
    left: float = 0.0
    long: float = 0.0

    @property
    def room(self) -> Polygon:
        """What it takes of the board, board frame: the drilled hole, or what goes into it where that is wider."""
        return Point(self.centre).buffer(max(self.drill, self.body) / 2.0, QUADRANT_SEGMENTS)


@dataclass(frozen=True, slots=True)
class Inlay:
    """One design let into one face: its fit, and the pose from the artwork frame to the board frame.

    `pose` of an inlay on the underside is mirrored, since the board frame is seen from the show face.
    `proud`: how far inserts stand above the face before levelling. `glue_room`: left below them.
    `into`: the name of the inlay whose glued and levelled inserts it is let into, empty for the board itself. With
    tapered walls it is let in beside them, when they are glued in and level.
    """

    name: str
    face: Face
    fit: Fit
    pose: Pose
    depth: float
    proud: float
    glue_room: float
    kind: Literal["picture", "key", "plug"] = "picture"
    into: str = ""

    @property
    def order(self) -> int:
        """1 if let into the board, 2 if let into what is let into the board, and so on."""
        return self.fit.order

    @property
    def insert_thickness(self) -> float:
        """Thickness that an insert needs: recess depth, less the glue room, plus what it stands proud.

        With tapered walls that of the stock that it is cut into and sawn off from.
        """
        if self.fit.walls is not None:
            return self.fit.walls.stock_thickness
        return self.depth - self.glue_room + self.proud

    @property
    def recess(self) -> Region:
        """The recess in the board frame."""
        return self.pose.region(self.fit.recess)


@dataclass(frozen=True, slots=True)
class Mark:
    """One line or point to set out. `kind`: "line_x" (a line at x), "line_y", or "point" (a proof point).

    `show_x`, `show_y`: true distance from datum edge B (x) and A (y), None where not measured.
    """

    number: int
    name: str
    face: Face
    kind: Literal["line_x", "line_y", "point"]
    from_b: float | None
    from_a: float | None


@dataclass(frozen=True, slots=True)
class WoodLeft:
    """Thickness left at one recess: how much, where (board frame) and what lies on the other face there."""

    name: str
    left: float
    place: tuple[float, float]
    against: str


@dataclass(frozen=True, slots=True)
class ThicknessLeft:
    """One part of the board with one thickness left between its faces, board frame; `place` well inside it.

    `cut_by`: what is cut or drilled there, that of the show face first; empty: the bare board.
    """

    left: float
    region: Region
    place: tuple[float, float]
    cut_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Layout:
    """The board with everything placed on it. Inlays and fittings never touch each other or a closed edge."""

    board: Board
    inlays: tuple[Inlay, ...]
    fittings: tuple[Fitting, ...]
    marks: tuple[Mark, ...]
    wood_left: tuple[WoodLeft, ...]
    check: Mark | None
    nearest: tuple[tuple[str, str, float], ...]
    findings: tuple[Finding, ...] = ()
    holes: tuple[Hole, ...] = ()
    thickness: tuple[ThicknessLeft, ...] = ()

    @property
    def bare_fittings(self) -> dict[tuple[str, str], list[Hole]]:
        """The holes of each fitting that is holes and nothing else, by its kind and name: no recess tells of it.

        A cable hole and a threaded insert are one hole each; a drawer pull has the holes of its bolts.
        """
        let_in = {fitting.name for fitting in self.fittings}
        found: dict[tuple[str, str], list[Hole]] = {}
        for hole in self.holes:
            if hole.fitting not in let_in:
                kind = hole.kind if hole.kind in ("cable hole", "threaded insert") else "drawer pull"
                found.setdefault((kind, hole.fitting), []).append(hole)
        return found

    @property
    def bare_counts(self) -> dict[str, int]:
        """How many of each kind of fitting are holes and nothing else."""
        counts: dict[str, int] = {}
        for (kind, _), holes in self.bare_fittings.items():
            counts[kind] = counts.get(kind, 0) + (1 if kind == "drawer pull" else len(holes))
        return counts
