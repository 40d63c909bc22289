"""How far inserts stand above the face, in words: as planned, and as the offcuts are now."""

from purfle.model.job import JobResult
from purfle.sheets.lettering import Run, bold, listed
from purfle.sheets.offcut_drawing import WORTH_PLANING
from purfle.sheets.parts import parts_of, proud_as_cut
from purfle.sheets.style import Style


def proud_words(result: JobResult, style: Style) -> list[Run]:
    """'0.4 mm proud if planed to thickness; as the offcuts are, 0.75 to 1.15.'; nothing where nothing is let in."""
    parts = parts_of(result)
    if not parts:
        return []
    planned = listed([style.depth(proud) for proud in sorted({part.inlay.proud for part in parts})])
    amounts = sorted(proud_as_cut(result, part) for part in parts)
    runs: list[Run] = [bold(planned), f" {style.word} proud"]
    if all(proud_as_cut(result, part) - part.inlay.proud <= WORTH_PLANING for part in parts):
        return [*runs, "."]
    low, high = style.depth(amounts[0]), style.depth(amounts[-1])
    as_are = low if low == high else f"{low} to {high}"
    return [*runs, " if planed to thickness; as the offcuts are, ", bold(as_are), "."]
