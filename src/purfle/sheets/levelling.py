"""What stands proud before levelling: a section of every offcut's inserts in their recess, to scale."""

from dataclasses import dataclass

import shapely

from purfle.model.board import Inlay
from purfle.model.job import JobResult
from purfle.sheets.drawing import EDGE, FINE, HAIR, HIDDEN, Drawing
from purfle.sheets.lettering import in_ranges, width, wrapped
from purfle.sheets.parts import Part, parts_of, proud_as_cut, proud_if_planed, thickness_as_cut
from purfle.sheets.style import Style

GROUND, INSERT = "#d0d0d0", "#f4f4f4"
FIGURE, NAME = 13.0, 9.5
NAME_LINE, NAME_LINES = 4.1, 3
MOST = 8
"""So many sections stand beside each other: those that stand highest."""
WIDEST, WALL = 40.0, 4.0
"""Paper that a section takes across at most; ground between two recesses."""
DEEP = 24.0
"""Paper from the lowest floor to the highest insert at most."""
SCALES = (8.0, 6.0, 5.0, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 0.5, 0.25)
"""mm of paper to one of wood."""
DEEPER = 1.5
"""A recess this many times as deep as the middle one of all is broken off at the foot of the drawing."""
BELOW, TO_FIGURE = 4.0, 3.2
"""Ground drawn below the lowest floor; from the top of an insert to the middle of its figure."""
SHOWN_SEAM, SHOWN_SLOPE = 1.0, 0.4
"""The seam is drawn so wide, tapered walls so steep (sideways for each mm of height): not to scale, to be seen."""
TO_NAMES = 4.4


@dataclass(frozen=True, slots=True)
class Stand:
    """Inserts of one recess that are equally thick: how thick, how proud now, and how proud if planed."""

    inlay: Inlay
    offcut: str
    labels: tuple[str, ...]
    thick: float
    now: float
    planed: float

    @property
    def floor(self) -> float:
        """How far the underside of the inserts lies below the face."""
        return self.inlay.depth - self.inlay.glue_room


def stands_of(result: JobResult) -> list[Stand]:
    """The inserts by recess and offcut, in the order of their numbers."""
    groups: dict[tuple[str, str], list[Part]] = {}
    for part in parts_of(result):
        offcut = part.places[0].offcut if part.places else ""
        groups.setdefault((part.inlay.name, offcut), []).append(part)
    stands = []
    for (_, offcut), parts in groups.items():
        one, labels = parts[0], tuple(part.label for part in parts)
        amounts = thickness_as_cut(result, one), proud_as_cut(result, one), proud_if_planed(result, one)
        stands.append(Stand(one.inlay, offcut, labels, *amounts))
    return stands


def draw_levelling(result: JobResult, style: Style, wide: float) -> tuple[Drawing, str]:
    """The sections side by side, and the words below them."""
    stands = stands_of(result)
    shown = sorted(stands, key=lambda stand: -stand.now)[:MOST]
    shown = [stand for stand in stands if stand in shown]
    each = min(WIDEST, wide / len(shown))
    above, below = max(s.now for s in shown), _deepest_drawn([s.inlay.depth for s in shown])
    scale = next((s for s in SCALES if (above + below) * s <= DEEP), SCALES[-1])
    face = 2 * TO_FIGURE + above * scale
    ground = face + below * scale + BELOW
    texts = [_names(stand, each - 2.0) for stand in shown]
    lines = max(len(names) for names in texts)
    drawing = Drawing(wide, ground + TO_NAMES + NAME_LINE * lines)
    left = (wide - each * len(shown)) / 2
    for number, (stand, names) in enumerate(zip(shown, texts, strict=True)):
        x = left + number * each
        _section(drawing, stand, style, (x, x + each), (face, ground, scale))
        for line, words in enumerate(names):
            at = (x + each / 2, ground + TO_NAMES + NAME_LINE * (line - 0.2))
            drawing.text(at, words, NAME, "bold" if line == 0 else "regular")
    return drawing, _caption(shown, stands, scale)


def _deepest_drawn(depths: list[float]) -> float:
    """The deepest recess that is drawn with its floor: one much deeper than most would leave the others too small."""
    middle = sorted(depths)[(len(depths) - 1) // 2]
    return max(depth for depth in depths if depth <= DEEPER * middle)


def _section(
    drawing: Drawing, stand: Stand, style: Style, sides: tuple[float, float], heights: tuple[float, float, float]
) -> None:
    """One recess in its ground with an insert in it, as thick as it is now; dashed, as high as it is once planed."""
    (x0, x1), (face, ground, scale) = sides, heights
    floor, under = face + stand.inlay.depth * scale, face + stand.floor * scale
    left, right, top = x0 + WALL / 2, x1 - WALL / 2, under - stand.thick * scale
    is_whole = floor <= ground
    if stand.inlay.fit.walls is not None:
        return _sloping(drawing, stand, style, sides, heights)
    down = [(left, floor), (right, floor)] if is_whole else [(left, ground), (right, ground)]
    outline = [(x0, face), (left, face), *down, (right, face), (x1, face)]
    drawing.region(shapely.Polygon([*outline, (x1, ground), (x0, ground)]), 0.0, GROUND)
    for part in [outline] if is_whole else [outline[:3], outline[3:]]:
        drawing.line(part, EDGE)
    under = min(under, ground)
    drawing.region(shapely.box(left + SHOWN_SEAM, top, right - SHOWN_SEAM, under), FINE if is_whole else 0.0, INSERT)
    if not is_whole:
        edges = [(left + SHOWN_SEAM, ground), (left + SHOWN_SEAM, top), (right - SHOWN_SEAM, top)]
        drawing.line([*edges, (right - SHOWN_SEAM, ground)], FINE)
    drawing.text(((x0 + x1) / 2, top - TO_FIGURE), style.proud(stand.now), FIGURE, "bold")
    drawing.line([(left, face), (right, face)], HAIR)
    if style.proud(stand.planed) != style.proud(stand.now):
        y = face - stand.planed * scale
        drawing.line([(left + SHOWN_SEAM, y), (right - SHOWN_SEAM, y)], HAIR, HIDDEN)
        words = f"planed {style.proud(stand.planed)}"
        if width(words, NAME, "italic") > right - left - 2 * SHOWN_SEAM:
            words = style.proud(stand.planed)
        drawing.text(((x0 + x1) / 2, (face + under) / 2), words, NAME, "italic")


def _sloping(
    drawing: Drawing, stand: Stand, style: Style, sides: tuple[float, float], heights: tuple[float, float, float]
) -> None:
    """The same with tapered walls: insert and recess lie against each other, what stands proud widens on."""
    (x0, x1), (face, ground, scale) = sides, heights
    floor, under = face + stand.inlay.depth * scale, face + stand.floor * scale
    left, right, top = x0 + WALL, x1 - WALL, face - stand.now * scale

    def inset(y: float) -> float:
        return (y - face) * SHOWN_SLOPE

    outline = [(x0, face), (left, face), (left + inset(floor), floor), (right - inset(floor), floor), (right, face)]
    drawing.region(shapely.Polygon([*outline, (x1, face), (x1, ground), (x0, ground)]), 0.0, GROUND)
    drawing.line([*outline, (x1, face)], EDGE)
    insert = [(left + inset(top), top), (right - inset(top), top), (right - inset(under), under)]
    drawing.region(shapely.Polygon([*insert, (left + inset(under), under)]), FINE, INSERT)
    drawing.line([(left, face), (right, face)], HAIR)
    drawing.text(((x0 + x1) / 2, top - TO_FIGURE), style.proud(stand.now), FIGURE, "bold")


def _names(stand: Stand, room: float) -> list[str]:
    """Offcut and pieces in a few lines."""
    kind = "piece" if len(stand.labels) == 1 else "pieces"
    pieces = wrapped(f"{kind} {in_ranges(stand.labels)}", NAME, room)[:NAME_LINES]
    return [*wrapped(stand.offcut or "no offcut yet", NAME, room, "bold")[:1], *pieces]


def _caption(shown: list[Stand], stands: list[Stand], scale: float) -> str:
    is_thick = any(stand.now != stand.planed for stand in shown)
    sawn = all(stand.inlay.fit.walls is not None for stand in shown)
    words = f"Above each insert: how far it stands proud {'when it is sawn off' if sawn else 'as its offcut is now'}"
    words += "; dashed and slanted: once that is planed (sheet 4)" if is_thick else ""
    some = f". The {len(shown)} that stand highest of {len(stands)}" if len(shown) < len(stands) else ""
    return f"{words}{some}. Heights {scale:g} : 1" if scale >= 1 else f"{words}{some}. Heights 1 : {1 / scale:g}"
