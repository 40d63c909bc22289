"""Texts of an SVG as outlines: their words with place and style, set in a font that is at hand.

Source: SVG 1.1 chapter 10 (text): chunks, anchors, white space; CSS Fonts 3 (families, weights, slants).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import shapely
from lxml import etree

from purfle.errors import FontError
from purfle.files import fonts
from purfle.files.svg_style import inherit, length_px, numbers, own_style
from purfle.model.pieces import Region

GENERIC = {
    "serif": ("Times New Roman", "Liberation Serif", "DejaVu Serif", fonts.BUNDLED),
    "sans-serif": ("Arial", "Helvetica", "Liberation Sans", "DejaVu Sans", fonts.BUNDLED),
    "monospace": ("Courier New", "Liberation Mono", "DejaVu Sans Mono"),
}
"""Fonts that stand for a kind of font, the first that is at hand; which one it was is told."""
WEIGHTS = {"normal": 400, "bold": 700, "lighter": 300, "bolder": 700}
ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}
UNUSUAL = ("textLength", "rotate", "writing-mode", "dominant-baseline", "baseline-shift", "font", "word-spacing")
"""Attributes that change where letters stand, and are not understood here."""
INNER = ("tspan", "a")
Sheet = Mapping["etree._Element", Mapping[str, tuple[str, bool]]]


@dataclass(frozen=True, slots=True)
class Words:
    """Words of one style; `at` is where a new chunk begins (None: after the last word), `by` a shift. User units."""

    text: str
    style: Mapping[str, str]
    x: float | None
    y: float | None
    by: tuple[float, float]


def unusual_in(element: "etree._Element") -> str:
    """What a text uses that is not understood here, or nothing."""
    for part in element.iter(etree.Element):
        name = etree.QName(part).localname
        if part is not element and name not in INNER:
            return f"<{name}> in a text"
        for word in UNUSUAL:
            if part.get(word) is not None or f"{word}:" in (part.get("style") or "").replace(" ", ""):
                return word
        if any(len(numbers(part.get(axis))) > 1 for axis in ("x", "y", "dx", "dy")):
            return "a place for each letter"
    return ""


def words_of(element: "etree._Element", style: Mapping[str, str], sheet: Sheet) -> Iterator[Words]:
    """The words of a text element in their order, white space collapsed."""
    x, y, dx, dy = (_first(element, axis) for axis in ("x", "y", "dx", "dy"))
    is_root = etree.QName(element).localname == "text"
    x, y = (0.0 if is_root and place is None else place for place in (x, y))
    by = (dx or 0.0, dy or 0.0)
    yield Words(_plain(element.text), style, x, y, by)
    for child in element:
        own = own_style(child, sheet.get(child, {}))
        if own.get("display") != "none":
            yield from words_of(child, inherit(style, own), sheet)
        yield Words(_plain(child.tail), style, None, None, (0.0, 0.0))


def _first(element: "etree._Element", axis: str) -> float | None:
    return None if element.get(axis) is None else length_px(element.get(axis), 0.0, f"{axis} of a text")


def _plain(text: str | None) -> str:
    """White space as one blank."""
    words = text or ""
    inner = " ".join(words.split())
    if not inner:
        return " " if words else ""
    return (" " if words[0].isspace() else "") + inner + (" " if words[-1].isspace() else "")


def set_in_type(lines: Sequence[Words], folder: Path | None, tolerance: float) -> list[tuple[Words, Region, str]]:
    """Each run of words with its outline (user units, y down) and the font that stands for a kind of font.

    `tolerance`: of flattening, in user units.

    Raises: FontError where a font or a letter is not at hand.
    """
    runs = _trimmed(lines)
    drawn = [_run(words, folder, tolerance) for words in runs]
    found: list[tuple[Words, Region, str]] = []
    x = y = 0.0
    for k, words in enumerate(runs):
        x, y = x if words.x is None else words.x, y if words.y is None else words.y
        if k == 0 or words.x is not None or words.y is not None:
            end = next(
                (n for n in range(k + 1, len(runs)) if runs[n].x is not None or runs[n].y is not None), len(runs)
            )
            whole = sum(drawn[n][1] + runs[n].by[0] for n in range(k, end))
            x -= ANCHORS.get(words.style["text-anchor"], 0.0) * whole
        x, y = x + words.by[0], y + words.by[1]
        region, advance, family = drawn[k]
        found.append((words, shapely.affinity.affine_transform(region, [1, 0, 0, -1, x, y]), family))
        x += advance
    return found


def _trimmed(lines: Sequence[Words]) -> list[Words]:
    """Blanks at the start, at the end and after a blank taken off; runs without words only if they move the place."""
    kept: list[Words] = []
    blank = True
    for words in lines:
        text = words.text.lstrip(" ") if blank or words.x is not None else words.text
        if text or words.x is not None or words.y is not None or any(words.by):
            kept.append(Words(text, words.style, words.x, words.y, words.by))
        blank = text.endswith(" ") if text else blank
    if kept:
        last = kept[-1]
        kept[-1] = Words(last.text.rstrip(" "), last.style, last.x, last.y, last.by)
    return kept


def _run(words: Words, folder: Path | None, tolerance: float) -> tuple[Region, float, str]:
    """The outline of one run from its own start, y up; how far it goes; the font that stands for a kind of font."""
    if not words.text:
        return shapely.Polygon(), 0.0, ""
    face, family = font_for(words.style, folder)
    size = length_px(words.style["font-size"], 16.0, "font-size")
    spacing = words.style["letter-spacing"]
    wider = 0.0 if spacing == "normal" else length_px(spacing, 0.0, "letter-spacing")
    parts, x = [], 0.0
    for letter in fonts.letters_at_size(face, words.text, size, tolerance=tolerance):
        parts.append(shapely.affinity.translate(letter.region, x))
        x += letter.advance + letter.kerning + wider
    return shapely.union_all(parts), x, family


def font_for(style: Mapping[str, str], folder: Path | None) -> tuple[fonts.FontFace, str]:
    """The first font of the family list that is at hand, nearest in weight; its name if it stands for a kind of font.

    Raises: FontError, naming the list.
    """
    wanted = [name.strip().strip("\"' ") for name in style["font-family"].split(",")]
    weight = WEIGHTS.get(style["font-weight"]) or int((numbers(style["font-weight"]) or [400])[0])
    italic = style["font-style"] in ("italic", "oblique")
    for name in wanted:
        for family in GENERIC.get(name.lower(), (name,)):
            for close in (weight, None):
                try:
                    return fonts.find_font(family, close, italic, folder), family if name.lower() in GENERIC else ""
                except FontError:
                    continue
    raise FontError(f"no font of {', '.join(wanted)} is at hand")
