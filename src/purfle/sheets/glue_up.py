"""Sheet 7: dry fit and glue-up: which piece where and in which order, the seam, glue and its times, clamping, keys."""

import math
from typing import Any

from purfle.model.board import Inlay
from purfle.model.job import JobResult
from purfle.model.proof import Proof, SeamReadBack
from purfle.model.tapered import TaperedRule
from purfle.sheets.assembly_drawing import Step, draw_pieces, main_face, steps_of
from purfle.sheets.harm import woods_of
from purfle.sheets.insert_section import draw_insert
from purfle.sheets.lettering import Run, Text, bold, capital, in_ranges, listed, plural, table
from purfle.sheets.parts import WORTH_PLANING, counted, labels_of, parts_of, proud_as_cut
from purfle.sheets.proud import proud_words
from purfle.sheets.seasons import words_for_glue_up
from purfle.sheets.show_face import NONE
from purfle.sheets.style import Style
from purfle.sheets.tapered_section import draw_pressed_in
from purfle.sheets.trade import NO_SOURCE, source_words, sourced, steps_of_warmth, surface, typical, warmth, weight
from purfle.sheets.view import scale_words
from purfle.shop.trial import BY_HAND
from purfle.tapered import depth_errors
from purfle.units import out_of_100
from purfle.wood import find, practice

SECTION, BETWEEN = 78.0, 4.0
LEAST_DRAWING, DRAWING = 54.0, 84.0
"""Height that the drawing takes; within it, what the lists leave of the page."""
AROUND, ROW, BOX, TITLE = 74.0, 5.4, 15.0, 7.5
"""Height of all else on the page; of a row of a list; of a box; of what stands above the pieces of a later order."""
DOUBLED = 8.3
"""So many degrees colder (C) double the time in the clamps. Source: as its figure in `practice`, WOOD magazine."""
OILY = {
    "teak",
    "cocobolo",
    "rosewood_brazilian",
    "rosewood_indian",
    "ebony_gaboon",
    "ebony_macassar",
    "blackwood_african",
    "goncalo_alves",
    "ipe",
    "lignum_vitae",
    "padauk_african",
    "bloodwood",
}
"""Woods whose oils keep glue off (common practice, no source)."""
MANY, AROUND_ALONE = 24, 140.0
"""More pieces have a drawing as wide as the page, with so much height of the page left for all else."""
MANY_TAPERED, MORE_SAID = 9, 24.0
"""With tapered walls, of which more is to be said on the page, so many do, and so much more height is left."""
DEEPER_MM, DEEPER_INCH = 0.1, 0.127
"""The error of a depth for which is told what it does, mm: a tenth, or five thousandths of an inch."""
A_PIECE = 0.75
"""Minutes that one piece takes with glue and tapping home (common practice, no source)."""


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """The page, or none if nothing is let in."""
    steps = steps_of(result)
    if not steps:
        return []
    face = main_face(result)
    warnings = _warnings(result, steps)
    is_tapered = any(inlay.fit.walls is not None for inlay in result.layout.inlays)
    is_wide = len(steps) > (MANY_TAPERED if is_tapered else MANY)
    beside = (style.across - SECTION - BETWEEN, _room(result, steps, warnings, style))
    alone = (style.across, style.down - AROUND_ALONE - MORE_SAID * is_tapered)
    drawn, scale = draw_pieces(result, face, alone if is_wide else beside)
    inlay = next(i for i in result.layout.inlays if i.face == face)
    seen = "the show face" if face == "show" else "the underside, as seen from below"
    return [
        {
            "title": "Dry fit and glue-up",
            "sub": f"{counted(parts_of(result))}, seam {style.seam(inlay.fit.rule.seam)} {style.word}",
            "lead": _lead(steps, style),
            "is_wide": is_wide,
            "drawing": drawn.data(),
            "caption": f"{capital(seen)}, {scale_words(scale)}",
            **_section(result, inlay, style),
            "seams": seam_table(result, style),
            "reckoned": f"{_reckoned(result, style)} {words_for_glue_up(result)}".strip(),
            "inlays": [inlay.name for inlay in result.layout.inlays],
            "table": order_table([s for s in steps if s.part.inlay.order == 1])
            | {"later": later_sections(result, steps)},
            "facts": _facts(result, style),
            "warnings": warnings,
        }
    ]


def _lead(steps: list[Step], style: Style) -> str:
    walls = next((step.part.inlay.fit.walls for step in steps if step.part.inlay.fit.walls), None)
    if walls is not None:
        stops = f"its plate {style.depth(walls.saw_room)} {style.word} above the face"
        return (
            f"Press each insert in dry by hand: it stops where its walls meet the recess all round, {stops}. One that "
            "goes deeper, or rocks, was cut too deep or has dust below it."
        )
    if all(step.part.inlay.order == 1 for step in steps):
        return "Put all together dry first, in this order. What binds is eased at its lower edge."
    return "Put each part of the list together dry before it is glued. What binds is eased at its lower edge."


def _section(result: JobResult, inlay: Inlay, style: Style) -> dict[str, Any]:
    """A section through an insert in its recess, and the words below it."""
    if inlay.fit.walls is not None:
        drawn = draw_pressed_in(inlay.fit.walls, style, SECTION)
        return {"section": drawn.data(), "section_words": "pressed in, before it is sawn off; not to scale"}
    chamfer = practice("fit", "chamfer on lower edge of insert")
    figures = (style.depth(typical(chamfer)), _proud_now(result, inlay, style))
    words = f"chamfer {source_words(chamfer.source, chamfer.status)}; not to scale"
    return {"section": draw_insert(inlay, style, SECTION, figures).data(), "section_words": words}


def _proud_now(result: JobResult, inlay: Inlay, style: Style) -> str:
    """How far the highest insert of a recess stands proud as its offcut is; nothing where that is as asked."""
    most = max((proud_as_cut(result, part) for part in parts_of(result) if part.inlay is inlay), default=0.0)
    return f"up to {style.proud(most)} now" if most - inlay.proud > WORTH_PLANING else ""


def _room(result: JobResult, steps: list[Step], warnings: list[dict[str, Any]], style: Style) -> float:
    """Height for the drawing: what the lists leave of the page, within limits."""
    later = TITLE * (max(step.part.inlay.order for step in steps) - 1)
    lists = AROUND + later + ROW * len(steps) + ROW * len(result.layout.inlays) + BOX * len(warnings)
    return max(LEAST_DRAWING, min(DRAWING, style.down - lists))


def later_sections(result: JobResult, steps: list[Step]) -> list[dict[str, Any]]:
    """For each later order, what has to be waited for and done before, and its pieces."""
    sections = []
    for order in sorted({s.part.inlay.order for s in steps} - {1}):
        start = sum(s.part.inlay.order < order for s in steps)
        rows = _rows([s for s in steps if s.part.inlay.order == order], start)
        set_ups = [f"set-up {s.number}" for s in result.cutting.set_ups if s.order == order]
        words: list[Run] = [bold("Wait a day"), ", level what is in flush (sheet 8), cut ", bold(listed(set_ups))]
        words.append(". Then let in, wait a day, and level again:")
        sections.append({"title": words, "rows": rows})
    return sections


def order_table(steps: list[Step]) -> dict[str, Any]:
    """The pieces in their order, what each lies against, and two boxes to tick for each."""
    head: list[Text] = ["", "piece", "", "wood", "lies against", "dry", "glued"]
    return table((10, 12, 0, 32, 54, 13, 13), "rrlllcc", head, _rows(steps, 0))


def _rows(steps: list[Step], start: int) -> list[list[Any]]:
    faces = {s.part.inlay.face for s in steps}
    rows: list[list[Any]] = []
    for number, step in enumerate(steps, start + 1):
        part = step.part
        name = part.insert.name or part.inlay.name
        where = f"{name}, {_side(part.inlay)}" if len(faces) > 1 and part.inlay.kind == "key" else name
        rows.append([str(number), [bold(part.label)], where, part.wood, _against(step)])
    return rows


def _side(inlay: Inlay) -> str:
    return "show face" if inlay.face == "show" else "underside"


def _against(step: Step) -> str:
    if step.into:
        return in_ranges([f"let into {listed(list(step.into))}", *step.against])
    if step.host:
        return f"inside {step.host}"
    return in_ranges(["the board" if label == "board" else label for label in step.against])


def seam_table(result: JobResult, style: Style) -> dict[str, Any]:
    """The seam of each inlay: asked for, as drawn, how likely it goes in by hand, how wide it stays in 95 of 100 cases,
    and where it is widest; `with_proof` adds what was read back.
    """
    head: list[Text] = [
        "seam of",
        "asked for",
        "as drawn",
        "read back",
        "in by hand",
        "up to",
        "widest, from B",
        "from A",
    ]
    chances = {chance.inlay: chance for chance in result.chances}
    rows = []
    for inlay in result.layout.inlays:
        drawn, chance = inlay.fit.seam, chances.get(inlay.name)
        range_drawn = f"{style.seam(drawn.narrowest)} to {style.seam(drawn.widest)}"
        hand = [_of_100(chance.by_hand), style.seam(chance.widest)] if chance else _by_hand_alone(result, inlay)
        widest_at = inlay.pose.point(*drawn.widest_at)
        asked = style.seam(inlay.fit.rule.seam)
        rows.append([inlay.name, asked, range_drawn, NONE, *hand, *map(style.rule, widest_at)])
    return table((0, 18, 28, 31, 21, 13, 29, 14), "lrrrrrrr", head, rows)


def _by_hand_alone(result: JobResult, inlay: Inlay) -> list[str]:
    """What stands for the chances of what is cut by hand: how far hand and template are off is not known."""
    if result.job.cutting.way == "machine":
        return [NONE, NONE]
    return ["once eased" if inlay.fit.seam.narrowest < BY_HAND else "if as cut", "?"]


def _of_100(share: float) -> str:
    return out_of_100(share).replace("more than ", "> ").replace("fewer than ", "< ")


def with_proof(page: dict[str, Any], proof: Proof | None, style: Style) -> dict[str, Any]:
    """The page with what was read back of each seam: narrowest and widest over all kinds of files, and where."""
    rows = []
    for name, row in zip(page["inlays"], page["seams"]["rows"], strict=True):
        back: list[SeamReadBack] = [seam for seam in proof.seams if seam.inlay == name] if proof else []
        if back:
            low, widest = min(seam.narrowest for seam in back), max(back, key=lambda seam: seam.widest)
            both = [bold(f"{style.seam(low)} to {style.seam(widest.widest)}")]
            row = [*row[:3], both, *row[4:6], *map(style.rule, widest.widest_at)]
        rows.append(row)
    return page | {"seams": page["seams"] | {"rows": rows}}


def _facts(result: JobResult, style: Style) -> list[list[Text]]:
    facts: list[list[Text]] = [["glue", _glue(result, style)], ["clamps", _clamps(style)]]
    walls = next((inlay.fit.walls for inlay in result.layout.inlays if inlay.fit.walls), None)
    if walls is not None:
        return [
            *facts,
            ["sawing", _sawing(walls, style)],
            ["depths", _depth_words(walls, style)],
            *_key_facts(result, style),
        ]
    if stands := proud_words(result, style):
        facts.append(["proud", stands])
    return [*facts, *_key_facts(result, style)]


def _reckoned(result: JobResult, style: Style) -> str:
    """What the chances beside the seams were reckoned with; nothing where there are none."""
    assumed = {cause.name for chance in result.chances for cause in chance.causes if cause.is_assumed}
    if not result.chances and result.job.cutting.way != "machine":
        words = "By hand: no chance is reckoned, since how far hand and tools are off is not known (“up to”: ?). "
        if any(inlay.fit.seam.narrowest < BY_HAND for inlay in result.layout.inlays):
            least = f"{style.seam(BY_HAND)} {style.word}"
            words += f"Below {least} none goes in as cut (from memory): file or sand the insert’s edge until it does."
        return words
    if not result.chances:
        return ""
    words = "In 95 of 100 cases no seam is wider than “up to”. Reckoned with "
    return words + ("usual tolerances; a fit trial makes it surer." if assumed else "the tolerances of your shop.")


def _key_facts(result: JobResult, style: Style) -> list[list[Text]]:
    keys = [i for i in result.layout.inlays if i.kind == "key"]
    return [["keys", _keys(result, keys, style)]] if keys else []


def _sawing(walls: TaperedRule, style: Style) -> Text:
    runs: list[Run] = ["When the glue is hard, a day later, saw the plates off in the saw room of "]
    runs += [bold(style.depth(walls.saw_room)), f" {style.word}, hands behind the blade; level what stands (sheet 8)."]
    return runs


def _depth_words(walls: TaperedRule, style: Style) -> Text:
    """What an error of the depths does, in figures: docs/method/tapered-walls.md, 2."""
    step = DEEPER_MM if style.unit == "mm" else DEEPER_INCH
    recess, insert = depth_errors(walls, step, 0.0), depth_errors(walls, 0.0, step)
    opens = depth_errors(walls, 0.0, walls.glue_room + step).opens
    deeper = bold(style.depth(step))
    runs: list[Run] = ["A recess ", deeper, " too deep: the insert sinks in by as much, and the drawing grows "]
    runs += [bold(style.true(recess.grows)), " all round. Around the insert ", deeper, " too deep: it sinks in by as "]
    runs += ["much, ", bold(style.depth(insert.room)), " of glue room are left. More than "]
    runs += [bold(style.depth(walls.glue_room)), " too deep it stands on the floor, and the seam opens by "]
    return [*runs, bold(style.true(opens)), f" a side for each {style.depth(step)} beyond."]


def _glue(result: JobResult, style: Style) -> Text:
    seam = max(i.fit.rule.seam for i in result.layout.inlays)
    if seam > (practice("glue", "PVA glue line that still carries load").high or 0.0):
        wide: list[Run] = ["Seam ", bold(style.seam(seam)), ": too wide for PVA. Epoxy, thickened, in its own times"]
        return [*wide, sourced(practice("glue", "epoxy: gap it fills")), "."]
    opened, total = practice("glue", "PVA yellow: open assembly"), practice("glue", "PVA yellow: total assembly")
    cold, spread = practice("glue", "PVA minimum working temperature, yellow"), practice("glue", "PVA spread")
    area = sum(i.fit.recess.area for i in result.layout.inlays)
    runs: list[Run] = ["Yellow PVA: open ", bold(f"{typical(opened):.0f} min"), ", all pressed within "]
    runs += [bold(f"{typical(total):.0f} min"), f", wood not below {warmth(typical(cold), style)}. "]
    runs.append(f"Thin, {weight(area / 1e6 * typical(spread), style)} on {surface(area, style)}")
    return [*runs, sourced(total), ". ", *_swelling(result, style)]


def _swelling(result: JobResult, style: Style) -> list[Run]:
    """How much the water of the glue widens the widest part in the first minutes."""
    figure = practice("glue", "swelling of insert edges by water-based glue, first minutes")
    widest = max((part.across for part in parts_of(result)), default=0.0) * typical(figure) / 100.0
    runs: list[Run] = ["Its water swells the edges, in minutes by ", bold(style.seam(widest))]
    return [*runs, f" {style.word} on the widest part", sourced(figure), ": spread thin, press at once."]


def _clamps(style: Style) -> Text:
    time, press = practice("glue", "PVA clamp time at 21 C"), practice("glue", "clamp pressure, softwood / hardwood")
    unit = f"{typical(press):.0f} MPa" if style.unit == "mm" else f"{typical(press) * 145.04:.0f} psi"
    runs: list[Run] = ["Paper and a flat caul over all, even pressure, about ", unit, sourced(press), ". "]
    runs += [bold(f"{typical(time):.0f} min"), f" at {warmth(21, style)}, "]
    for celsius in (15.0, 10.0):
        runs += [
            bold(f"{10 * round(typical(time) * 2 ** ((21 - celsius) / DOUBLED) / 10):.0f} min"),
            f" at {warmth(celsius, style)}, ",
        ]
    runs.append("twice as long for each ")
    return [*runs, f"{steps_of_warmth(DOUBLED, style)} colder", sourced(time), "."]


def _keys(result: JobResult, keys: list[Inlay], style: Style) -> Text:
    labels = labels_of(result.layout)
    runs: list[Run] = []
    for key in keys:
        number = key.fit.inserts[0].number
        runs += [
            bold(labels[key.name, number]),
            f": {key.name}, {_side(key)}, ",
            bold(style.depth(key.depth)),
            " deep. ",
        ]
    return [*runs, "Grain along the key, across the crack. Glue it once the other face is dry."]


def _warnings(result: JobResult, steps: list[Step]) -> list[dict[str, Any]]:
    boxes: list[dict[str, Any]] = []
    oily = [wood for wood in woods_of(result)[1:] if find(wood).id in OILY]
    if oily:
        wipe = "Wipe the glue faces with acetone, let them dry, glue within a quarter of an hour"
        boxes.append({"word": "Look", "text": f"Oily: {listed(oily)}. {wipe} ({NO_SOURCE})."})
    minutes = typical(practice("glue", "PVA yellow: total assembly"))
    pictures = sum(s.part.inlay.kind == "picture" and s.part.inlay.order == 1 for s in steps)
    if pictures * A_PIECE > minutes:
        batches = math.ceil(pictures * A_PIECE / minutes)
        many = f"{plural(pictures, 'piece')} are more than {minutes:.0f} min allow"
        text = f"{many}: glue in {batches} goes, or take a slower glue ({NO_SOURCE})."
        boxes.append({"word": "Look", "text": text})
    return boxes
