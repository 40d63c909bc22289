"""Cutting by hand along templates, from the files of a folder: the bush follows the opening, the cutter sweeps.

The middle of a bush can be wherever the opening, less half the bush's width all round, lets it. In a recess the maker
cuts all that the cutter reaches from there; of a part stays what the groove along the wall of the opening goes round.
Nothing here comes from what made the openings: offsets are the proof's own (`regions`).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from purfle.errors import Fault, ProgramError
from purfle.model.findings import Finding
from purfle.proof.card import Card, LineOnCard, SetUpOnCard
from purfle.proof.card_by_hand import GuidingOnCard, TemplateOnCard
from purfle.proof.cuts import LineCut, SetUpCut
from purfle.proof.found import stop
from purfle.proof.outlines import Outlines
from purfle.proof.outlines_dxf import read_dxf
from purfle.proof.outlines_svg import read_svg
from purfle.proof.regions import Sandwich, grown, inside, likeness, only_wood, polygons
from purfle.proof.shelf import CARD
from purfle.tolerances import DEPTH_AS_CUT, DEPTH_LISTED, NO_WOOD, OUTLINES_AGREE, PIN_AS_DRAWN, SIDE_AS_CUT

_MEND = "write the files again from the job; do not cut with these"
OPENING = "opening"
THINNEST_TEMPLATE = 1.0
"""Less wood of a template between its opening and a pin or its edge, mm, breaks out (common practice, no source)."""
KINDS = ("svg", "dxf")


@dataclass(frozen=True, slots=True)
class TemplateRead:
    """A template with its outline files as read; None where one is missing."""

    card: TemplateOnCard
    svg: Outlines | None
    dxf: Outlines | None

    def outlines(self, kind: str) -> Outlines | None:
        """By one kind of file."""
        return self.svg if kind == "svg" else self.dxf

    def opening(self, kind: str) -> BaseGeometry | None:
        """The opening by one kind of file."""
        outlines = self.outlines(kind)
        return outlines.lines.get(OPENING) if outlines else None


Templates = dict[int, TemplateRead]


# --- the templates themselves


def read_templates(card: Card, files: Mapping[str, bytes], findings: list[Finding]) -> Templates:
    """Every template of the card, read and looked through. Raises ProgramError where a file cannot be read."""
    faults: list[Fault] = []
    found: Templates = {}
    for one in card.templates:
        read: dict[str, Outlines] = {}
        for kind, name, reader in (("svg", one.svg, read_svg), ("dxf", one.dxf, read_dxf)):
            if name not in files:
                findings.append(stop(f"the file '{name}' is missing", f"{name}, template {one.number}", _MEND))
                continue
            try:
                read[kind] = reader(name, files[name], one.number, "template")
            except ProgramError as error:
                faults.extend(error.faults)
        found[one.number] = TemplateRead(one, read.get("svg"), read.get("dxf"))
        for outlines in read.values():
            findings += _sound(one, outlines)
        if len(read) == len(KINDS):
            findings += _alike(found[one.number])
    if faults:
        raise ProgramError.of(faults)
    return found


def _sound(template: TemplateOnCard, outlines: Outlines) -> Iterator[Finding]:
    """One opening in one part, two pins or none, round and as wide as the card says, wood between all of them."""
    where = f"{outlines.file}, template {template.number} ({template.name})"
    pins = sorted(name for name in outlines.lines if name != OPENING)
    if pins not in ([], ["pin-1", "pin-2"]):
        yield stop(f"lines that no template has: {', '.join(pins)}", where, _MEND)
        return
    if OPENING not in outlines.lines:
        yield stop("the opening is missing", where, _MEND)
        return
    opening = outlines.lines[OPENING]
    if len(polygons(opening)) != 1 or shapely.get_num_interior_rings(polygons(opening)[0]):
        yield stop("the opening is in several parts, or holds an island that nothing holds", where, _MEND)
    for name in pins:
        hole = outlines.lines[name]
        wanted = hole.centroid.buffer(template.pin / 2.0, quad_segs=90)
        if not Sandwich(wanted, PIN_AS_DRAWN).difference(hole).nothing:
            yield stop(f"the hole of {name} is not round, or not {template.pin:.2f} mm wide", where, _MEND)
    holes = [outlines.lines[name] for name in (OPENING, *pins)]
    for index, hole in enumerate(holes):
        others = [outlines.stock.boundary, *holes[:index]]
        if not outlines.stock.covers(hole) or min(shapely.distance(hole, others)) < THINNEST_TEMPLATE:
            yield stop("the template would break: opening, pins and edge lie too near to each other", where, _MEND)
            return


def _alike(template: TemplateRead) -> Iterator[Finding]:
    """The pins and the wood of a template are the same in both files; openings are held against finished lines."""
    svg, dxf = template.svg, template.dxf
    assert svg is not None
    assert dxf is not None
    where = f"{svg.file} and {dxf.file}, template {template.card.number}"
    if not Sandwich(svg.stock, DEPTH_AS_CUT).difference(dxf.stock).nothing:
        yield stop("the outline of the template is not the same in the SVG and the DXF file", where, _MEND)
    for name in sorted((svg.lines.keys() | dxf.lines.keys()) - {OPENING}):
        one, other = svg.lines.get(name), dxf.lines.get(name)
        if one is None or other is None or not Sandwich(one, OUTLINES_AGREE).difference(other).nothing:
            yield stop(f"the hole of {name} is not the same in the SVG and the DXF file", where, _MEND)


# --- what is cut along them


def cut_by_hand(
    card: Card, set_up: SetUpOnCard, outlines: Mapping[str, Outlines], templates: Templates, findings: list[Finding]
) -> SetUpCut | None:
    """One set-up as its templates and passes cut it; None where not every line is cut.

    `outlines`: of the finished lines, by kind of file; the opening that leaves another line than these is named.
    """
    findings += [*_steps(card, set_up), *_guides(card, set_up, templates)]
    lines: dict[str, LineCut] = {}
    sources: dict[str, str] = {}
    grooves: dict[str, BaseGeometry] = {}
    for line in set_up.lines:
        guides = [one for one in set_up.guides if one.line == line.id and one.cutter in card.cutters]
        depth = max((step.depth for step in set_up.steps if step.line == line.id), default=0.0)
        wanted = [one.lines[line.id] for one in outlines.values() if line.id in one.lines]
        by_kind = {kind: _as_cut(card, line, guides, templates, kind) for kind in KINDS}
        as_cut = {kind: region for kind, region in by_kind.items() if region is not None and not region.is_empty}
        if not as_cut:
            findings.append(stop(f"nothing is cut along '{line.id}'", _where(set_up), _MEND))
            continue
        kind = _sounder(as_cut, wanted)
        findings += _culprit(set_up, line, as_cut, kind, _files(guides, templates))
        lines[line.id] = LineCut(as_cut[kind], as_cut[kind], depth)
        sources[line.id] = ", ".join([*_files(guides, templates)[kind], *dict.fromkeys(one.bush for one in guides)])
        if line.kind == "part":
            grooves[line.id] = shapely.union_all([*_grooves(card, guides, templates, kind)])
    findings += [*_into_neighbours(set_up, lines, grooves), *_pins(card, set_up, templates)]
    radius = min(
        (card.cutters[one.cutter].diameter / 2.0 for one in set_up.guides if one.cutter in card.cutters), default=0.0
    )
    return SetUpCut(set_up, (), (), lines, MultiPolygon(), (), sources, radius) if lines else None


def _where(set_up: SetUpOnCard) -> str:
    return f"{CARD}, set-up {set_up.number} ({set_up.title})"


def _room(card: Card, guide: GuidingOnCard, templates: Templates, kind: str) -> BaseGeometry | None:
    """Where the middle of the bush can be, in the frame of the set-up."""
    template = templates.get(guide.template)
    opening = template.opening(kind) if template else None
    return None if opening is None else grown(guide.to_set_up.region(opening), -guide.outside / 2.0)


def _as_cut(
    card: Card, line: LineOnCard, guides: Sequence[GuidingOnCard], templates: Templates, kind: str
) -> BaseGeometry | None:
    """A line as it is cut: of a recess what goes, of a part what stays; None where a file is missing."""
    rooms = [_room(card, guide, templates, kind) for guide in guides]
    sign = 1.0 if line.kind == "recess" else -1.0
    found = [
        grown(room, sign * card.cutters[guide.cutter].diameter / 2.0)
        for room, guide in zip(rooms, guides, strict=True)
        if room is not None
    ]
    return None if len(found) < len(guides) or not found else shapely.union_all(found)


def _grooves(card: Card, guides: Sequence[GuidingOnCard], templates: Templates, kind: str) -> Iterator[BaseGeometry]:
    for guide in guides:
        room = _room(card, guide, templates, kind)
        if room is not None:
            radius = card.cutters[guide.cutter].diameter / 2.0
            yield grown(room, radius).difference(grown(room, -radius))


def _files(guides: Sequence[GuidingOnCard], templates: Templates) -> dict[str, list[str]]:
    used = [templates[one.template].card for one in guides if one.template in templates]
    return {
        "svg": list(dict.fromkeys(one.svg for one in used)),
        "dxf": list(dict.fromkeys(one.dxf for one in used)),
    }


def _sounder(as_cut: Mapping[str, BaseGeometry], wanted: Sequence[BaseGeometry]) -> str:
    """The kind of file whose openings leave what one of the outline files wants; the first where neither does."""
    for kind, region in as_cut.items():
        if any(Sandwich(one, SIDE_AS_CUT).difference(region).nothing for one in wanted):
            return kind
    return next(iter(as_cut))


def _culprit(
    set_up: SetUpOnCard,
    line: LineOnCard,
    as_cut: Mapping[str, BaseGeometry],
    kind: str,
    files: Mapping[str, list[str]],
) -> list[Finding]:
    """Both kinds of template files leave the same; else the one that does not fit the finished line is named."""
    other = next((one for one in as_cut if one != kind), None)
    if other is None or Sandwich(as_cut[kind], OUTLINES_AGREE).difference(as_cut[other]).nothing:
        return []
    how = likeness(as_cut[other], as_cut[kind])
    what = f"the opening for '{line.id}' is not the one of the {kind.upper()} file" + (f": {how}" if how else "")
    place = Sandwich(as_cut[kind], OUTLINES_AGREE).difference(as_cut[other]).worst
    x, y = place
    where = f"{', '.join(files[other])}, line '{line.id}', at {x:.2f}, {y:.2f} mm of set-up {set_up.number}"
    board = set_up.to_board.point(*place) if set_up.stock == "board" else None
    return [stop(what, where, _MEND, board)]


# --- passes, guidings, pins


def _steps(card: Card, set_up: SetUpOnCard) -> Iterator[Finding]:
    """Passes of every line get deeper, stay on the line, and no deeper than the cutter and the stock allow."""
    floor = set_up.thickness + set_up.cut_through
    for line in set_up.lines:
        steps = [step for step in set_up.steps if step.line == line.id]
        where = f"{_where(set_up)}, steps of '{line.id}'"
        if not steps:
            yield stop(f"no pass cuts '{line.id}'", where, _MEND)
            continue
        depths = [step.depth for step in steps]
        if any(after <= before for before, after in pairwise(depths)):
            yield stop("the passes do not get deeper one after the other", where, _MEND)
        if any(step.off_line > 0.0 for step in steps):
            yield stop("a pass stays off the line, which no guide bush does", where, _MEND)
        for cutter in {step.cutter for step in steps} & card.cutters.keys():
            edges = card.cutters[cutter].cutting_length
            if max(depths) > edges + DEPTH_LISTED:
                what = f"cuts {max(depths):.2f} mm deep with a cutter whose edges are {edges:.2f} mm long"
                yield stop(what, where, "take a longer cutter and write the files again")
        if max(depths) > floor + DEPTH_LISTED:
            what = f"cuts {max(depths):.2f} mm deep; the stock and what lies below it allow {floor:.2f} mm"
            yield stop(what, where, _MEND)


def _guides(card: Card, set_up: SetUpOnCard, templates: Templates) -> Iterator[Finding]:
    """Every line is guided, by the cutter of its passes, in a bush that is wider; no template lies face down."""
    for line in set_up.lines:
        guides = [one for one in set_up.guides if one.line == line.id]
        cutters = {step.cutter for step in set_up.steps if step.line == line.id}
        where = f"{_where(set_up)}, guides of '{line.id}'"
        if line.kind == "part" and len(guides) > 1:
            yield stop("a part is guided by more than one template", where, _MEND)
        for guide in guides:
            if guide.to_set_up.mirrored:
                yield stop(f"template {guide.template} would lie face down", where, _MEND)
            if cutters - {guide.cutter}:
                yield stop("the cutter in the bush is not the one of the passes", where, _MEND)
            if guide.cutter in card.cutters and guide.outside <= card.cutters[guide.cutter].diameter:
                yield stop(f"the bush {guide.bush} is no wider than its cutter", where, _MEND)


def _into_neighbours(
    set_up: SetUpOnCard, lines: Mapping[str, LineCut], grooves: Mapping[str, BaseGeometry]
) -> Iterator[Finding]:
    """The groove round one part must leave its neighbours alone."""
    names = list(grooves)
    for name in names:
        for other in names:
            shared = only_wood(grooves[name].intersection(lines[other].least)) if other != name else MultiPolygon()
            if shared.area > NO_WOOD:
                x, y = inside(shared)
                what = f"the groove round '{name}' cuts {shared.area:.3f} mm2 out of '{other}'"
                yield stop(what, f"{_where(set_up)}, at {x:.2f}, {y:.2f} mm of set-up {set_up.number}", _MEND)


def _pins(card: Card, set_up: SetUpOnCard, templates: Templates) -> Iterator[Finding]:
    """Pins go into wood of the stock that nobody needs."""
    kept = shapely.union_all([outline for one in set_up.lines for outline in _needed(set_up, one, templates, card)])
    for guide in set_up.guides:
        template = templates.get(guide.template)
        if template is None or not guide.pinned:
            continue
        outlines = template.svg or template.dxf
        holes = [outlines.lines[name] for name in sorted(outlines.lines) if name != OPENING] if outlines else []
        where = f"{_where(set_up)}, template {guide.template} on '{guide.line}'"
        if len(holes) != 2:
            yield stop("the template is held by pins that it has no holes for", where, _MEND)
        for hole in (guide.to_set_up.region(hole) for hole in holes):
            x, y = inside(hole)
            spot = set_up.to_board.point(x, y) if set_up.stock == "board" else None
            if not set_up.outline.covers(hole):
                yield stop(f"a pin at {x:.2f}, {y:.2f} mm finds no wood", where, _MEND, spot)
            elif hole.intersects(kept):
                yield stop(f"a pin at {x:.2f}, {y:.2f} mm goes into a part or a recess", where, _MEND, spot)


def _needed(set_up: SetUpOnCard, line: LineOnCard, templates: Templates, card: Card) -> Iterator[BaseGeometry]:
    """What no pin may come into: parts, and recesses."""
    guides = [one for one in set_up.guides if one.line == line.id and one.cutter in card.cutters]
    for kind in KINDS:
        region = _as_cut(card, line, guides, templates, kind)
        if region is not None:
            yield region
