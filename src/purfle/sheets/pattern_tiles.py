"""A pattern larger than the paper, cut into pages that are laid together by their crosses."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.sheets.drawing import CENTRE, FINE, HAIR, Drawing
from purfle.sheets.pattern_outlines import NOTE, TITLE, Pattern
from purfle.sheets.rooms import MARK, Place

OVERLAP = 8.0
"""Paper round each tile on which the outline runs on, in mm."""
CROSS = 5.0
"""Half the length of a cross."""
BAND = 17.0
"""Height of the words and the page grid above a tile."""
KEY = 12.0
"""Height of the page grid."""
RECESS = "#ececec"
SAWN = (0.9, 0.6)
"""Dashes of the line that is sawn: short ones, for it runs hard by the outline."""


@dataclass(frozen=True, slots=True)
class Grid:
    """How a pattern is cut into tiles: their number across and up, and the size of each."""

    across: int
    up: int
    wide: float
    high: float

    def tile(self, column: int, row: int) -> shapely.Polygon:
        """A tile in the frame of the pattern; columns count from the left, rows from the top."""
        x, y = column * self.wide, (self.up - 1 - row) * self.high
        return shapely.box(x, y, x + self.wide, y + self.high)


def grid_of(pattern: Pattern, room: Place) -> Grid:
    """The fewest tiles that cover a pattern, all of one size, on pages with this room."""
    wide, high = pattern.size
    most = (room[0] - 2 * OVERLAP, room[1] - BAND - 2 * OVERLAP)
    across, up = max(1, math.ceil(wide / most[0])), max(1, math.ceil(high / most[1]))
    return Grid(across, up, wide / across, high / up)


def tile_drawings(pattern: Pattern, room: Place) -> list[Drawing]:
    """One drawing for each tile that holds something of the pattern, row by row from the upper left."""
    grid = grid_of(pattern, room)
    tiles = [(column, row) for row in range(grid.up) for column in range(grid.across)]
    full = [t for t in tiles if pattern.region.intersects(grid.tile(*t))]
    return [_tile(pattern, grid, tile, full, room) for tile in full]


def _tile(pattern: Pattern, grid: Grid, tile: tuple[int, int], full: list[tuple[int, int]], room: Place) -> Drawing:
    drawing = Drawing(room[0], room[1])
    x0, _, _, y1 = grid.tile(*tile).bounds
    at = (OVERLAP, BAND + OVERLAP)

    def places(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack([at[0] + xy[:, 0] - x0, at[1] + y1 - xy[:, 1]])

    paper = shapely.box(0, BAND, 2 * OVERLAP + grid.wide, BAND + 2 * OVERLAP + grid.high)
    shape = shapely.transform(pattern.region, places)
    _outline(drawing, pattern, shape, paper)
    if pattern.middle is not None:
        _middle_lines(drawing, shapely.transform(_crossing(pattern), places).intersection(paper))
    _words(drawing, pattern, grid, tile, full)
    _crosses(drawing, grid, tile, at)
    _number(drawing, pattern, shape, shapely.box(at[0], at[1], at[0] + grid.wide, at[1] + grid.high))
    return drawing


def _outline(drawing: Drawing, pattern: Pattern, shape: BaseGeometry, paper: BaseGeometry) -> None:
    """What of the outline lies on this page, with no line along the page's own edge."""
    drawing.region(shape.intersection(paper), 0.0, "none" if pattern.label else RECESS)
    sawn = shape.buffer(pattern.saw_line).boundary.intersection(paper) if pattern.saw_line else shapely.MultiPolygon()
    for part in shapely.get_parts(shapely.line_merge(sawn)) if pattern.saw_line else ():
        drawing.line(list(part.coords), HAIR, SAWN)
    for part in shapely.get_parts(shapely.line_merge(shape.boundary.intersection(paper))):
        if isinstance(part, shapely.LineString):
            drawing.line(list(part.coords))


def _crossing(pattern: Pattern) -> BaseGeometry:
    """The middle lines of a template, over the whole of its opening, in the frame of the pattern."""
    assert pattern.middle is not None
    (x, y), (wide, high) = pattern.middle, pattern.size
    return shapely.MultiLineString([[(-OVERLAP, y), (wide + OVERLAP, y)], [(x, -OVERLAP), (x, high + OVERLAP)]])


def _middle_lines(drawing: Drawing, lines: BaseGeometry) -> None:
    for part in shapely.get_parts(lines):
        drawing.line(list(part.coords), HAIR, CENTRE)


def _words(drawing: Drawing, pattern: Pattern, grid: Grid, tile: tuple[int, int], full: list[tuple[int, int]]) -> None:
    """Name and note, which page of the pattern this is, and the page grid with this page in black."""
    number = full.index(tile) + 1
    if pattern.label:
        drawing.mark((3.4, 4.6), pattern.label)
    drawing.text((pattern.indent, 2.6), pattern.title, TITLE, "bold", anchor="l")
    drawing.text((pattern.indent, 7.2), pattern.note, NOTE, "italic", anchor="l")
    drawing.text((pattern.indent, 12.0), f"page {number} of {len(full)} of this pattern", TITLE, anchor="l")
    side = min(KEY / grid.up, 40.0 / grid.across, 6.0)
    left = drawing.width - side * grid.across - 0.3
    for row in range(grid.up):
        for column in range(grid.across):
            x, y = left + column * side, 0.3 + row * side
            fill = "#000" if (column, row) == tile else "#fff" if (column, row) in full else "#cccccc"
            drawing.region(shapely.box(x, y, x + side, y + side), HAIR, fill)


def _crosses(drawing: Drawing, grid: Grid, tile: tuple[int, int], at: Place) -> None:
    """A cross at each corner of the tile, with the name that the same corner has on the pages beside it."""
    for down in (0, 1):
        for right in (0, 1):
            x, y = at[0] + right * grid.wide, at[1] + down * grid.high
            drawing.line([(x - CROSS, y), (x + CROSS, y)], FINE)
            drawing.line([(x, y - CROSS), (x, y + CROSS)], FINE)
            name = cross_name(tile[0] + right, tile[1] + down)
            spot = (x + (-1) ** right * 3.4, y + (-1) ** down * MARK)
            drawing.text(spot, name, NOTE, "bold", white=True)


def cross_name(column: int, row: int) -> str:
    """'a1', 'b3': the name of a corner of the grid; after z comes aa."""
    letters = ""
    number = column + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("a") + rest) + letters
    return f"{letters}{row + 1}"


def _number(drawing: Drawing, pattern: Pattern, shape: BaseGeometry, tile: BaseGeometry) -> None:
    """Number and grain on the piece, on each page that holds enough of it."""
    inner = shape.intersection(tile)
    if pattern.label and inner.area > (4 * MARK) ** 2:
        largest = max(shapely.get_parts(inner), key=lambda part: part.area)
        circle = shapely.maximum_inscribed_circle(largest)
        if circle.length > 2 * MARK:
            x, y = circle.coords[0]
            drawing.mark((float(x), float(y)), pattern.label)
            if circle.length > 2 * MARK + 12.0:
                spot = (float(x), float(y) + 2 * MARK + 2.0)
                drawing.arrows(spot, 20.0, pattern.grain or 0.0)
