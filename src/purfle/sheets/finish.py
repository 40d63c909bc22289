"""Sheet 8: levelling and finish: what stands proud, grits, dust that bleeds, how much finish."""

import math
from typing import Any

from purfle.model.job import JobResult
from purfle.sheets.harm import woods_of
from purfle.sheets.lettering import Run, Text, bold, capital, italic, listed, number_word, plural, table
from purfle.sheets.levelling import draw_levelling
from purfle.sheets.parts import board_words
from purfle.sheets.proud import proud_words
from purfle.sheets.style import Style
from purfle.sheets.trade import NO_SOURCE, liquid, sourced, sources_note, surface, typical
from purfle.tolerances import SAME_PLACE
from purfle.wood import find, look_of, practice
from purfle.wood.finishes import WORDS, drying_of, grits, spread_of

DARK, PALE = 100.0, 150.0
"""Lightness (0 to 255) of a freshly planed wood below which its dust stains, and above which a wood takes the stain.

Own estimate by eye.
"""


def data(result: JobResult, style: Style) -> dict[str, Any]:
    """The page."""
    drawn, caption = draw_levelling(result, style, style.across) if result.layout.inlays else (None, "")
    return {
        "title": "Levelling and finish",
        "sub": board_words(result, style),
        "lead": f"Level when the glue is hard: a day later, or the seams sink ({NO_SOURCE}).",
        "section": drawn.data() if drawn else None,
        "section_words": caption,
        "proud": _proud(result, style) if drawn else "",
        "grits": grits(),
        "grit_words": _grit_words(),
        "quantity": [bold("Finish. "), *_area_words(result, style)],
        "finishes": finish_table(result, style),
        "finish_sources": sources_note((f.source, f.status) for f in (spread_of(kind) for kind in WORDS)),
        "chosen": _chosen(result, style),
        "warnings": _bleeding(result),
    }


def _proud(result: JobResult, style: Style) -> Text:
    hang = all(inlay.fit.walls is not None for inlay in result.layout.inlays)
    sawn = "Saw each plate off with a flexible blade laid on the ground, in the saw room. "
    runs: list[Run] = [sawn] if hang else []
    runs += ["The inserts then stand " if hang else "The inserts stand ", *proud_words(result, style), " "]
    runs.append("Take them down with a sharp plane or scraper, along the grain of each, until they meet the ground. ")
    left = practice("fit", "wood left after levelling, minimum")
    later: dict[int, list[str]] = {}
    for inlay in result.layout.inlays:
        if inlay.into:
            later.setdefault(inlay.order, []).append(inlay.name)
    if later:
        times = "twice" if len(later) == 1 else f"{number_word(len(later) + 1)} times"
        before = [f"before the recess for {listed(names)} is cut; " for _, names in sorted(later.items())]
        runs += [bold(f"Level {times}: "), *before, "and at the end, when all is in. "]
    beside = ", beside what is let into it" if later else ""
    amount = bold(style.depth(typical(left)))
    thinnest = min((i.depth - i.glue_room for i in result.layout.inlays if i.fit.walls is None), default=math.inf)
    if thinnest < typical(left) - SAME_PLACE:
        runs += ["Of the thinnest inserts ", bold(style.depth(thinnest)), " is then left, and not more may go; "]
        runs += ["where depth allows, ", amount, " is better", sourced(left), "."]
    else:
        runs += ["At least ", amount, f" of the insert must be left{beside}", sourced(left), "."]
    return [*runs, *_narrow_words(result, style, typical(left))]


def _narrow_words(result: JobResult, style: Style, least: float) -> list[Run]:
    """What stays thinner than that by its tapered walls."""
    walls = [inlay.fit.walls for inlay in result.layout.inlays if inlay.fit.walls is not None]
    if not walls:
        return []
    narrow = max(2.0 * min(least, one.sink) * one.slope for one in walls)
    words = f" Where an insert is narrower than {style.length(narrow)} its walls leave less from the start: "
    return [words, "take the last there with a scraper."]


def _grit_words() -> Text:
    figure = practice("sanding", "grit sequence for levelling inlay")
    return ["Flat block, no grit left out, the last one along the grain of the ground", sourced(figure), "."]


def _area_words(result: JobResult, style: Style) -> list[Run]:
    return ["Both faces and all edges are ", bold(surface(result.layout.board.surface, style)), ". One coat takes:"]


def _chosen(result: JobResult, style: Style) -> Text:
    """The finish of this job: all coats together, how long each dries; nothing where the job does not say it."""
    wish = result.job.finish
    if wish.kind is None:
        return ""
    if wish.kind == "none":
        return [bold("This job: "), "no finish. Bare wood takes up damp and dirt, and moves more through the year."]
    litres = wish.coats * result.layout.board.surface / 1e6 / typical(spread_of(wish.kind))
    drying = drying_of(wish.kind)
    runs: list[Run] = [bold("This job: "), f"{plural(wish.coats, 'coat')} of {wish.kind}, "]
    runs += [bold(liquid(litres * 1000.0, style)), " in all. Let each dry "]
    return [*runs, bold(f"{typical(drying):.0f} h"), f" ({drying.low:.0f} to {drying.high:.0f})", sourced(drying), "."]


def finish_table(result: JobResult, style: Style) -> dict[str, Any]:
    """What one coat of each finish takes on this board."""
    rows: list[list[Any]] = []
    for kind, words in WORDS.items():
        figure = spread_of(kind)
        coat = result.layout.board.surface / 1e6 / typical(figure) * 1000
        spread = f"{typical(figure):.0f} m²/l" if style.unit == "mm" else f"{typical(figure) * 40.746:.0f} sq ft/gal"
        memory = [italic("from memory")] if figure.source == "MEM" else ""
        is_meant = kind == result.job.finish.kind
        rows.append([[bold(words)] if is_meant else words, {"big": liquid(coat, style)}, spread, memory])
    return table((0, 48, 32, 26), "lrrr", ["", "one coat", "spreads", ""], rows)


def _lightness(wood: str) -> float:
    """Luma of the freshly planed wood. Source: ITU-R BT.709 weights, here on gamma-coded values."""
    red, green, blue = look_of(wood).fresh
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _bleeding(result: JobResult) -> list[dict[str, Any]]:
    """A box where dark and pale woods are levelled together."""
    woods = woods_of(result)
    dark = [w for w in woods if _lightness(w) < DARK or find(w).id == "padauk_african"]
    pale = [w for w in woods if _lightness(w) > PALE and w not in dark]
    if not dark or not pale:
        return []
    figure = practice("sanding", "dark dust into pale wood")
    text: list[Run] = [f"Dust of {listed(dark)} stains {listed(pale)}. ", bold("Vacuum, don’t wipe. ")]
    text += ["Seal with thin shellac before you sand, scrape where you can", sourced(figure), "."]
    return [{"word": "Look", "text": [capital(str(text[0])), *text[1:]]}]
