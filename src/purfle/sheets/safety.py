"""Sheet 9: safety: hearing, dust, the woods of this job, cutters, rags; and who knows better."""

import math
from typing import Any

import shapely

from purfle.model.job import JobResult
from purfle.model.reckoning import FinishKind
from purfle.model.shop import SawBlade
from purfle.sheets.drawing import EDGE, FINE, Drawing
from purfle.sheets.harm import woods_of
from purfle.sheets.lettering import Run, Text, bold, capital, listed, number_word, plural, table, width
from purfle.sheets.parts import board_words
from purfle.sheets.piece import hours
from purfle.sheets.show_face import NONE
from purfle.sheets.style import Style
from purfle.sheets.trade import NO_SOURCE, sourced, sources_note, typical
from purfle.wood import Practice, find, hazards_of, practice
from purfle.wood.cautions import reaction_words, site_words

LIMITS = (
    ("EU, hardwood dust, inhalable", "EU binding limit hardwood dust"),
    ("NIOSH, all wood dust", "NIOSH REL wood dust"),
    ("ACGIH, most woods", "ACGIH TLV"),
    ("OSHA, respirable; 15 in all", "OSHA PEL wood dust"),
)
"""Limits over a working day of eight hours, with the words of each."""
CLASSED = {
    "oak_red_northern": "A1",
    "oak_white": "A1",
    "oak_live": "A1",
    "oak_european": "A1",
    "beech_american": "A1",
    "beech_european": "A1",
    "birch_paper": "A2",
    "birch_sweet": "A2",
    "birch_yellow": "A2",
    "mahogany_african": "A2",
    "mahogany_true": "A2",
    "walnut_black": "A2",
    "walnut_european": "A2",
    "teak": "A2",
}
"""How ACGIH classes woods of the table: A1 causes cancer in people, A2 is suspected of it.

Source: OSHA wood dust pages, which name oak and beech A1, birch, mahogany, teak and walnut A2.
"""
CEDAR = "cedar_western_red"
FINISHES: dict[FinishKind, str] = {
    "varnish": "its solvents burn and make one dizzy.",
    "buffed varnish": "its solvents burn and make one dizzy; buffing cloths are oily rags.",
    "hardwax oil": "cloths and pads with it are oily rags; its thinner burns.",
    "shellac": "its spirit burns, and its vapour with it.",
}
"""What each finish does while it is wet. From memory."""
LEVELS_HIGH = 48.0
BAR, ROW = 6.0, 9.5
LONGEST_BAR = 105.0


def data(result: JobResult, style: Style) -> dict[str, Any]:
    """The page."""
    return {
        "title": "Safety",
        "sub": board_words(result, style),
        "lead": "Manuals of machine, cutter and glue, local codes and licensed practice win over this sheet.",
        "hearing": None if by_edge_tools(result) else draw_hearing(result, style).data(),
        "hearing_words": _edges() if by_edge_tools(result) else _hearing(result),
        "limits": limit_table(result),
        "limit_sources": sources_note((f.source, f.status) for f in (practice("safety", i) for _, i in LIMITS)),
        "dust": _dust(by_edge_tools(result)),
        "woods": wood_table(result),
        "wood_sources": sources_note((h.source, h.status) for w in woods_of(result) for h in hazards_of(w)),
        "facts": _facts(result),
    }


def allowed_minutes(level: float) -> float:
    """Minutes a day that an ear stands a level (dBA) without harm: 8 h at 85 dBA, half for each 3 dB more.

    Source: NIOSH criteria for occupational noise exposure, from memory. Valid: 80 to 140 dBA.

    >>> round(allowed_minutes(85.0)), round(allowed_minutes(88.0))
    (480, 240)
    """
    return 480.0 * math.exp2((85.0 - level) / 3.0)


def minutes_by_law(level: float) -> float:
    """Minutes a day that US law lets a worker stand a level (dBA): 8 h at 90 dBA, half for each 5 dB more.

    Source: OSHA, 29 CFR 1910.95, from memory. Valid: 80 to 130 dBA. Longer than what keeps an ear whole.

    >>> round(minutes_by_law(90.0)), round(minutes_by_law(95.0))
    (480, 240)
    """
    return 480.0 * math.exp2((90.0 - level) / 5.0)


def by_edge_tools(result: JobResult) -> bool:
    """True where knife, chisel and saw do the cutting: nothing turns."""
    return result.job.cutting.way == "knife and saw"


def _facts(result: JobResult) -> list[list[Text]]:
    if by_edge_tools(result):
        return [["saw", _saw()], ["rags", _rags()], ["hands", _hands(result)], *_last(result)]
    return [["cutters", _cutters(result)], ["rags", _rags()], ["hands", _hands(result)], *_last(result)]


def _edges() -> Text:
    return [
        bold("Edges. "),
        "A blunt edge slips: hone knife and chisel before you begin, and again when they need force. Cut ",
        bold("away from yourself"),
        ", the work clamped, both hands behind the edge, nobody in front of it. Knife along a steel rule in several "
        "light cuts, fingers off its edge; chisel with a mallet or two hands, never towards the hand that holds the "
        f"work. Lay tools down with the edge away from you, and catch none that falls ({NO_SOURCE}).",
    ]


def _saw() -> Text:
    return [
        "Blade tight, teeth down towards the table, the work held flat on it; no finger in line with the blade. Small "
        "parts: hold them by the waste, or glued to a backing. Of a power saw: guard down, plug drawn before you "
        f"change the blade, ears protected. Eyes covered: thin blades break ({NO_SOURCE}).",
    ]


def cutting_minutes(result: JobResult) -> float:
    """How long the cutter runs in this job."""
    return sum(s.cutting_minutes for s in result.cutting.set_ups)


def _levels() -> list[float]:
    figure = practice("safety", "router at the bench, level")
    return [figure.low or 0.0, typical(figure), figure.high or 0.0]


def draw_hearing(result: JobResult, style: Style) -> Drawing:
    """How long a day an unprotected ear stands each level, as bars, and the cutting time of this job across them."""
    drawing = Drawing(style.across, 3 * ROW + 9.0)
    longest = max(*(allowed_minutes(level) for level in _levels()), cutting_minutes(result))
    left, scale = 26.0, LONGEST_BAR / longest
    minutes = cutting_minutes(result)
    line = left + minutes * scale
    for row, level in enumerate(_levels()):
        y, allowed = row * ROW + ROW / 2, allowed_minutes(level)
        drawing.text((left - 3.0, y), f"{level:.0f} dBA", 14.0, "bold", anchor="r")
        drawing.region(shapely.box(left, y - BAR / 2, left + allowed * scale, y + BAR / 2), FINE, "#d0d0d0")
        x = left + allowed * scale + 2.5
        if minutes and x - 1.5 < line < x + width(hours(allowed), 14.0, "bold") + 1.5:
            x = line + 2.5
        drawing.text((x, y), hours(allowed), 14.0, "bold", anchor="l", white=True)
    if minutes:
        x = line
        drawing.line([(x, 0.0), (x, 3 * ROW + 2.0)], EDGE)
        drawing.text((x + 1.5, 3 * ROW + 4.4), f"this job cuts for {hours(minutes)}", 11.5, anchor="l")
    return drawing


def _hearing(result: JobResult) -> Text:
    noise, router = practice("safety", "noise NIOSH REL"), practice("safety", "router at the bench, level")
    law, loudest = practice("safety", "noise OSHA PEL"), max(_levels())
    minutes = cutting_minutes(result)
    over = [level for level in _levels() if allowed_minutes(level) < minutes]
    runs: list[Run] = [bold("Ears. "), "How long a day an ear without protection stands a router", sourced(noise), ". "]
    if over:
        runs += [f"From {over[0]:.0f} dBA on, this job alone is more: "]
    return [
        *runs,
        bold(f"{'wear' if over else 'Wear'} hearing protection whenever it runs"),
        sourced(router),
        f". US law allows {hours(minutes_by_law(loudest))} at {loudest:.0f} dBA",
        sourced(law),
        "; ears do not.",
    ]


def _by_acgih(result: JobResult, figure: Practice) -> tuple[float, str]:
    """The limit for the woods of this job, and which of them are classed as causing cancer."""
    woods = {wood: find(wood).id for wood in woods_of(result)}
    classed = [f"{wood} {CLASSED[known]}" for wood, known in woods.items() if known in CLASSED]
    has_cedar = CEDAR in woods.values()
    words = "ACGIH, western redcedar" if has_cedar else "ACGIH, most woods"
    more = f"; for cancer it classes {listed(classed)}" if classed else ""
    return (figure.low if has_cedar else figure.high) or 0.0, words + more


def limit_table(result: JobResult) -> dict[str, Any]:
    """Limits of wood dust in the air."""
    rows: list[list[Any]] = []
    for words, item in LIMITS:
        figure = practice("safety", item)
        amount = figure.low if item.startswith("OSHA") else figure.high if item.startswith("ACGIH") else figure.typical
        if item.startswith("ACGIH"):
            amount, words = _by_acgih(result, figure)
        rows.append([words, {"big": f"{amount:g}"}, "mg/m³"])
    return table((0, 20, 18), "lrl", ["dust in the air, over eight hours", "", ""], rows)


def _dust(is_by_hand: bool) -> Text:
    group = practice("safety", "IARC wood dust")
    runs: list[Run] = [
        bold("Dust. "),
        "All wood dust can cause cancer: IARC ",
        bold(group.unit),
        sourced(group),
    ]
    where = "where it arises" if is_by_hand else "at the cutter"
    return [*runs, f". Extraction {where}, a mask that filters fine dust, no sweeping dry, no compressed air."]


def wood_table(result: JobResult) -> dict[str, Any]:
    """What the published charts say of each wood of this job; those that they don't list stand in one row."""
    rows: list[list[Any]] = []
    for wood in woods_of(result):
        for hazard in hazards_of(wood):
            sites = site_words(hazard) or NONE
            rows.append(
                [
                    [bold(wood)],
                    reaction_words(hazard),
                    sites,
                    {"big": hazard.potency} if hazard.potency else "not graded",
                ]
            )
    unlisted = [wood for wood in woods_of(result) if not hazards_of(wood)]
    if unlisted:
        rows.append([[bold(listed(unlisted))], "not on the chart, which does not mean harmless", NONE, NONE])
    return table((38, 0, 50, 24), "lllc", ["wood", "its dust", "where", "how strongly"], rows)


def _cutters(result: JobResult) -> Text:
    every = [cutter for s in result.cutting.set_ups for cutter in s.cutters]
    used = {cutter.number: cutter for cutter in every if not isinstance(cutter, SawBlade)}
    runs: list[Run] = []
    for cutter in used.values():
        runs += [f"{cutter.name} at most ", bold(f"{cutter.max_speed:,.0f}".replace(",", "\N{NARROW NO-BREAK SPACE}"))]
        runs.append(" rpm. ")
    count = plural(len(used), "cutter") if len(used) > 12 else number_word(len(used))
    before = f"{count} to check: sharp, whole, shank clean. ".capitalize() if used else ""
    return [*runs, before, f"Spindle stopped and plug drawn before a hand goes near. Eyes covered ({NO_SOURCE})."]


def _rags() -> Text:
    figure = practice("safety", "oily rags")
    runs: list[Run] = ["Rags with oil or varnish heat up by themselves and burn. ", bold("Never in a heap. ")]
    return [
        *runs,
        "Spread them out to dry outdoors, or soak them in water and seal them before disposal",
        sourced(figure),
        ".",
    ]


def _hands(result: JobResult) -> Text:
    test = "Test a wood that you do not know on little skin first; wash before you eat"
    gloves = "" if by_edge_tools(result) else "; no gloves at the cutter"
    return [f"{test}{gloves} ({NO_SOURCE})."]


def _last(result: JobResult) -> list[list[Text]]:
    """Fire, the finish of this job, and food where it lies on the piece."""
    facts: list[list[Text]] = [["fire", _fire(result)]]
    if (kind := result.job.finish.kind) is not None and kind != "none":
        facts.append(
            ["finish", f"{capital(FINISHES[kind])} Windows open, no flame, gloves; its tin wins ({NO_SOURCE})."]
        )
    return [*facts, ["food", _food(result)]] if result.job.finish.food else facts


def _food(result: JobResult) -> Text:
    """What food may lie on: close-grained hard woods, none that sensitises, a finish that says so."""
    figure = practice("safety", "food contact surfaces")
    doubtful = [wood for wood in woods_of(result) if any("S" in h.reaction for h in hazards_of(wood))]
    runs: list[Run] = ["Food codes allow hard maple or wood as hard and close-grained", sourced(figure), ". "]
    if doubtful:
        runs += [bold(f"{capital(listed(doubtful))} sensitise{'s' if len(doubtful) == 1 else ''}: keep food off. ")]
    return [*runs, f"Use a finish that is sold for it, and let it harden fully ({NO_SOURCE})."]


def _fire(result: JobResult) -> Text:
    if by_edge_tools(result):
        return [f"Sweep up no dust near a flame; empty a vacuum cleaner before you leave it ({NO_SOURCE})."]
    return [f"Empty the extractor before you leave it: fine dust and a hot chip smoulder for hours ({NO_SOURCE})."]
