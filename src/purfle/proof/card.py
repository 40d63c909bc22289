"""The assembly card, read strictly: an unknown, missing or wrong key is a fault that names its place in the file."""

import json
import math
from dataclasses import dataclass
from typing import Any, Literal

from shapely import Polygon

from purfle.errors import Fault, ProgramError
from purfle.geometry.pose import UNDERSIDE, Pose
from purfle.model.findings import FACES, Face
from purfle.model.tapered import TaperedRule
from purfle.proof.card_by_hand import (
    CuttingWay,
    GuidingOnCard,
    StepOnCard,
    TemplateOnCard,
    read_guiding,
    read_pose,
    read_step,
    read_template,
    read_way,
)
from purfle.proof.card_sawing import SawingOnCard, read_sawing, sawing_references
from purfle.proof.card_tabs import TabOnCard, read_tab, tabs_references
from purfle.proof.holes import HoleOnCard, read_hole
from purfle.proof.shelf import CARD, MEND, Shelf
from purfle.tolerances import DEPTH_AS_CUT, GRID, SAME_PLACE

VERSION = 8
LineKind = Literal["recess", "part"]


@dataclass(frozen=True, slots=True)
class CutterOnCard:
    """One cutter: `diameter` is the width of groove that it cuts, of a V cutter its largest; `max_speed` in rpm.

    Of a V cutter `half_angle` (degrees, else 0: its edges are upright) and `tip_radius` of the flat at its tip.
    """

    number: int
    name: str
    diameter: float
    cutting_length: float
    max_speed: float
    half_angle: float = 0.0
    tip_radius: float = 0.0

    @property
    def is_v(self) -> bool:
        """True where its edges slope."""
        return self.half_angle > 0.0


@dataclass(frozen=True, slots=True)
class MachineOnCard:
    """The machine: travels and safe height in mm, highest speed in rpm, highest feed in mm/min."""

    travel: tuple[float, float, float]
    safe_height: float
    speed: float
    max_feed: float


NO_MACHINE = MachineOnCard((0.0, 0.0, 0.0), 0.0, 0.0, 0.0)
"""Stands for the machine of a shop where all is cut by hand."""


@dataclass(frozen=True, slots=True)
class LineOnCard:
    """One finished line of a set-up: a recess (wood inside goes) or a part (wood inside stays), with its tabs."""

    id: str
    kind: LineKind
    depth: float
    tapered: bool = False
    tabs: tuple[TabOnCard, ...] = ()


@dataclass(frozen=True, slots=True)
class ProgramOnCard:
    """One program in running order, with the depths that its passes reach; `tapered`: it works on tapered walls."""

    file: str
    cutter: int
    depths: tuple[float, ...]
    minutes: float
    tapered: bool = False


@dataclass(frozen=True, slots=True)
class SetUpOnCard:
    """One clamping of one stock; `outline` in the set-up frame, whose origin is the program's zero."""

    number: int
    title: str
    stock: str
    face: Face
    outline: Polygon
    thickness: float
    cut_through: float
    programs: tuple[ProgramOnCard, ...]
    svg: str
    dxf: str
    lines: tuple[LineOnCard, ...]
    steps: tuple[StepOnCard, ...] = ()
    guides: tuple[GuidingOnCard, ...] = ()
    skin: float = 0.0
    sawing: SawingOnCard | None = None

    @property
    def underside(self) -> float:
        """How deep below the face parts end: at the underside of the stock, or where a saw takes them off."""
        return self.thickness - GRID if self.sawing is None else self.sawing.depth - DEPTH_AS_CUT

    @property
    def part_thickness(self) -> float:
        """How thick parts are when they leave the stock: as it is, or as they are sawn and planed."""
        return self.thickness if self.sawing is None else self.sawing.thickness

    @property
    def to_board(self) -> Pose:
        """From the frame of a set-up of the board to the board frame (each is the other's inverse)."""
        return UNDERSIDE if self.face == "underside" else Pose()

    @property
    def cuts_parts(self) -> bool:
        """True where parts are cut out of the stock, False where recesses are cut into it."""
        return any(line.kind == "part" for line in self.lines)


@dataclass(frozen=True, slots=True)
class PartOnCard:
    """One part: where it is cut (`set_up`, `line`) and the pose that takes it from there to the board frame.

    `plate`: the line of what it hangs on until it is sawn off, with tapered walls; else empty.
    """

    number: int
    name: str
    wood: str
    set_up: int
    line: str
    spare: bool
    to_board: Pose
    plate: str = ""

    @property
    def label(self) -> str:
        """How the maker knows the part."""
        return f"part {self.number} ({self.name})" + (", spare" if self.spare else "")


@dataclass(frozen=True, slots=True)
class CornerOnCard:
    """A corner of a recess that is pared to its insert by hand: its point, and how far about it wood stands."""

    place: tuple[float, float]
    reach: float


@dataclass(frozen=True, slots=True)
class InlayOnCard:
    """One inlay: its recess (`set_up`, `lines`, corners left to the chisel) and the parts that go into it.

    `order` 1 is let into the board; a later one into the inlay named by `into`, once that is glued in and levelled.
    `walls`: where they are tapered.
    """

    name: str
    face: Face
    order: int
    into: str
    depth: float
    glue_room: float
    proud: float
    seam: float
    set_up: int
    lines: tuple[str, ...]
    chisel: tuple[CornerOnCard, ...]
    parts: tuple[PartOnCard, ...]
    walls: TaperedRule | None = None


@dataclass(frozen=True, slots=True)
class FittingOnCard:
    """One recess for hardware, `centre` and `size` in the board frame as the maker asked for it, play included."""

    number: int
    name: str
    kind: str
    face: Face
    depth: float
    set_up: int
    line: str
    centre: tuple[float, float]
    size: tuple[float, float]
    round: bool
    open_edge: bool
    remnants: int


@dataclass(frozen=True, slots=True)
class Card:
    """Everything that the assembly card says."""

    job: str
    change: str
    board: Polygon
    thickness: float
    least_left: float
    cutters: dict[int, CutterOnCard]
    machine: MachineOnCard
    set_ups: tuple[SetUpOnCard, ...]
    inlays: tuple[InlayOnCard, ...]
    fittings: tuple[FittingOnCard, ...]
    way: CuttingWay = "machine"
    templates: tuple[TemplateOnCard, ...] = ()
    holes: tuple[HoleOnCard, ...] = ()

    def set_up(self, number: int) -> SetUpOnCard:
        """The set-up of that number; the reader has made sure that it exists."""
        return next(s for s in self.set_ups if s.number == number)

    def inlay(self, name: str) -> InlayOnCard:
        """The inlay of that name; the reader has made sure that it exists where another names it."""
        return next(i for i in self.inlays if i.name == name)


def read_card(data: bytes) -> Card:
    """The card as written, or a ProgramError with every fault that was found in it."""
    faults: list[Fault] = []
    top = Shelf(_json(data), "", faults)
    version = top.whole("version")
    if version != VERSION and not faults:
        top.fault("version", f"this card is of version {version}, this Purfle reads version {VERSION}")
    length, width, thickness = _board(top.shelf("board"))
    card = Card(
        job=top.text("job"),
        change=top.text("change"),
        board=Polygon([(0, 0), (length, 0), (length, width), (0, width)]),
        thickness=thickness,
        least_left=top.number("least_left", at_least=0.0),
        cutters={c.number: c for c in (_cutter(s) for s in top.shelves("cutters"))},
        machine=_machine(top.maybe("machine")),
        set_ups=tuple(_set_up(s) for s in top.shelves("set_ups")),
        inlays=tuple(_inlay(s) for s in top.shelves("inlays")),
        fittings=tuple(_fitting(s) for s in top.shelves("fittings")),
        way=read_way(top),
        templates=tuple(read_template(s) for s in top.shelves("templates")),
        holes=tuple(read_hole(s) for s in top.shelves("holes")),
    )
    top.nothing_else()
    if not faults:
        _references(card, top)
    if faults:
        raise ProgramError.of(faults)
    return card


def _json(data: bytes) -> dict[str, Any]:
    """The top object; double keys, NaN and anything that is not UTF-8 JSON are refused."""

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        keys = [key for key, _ in pairs]
        for key in keys:
            if keys.count(key) > 1:
                raise ValueError(f"the key '{key}' stands twice")
        return dict(pairs)

    def no_constant(name: str) -> float:
        raise ValueError(f"{name} is not a number")

    try:
        top = json.loads(data.decode("utf-8"), object_pairs_hook=once, parse_constant=no_constant)
    except (ValueError, RecursionError) as error:
        raise ProgramError(f"the assembly card cannot be read: {error}", CARD, MEND) from None
    if not isinstance(top, dict):
        raise ProgramError("the assembly card is not a list of keys", CARD, MEND)
    return top


def _board(shelf: Shelf) -> tuple[float, float, float]:
    shelf.text("wood")
    sizes = tuple(shelf.number(key, above=0.0) for key in ("length", "width", "thickness"))
    shelf.nothing_else()
    return sizes[0], sizes[1], sizes[2]


def _cutter(shelf: Shelf) -> CutterOnCard:
    half_angle, tip_radius, sloping = 0.0, 0.0, shelf.maybe("v")
    if sloping is not None:
        half_angle, tip_radius = sloping.number("half_angle", above=0.0), sloping.number("tip_radius", at_least=0.0)
        sloping.nothing_else()
    if half_angle >= 90.0:
        shelf.fault("v", f"a V cutter of {2 * half_angle} degrees is flat")
    cutter = CutterOnCard(
        shelf.whole("number"),
        shelf.text("name"),
        shelf.number("diameter", above=0.0),
        shelf.number("cutting_length", above=0.0),
        shelf.number("max_speed", above=0.0),
        half_angle,
        tip_radius,
    )
    shelf.nothing_else()
    return cutter


def _machine(shelf: Shelf | None) -> MachineOnCard:
    if shelf is None:
        return NO_MACHINE
    x, y, z = shelf.numbers("travel", 3)
    machine = MachineOnCard(
        (x, y, z),
        shelf.number("safe_height", above=0.0),
        shelf.number("speed", above=0.0),
        shelf.number("max_feed", above=0.0),
    )
    shelf.nothing_else()
    return machine


def _set_up(shelf: Shelf) -> SetUpOnCard:
    set_up = SetUpOnCard(
        number=shelf.whole("number"),
        title=shelf.text("title"),
        stock=shelf.text("stock"),
        face=_face(shelf),
        outline=shelf.ring("outline"),
        thickness=shelf.number("thickness", above=0.0),
        cut_through=shelf.number("cut_through", at_least=0.0),
        programs=tuple(_program(s) for s in shelf.shelves("programs")),
        svg=shelf.text("svg"),
        dxf=shelf.text("dxf"),
        lines=tuple(_line(s) for s in shelf.shelves("lines")),
        steps=tuple(read_step(s) for s in shelf.shelves("steps")),
        guides=tuple(read_guiding(s) for s in shelf.shelves("guides")),
        skin=shelf.number("skin", at_least=0.0),
        sawing=read_sawing(shelf.maybe("sawing")),
    )
    # the passes are for the maker's cutting card; the proof reads the depths off the programs instead
    shelf.ignored("passes")
    shelf.nothing_else()
    return set_up


def _face(shelf: Shelf) -> Face:
    return "underside" if shelf.choice("face", FACES) == "underside" else "show"


def _program(shelf: Shelf) -> ProgramOnCard:
    depths = shelf.numbers("depths")
    if list(depths) != sorted(depths) or any(depth <= 0 for depth in depths):
        shelf.fault("depths", "the depths are not positive and sorted")
    file, cutter, minutes = shelf.text("file"), shelf.whole("cutter"), shelf.number("minutes", at_least=0.0)
    program = ProgramOnCard(file, cutter, depths, minutes, shelf.claim("tapered"))
    shelf.nothing_else()
    return program


def _line(shelf: Shelf) -> LineOnCard:
    kind: LineKind = "part" if shelf.choice("kind", ("recess", "part")) == "part" else "recess"
    name, depth, tapered = shelf.text("id"), shelf.number("depth", above=0.0), shelf.claim("tapered")
    line = LineOnCard(name, kind, depth, tapered, tuple(read_tab(s) for s in shelf.shelves("tabs")))
    shelf.nothing_else()
    return line


def _part(shelf: Shelf) -> PartOnCard:
    part = PartOnCard(
        shelf.whole("number"),
        shelf.text("name"),
        shelf.text("wood"),
        shelf.whole("set_up"),
        shelf.text("line"),
        shelf.claim("spare"),
        read_pose(shelf.shelf("to_board")),
        shelf.text("plate"),
    )
    shelf.nothing_else()
    return part


def _walls(shelf: Shelf | None) -> TaperedRule | None:
    if shelf is None:
        return None
    rule = TaperedRule(
        shelf.number("half_angle", above=0.0),
        shelf.number("tip_radius", at_least=0.0),
        shelf.number("sink", above=0.0),
        shelf.number("glue_room", at_least=0.0),
        shelf.number("saw_room", above=0.0),
    )
    shelf.nothing_else()
    return rule


def _corner(shelf: Shelf) -> CornerOnCard:
    place = (shelf.number("x"), shelf.number("y"))
    corner = CornerOnCard(place, shelf.number("reach", above=0.0))
    shelf.nothing_else()
    return corner


def _inlay(shelf: Shelf) -> InlayOnCard:
    recess = shelf.shelf("recess")
    set_up, lines = recess.whole("set_up"), recess.texts("lines")
    recess.nothing_else()
    inlay = InlayOnCard(
        name=shelf.text("name"),
        face=_face(shelf),
        order=shelf.whole("order"),
        into=shelf.text("into"),
        depth=shelf.number("depth", above=0.0),
        glue_room=shelf.number("glue_room", at_least=0.0),
        proud=shelf.number("proud", at_least=0.0),
        seam=shelf.number("seam", at_least=0.0),
        set_up=set_up,
        lines=lines,
        chisel=tuple(_corner(s) for s in shelf.shelves("chisel")),
        walls=_walls(shelf.maybe("walls")),
        parts=tuple(_part(s) for s in shelf.shelves("parts")),
    )
    shelf.nothing_else()
    return inlay


def _fitting(shelf: Shelf) -> FittingOnCard:
    x, y = shelf.numbers("centre", 2)
    along_a, along_b = shelf.numbers("size", 2)
    fitting = FittingOnCard(
        number=shelf.whole("number"),
        name=shelf.text("name"),
        kind=shelf.text("kind"),
        face=_face(shelf),
        depth=shelf.number("depth", above=0.0),
        set_up=shelf.whole("set_up"),
        line=shelf.text("line"),
        centre=(x, y),
        size=(along_a, along_b),
        round=shelf.claim("round"),
        open_edge=shelf.claim("open_edge", missing=False),
        remnants=shelf.whole("remnants"),
    )
    shelf.nothing_else()
    return fitting


def _references(card: Card, top: Shelf) -> None:
    """Every number and line id that the card uses must exist, and exist once."""
    numbers = [s.number for s in card.set_ups]
    for index, set_up in enumerate(card.set_ups):
        _set_up_references(card, set_up, top, f"set_ups[{index}]")
        if numbers.count(set_up.number) > 1:
            top.fault(f"set_ups[{index}].number", f"set-up {set_up.number} stands twice")
    _order_references(card, top)
    homes = {(s.number, line.id): (s, line) for s in card.set_ups for line in s.lines}
    uses: list[tuple[str, int, str, LineKind]] = []
    for i, inlay in enumerate(card.inlays):
        uses += [(f"inlays[{i}].recess", inlay.set_up, line, "recess") for line in inlay.lines]
        uses += [(f"inlays[{i}].parts[{p}]", part.set_up, part.line, "part") for p, part in enumerate(inlay.parts)]
        hang = [(p, part) for p, part in enumerate(inlay.parts) if part.plate]
        uses += [(f"inlays[{i}].parts[{p}].plate", part.set_up, part.plate, "part") for p, part in hang]
    uses += [(f"fittings[{i}]", f.set_up, f.line, "recess") for i, f in enumerate(card.fittings)]
    used: set[tuple[int, str]] = set()
    for key, number, line, kind in uses:
        home = homes.get((number, line))
        if home is None or home[1].kind != kind:
            top.fault(key, f"set-up {number} has no {kind} line '{line}'")
        elif (number, line) in used:
            top.fault(key, f"the line '{line}' of set-up {number} is used twice")
        used.add((number, line))
    for number, line in homes.keys() - used:
        top.fault("set_ups", f"the line '{line}' of set-up {number} belongs to no inlay and no fitting")
    _depth_references(card, top, homes)
    _walls_references(card, top, {(s.number, line.id) for s in card.set_ups for line in s.lines if line.tapered})


def _depth_references(card: Card, top: Shelf, homes: dict[tuple[int, str], tuple[SetUpOnCard, LineOnCard]]) -> None:
    """What is said of an inlay or fitting is said of its lines: the depth; of an inlay the face too."""
    wanted: list[tuple[str, InlayOnCard | FittingOnCard, str]] = []
    wanted += [(f"inlays[{i}]", one, line) for i, one in enumerate(card.inlays) for line in one.lines]
    wanted += [(f"fittings[{i}]", one, one.line) for i, one in enumerate(card.fittings)]
    for key, one, line_id in wanted:
        home, line = homes.get((one.set_up, line_id), (None, None))
        if home is None or line is None:
            continue
        if not math.isclose(line.depth, one.depth, abs_tol=SAME_PLACE):
            top.fault(f"{key}.depth", f"'{one.name}' is {one.depth} mm deep, its line '{line_id}' {line.depth} mm")
        if isinstance(one, InlayOnCard) and home.face != one.face:
            top.fault(f"{key}.face", f"'{one.name}' is on the face '{one.face}', its line is cut into '{home.face}'")


def _walls_references(card: Card, top: Shelf, tapered: set[tuple[int, str]]) -> None:
    """Lines slope where their inlay's walls do, and nowhere else; what hangs on a plate has walls that slope."""
    for index, inlay in enumerate(card.inlays):
        lines = [(inlay.set_up, line) for line in inlay.lines] + [(part.set_up, part.line) for part in inlay.parts]
        slopes = inlay.walls is not None
        if inlay.walls and not math.isclose(inlay.walls.recess_depth, inlay.depth, abs_tol=SAME_PLACE):
            what = f"its walls are for a recess {inlay.walls.recess_depth} mm deep, not {inlay.depth} mm"
            top.fault(f"inlays[{index}].walls", f"'{inlay.name}': {what}")
        if any((line in tapered) != slopes for line in lines):
            what = "its lines slope, and it has no tapered walls" if not slopes else "its lines do not slope"
            top.fault(f"inlays[{index}].walls", f"'{inlay.name}': {what}")
        if any(bool(part.plate) != slopes for part in inlay.parts):
            top.fault(
                f"inlays[{index}].parts", f"'{inlay.name}': parts hang on plates where walls are tapered, only there"
            )
    straight = [(f.set_up, f.line) for f in card.fittings]
    straight += [(part.set_up, part.plate) for inlay in card.inlays for part in inlay.parts if part.plate]
    for number, line in straight:
        if (number, line) in tapered:
            top.fault("set_ups", f"the line '{line}' of set-up {number} slopes, and belongs to no tapered walls")


def _order_references(card: Card, top: Shelf) -> None:
    """What is let into another inlay must find that once, on its face, one order before its own."""
    for index, inlay in enumerate(card.inlays):
        key = f"inlays[{index}].into"
        hosts = [one for one in card.inlays if one.name == inlay.into]
        if not inlay.into:
            if inlay.order != 1:
                top.fault(key, f"an inlay of order {inlay.order} has to say what it is let into")
        elif len(hosts) != 1:
            top.fault(key, f"there {'is no inlay' if not hosts else 'are several inlays'} '{inlay.into}'")
        elif (hosts[0].face, hosts[0].order + 1) != (inlay.face, inlay.order):
            top.fault(key, f"'{inlay.into}' is not on the same face, one order before")


def _set_up_references(card: Card, set_up: SetUpOnCard, top: Shelf, key: str) -> None:
    ids = [line.id for line in set_up.lines]
    for name in {name for name in ids if ids.count(name) > 1}:
        top.fault(f"{key}.lines", f"the line '{name}' stands twice")
    if len({line.kind for line in set_up.lines}) > 1:
        top.fault(f"{key}.lines", "recesses and parts are mixed in one set-up")
    if (set_up.stock == "board") == set_up.cuts_parts and set_up.lines:
        top.fault(f"{key}.lines", f"{'parts' if set_up.cuts_parts else 'recesses'} in the stock '{set_up.stock}'")
    if set_up.stock == "board" and not math.isclose(set_up.thickness, card.thickness):
        top.fault(f"{key}.thickness", f"the board is {card.thickness} mm thick, not {set_up.thickness} mm")
    for index, line in enumerate(set_up.lines):
        wood = set_up.sawing.depth if set_up.sawing else set_up.thickness
        if line.kind == "part" and not line.tapered and not math.isclose(line.depth, wood, abs_tol=SAME_PLACE):
            what = f"'{line.id}' is cut {line.depth} mm deep out of {wood} mm of wood"
            top.fault(f"{key}.lines[{index}].depth", what)
        tabs_references(line.tabs, (line.kind, set_up.thickness), top, f"{key}.lines[{index}].tabs")
    for index, program in enumerate(set_up.programs):
        if program.cutter not in card.cutters:
            top.fault(f"{key}.programs[{index}].cutter", f"the card lists no cutter {program.cutter}")
    sawing_references(set_up.sawing, (set_up.cuts_parts, set_up.thickness), top, f"{key}.sawing")
    _by_hand_references(card, set_up, top, key)


def _by_hand_references(card: Card, set_up: SetUpOnCard, top: Shelf, key: str) -> None:
    """A job is cut one way; what is done by hand names lines, cutters and templates that there are."""
    by_hand = card.way != "machine"
    if not by_hand and card.machine is NO_MACHINE and set_up is card.set_ups[0]:
        top.fault("machine", "there is no machine, and the job is cut by one")
    guided = card.way == "templates"
    if (set_up.programs if by_hand else set_up.steps) or (set_up.guides and not guided):
        top.fault(key, f"it is not cut the way that the card says: {card.way}")
    ids, templates = [line.id for line in set_up.lines], [one.number for one in card.templates]
    for index, step in enumerate(set_up.steps):
        if step.line not in ids or step.cutter not in card.cutters:
            top.fault(f"{key}.steps[{index}]", f"there is no line '{step.line}' or no cutter {step.cutter}")
    for index, guide in enumerate(set_up.guides):
        if guide.line not in ids or guide.cutter not in card.cutters or templates.count(guide.template) != 1:
            what = f"there is no line '{guide.line}', no cutter {guide.cutter} or not one template {guide.template}"
            top.fault(f"{key}.guides[{index}]", what)
