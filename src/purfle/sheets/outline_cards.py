"""Sheet 5 of a job cut by a position-guided hand router, or by knife and saw: a card for each set-up."""

from typing import Any

from purfle.model.cutting import HandStep, Pass, SetUp
from purfle.model.job import JobResult
from purfle.model.proof import Proof
from purfle.model.shop import SawBlade
from purfle.sheets.bench_drawing import draw_lines
from purfle.sheets.cutting_cards import first_words, host_of, minutes, plain_size, wood_of
from purfle.sheets.harm import dust_words
from purfle.sheets.lettering import Run, Text, bold, capital, in_ranges, listed
from purfle.sheets.lettering import table as plain_table
from purfle.sheets.piece import hours
from purfle.sheets.programs import Group, names_of, places_of
from purfle.sheets.sawn import draw_sawn, saw_facts
from purfle.sheets.show_face import NONE
from purfle.sheets.style import Style
from purfle.sheets.template_cards import is_told_here, lies_words, parts_on, stop_words
from purfle.sheets.trade import NO_SOURCE
from purfle.sheets.view import scale_words
from purfle.sheets.wall_section import draw_sections
from purfle.sheets.warnings import warnings_of

SECTION, BETWEEN = 54.0, 8.0
DRAWINGS, CROWDED = 0.36, 0.26
"""Share of the page's height that the drawings take at most, and at least."""
AROUND, ROW, BOX = 124.0, 6.3, 17.5
"""Height of all else on the page beside drawings, rows and boxes; of a row of the table; of a box. In mm."""
MOST_ROWS = 12
"""A set-up with more passes has its roughing in one row for each group."""


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """A card for each set-up, or none where the job is cut another way."""
    if result.job.cutting.way not in ("guided router", "knife and saw"):
        return []
    return [_card(result, one, style) for one in result.cutting.set_ups if one.steps]


def _card(result: JobResult, set_up: SetUp, style: Style) -> dict[str, Any]:
    groups = _groups(result, set_up)
    warnings = warnings_of(result, ("cutting",), lambda finding: is_told_here(result, set_up, finding))
    table, first = _table(set_up, groups, style), first_words(result, set_up)
    rows = sum(len(section["rows"]) + 1 for section in table["sections"])
    boxes = len(warnings) + bool(first)
    high = max(CROWDED * style.down, min(DRAWINGS * style.down, style.down - AROUND - ROW * rows - BOX * boxes))
    bench = draw_lines(result, set_up, set_up.lines, style, (style.across - SECTION - BETWEEN, high))
    is_sawn = result.job.cutting.way == "knife and saw"
    if is_sawn and set_up.stock != "board":
        section, depths = draw_sawn(set_up, style, SECTION), "sawn upright, then filed; not to scale"
    else:
        section, depths = draw_sections(set_up, groups, style, (SECTION, high), host_of(result, set_up))
    stem = f"{result.job.slug}-{set_up.slug}"
    return {
        "title": "Card for knife and saw" if is_sawn else "Router card",
        "room": [style.across, style.down],
        "sub": f"set-up {set_up.number} of {len(result.cutting.set_ups)}, {set_up.title}",
        "stop": "",
        "first": first,
        "caution": _caution_of_saw() if is_sawn else _caution(),
        "lies": f"On the bench: {lies_words(set_up)}",
        "bench": bench.drawing.data(),
        "bench_words": [_around(set_up, bench.is_numbered), scale_words(bench.scale)],
        "section": section.data(),
        "section_words": depths,
        "table": table,
        "facts": saw_facts(result, set_up, style) if is_sawn else _facts(result, set_up, groups, style),
        "file": f"{stem}.svg or .dxf",
        "proved": "",
        "inlays": sorted({*names_of(result, set_up).values(), *parts_on(result, set_up)}),
        "ticks": ["tried on scrap", "bar measured" if is_sawn else "run in the air", "depth checked", "done, date"],
        "warnings": warnings,
    }


def _groups(result: JobResult, set_up: SetUp) -> list[Group]:
    """Lines that are cut alike together, their passes numbered through the set-up."""
    alike: dict[tuple[HandStep, ...], list[str]] = {}
    for line in set_up.lines:
        steps = tuple(step for step in set_up.steps if step.line == line.id)
        alike.setdefault(tuple(_unnamed(step) for step in steps), []).append(line.id)
    groups: list[Group] = []
    for steps, lines in alike.items():
        number = sum(len(group.passes) for group in groups)
        minutes_of = [sum(s.minutes for s in set_up.steps if s.line in lines and _unnamed(s) == step) for step in steps]
        passes = tuple(
            Pass(number + n, step.kind, "", step.depth, step.off_line, "conventional", (), spent)
            for n, (step, spent) in enumerate(zip(steps, minutes_of, strict=True), 1)
        )
        words = _line_words(result, set_up, lines)
        groups.append(Group(words, passes, tuple(line for line in set_up.lines if line.id in lines)))
    return groups


def _unnamed(step: HandStep) -> HandStep:
    """A pass without its line and time, to find those that are alike."""
    return HandStep("", step.cutter, step.kind, round(step.depth, 4), round(step.off_line, 4), 0.0)


def _line_words(result: JobResult, set_up: SetUp, lines: list[str]) -> str:
    if set_up.stock == "board":
        names = names_of(result, set_up)
        return f"{'recess' if len(lines) == 1 else 'recesses'} of {listed([names[line] for line in lines])}"
    named = places_of(result, set_up)
    return f"{'piece' if len(lines) == 1 else 'pieces'} {in_ranges([named[line][0] for line in lines])}, cut loose"


def _table(set_up: SetUp, groups: list[Group], style: Style) -> dict[str, Any]:
    middle = "groove" if isinstance(set_up.cutters[0], SawBlade) else "cutter"
    head: list[Text] = ["pass", "what", "depth", "off the line", f"{middle} middle to line", "side", "time"]
    is_short = sum(len(group.passes) for group in groups) <= MOST_ROWS
    sections = []
    for group in groups:
        by_row = [[one] for one in group.passes] if is_short else [list(group.roughing), *([one] for one in group.last)]
        rows = [_row(set_up, passes, style) for passes in by_row if passes]
        sections.append({"title": [bold(capital(group.words))], "rows": rows})
    return plain_table((17, 0, 17, 20, 33, 18, 15), "llrrrrr", head, []) | {"sections": sections}


def _row(set_up: SetUp, passes: list[Pass], style: Style) -> list[Any]:
    first, last = passes[0], passes[-1]
    number = str(first.number) if first is last else f"{first.number}–{last.number}"
    what: Text = f"roughing, {style.depth(last.off_line)} {style.word} left" if last.off_line else "roughing"
    if isinstance(set_up.cutters[0], SawBlade):
        what = _by_hand(set_up, last, style)
    elif last.kind == "last":
        what = [bold("last pass, to the line")]
    elif first is not last:
        what = f"{what}, {len(passes)} × {style.depth(first.depth)}"
    return [
        {"big": number},
        what,
        {"big": style.depth(last.depth)},
        {"big": style.depth(last.off_line)},
        _middle(set_up, last, style),
        "inside" if set_up.stock == "board" else "outside",
        minutes(sum(one.minutes for one in passes)),
    ]


def _middle(set_up: SetUp, one: Pass, style: Style) -> str:
    """How far the middle of the cutter, or of the saw's groove, runs off the line; knife and file run on it."""
    is_blade = isinstance(set_up.cutters[0], SawBlade) and (set_up.stock == "board" or one.kind == "last")
    return NONE if is_blade else style.true(set_up.cutters[0].radius + one.off_line)


def _by_hand(set_up: SetUp, one: Pass, style: Style) -> Text:
    """What is done with knife, chisel, saw and file."""
    if set_up.stock == "board":
        return [bold("pare to the knifed line")] if one.kind == "last" else "knife the line, chop out its inside"
    return [bold("file to the line")] if one.kind == "last" else f"saw, {style.depth(one.off_line)} {style.word} left"


def _caution_of_saw() -> Text:
    return [
        "Cut away from yourself, both hands behind the edge, the work clamped. Measure the bar on the ",
        bold("pattern"),
        " before you cut by it; try the saw, its tilt and the chisel on scrap. Keep fingers off the blade’s way.",
    ]


def _around(set_up: SetUp, is_numbered: bool) -> str:
    if set_up.stock != "board" and isinstance(set_up.cutters[0], SawBlade):
        return "Pieces as they lie on the wood" + ("" if is_numbered else ". The other numbers: sheet 4")
    if set_up.stock != "board":
        return "Grey: the sacrificial board" + ("" if is_numbered else ". The other numbers: sheet 4")
    return "" if set_up.face == "show" else "Seen from below, as it lies"


def _caution() -> Text:
    return [
        "Plug drawn whenever you touch the cutter. Follow each line once ",
        bold("in the air"),
        ", then try depth and offset on scrap. Both hands on the router, work clamped, hands clear; let it run up "
        "before it meets wood.",
    ]


def _facts(result: JobResult, set_up: SetUp, groups: list[Group], style: Style) -> list[list[Text]]:
    return [
        ["cutter", _cutter(set_up, style)],
        ["way round", _way_round(set_up, groups)],
        ["holding", f"{set_up.holding.rstrip('.')}."],
        ["time", _time(result, set_up)],
    ]


def _cutter(set_up: SetUp, style: Style) -> Text:
    cutter = set_up.cutters[0]
    runs: list[Run] = [f"{cutter.name}, ", bold(f"Ø {plain_size(cutter.diameter, style)}"), ". Tell the router "]
    runs += [bold(style.width(cutter.width)), f" {style.word}, what it really cuts. Edges "]
    runs += [f"{style.depth(cutter.cutting_length)} long, ", bold(f"{cutter.max_speed:,.0f}".replace(",", "\u202f"))]
    return [*runs, " rpm at most. The cutter maker’s figures win."]


def _way_round(set_up: SetUp, groups: list[Group]) -> Text:
    if set_up.stock == "board":
        runs: list[Run] = [bold("Clockwise"), " along the line, seen from above, against the cutter's turn"]
        return [*runs, f" ({NO_SOURCE}). Roughing takes all of the inside; the last pass runs once along the line."]
    runs = [bold("Anticlockwise"), " round a piece, seen from above, against the cutter's turn"]
    first = [next(one for one in group.passes if one.depth > set_up.thickness) for group in groups]
    through = (
        f"Pass {first[0].number} goes" if len(first) == 1 else f"Passes {listed([str(p.number) for p in first])} go"
    )
    runs += [f" ({NO_SOURCE}). ", bold(f"{through} through the wood"), ": from there on tape alone holds the piece"]
    return [*runs, ", in the last pass too."]


def _time(result: JobResult, set_up: SetUp) -> Text:
    dust = dust_words(wood_of(result, set_up))
    runs: list[Run] = ["About ", bold(hours(set_up.cutting_minutes)), " with the router, setting up "]
    runs += [bold(hours(set_up.set_up_minutes)), ". Ears, eyes and lungs protected", f": {dust}." if dust else "."]
    return runs


def with_proof(page: dict[str, Any], proof: Proof | None, style: Style) -> dict[str, Any]:
    """A card that says what the dry fit found: the seam, or why nothing must be cut."""
    return page | {"stop": stop_words(proof, "outlines"), "proved": _proved(page["inlays"], proof, style)}


def _proved(inlays: list[str], proof: Proof | None, style: Style) -> Text:
    if proof is None or not proof.proven:
        return [bold("not proved")]
    seams = [s for s in proof.seams if s.kind in ("passes", "patterns") and s.inlay in inlays]
    if not seams:
        return "read back and proved"
    widest = max(seam.widest for seam in seams)
    if seams[0].kind == "patterns":
        return ["patterns proved: seam ", bold(style.seam(seams[0].drawn)), " if you keep to the line"]
    return ["read back and proved: seam ", bold(style.seam(seams[0].drawn)), f", widest {style.seam(widest)}"]
