"""Reads an SVG into painted shapes at true size, y up, in mm. What cannot be carried is listed, never dropped silently.

Source: SVG 1.1 (second edition), chapters 5 (structure, use), 7 (viewports), 11 (painting), 14.3 (clip paths).
Texts are carried where their font is at hand (`svg_text`). Not understood and listed: images, masks, filters,
gradients (their middle colour is taken), patterns, markers.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import shapely
from lxml import etree
from shapely import Polygon

from purfle.errors import DrawingError, FontError
from purfle.files import svg_path, svg_text
from purfle.files.svg_path import MOST_POINTS, Matrix, Stroke
from purfle.files.svg_style import (
    INHERITED,
    at_rules,
    colour_of,
    inherit,
    length_px,
    numbers,
    own_style,
    style_rules,
    transform_of,
)
from purfle.hard_stop import busy
from purfle.model.artwork import Colour, Drawing, PaintedShape
from purfle.model.findings import Finding
from purfle.model.pieces import Region
from purfle.tolerances import GRID

SVG = "{http://www.w3.org/2000/svg}"
LINK = "{http://www.w3.org/1999/xlink}href"
MM = 25.4 / 96
MOST_BYTES = 30_000_000
MOST_SHAPES = 3_000
"""Fills, strokes and letters. The open sets have up to 1,000 in a drawing (bench/RESULTS.md)."""
MOST_ELEMENTS = 60_000
"""Elements walked through, counted as often as they are used."""
MOST_PATH_SIGNS = 10_000_000
"""Signs of path data, counted as often as they are used."""
MOST_DASHES = 20_000
MOST_RUNS = 40
"""Runs of words in one style that are set in type: each takes a quarter of a second."""
DEEPEST = 64
FARTHEST = 100_000.0
"""What reaches further than this, mm, from the drawing's corner is a slip: no board is so large."""
INCLUDE = "{http://www.w3.org/2001/XInclude}include"
SOLID_FROM = 0.5
SILENT = {"defs", "style", "title", "desc", "metadata", "symbol", "clipPath", "linearGradient", "radialGradient",
          "marker", "pattern", "mask", "filter", "script", "namedview"}  # fmt: skip
SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
CONTAINERS = {"g", "a", "svg", "switch", "use"}
START = {"width": 100.0, "height": 100.0}


@dataclass(frozen=True, slots=True)
class Context:
    """What an element inherits on the way down: matrix to mm, style, viewport in user units, clip in mm, opacity."""

    matrix: Matrix
    style: Mapping[str, str]
    viewport: tuple[float, float]
    clip: Region | None = None
    opacity: float = 1.0
    depth: int = 0
    uses: frozenset[str] = frozenset()
    clipping: bool = False


@dataclass(slots=True)
class Reading:
    """One reading of one file: what was found, and how much of the budget is left."""

    name: str
    ids: dict[str, "etree._Element"]
    sheet: Mapping["etree._Element", Mapping[str, tuple[str, bool]]]
    shapes: list[PaintedShape] = field(default_factory=list)
    missed: dict[tuple[str, str], str] = field(default_factory=dict)
    shapes_left: int = MOST_SHAPES
    points_left: int = MOST_POINTS
    elements_left: int = MOST_ELEMENTS
    signs_left: int = MOST_PATH_SIGNS
    runs_left: int = MOST_RUNS
    folder: Path | None = None

    def miss(self, what: str, element: "etree._Element", mend: str) -> None:
        """Note what could not be carried, once a kind and element."""
        self.missed.setdefault((what, self.place(element)), mend)

    def place(self, element: "etree._Element") -> str:
        """Where an element stands, for the maker: file, line and id."""
        label = f" id “{element.get('id')}”" if element.get("id") else ""
        return f"{self.name}, line {element.sourceline}, <{local_name(element)}>{label}"


def read_svg(data: bytes, name: str, folder: Path | None = None, enlarged: float = 1.0) -> Drawing:
    """The painted shapes of an SVG at true size times `enlarged`, lowest first, their curves flattened at that size.

    Fonts of its texts may lie in `folder`.

    Raises: DrawingError for what is no SVG, has no size, holds nothing painted, or is larger than the budgets.
    """
    root = parse(data, name)
    ids: dict[str, etree._Element] = {}
    for element in root.iter(etree.Element):
        if element.get("id"):
            ids.setdefault(element.get("id"), element)
    reading = Reading(name, ids, style_rules(root), folder=folder)
    note_what_is_fetched(reading, root)
    width, height, matrix, viewport = page_of(root, name, enlarged)
    walk(reading, root, Context(matrix, INHERITED, viewport))
    if not reading.shapes:
        raise DrawingError(
            "The drawing holds no filled or stroked shape",
            name,
            "Draw closed areas with a fill, or turn text into paths.",
        )
    found = tuple(Finding("look", what, where, mend, "artwork") for (what, where), mend in reading.missed.items())
    return Drawing(width, height, tuple(reading.shapes), found, name)


def note_what_is_fetched(reading: Reading, root: "etree._Element") -> None:
    """List what a drawing would have from elsewhere, and the style rules that are for some media alone."""
    for element in root.iter(INCLUDE):
        reading.miss("an include of another file is not read", element, "Paste what it holds into the drawing.")
    for element, rule in at_rules(root):
        reading.miss(f"@{rule} in a style sheet is not read", element, "Write plain rules into the drawing itself.")


def parse(data: bytes, name: str) -> "etree._Element":
    """The root element, from data that is safe to parse: no entities, no network, bounded size."""
    if len(data) > MOST_BYTES:
        raise DrawingError(
            f"The drawing has {len(data) / 1e6:.0f} MB, more than {MOST_BYTES / 1e6:.0f}",
            name,
            "Save it without embedded pictures.",
        )
    if b"<!ENTITY" in data:
        raise DrawingError("The drawing declares entities, which are not read", name, "Save it as plain SVG.")
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, remove_comments=True, remove_pis=True
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        what = f"The drawing is not sound XML: {' '.join(str(error).split())}"
        raise DrawingError(what, name, "Save it again as plain SVG.") from None
    if root is None or root.tag != SVG + "svg":
        raise DrawingError("The file is XML, but not an SVG drawing", name, "Save it as SVG.")
    return root


def page_of(
    root: "etree._Element", name: str, enlarged: float = 1.0
) -> tuple[float, float, Matrix, tuple[float, float]]:
    """Width and height in mm, the matrix from user units to mm with y up, and the viewport in user units."""
    box = numbers(root.get("viewBox"))
    if root.get("viewBox", "").strip() and (len(box) != 4 or not np.isfinite(box).all()):
        what = f"The viewBox “{root.get('viewBox')[:60]}” is not four numbers"
        raise DrawingError(what, name, 'Give left, top, width and height, such as viewBox="0 0 80 60".')
    width = length_px(root.get("width"), box[2] if box else START["width"], name, box[2] if box else START["width"])
    height = length_px(root.get("height"), box[3] if box else START["height"], name, box[3] if box else START["height"])
    if not (width > 0 and height > 0) or (box and not (box[2] > 0 and box[3] > 0)):
        raise DrawingError("The drawing has no size", name, "Give width, height and viewBox greater than zero.")
    to_px, viewport = viewbox_fit(root, width, height)
    mm = MM * enlarged
    to_mm = np.array([[mm, 0, 0], [0, -mm, height * mm], [0, 0, 1.0]])
    return width * mm, height * mm, (to_mm @ np.vstack([to_px, [0, 0, 1]]))[:2], viewport


def viewbox_fit(element: "etree._Element", width: float, height: float) -> tuple[Matrix, tuple[float, float]]:
    """The matrix of viewBox and preserveAspectRatio into a width x height viewport, and the new viewport."""
    box = numbers(element.get("viewBox"))
    if len(box) != 4 or box[2] <= 0 or box[3] <= 0:
        return np.eye(3)[:2], (width, height)
    words = (element.get("preserveAspectRatio") or "xMidYMid meet").split()
    sx, sy = width / box[2], height / box[3]
    if words[0] != "none":
        sx = sy = max(sx, sy) if "slice" in words else min(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    fx, fy = share.get(words[0][1:4], 0.0), share.get(words[0][5:8], 0.0)
    shift_x = -box[0] * sx + (width - box[2] * sx) * fx
    shift_y = -box[1] * sy + (height - box[3] * sy) * fy
    return np.array([[sx, 0, shift_x], [0, sy, shift_y]]), (box[2], box[3])


def local_name(element: "etree._Element") -> str:
    """The element's name without its namespace; empty for foreign namespaces."""
    tag = element.tag
    return tag[len(SVG) :] if isinstance(tag, str) and tag.startswith(SVG) else ""


def times(matrix: Matrix, inner: Matrix) -> Matrix:
    """`inner` first, then `matrix`."""
    product: Matrix = np.vstack([matrix, [0, 0, 1]]) @ np.vstack([inner, [0, 0, 1]])
    return product[:2]


def walk(reading: Reading, element: "etree._Element", context: Context) -> None:
    """Paint one element and what lies below it."""
    kind = local_name(element)
    if not kind or kind in SILENT:
        return
    busy("reading it", lambda: reading.place(element))
    reading.elements_left -= 1
    if reading.elements_left < 0:
        what = f"The drawing has more than {MOST_ELEMENTS} elements, counted as often as they are used"
        raise DrawingError(what, reading.place(element), "Simplify it.")
    own = own_style(element, reading.sheet.get(element, {}))
    if own.get("display") == "none":
        return
    if kind == "text" and not context.clipping:
        write(reading, element, enter(reading, element, own, context))
        return
    if kind not in CONTAINERS and kind not in SHAPES:
        reading.miss(f"<{kind}> is not carried over", element, "Turn it into paths in your drawing program.")
        return
    inside = enter(reading, element, own, context)
    if kind in SHAPES:
        paint(reading, element, inside)
    elif kind == "use":
        follow(reading, element, inside)
    else:
        children = list(element)
        for child in children[:1] if kind == "switch" else children:
            walk(reading, child, viewport_of(element, element, inside) if kind == "svg" and context.depth else inside)


def enter(reading: Reading, element: "etree._Element", own: Mapping[str, str], context: Context) -> Context:
    """The context inside an element: its transform, style, opacity and clip added."""
    if context.depth > DEEPEST:
        raise DrawingError("The drawing nests deeper than is read", reading.place(element), "Flatten its groups.")
    for name in ("mask", "filter"):
        if own.get(name, "none") != "none":
            reading.miss(f"a {name} is left out", element, f"Draw the result without the {name}.")
    try:
        opacity = min(1.0, max(0.0, float(own.get("opacity", "1"))))
    except ValueError:
        opacity = 1.0
    turn = own.get("transform")
    matrix = times(context.matrix, transform_of(turn)) if turn else context.matrix
    inside = replace(
        context,
        matrix=matrix,
        style=inherit(context.style, own),
        opacity=context.opacity * opacity,
        depth=context.depth + 1,
    )
    clip = reading.ids.get(reference(own.get("clip-path")))
    return inside if clip is None else clipped(reading, clip, element, inside)


def reference(text: str | None) -> str:
    """The id that a url(#id) or #id names, else an empty text."""
    bare = (text or "").strip().removeprefix("url(").removesuffix(")").strip("\"' ")
    return bare[1:] if bare.startswith("#") else ""


def clipped(reading: Reading, clip: "etree._Element", element: "etree._Element", context: Context) -> Context:
    """The context narrowed by a clip path in user space."""
    matrix = times(context.matrix, transform_of(clip.get("transform")))
    if clip.get("clipPathUnits") == "objectBoundingBox":
        box = box_of(reading, element, context)
        if box is None:
            reading.miss("a clip path in parts of a group's box is left out", element, "Cut the shape itself.")
            return context
        matrix = times(context.matrix, times(box, transform_of(clip.get("transform"))))
    if (clip.get("id") or "") in context.uses:
        raise DrawingError("A clip path refers to itself", reading.place(clip), "Remove the reference.")
    own = own_style(clip, reading.sheet.get(clip, {}))
    inner = replace(
        context,
        style=inherit(INHERITED, own),
        clip=None,
        opacity=1.0,
        uses=context.uses | {clip.get("id") or ""},
        matrix=matrix,
        clipping=True,
    )
    further = reading.ids.get(reference(own.get("clip-path")))
    inner = inner if further is None else clipped(reading, further, clip, inner)
    painted, reading.shapes = reading.shapes, []
    for child in clip:
        walk(reading, child, inner)
    painted, reading.shapes = reading.shapes, painted
    region = shapely.union_all([shape.region for shape in painted], grid_size=GRID)
    return replace(context, clip=region if context.clip is None else shapely.intersection(region, context.clip))


def box_of(reading: Reading, element: "etree._Element", context: Context) -> Matrix | None:
    """The matrix from parts of a shape's own box to its user space; None for a group or an empty shape."""
    if local_name(element) not in SHAPES:
        return None
    pen, _ = outlined(reading, element, path_data(reading, element, context), context)
    points = np.array([point for contour in pen.contours for point in contour]).reshape(-1, 2)
    if len(points) < 2:
        return None
    (x, y), (width, height) = points.min(0), np.ptp(points, axis=0)
    return np.array([[width, 0, x], [0, height, y]])


def viewport_of(sized: "etree._Element", boxed: "etree._Element", context: Context) -> Context:
    """The context inside a viewport: `sized` gives place and size, `boxed` the viewBox; its edge clips."""
    where = local_name(sized)
    wide, high = context.viewport
    x, y = length_px(sized.get("x"), wide, where), length_px(sized.get("y"), high, where)
    width = length_px(sized.get("width"), wide, where, wide)
    height = length_px(sized.get("height"), high, where, high)
    at = times(context.matrix, np.array([[1, 0, x], [0, 1, y]], np.float64))
    edge = Polygon(svg_path.placed([[(0, 0), (width, 0), (width, height), (0, height)]], at)[0])
    clip = edge if context.clip is None else shapely.intersection(edge, context.clip)
    inner, viewport = viewbox_fit(boxed, width, height)
    return replace(context, matrix=times(at, inner), viewport=viewport, clip=clip)


def follow(reading: Reading, element: "etree._Element", context: Context) -> None:
    """Paint what a use element refers to."""
    target_id = reference(element.get("href") or element.get(LINK))
    target = reading.ids.get(target_id)
    if target is None:
        reading.miss("a use element refers to nothing in this file", element, "Put the shape into this file.")
        return
    if target_id in context.uses:
        raise DrawingError("A use element refers to itself", reading.place(element), "Remove the reference.")
    inside = replace(context, uses=context.uses | {target_id})
    if local_name(target) != "symbol":
        where = reading.place(element)
        x = length_px(element.get("x"), context.viewport[0], where)
        y = length_px(element.get("y"), context.viewport[1], where)
        shift = np.array([[1, 0, x], [0, 1, y]], np.float64)
        walk(reading, target, replace(inside, matrix=times(context.matrix, shift)))
        return
    own = own_style(target, reading.sheet.get(target, {}))
    inside = viewport_of(element, target, enter(reading, target, own, inside))
    for child in target:
        walk(reading, child, inside)


def paint(reading: Reading, element: "etree._Element", context: Context) -> None:
    """Add the fill and the stroke of one shape."""
    if context.style["visibility"] in ("hidden", "collapse"):
        return
    reading.shapes_left -= 1
    tolerance = svg_path.flatness(context.matrix)
    data = path_data(reading, element, context)
    reading.signs_left -= len(data)
    if reading.signs_left < 0:
        what = f"The drawing has more than {MOST_PATH_SIGNS // 1_000_000} million signs of path data"
        raise DrawingError(what, reading.place(element), "Simplify it.")
    pen, sound = outlined(reading, element, data, context)
    if reading.shapes_left < 0:
        raise too_much(reading, element)
    if not sound:
        reading.miss("path data stops at an error", element, "Draw the shape again; what stands before is kept.")
    if context.clipping:
        rings = svg_path.placed(pen.contours, context.matrix)
        add(reading, element, (0, 0, 0), filled(reading, element, rings, context.style["clip-rule"]), context)
        return
    if any(context.style[f"marker-{end}"] != "none" for end in ("start", "mid", "end")):
        reading.miss("markers on a line are left out", element, "Turn them into paths in your drawing program.")
    fill = paint_colour(reading, element, context, "fill")
    if fill is not None:
        rings = svg_path.placed(pen.contours, context.matrix)
        add(reading, element, fill, filled(reading, element, rings, context.style["fill-rule"]), context)
    line = paint_colour(reading, element, context, "stroke")
    stroke = stroke_of(reading, element, context) if line is not None and pen.contours else None
    if stroke is not None and stroke.dashes and _dashes(pen, stroke) > MOST_DASHES:
        reading.miss(f"more than {MOST_DASHES} dashes: drawn solid", element, "Make the dashes longer.")
        stroke = replace(stroke, dashes=())
    if line is not None and stroke is not None and stroke.width > 0:
        try:
            line_rings = svg_path.stroked(pen, stroke, tolerance, reading.points_left)
        except svg_path.TooManyPoints:
            raise too_much(reading, element) from None
        reading.points_left -= sum(map(len, line_rings))
        rings = svg_path.placed(line_rings, context.matrix)
        add(reading, element, line, filled(reading, element, rings, "nonzero"), context)


def outlined(reading: Reading, element: "etree._Element", data: str, context: Context) -> tuple[svg_path.FlatPen, bool]:
    """The contours of path data in its own units, no more points than are left; and whether it was sound."""
    try:
        pen, sound = svg_path.outline_of(data, svg_path.flatness(context.matrix), reading.points_left)
    except svg_path.TooManyPoints:
        raise too_much(reading, element) from None
    reading.points_left = pen.left
    return pen, sound


def filled(reading: Reading, element: "etree._Element", rings: list[svg_path.Ring], rule: str) -> Region:
    """The region that rings in mm fill."""
    try:
        return svg_path.filled(rings, rule)
    except svg_path.TooCrowded:
        raise svg_path.too_crowded(reading.place(element)) from None


def too_much(reading: Reading, element: "etree._Element") -> DrawingError:
    """The refusal of a drawing that is larger than the budgets of shapes and points."""
    what = f"The drawing has more than {MOST_SHAPES} shapes or {MOST_POINTS} points"
    return DrawingError(what, reading.place(element), "Simplify it.")


def _dashes(pen: svg_path.FlatPen, stroke: Stroke) -> float:
    """How many dashes a line would have."""
    length = sum(np.hypot(*np.diff(contour, axis=0).T).sum() for contour in pen.contours if len(contour) > 1)
    return float(length) / sum(stroke.dashes) * len(stroke.dashes)


def write(reading: Reading, element: "etree._Element", context: Context) -> None:
    """Add the letters of a text whose font is at hand; list the others."""
    lines = list(svg_text.words_of(element, context.style, reading.sheet))
    unusual = svg_text.unusual_in(element)
    reading.shapes_left -= sum(len(words.text) for words in lines)
    if reading.shapes_left < 0:
        raise too_much(reading, element)
    mend = "Turn the text into outlines in your drawing program, or put its font beside the drawing."
    reading.runs_left -= sum(bool(words.text.strip()) for words in lines)
    try:
        if unusual or reading.runs_left < 0:
            raise FontError(f"{unusual} is not understood" if unusual else f"there are more than {MOST_RUNS}")
        placed = svg_text.set_in_type(lines, reading.folder, svg_path.flatness(context.matrix))
    except (FontError, DrawingError) as reason:
        reading.miss(f"a text is not carried over: {reason.faults[0].what}", element, mend)
        return
    for words, region, family in placed:
        inside = replace(context, style=words.style)
        if words.style["visibility"] != "visible":
            continue
        if family:
            reading.miss(f"a text is set in {family}", element, mend)
        if words.style["stroke"] != "none":
            reading.miss("the stroke of a text is left out", element, mend)
        fill = paint_colour(reading, element, inside, "fill")
        if fill is not None:
            matrix = context.matrix
            shape = shapely.transform(region, lambda xy, matrix=matrix: xy @ matrix[:, :2].T + matrix[:, 2])
            add(reading, element, fill, shape, inside)


def paint_colour(reading: Reading, element: "etree._Element", context: Context, name: str) -> Colour | None:
    """The colour of the fill or stroke, None where there is none; opacity and gradients judged here."""
    try:
        colour = colour_of(context.style[name], context.style["color"])
    except ValueError:
        colour = gradient_colour(reading, element, context.style[name])
    try:
        opacity = context.opacity * float(context.style[f"{name}-opacity"])
    except ValueError:
        opacity = context.opacity
    if colour is None or opacity >= 1 - 1 / 255:
        return colour
    if opacity < SOLID_FROM:
        reading.miss(f"a {name} of {opacity:.0%} opacity is left out", element, "Make it solid, or remove it.")
        return None
    reading.miss(f"a {name} of {opacity:.0%} opacity counts as solid", element, "Give it the colour that it shows.")
    return colour


def gradient_colour(reading: Reading, element: "etree._Element", text: str) -> Colour | None:
    """The middle colour of a gradient's stops, and a note; None where there are none."""
    source = reading.ids.get(reference(text.split(")")[0] + ")"))
    seen: set[str] = set()
    while source is not None and not len(source) and (source.get("href") or source.get(LINK)):
        target = reference(source.get("href") or source.get(LINK))
        source = None if target in seen else reading.ids.get(target)
        seen.add(target)
    colours = []
    for stop in source if source is not None else []:
        style = own_style(stop, {})
        said = style.get("stop-color") or stop.get("stop-color") or "#000"
        try:
            colours.append(colour_of(said, "#000"))
        except ValueError:
            continue
    solid = [colour for colour in colours if colour is not None]
    mend = "Give it one plain colour: a piece of wood has one."
    reading.miss("a paint that is no plain colour is taken as its middle colour", element, mend)
    if not solid:
        return None
    red, green, blue = (round(v) for v in np.mean(solid, axis=0))
    return red, green, blue


def stroke_of(reading: Reading, element: "etree._Element", context: Context) -> Stroke:
    """How the shape's line is stroked, in its own units."""
    style, where = context.style, reading.place(element)
    diagonal = math.hypot(*context.viewport) / math.sqrt(2)
    dashes = [] if style["stroke-dasharray"] == "none" else style["stroke-dasharray"].replace(",", " ").split()
    lengths = tuple(length_px(dash, diagonal, where) for dash in dashes)
    if len(lengths) % 2:
        lengths *= 2
    if not sum(lengths) > 0 or min(lengths, default=0) < 0:
        lengths = ()
    cap = style["stroke-linecap"] if style["stroke-linecap"] in svg_path.CAPS else "butt"
    join = style["stroke-linejoin"] if style["stroke-linejoin"] in svg_path.JOINS else "miter"
    limit = (numbers(style["stroke-miterlimit"]) or [4.0])[0]
    offset = length_px(style["stroke-dashoffset"], diagonal, where)
    return Stroke(length_px(style["stroke-width"], diagonal, where), cap, join, limit, lengths, offset)


def add(reading: Reading, element: "etree._Element", colour: Colour, region: Region, context: Context) -> None:
    """Keep one painted region, clipped."""
    if context.clip is not None and not region.is_empty:
        region = shapely.intersection(region, context.clip, grid_size=GRID)
    parts = [part for part in shapely.get_parts(region) if part.geom_type == "Polygon" and part.area > 0]
    if not all(abs(bound) <= FARTHEST for part in parts for bound in part.bounds):
        mend = "Look for a slip in its numbers or transforms."
        reading.miss(f"a shape reaches further than {FARTHEST / 1000:.0f} m, so it is left out", element, mend)
    elif parts:
        name = element.get("id") or ""
        reading.shapes.append(PaintedShape(name, colour, parts[0] if len(parts) == 1 else shapely.multipolygons(parts)))


def path_data(reading: Reading, element: "etree._Element", context: Context) -> str:
    """Path data of any basic shape, in its own units."""
    kind, (wide, high) = local_name(element), context.viewport
    where = reading.place(element)
    diagonal = math.hypot(wide, high) / math.sqrt(2)

    def size(name: str, whole: float) -> float:
        return length_px(element.get(name), whole, where)

    if kind == "path":
        return element.get("d") or ""
    if kind == "rect":
        x, y, w, h = size("x", wide), size("y", high), size("width", wide), size("height", high)
        rx, ry = (length_px(element.get(n), whole, where, -1.0) for n, whole in (("rx", wide), ("ry", high)))
        return rectangle(x, y, w, h, (ry if rx < 0 else rx, rx if ry < 0 else ry))
    if kind == "circle":
        radius = size("r", diagonal)
        return oval(size("cx", wide), size("cy", high), radius, radius)
    if kind == "ellipse":
        return oval(size("cx", wide), size("cy", high), size("rx", wide), size("ry", high))
    if kind == "line":
        return f"M{size('x1', wide)} {size('y1', high)}L{size('x2', wide)} {size('y2', high)}"
    points = numbers(element.get("points"))
    points = points[: len(points) // 2 * 2]
    data = "M" + " ".join(map(repr, points)) if len(points) >= 4 else ""
    return data + "Z" if data and kind == "polygon" else data


def rectangle(x: float, y: float, w: float, h: float, round_by: tuple[float, float]) -> str:
    """Path data of a rectangle with elliptical corners (`round_by`; negative: none)."""
    if w <= 0 or h <= 0:
        return ""
    a, b = min(max(round_by[0], 0.0), w / 2), min(max(round_by[1], 0.0), h / 2)
    if a == 0 or b == 0:
        return f"M{x} {y}h{w}v{h}h{-w}z"
    sides = (f"h{w - 2 * a}", f"v{h - 2 * b}", f"h{2 * a - w}", f"v{2 * b - h}")
    corners = ((a, b), (-a, b), (-a, -b), (a, -b))
    body = "".join(f"{side}a{a} {b} 0 0 1 {dx} {dy}" for side, (dx, dy) in zip(sides, corners, strict=True))
    return f"M{x + a} {y}{body}z"


def oval(cx: float, cy: float, rx: float, ry: float) -> str:
    """Path data of an ellipse."""
    if rx <= 0 or ry <= 0:
        return ""
    return f"M{cx + rx} {cy}A{rx} {ry} 0 1 1 {cx - rx} {cy}A{rx} {ry} 0 1 1 {cx + rx} {cy}z"
