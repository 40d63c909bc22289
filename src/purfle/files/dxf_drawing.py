"""Reads a DXF into closed shapes at true size, y up, in mm. What cannot be carried is listed, never dropped silently.

Closed polylines with bulges, circles, ellipses, splines, hatches with islands, filled corners and blocks are carried;
lines, arcs and open curves of one layer and colour are joined to outlines. A shape is called after its layer.
Nested outlines of one layer and colour are wood, hole, wood (even-odd); of shapes that lie over each other the smaller
one is on top, whatever its layer. Source: DXF reference (entities, blocks, layers, colours).
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

import numpy as np
import shapely
from ezdxf.colors import aci2rgb, int2rgb
from ezdxf.document import Drawing as Document
from numpy.typing import NDArray
from shapely import Point

from purfle.errors import DrawingError
from purfle.files import svg_path
from purfle.files.closed_outlines import Closed, closed_by, nested
from purfle.files.dxf_curves import CURVES, FILLED, Curve, NotCarried, hatch_loops
from purfle.files.dxf_file import parsed, quiet, unit_of
from purfle.files.svg_path import MOST_POINTS
from purfle.geometry.crowding import MOST_PAIRS, edges_of, is_crowded
from purfle.hard_stop import busy
from purfle.model.artwork import Colour, Drawing, DrawingUnit, PaintedShape
from purfle.model.findings import Finding, Severity
from purfle.model.pieces import Region
from purfle.tolerances import CHAIN_GAP, FLAT, GAP_TOLD, SAME_PLACE

Flat = NDArray[np.float64]
"""(n, 2), mm."""
Entity = Any
MOST_EXPANDED = 60_000
MOST_SHAPES = 3_000
DEEPEST = 32
MOST_TOLD = 25
"""Gaps told one by one, the widest first; the rest are counted."""
LARGEST_MM = 100_000.0
BYLAYER, BYBLOCK, ON_PAPER = 256, 0, 7
"""Colour numbers with a meaning of their own; 7 is black on paper. Source: DXF reference, group 62."""
HATCHES = ("HATCH", "MPOLYGON")
OUTERMOST, IGNORE_ISLANDS = 1, 2
WORDS = {
    "TEXT": "text", "MTEXT": "text", "ATTRIB": "text", "ATTDEF": "text", "DIMENSION": "dimension",
    "ARC_DIMENSION": "dimension", "LARGE_RADIAL_DIMENSION": "dimension", "LEADER": "leader", "MULTILEADER": "leader",
    "TOLERANCE": "tolerance frame", "IMAGE": "picture", "PDFUNDERLAY": "picture", "OLE2FRAME": "picture",
    "POINT": "point", "XLINE": "endless line", "RAY": "endless line", "3DFACE": "surface", "MESH": "surface",
    "WIPEOUT": "cover", "VIEWPORT": "window", "SHAPE": "text",
}  # fmt: skip
MENDS = {
    "text": "Turn it into outlines in your drawing program.",
    "endless line": "Draw it from end to end.",
    "point": "Nothing needs to be done if it is only a mark.",
}
SILENT = {"VIEWPORT", "SEQEND"}
TAIL_CUT = f"an end that stands over by no more than {CHAIN_GAP:g} mm is cut off"
PEN_WIDTH = "the width of a pen is not carried over: its line is an outline"
NOTED = (TAIL_CUT, PEN_WIDTH)
Key = tuple[str, Colour]
"""Layer and colour: lines of one key make outlines together."""


@dataclass(frozen=True, slots=True)
class Inside:
    """What an entity finds around it: matrix (4 x 4, row vectors), the layer and colour of the block, its names.

    `tolerance`: of flattening, in the entity's own units, so that FLAT holds in mm at the size asked for.
    """

    matrix: NDArray[np.float64]
    tolerance: float
    layer: str = "0"
    colour: Colour = (0, 0, 0)
    blocks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Drawn:
    """One curve in mm, with its key and its place for messages."""

    points: Flat
    closed: bool
    key: Key
    place: str


@dataclass(frozen=True, slots=True)
class Hatched:
    """One hatch or filled corner: loops of curves, its island style, key and place."""

    loops: tuple[tuple[Drawn, ...], ...]
    style: int
    key: Key
    place: str


@dataclass(slots=True)
class Reading:
    """One reading of one file: what was found, and how much of the budgets is left."""

    name: str
    document: Document
    scale: float
    flat: float = FLAT
    drawn: list[Drawn] = field(default_factory=list)
    hatched: list[Hatched] = field(default_factory=list)
    missed: dict[tuple[str, str], list[str]] = field(default_factory=dict)
    gaps: list[tuple[float, str]] = field(default_factory=list)
    hidden: Counter[str] = field(default_factory=Counter)
    entities_left: int = MOST_EXPANDED
    points_left: int = MOST_POINTS
    closed_left: int = MOST_SHAPES

    def miss(self, what: str, mend: str, place: str) -> None:
        """Note what could not be carried; equal ones are told once, with their number and their first place."""
        self.missed.setdefault((what, mend), []).append(place)


def read_dxf(data: bytes, name: str, unit: DrawingUnit | None = None, enlarged: float = 1.0) -> Drawing:
    """The closed shapes of a DXF at true size times `enlarged`, the larger below the smaller.

    Raises: DrawingError, as `opened` and what it gives do.
    """
    return opened(data, name, unit)(enlarged)


def opened(data: bytes, name: str, unit: DrawingUnit | None = None) -> Callable[[float], Drawing]:
    """What reads a DXF at true size times a factor, as often as it is wanted: parsing takes as long as all the rest.

    `unit` is what one unit of the file is; asked for where the file does not say so.
    Raises: DrawingError for what is no sound DXF, or says no unit.
    """
    document, mended = parsed(data, name)
    mm, told = unit_of(document if b"$INSUNITS" in data else None, unit, name)
    before: list[Closings] = []

    def read(enlarged: float) -> Drawing:
        drawing = _read_at(document, name, mm, before, enlarged)
        return replace(drawing, not_carried=(*mended, *told, *drawing.not_carried))

    return read


def _read_at(document: Document, name: str, mm: float, before: "list[Closings]", enlarged: float) -> Drawing:
    """The closed shapes of a document, one unit of which is so many mm, at true size times `enlarged`.

    Curves are flattened at that size; gaps are those of the drawing's own size, where its program rounded them. Where
    that makes no difference, what was closed `before` is not closed again.
    Raises: DrawingError for what holds nothing closed, or is larger than the budgets.
    """
    reading = Reading(name, document, mm, FLAT / enlarged)
    with quiet(), np.errstate(over="ignore", invalid="ignore"):  # what is not finite is told where it is placed
        walk(reading, document.modelspace(), Inside(np.diag([reading.scale] * 3 + [1.0]), reading.flat / reading.scale))
    for layout in document.layouts:
        if layout.name != "Model" and (count := sum(e.dxftype() not in SILENT for e in layout)):
            mend = "Draw it in the model space if it is to be let in."
            reading.miss(
                f"what is drawn on paper is not carried over ({count} entities)", mend, f"{name}, {layout.name}"
            )
    origin, size = frame_of(reading)
    shapes, found = closed_once(reading, origin, before)
    if not shapes:
        faults = tuple(f for f in found if f.severity != "note")
        more = f" {len(faults)} things were found that close nothing or cannot be carried." if faults else ""
        where = faults[0].where if faults else name
        what = f"The drawing holds no closed outline.{more}"
        raise DrawingError(what, where, "Draw closed polylines, circles or hatches; close the ends that gape.")
    width, height = (size * enlarged).tolist()
    if enlarged != 1.0:
        regions = shapely.transform([shape.region for shape in shapes], lambda places: places * enlarged)
        shapes = tuple(replace(shape, region=region) for shape, region in zip(shapes, regions, strict=True))
    return Drawing(width, height, shapes, found, name)


@dataclass(frozen=True, slots=True)
class Closings:
    """What a reading collected, and the shapes and findings that came of it."""

    drawn: tuple[Drawn, ...]
    hatched: tuple[Hatched, ...]
    missed: dict[tuple[str, str], tuple[str, ...]]
    shapes: tuple[PaintedShape, ...]
    found: tuple[Finding, ...]


def closed_once(
    reading: Reading, origin: Flat, before: list[Closings]
) -> tuple[tuple[PaintedShape, ...], tuple[Finding, ...]]:
    """The shapes and findings of a reading; those of the one `before` where it collected the very same.

    A polyline of straight lines is the same however finely it is flattened.
    """
    drawn, hatched = tuple(reading.drawn), tuple(reading.hatched)
    missed = {key: tuple(places) for key, places in reading.missed.items()}
    for one in before:
        if one.missed == missed and _alike(_curves(one.drawn, one.hatched), _curves(drawn, hatched)):
            return one.shapes, one.found
    shapes, found = shapes_of(reading, origin)
    before[:] = [Closings(drawn, hatched, missed, shapes, found)]
    return shapes, found


def _curves(drawn: Sequence[Drawn], hatched: Sequence[Hatched]) -> list[Drawn]:
    return [*drawn, *(curve for hatch in hatched for loop in hatch.loops for curve in loop)]


def _alike(some: Sequence[Drawn], others: Sequence[Drawn]) -> bool:
    pairs = zip(some, others, strict=False)
    return len(some) == len(others) and all(np.array_equal(one.points, other.points) for one, other in pairs)


def walk(reading: Reading, entities: Iterable[Entity], inside: Inside) -> None:
    """Collect the curves and hatches of a layout or block."""
    for entity in entities:
        busy("reading it", partial(place_of, reading, entity, inside))
        reading.entities_left -= 1
        if reading.entities_left < 0:
            what = f"The drawing has more than {MOST_EXPANDED} entities, blocks counted as often as they stand"
            raise DrawingError(what, place_of(reading, entity, inside), "Save only what is to be let in.")
        layer = layer_of(entity, inside)
        if entity.dxf.get("invisible", 0) or is_hidden(reading.document, layer):
            reading.hidden[layer] += 1
        elif entity.dxftype() == "INSERT":
            insert(reading, entity, replace(inside, layer=layer, colour=colour_of(reading.document, entity, inside)))
        else:
            collect(reading, entity, inside)


def collect(reading: Reading, entity: Entity, inside: Inside) -> None:
    """Keep the curve or hatch of one entity, or note why there is none."""
    kind, place = entity.dxftype(), place_of(reading, entity, inside)
    tell_width(reading, entity, place)
    key = (layer_of(entity, inside), colour_of(reading.document, entity, inside))
    try:
        if kind in CURVES:
            reading.drawn += placed(reading, [CURVES[kind](entity, inside.tolerance)], inside, key, place)
        elif kind in FILLED:
            loop = placed(reading, [FILLED[kind](entity, inside.tolerance)], inside, key, place)
            reading.hatched.append(Hatched((tuple(loop),), 0, key, place))
        elif kind in HATCHES:
            if kind == "HATCH" and entity.has_gradient_data:
                reading.miss("a gradient is taken as its plain colour", "Give it one colour: wood has one.", place)
            loops = hatch_loops(entity, inside.tolerance)
            parts = tuple(tuple(placed(reading, loop, inside, key, place)) for loop in loops)
            reading.hatched.append(Hatched(parts, entity.dxf.get("hatch_style", 0), key, place))
        elif kind not in SILENT:
            word = WORDS.get(kind, kind)
            reading.miss(f"a {word} is not carried over", MENDS.get(word, "Draw its outline instead."), place)
    except NotCarried as reason:
        reading.miss(f"a {kind} is left out: {reason}", "Draw it again.", place)
    except (ArithmeticError, ValueError, TypeError, IndexError, AttributeError, np.linalg.LinAlgError):
        reading.miss(f"a {kind} is left out: its figures are not sound", "Draw it again.", place)


def tell_width(reading: Reading, entity: Entity, place: str) -> None:
    """Note that a line has a width of its own: groups 40, 41 and 43 of polylines, or the pen's, group 370."""
    kind = entity.dxftype()
    if kind == "LWPOLYLINE":
        wide = entity.dxf.get("const_width", 0.0) or bool(entity.lwpoints.values[:, 2:4].any())
    elif kind == "POLYLINE":
        names = ("default_start_width", "default_end_width"), ("start_width", "end_width")
        wide = any(entity.dxf.get(name, 0.0) for name in names[0])
        wide = wide or any(vertex.dxf.get(name, 0.0) for vertex in entity.vertices for name in names[1])
    else:
        wide = False
    if wide:
        mend = "Turn the line into its outline if its width is meant."
        reading.miss("the width of a line is not carried over: its middle counts", mend, place)
    elif kind in CURVES and entity.dxf.get("lineweight", -1) > 0:
        reading.miss(PEN_WIDTH, "Nothing, if the line is meant as an outline.", place)


def placed(reading: Reading, curves: Sequence[Curve], inside: Inside, key: Key, place: str) -> list[Drawn]:
    """Curves in mm. Raises: NotCarried for what is no place in a drawing."""
    found = []
    for curve in curves:
        space = curve.points @ inside.matrix[:3, :3] + inside.matrix[3, :3]
        if not np.isfinite(space).all() or np.abs(space).max(initial=0.0) > svg_path.FURTHEST * reading.scale:
            raise NotCarried("one of its points is no place in a drawing")
        reading.points_left -= len(space)
        reading.closed_left -= curve.closed
        if min(reading.points_left, reading.closed_left) < 0:
            what = f"The drawing has more than {MOST_POINTS} points or {MOST_SHAPES} closed curves"
            raise DrawingError(what, place, "Simplify its curves, or draw it at the size it is to have.")
        found.append(Drawn(space[:, :2], curve.closed, key, place))
    return found


def insert(reading: Reading, entity: Entity, inside: Inside) -> None:
    """Collect what a block holds, as often as it stands there."""
    place = place_of(reading, entity, inside)
    for attribute in entity.attribs:
        reading.miss("a text is not carried over", MENDS["text"], place)
        reading.entities_left -= bool(attribute)
    block, name = entity.block(), str(entity.dxf.get("name", ""))
    if block is None:
        reading.miss("a block is not in this file", "Put the block into this file.", place)
        return
    if name in inside.blocks or len(inside.blocks) > DEEPEST:
        raise DrawingError(f'The block "{name}" holds itself, or blocks nest too deep', place, "Remove the reference.")
    if entity.mcount > reading.entities_left:
        what = f"A block is repeated {entity.mcount} times, more than is read"
        raise DrawingError(what, place, "Save only what is to be let in.")
    for one in entity.multi_insert() if entity.mcount > 1 else (entity,):
        matrix = np.array(list(one.matrix44().rows())) @ inside.matrix
        walk(
            reading,
            block,
            replace(inside, matrix=matrix, tolerance=tolerance_in(matrix, reading.flat), blocks=(*inside.blocks, name)),
        )


def tolerance_in(matrix: NDArray[np.float64], flat: float) -> float:
    """The flattening tolerance in an entity's own units so that `flat` holds in mm."""
    scale = float(np.linalg.norm(matrix[:3, :3], 2))
    if not (scale > 0 and np.isfinite(scale)):
        return flat
    return flat / scale


def layer_of(entity: Entity, inside: Inside) -> str:
    """The layer that an entity is on; layer 0 inside a block is that of the block."""
    layer = str(entity.dxf.get("layer", "0"))
    return inside.layer if layer == "0" else layer


def is_hidden(document: Document, layer: str) -> bool:
    """Whether a layer is off, frozen, or the one that is never printed."""
    if layer.lower() == "defpoints":
        return True
    found = document.layers.get(layer) if document.layers.has_entry(layer) else None
    return found is not None and (found.is_off() or found.is_frozen())


def colour_of(document: Document, entity: Entity, inside: Inside) -> Colour:
    """The colour that an entity shows on white paper."""
    if entity.dxf.hasattr("true_color"):
        return rgb(int2rgb(entity.dxf.true_color & 0xFFFFFF))
    number = entity.dxf.get("color", BYLAYER)
    if number == BYBLOCK:
        return inside.colour
    layer = layer_of(entity, inside)
    if number == BYLAYER:
        if not document.layers.has_entry(layer):
            return 0, 0, 0
        entry = document.layers.get(layer).dxf
        if entry.hasattr("true_color"):
            return rgb(int2rgb(entry.true_color & 0xFFFFFF))
        number = entry.get("color", ON_PAPER)
    number = abs(number)
    return (0, 0, 0) if number == ON_PAPER or not 0 < number < BYLAYER else rgb(aci2rgb(number))


def rgb(colour: Iterable[int]) -> Colour:
    """Three levels."""
    red, green, blue = colour
    return int(red), int(green), int(blue)


def place_of(reading: Reading, entity: Entity, inside: Inside) -> str:
    """Where an entity stands, for the maker: file, block, layer, kind and handle."""
    block = f', block "{inside.blocks[-1]}"' if inside.blocks else ""
    return f'{reading.name}{block}, layer "{layer_of(entity, inside)}", {entity.dxftype()} {entity.dxf.handle}'


def frame_of(reading: Reading) -> tuple[Flat, Flat]:
    """The lower left corner of everything in mm, and its size."""
    every = [curve.points for curve in reading.drawn]
    every += [curve.points for hatch in reading.hatched for loop in hatch.loops for curve in loop]
    if not any(len(points) for points in every):
        return np.zeros(2), np.zeros(2)
    points = np.concatenate(every)
    low, size = points.min(0), np.ptp(points, axis=0)
    if size.max() > LARGEST_MM:
        what = f"The drawing is {size.max() / 1000:.0f} m large"
        raise DrawingError(what, reading.name, "Check the unit, and remove what lies far off.")
    return low, size


def shapes_of(reading: Reading, origin: Flat) -> tuple[tuple[PaintedShape, ...], tuple[Finding, ...]]:
    """Every closed shape, the larger ones first, and everything to be told."""
    painted: list[tuple[Region, Key, str]] = []
    refuse_tangled(reading)
    for hatch in reading.hatched:
        busy("closing a hatch", partial(str, hatch.place))
        loops = [region for loop in hatch.loops for region in outlines_of(reading, loop, origin)[0]]
        region = hatched_region(loops, hatch.style)
        if region is None:
            mend = "Draw its boundaries apart from one another."
            reading.miss("a hatch is left out: too many of its boundaries cross", mend, hatch.place)
            continue
        if region.is_empty:
            reading.miss("a hatch is left out: its boundary does not close", "Draw its boundary again.", hatch.place)
        painted += [(region, hatch.key, hatch.place)]
    keys = dict.fromkeys(curve.key for curve in reading.drawn)
    for key in keys:
        busy(f"closing what is drawn in layer {key[0]}", lambda: reading.name)
        painted += outlined(reading, [curve for curve in reading.drawn if curve.key == key], origin)
    usable = [entry for entry in painted if not entry[0].is_empty and entry[0].area > 0]
    if len(usable) > MOST_SHAPES:
        raise DrawingError(f"The drawing has more than {MOST_SHAPES} shapes", reading.name, "Simplify it.")
    usable.sort(key=lambda entry: -entry[0].area)
    shapes = tuple(PaintedShape("" if layer == "0" else layer, colour, region) for region, (layer, colour), _ in usable)
    return shapes, findings_of(reading)


def refuse_tangled(reading: Reading) -> None:
    """Refuse a drawing whose outlines cross themselves, all together, more often than can be sorted out in time.

    Each is held against the same limit by itself, so hundreds just within it would take minutes.
    """
    loops = [loop for hatch in reading.hatched for loop in hatch.loops]
    loops += [(curve,) for curve in reading.drawn if curve.closed]
    count = sum(len(curve.points) for loop in loops for curve in loop)
    if len(loops) < 2 or count * (count - 1) // 2 <= MOST_PAIRS:
        return
    tangled = [loop for loop in loops if not (len(loop) == 1 and _is_plain(loop[0]))]
    lines = [
        np.vstack((curve.points, curve.points[:1])) if curve.closed else curve.points
        for loop in tangled
        for curve in loop
    ]
    if not lines:
        return
    owner = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
    if is_crowded(edges_of(np.concatenate(lines), owner)):
        what = f"The lines of {len(tangled)} outlines cross, or lie side by side, more often than can be sorted out"
        raise DrawingError(what, tangled[0][0].place, "Draw each outline so that it does not cross itself.")


def _is_plain(curve: Drawn) -> bool:
    """True for a closed curve that does not cross itself."""
    return curve.closed and (len(curve.points) < 4 or bool(shapely.Polygon(curve.points).is_valid))


def hatched_region(loops: Sequence[Region], style: int) -> Region | None:
    """What a hatch fills: islands by even-odd, or the outermost ring alone, or everything.

    None if its loops lie over one another more often than can be sorted out.
    """
    if style == IGNORE_ISLANDS or not loops:
        rings = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(loops)), return_index=True)
        return None if is_crowded(edges_of(*rings)) else shapely.union_all(loops)
    sorted_out = nested(loops)
    if sorted_out is None:
        return None
    regions = sorted_out.regions
    if style == OUTERMOST:
        regions = {k: r for k, r in regions.items() if not any(k != h and loops[h].covers(loops[k]) for h in regions)}
    return shapely.union_all(list(regions.values()))


def outlines_of(reading: Reading, curves: Sequence[Drawn], origin: Flat) -> tuple[list[Region], Closed]:
    """The regions that curves of one key enclose, and how their open ones were closed."""
    whole = [curve for curve in curves if curve.closed]
    lines = [curve.points - origin for curve in curves if not curve.closed]
    rings = [curve.points - origin for curve in whole]
    made = closed_by(lines, rings)
    if made is None:
        what = "More open lines meet than can be sorted out"
        raise DrawingError(what, curves[0].place, "Join them to polylines, or put them on layers of their own.")
    regions: list[Region] = []
    for number, ring in enumerate(rings):
        if number in made.divided:
            continue
        try:
            regions.append(svg_path.filled([ring], "evenodd"))
        except svg_path.TooCrowded:
            raise svg_path.too_crowded(whole[number].place) from None
        if not regions[-1].is_empty and not shapely.LinearRing(ring).is_simple:
            mend = "Draw it so that it does not cross itself."
            reading.miss("an outline crosses itself; every second field is taken", mend, whole[number].place)
    return [*regions, *made.outlines], made


def outlined(reading: Reading, curves: Sequence[Drawn], origin: Flat) -> list[tuple[Region, Key, str]]:
    """The regions of one layer and colour; gaps, open lines, doubles and crossings are noted."""
    key = curves[0].key
    regions, made = outlines_of(reading, curves, origin)
    where = partial(spot, reading, key[0], origin)
    reading.gaps += [(-size, where(point)) for point, size in made.gaps if size > GAP_TOLD]
    for start, end in made.left_open:
        mend = "Close it, or remove it if it is no outline."
        reading.miss(
            "a line closes nothing and is left out", mend, f"{where(start)} to {coordinates(reading, origin, end)}"
        )
    for point, size in made.tails:
        if size > GAP_TOLD:
            mend = "Nothing, if the line was only drawn too far."
            reading.miss(TAIL_CUT, mend, where(point))
    regions = [region for region in regions if not region.is_empty]
    sorted_out = nested(regions) if regions else None
    if regions and sorted_out is None:
        what = "More outlines lie over each other than can be sorted out"
        raise DrawingError(what, f'{reading.name}, layer "{key[0]}"', "Put them on layers of their own.")
    for number in sorted_out.twice if sorted_out else ():
        point = regions[number].representative_point()
        reading.miss("an outline is drawn twice; one counts", "Remove the other.", where(point))
    for _, number in sorted_out.crossing if sorted_out else ():
        point = regions[number].representative_point()
        reading.miss("two outlines cross; the smaller lies on top", "Draw each where it ends.", where(point))
    return [(region, key, "") for region in sorted_out.regions.values()] if sorted_out else []


def spot(reading: Reading, layer: str, origin: Flat, point: Point) -> str:
    """A place for the maker, in the drawing's own coordinates."""
    return f'{reading.name}, layer "{layer}", at {coordinates(reading, origin, point)}'


def coordinates(reading: Reading, origin: Flat, point: Point) -> str:
    """A point as the drawing program shows it."""
    x, y = (np.array([point.x, point.y]) + origin) / reading.scale
    return f"{x + SAME_PLACE:.3f}, {y + SAME_PLACE:.3f}"


def findings_of(reading: Reading) -> tuple[Finding, ...]:
    """Everything to be told: equal things once, with their number."""
    found = []
    for (what, mend), places in reading.missed.items():
        severity: Severity = "note" if "drawn twice" in what or what in NOTED else "look"
        more = f" and {len(places) - 1} more" if len(places) > 1 else ""
        found.append(Finding(severity, what, places[0] + more, mend, "artwork"))
    mend = "Nothing, if the ends belong together."
    for less, place in sorted(reading.gaps)[:MOST_TOLD]:
        found.append(Finding("note", f"a gap of {-less:.3f} mm was closed", place, mend, "artwork"))
    if len(reading.gaps) > MOST_TOLD:
        what = f"{len(reading.gaps) - MOST_TOLD} smaller gaps were closed"
        found.append(Finding("note", what, reading.name, mend, "artwork"))
    for layer, count in reading.hidden.items():
        what = f"{count} entities are hidden and left out"
        found.append(Finding("note", what, f'{reading.name}, layer "{layer}"', "Show the layer.", "artwork"))
    return tuple(found)
