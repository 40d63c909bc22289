"""The quote for a customer, on one page: what it will be, what is included, how long it takes, the price.

No rate, no mark-up, no hour of work and no name of an offcut stands on it. What only the maker can say (date, how long
it is valid, tax, deposit) is left as a line to write on.
"""

from typing import Any

from purfle.model.job import JobResult
from purfle.model.reckoning import FinishKind, Reckoning
from purfle.money import told
from purfle.sheets.finished import finished_pixels, reduced
from purfle.sheets.lettering import Run, Text, bold, capital, listed, number_word, plural
from purfle.sheets.parts import Part, board_words, parts_of, wood_name
from purfle.sheets.piece import DOTS, WHITE, as_drawing
from purfle.sheets.style import Style
from purfle.wood.finishes import grits

MOST_HIGH = 92.0
"""Height of the picture at most, in mm."""
FINISH_WORDS: dict[FinishKind, str] = {
    "varnish": "varnish",
    "buffed varnish": "varnish, buffed off thin",
    "hardwax oil": "hardwax oil",
    "shellac": "shellac",
}
FOOT = "Wood is no print: figure and colour of the piece will differ from the picture, and change with light and years."


def data(result: JobResult, style: Style) -> dict[str, Any]:
    """The page. Its job has to be reckoned."""
    reckoned = result.reckoning
    assert reckoned is not None, "a quote is made of a reckoning"
    board, parts = result.layout.board, parts_of(result)
    is_below = bool(parts) and all(part.inlay.face == "underside" for part in parts)
    wide = min(style.across, MOST_HIGH * board.length / board.width)
    pixels = finished_pixels(result, face="underside" if is_below else "show", bench=WHITE)
    return {
        "title": "Quote",
        "sub": board_words(result, style),
        "foot": FOOT,
        "customer": result.job.quote.customer,
        "picture": as_drawing(reduced(pixels, round(wide * DOTS)), wide),
        "lead": _lead(result, parts),
        "included": [capital(words) for words in included(result, parts)],
        "time": _time(reckoned),
        "price": "" if reckoned.price is None else told(reckoned.price, reckoned.currency),
        "currency": reckoned.currency,
    }


def _lead(result: JobResult, parts: list[Part]) -> Text:
    ground = wood_name(result, result.layout.board.wood)
    shown = [part for part in parts if part.inlay.kind != "key"]
    if not shown:
        return [bold(result.job.name), f": {ground}."]
    woods = list(dict.fromkeys(part.wood for part in shown))
    pieces = f"{number_word(len(shown))} {'piece' if len(shown) == 1 else 'pieces'}"
    return [bold(result.job.name), f": {ground}, with {pieces} of {listed(woods)} let into it, flush with its face."]


def included(result: JobResult, parts: list[Part]) -> list[str]:
    """What the price holds, a line each, in the order in which it is made."""
    shown = [part for part in parts if part.inlay.kind != "key"]
    keys = [part for part in parts if part.inlay.kind == "key"]
    lines = [f"the board of {wood_name(result, result.layout.board.wood)}"]
    if shown:
        kinds_of_wood = len({part.wood for part in shown})
        lines.append(
            f"the inlay of {plural(len(shown), 'solid piece')} in {plural(kinds_of_wood, 'wood')}, glued and levelled"
        )
    if keys:
        woods = list(dict.fromkeys(part.wood for part in keys))
        lines.append(f"{_counted(len(keys), 'butterfly key', 'butterfly keys')} of {listed(woods)}")
    kinds = [fitting.kind for fitting in result.layout.fittings]
    if kinds:
        words = [f"{number_word(kinds.count(kind))} {_kind(kind, kinds.count(kind))}" for kind in dict.fromkeys(kinds)]
        lines.append(f"{listed(words)}, let in and fitted")
    lines += _drilled(result)
    if parts:
        lines.append(f"surfaces sanded to grit {grits()[-1]}")
    return [*lines, _finish(result)]


def _drilled(result: JobResult) -> list[str]:
    """What has no recess: pulls and inserts are fitted, a cable hole is only drilled."""
    counts = result.layout.bare_counts
    holes_only = counts.pop("cable hole", 0)
    words = [_counted(count, kind, f"{kind}s") for kind, count in counts.items()]
    lines = [f"{listed(words)}, drilled for and fitted"] if words else []
    return [*lines, f"{_counted(holes_only, 'cable hole', 'cable holes')}, drilled"] if holes_only else lines


def _kind(kind: str, count: int) -> str:
    one = "fitting" if kind in ("round", "oblong") else kind
    return one if count == 1 else one + "s"


def _counted(count: int, one: str, many: str) -> str:
    return f"a {one}" if count == 1 else f"{number_word(count)} {many}"


def _finish(result: JobResult) -> str:
    finish = result.job.finish
    if finish.kind is None:
        return "finish: to be agreed, and not in the price"
    if finish.kind == "none":
        return "no finish: the wood is left bare"
    return f"{number_word(finish.coats)} {'coat' if finish.coats == 1 else 'coats'} of {FINISH_WORDS[finish.kind]}"


def _time(reckoned: Reckoning) -> Text:
    days = f"{number_word(reckoned.days)} working {'day' if reckoned.days == 1 else 'days'}"
    runs: list[Run] = ["About ", bold(days), " from when the work begins"]
    return [*runs, ", drying times of glue and finish included."] if reckoned.waiting else [*runs, "."]
