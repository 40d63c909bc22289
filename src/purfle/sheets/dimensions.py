"""Distances from the datum edges: each in a row beside the board, so that no figure lies over another line."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from purfle.sheets.drawing import EDGE, HAIR, HEAD, Drawing
from purfle.sheets.lettering import height, width
from purfle.sheets.rooms import Place, strip, strips
from purfle.sheets.view import Side, View

FIGURE = 16.0
"""Size of a distance's figure in points."""
FIRST_ROW, ROW = 7.0, 7.4
"""How far the first row stands off the board, and the next one off it."""
OWN_ROWS = 3
"""Up to so many distances have a row each; more of them share rows as running distances from one ring."""
MOST_ROWS = 10
_PAST = 1.8
"""How far an extension line runs past its row."""


@dataclass(frozen=True, slots=True)
class Distance:
    """One distance to show: `along` and `starts` in mm of paper, `starts` off the side (inside the board: below 0).

    `row` and `figure_at` (middle of the figure, along) are found by `in_rows`.
    """

    side: Side
    along: float
    starts: float
    figure: str
    row: float = 0.0
    figure_at: float = 0.0


def in_rows(view: View, wishes: Sequence[Distance]) -> list[Distance]:
    """The distances with their rows and the places of their figures, nearest first, each clear of all others."""
    stand = _Standing(view)
    for side in ("a", "far", "left", "right"):
        of_side = sorted((w for w in wishes if w.side == side), key=lambda w: w.along)
        first = 0
        for number, wish in enumerate(of_side):
            later = [w.along for w in of_side[number + 1 :]]
            found = stand.add(_clearest(stand, _options(wish, first), later))
            first = round((found.row - FIRST_ROW) / ROW) + 1 if len(of_side) <= OWN_ROWS else 0
    return stand.placed


@dataclass
class _Standing:
    """The distances placed so far, with the room of their figures and their extension lines."""

    view: View
    placed: list[Distance] = field(default_factory=list)
    figures: list[BaseGeometry] = field(default_factory=list)
    lines: list[BaseGeometry] = field(default_factory=list)

    def add(self, distance: Distance) -> Distance:
        self.placed.append(distance)
        self.figures.append(_figure_box(self.view, distance))
        self.lines.append(_extension(self.view, distance))
        return distance

    def conflicts(self, option: Distance, later: Sequence[float]) -> int:
        """How often a distance would meet what stands, or lines that are still to come."""
        half = figure_room(option.figure) / 2
        count = sum(abs(along - option.figure_at) < half for along in later)
        if not self.figures:
            return count
        box, extension = _figure_box(self.view, option), _extension(self.view, option)
        count += int(shapely.intersects(box, self.figures).sum() + shapely.intersects(box, self.lines).sum())
        count += int(shapely.intersects(extension, self.figures).sum())
        return count + int(shapely.dwithin(_tip(self.view, option), self.figures, 1.0).sum())


def bounds(view: View, placed: Sequence[Distance]) -> tuple[float, float, float, float]:
    """What the board with its distances takes on the paper."""
    boxes = [shapely.box(*view.region(view.board.rectangle).bounds)]
    boxes += [_figure_box(view, d) for d in placed] + [strips(_extension(view, d).coords, 0.3) for d in placed]
    boxes += [strip(_at(view, d, 0.0), _at(view, d, d.along), 1.2) for d in placed]
    x0, y0, x1, y1 = shapely.union_all(boxes).bounds
    return float(x0) - EDGE / 2, float(y0) - EDGE / 2, float(x1) + EDGE / 2, float(y1) + EDGE / 2


def draw_distances(drawing: Drawing, view: View, placed: Sequence[Distance]) -> None:
    """Draws placed distances: ring at the datum edge, head at the mark, the figure breaking the line."""
    for distance in placed:
        ring, tip = _at(view, distance, 0.0), _at(view, distance, distance.along)
        drawing.line(_extension(view, distance).coords)
        middle = _at(view, distance, distance.figure_at)
        drawing.line([ring, middle if distance.figure_at > distance.along else tip])
        drawing.head(tip, _direction(ring, tip))
        drawing.taken += [_figure_box(view, distance), strips(_extension(view, distance).coords, 0.6)]
        drawing.taken.append(strip(ring, tip, 1.0))
        turned = distance.side in ("left", "right")
        drawing.text(middle, distance.figure, FIGURE, "bold", white=True, turned=turned)
    for distance in placed:
        drawing.ring(_at(view, distance, 0.0))


def figure_room(figure: str) -> float:
    """Length that a figure takes along its line, with air."""
    return width(figure, FIGURE, "bold") + 2.2


def _clearest(stand: _Standing, options: Sequence[Distance], later: Sequence[float]) -> Distance:
    """The first option without a conflict, or the one with the fewest."""
    fewest: tuple[int, Distance] | None = None
    for option in options:
        count = stand.conflicts(option, later)
        if count == 0:
            return option
        if fewest is None or count < fewest[0]:
            fewest = (count, option)
    assert fewest is not None
    return fewest[1]


def _options(wish: Distance, first: int) -> list[Distance]:
    """Rows and figure places, best first: within the line in one of three rows, then anywhere, nearest row first."""
    places = _figure_places(wish)
    best = [(r, places[0]) for r in range(first, first + 3)]
    rest = [(r, place) for r in range(first, MOST_ROWS) for place in places]
    return [replace(wish, row=FIRST_ROW + r * ROW, figure_at=place) for r, place in best + rest]


def _figure_places(wish: Distance) -> list[float]:
    """Where the figure may stand, best first: within the line beside the head, past the head, before the ring."""
    half = figure_room(wish.figure) / 2
    within = wish.along - HEAD[0] - half
    past, before = wish.along + half + 0.6, -half - 1.4
    return [within, past, before] if within - half > 1.6 else [past, before]


def _figure_box(view: View, distance: Distance) -> Polygon:
    x, y = _at(view, distance, distance.figure_at)
    long, high = figure_room(distance.figure) / 2, height(FIGURE) / 2 + 0.9
    half = (high, long) if distance.side in ("left", "right") else (long, high)
    return shapely.box(x - half[0], y - half[1], x + half[0], y + half[1])


def _extension(view: View, distance: Distance) -> LineString:
    side, along = distance.side, distance.along
    start = distance.starts + 1.0
    return LineString([view.beside(side, along, start), view.beside(side, along, distance.row + _PAST)])


def _tip(view: View, distance: Distance) -> BaseGeometry:
    tip = _at(view, distance, distance.along)
    back = _at(view, distance, distance.along - HEAD[0])
    return strip(back, tip, HAIR)


def _at(view: View, distance: Distance, along: float) -> Place:
    return view.beside(distance.side, along, distance.row)


def _direction(start: Place, end: Place) -> Place:
    dx, dy = end[0] - start[0], end[1] - start[1]
    long = max(abs(dx), abs(dy)) or 1.0
    return dx / long, dy / long
