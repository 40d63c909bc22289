"""Areas: closed regions of the drawing that tile its frame and share their boundaries."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, total_bounds

from purfle.geometry.pose import Polyline
from purfle.model.findings import Finding

Colour = tuple[int, int, int]
"""sRGB, 0 to 255."""
DrawingUnit = Literal["mm", "cm", "m", "inch", "ft"]
"""What one unit of a drawing is, where its file does not say so."""
Which = Colour | tuple[float, float] | str
"""Which area is meant: by its colour, by a point of the design inside it (mm), or by its name."""
LineWay = Literal["keep", "drop", "stringing"]
"""What becomes of a drawn line inside one area."""
Place = tuple[float, float]
"""A place in a picture: px from its upper left corner, x to the right, y down."""
OUTSIDE = -1
"""The area number of what lies outside the frame."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture as read: `pixels` uint8 (h, w, 3) sRGB, top row first; `alpha` uint8 (h, w) or None.

    Readers have already turned it by its EXIF orientation and converted CMYK, 16 bit and palettes. `lossy`: JPEG or
    lossy WebP. `name` is for messages.
    """

    pixels: NDArray[np.uint8]
    alpha: NDArray[np.uint8] | None
    lossy: bool
    name: str


@dataclass(frozen=True, slots=True)
class Photograph:
    """What the maker says of a photograph of a drawing on paper, or of a board.

    `sheet`: width and height of the sheet, mm, as it lies in the picture; None: not known. `either_way`: it may lie
    turned by a quarter. `corners`: of the sheet in the picture, clockwise from the drawing's upper left one; None:
    found. `known`: two places in the picture and the distance between them, mm. All places in px from the upper left
    corner of the upper left pixel, y down. `sheet_name` is for messages.
    """

    sheet: tuple[float, float] | None = None
    either_way: bool = False
    corners: tuple[Place, Place, Place, Place] | None = None
    known: tuple[Place, Place, float] | None = None
    sheet_name: str = ""


@dataclass(frozen=True, slots=True)
class TraceRule:
    """How a picture becomes areas. `number_of_colours` None: found. `ground_colour` None: the border's colour.

    `number_of_colours` counts the ground as one of them.
    `smallest_px`: areas with fewer pixels are merged into a neighbour and reported.
    `ground_at`: a place in the picture whose colour is the ground's.
    """

    number_of_colours: int | None = None
    ground_colour: Colour | None = None
    smallest_px: float = 8.0
    ground_at: Place | None = None


@dataclass(frozen=True, slots=True)
class PaintedShape:
    """One painted region of a drawing, mm, y up, with the name (id) that the drawing gives it, if any."""

    name: str
    colour: Colour
    region: Polygon | MultiPolygon


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing as read, at true size: the painted shapes from the lowest to the topmost, y up, mm.

    `not_carried`: what the reader met and could not turn into shapes, each with its place in the file.
    """

    width: float
    height: float
    shapes: tuple[PaintedShape, ...]
    not_carried: tuple[Finding, ...]
    name: str

    @property
    def design_size(self) -> tuple[float, float]:
        """Width and height of all that is painted, mm."""
        left, low, right, high = total_bounds([shape.region for shape in self.shapes]).tolist()
        return right - left, high - low


@dataclass(frozen=True, slots=True)
class Arc:
    """A boundary stretch between two junctions, stored once. `left` and `right` are area numbers or OUTSIDE.

    `points` (n, 2) runs from the first junction to the last; a closed arc repeats its first point at the end.
    `curves`: what was fitted and then flattened to these points, in order: lines (2 points), arcs of circles (3: both
    ends, the middle between them) and cubics (4 control points); empty where a boundary came as points.
    """

    points: Polyline
    left: int
    right: int
    curves: tuple[Polyline, ...] = ()


@dataclass(frozen=True, slots=True)
class Area:
    """One closed region. `number` is its index in `Areas.areas`; `region` has holes where other areas lie inside.

    `wood`, `width` (in the unit of the areas): of stringing that an edit made of a drawn line; "" and 0 for all else,
    whose wood is still to be chosen. `settled`: a line inside one area of which the maker said what becomes of it.
    """

    number: int
    colour: Colour
    region: Polygon
    name: str = ""
    wood: str = ""
    width: float = 0.0
    settled: bool = False


@dataclass(frozen=True, slots=True)
class Areas:
    """Areas that tile the frame `[0, width] x [0, height]` exactly, y up.

    `unit` is "px" (a picture: scale still open) or "mm" (a drawing at true size).
    `ground` holds the numbers of the areas that are bare board (background), possibly several, possibly none.
    `unit_error`: expected error of a boundary, in `unit`. `doubts`: what the maker should look at.
    `design`: bounds (left, low, right, high) of the design before it was edited, in `unit`; its lower left corner is
    where points given in mm are measured from. None: the bounds of all areas that are not ground.
    `gone`: names that no area has any more since an edit took it, each with that edit as the job file calls it.
    `mm_per_unit`: where the picture itself says how large it is, as a photographed sheet does; None: still open.
    """

    width: float
    height: float
    unit: Literal["px", "mm"]
    areas: tuple[Area, ...]
    arcs: tuple[Arc, ...]
    ground: frozenset[int]
    unit_error: float = 0.0
    doubts: tuple[Finding, ...] = ()
    design: tuple[float, float, float, float] | None = None
    mm_per_unit: float | None = None
    gone: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class SymmetryWish:
    """A design to be made symmetrical: the direction of its mirror line, and the half that is kept.

    `at`: mm from the left end (upright) or the foot (level) of the design; None: found. `upper_half`: keep the right
    (upright) or upper (level) half instead of the left or lower one.
    """

    upright: bool
    at: float | None = None
    upper_half: bool = False


@dataclass(frozen=True, slots=True)
class LineWish:
    """What becomes of drawn lines inside one area: kept, dropped, or made stringing.

    `which`: the lines that are meant, None for all. `wood` (as the maker writes it) and `width` (mm; 0: as wide as the
    line is on average) are those of the stringing.
    """

    which: Which | None
    way: LineWay
    wood: str = ""
    width: float = 0.0


@dataclass(frozen=True, slots=True)
class AreaEdits:
    """What the maker wants changed in the areas, in the order in which it is done.

    `on_top`: pairs of overlapping shapes of a drawing, the first shall lie over the second. `merge`: groups that become
    one area each, with the name and colour of the first. `to_ground` and `to_neighbour`: areas that become bare board,
    or part of the neighbour with the longest border, as do areas of less than `smallest` mm2 or narrower than
    `narrowest` mm. `dissolve`: drawn lines whose neighbours take them up to their middle, before all else. `lines`:
    what becomes of lines inside one area, directly after that.
    """

    on_top: tuple[tuple[Which, Which], ...] = ()
    merge: tuple[tuple[Which, ...], ...] = ()
    to_ground: tuple[Which, ...] = ()
    to_neighbour: tuple[Which, ...] = ()
    smallest: float = 0.0
    narrowest: float = 0.0
    symmetry: SymmetryWish | None = None
    dissolve: tuple[Which, ...] = ()
    lines: tuple[LineWish, ...] = ()
