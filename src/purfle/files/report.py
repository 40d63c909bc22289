"""`report.json`: every figure of the plan and of the proof, for other programs. Described by `docs/report.schema.json`.

Units stand in the names of the keys (`_mm`, `_mm2`, `_min`, `_m`, `_deg`, `_rpm`, `_mm_per_min`). No clock time stands
in it: the same job gives the same bytes.
"""

import hashlib
import json
import math
from collections.abc import Mapping
from typing import Any, get_args

import shapely

import purfle
from purfle.files import report_by_hand as by_hand
from purfle.files.assembly import json_bytes
from purfle.files.report_carrying import carrying_entry
from purfle.files.report_reckoning import finish_entry, reckoning_entry
from purfle.files.report_seasons import seasons_entry
from purfle.files.report_thin import key_entry, thin_entry
from purfle.geometry.arcs import ArcSegment
from purfle.geometry.pose import Pose
from purfle.model.board import Board, Fitting, Hole, Inlay, Layout
from purfle.model.cutting import Move, Pass, Program, SetUp, Straight, Trip
from purfle.model.findings import Finding
from purfle.model.job import Artwork, Job, JobResult, PictureRule
from purfle.model.offcuts import OnOffcuts, Sawing, Wanted
from purfle.model.pieces import Fit, Lost, OrderChoice
from purfle.model.proof import ProgramReadBack, Proof, SeamReadBack
from purfle.model.shop import Offcut, VCutter
from purfle.model.tapered import TaperedRule
from purfle.shop import cutter_named
from purfle.tolerances import AXIS_FLAT, LAST_PASS_FIT, ROUGHING_FLAT
from purfle.units import LengthUnit

REPORT_FILE = "report.json"
VERSION = 1
NOT_LISTED = frozenset({REPORT_FILE, "timings.json"})

Entry = dict[str, Any]
Place = tuple[float, float]


def report_bytes(result: JobResult, files: Mapping[str, bytes]) -> bytes:
    """The report as it is written: JSON, keys sorted, numbers rounded to a millionth."""
    return json_bytes(_told(report(result, files)))


def unit_of(files: Mapping[str, bytes]) -> LengthUnit:
    """The unit that the maker of a folder measures in, as its report says; mm where none says it."""
    try:
        said = json.loads(files[REPORT_FILE])["inputs"]["unit"]
    except (KeyError, TypeError, ValueError, RecursionError):
        return "mm"
    return next((unit for unit in get_args(LengthUnit) if unit == said), "mm")


def _told(value: Any) -> Any:
    """The report with nothing in place of figures that could not be found (infinite, not a number)."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {key: _told(one) for key, one in value.items()}
    return [_told(one) for one in value] if isinstance(value, list) else value


def report(result: JobResult, files: Mapping[str, bytes]) -> Entry:
    """Every figure of a job. `files` are all files made so far; the report and the timings are not listed in it."""
    proof = result.proof
    findings = (*result.findings, *(proof.findings if proof else ()))
    return {
        "version": VERSION,
        "purfle": purfle.__version__,
        "job": result.job.name,
        "change": result.job.change,
        "proven": bool(proof and proof.proven and not any(one.severity == "stop" for one in findings)),
        "inputs": _inputs(result),
        "artwork": _artwork(result),
        "inlays": [_inlay(inlay) | {"chance": _chance(result, inlay)} for inlay in result.layout.inlays],
        "fittings": [_fitting(fitting) for fitting in result.layout.fittings],
        "holes": [_hole(hole) for hole in result.layout.holes],
        "board": _board(result.layout),
        "offcuts": _offcuts(result.on_offcuts),
        "cutting": _cutting(result),
        "keys": [key_entry(one) for one in result.keys],
        "seasons": seasons_entry(result.seasons),
        "carrying": carrying_entry(result.carrying),
        "reckoning": reckoning_entry(result.reckoning),
        "fit_trial": _trial(result),
        "proof": _proof(proof) if proof else None,
        "findings": [_finding(one) for one in findings],
        "files": [_file(name, files[name]) for name in sorted(files) if name not in NOT_LISTED],
    }


def _trial(result: JobResult) -> Entry | None:
    """What a fit trial is read back by: the cutter, what it was drawn for, every plug; None for any other job."""
    trial = result.job.trial
    if trial is None:
        return None
    cutter = cutter_named(result.shop, result.job.fit.cutter)
    plugs = [
        {
            "number": number,
            "seam_mm": float(seam),
            "plug_mm": float(trial.size - seam),
            "recess_mm": float(trial.size + seam),
        }
        for number, seam in enumerate(trial.seams, 1)
    ]
    return {"cutter": cutter.name, "drawn_for_mm": float(cutter.width), "plugs": plugs}


def _inputs(result: JobResult) -> Entry:
    job = result.job
    board = job.board
    return {
        "unit": job.unit,
        "paper": job.paper,
        "board": {
            "wood": board.wood,
            "length_mm": float(board.length),
            "width_mm": float(board.width),
            "thickness_mm": float(board.thickness),
            "grain_deg": float(board.grain),
            **_outline(board),
        },
        **_artworks(job),
        "fit": {
            "seam_mm": float(job.fit.seam),
            "cutter": job.fit.cutter,
            "proud_mm": float(job.fit.proud),
            "glue_room_mm": float(job.fit.glue_room),
        },
        "cutting": {
            "allowance_mm": float(job.cutting.allowance),
            "step_over_of_diameter": float(job.cutting.step_over),
            "depth_per_pass_of_diameter": float(job.cutting.depth_per_pass),
            "ramp_deg": float(job.cutting.ramp_angle),
            "through_mm": float(job.cutting.through),
            "skin_mm": float(job.cutting.skin),
            "holding": job.cutting.holding,
            "last_pass": job.cutting.last_pass,
            "spring_passes": job.cutting.spring_passes,
            "copies": job.cutting.copies,
            "unit": job.cutting.unit,
            "clearing": job.cutting.clearing or None,
            "way": job.cutting.way,
        },
        "finish": finish_entry(job),
        "templates": by_hand.wish_entry(job.templates) if job.templates else None,
        "margin_mm": float(job.margin),
        "between_mm": float(job.between),
        "least_left_mm": float(job.least_left),
    }


def _artworks(job: Job) -> Entry:
    """What was asked for: the one picture, or all artworks in their order."""
    if job.picture is not None:
        return {"picture": {**_named(job.picture), **_asked(job.picture)}}
    return {"picture": None, "artworks": [{**_named(rule), **_asked(rule)} for rule in job.artworks]}


def _named(rule: Artwork) -> Entry:
    """What an artwork is called. A file by its name alone: where it lies is the maker's own affair."""
    if isinstance(rule, PictureRule):
        return {"file": rule.file.name, "height_mm": float(rule.height) or None}
    form = type(rule.form).__name__.lower()
    return {"kind": rule.kind, "form": form, "name": rule.name, "woods": list(rule.woods)}


def _asked(rule: Artwork) -> Entry:
    return {
        "depth_mm": float(rule.depth),
        "face": rule.face,
        "turned_deg": float(rule.angle),
        "mirrored": rule.mirrored,
    }


def _artwork(result: JobResult) -> Entry:
    areas, scale = result.areas, float(result.mm_per_unit)
    return {
        "areas": len(areas.areas),
        "ground_areas": len(areas.ground),
        "mm_per_unit": scale,
        "unit": areas.unit,
        "width_mm": areas.width * scale,
        "height_mm": areas.height * scale,
        "boundary_error_mm": areas.unit_error * scale,
    }


def _inlay(inlay: Inlay) -> Entry:
    return {
        "name": inlay.name,
        "kind": inlay.kind,
        "face": inlay.face,
        "order": inlay.order,
        "into": inlay.into,
        "depth_mm": float(inlay.depth),
        "proud_mm": float(inlay.proud),
        "glue_room_mm": float(inlay.glue_room),
        "insert_thickness_mm": float(inlay.insert_thickness),
        "tapered": _walls(inlay.fit.walls),
        "place": _pose(inlay.pose),
        "recess_area_mm2": float(inlay.fit.recess.area),
        "fit": _fit(inlay.fit),
        "inserts": [
            {
                "number": insert.number,
                "name": insert.name,
                "wood": insert.wood,
                "hosts": list(insert.hosts),
                "area_mm2": float(insert.region.area),
                "width_mm": insert.region.bounds[2] - insert.region.bounds[0],
                "height_mm": insert.region.bounds[3] - insert.region.bounds[1],
            }
            for insert in inlay.fit.inserts
        ],
    }


def _chance(result: JobResult, inlay: Inlay) -> Entry | None:
    """What the tolerance stack says of an inlay; None for tapered walls and fit trials."""
    for chance in result.chances:
        if chance.inlay == inlay.name:
            return {
                "by_hand_share": float(chance.by_hand),
                "widest_in_95_of_100_mm": float(chance.widest),
                "goes_in_mm": float(chance.goes_in),
                "causes": [
                    {"name": one.name, "spread_mm": float(one.spread), "source": one.source, "assumed": one.is_assumed}
                    for one in chance.causes
                ],
            }
    return None


def _fit(fit: Fit) -> Entry:
    pieces, seam = fit.pieces, fit.seam
    return {
        "cutter_radius_mm": float(fit.rule.cutter_radius),
        "seam_drawn_mm": float(fit.rule.seam),
        "closing_residual_geos_mm": float(pieces.closing_residual_geos),
        "closing_residual_clipper_mm": float(pieces.closing_residual_clipper),
        "art_changed_share": float(pieces.art_changed),
        "pieces": len(pieces.pieces),
        "junctions": len(pieces.junctions),
        "seam": {
            "narrowest_mm": float(seam.narrowest),
            "narrowest_at_mm": _place(seam.narrowest_at),
            "widest_mm": float(seam.widest),
            "widest_at_mm": _place(seam.widest_at),
            "share_within": float(seam.share_within),
            "length_mm": float(seam.length),
        },
        "lost": [_lost(one) for one in pieces.lost],
        "choices": [_choice(one) for one in fit.choices],
    }


def _choice(choice: OrderChoice) -> Entry:
    return {
        "name": choice.name,
        "way": choice.way,
        "by": choice.by,
        "why": choice.why,
        "at_mm": _place(choice.place),
    }


def _lost(lost: Lost) -> Entry:
    middle = lost.region.representative_point()
    return {
        "name": lost.name,
        "wood": lost.wood,
        "area_mm2": float(lost.region.area),
        "at_mm": [float(middle.x), float(middle.y)] if not lost.region.is_empty else None,
        "why": lost.why,
        "instead": lost.instead,
    }


def _fitting(fitting: Fitting) -> Entry:
    return {
        "number": fitting.number,
        "name": fitting.name,
        "kind": fitting.kind,
        "face": fitting.face,
        "centre_mm": _place(fitting.centre),
        "size_mm": _place(fitting.size),
        "depth_mm": float(fitting.depth),
        "open_edge": fitting.open_edge,
        "knuckle_mm": float(fitting.knuckle),
    }


def _hole(hole: Hole) -> Entry:
    return {
        "number": hole.number,
        "name": hole.name,
        "kind": hole.kind,
        "fitting": hole.fitting,
        "face": hole.face,
        "centre_mm": _place(hole.centre),
        "drill_mm": float(hole.drill),
        "body_mm": float(hole.body),
        "depth_mm": float(hole.depth),
        "floor_mm": float(hole.floor),
        "through": hole.is_through,
        "left_mm": None if hole.is_through else float(hole.left),
    }


def _walls(walls: TaperedRule | None) -> Entry | None:
    """Tapered walls by what they are stated by; None for straight ones."""
    if walls is None:
        return None
    return {
        "half_angle_deg": float(walls.half_angle),
        "tip_radius_mm": float(walls.tip_radius),
        "sink_mm": float(walls.sink),
        "glue_room_mm": float(walls.glue_room),
        "saw_room_mm": float(walls.saw_room),
    }


def _outline(board: Board) -> Entry:
    """The outline of a board whose edges are not all straight, from B and from A, and where it comes from."""
    if board.shape is None:
        return {}
    places = shapely.get_coordinates(board.shape.exterior)[:-1]
    return {"outline_mm": places.tolist(), "outline_from": "photograph" if board.edges_seen else "job"}


def _board(layout: Layout) -> Entry:
    return {
        "wood_left": [
            {"name": one.name, "left_mm": float(one.left), "at_mm": _place(one.place), "against": one.against}
            for one in layout.wood_left
        ],
        "nearest": [{"one": one, "other": other, "mm": float(mm)} for one, other, mm in layout.nearest],
        "marks": [
            {
                "number": mark.number,
                "name": mark.name,
                "face": mark.face,
                "kind": mark.kind,
                "from_b_mm": _maybe(mark.from_b),
                "from_a_mm": _maybe(mark.from_a),
            }
            for mark in layout.marks
        ],
        "thickness_left": [
            {
                "left_mm": float(one.left),
                "area_mm2": float(one.region.area),
                "at_mm": _place(one.place),
                "cut_by": list(one.cut_by),
            }
            for one in layout.thickness
        ],
    }


def _offcuts(on_offcuts: OnOffcuts) -> Entry:
    return {
        "used": [_offcut(offcut, on_offcuts) for offcut in on_offcuts.used],
        "unplaced": [_wanted(part) for part in on_offcuts.unplaced],
        "short_grain": [
            {
                "inlay": one.inlay,
                "number": one.number,
                "name": one.name,
                "width_mm": float(one.width),
                "across_grain_deg": float(one.angle),
                "at_mm": _place(one.place),
            }
            for one in on_offcuts.short_grain
        ],
        "thin_parts": [thin_entry(one) for one in on_offcuts.thin],
        "to_buy": list(on_offcuts.to_buy),
    }


def _offcut(offcut: Offcut, on_offcuts: OnOffcuts) -> Entry:
    places = [place for place in on_offcuts.places if place.offcut == offcut.name]
    used = sum(place.part.region.area for place in places)
    return {
        "name": offcut.name,
        "wood": offcut.wood,
        "stands": offcut.stands,
        "thickness_mm": float(offcut.thickness),
        "area_mm2": float(offcut.outline.area),
        "used_share": used / offcut.outline.area,
        "parts": [
            _wanted(one.part) | {"spare": one.spare, "place": _pose(one.pose)} | _middle(one.region) for one in places
        ],
    }


def _middle(region: shapely.Polygon) -> Entry:
    """The middle of the box around a part, as [[laid]] says where it lies."""
    left, low, right, high = region.bounds
    return {"middle_mm": [(left + right) / 2.0, (low + high) / 2.0]}


def _wanted(part: Wanted) -> Entry:
    return {"inlay": part.inlay, "number": part.number, "name": part.name, "wood": part.wood}


def _cutting(result: JobResult) -> Entry:
    set_ups = result.cutting.set_ups
    entries = [_set_up(set_up) for set_up in set_ups]
    return {
        "cutting_min": float(sum(set_up.cutting_minutes for set_up in set_ups)),
        "set_up_min": float(sum(set_up.set_up_minutes for set_up in set_ups)),
        "metres": sum(program["metres"] for entry in entries for program in entry["programs"]),
        "set_ups": entries,
        "templates": [by_hand.template_entry(one) for one in result.cutting.templates],
    }


def _set_up(set_up: SetUp) -> Entry:
    return {
        "number": set_up.number,
        "title": set_up.title,
        "stock": set_up.stock,
        "face": set_up.face,
        "order": set_up.order,
        "lines": len(set_up.lines),
        "chisel_remnants": sum(len(line.remnants) for line in set_up.lines),
        "tabs": sum(len(line.tabs) for line in set_up.lines),
        "sawing": _sawing(set_up.sawing),
        "safe_height_mm": float(set_up.safe_height),
        "set_up_min": float(set_up.set_up_minutes),
        "programs": [_program(program) for program in set_up.programs],
        "steps": [by_hand.step_entry(one) for one in set_up.steps],
        "guides": [by_hand.guiding_entry(one) for one in set_up.guides],
    }


def _sawing(sawing: Sawing | None) -> Entry | None:
    """How parts are sawn off a block."""
    if sawing is None:
        return None
    return {
        "thickness_mm": float(sawing.thickness),
        "planing_mm": float(sawing.planing),
        "groove_mm": float(sawing.groove),
        "saw": sawing.saw or None,
        "levels_mm": [float(level) for level in sawing.levels],
    }


def _program(program: Program) -> Entry:
    figures = program.figures
    return {
        "file": program.file,
        "cutter": program.cutter.number,
        "cutter_name": program.cutter.name,
        "cutter_width_mm": float(program.cutter.width),
        "cutting_min": float(program.minutes),
        "metres": _metres(program),
        "speed_rpm": float(figures.speed),
        "feed_mm_per_min": float(figures.feed),
        "plunge_feed_mm_per_min": float(figures.plunge_feed),
        "chip_load_mm": float(figures.chip_load),
        "chip_load_source": figures.chip_source,
        "deflection_mm": float(figures.deflection),
        "force_n": float(figures.force),
        "power_w": float(figures.power),
        "rim_speed_m_per_s": float(figures.rim_speed),
        "passes": [_pass(one, program) for one in program.passes],
    }


def _pass(one: Pass, program: Program) -> Entry:
    fitted = ROUGHING_FLAT if one.kind == "roughing" else LAST_PASS_FIT
    return {
        "number": one.number,
        "kind": one.kind,
        "what": one.what,
        "depth_mm": float(one.depth),
        "off_line_mm": float(one.off_line),
        "way_round": one.way_round,
        "least_feed_mm_per_min": float(one.least_share * program.figures.feed),
        "fitted_within_mm": AXIS_FLAT if isinstance(program.cutter, VCutter) else fitted,
        "cutting_min": float(one.minutes),
        "trips": len(one.trips),
    }


def _metres(program: Program) -> float:
    """How far the cutter goes in its trips."""
    return sum(_trip_length(trip) for one in program.passes for trip in one.trips) / 1000


def _trip_length(trip: Trip) -> float:
    gone, here = 0.0, trip.start
    for move in trip.moves:
        gone += _length(move, here)
        here = (move.x, move.y, move.z)
    return gone


def _length(move: Move, here: tuple[float, float, float]) -> float:
    if isinstance(move, Straight):
        return math.dist(here, (move.x, move.y, move.z))
    flat = ArcSegment(here[:2], (move.x, move.y), (move.cx, move.cy), move.ccw).length
    return math.hypot(flat, move.z - here[2])


def _proof(proof: Proof) -> Entry:
    return {
        "proven": proof.proven,
        "least_wood_left_mm": _maybe(proof.least_wood_left),
        "seams": [_seam(seam) for seam in proof.seams],
        "programs": [_read_back(one) for one in proof.programs],
    }


def _seam(seam: SeamReadBack) -> Entry:
    return {
        "inlay": seam.inlay,
        "from": seam.kind,
        "drawn_mm": float(seam.drawn),
        "narrowest_mm": float(seam.narrowest),
        "narrowest_at_mm": _place(seam.narrowest_at),
        "widest_mm": float(seam.widest),
        "widest_at_mm": _place(seam.widest_at),
        "share_within": float(seam.share_within),
        "length_mm": float(seam.length),
        "interference_mm2": float(seam.interference_area),
        "wide_places": [{"at_mm": [float(x), float(y)], "width_mm": float(wide)} for x, y, wide in seam.wide_places],
    }


def _read_back(one: ProgramReadBack) -> Entry:
    return {
        "file": one.file,
        "cutter": one.cutter,
        "deepest_mm": float(one.deepest),
        "metres": float(one.metres),
        "moves": one.moves,
        "uncut_mm2": float(one.uncut_area),
        "gouged_mm2": float(one.gouged_area),
    }


def _finding(finding: Finding) -> Entry:
    return {
        "severity": finding.severity,
        "stage": finding.stage,
        "what": finding.what,
        "where": finding.where,
        "mend": finding.mend,
        "at_mm": _place(finding.place) if finding.place else None,
    }


def _file(name: str, data: bytes) -> Entry:
    return {"name": name, "bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}


def _place(place: Place) -> list[float] | None:
    """A place, nothing where there was none to tell."""
    x, y = float(place[0]), float(place[1])
    return [x, y] if math.isfinite(x) and math.isfinite(y) else None


def _pose(pose: Pose) -> Entry:
    return {
        "turned_deg": float(pose.angle % 360.0),
        "x_mm": float(pose.x),
        "y_mm": float(pose.y),
        "mirrored": pose.mirrored,
    }


def _maybe(number: float | None) -> float | None:
    return None if number is None else float(number)
