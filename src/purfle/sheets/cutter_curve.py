"""The curve of loss against time: a dot for each cutter alone, a ring for a set of two, a line through the best."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import shapely

from purfle.model.cutter_choice import CutterChoice, CutterSet
from purfle.sheets.drawing import EDGE, FINE, HAIR, Drawing
from purfle.sheets.lettering import height
from purfle.sheets.rooms import Anchor, Place, strips, text_box

POINTS, SMALL = 10.0, 9.0
LEFT, LOW, HIGH, RIGHT = 13.0, 11.0, 7.0, 4.0
"""Room kept beside the curve: for the figures at its left and below it, for the words above, for the last label."""
DOT, RING = 0.9, 2.3
PERCENT = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 50.0, 70.0, 100.0)
"""What the upward lines stand at, as far as they are CLOSE mm apart or more."""
CLOSE = 5.0
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
TICKS = 5


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where figures stand on the paper: minutes to the right, percent upwards, stretched near none by a square root."""

    left: float
    low: float
    wide: float
    high: float
    minutes: float
    percent: float

    def place(self, minutes: float, percent: float) -> Place:
        return self.left + minutes / self.minutes * self.wide, self.low - math.sqrt(percent / self.percent) * self.high

    def of(self, one: CutterSet) -> Place:
        return self.place(one.minutes, 100.0 * one.changed_share)


def draw_curve(
    drawing: Drawing, choice: CutterChoice, letters: dict[str, str], room: tuple[float, float, float, float]
) -> None:
    """The curve in a room (left, top, width, height of the paper); words where there is nothing to draw."""
    left, top, wide, high = room
    shown = [one for one in choice.sets if one.is_worth_it or one.clearing is None]
    if not shown:
        drawing.text((left, top + 8.0), "No curve: there is no time to show.", POINTS, "italic", anchor="l")
        return
    most, share = max(one.minutes for one in shown), 100.0 * max(one.changed_share for one in shown)
    plot = _Plot(
        left + LEFT, top + high - LOW, wide - LEFT - RIGHT, high - LOW - HIGH, _ceiling(most), _ceiling(max(share, 0.1))
    )
    _axes(drawing, plot)
    front = [plot.of(one) for one in shown if one.is_worth_it]
    if len(front) > 1:
        corners = list(_stairs(front))
        drawing.line(corners, FINE)
        drawing.taken.append(strips(corners, FINE))
    places = [plot.of(one) for one in shown]
    for one, at in zip(shown, places, strict=True):
        drawing.circle(at, DOT, FINE, "#000" if one.clearing is None else "#fff")
        drawing.taken.append(shapely.Point(at).buffer(DOT + 0.2))
        if one == choice.recommended:
            drawing.circle(at, RING, EDGE)
            drawing.taken.append(shapely.Point(at).buffer(RING))
    for one, at in zip(shown, places, strict=True):
        _label(drawing, one, at, (letters, one == choice.recommended))


def _stairs(front: list[Place]) -> Iterator[Place]:
    """From one set to the next: the loss stays until the time is there for the next one."""
    for before, after in pairwise(front):
        yield before
        yield after[0], before[1]
    yield front[-1]


def _label(drawing: Drawing, one: CutterSet, at: Place, said: tuple[dict[str, str], bool]) -> None:
    letters, is_taken = said
    text = letters[one.finishing.name]
    text = f"{letters[one.clearing.name]}, then {text}" if one.clearing else text
    weight = "bold"
    off = (RING if is_taken else DOT) + 1.2
    up = off + height(POINTS) / 2.0
    options: list[tuple[tuple[Place, Anchor], shapely.Polygon]] = []
    for reach in (0.0, 2.5, 5.0, 8.0, 12.0):
        for dx, dy, anchor in (
            (off + reach, 0.0, "l"),
            (off + reach, -up, "l"),
            (0.0, -up - reach, "c"),
            (-off - reach, 0.0, "r"),
            (0.0, up + reach, "c"),
            (off + reach, up, "l"),
            (-off - reach, -up, "r"),
        ):
            spot = (at[0] + dx, at[1] + dy)
            options.append(((spot, anchor), text_box(spot, text, POINTS, "bold", anchor)))  # type: ignore[arg-type]
    spot, anchor = drawing.best(options)
    if math.dist(spot, at) > off + 3.0:
        drawing.line([at, spot], HAIR)
    drawing.text(spot, text, POINTS, weight, anchor=anchor)  # type: ignore[arg-type]


def _axes(drawing: Drawing, plot: _Plot) -> None:
    right, top = plot.place(plot.minutes, plot.percent)
    drawing.line([(plot.left, top), (plot.left, plot.low), (right, plot.low)], FINE)
    drawing.taken.append(strips([(plot.left, top), (plot.left, plot.low), (right, plot.low)], FINE))
    for minutes in _ticks(plot.minutes):
        x, _ = plot.place(minutes, 0.0)
        drawing.line([(x, plot.low), (x, plot.low + 1.2)], HAIR)
        drawing.text((x, plot.low + 3.4), f"{minutes:g}", SMALL)
        drawing.taken.append(text_box((x, plot.low + 3.4), f"{minutes:g}", SMALL))
    above = math.inf
    for percent in (0.0, *reversed([one for one in PERCENT if one <= plot.percent])):
        _, y = plot.place(0.0, percent)
        if percent and (abs(y - above) < CLOSE or plot.low - y < CLOSE):
            continue
        above = y
        drawing.line([(plot.left - 1.2, y), (right, y)], HAIR if percent else FINE, dash=(0.4, 1.6))
        drawing.text((plot.left - 2.2, y), f"{percent:g}", SMALL, anchor="r")
    drawing.text((right, plot.low + 8.0), "minutes of cutting, changes of cutter counted", SMALL, "italic", anchor="r")
    drawing.text((plot.left - 11.0, top - 4.6), "% of the drawing changed", SMALL, "italic", anchor="l")


def _ceiling(most: float) -> float:
    """A round figure above all others, not far above."""
    step = _step(most)
    return step * math.ceil(most / step * 1.001)


def _step(most: float) -> float:
    ten = 10.0 ** math.floor(math.log10(most / TICKS))
    return next(ten * step for step in STEPS if ten * step * TICKS >= most)


def _ticks(most: float) -> list[float]:
    step = _step(most)
    return [round(step * number, 6) for number in range(round(most / step) + 1)]
