"""Ready artwork: shapes, stringing, banding and lettering that Purfle draws itself, with their sizes in mm."""

from dataclasses import dataclass
from typing import TypeAlias

from shapely.geometry.base import BaseGeometry

from purfle.model.pieces import Region


@dataclass(frozen=True, slots=True)
class Disc:
    """A disc."""

    diameter: float


@dataclass(frozen=True, slots=True)
class Oval:
    """An ellipse, `length` along x and `width` along y."""

    length: float
    width: float


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle, `length` along x and `width` along y, its corners rounded by `corner_radius`."""

    length: float
    width: float
    corner_radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Diamond:
    """A rhombus whose corners lie on the axes, `length` along x and `width` along y."""

    length: float
    width: float


@dataclass(frozen=True, slots=True)
class Butterfly:
    """The outline of a butterfly key, its length along x."""

    length: float
    end_width: float
    waist_width: float


@dataclass(frozen=True, slots=True)
class Fan:
    """Blades that spread from one middle, symmetric about y: `spread` in degrees from the first to the last edge.

    `hub` is the radius at which they begin; 0: they meet in a point. `scalloped`: every blade ends in a bow of its own.
    """

    radius: float
    blades: int
    spread: float
    hub: float = 0.0
    scalloped: bool = False


@dataclass(frozen=True, slots=True)
class Star:
    """A star with its first point up: `diameter` over its points, `waist` over the notches between them.

    `halved`: each point is split along its middle.
    """

    diameter: float
    points: int
    waist: float
    halved: bool = True


@dataclass(frozen=True, slots=True)
class StraightTrack:
    """A straight line along x."""

    length: float


@dataclass(frozen=True, slots=True)
class FrameTrack:
    """A closed rectangle: `length` and `width` over its outside, the outer corners rounded by `corner_radius`."""

    length: float
    width: float
    corner_radius: float = 0.0


@dataclass(frozen=True, slots=True)
class RingTrack:
    """A circle: `diameter` over the outside of what lies on it."""

    diameter: float


@dataclass(frozen=True, slots=True)
class PathTrack:
    """The line of SVG path data, its units mm, y down as SVG has it."""

    path: str


Track: TypeAlias = StraightTrack | FrameTrack | RingTrack | PathTrack


@dataclass(frozen=True, slots=True)
class Stringing:
    """A thin line of one wood along a track. `longest`: no strip of it is longer; 0: as the track gives them."""

    track: Track
    width: float
    longest: float = 0.0


@dataclass(frozen=True, slots=True)
class Banding:
    """A strip of repeated blocks: `block` is about their length, `line` the width of plain lines along both sides.

    Woods: those of the blocks in turn; where there are lines, theirs is the last one.
    """

    track: StraightTrack | FrameTrack
    width: float
    block: float
    line: float = 0.0


@dataclass(frozen=True, slots=True)
class Letter:
    """One letter of a font at true size: its outline from its own start on the base line, and the room it takes.

    `advance`: from its start to its end; `kerning` is added to that before the next letter begins.
    """

    sign: str
    region: Region
    advance: float
    kerning: float = 0.0


@dataclass(frozen=True, slots=True)
class Lettering:
    """Words: their letters in order. `height` is the cap height, `spacing` is added between letters.

    `circle`: diameter of the circle that the letters stand on (0: a straight line). `inside`: they stand inside it,
    upright at its foot. `at`: direction of their middle from the circle's middle, degrees from x.
    """

    letters: tuple[Letter, ...]
    height: float
    spacing: float = 0.0
    circle: float = 0.0
    inside: bool = False
    at: float = 90.0


Form: TypeAlias = Disc | Oval | Rectangle | Diamond | Butterfly | Fan | Star | Stringing | Banding | Lettering


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a ready artwork: its name within it ("" for the only one), which of its woods, its outline."""

    name: str
    wood: int
    region: Region


@dataclass(frozen=True, slots=True)
class ReadyDrawing:
    """A ready artwork as drawn, mm, y up. `frame` is what its place is measured to."""

    parts: tuple[Part, ...]
    frame: BaseGeometry
