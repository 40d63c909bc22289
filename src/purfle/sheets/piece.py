"""Sheet 1: the piece: its picture, every part with its wood, size and offcut, time and cost, what to buy."""

import base64
from typing import Any

import numpy as np
from numpy.typing import NDArray

from purfle.model.cutting import CuttingWay
from purfle.model.job import JobResult
from purfle.money import told
from purfle.sheets.drawing import Drawing
from purfle.sheets.finished import finished_pixels, jpeg, reduced
from purfle.sheets.lettering import Run, Text, bold, capital, listed, number_word, plural, table, wrapped
from purfle.sheets.parts import Part, board_words, counted, parts_of, thickness_as_cut, wood_name
from purfle.sheets.piece_lists import lists_height, piece_lists
from purfle.sheets.style import Style, unbroken
from purfle.sheets.warnings import warnings_of

LEAST_PICTURE, LEAST_ABOVE_LISTS, MOST_PICTURE = 66.0, 56.0, 104.0
"""Height that the picture takes at least, and above lists in columns; at most. Between, what the list leaves."""
AROUND, ROW, BOX = 52.0, 5.9, 16.0
"""Height of all else on the page; of a row of the parts list; of a warning."""
MANY, NAME_ROOM = 20, 38.0
"""A list of more lines stands in two columns; width of a name in one, in mm."""
WHITE = (255, 255, 255)
DOTS = 7.0
"""Dots of the picture to a mm of paper: 180 to the inch."""
TIME: dict[CuttingWay, str] = {
    "machine": "Time at the machine. ",
    "templates": "Time with the router. ",
    "guided router": "Time with the router. ",
    "knife and saw": "Time with knife and saw. ",
}
"""What the minutes of cutting are spent at."""


def data(result: JobResult, style: Style) -> dict[str, Any]:
    """The page; its parts list flows on if it must."""
    board, parts = result.layout.board, parts_of(result)
    is_below = all(part.inlay.face == "underside" for part in parts) and bool(parts)
    lists = piece_lists(result, parts, style, style.down - AROUND - LEAST_ABOVE_LISTS) if _lines(parts) > MANY else []
    listed_high = lists_height(lists[0]) if lists else ROW * len(parts)
    least = LEAST_ABOVE_LISTS if lists else LEAST_PICTURE
    warnings = warnings_of(result, ("fit", "artwork", "job"))
    room = min(MOST_PICTURE, max(least, style.down - AROUND - listed_high - BOX * len(warnings)))
    wide = min(style.across, room * board.length / board.width)
    pixels = finished_pixels(result, face="underside" if is_below else "show", bench=WHITE)
    woods = list(dict.fromkeys(part.wood for part in parts))
    return {
        "title": "The piece",
        "sub": board_words(result, style),
        "picture": as_drawing(reduced(pixels, round(wide * DOTS)), wide),
        "below": "the underside, turned about datum edge A" if is_below else "",
        "lead": f"{_lead(parts, woods)}, let into {wood_name(result, board.wood)}{_walls(parts)}."
        if parts
        else f"{capital(wood_name(result, board.wood))}, no inlay.",
        "table": part_table(result, [] if lists else parts, style),
        "lists": lists,
        "notes": [text for text in (_hardware(result, style), _time(result), _cost(result)) if text],
        "buy": _buy(result),
        "warnings": warnings,
    }


def _lines(parts: list[Part]) -> int:
    """How many lines the list of the pieces takes in one column."""
    return sum(len(wrapped(_name(part), 11.5, NAME_ROOM)) for part in parts)


def _lead(parts: list[Part], woods: list[str]) -> str:
    """'14 pieces in 5 woods (holly, ...), and a butterfly key'."""
    keys = [part for part in parts if part.inlay.kind == "key"]
    rest = [part for part in parts if part.inlay.kind != "key"]
    kinds = f"{plural(len(woods), 'wood')} ({listed(woods)})"
    if not rest or not keys:
        return f"{capital(counted(parts))} in {kinds}"
    return f"{capital(counted(rest))} in {kinds}, and {counted(keys)}"


def _walls(parts: list[Part]) -> str:
    return " with tapered walls" if any(part.inlay.fit.walls for part in parts) else ""


def as_drawing(pixels: NDArray[np.uint8], wide: float) -> dict[str, Any]:
    """The picture as a drawing without texts."""
    drawing = Drawing(wide, wide * pixels.shape[0] / pixels.shape[1])
    coded = base64.b64encode(jpeg(pixels)).decode()
    size = f'width="{drawing.width:.3f}" height="{drawing.height:.3f}"'
    drawing.parts.append(f'<image {size} href="data:image/jpeg;base64,{coded}"/>')
    return drawing.data()


def part_table(result: JobResult, parts: list[Part], style: Style) -> dict[str, Any]:
    """Each part: number, name, wood, size along and across its grain, thickness, offcut."""
    head: list[Text] = ["", "piece", "wood", "along × across the grain", "thick as cut", "out of"]
    rows = []
    for part in parts:
        size = f"{style.tenths(part.along)} × {style.tenths(part.across)}"
        thick = style.depth(thickness_as_cut(result, part))
        rows.append([[bold(part.label)], _name(part), part.wood, size, thick, _out_of(part)])
    return table((9, 0, 28, 40, 24, 42), "lllrrl", head, rows)


def _name(part: Part) -> str:
    """A piece by its name, with the pieces that it is let into."""
    name = part.insert.name or part.inlay.name
    return f"{name}, in {listed([str(host) for host in part.insert.hosts])}" if part.insert.hosts else name


def _out_of(part: Part) -> Text:
    if not part.places:
        return [bold("nothing yet: buy")]
    return part.places[0].offcut + part.spare_words


def hardware_words(result: JobResult, style: Style) -> list[str]:
    """The fittings, equal ones together: 'left hinge and right hinge, 50 × 14'."""
    by_size: dict[str, list[str]] = {}
    for fitting in result.layout.fittings:
        size = f"Ø {style.length(fitting.size[0])}" if fitting.is_round else style.size(*fitting.size)
        by_size.setdefault(size, []).append(fitting.name)
    for (kind, name), holes in result.layout.bare_fittings.items():
        each = f"Ø {style.drill(holes[0].drill)}"
        in_all = kind == "drawer pull" and len(holes) > 1
        size = f"{number_word(len(holes))} holes {each}" if in_all else each
        by_size.setdefault(size, []).extend([name] * (1 if kind == "drawer pull" else len(holes)))
    return [f"{listed(_counted(names))}, {unbroken(size)}" for size, names in by_size.items()]


def _hardware(result: JobResult, style: Style) -> Text:
    each = hardware_words(result, style)
    return [bold("Hardware. "), f"{'; '.join(each)}."] if each else ""


def _counted(names: list[str]) -> list[str]:
    """Each name once, with its count where it stands more than once."""
    return [name if names.count(name) == 1 else f"{names.count(name)} × {name}" for name in dict.fromkeys(names)]


def _time(result: JobResult) -> Text:
    set_ups = result.cutting.set_ups
    if not set_ups:
        return ""
    setting = sum(s.set_up_minutes for s in set_ups)
    cutting = sum(s.cutting_minutes for s in set_ups)
    runs: list[Run] = [
        bold(TIME[result.job.cutting.way]),
        "Cutting ",
        bold(hours(cutting)),
        ", setting up ",
        bold(hours(setting)),
    ]
    runs.append(f", {plural(len(set_ups), 'set-up')}.")
    if result.reckoning is None:
        return [*runs, " Bench work, glue and finish come on top."]
    bench = sum(one.minutes.typical for one in result.reckoning.work if one.kind == "bench")
    waiting = result.reckoning.waiting_hours.typical
    return [*runs, " At the bench about ", bold(hours(bench)), ", and ", bold(f"{waiting:.0f} h"), " of waiting."]


def hours(minutes: float) -> str:
    """'40 min', '2 h 5 min'; never broken over two lines."""
    whole = max(1, round(minutes))
    parts = [f"{whole // 60} h"] * (whole >= 60) + [f"{whole % 60} min"] * (whole % 60 > 0)
    return " ".join(parts).replace(" ", "\N{NO-BREAK SPACE}")


def _cost(result: JobResult) -> Text:
    """The price, or what is known of the costs."""
    reckoned = result.reckoning
    if reckoned is None:
        return ""
    if reckoned.price is not None:
        price = told(reckoned.price, reckoned.currency)
        return [bold("Cost. "), "Price ", bold(price), ", line by line in the paper for time and money."]
    if not reckoned.known_cost:
        return [bold("Cost. "), "No prices are known: the paper for time and money says which keys to add."]
    known = bold(told(reckoned.known_cost, reckoned.currency))
    return [bold("Cost. "), known, " as far as known: the paper for time and money says what is missing."]


def _buy(result: JobResult) -> list[str]:
    return [capital(line) + ("" if line.endswith(".") else ".") for line in result.on_offcuts.to_buy]
