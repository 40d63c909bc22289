"""The assembly card: what lies on the machine, which cutter, where the zero is, where each part goes afterwards.

`docs/assembly-card.md` is its description. It holds no outline of anything that is cut.
"""

import json
import math
from collections.abc import Iterable
from typing import Any

import shapely
from shapely import Point, Polygon, box

from purfle.geometry.measuring import furthest_place
from purfle.geometry.pose import SHOW, UNDERSIDE, Pose
from purfle.model.board import Fitting, Hole, Inlay, Layout
from purfle.model.cutting import CutLine, CuttingPlan, HandStep, Pass, Program, SetUp
from purfle.model.findings import Face
from purfle.model.job import Job
from purfle.model.offcuts import OnOffcuts, Place, Sawing, Tab
from purfle.model.pieces import Region
from purfle.model.shop import Cutter, Machine, Shop, VCutter
from purfle.model.tapered import TaperedRule
from purfle.model.templates import Guiding, Template
from purfle.tolerances import GRID, SIDE_AS_CUT

CARD_FILE = "assembly.json"
VERSION = 8
DECIMALS = 6
"""Every number is rounded to a millionth of a mm or degree, so that the same job gives the same bytes anywhere."""
_FILM_FROM = 1.5
"""A film runs on no further than from a corner of this reach, mm, which a cutter 3 mm wide leaves of a right angle."""
Card = dict[str, Any]


def card_bytes(job: Job, shop: Shop, layout: Layout, on_offcuts: OnOffcuts, plan: CuttingPlan) -> bytes:
    """The card as it is written: JSON, keys sorted, numbers rounded, the same bytes for the same job."""
    return json_bytes(assembly_card(job, shop, layout, on_offcuts, plan))


def json_bytes(card: Card) -> bytes:
    """JSON with sorted keys and numbers rounded to `DECIMALS`; refuses what is no number."""
    return (json.dumps(_rounded(card), indent=1, sort_keys=True, ensure_ascii=False, allow_nan=False) + "\n").encode()


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, DECIMALS) + 0.0
    if isinstance(value, dict):
        return {key: _rounded(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(one) for one in value]
    return value


def assembly_card(job: Job, shop: Shop, layout: Layout, on_offcuts: OnOffcuts, plan: CuttingPlan) -> Card:
    """Everything that the files for the machine do not say themselves, as described in `docs/assembly-card.md`."""
    board = layout.board
    used = {cutter.number: cutter for set_up in plan.set_ups for cutter in set_up.cutters}
    return {
        "version": VERSION,
        "job": job.name,
        "change": job.change,
        "way": job.cutting.way,
        "board": {
            "wood": board.wood,
            "length": board.length,
            "width": board.width,
            "thickness": board.thickness,
        },
        "least_left": job.least_left,
        "cutters": [_cutter(used[number]) for number in sorted(used)],
        "machine": _machine(shop.machine) if shop.machine.is_there else None,
        "templates": [_template(one) for one in plan.templates],
        "set_ups": [_set_up(job, set_up) for set_up in plan.set_ups],
        "inlays": [_inlay(inlay, on_offcuts.places, plan) for inlay in layout.inlays],
        "fittings": [_fitting(fitting, plan) for fitting in layout.fittings],
        "holes": [_hole(hole) for hole in layout.holes],
    }


def svg_file(job: Job, set_up: SetUp) -> str:
    """Name of the SVG outline file of a set-up."""
    return f"{job.slug}-{set_up.slug}.svg"


def dxf_file(job: Job, set_up: SetUp) -> str:
    """Name of the DXF outline file of a set-up."""
    return f"{job.slug}-{set_up.slug}.dxf"


def _cutter(cutter: Cutter) -> Card:
    v = (
        {"half_angle": float(cutter.half_angle), "tip_radius": float(cutter.tip_radius)}
        if isinstance(cutter, VCutter)
        else None
    )
    return {
        "number": cutter.number,
        "name": cutter.name,
        "diameter": float(cutter.width),
        "cutting_length": float(cutter.cutting_length),
        "max_speed": float(cutter.max_speed),
        "v": v,
    }


def _machine(machine: Machine) -> Card:
    return {
        "travel": [float(way) for way in machine.travel],
        "safe_height": float(machine.safe_height),
        "speed": float(machine.speed),
        "max_feed": float(machine.max_feed),
    }


def _set_up(job: Job, set_up: SetUp) -> Card:
    on_board = set_up.stock == "board"
    return {
        "number": set_up.number,
        "title": set_up.title,
        "stock": set_up.stock,
        "face": set_up.face,
        "outline": [[float(x), float(y)] for x, y in list(set_up.outline.exterior.coords)[:-1]],
        "thickness": float(set_up.thickness),
        "cut_through": 0.0 if on_board or set_up.sawing else float(job.cutting.through),
        "skin": min((one.skin(set_up.thickness) for one in _freeing(set_up)), default=0.0),
        "sawing": _sawing(set_up.sawing),
        "programs": [_program(program) for program in set_up.programs],
        "svg": svg_file(job, set_up),
        "dxf": dxf_file(job, set_up),
        "lines": [_line(line) for line in set_up.lines],
        "passes": [_pass(program, one) for program in set_up.programs for one in program.passes],
        "steps": [_step(one) for one in set_up.steps],
        "guides": [_guiding(one) for one in set_up.guides],
    }


def _template(template: Template) -> Card:
    return {
        "number": template.number,
        "name": template.name,
        "thickness": float(template.thickness),
        "pin": float(template.pin),
        "svg": f"{template.file}.svg",
        "dxf": f"{template.file}.dxf",
    }


def _step(step: HandStep) -> Card:
    return {
        "line": step.line,
        "cutter": step.cutter.number,
        "kind": step.kind,
        "depth": float(step.depth),
        "off_line": float(step.off_line),
        "minutes": float(step.minutes),
    }


def _guiding(one: Guiding) -> Card:
    return {
        "line": one.line,
        "template": one.template,
        "bush": {"name": one.guide.bush, "outside": float(one.guide.outside), "cutter": one.guide.cutter.number},
        "to_set_up": _pose(one.pose),
        "pinned": one.pinned,
    }


def _line(line: CutLine) -> Card:
    return {
        "id": line.id,
        "kind": line.kind,
        "depth": float(line.depth),
        "tapered": line.tapered,
        "tabs": [_tab(tab) for tab in line.tabs],
    }


def _tab(tab: Tab) -> Card:
    x, y = tab.place
    sizes = {"width": float(tab.width), "length": float(tab.length), "height": float(tab.height)}
    return {"x": float(x), "y": float(y), "outwards": float(tab.outwards), **sizes}


def _sawing(sawing: Sawing | None) -> Card | None:
    """How parts are sawn off a block; nothing where they are not."""
    if sawing is None:
        return None
    return {
        "thickness": float(sawing.thickness),
        "planing": float(sawing.planing),
        "groove": float(sawing.groove),
        "levels": [float(level) for level in sawing.levels],
    }


def _freeing(set_up: SetUp) -> list[Program]:
    """The programs that cut parts free."""
    return [one for one in set_up.programs if set_up.stock != "board" and one.first_through(set_up.thickness)]


def _program(program: Program) -> Card:
    return {
        "file": program.file,
        "tapered": program.tapered,
        "cutter": program.cutter.number,
        "depths": sorted({round(float(one.depth), DECIMALS) for one in program.passes}),
        "minutes": float(program.minutes),
    }


def _pass(program: Program, one: Pass) -> Card:
    return {
        "program": program.file,
        "number": one.number,
        "kind": one.kind,
        "what": one.what,
        "depth": float(one.depth),
        "off_line": float(one.off_line),
        "way_round": one.way_round,
        "minutes": float(one.minutes),
    }


def _inlay(inlay: Inlay, places: Iterable[Place], plan: CuttingPlan) -> Card:
    set_up, lines = _recess_lines(inlay, plan)
    return {
        "name": inlay.name,
        "face": inlay.face,
        "order": inlay.order,
        "into": inlay.into,
        "depth": float(inlay.depth),
        "glue_room": float(inlay.glue_room),
        "proud": float(inlay.proud),
        "seam": float(inlay.fit.rule.seam),
        "walls": _walls(inlay.fit.walls),
        "recess": {"set_up": set_up.number, "lines": lines},
        "chisel": [_corner(one, line, inlay) for line in set_up.lines if line.id in lines for one in line.remnants],
        "parts": [_part(place, inlay, plan) for place in places if place.part.inlay == inlay.name],
    }


def _walls(walls: TaperedRule | None) -> Card | None:
    """What tapered walls are stated by; straight ones by nothing."""
    if walls is None:
        return None
    return {
        "half_angle": float(walls.half_angle),
        "tip_radius": float(walls.tip_radius),
        "sink": float(walls.sink),
        "glue_room": float(walls.glue_room),
        "saw_room": float(walls.saw_room),
    }


def _corner(corner: Polygon, line: CutLine, inlay: Inlay) -> Card:
    """A corner that is pared to the insert by hand: its point, and how far about it the cutter leaves wood standing."""
    frame = SHOW if inlay.face == "show" else UNDERSIDE
    point = furthest_place(corner, line.region)
    reach = reach_of_corner(shapely.Point(point), corner)
    x, y = frame.inverse().point(*point)
    return {"x": float(x), "y": float(y), "reach": reach}


def reach_of_corner(point: Point, corner: Polygon) -> float:
    """How far about its point a corner stands, in mm, without films that run on from it along a wall.

    Beside a circle of radius r a corner is thinner than w over the last root of 2 r w: so much, with r four times
    the reach of what is thicker, may be added to that.
    """
    whole = float(shapely.hausdorff_distance(point, corner))
    thick = shapely.get_parts(corner.buffer(-SIDE_AS_CUT / 2.0))
    if not len(thick):
        return whole
    core = float(shapely.hausdorff_distance(point, thick[int(shapely.distance(thick, point).argmin())]))
    return min(whole, core + math.sqrt(8.0 * min(core, _FILM_FROM) * SIDE_AS_CUT))


def _part(place: Place, inlay: Inlay, plan: CuttingPlan) -> Card:
    set_up = next((one for one in plan.set_ups if one.stock == place.offcut), None)
    if set_up is None:
        raise ValueError(f"no set-up cuts the offcut {place.offcut}")
    return {
        "number": place.part.number,
        "name": place.part.name,
        "wood": place.part.wood,
        "set_up": set_up.number,
        "line": _line_of(place.insert, "part", set_up, place.part.hangs is not None).id,
        "plate": _line_of(place.region, "part", set_up).id if place.part.hangs is not None else "",
        "spare": place.spare,
        "to_board": _pose(place.to_artwork.then(inlay.pose)),
    }


def _pose(pose: Pose) -> Card:
    angle = pose.angle % 360.0
    return {"angle": float(angle), "x": float(pose.x), "y": float(pose.y), "mirrored": pose.mirrored}


def _fitting(fitting: Fitting, plan: CuttingPlan) -> Card:
    set_up, frame = _face_set_up(fitting.face, plan)
    line = _line_of(frame.region(fitting.wanted), "recess", set_up)
    return {
        "number": fitting.number,
        "name": fitting.name,
        "kind": fitting.kind,
        "face": fitting.face,
        "depth": float(fitting.depth),
        "set_up": set_up.number,
        "line": line.id,
        "centre": [float(way) for way in fitting.centre],
        "size": [float(way) for way in fitting.size],
        "round": fitting.is_round,
        "open_edge": fitting.open_edge,
        "remnants": len(line.remnants),
    }


def _hole(hole: Hole) -> Card:
    return {
        "number": hole.number,
        "name": hole.name,
        "face": hole.face,
        "centre": [float(way) for way in hole.centre],
        "diameter": float(max(hole.drill, hole.body)),
        "depth": float(hole.depth),
        "through": hole.is_through,
        "fitting": hole.fitting,
    }


def _face_set_up(face: Face, plan: CuttingPlan, order: int = 1) -> tuple[SetUp, Pose]:
    """The set-up of a face of the board and an order of letting in, and the pose from the board frame to its frame."""
    for set_up in plan.set_ups:
        if set_up.stock == "board" and set_up.face == face and set_up.order == order:
            return set_up, SHOW if face == "show" else UNDERSIDE
    raise ValueError(f"no set-up cuts the {face} face of the board")


def _recess_lines(inlay: Inlay, plan: CuttingPlan) -> tuple[SetUp, list[str]]:
    """The set-up and lines of an inlay's recess. Those of one order never touch: whatever lies in it is its own."""
    set_up, frame = _face_set_up(inlay.face, plan, inlay.order)
    recess = frame.region(inlay.recess)
    lines = [
        line.id
        for line in set_up.lines
        if line.kind == "recess" and _shared(line.region, recess) > line.region.area / 2
    ]
    if not lines:
        raise ValueError(f"no line cuts the recess of {inlay.name}")
    return set_up, lines


def _line_of(region: Region, kind: str, set_up: SetUp, tapered: bool = False) -> CutLine:
    """The one line of a set-up that cuts this region."""
    lines = [line for line in set_up.lines if line.kind == kind and line.tapered == tapered]
    shared = [(_shared(line.region, region), line) for line in lines]
    area, line = max(shared, key=lambda one: one[0], default=(0.0, None))
    if line is None or area < region.area / 2:
        raise ValueError(f"no line of set-up {set_up.number} cuts the {kind} wanted")
    return line


def _shared(one: Region, other: Region) -> float:
    """The area that two regions share; most are the same region, or far apart, which takes no overlay to see."""
    if one.equals_exact(other, GRID):
        return float(one.area)
    return float(one.intersection(other).area) if box(*one.bounds).intersects(box(*other.bounds)) else 0.0
