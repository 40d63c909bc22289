"""The cutting plan of a job that is cut by hand along templates: which template guides which line, and its passes.

One template serves a recess and its insert where the bush pair allows; openings that are alike, turned or not, share
one. The outline files have the finished lines, as for a machine; the templates have files of their own.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import shapely
from shapely import Polygon

from purfle.cutting.by_hand import HAND_FEED, finding, hand_findings, tight_finding
from purfle.cutting.lines import part_ids, recess_ids
from purfle.cutting.planning import Clamping, bare_set_up, frame_of
from purfle.errors import FitError
from purfle.geometry.offsetting import polygons, shrink
from purfle.geometry.pose import Pose
from purfle.model.board import Inlay, Layout
from purfle.model.cutting import CutLine, CuttingPlan, HandStep, SetUp
from purfle.model.findings import Finding
from purfle.model.job import Job
from purfle.model.offcuts import OnOffcuts, Place
from purfle.model.pieces import Insert
from purfle.model.shop import Shop
from purfle.model.templates import Guide, Guiding, Template, TemplateRule
from purfle.templates import Below, insert_opening, laid_on, pin_places, pins_have_wood, recess_opening
from purfle.tolerances import SAME_SHARE
from purfle.units import figure

_BRIDGE = 1.0
"""Wood of the stock between a pin and a recess or groove, mm (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Use:
    """Where an opening is used: the set-up, its line, the guide, the pose from the opening's frame to the set-up's."""

    set_up: int
    line: str
    guide: Guide
    pose: Pose


@dataclass(slots=True)
class _Demand:
    """An opening that is needed, and its uses."""

    name: str
    opening: Polygon
    uses: list[_Use] = field(default_factory=list)
    more: int = 0

    @property
    def words(self) -> str:
        """What it is for: the first of all that are alike, and how many more there are."""
        return f"{self.name} and {self.more} more" if self.more else self.name


def plan_with_templates(
    job: Job, shop: Shop, rule: TemplateRule, placed: tuple[Layout, OnOffcuts], clampings: Sequence[Clamping]
) -> CuttingPlan:
    """All set-ups with their guidings and passes, and the templates. Raises FitError where a bush does not go in."""
    bare = [bare_set_up(job, shop, clamping) for clamping in clampings]
    demands = _merged([*_demands(rule, placed, bare)])
    templates, guides = [], []
    for number, demand in enumerate(demands, 1):
        template, of_template = _template(job, rule, number, demand, bare)
        templates.append(template)
        guides += of_template
    set_ups = tuple(
        _set_up(job, rule, one, [guide for number, guide in guides if number == one.number]) for one in bare
    )
    notes = [finding for clamping in clampings for finding in clamping.notes]
    tight = tight_finding(rule.seam, "ask for a seam of 0.05 mm in [fit]") if placed[0].inlays else ()
    found = (*notes, *tight, *_findings(rule, set_ups, guides))
    return CuttingPlan(set_ups, found, tuple(templates))


# --- which openings are needed


def _demands(rule: TemplateRule, placed: tuple[Layout, OnOffcuts], bare: Sequence[SetUp]) -> Iterator[_Demand]:
    """Every opening that is needed, in the order of the set-ups and their lines."""
    layout, on_offcuts = placed
    ids = part_ids(layout, on_offcuts.places)
    homes = {one.stock: one.number for one in bare if one.stock != "board"}
    inlays = dict(zip(recess_ids(layout), layout.inlays, strict=True))
    for set_up in bare:
        for line in set_up.lines if set_up.stock == "board" else ():
            inlay = inlays.get(line.id)
            for part in polygons(line.region):
                insert = _insert_in(part, inlay, set_up) if inlay else None
                name = _name(line, inlay, insert, layout)
                demand = _Demand(name, _one(recess_opening(part, rule.pair.recess), name, rule.pair.recess))
                demand.uses.append(_Use(set_up.number, line.id, rule.pair.recess, Pose()))
                places = _places(on_offcuts, ids, inlay, insert)
                if inlay is not None and rule.shared:
                    to_artwork = frame_of(set_up.face).inverse().then(inlay.pose.inverse())
                    demand.uses += _insert_uses(rule, places, homes, to_artwork)
                yield demand
                if inlay is not None and insert is not None and not rule.shared:
                    of_insert = _Demand(
                        f"{name}, insert", _one(insert_opening(insert.region, rule.pair.insert), name, rule.pair.insert)
                    )
                    of_insert.uses += _insert_uses(rule, places, homes, Pose())
                    yield of_insert


def _insert_uses(
    rule: TemplateRule, places: Sequence[tuple[Place, str]], homes: dict[str, int], to_artwork: Pose
) -> list[_Use]:
    """Where an opening is used for inserts. `to_artwork`: from its frame to the artwork's."""
    return [
        _Use(homes[place.offcut], line_id, rule.pair.insert, to_artwork.then(place.pose)) for place, line_id in places
    ]


def _places(
    on_offcuts: OnOffcuts, ids: Sequence[str], inlay: Inlay | None, insert: Insert | None
) -> list[tuple[Place, str]]:
    """Where an insert and its spares are cut, with the ids of their lines."""
    if inlay is None or insert is None:
        return []
    its = (inlay.name, insert.number)
    pairs = zip(on_offcuts.places, ids, strict=True)
    return [(place, line) for place, line in pairs if (place.part.inlay, place.part.number) == its]


def _insert_in(part: Polygon, inlay: Inlay, set_up: SetUp) -> Insert:
    """The insert of a connected recess: with templates each has one."""
    pose = inlay.pose.then(frame_of(set_up.face))
    return max(inlay.fit.inserts, key=lambda one: float(shapely.intersection(pose.region(one.region), part).area))


def _name(line: CutLine, inlay: Inlay | None, insert: Insert | None, layout: Layout) -> str:
    if insert is not None and inlay is not None:
        return insert.name or inlay.name
    return next((one.name for one in layout.fittings if one.id == line.id), line.id)


def _one(opening: shapely.Polygon | shapely.MultiPolygon, name: str, guide: Guide) -> Polygon:
    """An opening in one part without an island, or it could not be followed."""
    parts = list(polygons(opening))
    if len(parts) == 1 and not parts[0].interiors:
        return parts[0]
    what = f"the template for {name} would fall apart: {guide.bush} does not pass everywhere"
    raise FitError(what, name, "make it wider there, or use a thinner cutter in a narrower bush")


def _merged(demands: Sequence[_Demand]) -> list[_Demand]:
    """Openings that are alike become one, each use with the pose that lays the one on the other before its own."""
    kept: list[_Demand] = []
    for demand in demands:
        for one in kept:
            pose = laid_on(one.opening, demand.opening)
            if pose is not None:
                one.uses += [replace(use, pose=pose.then(use.pose)) for use in demand.uses]
                one.more += 1
                break
        else:
            kept.append(demand)
    return kept


# --- templates


def _template(
    job: Job, rule: TemplateRule, number: int, demand: _Demand, bare: Sequence[SetUp]
) -> tuple[Template, list[tuple[int, Guiding]]]:
    """The template of a demand in its own frame, and each of its uses with the number of the set-up."""
    left, low, right, high = demand.opening.bounds
    middle = Pose(0.0, (left + right) / 2.0, (low + high) / 2.0)
    opening = middle.inverse().region(demand.opening)
    below = {use: _below(rule, middle.then(use.pose), bare[use.set_up - 1], bare) for use in demand.uses}
    on_offcuts = [one for use, one in below.items() if bare[use.set_up - 1].stock != "board"]
    pins = pin_places(opening, rule.pin, on_offcuts or [*below.values()])
    half_x, half_y = (right - left) / 2.0 + rule.border, (high - low) / 2.0 + rule.border
    template = Template(
        number,
        demand.words,
        f"{job.slug}-template-{number}",
        shapely.box(-half_x, -half_y, half_x, half_y),
        opening,
        pins,
        rule.pin,
        rule.thickness,
    )
    guides = [
        (
            use.set_up,
            Guiding(use.line, number, use.guide, place.pose, _pinned(rule, template, bare[use.set_up - 1], place)),
        )
        for use, place in below.items()
    ]
    return template, guides


def _pinned(rule: TemplateRule, template: Template, set_up: SetUp, below: Below) -> bool:
    """True if the template is held by pins there: nobody looks at the holes, or the job allows for them."""
    allowed = set_up.stock != "board" or set_up.face == "underside" or rule.pins_in_show_face
    return allowed and pins_have_wood(template.pins, template.pin, below)


def _below(rule: TemplateRule, pose: Pose, set_up: SetUp, bare: Sequence[SetUp]) -> Below:
    """The stock, and what of it no pin may come into: recesses of either face; parts with the grooves round them."""
    reach = _BRIDGE + (0.0 if set_up.stock == "board" else rule.pair.insert.cutter.width)
    kept = [line.region for line in set_up.lines]
    if set_up.stock == "board":
        frame = frame_of(set_up.face)
        across = [one for one in bare if one.stock == "board" and one.face != set_up.face]
        kept += [frame.region(frame_of(one.face).inverse().region(x.region)) for one in across for x in one.lines]
    return Below(pose, set_up.outline, shapely.union_all([region.buffer(reach) for region in kept]))


# --- set-ups


def _set_up(job: Job, rule: TemplateRule, bare: SetUp, guides: Sequence[Guiding]) -> SetUp:
    guide = rule.pair.recess if bare.stock == "board" else rule.pair.insert
    steps = tuple(step for line in bare.lines for step in _steps(job, guide, line, bare))
    return replace(bare, steps=steps, guides=tuple(guides), holding=_holding(job, bare, guides))


def _steps(job: Job, guide: Guide, line: CutLine, bare: SetUp) -> Iterator[HandStep]:
    """Passes of equal depth, no deeper each than the rule says; parts are cut through into the sacrificial board."""
    depth = line.depth + (job.cutting.through if line.kind == "part" else 0.0)
    count = max(1, math.ceil(depth / (job.cutting.depth_per_pass * guide.cutter.width) - SAME_SHARE))
    minutes = _minutes(guide, line)
    for number in range(1, count + 1):
        kind = "last" if number == count else "roughing"
        yield HandStep(line.id, guide.cutter, kind, depth * number / count, 0.0, minutes)  # type: ignore[arg-type]


def _minutes(guide: Guide, line: CutLine) -> float:
    """About how long one pass takes: once round, and in a recess back and forth over its middle."""
    length = float(line.region.length)
    if line.kind == "recess":
        length += float(shrink(line.region, guide.cutter.radius).area) / (0.5 * guide.cutter.width)
    return length / HAND_FEED


def _holding(job: Job, bare: SetUp, guides: Sequence[Guiding]) -> str:
    pinned = sum(guide.pinned for guide in guides)
    held = "Each template on its two pins and taped" if pinned == len(guides) else "Each template taped down firmly"
    if 0 < pinned < len(guides):
        held = "Templates on their two pins where the table says so, all taped down"
    if bare.stock != "board":
        through = figure(job.cutting.through, job.unit, "depth")
        return (
            f"Double-sided tape under the whole offcut, on a sacrificial board: the cutter goes {through} into it. "
            f"{held}; strips as thick as the offcut beside it, so that the template lies flat"
        )
    up = "Show face up" if bare.face == "show" else "Underside up, the board turned over about edge A"
    return f"{up}, clamped flat. {held}, its middle lines on lines pencilled from A and B as the table says"


def _findings(rule: TemplateRule, set_ups: Sequence[SetUp], guides: Sequence[tuple[int, Guiding]]) -> Iterator[Finding]:
    for set_up in set_ups:
        yield from hand_findings(set_up, rule.thickness)
    stocks = {one.number: one for one in set_ups}
    loose = sorted({guide.template for number, guide in guides if stocks[number].stock != "board" and not guide.pinned})
    if loose:
        numbers = ", ".join(str(number) for number in loose)
        what = f"there is no room on the offcut for the pins of template {numbers}: it is held by tape alone"
        yield finding("look", what, "templates", "take a larger offcut, or be sure that the template cannot move")
    if not rule.shared:
        what = "recess and insert have templates of their own: what a saw adds to either goes into the seam"
        mend = "have the templates cut by a machine, or leave out the seam in [fit] and use a bush pair"
        yield finding("look", what, "templates", mend)
