"""A whole job for tests, put together without the stages: the Tern lid on white oak, with plausible figures.

The artwork is our own drawing (`tests/data/tern.svg`). Inserts are its areas less half a seam; their places on the
offcuts come from a plain shelf packing; passes have few trips. Nothing here is proven: it only has the right shape.
"""

import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import shapely
from shapely import MultiPolygon, Point, Polygon, box
from shapely.ops import unary_union

from purfle.geometry.pose import UNDERSIDE, Pose
from purfle.model.artwork import Area, Areas
from purfle.model.board import Board, Fitting, Inlay, Layout, Mark, WoodLeft
from purfle.model.cutting import (
    CutLine,
    CuttingFigures,
    CuttingPlan,
    CuttingRule,
    Pass,
    Program,
    SetUp,
    Straight,
    Trip,
)
from purfle.model.findings import Face, Finding
from purfle.model.job import Distance, FittingRule, FitWish, Job, JobResult, KeyRule, LengthUnit, Paper, PictureRule
from purfle.model.offcuts import OnOffcuts, Place, ShortGrain, Wanted
from purfle.model.pieces import DrawnArea, Fit, FitRule, Insert, Piece, Pieces, Region, SeamFigures
from purfle.model.proof import ProgramReadBack, Proof, SeamReadBack
from purfle.model.shop import Cutter, Machine, Offcut, Shop

SEAM = 0.1
DRAWING = Path(__file__).parent / "data" / "tern.svg"
NAMES = {
    "body": "body and tail",
    "near-wing": "near wing",
    "far-wing": "far wing",
    "eye": "eye",
    "near-feathers": "near feathers",
    "far-feathers": "far feathers",
    "wave-1": "first wave",
    "wave-2": "second wave",
    "sea": "sea",
    "cap": "cap",
    "near-tip": "near wing tip",
    "far-tip": "far wing tip",
    "bill": "bill",
    "foot": "foot",
}
"""Ids of the drawing in the order of the piece numbers, with the names that the maker gave."""
CUTTERS = (
    Cutter(1, "1/8 in straight", 3.175, 2, 12.0, 16.0, 24000.0, path_width=3.18, note="fit trial of 9 November"),
    Cutter(2, "6 mm straight", 6.0, 2, 22.0, 26.0, 24000.0),
)
MACHINE = Machine("bench router", (600.0, 400.0, 90.0), 18000.0, 3000.0, 5000.0, 300.0, 6.0)
KNOT = Point(197.0, 68.0).buffer(8.0)
OFFCUTS = (
    Offcut("offcut 3", "sapele", Polygon([(0, 3), (214, 0), (210, 46), (6, 44)]), 4.0, 0.0, price=4.0),
    Offcut(
        "offcut 7",
        "holly",
        box(0, 0, 207, 100).buffer(-14).buffer(14),
        3.5,
        0.0,
        price=9.5,
    ),
    Offcut("offcut 9", "wenge", Polygon([(0, 0), (104, 3), (98, 52), (3, 48)]), 3.6, 0.0),
    Offcut(
        "offcut 12",
        "maple",
        Polygon([(2, 8), (90, 0), (234, 10), (238, 70), (212, 88), (0, 92)]),
        3.8,
        0.0,
        MultiPolygon([KNOT]),
        price=6.0,
    ),
    Offcut("offcut 15", "padauk", Polygon([(0, 46), (96, 46), (94, 0), (4, 1)]), 3.6, 0.0),
    Offcut("offcut 21", "sapele", box(0, 0, 120, 42), 12.0, 0.0),
)


@cache
def tern_result(unit: LengthUnit = "mm", paper: Paper = "a4") -> JobResult:
    """The Tern lid, as if every stage had run and the files had been read back."""
    job = _job(unit, paper)
    layout = _layout(job)
    on_offcuts = place_on_offcuts(layout, OFFCUTS)
    plan = _plan(job, layout, on_offcuts)
    shop = Shop(CUTTERS, MACHINE, OFFCUTS, currency="euro", hourly_rate=45.0)
    return JobResult(job, shop, _areas(), 1.0, layout, on_offcuts, plan, _proof(plan), _findings(layout))


def bare_result(length: float, width: float, paper: Paper = "a4", unit: LengthUnit = "mm") -> JobResult:
    """The smallest job: one round insert in a board of the size asked for; no fittings, no key, nothing spare."""
    disc = Point(0.0, 0.0).buffer(min(length, width) / 5)
    disc = shapely.transform(disc, lambda xy: xy - np.array(disc.bounds[:2]))
    board = Board("black walnut", length, width, 22.0)
    inlay = inlay_of("picture", [DrawnArea("moon", "maple", (232, 204, 152), disc)], board, "show")
    return of_parts(board, (inlay,), unit=unit, paper=paper)


def of_parts(
    board: Board,
    inlays: tuple[Inlay, ...],
    unit: LengthUnit = "mm",
    paper: Paper = "a4",
    fittings: tuple[Fitting, ...] = (),
) -> JobResult:
    """A job of these inlays and fittings, its parts on offcuts of just the size they need."""
    full = tern_result(unit, paper)
    layout = Layout(board, inlays, fittings, marks_of(inlays, fittings), wood_left(board, inlays, fittings), None, ())
    offcuts = tuple(
        Offcut(f"board {i + 1}", wood, box(0, 0, 300, 160), 6.0)
        for i, wood in enumerate(sorted({p.wood for inlay in inlays for p in inlay.fit.inserts}))
    )
    placed = place_on_offcuts(layout, offcuts)
    job = replace(full.job, name="Box lid", slug="box-lid", board=board, keys=(), fittings=())
    plan = _plan(job, layout, placed)
    shop = replace(full.shop, offcuts=offcuts)
    return replace(
        full, job=job, shop=shop, layout=layout, on_offcuts=placed, cutting=plan, proof=_proof(plan), findings=()
    )


def drawn_areas() -> list[DrawnArea]:
    """The closed areas of the Tern drawing, y up, its lower left corner at the origin, in piece order."""
    text = DRAWING.read_text(encoding="utf-8")
    found = {
        m[1]: (m[2], m[3], m[4]) for m in re.finditer(r'<path id="(.+?)" class="(.+?)" fill="#(.+?)" d="(.+?)"', text)
    }
    shapes = {key: flatten(found[key][2]) for key in NAMES}
    shapes["cap"] = shapes["cap"].difference(shapes["eye"])
    left, _, _, low = unary_union(list(shapes.values())).bounds
    place = lambda xy: np.column_stack([xy[:, 0] - left, low - xy[:, 1]])  # noqa: E731
    return [
        DrawnArea(NAMES[key], found[key][0], _colour(found[key][1]), shapely.transform(shape, place))
        for key, shape in shapes.items()
    ]


def flatten(d: str, steps: int = 24) -> Polygon:
    """The polygon of one closed path of our drawing (M, C, relative half circles, Z)."""
    points: list[tuple[float, float]] = []
    for command, body in re.findall(r"([MCaZ])([^MCaZ]*)", d):
        numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", body)]
        if command == "M":
            points.append((numbers[0], numbers[1]))
        for i in range(0, len(numbers), 6 if command == "C" else 7):
            if command == "C":
                points += _cubic(points[-1], numbers[i : i + 6], steps)
            if command == "a":
                points += _half_turn(points[-1], numbers[i + 5], steps)
    return Polygon(points).buffer(0)


def inlay_of(name: str, areas: list[DrawnArea], board: Board, face: Face, depth: float = 3.0) -> Inlay:
    """An inlay of these areas in the middle of the board."""
    fit = fit_of(areas)
    x0, y0, x1, y1 = fit.recess.bounds
    flip = 1.0 if face == "show" else -1.0
    pose = Pose(0.0, board.length / 2 - (x0 + x1) / 2, board.width / 2 - flip * (y0 + y1) / 2, face == "underside")
    return Inlay(name, face, fit, pose, depth, 0.5, 0.1)


def fit_of(areas: list[DrawnArea]) -> Fit:
    """The fit of areas that tile already: inserts half a seam smaller, the recess half a seam larger."""
    pieces = tuple(Piece(i + 1, a.name, a.wood, a.colour, a.region) for i, a in enumerate(areas))
    inserts = tuple(Insert(p.number, p.name, p.wood, p.colour, p.region.buffer(-SEAM / 2)) for p in pieces)
    whole = unary_union([p.region.buffer(1e-4) for p in pieces])
    domain = box(*whole.bounds).buffer(10.0, join_style="mitre")
    recess: Region = whole.buffer(SEAM / 2)
    tiled = Pieces(domain, domain.difference(whole), pieces, (), ((20.0, 30.0),), 0.003, 0.003, 0.01)
    seam = SeamFigures(SEAM, (10.0, 40.0), 0.118, (141.0, 60.0), 0.9995, 1480.0)
    return Fit(FitRule(1.59, SEAM), tiled, inserts, recess, seam)


def place_on_offcuts(layout: Layout, offcuts: tuple[Offcut, ...]) -> OnOffcuts:
    """Every part on the first offcut of its wood that is thick enough, row by row; what finds no room is unplaced."""
    wanted = [w for inlay in layout.inlays for w in _wanted(inlay)]
    places: list[Place] = []
    for offcut in offcuts:
        left = [w for w in wanted if w.wood == offcut.wood and w.thickness <= offcut.thickness]
        left = [w for w in left if not any(p.part is w for p in places)]
        places += _rows(offcut, left + [w for w in left if w.region.area < 120.0])
    unplaced = tuple(w for w in wanted if not any(p.part is w for p in places))
    used = tuple(o for o in offcuts if any(p.offcut == o.name for p in places))
    short = (ShortGrain("picture", 5, "near feathers", 5.1, 84.0, (100.0, 50.0)),)
    buy = tuple(f"{w.wood}, at least {math.ceil(max(w.region.bounds))} mm long" for w in unplaced)
    return OnOffcuts(used, tuple(places), unplaced, short if len(wanted) > 5 else (), buy)


def marks_of(inlays: tuple[Inlay, ...], fittings: tuple[Fitting, ...]) -> tuple[Mark, ...]:
    """Marks of each face: ends and edges of the first inlay, then the middle of every fitting."""
    marks: list[tuple[str, Face, str, float | None, float | None]] = []
    for inlay in inlays:
        x0, y0, x1, y1 = inlay.recess.bounds
        if inlay.kind == "key":
            marks.append((inlay.name, inlay.face, "point", (x0 + x1) / 2, (y0 + y1) / 2))
            continue
        marks += [
            ("left end of the picture", inlay.face, "line_x", x0, None),
            ("centre line", inlay.face, "line_x", (x0 + x1) / 2, None),
            ("right end of the picture", inlay.face, "line_x", x1, None),
            ("lower edge of the picture", inlay.face, "line_y", None, y0),
            ("upper edge of the picture", inlay.face, "line_y", None, y1),
        ]
    for f in fittings:
        x0, y0, x1, y1 = f.wanted.bounds
        if f.open_edge:
            marks += [
                (f"{f.name}, left end", f.face, "line_x", x0, None),
                (f"{f.name}, right end", f.face, "line_x", x1, None),
            ]
            marks += [(f"{f.name}, front side", f.face, "line_y", None, y0)]
        else:
            marks.append((f"middle of the {f.name}", f.face, "point", *f.centre))
    numbers = {"show": 0, "underside": 0}
    out = []
    for name, face, kind, x, y in marks:
        numbers[face] += 1
        out.append(Mark(numbers[face], name, face, kind, x, y))  # type: ignore[arg-type]
    return tuple(out)


def wood_left(board: Board, inlays: tuple[Inlay, ...], fittings: tuple[Fitting, ...]) -> tuple[WoodLeft, ...]:
    """What is left under each recess when nothing lies on the other face there."""
    of_inlays = [
        WoodLeft(i.name, board.thickness - i.depth, (i.recess.centroid.x, i.recess.centroid.y), "the other face")
        for i in inlays
    ]
    of_fittings = [WoodLeft(f.name, board.thickness - f.depth, f.centre, "the other face") for f in fittings]
    return tuple(of_inlays + of_fittings)


# --- the parts of the Tern lid


def _colour(hexes: str) -> tuple[int, int, int]:
    return int(hexes[0:2], 16), int(hexes[2:4], 16), int(hexes[4:6], 16)


def _cubic(p0: tuple[float, float], c: list[float], steps: int) -> list[tuple[float, float]]:
    t = np.linspace(0, 1, steps + 1)[1:, None]
    a, b, d, e = np.array(p0), np.array(c[0:2]), np.array(c[2:4]), np.array(c[4:6])
    curve = (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * d + t**3 * e
    return [(float(x), float(y)) for x, y in curve]


def _half_turn(p0: tuple[float, float], dx: float, steps: int) -> list[tuple[float, float]]:
    middle, radius, start = (p0[0] + dx / 2, p0[1]), abs(dx) / 2, 0.0 if dx < 0 else math.pi
    angles = [start - math.pi * i / steps for i in range(1, steps + 1)]
    return [(middle[0] + radius * math.cos(a), middle[1] + radius * math.sin(a)) for a in angles]


def _areas() -> Areas:
    drawn = drawn_areas()
    x1, y1 = (max(a.region.bounds[i] for a in drawn) for i in (2, 3))
    ground = box(0, 0, x1, y1).difference(unary_union([a.region for a in drawn]))
    parts = [Area(i, a.colour, a.region, a.name) for i, a in enumerate(drawn)]
    grounds = [Area(len(parts) + i, (240, 238, 230), g) for i, g in enumerate(shapely.get_parts(ground))]
    return Areas(x1, y1, "mm", tuple(parts + grounds), (), frozenset(g.number for g in grounds))


def _job(unit: LengthUnit, paper: Paper) -> Job:
    edge = lambda amount: Distance("edge", amount)  # noqa: E731
    picture = PictureRule(
        Path("tern.jpg"), 118.0, Distance("centre", 0.0), edge(74.0), True, 0.0, False, 3.0, "show", 5, None, (), (), ()
    )
    key = KeyRule("butterfly key", "sapele", "underside", 44.0, 20.0, 7.0, 8.0, edge(382.0), edge(120.0), 90.0)
    hinges = tuple(
        FittingRule("hinge", "hinge", "underside", 50.0, 14.0, 2.0, 0.0, edge(x), edge(253.0), True)
        for x in (70.0, 350.0)
    )
    magnets = tuple(
        FittingRule("magnet", "magnet", "underside", 10.0, 10.0, 3.2, 0.0, edge(x), edge(15.0), False)
        for x in (20.0, 400.0)
    )
    return Job(
        name="Tern lid",
        slug="tern-lid",
        folder=Path("tern-lid"),
        unit=unit,
        paper=paper,
        board=Board("white oak", 420.0, 260.0, 19.0),
        picture=picture,
        keys=(key,),
        fittings=hinges + magnets,
        fit=FitWish(SEAM, "1/8 in straight", 0.5, 0.1),
        cutting=CuttingRule(unit="mm" if unit == "mm" else "inch"),
        margin=6.0,
        between=5.0,
        least_left=4.0,
        change="4f1c9a",
    )


def _key() -> Inlay:
    bow = Polygon([(0, 0), (22, 6.5), (44, 0), (44, 20), (22, 13.5), (0, 20)])
    area = DrawnArea("butterfly key", "sapele", (90, 62, 46), bow.buffer(-1.6).buffer(1.6))
    pose = Pose(0.0, -22.0, -10.0).then(Pose(90.0, 0.0, 0.0, mirrored=True)).then(Pose(0.0, 382.0, 120.0))
    return Inlay("butterfly key", "underside", fit_of([area]), pose, 8.0, 0.5, 0.1, "key")


def _layout(job: Job) -> Layout:
    board = job.board
    picture = Inlay("picture", "show", fit_of(drawn_areas()), Pose(), 3.0, 0.5, 0.1)
    x0, y0, x1, _ = picture.fit.recess.bounds
    picture = replace(picture, pose=Pose(0.0, (board.length - x0 - x1) / 2, 74.0 - y0))
    inlays = (picture, _key())
    fittings = tuple(_fitting(i + 1, rule) for i, rule in enumerate(job.fittings))
    marks = marks_of(inlays, fittings)
    eye, bill = (picture.pose.region(picture.fit.inserts[i].region) for i in (3, 12))
    tip = max(shapely.get_coordinates(bill).tolist())
    proofs = (
        Mark(6, "proof: middle of the eye", "show", "point", eye.centroid.x, eye.centroid.y),
        Mark(7, "proof: point of the bill", "show", "point", tip[0], tip[1]),
    )
    check = Mark(99, "the middle of the key", "underside", "line_x", 382.0, None)
    nearest = (
        ("picture", "hinge", 63.6),
        ("picture", "end of the board", x0 + picture.pose.x),
        ("picture", "front edge A", 74.0),
    )
    return Layout(board, inlays, fittings, marks + proofs, wood_left(board, inlays, fittings), check, nearest)


def _fitting(number: int, rule: FittingRule) -> Fitting:
    centre = (rule.along_a.amount, rule.along_b.amount)
    half = (rule.length / 2, rule.width / 2)
    wanted = box(centre[0] - half[0], centre[1] - half[1], centre[0] + half[0], centre[1] + half[1])
    if rule.kind == "magnet":
        wanted = Point(centre).buffer(half[0])
    return Fitting(
        number, rule.kind, rule.name, rule.face, wanted, centre, (rule.length, rule.width), rule.depth, rule.open_edge
    )


def _wanted(inlay: Inlay) -> list[Wanted]:
    return [
        Wanted(inlay.name, i.number, i.name, i.wood, i.region, _long_way(i.region), inlay.insert_thickness)
        for i in inlay.fit.inserts
    ]


def _long_way(region: Polygon) -> float:
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(region))
    sides = np.diff(corners, axis=0)
    dx, dy = sides[int(np.argmax(np.hypot(sides[:, 0], sides[:, 1])))]
    return (math.degrees(math.atan2(dy, dx)) + 90.0) % 180.0 - 90.0


def _rows(offcut: Offcut, parts: list[Wanted]) -> list[Place]:
    room, gap = offcut.outline.buffer(-6.0).difference(offcut.defects.buffer(3.0)), 5.0
    x0, y0, x1, y1 = room.bounds
    places, taken = [], []
    for number, part in enumerate(parts):
        turned = Pose(offcut.grain - part.grain)
        left, low, *_ = turned.region(part.region).bounds
        spots = ((x, y) for y in np.arange(y0, y1, 4.0) for x in np.arange(x0, x1, 4.0))
        for x, y in spots:
            pose = Pose(turned.angle, float(x - left), float(y - low))
            shape = pose.region(part.region)
            if all(shape.distance(t) >= gap for t in taken) and room.covers(shape):
                places.append(Place(part, offcut.name, pose, spare=part in parts[:number]))
                taken.append(shape)
                break
    return places


def _trip(region: Region, depth: float) -> Trip:
    ring = shapely.get_coordinates(shapely.get_parts(region)[0].exterior.simplify(0.5))
    return Trip((*ring[0], 0.0), tuple(Straight(float(x), float(y), -depth) for x, y in ring))


def _program(file: str, cutter: Cutter, lines: tuple[CutLine, ...]) -> Program:
    depth = max(line.depth for line in lines)
    steps = [round(depth * (i + 1) / math.ceil(depth / 1.6), 3) for i in range(math.ceil(depth / 1.6))]
    trips = lambda z: tuple(_trip(line.region, min(z, line.depth)) for line in lines)  # noqa: E731
    passes = [
        Pass(i + 1, "roughing", "roughing, 0.1 mm left", z, 0.1, "conventional", trips(z), 4.4)
        for i, z in enumerate(steps)
    ]
    passes.append(Pass(len(steps) + 1, "last", "last pass, to the line", depth, 0.0, "climb", trips(depth), 1.5))
    source = "chip load table, low figure halved (from memory)"
    figures = CuttingFigures(18000.0, 900.0, 300.0, 0.025, source, 0.02, 3.0, 3.0, 3.0)
    return Program(file, cutter, tuple(passes), figures, sum(p.minutes for p in passes))


def _set_up(
    number: int, title: str, stock: str, face: Face, lines: tuple[CutLine, ...], outline: Polygon, thick: float
) -> SetUp:
    slug = f"{number}-{re.sub(r'[^a-z0-9]+', '-', title.lower()).strip('-')}"
    program = _program(f"tern-lid-{slug}.nc", CUTTERS[0], lines)
    holding = "Two cleats behind, two wedges in front, all lower than the face. No tape on the show face."
    if stock != "board":
        holding = "Double-sided tape on a sacrificial board, the whole offcut covered."
    return SetUp(number, title, slug, stock, face, outline, thick, lines, (program,), holding, 6.0, 8.0)


def _plan(job: Job, layout: Layout, placed: OnOffcuts) -> CuttingPlan:
    set_ups: list[SetUp] = []
    for face, frame, words in (("show", Pose(), "recess, show face"), ("underside", UNDERSIDE, "recesses, underside")):
        lines = [
            CutLine(f"recess-{i + 1}", "recess", frame.region(inlay.recess), inlay.depth)
            for i, inlay in enumerate(layout.inlays)
            if inlay.face == face
        ]
        lines += [_fitting_line(f, frame) for f in layout.fittings if f.face == face]
        if lines:
            outline = frame.region(job.board.outline)
            set_ups.append(_set_up(len(set_ups) + 1, words, "board", face, tuple(lines), outline, job.board.thickness))  # type: ignore[arg-type]
    for offcut in placed.used:
        parts = [p for p in placed.places if p.offcut == offcut.name]
        part_lines = tuple(
            CutLine(
                f"{'key' if p.part.inlay != 'picture' else 'piece'}-{p.part.number}{'-spare' if p.spare else ''}",
                "part",
                p.region,
                offcut.thickness,
            )
            for p in parts
        )
        title = f"{offcut.wood}, {offcut.name}"
        set_ups.append(
            _set_up(len(set_ups) + 1, title, offcut.name, "show", part_lines, offcut.outline, offcut.thickness)
        )
    return CuttingPlan(tuple(set_ups))


def _fitting_line(fitting: Fitting, frame: Pose) -> CutLine:
    reach = fitting.wanted.buffer(-1.59).buffer(1.59)
    remnants: tuple[Polygon, ...] = ()
    if fitting.kind == "hinge":
        corners = [p for p in shapely.get_parts(fitting.wanted.difference(reach)) if p.area > 0.1]
        remnants = tuple(frame.region(c) for c in corners if c.centroid.y < fitting.centre[1])
    return CutLine(f"{fitting.kind}-{fitting.number}", "recess", frame.region(reach), fitting.depth, remnants)


def _proof(plan: CuttingPlan) -> Proof:
    seams = tuple(
        SeamReadBack(
            "picture",
            kind,
            SEAM,
            0.0994,
            (190.0, 140.0),
            0.118,
            (262.0, 136.0),
            0.9992,
            1480.0,
            ((262.0, 136.0, 0.118),),
            0.0,
        )
        for kind in ("programs", "svg", "dxf")
    )
    programs = tuple(
        ProgramReadBack(p.file, p.cutter.number, -max(x.depth for x in p.passes), 14.2, 2210, 0.0, 0.0)
        for s in plan.set_ups
        for p in s.programs
    )
    return Proof(True, seams, programs, 11.0, ())


def _findings(layout: Layout) -> tuple[Finding, ...]:
    return (
        Finding("look", "holly is 3.5 thick, 0.1 over its inserts", "offcut 7", "plane nothing off it", "offcuts"),
        Finding(
            "note", "the tip of the bill was rounded to the cutter", "piece 13", "nothing to do", "fit", (275.0, 133.5)
        ),
    )
