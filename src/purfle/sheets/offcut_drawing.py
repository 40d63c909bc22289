"""Offcuts drawn one by one, and put side by side on as few pages as they need."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from purfle.geometry.offsetting import shrink
from purfle.model.job import JobResult
from purfle.model.offcuts import Place as PlaceOnOffcut
from purfle.model.shop import Offcut
from purfle.sheets.drawing import EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.labels import (
    Numbered,
    Zone,
    arrow_room,
    draw_arrow,
    largest_circle,
    number_clearly,
    number_goes_in,
    number_goes_inside,
    number_has_room,
)
from purfle.sheets.lettering import capital, width, wrapped
from purfle.sheets.parts import parts_of, planed_thickness, proud_as_cut, wood_name
from purfle.sheets.rooms import MARK, Place, laid_on_paper, mark_shape, strips, text_box
from purfle.sheets.style import Style

NAME, SIZE = 16.0, 10.5
"""Sizes of an offcut's wood and of the line below it, in points."""
NAME_LINE, SIZE_LINE, GAP = 6.2, 4.6, 8.0
LEAST_WIDE = 52.0
"""An offcut's cell is at least so wide, for its words."""
ROW = 2 * MARK + 1.0
"""Height of a row of numbers kept above or below an offcut."""
ARROW, SHORT_ARROW = 30.0, 20.0
MOST_ROWS = 6
"""More rows than this above and below an offcut leave no room for it."""
LEVEL = 0.05
"""Sine of the steepest grain that counts as level."""
PIECE, DEFECT, TAB = "#e2e2e2", "#5a5a5a", "#000"


@dataclass(frozen=True, slots=True)
class Placed:
    """A part on its offcut: label, outline in the offcut frame, middle and radius of the largest circle inside it.

    `hangs`: the insert on its plate, with tapered walls. `tabs`: the bars of those that it stands on.
    """

    label: str
    region: BaseGeometry
    middle: Place
    inscribed: float
    hangs: BaseGeometry | None = None
    tabs: tuple[BaseGeometry, ...] = ()

    def has_room(self, scale: float) -> bool:
        """True if its number goes inside it at a scale."""
        inscribed, (x, y) = self.inscribed / scale, self.middle
        if number_goes_inside(self.label, inscribed) or not number_has_room(self.label, inscribed):
            return number_goes_inside(self.label, inscribed)
        shape = shapely.transform(self.region, lambda xy: xy * (1.0 / scale, -1.0 / scale))
        return number_goes_in(Numbered(self.label, shape, (x / scale, -y / scale), inscribed))


@dataclass(frozen=True, slots=True)
class Cell:
    """One offcut as it will be drawn: its words, its size on paper, its parts with labels, its place on the page."""

    offcut: Offcut
    name: str
    inner: BaseGeometry
    parts: tuple[Placed, ...]
    lines: tuple[str, ...]
    scale: float = 1.0
    wide: float = 0.0
    high: float = 0.0
    x: float = 0.0
    y: float = 0.0
    rows: int = 0
    """Rows kept above and below the offcut for numbers that find no room in it."""

    @property
    def band(self) -> float:
        """Height kept above and below the offcut for rows of numbers."""
        return ROW * self.rows

    @property
    def head(self) -> float:
        """Height of the words above the drawing."""
        return NAME_LINE + SIZE_LINE * len(self.lines) + 1.6 + self.band

    @property
    def zone(self) -> Zone:
        """Where on the page its numbers may stand."""
        top, low = self.y + self.head - self.band, self.y + self.head + self.deep + self.band
        return self.x, top, self.x + self.wide, low + EDGE

    @property
    def deep(self) -> float:
        """Height of the offcut on paper."""
        return float(self.offcut.outline.bounds[3]) / self.scale


def cell_of(result: JobResult, offcut: Offcut, labels: dict[tuple[str, int], str], style: Style) -> Cell:
    """An offcut with its parts; `at_scale` gives it its size."""
    places = [p for p in result.on_offcuts.places if p.offcut == offcut.name]
    parts = tuple(_placed(place, labels[place.part.inlay, place.part.number]) for place in places)
    _, _, long, deep = offcut.outline.bounds
    name = capital(wood_name(result, offcut.wood))
    called = "" if offcut.name.casefold() == name.casefold() else f"{offcut.name}: "
    size = f"{called}{style.size(long, deep)}, {style.depth(offcut.thickness)} thick"
    inner = shrink(offcut.outline, result.job.margin)
    stands = f"stands: {offcut.stands}" if offcut.stands else ""
    return Cell(offcut, name, inner, parts, (size, _to_plane(result, offcut, style), stands))


def _placed(place: PlaceOnOffcut, label: str) -> Placed:
    (x, y), inscribed = _largest_circle(place.part.region)
    hangs = place.insert if place.part.hangs is not None else None
    bars = tuple(tab.bar for tab in place.tabs)
    return Placed(label + "s" * place.spare, place.region, place.pose.point(x, y), inscribed, hangs, bars)


def at_scale(cell: Cell, scale: float, rows: int = 0) -> Cell:
    """The cell as large as it is at a scale, its words in lines no longer than it, with room for rows of numbers."""
    offcut = cell.offcut
    _, _, long, deep = offcut.outline.bounds
    wide = max(long / scale + EDGE, LEAST_WIDE, width(cell.name, NAME, "bold"))
    lines = tuple(line for text in cell.lines for line in wrapped(text, SIZE, wide))
    made = replace(cell, lines=lines, scale=scale, wide=wide, rows=rows)
    below = made.band + (0.0 if _has_band(made) else _arrow_strip(offcut))
    return replace(made, high=made.head + deep / scale + below + 3.0)


def with_rows(cell: Cell) -> Cell:
    """The cell with as many rows above and below it as its numbers need to stand clear of each other."""
    made = cell
    for rows in range(MOST_ROWS + 1):
        made = at_scale(replace(cell, x=0.0, y=0.0), cell.scale, rows)
        if not _numbered(Drawing(made.wide, made.high), made):
            break
    return made


def _numbered(drawing: Drawing, cell: Cell) -> list[str]:
    """Draws an offcut with its numbers; those that found no room."""
    _words(drawing, cell)
    _wood(drawing, cell)
    _grain(drawing, cell)
    middles = _places(cell, np.array([part.middle for part in cell.parts])).tolist()
    pieces = [
        Numbered(part.label, _on_paper(cell, part.region), (x, y), part.inscribed / cell.scale)
        for part, (x, y) in zip(cell.parts, middles, strict=True)
    ]
    return number_clearly(drawing, pieces, cell.zone, _spots_in_rows(cell))


def _spots_in_rows(cell: Cell) -> list[Place]:
    """The places in the rows kept above and below an offcut, those nearest to it first; every other row is shifted."""
    if not cell.rows:
        return []
    x0, top, x1, low = cell.zone
    half = max(float(mark_shape((0.0, 0.0), part.label).bounds[2]) for part in cell.parts)
    apart = 2 * half + 1.0
    spots: list[Place] = []
    for row in range(cell.rows):
        first = x0 + half + FINE + 0.1 + (apart / 2 if row % 2 else 0.0)
        columns = [first + apart * i for i in range(int((x1 - half - FINE - first) / apart) + 1)]
        for y in (top + cell.band - ROW * (row + 0.5), low - cell.band + ROW * (row + 0.5)):
            spots += [(x, y) for x in columns]
    return spots


def _to_plane(result: JobResult, offcut: Offcut, style: Style) -> str:
    """What an offcut too thick for its inserts is to be planed to, and how far its pieces stand proud if it is not.

    The thickest insert says it: pieces that are let in less deep stay thicker than they need to be (sheets 7 and 8).
    """
    if any(place.part.hangs for place in result.on_offcuts.places if place.offcut == offcut.name):
        return "finished faces down: pieces lie turned over, each on its plate"
    if sawing := result.on_offcuts.sawing(offcut.name):
        many = "sawn off in 1 slice" if sawing.copies == 1 else f"{sawing.copies} of each, sawn off in slices"
        return f"a block: cut {style.depth(sawing.depth)} deep, {many} (sheet 6)"
    planed = planed_thickness(result, offcut)
    if planed == offcut.thickness:
        return ""
    mine = [p for p in parts_of(result) if any(place.offcut == offcut.name for place in p.places)]
    thick = [p for p in mine if p.inlay.insert_thickness == planed]
    whose = "its piece stands" if len(mine) == 1 else "its pieces stand"
    return f"plane to {style.depth(planed)} first, or {whose} {style.proud(proud_as_cut(result, thick[0]))} proud"


@lru_cache(maxsize=4096)
def _largest_circle(region: Polygon) -> tuple[Place, float]:
    return largest_circle(region)


def _has_band(cell: Cell) -> bool:
    """True if a level grain arrow finds room beside the words."""
    is_level = abs(math.sin(math.radians(cell.offcut.grain))) < LEVEL
    return is_level and cell.wide - _words_wide(cell, _beside(cell)) > SHORT_ARROW + 6.0


def _band(cell: Cell) -> Place:
    """The middle of the arrow beside the words."""
    number = _beside(cell)
    words = _words_wide(cell, number)
    return cell.x + (words + 4.0 + cell.wide) / 2, cell.y + NAME_LINE + SIZE_LINE * (number + 0.5) + 0.6


def _beside(cell: Cell) -> int:
    """The line of the words with most room beside it and the line above: the arrow stands there."""
    return min(range(len(cell.lines)), key=lambda number: _words_wide(cell, number))


def _words_wide(cell: Cell, number: int) -> float:
    """How far a line and the one above it reach."""
    return max(width(line, SIZE) for line in cell.lines[max(0, number - 1) : number + 1])


def shelves(cells: Sequence[Cell], across: float, down: float, tail: float) -> list[list[Cell]] | None:
    """The cells on as few pages as some orders need, each in the first free place; the last page leaves `tail` free.

    None if a cell is larger than a page. If the tail finds no room, a last page without cells is added for it.
    """
    if any(c.wide > across or c.high > down for c in cells):
        return None
    orders = [sorted(cells, key=lambda c: -c.high), sorted(cells, key=lambda c: -c.wide), list(cells)]
    orders.append(sorted(cells, key=lambda c: -c.high * c.wide))
    return min((_filled(order, across, down, tail) for order in orders), key=len)


def _filled(cells: Sequence[Cell], across: float, down: float, tail: float) -> list[list[Cell]]:
    """Pages filled in the order given."""
    pages: list[_Page] = []
    for cell in cells:
        for page in pages:
            if placed := page.place(cell):
                break
        else:
            pages.append(_Page(across, down))
            placed = pages[-1].place(cell)
        assert placed
    if pages and pages[-1].used - GAP / 2 + tail > down:
        pages.append(_Page(across, down))
    return [page.cells for page in pages] or [[]]


class _Page:
    """Rows of columns: a low cell may stand under another in the same column of a row."""

    def __init__(self, across: float, down: float) -> None:
        self.across, self.down, self.used = across, down, 0.0
        self.cells: list[Cell] = []
        self.rows: list[tuple[float, float, list[list[float]]]] = []

    def place(self, cell: Cell) -> bool:
        """Puts a cell into the first row with room for it, or into a new one; False if the page is full."""
        for top, high, columns in self.rows:
            for column in columns:
                if cell.wide <= column[1] and column[2] + cell.high <= high:
                    return self._put(cell, column[0], top + column[2], column)
            right = columns[-1][0] + columns[-1][1] + GAP
            if right + cell.wide <= self.across and cell.high <= high:
                columns.append([right, cell.wide, 0.0])
                return self._put(cell, right, top, columns[-1])
        if self.used + cell.high > self.down:
            return False
        self.rows.append((self.used, cell.high, [[0.0, cell.wide, 0.0]]))
        self.used += cell.high + GAP / 2
        return self._put(cell, 0.0, self.rows[-1][0], self.rows[-1][2][0])

    def _put(self, cell: Cell, x: float, y: float, column: list[float]) -> bool:
        column[2] += cell.high + GAP / 2
        self.cells.append(replace(cell, x=x, y=y))
        return True


def draw_cells(cells: Sequence[Cell], across: float) -> tuple[Drawing, dict[str, list[str]]]:
    """The offcuts of one page; and by the name of its offcut the numbers that found no clear room."""
    drawing = Drawing(across, max(c.y + c.high for c in cells))
    left = {cell.offcut.name: _numbered(drawing, cell) for cell in cells}
    return drawing, {name: labels for name, labels in left.items() if labels}


def _words(drawing: Drawing, cell: Cell) -> None:
    drawing.text((cell.x, cell.y + NAME_LINE / 2), cell.name, NAME, "bold", anchor="l")
    for number, line in enumerate(cell.lines):
        at = (cell.x, cell.y + NAME_LINE + SIZE_LINE * (number + 0.5))
        drawing.text(at, line, SIZE, anchor="l")
        drawing.taken.append(text_box(at, line, SIZE, anchor="l"))
    drawing.taken.append(text_box((cell.x, cell.y + NAME_LINE / 2), cell.name, NAME, "bold", "l"))


def _wood(drawing: Drawing, cell: Cell) -> None:
    outline = _on_paper(cell, cell.offcut.outline)
    drawing.region(outline, EDGE, "#fff")
    drawing.region(_on_paper(cell, cell.inner), HAIR, dash=HIDDEN)
    defects = _on_paper(cell, cell.offcut.defects)
    drawing.region(defects, HAIR, DEFECT)
    drawing.taken += [strips(outline.exterior.coords, EDGE / 2), defects]
    for part in cell.parts:
        drawing.region(_on_paper(cell, part.region), FINE, PIECE if part.hangs is None else "none")
        if part.hangs is not None:
            drawing.region(_on_paper(cell, part.hangs), FINE, PIECE)
        for bar in part.tabs:
            drawing.region(_on_paper(cell, bar), 0.0, TAB)


def _grain(drawing: Drawing, cell: Cell) -> None:
    """The grain arrow: beside the words, or else below the offcut in the strip kept for it."""
    angle, (x0, _, x1, y1) = cell.offcut.grain, _on_paper(cell, cell.offcut.outline).bounds
    spot = _band(cell) if _has_band(cell) else ((x0 + x1) / 2, y1 + cell.band + _arrow_strip(cell.offcut) / 2 + 1.6)
    room = cell.wide - _words_wide(cell, _beside(cell)) - 6.0 if _has_band(cell) else SHORT_ARROW
    long = min(ARROW, room)
    drawing.taken.append(arrow_room(spot, long, angle))
    draw_arrow(drawing, spot, long, angle)


def _arrow_strip(offcut: Offcut) -> float:
    """Height kept below an offcut for its arrow."""
    return 6.5 + 20.0 * abs(math.sin(math.radians(offcut.grain)))


def _on_paper(cell: Cell, shape: BaseGeometry) -> BaseGeometry:
    """A shape of the offcut frame on the page."""
    return laid_on_paper(shape, lambda xy: _places(cell, xy))


def _places(cell: Cell, xy: NDArray[np.float64]) -> NDArray[np.float64]:
    """Places (n, 2) of the offcut frame on the page."""
    deep = cell.offcut.outline.bounds[3]
    x, y = cell.x + EDGE / 2 + xy[:, 0] / cell.scale, cell.y + cell.head + (deep - xy[:, 1]) / cell.scale
    return np.column_stack([x, y])
