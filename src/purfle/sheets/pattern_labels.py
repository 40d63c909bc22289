"""Labels for the pieces, to be cut out: number, name, wood, offcut, job and change."""

from purfle.model.job import JobResult
from purfle.sheets.drawing import HAIR, PENCIL, Drawing
from purfle.sheets.lettering import width, wrapped
from purfle.sheets.parts import Part, parts_of, wood_and_offcut
from purfle.sheets.style import Style

COLUMNS, HIGH = (3, 4), 25.0
NUMBER, NAME, TEXT, JOB = 30.0, 13.0, 11.0, 9.0
LEAD = "Cut the labels out and lay each with its piece as it leaves the wood."


def label_drawings(result: JobResult, style: Style, room: float, columns: int = COLUMNS[0]) -> list[Drawing]:
    """The pages of labels, one label for each piece and each spare, each as high as its labels."""
    labels = [(part, spare) for part in parts_of(result) for spare in range(1 + part.spares)]
    each = columns * int(room // HIGH)
    drawings = []
    for start in range(0, len(labels), each):
        some = labels[start : start + each]
        drawing = Drawing(style.across, HIGH * -(-len(some) // columns) + 0.5)
        for number, (part, spare) in enumerate(some):
            row, column = divmod(number, columns)
            wide = style.across / columns
            _label(drawing, result, (part, spare), (column * wide, row * HIGH), wide)
        _cut_lines(drawing, len(some), columns)
        drawings.append(drawing)
    return drawings


def _cut_lines(drawing: Drawing, count: int, across: int) -> None:
    """The lines between so many labels, each drawn once."""
    wide, off = drawing.width / across, 0.1
    rows = -(-count // across)
    in_last = count - (rows - 1) * across
    for row in range(rows + 1):
        columns = in_last if row == rows or rows == 1 else across
        y = row * HIGH + (off if row == 0 else 0.0)
        drawing.line([(off, y), (columns * wide - off, y)], HAIR, PENCIL)
    for column in range(min(count, across) + 1):
        full = rows if column <= in_last else rows - 1
        x = min(max(column * wide, off), drawing.width - off)
        drawing.line([(x, off), (x, full * HIGH)], HAIR, PENCIL)


def _label(drawing: Drawing, result: JobResult, piece: tuple[Part, int], at: tuple[float, float], wide: float) -> None:
    """One label in its cut lines. `piece`: the part, and 0 for itself, else which of its spares."""
    (part, spare), (x, y) = piece, at
    number = part.label + "s" * bool(spare)
    drawing.text((x + 3.5, y + 7.6), number, NUMBER, "bold", anchor="l")
    left = x + 6.0 + width(number, NUMBER, "bold")
    name = part.insert.name or part.inlay.name
    for line, words in enumerate(_fitted(name + (", spare" if spare else ""), NAME, x + wide - 2.0 - left, 2)):
        drawing.text((left, y + 5.0 + 5.2 * line), words, NAME, "bold", anchor="l")
    words = wood_and_offcut(part, spare) if part.places else f"{part.wood}, no offcut yet"
    [wood, *_] = _fitted(words, TEXT, wide - 6.0, 1)
    drawing.text((x + 3.5, y + 16.4), wood, TEXT, anchor="l")
    [job, *_] = _fitted(f"{result.job.name}, change {result.job.change}", JOB, wide - 6.0, 1)
    drawing.text((x + 3.5, y + 21.4), job, JOB, anchor="l")


def _fitted(text: str, points: float, room: float, lines: int) -> list[str]:
    """The text in so many lines at most, each within the room; what is too long ends with an ellipsis."""
    made = wrapped(text, points, room, "bold") or [""]
    kept = made[:lines]
    while width(kept[-1], points, "bold") > room and len(kept[-1]) > 1:
        kept[-1] = kept[-1][:-2].rstrip() + "…"
    if len(made) > lines and not kept[-1].endswith("…"):
        kept[-1] = kept[-1][:-1].rstrip() + "…"
    return kept
