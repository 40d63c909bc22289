"""Sheet 5 of a job cut with templates: a card for each set-up, then every template with its sizes."""

from typing import Any

import shapely

from purfle.geometry.pose import SHOW, UNDERSIDE
from purfle.model.cutting import SetUp
from purfle.model.findings import Finding
from purfle.model.job import JobResult
from purfle.model.proof import Proof
from purfle.model.templates import Guide, Guiding, Template
from purfle.sheets.bench_drawing import draw_by_hand
from purfle.sheets.bush_section import draw_bush
from purfle.sheets.cutting_cards import minutes, plain_size
from purfle.sheets.harm import dust_words
from purfle.sheets.lettering import Run, Text, bold, capital, in_ranges, listed, table
from purfle.sheets.parts import Part, parts_of, wood_name
from purfle.sheets.piece import hours
from purfle.sheets.programs import names_of, places_of
from purfle.sheets.style import Style
from purfle.sheets.template_drawing import draw_templates
from purfle.sheets.trade import NO_SOURCE
from purfle.sheets.view import scale_words
from purfle.sheets.warnings import warnings_of

SECTION, BETWEEN = 58.0, 8.0
DRAWINGS, CROWDED = 0.34, 0.26
"""Share of the page's height that the drawings take at most, and at least."""
AROUND, ROW = 136.0, 6.6
"""Height of all else on the page beside drawings and rows, mm; height of a row."""
MOST_PLACES, A_PAGE = 8, 26
"""A set-up with more places has them on a page of their own, so many on each."""
LEAD_OF_PARTS = "Tick each place in the margin when its piece is cut loose."
ON_A_PAGE = 8
"""So many templates are listed on one page."""


def data(result: JobResult, style: Style) -> list[dict[str, Any]]:
    """A card for each set-up that is cut with templates, then the templates; none where a machine cuts."""
    cards = [page for one in result.cutting.set_ups if one.guides for page in _cards(result, one, style)]
    return cards + _template_pages(result, style)


def _cards(result: JobResult, set_up: SetUp, style: Style) -> list[dict[str, Any]]:
    """The card of a set-up, and where it has many places, a page or more with the list of them."""
    card, places = _card(result, set_up, style), _places(result, set_up, style)
    if len(places["rows"]) <= MOST_PLACES:
        return [card | {"places": [places]}]
    groups = [places["rows"][start : start + A_PAGE] for start in range(0, len(places["rows"]), A_PAGE)]
    lead = "Tick each place in the margin when its recess is cut." if set_up.stock == "board" else LEAD_OF_PARTS
    head = {key: card[key] for key in ("sub", "stop", "inlays", "proved")}
    lists = [head | {"title": "Template card, places", "lead": lead, "list": places | {"rows": g}} for g in groups]
    return [card | {"places": []}, *lists]


def _card(result: JobResult, set_up: SetUp, style: Style) -> dict[str, Any]:
    warnings = warnings_of(result, ("cutting",), lambda finding: is_told_here(result, set_up, finding))
    passes, count = _passes(result, set_up, style), len(set_up.guides)
    rows = len(passes["rows"]) + (count if count <= MOST_PLACES else 0)
    high = max(CROWDED * style.down, min(DRAWINGS * style.down, style.down - AROUND - ROW * rows))
    labels = [_label(result, set_up, guide) for guide in set_up.guides]
    bench = draw_by_hand(result, set_up, labels, (style.across - SECTION - BETWEEN, high))
    guide, template = set_up.guides[0].guide, result.cutting.templates[set_up.guides[0].template - 1]
    section = draw_bush(set_up, template, style, (SECTION, high))
    return {
        "title": "Template card",
        "sub": f"set-up {set_up.number} of {len(result.cutting.set_ups)}, {set_up.title}",
        "stop": "",
        "caution": _caution(),
        "lies": f"On the bench: {lies_words(set_up)}",
        "bench": bench.drawing.data(),
        "bench_words": [_around(set_up, bench.is_numbered), scale_words(bench.scale)],
        "section": section.data(),
        "passes": passes,
        "facts": _facts(result, set_up, guide, style),
        "inlays": sorted({*names_of(result, set_up).values(), *parts_on(result, set_up)}),
        "proved": "",
        "ticks": ["tried on scrap", "depth checked", "template cannot move", "done, date"],
        "warnings": warnings,
    }


def is_told_here(result: JobResult, set_up: SetUp, finding: Finding) -> bool:
    """True if a finding is about this set-up; what is about none in particular is on the first card."""
    told = [one for one in result.cutting.set_ups if finding.where == one.title]
    return set_up in (told or result.cutting.set_ups[:1])


def lies_words(set_up: SetUp) -> str:
    """What lies on the bench, and how."""
    if set_up.stock != "board":
        return set_up.stock
    return "show face up" if set_up.face == "show" else "underside up"


def _around(set_up: SetUp, is_numbered: bool) -> str:
    seen = "" if set_up.face == "show" else "Seen from below, as it lies. "
    pins = "; black dots: pins" if any(one.pinned for one in set_up.guides) else ""
    rest = "" if is_numbered else "; the other numbers: the list"
    return f"{seen}Grey: what is cut{' loose' if set_up.stock != 'board' else ''}. Dashed: openings{pins}{rest}"


def parts_on(result: JobResult, set_up: SetUp) -> set[str]:
    """Inlays that have a part on this stock."""
    return {place.part.inlay for place in result.on_offcuts.places if place.offcut == set_up.stock}


def _caution() -> Text:
    return [
        "Plug drawn whenever you touch cutter or bush. Try both on ",
        bold("scrap"),
        " first: the bush centred round the cutter, the depth right. Hold the router with both hands, let it run up "
        "before it meets wood and stop before you lift it.",
    ]


def _places(result: JobResult, set_up: SetUp, style: Style) -> dict[str, Any]:
    """Which template lies where, for what, and how it is held."""
    is_board = set_up.stock == "board"
    where: list[Text] = ["middle from B", "from A"] if is_board else ["middle from the left", "from below"]
    rows = [_place_row(result, set_up, guide, style) for guide in set_up.guides]
    return table((17, 0, 34, 26, 22, 24), "llrrrl", ["template", "for", *where, "turned", "held by"], rows)


def _place_row(result: JobResult, set_up: SetUp, guide: Guiding, style: Style) -> list[Any]:
    pose = guide.pose
    if set_up.stock == "board":
        frame = SHOW if set_up.face == "show" else UNDERSIDE
        x, y = frame.inverse().point(pose.x, pose.y)
    else:
        x, y = pose.x, pose.y
    held = "pins, tape" if guide.pinned else "tape"
    turned = round(pose.angle % 360.0, 1) % 360.0
    shown = f"{turned:g}°" if turned else "no"
    label = [bold(f"T{guide.template}")]
    return [label, _for(result, set_up, guide), {"big": style.rule(x)}, {"big": style.rule(y)}, shown, held]


def _for(result: JobResult, set_up: SetUp, guide: Guiding) -> str:
    """What is cut there: a part by its number and name, the recess of a part, or of a fitting by its name."""
    if set_up.stock != "board":
        label, place = places_of(result, set_up)[guide.line]
        return f"piece {label}, {place.part.name}" + (", spare" if place.spare else "")
    part = _part_at(result, set_up, guide)
    if part is None:
        return f"recess of {names_of(result, set_up)[guide.line]}"
    return f"recess of piece {part.label}, {part.insert.name or part.inlay.name}"


def _label(result: JobResult, set_up: SetUp, guide: Guiding) -> str:
    """What is written in its place on the drawing: the number of the piece, of a fitting that of its template."""
    if set_up.stock != "board":
        return places_of(result, set_up)[guide.line][0]
    part = _part_at(result, set_up, guide)
    return part.label if part is not None else f"T{guide.template}"


def _part_at(result: JobResult, set_up: SetUp, guide: Guiding) -> Part | None:
    """The part that goes into a recess of the board; None into one for a fitting."""
    number = next((n for n in range(len(result.layout.inlays)) if guide.line == f"recess-{n + 1}"), None)
    if number is None:
        return None
    inlay = result.layout.inlays[number]
    frame = SHOW if set_up.face == "show" else UNDERSIDE
    opening = guide.pose.region(result.cutting.templates[guide.template - 1].opening)
    lies = inlay.pose.inverse().region(frame.inverse().region(opening))
    its = [part for part in parts_of(result) if part.inlay is inlay]
    return max(its, key=lambda part: float(shapely.intersection(part.insert.region, lies).area))


def _passes(result: JobResult, set_up: SetUp, style: Style) -> dict[str, Any]:
    """The passes, once for lines that are cut alike: depth in the wood, and what the cutter stands out of the base."""
    thick = result.cutting.templates[0].thickness
    by_depths: dict[tuple[float, ...], list[str]] = {}
    for line in set_up.lines:
        steps = [step for step in set_up.steps if step.line == line.id]
        by_depths.setdefault(tuple(round(step.depth, 3) for step in steps), []).append(line.id)
    rows = []
    for depths, lines in by_depths.items():
        before = [bold(style.depth(depth)) for depth in depths[:-1]]
        each = [run for one in before for run in (one, ", ")]
        words = _line_words(result, set_up, lines)
        deep: Text = [*each, bold(style.depth(depths[-1]))]
        out = {"big": style.depth(depths[-1] + thick)}
        rows.append([words, str(len(depths)), deep, out, _time_of(set_up, lines)])
    head: list[Text] = ["cut", "passes", "each so deep in the wood", "out of the base, last", "time"]
    return table((0, 15, 62, 36, 16), "lrrrr", head, rows)


def _line_words(result: JobResult, set_up: SetUp, lines: list[str]) -> str:
    if set_up.stock == "board":
        names = names_of(result, set_up)
        recess = "recess" if len(lines) == 1 else "recesses"
        return capital(f"{recess} of {listed([names[line] for line in lines])}")
    named = places_of(result, set_up)
    count = "piece" if len(lines) == 1 else "pieces"
    return capital(f"{count} {in_ranges([named[line][0] for line in lines])}, cut loose")


def _time_of(set_up: SetUp, lines: list[str]) -> str:
    return minutes(sum(step.minutes for step in set_up.steps if step.line in lines))


def _facts(result: JobResult, set_up: SetUp, guide: Guide, style: Style) -> list[list[Text]]:
    return [
        ["cutter", _cutter(guide, style)],
        ["bush", _bush(guide, set_up, style)],
        ["way round", _way_round(set_up)],
        ["holding", f"{set_up.holding.rstrip('.')}."],
        ["pair", _pair(result, style)],
        ["time", _time(result, set_up)],
    ]


def _cutter(guide: Guide, style: Style) -> Text:
    cutter = guide.cutter
    runs: list[Run] = [f"{cutter.name}, ", bold(f"Ø {plain_size(cutter.diameter, style)}"), ", edges "]
    runs += [f"{style.depth(cutter.cutting_length)} long, ", bold(f"{cutter.max_speed:,.0f}".replace(",", "\u202f"))]
    return [*runs, " rpm at most. The cutter maker’s figures win."]


def _bush(guide: Guide, set_up: SetUp, style: Style) -> Text:
    what = "recess" if set_up.stock == "board" else "insert"
    off = guide.offset if set_up.stock == "board" else guide.across
    runs: list[Run] = [
        f"{capital(guide.bush)}, ",
        bold(f"Ø {plain_size(guide.outside, style)}"),
        " outside: the opening is ",
    ]
    return [*runs, bold(style.true(off)), f" {style.word} larger than the {what}, all round."]


def _way_round(set_up: SetUp) -> Text:
    runs: list[Run] = [bold("Clockwise"), " round the opening, seen from above: the router draws itself to its edge"]
    if set_up.stock == "board":
        return [*runs, f" ({NO_SOURCE}). The middle first, back and forth; the edge last, twice round."]
    return [*runs, f" ({NO_SOURCE}). Twice round at each depth; do not cross the middle."]


def _pair(result: JobResult, style: Style) -> Text:
    """The pair with its closed form, or that each has a template of its own."""
    guides = {(guide.guide.bush, s.stock == "board"): guide for s in result.cutting.set_ups for guide in s.guides}
    recess = next((g.guide for (_, board), g in guides.items() if board), None)
    insert = next((g.guide for (_, board), g in guides.items() if not board), None)
    if recess is None or insert is None:
        return "No insert is cut here."
    used = {guide.template for s in result.cutting.set_ups if s.stock == "board" for guide in s.guides}
    shared = any(g.template in used for s in result.cutting.set_ups if s.stock != "board" for g in s.guides)
    if not shared:
        return "Recess and insert have templates of their own, so that the seam is as asked for whatever the bushes."
    seam = (insert.outside + insert.cutter.width + recess.cutter.width - recess.outside) / 2.0
    sizes = [insert.outside, insert.cutter.width, recess.cutter.width, recess.outside]
    shown = [plain_size(size, style) for size in sizes]
    return [
        f"One template for both: ({shown[0]} + {shown[1]} + {shown[2]} − {shown[3]}) / 2 = ",
        bold(style.seam(max(0.0, round(seam, 6)))),
        f" {style.word} of seam. What a saw leaves or takes of it goes into both alike.",
    ]


def _time(result: JobResult, set_up: SetUp) -> Text:
    offcuts = {o.name: o.wood for o in result.on_offcuts.used}
    wood = wood_name(result, offcuts.get(set_up.stock, result.layout.board.wood))
    dust = dust_words(wood)
    runs: list[Run] = ["About ", bold(hours(set_up.cutting_minutes)), " with the router, setting up "]
    runs += [bold(hours(set_up.set_up_minutes)), ". Ears, eyes and lungs protected", f": {dust}." if dust else "."]
    return runs


def with_proof(page: dict[str, Any], proof: Proof | None, style: Style) -> dict[str, Any]:
    """A card that says what the dry fit found: the seam, or why nothing must be cut."""
    return page | {"stop": stop_words(proof, "templates"), "proved": _proved(page["inlays"], proof, style)}


def stop_words(proof: Proof | None, what: str) -> Text:
    """Why nothing must be cut yet, or nothing; `what` was read back."""
    if proof is None:
        return [bold("The files were not read back. "), "Do not cut before they are proved."]
    if proof.proven:
        return ""
    found = [f.what for f in proof.findings if f.severity == "stop"]
    why = f"{capital(found[0].rstrip('.'))}. " if found else ""
    return [bold(f"The {what} were read back and did not pass. "), why, "Do not cut; report.json says more."]


def _proved(inlays: list[str], proof: Proof | None, style: Style) -> Text:
    if proof is None or not proof.proven:
        return [bold("not proved")]
    seams = [s for s in proof.seams if s.kind == "templates" and s.inlay in inlays]
    if not seams:
        return "templates read back and proved"
    widest = max(seam.widest for seam in seams)
    return ["templates read back and proved: seam ", bold(style.seam(seams[0].drawn)), f", widest {style.seam(widest)}"]


# --- the templates


def _template_pages(result: JobResult, style: Style) -> list[dict[str, Any]]:
    templates = result.cutting.templates
    groups = [templates[start : start + ON_A_PAGE] for start in range(0, len(templates), ON_A_PAGE)]
    return [_template_page(result, list(group), style) for group in groups]


def _template_page(result: JobResult, templates: list[Template], style: Style) -> dict[str, Any]:
    rows = [_template_row(result, one, style) for one in templates]
    head: list[Text] = ["", "template for", "opening", "its wood", "uses", "pins from the middle lines", "file"]
    listed_rows = table((10, 0, 26, 28, 11, 58, 28), "llrrrll", head, rows)
    high = style.down - 74.0 - 9.0 * len(rows)
    thick, pin = templates[0].thickness, templates[0].pin
    return {
        "title": "Templates",
        "sub": f"{style.depth(thick)} {style.word} thick",
        "stop": "",
        "lead": "Saw or have cut what sheet 10 shows at true size. Smooth the opening: the bush feels every bump.",
        "drawing": draw_templates(templates, style, (style.across, high)).data(),
        "table": listed_rows,
        "inlays": [],
        "notes": [
            [
                bold("Middle lines. "),
                "The middle of each side of a template, squared across and drawn on both faces, is a middle line of "
                "its opening: lay it on the line pencilled on the wood.",
            ],
            [
                bold("Pins. "),
                f"Holes of Ø {plain_size(pin, style)} through the template; drill on through them into the wood, "
                f"{style.depth(_pin_deep(result))} {style.word} deep at most, where the card says pins.",
            ],
        ],
        "proved": "",
    }


def _pin_deep(result: JobResult) -> float:
    """A third of the board at most."""
    return min(6.0, result.layout.board.thickness / 3.0)


def _template_row(result: JobResult, one: Template, style: Style) -> list[Any]:
    left, low, right, high = one.opening.bounds
    x0, y0, x1, y1 = shapely.bounds(one.outline).tolist()
    uses = sum(guide.template == one.number for s in result.cutting.set_ups for guide in s.guides)
    pins = "; ".join(f"{style.true(x)}, {style.true(y)}" for x, y in one.pins) or "no room: tape"
    opening, wood = style.size(right - left, high - low), style.size(x1 - x0, y1 - y0)
    return [[bold(f"T{one.number}")], one.name, opening, wood, str(uses), pins, f"…template-{one.number}"]
