"""Sheet 5: a cutting card for each program: the stock on the bench, the passes at the line, cutter, speed, holding."""

from collections.abc import Iterable, Sequence
from typing import Any

from purfle.model.board import Inlay
from purfle.model.cutting import MORE_LEFT, CutLine, Pass, Program, SetUp
from purfle.model.findings import Finding
from purfle.model.job import JobResult
from purfle.model.offcuts import Place
from purfle.model.proof import Proof
from purfle.model.shop import VCutter
from purfle.sheets.bench_drawing import draw_bench
from purfle.sheets.features import is_middle, laid_out, placing_marks
from purfle.sheets.harm import dust_words
from purfle.sheets.lettering import Run, Text, bold, capital, italic, listed, number_word
from purfle.sheets.lettering import table as plain_table
from purfle.sheets.parts import host_labels, parts_of, wood_name
from purfle.sheets.piece import hours
from purfle.sheets.programs import Group, groups_of, names_of, places_of
from purfle.sheets.show_face import NONE
from purfle.sheets.style import Style
from purfle.sheets.tapered_section import draw_v_wall
from purfle.sheets.view import scale_words
from purfle.sheets.wall_section import Host, draw_sections
from purfle.sheets.warnings import warnings_of
from purfle.tolerances import SAME_PLACE
from purfle.units import LengthUnit, show

SECTION = 54.0
"""Width of the drawing at the line."""
BETWEEN = 8.0
DRAWINGS, CROWDED = 0.36, 0.24
"""Share of the page's height that the drawings take at most, and at least."""
AROUND, ROW, BOX = 126.0, 6.3, 18.5
"""Height of all else on the page beside drawings, rows and boxes; of a row of the table; of a box. In mm."""
MOST_ROWS = 8
"""A program with more passes has its roughing in one row for each group."""
IN_THE_AIR: dict[LengthUnit, str] = {"mm": "20 mm", "inch": "3/4 in", "inch-decimal": "0.75 in"}
"""How high above the wood a program is run first (common practice, no source)."""
FRACTION_OF_AN_EDGE = 3


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """A page for each program, or none if nothing is cut."""
    return [_card(result, s, program, style) for s in result.cutting.set_ups for program in s.programs]


def _card(result: JobResult, set_up: SetUp, program: Program, style: Style) -> dict[str, Any]:
    groups = groups_of(set_up, program)
    warnings = warnings_of(result, ("cutting",), lambda finding: _is_told_here(result, set_up, program, finding))
    table = pass_table(result, set_up, program, style)
    first = first_words(result, set_up)
    high = _room(table, len(warnings) + bool(first), style)
    bench = draw_bench(result, set_up, program, style, (style.across - SECTION - BETWEEN, high))
    if isinstance(program.cutter, VCutter):
        section, depths = draw_v_wall(set_up, groups, program.cutter, style, (SECTION, high))
    else:
        section, depths = draw_sections(set_up, groups, style, (SECTION, high), host_of(result, set_up))
    return {
        "title": "Cutting card",
        "room": [style.across, style.down],
        "sub": _sub(result, set_up, program),
        "stop": "",
        "first": first,
        "caution": [
            *_cutter_changed(set_up, program),
            *_loose_before(set_up, program),
            *_caution(result, set_up, groups, style),
        ],
        "lies": f"On the bench: {_lies(set_up)}",
        "bench": bench.drawing.data(),
        "bench_words": [_around(set_up, bench.is_numbered), scale_words(bench.scale)],
        "section": section.data(),
        "section_words": depths,
        "table": table,
        "facts": _facts(result, set_up, program, style),
        "file": program.file,
        "proved": "",
        "inlays": sorted({*names_of(result, set_up).values(), *_parts_on(result, set_up)}),
        "ticks": _ticks(set_up),
        "warnings": warnings,
    }


def _room(table: dict[str, Any], boxes: int, style: Style) -> float:
    """Height for the drawings: what the table and some boxes leave of the page, within limits."""
    rows = sum(len(section["rows"]) + bool(section["title"]) for section in table["sections"])
    return max(CROWDED * style.down, min(DRAWINGS * style.down, style.down - AROUND - ROW * rows - BOX * boxes))


def _is_told_here(result: JobResult, set_up: SetUp, program: Program, finding: Finding) -> bool:
    """True if a finding is about this program, or its set-up; what is about none in particular is on the first card."""
    told = [one for one in result.cutting.set_ups if f"{finding.where}:".startswith(f"{one.title}:")]
    if set_up not in (told or result.cutting.set_ups[:1]):
        return False
    named = finding.where.removeprefix(f"{set_up.title}: ")
    return named == program.cutter.name or named not in [other.cutter.name for other in set_up.programs]


def _sub(result: JobResult, set_up: SetUp, program: Program) -> str:
    words = f"set-up {set_up.number} of {len(result.cutting.set_ups)}, {set_up.title}"
    count = len(set_up.programs)
    return words if count == 1 else f"{words}, program {set_up.programs.index(program) + 1} of {count}"


def _lies(set_up: SetUp) -> str:
    if set_up.stock != "board":
        return set_up.stock
    return "show face up" if set_up.face == "show" else "underside up"


def _around(set_up: SetUp, is_numbered: bool) -> str:
    """What the thin lines round the stock are, and how the underside is drawn."""
    if set_up.stock != "board":
        others = "" if is_numbered else ". The other numbers: sheet 4"
        if set_up.sawing is not None:
            return f"A block, not cut through{others}"
        held = "Tape under the whole offcut" if set_up.on_tape else "Held along its edges"
        tabs = "; black: tabs" if set_up.on_tabs else ""
        return f"Grey: the sacrificial board. {held}{tabs}{others}"
    seen = "" if set_up.face == "show" else "Seen from below, as it lies. "
    return f"{seen}Dashed: room for nut and hood, no clamp inside it"


def with_proof(page: dict[str, Any], proof: Proof | None, style: Style) -> dict[str, Any]:
    """A card that says what the dry fit found: the seam, or why its program must not be run."""
    return page | {"stop": _stop(proof), "proved": _proved(page["inlays"], proof, style)}


def _stop(proof: Proof | None) -> Text:
    """Why this program must not be run yet, or nothing."""
    if proof is None:
        return [bold("The files were not read back. "), "Do not cut before they are proved."]
    if proof.proven:
        return ""
    found = [f.what for f in proof.findings if f.severity == "stop"]
    why = f"{capital(found[0].rstrip('.'))}. " if found else ""
    return [bold("The files were read back and did not pass. "), why, "Do not cut; report.json says more."]


def _overs(result: JobResult, set_up: SetUp) -> list[Inlay]:
    """What of this set-up is let into inserts."""
    if set_up.order == 1:
        return []
    return [i for i in result.layout.inlays if i.face == set_up.face and i.order == set_up.order]


def lie_beside(overs: Sequence[Inlay]) -> bool:
    """True where what is let in later goes into the board, beside what is in: the walls are tapered."""
    return all(inlay.fit.walls is not None for inlay in overs)


def host_of(result: JobResult, set_up: SetUp) -> Host | None:
    """The insert that the recesses of a later set-up are cut into, once it is level with the face."""
    overs = _overs(result, set_up)
    if not overs or lie_beside(overs):
        return None
    below = next(i for i in result.layout.inlays if i.name == overs[0].into)
    hosts = host_labels(overs)
    label = hosts[0] if len(hosts) == 1 else "the insert"
    return Host(label, below.depth - below.glue_room)


def first_words(result: JobResult, set_up: SetUp) -> Text:
    """What has to be glued and levelled before this set-up, or nothing."""
    overs = _overs(result, set_up)
    if not overs:
        return ""
    hosts = host_labels(overs)
    words = f"piece {hosts[0]}" if len(hosts) == 1 else f"pieces {listed(hosts)}"
    what = "all pieces of the set-ups before" if lie_beside(overs) else f"{words} and all the others"
    runs: list[Run] = ["Not before ", bold(what), " are glued in (sheet 7), the glue is hard "]
    return [*runs, "(a day) and they are ", bold("level with the face"), " (sheet 8)."]


def _cutter_changed(set_up: SetUp, program: Program) -> list[Run]:
    """That the zero in height goes with the cutter, on the card of each program that begins with another one."""
    number = set_up.programs.index(program)
    if number == 0 or set_up.programs[number - 1].cutter == program.cutter:
        return []
    return [bold("Another cutter: find the zero in height again. ")]


def _loose_before(set_up: SetUp, program: Program) -> list[Run]:
    """What programs before this one cut loose in the same offcut, or nothing."""
    before = set_up.programs[: set_up.programs.index(program)]
    frees = [n for n, one in enumerate(before, 1) if one.first_through(set_up.thickness)]
    if set_up.stock == "board" or not frees or not set_up.on_tape:
        return []
    by = f"program {frees[0]}" if len(frees) == 1 else f"programs {listed([str(n) for n in frees])}"
    return [bold(f"Pieces lie loose since {by}: tape alone holds them. "), "See that none has moved. "]


def _caution(result: JobResult, set_up: SetUp, groups: list[Group], style: Style) -> list[Run]:
    runs: list[Run] = ["Run it in the air first: set the zero ", bold(IN_THE_AIR[style.unit]), " above the wood "]
    runs.append("for this run, hand on the stop. ")
    return [*runs, _stays_inside(result, set_up, groups, style)]


def _stays_inside(result: JobResult, set_up: SetUp, groups: list[Group], style: Style) -> str:
    """What the maker watches while it runs in the air."""
    if set_up.sawing is not None:
        return "The cutter must stay inside the block, off the clamps."
    if set_up.stock != "board":
        return "The cutter must stay inside the offcut, off tape and clamps."
    if (overs := _overs(result, set_up)) and lie_beside(overs):
        return "The cutter must come down inside each recess, beside the pieces that are in."
    if overs:
        hosts = host_labels(overs)
        return f"The cutter must come down inside {listed([f'piece {host}' for host in hosts])}."
    if result.job.trial is not None:
        return "The cutter must come down inside the board, its middle clear of the edges."
    features = laid_out(result.layout, set_up.face, style)
    marks = [m for m in placing_marks(result.layout, set_up.face, style) if m.kind != "point"]
    ends = [
        str(m.number)
        for m in marks
        if m.kind == "line_y" or (m.from_b is not None and not is_middle(m.from_b, 0, features))
    ]
    names = {names_of(result, set_up)[line.id] for g in groups for line in g.lines}
    is_picture = names == {f.name for f in features if f.is_picture}
    if ends and is_picture:
        # lines are rounded to the rule, and pencilled for the inserts, which are smaller by half a seam
        seam = max(inlay.fit.rule.seam for inlay in result.layout.inlays) / 2.0
        off = max(abs(style.rule_off(d)) for m in marks for d in (m.from_b, m.from_a) if d is not None)
        within = f"{style.true(off + seam)} {style.word}"
        return f"The cutter must stay inside the pencil lines {listed(ends)}, to within {within}."
    return f"The cutter must come down inside each recess as set out on sheet {2 if set_up.face == 'show' else 3}."


def pass_table(result: JobResult, set_up: SetUp, program: Program, style: Style) -> dict[str, Any]:
    """The passes, in groups with a head each where there are several; many roughing passes of a group in one row."""
    head: list[Text] = ["pass", "what", "depth", "off the line", "cutter middle to line", "way round", "time"]
    groups = groups_of(set_up, program)
    style = style.for_depths(*(one.depth for one in program.passes))
    is_short = len(program.passes) <= MOST_ROWS
    sections = []
    for group in groups:
        rows = [_row([p], program, style) for p in group.passes] if is_short else _few_rows(group, program, style)
        title = _group_title(result, set_up, group, style) if len(groups) > 1 else ""
        sections.append({"title": title, "rows": rows})
    made = plain_table((17, 0, 17, 20, 33, 25, 15), "llrrrrr", head, [])
    return made | {"sections": sections}


def _group_title(result: JobResult, set_up: SetUp, group: Group, style: Style) -> Text:
    if set_up.stock != "board" or not group.lines:
        return [bold(capital(group.words))]
    names = names_of(result, set_up)
    words = listed([names[line.id] for line in group.lines])
    return [bold(capital(words)), f", {style.depth(group.depth)} deep"]


def _few_rows(group: Group, program: Program, style: Style) -> list[list[Any]]:
    rows = [_row(list(group.roughing), program, style)] if group.roughing else []
    return rows + [_row(passes, program, style) for passes in _sprung(group.last)]


def _sprung(passes: Sequence[Pass]) -> list[list[Pass]]:
    """Each last pass with the spring passes that follow it."""
    found: list[list[Pass]] = []
    for one in passes:
        if one.kind == "spring" and found:
            found[-1].append(one)
        else:
            found.append([one])
    return found


def _what(passes: list[Pass], program: Program, style: Style) -> Text:
    """What some passes are that share a row."""
    first, last = passes[0], passes[-1]
    is_v = isinstance(program.cutter, VCutter)
    if last.kind == "roughing":
        words = f"roughing, {style.depth(last.off_line)} {style.word} left"
        words += f", {MORE_LEFT}" if any(one.leaves_more for one in passes) else ""
        many = words if first is last else f"{words}, {len(passes)} × {style.depth(first.depth)}"
        return "roughing" if is_v else many
    if first.kind == "spring":
        return "spring pass, the same way"
    # a straight cutter on tapered walls clears their bottom: its line is where they begin
    line = "walls" if is_v else "foot of walls" if program.tapered else "to the line"
    return [bold(f"last pass, {line}"), *([f", {len(passes)} times"] if first is not last else [])]


def _row(passes: list[Pass], program: Program, style: Style) -> list[Any]:
    first, last = passes[0], passes[-1]
    number = str(first.number) if first is last else f"{first.number}–{last.number}"
    what, off = _what(passes, program, style), last.off_line
    if isinstance(program.cutter, VCutter):
        deep, follows = {"big": style.depth(last.depth)}, "follows the walls"
        return [{"big": number}, what, deep, NONE, follows, NONE, _time_of(passes)]
    return [
        {"big": number},
        what,
        {"big": style.depth(last.depth)},
        {"big": style.depth(off)},
        style.true(program.cutter.radius + off),
        last.way_round,
        _time_of(passes),
    ]


def _time_of(passes: list[Pass]) -> str:
    return minutes(sum(p.minutes for p in passes))


def minutes(amount: float) -> str:
    """'9 min', '1½ min' below five, '20 s' below one."""
    if amount < 1.0:
        return f"{max(5, round(amount * 12) * 5)} s"
    halves = round(amount * 2)
    if amount < 5.0:
        return f"{halves // 2}{'½' if halves % 2 else ''} min"
    return f"{round(amount)} min"


def _facts(result: JobResult, set_up: SetUp, program: Program, style: Style) -> list[list[Text]]:
    """Cutter, speed, holding and time, each with its word."""
    return [
        ["cutter", _cutter(program, style)],
        ["speed", _speed(result, program, style)],
        ["holding", _holding(result, set_up, program, style)],
        ["time", _time(result, set_up, program)],
    ]


def _cutter(program: Program, style: Style) -> Text:
    cutter = program.cutter
    runs: list[Run] = [
        "No. ",
        bold(str(cutter.number)),
        f", {cutter.name}, ",
        bold(f"Ø {plain_size(cutter.diameter, style)}"),
    ]
    runs.append(f", {number_word(cutter.flutes)} {'edge' if cutter.flutes == 1 else 'edges'}. ")
    runs += ["Stick-out ", bold(style.depth(cutter.stick_out)), f", edges {style.depth(cutter.cutting_length)} long. "]
    if isinstance(cutter, VCutter):
        tip = "sharp" if cutter.tip_radius == 0.0 else f"a flat of {style.true(2.0 * cutter.tip_radius)}"
        runs += ["V of ", bold(f"{2.0 * cutter.half_angle:g}°"), f", its tip {tip}. "]
    if cutter.path_width is not None:
        note = f", {cutter.note}" if cutter.note else ""
        tried = f" (fit trial of {cutter.fit_trial})" if cutter.fit_trial else ""
        runs.append(f"Measured width of groove {style.width(cutter.width)}{tried}{note}. ")
    return [*runs, *_strain(program, style)]


def plain_size(mm: float, style: Style) -> str:
    """A diameter with all its decimals."""
    return show(mm, style.unit).rpartition(" ")[0]


def _speed(result: JobResult, program: Program, style: Style) -> Text:
    figures, size = program.figures, 1.0 if style.unit == "mm" else 25.4
    runs: list[Run] = [bold(_thousands(figures.speed)), " rpm, feed "]
    runs += [bold(_feed(figures.feed / size)), f" {style.word}/min, going down {_feed(figures.plunge_feed / size)}, "]
    least = min(one.least_share for one in program.passes)
    if least < 1.0:
        runs.append(f"in inside corners of the last pass {_feed(least * figures.feed / size)}, ")
    ramp = f"entry by ramp at {result.job.cutting.ramp_angle:g}°"
    runs.append(f"{'tip straight in' if isinstance(program.cutter, VCutter) else ramp}. A place to start: ")
    chip = f"{figures.chip_load / size:.{3 if size == 1.0 else 4}f}"
    runs += [f"{chip} {style.word} an edge, ", italic(figures.chip_source), ". The cutter maker’s figures win."]
    return runs


def _strain(program: Program, style: Style) -> list[Run]:
    """What the cut asks of cutter and spindle, and that no speed above the marked one is safe."""
    figures = program.figures
    runs: list[Run] = ["Never faster than the ", bold(_thousands(program.cutter.max_speed)), " rpm marked on it. "]
    bent = f"The tip bends {_bent(figures.deflection, style)}, {_watts(figures.power)} at the cutter ("
    return [*runs, bent, italic("hardwood, from memory"), ")."]


def _thousands(amount: float) -> str:
    return f"{amount:,.0f}".replace(",", "\N{NARROW NO-BREAK SPACE}")


def _bent(mm: float, style: Style) -> str:
    """To a thousandth of a millimetre, or a ten-thousandth of an inch: no more than these is not told apart from 0."""
    size, decimals = (1.0, 3) if style.unit == "mm" else (25.4, 4)
    return f"about {max(mm / size, 10.0**-decimals):.{decimals}f} {style.word}"


def _watts(power: float) -> str:
    """As sure as it is: one figure, two from 10 W on."""
    return f"{max(1.0, power):.0f} W" if power < 10.0 else f"{round(power, -1 if power < 1000.0 else -2):.0f} W"


def _feed(amount: float) -> str:
    return f"{amount:.0f}" if amount >= 100 else f"{amount:.1f}"


def _holding(result: JobResult, set_up: SetUp, program: Program, style: Style) -> Text:
    runs: list[Run] = [f"{set_up.holding.rstrip('.')}. Safe height ", bold(style.depth(set_up.safe_height))]
    runs.append(" above the wood.")
    if set_up.sawing is not None:
        style = style.for_depths(*set_up.sawing.levels, set_up.sawing.depth)
        runs += [" The cutter goes ", bold(style.depth(set_up.sawing.depth)), " deep and not through: pieces are sawn "]
        levels = [style.depth(level) for level in set_up.sawing.levels]
        return [*runs, "off ", bold(listed(levels)), " below the face (sheet 6)."]
    first = None if set_up.stock == "board" else program.first_through(set_up.thickness)
    if first is None:
        return runs
    into = f"{style.depth(first.depth - set_up.thickness)} {style.word}"
    skin = program.skin(set_up.thickness)
    if skin > SAME_PLACE:
        where = " below what tape alone holds." if set_up.on_tabs and set_up.on_tape else " below."
        runs += [" Roughing leaves a skin of ", bold(style.depth(skin)), where]
    runs += [" ", bold(f"Pass {first.number}"), f" is the first through the wood, {into} into the sacrificial board: "]
    if not set_up.on_tabs:
        return [*runs, "from there on tape alone holds what is cut loose."]
    high = max(tab.height for line in set_up.on_tabs for tab in line.tabs)
    runs += ["save at the tabs, ", bold(style.depth(high)), " high, which hold the pieces until they are cut by hand "]
    runs.append("(sheet 6).")
    loose = on_tape_alone(result, set_up, style)
    return [*runs, f" Tape alone holds {listed(loose)}, which have none." if loose else ""]


def on_tape_alone(result: JobResult, set_up: SetUp, style: Style) -> list[str]:
    """The numbers of parts without tabs; of spares that have some on tabs beside them also where they lie."""
    places = places_of(result, set_up)
    on_tabs = {places[line_id][0] for line_id in _ids(set_up.on_tabs) if line_id in places}
    loose = [one for line_id, one in places.items() if line_id in _ids(set_up.on_tape)]
    return list(dict.fromkeys(label + _at(place, style) * (label in on_tabs) for label, place in loose))


def _at(place: Place, style: Style) -> str:
    """Where the middle of a part lies, from zero along and up: what tells spares of one piece apart."""
    x, y = place.region.centroid.coords[0]
    return f" (at {style.rule(x)}, {style.rule(y)})"


def _ids(lines: Iterable[CutLine]) -> set[str]:
    return {line.id for line in lines}


def _time(result: JobResult, set_up: SetUp, program: Program) -> Text:
    runs: list[Run] = ["Cutting ", bold(hours(program.minutes)), ", setting up ", bold(hours(set_up.set_up_minutes))]
    dust = dust_words(wood_of(result, set_up))
    return [*runs, ". Ears and lungs protected", f": {dust}." if dust else "."]


def wood_of(result: JobResult, set_up: SetUp) -> str:
    """The wood that is cut in a set-up, as the maker calls it."""
    if hosts := host_labels(_overs(result, set_up)):
        return next(part.wood for part in parts_of(result) if part.label in hosts)
    offcuts = {o.name: o.wood for o in result.on_offcuts.used}
    return wood_name(result, offcuts.get(set_up.stock, result.layout.board.wood))


def _parts_on(result: JobResult, set_up: SetUp) -> set[str]:
    """Inlays that have a part on this stock."""
    return {place.part.inlay for place in result.on_offcuts.places if place.offcut == set_up.stock}


def _proved(inlays: list[str], proof: Proof | None, style: Style) -> Text:
    """That the file was read back, with the seam of the inlays it cuts; only if everything was proven."""
    if proof is None or not proof.proven:
        return [bold("not proved")]
    seams = [s for s in proof.seams if s.kind == "programs" and s.inlay in inlays]
    if not seams:
        return "read back and proved"
    return [
        "read back and proved: seam ",
        bold(style.seam(seams[0].drawn)),
        f", widest {style.seam(max(s.widest for s in seams))}",
    ]


def _ticks(set_up: SetUp) -> list[str]:
    lies = "face and edges as drawn" if set_up.stock == "board" else "lies as drawn, zero found"
    return ["run in the air", "depth checked on scrap", lies, "done, date"]
