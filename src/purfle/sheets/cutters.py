"""The page to choose cutters from: the design once for each cutter with what it loses, and loss against time below."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
import typst
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from purfle.model.artwork import Colour
from purfle.model.cutter_choice import CutterChoice, CutterTrial, Departure
from purfle.sheets.book import shortened, typst_sources
from purfle.sheets.cutter_curve import draw_curve
from purfle.sheets.drawing import HAIR, Drawing
from purfle.sheets.lettering import MM_PER_POINT, height, width, wrapped
from purfle.sheets.rooms import FINEST, Place, laid_on_paper, strip, text_box
from purfle.sheets.style import PAPERS, SIDE, Style
from purfle.sheets.view import scale_words

TOP, FOOT = 26.0, 12.0
"""Margins of this page: its head stands above, one line below."""
GAP = 5.0
"""Between the drawings, mm."""
MOST_COLUMNS = 4
CURVE_SHARE = 0.3
"""Share of the page that the curve takes."""
SCALES: tuple[float, ...] = (0.1, 0.2, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.5, 10.0)
SCALES += (15.0, 20.0, 30.0, 40.0, 50.0, 75.0, 100.0)
"""mm of wood to one mm of paper."""
LOST = "#c4210f"
"""The one strong colour of the page: what is gone."""
GROUND = "#fbfaf6"
PALE = 0.62
"""How much white a wood's colour gets, so that what is gone stands out."""
MOST_NUMBERED = 12
"""Numbers in one drawing; more would hide it."""
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
PIXELS_AN_INCH = 200.0


@dataclass(frozen=True, slots=True)
class PageHead:
    """What stands at the head and foot of the page: the name of the job or drawing, and its change number if any."""

    name: str
    change: str = ""


@dataclass(frozen=True, slots=True)
class _Cell:
    """One drawing on the page: its upper left corner and size, the scale, and the points of its texts."""

    left: float
    top: float
    wide: float
    high: float
    scale: float
    points: tuple[float, float]

    @property
    def words_high(self) -> float:
        """The room of name and figures above the drawing."""
        return sum(_line(points) * count for points, count in zip(self.points, (1, 3), strict=True))


def cutters_page(choice: CutterChoice, style: Style, head: PageHead) -> tuple[bytes, bytes]:
    """The page as an SVG at true size, letters as outlines, and as a PNG."""
    sources: dict[str, Any] = dict(typst_sources())
    sources["page.json"] = json.dumps(_page(choice, style, head), ensure_ascii=False).encode()
    sources["main.typ"] = b'#import "cutters.typ": page-of\n#page-of(json("page.json"))'
    compiler: Any = typst.compile
    made = [
        compiler(sources, ignore_system_fonts=True, format=kind, ppi=ppi)
        for kind, ppi in (("svg", None), ("png", PIXELS_AN_INCH))
    ]
    svg, png = (one[0] if isinstance(one, list) else one for one in made)
    return bytes(svg), bytes(png)


def letter_of(number: int) -> str:
    """What a cutter is called in its drawing and on the curve: A, B, ... Z, A2, B2, ..."""
    lap, place = divmod(number, len(LETTERS))
    return LETTERS[place] + (str(lap + 1) if lap else "")


def _page(choice: CutterChoice, style: Style, head: PageHead) -> dict[str, Any]:
    paper = PAPERS[style.paper]
    drawing = Drawing(paper[0] - 2 * SIDE, paper[1] - TOP - FOOT)
    words = _words(choice, drawing.width)
    curve_high = CURVE_SHARE * drawing.height
    words_high = sum(_line(11.0) for _ in words) + 2.0
    cells = _cells(choice, (drawing.width, drawing.height - curve_high - words_high - GAP))
    for number, (trial, cell) in enumerate(zip(choice.trials, cells, strict=True)):
        _draw_trial(drawing, choice, (number, trial), cell)
    top = drawing.height - curve_high
    names = {trial.cutter.name: letter_of(number) for number, trial in enumerate(choice.trials)}
    draw_curve(drawing, choice, names, (0.0, top, drawing.width, curve_high))
    for number, (weight, line) in enumerate(words):
        at = (0.0, top - words_high + _line(11.0) * (number + 0.5))
        drawing.text(at, line, 11.0, weight, anchor="l")
    return {
        "paper": paper,
        "side": SIDE,
        "top": TOP,
        "foot": FOOT,
        "title": "Which cutter",
        "name": shortened(head.name, 60),
        "sub": f"recess {style.depth(choice.depth)} {style.word} deep, drawn {scale_words(cells[0].scale)}",
        "note": "Red is gone: lost details are numbered, corners and tips that come out shorter are not. "
        + (f"Change {head.change}." if head.change else ""),
        "drawing": drawing.data(),
    }


def _words(choice: CutterChoice, across: float) -> list[tuple[Any, str]]:
    """What to take, why, and by which rule, in lines."""
    taken = choice.recommended
    said = f"{taken.clearing.name}, then {taken.finishing.name}" if taken and taken.clearing else ""
    said = said or (taken.finishing.name if taken else "")
    lines: list[tuple[Any, str]] = (
        [("bold", line) for line in wrapped(f"Take {said}.", 11.0, across, "bold")] if said else []
    )
    lines += [("regular", line) for line in wrapped(f"{choice.why} {choice.kept}".strip(), 11.0, across)]
    return lines + [("italic", line) for line in wrapped(choice.rule, 11.0, across, "italic")]


# --- where the drawings stand


def _cells(choice: CutterChoice, room: tuple[float, float]) -> list[_Cell]:
    """Equal cells in rows, in as many columns as let the design be drawn largest."""
    count = len(choice.trials)
    left, low, right, high = _bounds(choice)
    best: tuple[float, int, float, float] | None = None
    for columns in range(1, min(MOST_COLUMNS, count) + 1):
        rows = -(-count // columns)
        wide = (room[0] - (columns - 1) * GAP) / columns
        tall = (room[1] - (rows - 1) * GAP) / rows
        needed = max((right - left) / wide, (high - low) / (tall - _words_high(columns)))
        if tall > _words_high(columns) and (best is None or needed < best[0]):
            best = (needed, columns, wide, tall)
    assert best is not None, "a page has room for a drawing"
    scale = next((one for one in SCALES if one >= best[0]), best[0])
    columns, wide, tall = best[1:]
    spots = [divmod(number, columns) for number in range(count)]
    points = _points(columns)
    return [_Cell(column * (wide + GAP), row * (tall + GAP), wide, tall, scale, points) for row, column in spots]


def _points(columns: int) -> tuple[float, float]:
    """Size of a cutter's name and of its figures."""
    return ((13.0, 10.5), (12.0, 10.0), (10.5, 8.5), (9.5, 7.5))[columns - 1]


def _words_high(columns: int) -> float:
    name, figures = _points(columns)
    return _line(name) + 3 * _line(figures)


def _line(points: float) -> float:
    return 1.3 * points * MM_PER_POINT


def _bounds(choice: CutterChoice) -> tuple[float, float, float, float]:
    shapes = [region for _, region in choice.drawn]
    shapes += [piece.region for trial in choice.trials for fit in trial.fits for piece in fit.pieces.pieces]
    left, low, right, high = shapely.total_bounds(shapes).tolist()
    air = 0.02 * max(right - left, high - low)
    return left - air, low - air, right + air, high + air


# --- one drawing


def _draw_trial(drawing: Drawing, choice: CutterChoice, numbered: tuple[int, CutterTrial], cell: _Cell) -> None:
    trial = numbered[1]
    _caption(drawing, choice, numbered, cell)
    left, low, right, high = _bounds(choice)
    aside = (cell.wide - (right - left) / cell.scale) / 2.0

    def places(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        x = cell.left + aside + (xy[:, 0] - left) / cell.scale
        return np.column_stack([x, cell.top + cell.words_high + (high - xy[:, 1]) / cell.scale])

    def on_paper(shape: BaseGeometry) -> BaseGeometry:
        return laid_on_paper(shape, places)

    drawing.region(on_paper(shapely.box(left, low, right, high)), HAIR, GROUND)
    if trial.fidelity is None:
        for _, region in choice.drawn:
            drawing.region(on_paper(region), HAIR, "#ffffff", dash=(0.8, 0.8))
        return
    for fit in trial.fits:
        for piece in fit.pieces.pieces:
            drawing.region(on_paper(piece.region), HAIR, _pale(piece.colour))
    for one in trial.fidelity.departures:
        drawing.parts.append(_in_red(on_paper(one.region)))
    frame = on_paper(shapely.box(left, low, right, high))
    _numbers(drawing, trial.fidelity.lost, (on_paper, frame), cell.points[1])


def _in_red(shape: BaseGeometry) -> str:
    """What is gone, filled, with an outline that keeps the smallest visible."""
    once = Drawing(1.0, 1.0)
    once.region(shape, HAIR, LOST)
    return once.parts[0].replace('stroke="#000"', f'stroke="{LOST}"') if once.parts else ""


def _numbers(
    drawing: Drawing,
    lost: tuple[Departure, ...],
    paper: tuple[Callable[[BaseGeometry], BaseGeometry], BaseGeometry],
    points: float,
) -> None:
    """A number beside each lost detail, with a leader, clear of the others and within the frame."""
    on_paper, frame = paper
    drawing.taken += [shape for shape in (on_paper(one.region) for one in lost) if not shape.is_empty]
    for number, one in enumerate(lost[:MOST_NUMBERED], 1):
        at = shapely.get_coordinates(on_paper(shapely.Point(one.place).buffer(FINEST)))[0]
        start = (float(at[0]), float(at[1]))
        options = [
            (spot, text_box(spot, str(number), points, "bold"))
            for spot in _around(start)
            if frame.covers(text_box(spot, str(number), points, "bold"))
        ]
        if options:
            spot = drawing.best(options)
            drawing.line([start, spot], HAIR)
            drawing.taken.append(strip(start, spot, HAIR))
            drawing.text(spot, str(number), points, "bold", white=True)


def _around(at: Place) -> list[Place]:
    """Spots round a place, the nearest first."""
    turns = np.radians(np.arange(15.0, 375.0, 30.0))
    return [
        (at[0] + reach * float(np.cos(turn)), at[1] + reach * float(np.sin(turn)))
        for reach in (3.5, 5.0, 7.0, 9.5, 12.0, 16.0)
        for turn in turns
    ]


def _pale(colour: Colour) -> str:
    return "#{:02x}{:02x}{:02x}".format(*(round(one + (255 - one) * PALE) for one in colour))


# --- its words


def _caption(drawing: Drawing, choice: CutterChoice, numbered: tuple[int, CutterTrial], cell: _Cell) -> None:
    number, trial = numbered
    name, figures = cell.points
    y = cell.top + _line(name) / 2.0
    letter = letter_of(number)
    drawing.text((cell.left, y), letter, name, "bold", anchor="l")
    after = cell.left + width(letter + "n", name, "bold")
    mine = ", this job's" if trial.cutter.name == choice.chosen else ""
    called = _fitting(trial.cutter.name + mine, name, cell.left + cell.wide - after)
    drawing.text((after, y), called, name, "bold", anchor="l")
    y += _line(name) / 2.0 + _line(figures) / 2.0
    for line in _figures(trial, (figures, cell.wide)):
        drawing.text((cell.left, y), line, figures, anchor="l")
        y += _line(figures)
    used = height(figures)
    drawing.taken.append(shapely.box(cell.left, cell.top, cell.left + cell.wide, y - used))


def _figures(trial: CutterTrial, room: tuple[float, float]) -> list[str]:
    """Up to three lines: what it costs, in time and in the drawing; or why it cannot be used."""
    if trial.refused:
        return _shortened_lines(f"cannot make it: {trial.refused[0].what}", room, 3)
    fidelity = trial.fidelity
    assert fidelity is not None, "what is not refused was measured"
    time = f"{trial.minutes:.0f} min" if trial.minutes is not None else ""
    lost = f"{len(fidelity.lost)} lost" if fidelity.lost else "nothing lost"
    shorter = f"{len(fidelity.corners)} shorter" if fidelity.corners else ""
    changed = f"{100.0 * fidelity.changed_share:.1f} % changed"
    first = ", ".join(one for one in (time, lost, shorter, changed) if one)
    rest = trial.too_short or _names(fidelity.lost)
    return _shortened_lines(f"{first}. {rest[:1].upper()}{rest[1:]}", room, 3)


def _names(lost: tuple[Departure, ...]) -> str:
    """'1, 2 tail; 3 ground': what the numbers in a drawing stand for."""
    named: dict[str, list[str]] = {}
    for number, one in enumerate(lost[:MOST_NUMBERED], 1):
        named.setdefault(one.name, []).append(str(number))
    return "; ".join(f"{', '.join(numbers)} {name}" for name, numbers in named.items())


def _shortened_lines(text: str, room: tuple[float, float], most: int) -> list[str]:
    """The text in so many lines at most; what does not fit ends in an ellipsis."""
    lines = wrapped(text, *room)
    kept = lines[:most]
    if len(lines) > most:
        kept[-1] = _fitting(kept[-1] + " " + lines[most], *room)
    return kept


def _fitting(text: str, points: float, room: float) -> str:
    """The text, or as much of its beginning as the room holds, with an ellipsis."""
    if width(text, points, "bold") <= room:
        return text
    while text and width(text + "…", points, "bold") > room:
        text = text[:-1]
    return text.rstrip(" ,") + "…"
