"""How far inserts stand above the face, in words: as planned, and as the offcuts are now."""

from purfle.model.job import JobResult
from purfle.sheets.lettering import Run, bold, listed
from purfle.sheets.parts import WORTH_PLANING, Part, parts_of, proud_as_cut, proud_if_planed
from purfle.sheets.style import Style


def proud_words(result: JobResult, style: Style) -> list[Run]:
    """'0.4 mm proud if planed to thickness; as the offcuts are, 0.75 to 1.15.'; nothing where nothing is let in."""
    parts = parts_of(result)
    if not parts:
        return []
    planned = listed([style.proud(proud) for proud in sorted({part.inlay.proud for part in parts})])
    amounts = sorted(proud_as_cut(result, part) for part in parts)
    if all(part.inlay.fit.walls is not None for part in parts):
        return [bold(planned), f" {style.word} above the face where the saw runs along the plate."]
    runs: list[Run] = [bold(planned), f" {style.word} proud"]
    if all(proud_as_cut(result, part) - part.inlay.proud <= WORTH_PLANING for part in parts):
        return [*runs, "."]
    low, high = style.proud(amounts[0]), style.proud(amounts[-1])
    as_are = low if low == high else f"{low} to {high}"
    runs.append(" if planed to thickness")
    return [*runs, *_thicker(result, parts, style), "; as the offcuts are, ", bold(as_are), "."]


def _thicker(result: JobResult, parts: list[Part], style: Style) -> list[Run]:
    """' (14: 1.6)': pieces that stay thicker than they need to be, since a thicker one comes from their offcut."""
    thicker: dict[str, list[str]] = {}
    for part in parts:
        if (stands := proud_if_planed(result, part)) - part.inlay.proud > WORTH_PLANING:
            thicker.setdefault(style.proud(stands), []).append(part.label)
    each = [f"{listed(labels)}: {figure}" for figure, labels in thicker.items()]
    return [f" ({'; '.join(each)})"] if each else []
