"""Sheet 4: the offcuts, one drawing each: pieces with their numbers, grain, spares, room kept, defects."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any

from purfle.model.job import JobResult
from purfle.sheets.drawing import Drawing
from purfle.sheets.lettering import Text, bold, capital, listed, plural, table, wrapped
from purfle.sheets.offcut_drawing import Cell, at_scale, cell_of, draw_cells, shelves, with_rows
from purfle.sheets.parts import Part, counted, labels_of, parts_of, planed_thickness, wood_name
from purfle.sheets.style import Style
from purfle.sheets.view import SCALES as BOARD_SCALES
from purfle.sheets.view import scale_words
from purfle.sheets.warnings import boxes_height, warnings_of

LEAD, CAPTION, LIST_ROW, NOTE_LINE = 11.0, 7.0, 5.2, 5.2
"""Heights on the page beside the drawings, in mm."""
CROWDED = 8.0
"""So many numbers beside their pieces are as bad as one more page."""
NAME_ROOM = 34.0
"""Width of a name in its list, in mm."""
SCALES = tuple(sorted({*BOARD_SCALES, 1.25, 1.75, 2.25, 2.75}))
"""mm of wood to one of paper: in small steps, since a page of offcuts is full or not."""
LARGEST, SMALLEST = 1.0, 4.0
"""Scales tried for the fewest pages; smaller ones only where an offcut is too large for the paper."""
MOST_THICKNESSES = 3
LIST_COLUMNS, LIST_ROOM = 3, 60.0
"""Names of the pieces stand beside each other in columns; where they take more height, sheet 1 alone has them."""


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The pages, or none if no part needs wood."""
    parts = parts_of(result)
    if not parts:
        return []
    scale, pages, unnumbered = _drawn(result, style)
    shared = _shared(result, parts, style)
    shared["notes"] += [_unnumbered(unnumbered)] if unnumbered else []
    made = [
        shared
        | {
            "drawing": drawing.data() if drawing else None,
            "scale": scale_words(scale),
            "is_last": number == len(pages) - 1,
        }
        for number, drawing in enumerate(pages)
    ]
    return made


def _shared(result: JobResult, parts: list[Part], style: Style) -> dict[str, Any]:
    """What stands on every page of this sheet, and the lists that close the last one."""
    woods = {part.wood for part in parts}
    hang = {place.offcut for place in result.on_offcuts.places if place.part.hangs is not None}
    not_planed = hang | {name for name, _ in result.on_offcuts.blocks}
    used = [offcut for offcut in result.on_offcuts.used if offcut.name not in not_planed]
    thick = [style.depth(t) for t in sorted({round(planed_thickness(result, offcut), 3) for offcut in used})]
    margin, between = style.length(result.job.margin), style.length(result.job.between)
    has_tabs = any(place.tabs for place in result.on_offcuts.places)
    dark = "dark: defects; black bars: tabs (sheet 6)" if has_tabs else "dark: defects"
    return {
        "title": "Offcuts",
        "sub": f"{counted(parts)}, {plural(len(woods), 'wood')}{_planed(thick, style)}",
        "lead": "The arrow lies along the grain. Number the pieces before they leave the wood; s is a spare.",
        "dashed": f"dashed: {margin} {style.word} kept for holding; {between} at least between pieces; {dark}",
        "lists": part_lists(parts) if _list_height(parts) <= LIST_ROOM else [],
        "elsewhere": "" if _list_height(parts) <= LIST_ROOM else "The names of the pieces stand on sheet 1.",
        "notes": [text for text in (_to_write_down(result), _unplaced(result, style)) if text],
        "warnings": warnings_of(result, ("offcuts",)),
    }


def _planed(thick: list[str], style: Style) -> str:
    """The thicknesses that offcuts are planed to, a few of them: more would not be read."""
    return f", {listed(thick)} {style.word} when planed" if 0 < len(thick) <= MOST_THICKNESSES else ""


def part_lists(parts: list[Part]) -> list[dict[str, Any]]:
    """Number, name and wood of every part, in up to three lists side by side."""
    rows = [[[bold(part.label)], _name(part), part.wood] for part in parts]
    each = -(-len(rows) // LIST_COLUMNS)
    return [table((7, 0, 20), "llr", [], rows[start : start + each]) for start in range(0, len(rows), each)]


def _list_height(parts: list[Part]) -> float:
    """Height of the lists of names, long names in several lines."""
    lines = [len(wrapped(_name(part), 11.5, NAME_ROOM)) for part in parts]
    return LIST_ROW * sum(lines) / LIST_COLUMNS + LIST_ROW


def _name(part: Part) -> str:
    return (part.insert.name or part.inlay.name) + part.spare_words


def _drawn(result: JobResult, style: Style) -> tuple[float, list[Drawing | None], list[str]]:
    """The scale, the drawing of each page, and the numbers that found no room on any.

    Offcuts whose numbers find no clear room are drawn once more with rows for them above and below: a little smaller
    where that saves a page, else as large as they were, on one more page.
    """
    scale, pages = _arranged(result, style)
    first = _pages_drawn(scale, pages, style)
    best = _with_room(result, style, (scale, pages), first.crowded) if first.crowded else first
    best = best or first
    return best.scale, best.drawings, best.unnumbered


def _with_room(
    result: JobResult, style: Style, arranged: tuple[float, list[list[Cell]]], crowded: Collection[str]
) -> "_Drawn | None":
    """The offcuts with rows for the numbers of those that are `crowded`; None where no arrangement finds room."""
    scale, pages = arranged
    more: list[tuple[float, list[list[Cell]]]] = []
    for smaller in (one for one in SCALES if scale <= one <= SMALLEST):
        cells = [at_scale(replace(cell, x=0.0, y=0.0), smaller) for page in pages for cell in page]
        cells = [with_rows(cell) if cell.offcut.name in crowded else cell for cell in cells]
        roomy = shelves(cells, style.across, style.down - LEAD - CAPTION, _tail(result, style))
        if roomy is None:
            continue
        more.append((smaller, roomy))
        # what takes more pages is drawn only where nothing on as few as before will do
        if len(roomy) <= len(pages) and not (made := _pages_drawn(smaller, roomy, style)).crowded:
            return made
    drawn = [_pages_drawn(*one, style) for one in more]
    return min(drawn, key=lambda one: (len(one.unnumbered), len(one.drawings)), default=None)


@dataclass(frozen=True, slots=True)
class _Drawn:
    """All pages at one scale; by offcut the numbers that found no clear room."""

    scale: float
    drawings: list[Drawing | None]
    crowded: dict[str, list[str]]

    @property
    def unnumbered(self) -> list[str]:
        return [label for labels in self.crowded.values() for label in labels]


def _pages_drawn(scale: float, pages: list[list[Cell]], style: Style) -> _Drawn:
    drawn = [draw_cells(cells, style.across) if cells else None for cells in pages]
    crowded = {name: labels for one in drawn if one for name, labels in one[1].items()}
    return _Drawn(scale, [one[0] if one else None for one in drawn], crowded)


def _unnumbered(labels: list[str]) -> Text:
    return [bold("No room for the numbers "), f"{listed(labels)}: their pieces stand on sheet 10 at true size."]


def _tail(result: JobResult, style: Style) -> float:
    """Height below the drawings of the last page."""
    height = _list_height(parts_of(result))
    tail = height if height <= LIST_ROOM else LIST_ROW
    tail += 1.5 * NOTE_LINE * bool(_to_write_down(result))
    return tail + boxes_height(warnings_of(result, ("offcuts",)), style.across)


def _arranged(result: JobResult, style: Style) -> tuple[float, list[list[Cell]]]:
    """The scale with the fewest pages and few numbers beside their pieces, and the offcuts on their pages."""
    tail = _tail(result, style)
    best: tuple[float, float, list[list[Cell]]] | None = None
    labels = labels_of(result.layout)
    plain = [cell_of(result, offcut, labels, style) for offcut in result.on_offcuts.used]
    for scale in (s for s in SCALES if s >= LARGEST):
        cells = [at_scale(cell, scale) for cell in plain]
        pages = shelves(cells, style.across, style.down - LEAD - CAPTION, tail)
        if pages is not None:
            cost = len(pages) + sum(1 for cell in cells for part in cell.parts if not part.has_room(scale)) / CROWDED
            best = (cost, scale, pages) if best is None or cost < best[0] else best
        if best is not None and scale >= SMALLEST:
            break
    assert best is not None
    return best[1], best[2]


def _to_write_down(result: JobResult) -> Text:
    """What a maker who planes an offcut has to do, so that the programs fit it."""
    if all(planed_thickness(result, offcut) == offcut.thickness for offcut in result.on_offcuts.used):
        return ""
    return [bold("Planed an offcut? "), "Write its new thickness into shop.toml and make the job again before you cut."]


def _unplaced(result: JobResult, style: Style) -> Text:
    if not result.on_offcuts.unplaced:
        return ""
    labels = labels_of(result.layout)
    names = [
        f"{labels[w.inlay, w.number]} {w.name} ({wood_name(result, w.wood)}, {style.depth(w.thickness)} thick)"
        for w in result.on_offcuts.unplaced
    ]
    return [bold("No room on any offcut: "), f"{', '.join(names)}. {capital('; '.join(result.on_offcuts.to_buy))}."]
