"""Time and money, for the shop alone: work set-up by set-up and at the bench, waiting; costs, mark-up, price."""

from typing import Any

import shapely

from purfle.model.job import JobResult
from purfle.model.reckoning import Cost, CostKind, Range, Reckoning, Work, WorkKind
from purfle.money import in_coins, told
from purfle.sheets.drawing import FINE, HAIR, Drawing
from purfle.sheets.lettering import Run, Text, bold, italic, table
from purfle.sheets.parts import board_words
from purfle.sheets.piece import hours
from purfle.sheets.show_face import NONE
from purfle.sheets.style import Style
from purfle.sheets.trade import liquid, weight

ROW, BAR, LABELS, FIGURES = 8.0, 4.6, 30.0, 52.0
"""Height of a row of bars and of a bar; room of the words before them and of the figures after them, in mm."""
GREY = "#d0d0d0"
BOARD_FOOT = 2359737.2
"""mm3 in a board foot (144 cubic inches)."""
LARGE = {
    True: {"g": (1000.0, "kg"), "ml": (1000.0, "l")},
    False: {"g": (453.59237, "lb"), "ml": (946.3529, "quart")},
}
"""What glue and finish are priced by, metric or not. Source: NIST Handbook 44, appendix C."""
WORK_WORDS: dict[WorkKind, str] = {"setting up": "setting up", "cutting": "cutting", "bench": "at the bench"}
COST_WORDS: dict[CostKind, str] = {
    "time": "time",
    "wood": "woods",
    "wear": "wear",
    "glue": "glue",
    "finish": "finish",
    "hardware": "hardware",
}
FOOT = "For the shop alone: rates and mark-up are nobody else’s business."


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """A page of time, a page of money; empty where the job is not reckoned."""
    reckoned = result.reckoning
    if reckoned is None:
        return []
    return [
        {"sub": board_words(result, style), "foot": FOOT, **page}
        for page in (_time_page(reckoned), _money_page(reckoned, style))
    ]


def _time_page(reckoned: Reckoning) -> dict[str, Any]:
    minutes, again = reckoned.minutes, reckoned.minutes_again
    lead: list[Run] = ["About ", bold(hours(minutes.typical)), f" of work ({hours(minutes.low)} to "]
    lead += [f"{hours(minutes.high)}), and ", bold(_long(reckoned.waiting_hours.typical)), " of waiting: "]
    lead += [bold(_days(reckoned.days)), " from the first hour to the last. A second one in the same go: about "]
    return {
        "title": "Time",
        "lead": [*lead, bold(hours(again.typical)), " of work."],
        "bars": draw_minutes(reckoned).data(),
        "bars_words": "Grey: typical. Line: from low to high.",
        "tables": [
            one for one in (machine_table(reckoned), bench_table(reckoned), waiting_table(reckoned)) if one["rows"]
        ],
        "notes": [
            "A second one in the same go: stops, zeros and cutters stay where they are, its stock is laid in; cutting, "
            "bench and waiting come again. A running machine is not left alone, so that its minutes are yours too. "
            "Minutes of your own go into [bench] of job.toml.",
            _sources([*(one.source for one in reckoned.work), *(one.source for one in reckoned.waiting)]),
        ],
        "warnings": [],
    }


def _sources(sources: list[str]) -> str:
    words = dict.fromkeys(part for one in sources for part in one.split("; "))
    return f"Where the figures come from: {'; '.join(words)}."


def machine_table(reckoned: Reckoning) -> dict[str, Any]:
    """Set-up by set-up: setting up and cutting, and what a second one takes."""
    setting = [one for one in reckoned.work if one.kind == "setting up"]
    cutting = [one for one in reckoned.work if one.kind == "cutting"]
    rows: list[list[Any]] = []
    for first, second in zip(setting, cutting, strict=True):
        minutes = [_minutes(first.minutes.typical), _minutes(second.minutes.typical)]
        counted = f"{first.reckoned_from}, {second.reckoned_from}"
        rows.append([first.name, counted, *minutes, _minutes(first.again.typical + second.again.typical)])
    if rows:
        sums = [_sum(setting), _sum(cutting), _sum(setting, True) + _sum(cutting, True)]
        rows.append([[bold("all set-ups")], "", *([bold(_minutes(one))] for one in sums)])
    head: list[Text] = ["set-up", "with", "setting up, min", "cutting, min", "a second one"]
    return table((0, 42, 28, 24, 26), "llrrr", head, rows)


def bench_table(reckoned: Reckoning) -> dict[str, Any]:
    """Each kind of work at the bench, with what it was counted from."""
    bench = [one for one in reckoned.work if one.kind == "bench"]
    rows: list[list[Any]] = [[one.name, one.reckoned_from, *_three(one.minutes, 1.0)] for one in bench]
    if rows:
        every = Range.total(one.minutes for one in bench)
        rows.append([[bold("at the bench")], "", *([bold(word)] for word in _three(every, 1.0))])
    return table(
        (40, 0, 20, 24, 20), "llrrr", ["at the bench", "counted from", "low, min", "typical, min", "high"], rows
    )


def waiting_table(reckoned: Reckoning) -> dict[str, Any]:
    """What is waited for, in hours."""
    rows: list[list[Any]] = [[one.name, *_three(one.hours, 1.0)] for one in reckoned.waiting]
    return table((0, 20, 24, 20), "lrrr", ["waiting", "low, h", "typical, h", "high"], rows)


def _three(some: Range, share: float) -> list[str]:
    return [_minutes(one * share) for one in (some.low, some.typical, some.high)]


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f}" if minutes >= 10 else f"{minutes:.1f}"


def _sum(work: list[Work], again: bool = False) -> float:
    return sum((one.again if again else one.minutes).typical for one in work)


def _days(days: int) -> str:
    return "one working day" if days == 1 else f"{days} working days"


def _long(waiting: float) -> str:
    return f"{waiting:.0f} h".replace(" ", "\N{NO-BREAK SPACE}")


def draw_minutes(reckoned: Reckoning) -> Drawing:
    """Setting up, cutting and the bench as bars, from low to high as lines."""
    sums = {
        words: Range.total(one.minutes for one in reckoned.work if one.kind == kind)
        for kind, words in WORK_WORDS.items()
    }
    sums = {words: some for words, some in sums.items() if some.high}
    return _bars({words: (some, hours(some.typical)) for words, some in sums.items()})


def _bars(rows: dict[str, tuple[Range, str]]) -> Drawing:
    """A bar for each row: its typical figure, a line from low to high, and the figure in words."""
    wide = 186.0
    drawing = Drawing(wide, max(ROW, ROW * len(rows)))
    scale = (wide - LABELS - FIGURES) / max([some.high for some, _ in rows.values()] or [1.0])
    for number, (words, (some, figure)) in enumerate(rows.items()):
        y = number * ROW + ROW / 2
        drawing.text((LABELS - 3.0, y), words, 11.5, anchor="r")
        drawing.region(shapely.box(LABELS, y - BAR / 2, LABELS + some.typical * scale, y + BAR / 2), FINE, GREY)
        if some.high > some.low:
            drawing.line([(LABELS + some.low * scale, y), (LABELS + some.high * scale, y)], FINE)
            for end in (some.low, some.high):
                drawing.line([(LABELS + end * scale, y - 1.2), (LABELS + end * scale, y + 1.2)], HAIR)
        drawing.text((LABELS + max(some.high, some.typical) * scale + 2.5, y), figure, 12.0, "bold", anchor="l")
    return drawing


def _money_page(reckoned: Reckoning, style: Style) -> dict[str, Any]:
    return {
        "title": "Money",
        "lead": _price_words(reckoned),
        "bars": draw_costs(reckoned).data(),
        "bars_words": "Without mark-up, as far as prices are known.",
        "tables": [cost_table(reckoned, style)],
        "notes": [
            "Every line is rounded to the coin, and sums are sums of these lines. Offcuts count whole, at the price "
            "that you gave them; the board by its volume as it is cut to size. Abrasives, tape, light and heat "
            "are in your hour. Taxes are not reckoned.",
        ],
        "warnings": _missing_box(reckoned),
    }


def _price_words(reckoned: Reckoning) -> Text:
    money, known = reckoned.currency, reckoned.known_cost
    if reckoned.own_price and reckoned.price is not None:
        runs: list[Run] = ["Your own price, from [quote] in job.toml: ", bold(told(reckoned.price, money)), ". "]
        over = reckoned.price - known
        words = "Known costs are " if reckoned.missing else "Costs are "
        runs += [words, bold(told(known, money)), f", {told(abs(over), money)} {'less' if over >= 0 else 'more'}."]
        return runs
    if reckoned.price is None:
        return ["Known costs ", bold(told(known, money)), ": no price yet, since something is missing below."]
    second = reckoned.second if reckoned.second is not None else 0.0
    lead: list[Run] = ["Price ", bold(told(reckoned.price, money)), ". A second one in the same go: "]
    return [*lead, bold(told(second, money)), "."]


def _missing_box(reckoned: Reckoning) -> list[dict[str, Any]]:
    if not reckoned.missing:
        return []
    words = "Nothing was taken for these, and nobody can: add "
    return [{"word": "Missing", "text": [words, *_keys(reckoned.missing), ". Where it costs you nothing, write 0."]}]


def _keys(keys: tuple[str, ...]) -> list[Run]:
    runs: list[Run] = []
    for number, key in enumerate(keys):
        runs += ["; "] * (number > 0) + [key]
    return runs


def draw_costs(reckoned: Reckoning) -> Drawing:
    """Each kind of cost as a bar."""
    sums: dict[str, float] = {}
    for one in reckoned.costs:
        if one.cost is not None:
            sums[COST_WORDS[one.kind]] = sums.get(COST_WORDS[one.kind], 0.0) + one.cost
    return _bars({words: (Range.known(total), told(total, reckoned.currency)) for words, total in sums.items()})


def cost_table(reckoned: Reckoning, style: Style) -> dict[str, Any]:
    """Every line, then costs, mark-up and price."""
    money = reckoned.currency
    rows: list[list[Any]] = []
    for one in reckoned.costs:
        prices = [_money(one.cost, money), _money(one.again, money)]
        rows.append([[italic(COST_WORDS[one.kind])], one.name, _amount(one, style), _each(one, money, style)])
        rows[-1] += prices if one.cost is not None else [[bold("missing")], NONE]
    sums = (reckoned.known_cost, reckoned.known_again)
    words = "known costs" if reckoned.missing else "costs"
    rows.append(["", [bold(words)], "", "", *([bold(told(one, money))] for one in sums)])
    if reckoned.mark_up is not None and not reckoned.missing:
        added = [in_coins(one * reckoned.mark_up, money) for one in sums]
        rows.append(["", "mark-up", "", f"{100 * reckoned.mark_up:g} %", *(told(one, money) for one in added)])
        totals = [told(one + more, money) for one, more in zip(sums, added, strict=True)]
        rows.append(["", [bold("costs with mark-up")], "", "", *([bold(one)] for one in totals)])
    return table((18, 0, 27, 38, 29, 29), "llrrrr", ["", "", "how much", "at", "cost", "a second one"], rows)


def _money(amount: float | None, currency: str) -> str:
    return NONE if amount is None else told(amount, currency)


def _amount(one: Cost, style: Style) -> str:
    if one.measure == "mm3":
        return f"{one.amount / 1e6:.2f} dm³" if style.unit == "mm" else f"{one.amount / BOARD_FOOT:.2f} board ft"
    if one.measure == "g":
        return weight(one.amount, style)
    if one.measure == "ml":
        return liquid(one.amount, style) if one.amount else NONE
    return hours(one.amount) if one.measure == "min" else "whole"


def _each(one: Cost, money: str, style: Style) -> str:
    """The price of one, in the measure that prices are told in."""
    if one.each is None or one.measure == "whole":
        return NONE
    if one.measure == "mm3":
        many, unit = (1e9, "m³") if style.unit == "mm" else (BOARD_FOOT, "board ft")
    elif one.measure == "min":
        many, unit = 60.0, "h"
    else:
        many, unit = LARGE[style.unit == "mm"][one.measure]
    return f"{told(one.each * many, money)} a {unit}"
