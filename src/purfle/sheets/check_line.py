"""The check before cutting, drawn: one strong line across the face with its figure in a frame."""

from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from purfle.model.board import Layout, Mark
from purfle.sheets.drawing import EDGE, HAIR, Drawing
from purfle.sheets.features import laid_out
from purfle.sheets.lettering import width
from purfle.sheets.rooms import Place, grown, strip, text_box
from purfle.sheets.style import Style
from purfle.sheets.view import View
from purfle.tolerances import MARK_ON

CHECK_POINTS = 17.0
FRAME, SHOWN = 2.4, 4.0
"""Between a figure and its frame; line that is seen on either side of the frame at least. In mm."""
_LEVELS = tuple(share / 40 for share in range(37, 2, -1))
"""Where the check line may run, as shares of the board's other side, the far end first."""


@dataclass(frozen=True, slots=True)
class _Line:
    """The check at one level: along A (`is_x`) or along B, from its datum edge to what it is measured to."""

    view: View
    is_x: bool
    at: float
    level: float

    @property
    def ring(self) -> Place:
        return self.point(0.0)

    @property
    def tip(self) -> Place:
        return self.point(self.at)

    def frame_at(self, words: str) -> Place:
        """Where the frame of the figure stands: on the line, or beyond its head where the line is too short for it."""
        half = width(words, CHECK_POINTS, "bold") / 2 + FRAME
        if self.at / self.view.scale > 2.0 * (half + SHOWN):
            return self.point(self.at / 2)
        return self.point(self.at + (half + SHOWN / 2) * self.view.scale)

    def point(self, along: float) -> Place:
        board = self.view.board
        if self.is_x:
            return self.view.place(along, self.level * board.width)
        return self.view.place(self.level * board.length, along)

    def room(self, words: str) -> BaseGeometry:
        """What the line and the frame of its figure take."""
        frame = grown(text_box((0, 0), words, CHECK_POINTS, "bold"), 1.5)
        turned = frame if self.is_x else shapely.transform(frame, lambda xy: xy[:, ::-1])
        placed = shapely.transform(turned, lambda xy: xy + self.frame_at(words))
        inside = self.point(min(2.0 * self.view.scale, self.at / 2))
        return shapely.union_all([strip(inside, self.tip, 2.2), placed])


def draw_check(drawing: Drawing, layout: Layout, view: View, style: Style) -> None:
    """Draws the check of this face, if it has one, at the level where it is clearest."""
    check = layout.check
    if check is None or check.face != view.face:
        return
    is_x = check.from_b is not None
    at = (check.from_b if is_x else check.from_a) or 0.0
    words = f"check {style.rule(at)}"
    lines = [_Line(view, is_x, at, level) for level in _LEVELS]
    line = drawing.best((line, line.room(words)) for line in lines)
    _draw(drawing, line, words)
    _leader(drawing, layout, line, style)


def check_figure(check: Mark) -> float:
    """The check distance in mm."""
    return (check.from_b if check.from_b is not None else check.from_a) or 0.0


def _draw(drawing: Drawing, line: _Line, words: str) -> None:
    ring, tip = line.ring, line.tip
    drawing.line([ring, tip], EDGE)
    down = 1.0 if tip[1] > ring[1] else -1.0
    drawing.head(tip, (1.0, 0.0) if line.is_x else (0.0, down))
    drawing.ring(ring)
    drawing.text(line.frame_at(words), words, CHECK_POINTS, "bold", boxed=True, white=True, turned=not line.is_x)


def _leader(drawing: Drawing, layout: Layout, line: _Line, style: Style) -> None:
    """A fine line from the head to the recess whose middle it proves."""
    axis = 0 if line.is_x else 1
    for feature in laid_out(layout, line.view.face, style):
        if abs(feature.middle[axis] - line.at) > MARK_ON:
            continue
        goal = line.view.place(*feature.middle)
        past = 1.8 if (goal[1] < line.tip[1] if line.is_x else goal[0] < line.tip[0]) else -1.8
        start = (line.tip[0], line.tip[1] + past) if line.is_x else (line.tip[0] + past, line.tip[1])
        drawing.line([start, goal], HAIR)
        drawing.taken.append(strip(start, goal, HAIR))
