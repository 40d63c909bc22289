"""The ready artworks of a job file: [[shape]], [[stringing]], [[banding]] and [[lettering]]."""

from pathlib import Path

from purfle.errors import FontError
from purfle.files.job_place import Place, depth_of, pair_of, place_of
from purfle.files.named_woods import check_wood, wood_in
from purfle.files.toml_table import MORE_THAN_NOTHING, Table
from purfle.model.board import Board
from purfle.model.findings import FACES
from purfle.model.job import Distance, ReadyKind, ReadyRule
from purfle.model.ready import (
    Banding,
    Butterfly,
    Diamond,
    Disc,
    Fan,
    Form,
    FrameTrack,
    Letter,
    Lettering,
    Oval,
    PathTrack,
    Rectangle,
    RingTrack,
    Star,
    StraightTrack,
    Stringing,
    Track,
)

SHAPES = ("disc", "oval", "rectangle", "diamond", "butterfly", "fan", "star")
SIDES = ("front", "back", "left", "right")
BANDED = ("edges", *SIDES, "frame", "line")
STRUNG = (*BANDED, "circle", "path")
MOST_BLADES, MOST_POINTS = 60, 64
"""More blades or points than these are no wider than a cutter at any size that fits a board."""
WIDEST = 1000.0
"""No strip, block or letter (mm) is larger."""
LONGEST_PATH = 20_000
"""Path data longer than this many signs belongs in a drawing of its own."""
WEIGHTS = {
    "thin": 100,
    "extralight": 200,
    "light": 300,
    "regular": 400,
    "medium": 500,
    "semibold": 600,
    "bold": 700,
    "extrabold": 800,
    "black": 900,
}
"""Words for weights. Source: OpenType, table OS/2, usWeightClass."""
UP, DOWN = 90.0, 270.0
Drawn = tuple[Form, tuple[str, ...], Place | None, tuple[Path, ...]]
"""A form, its woods, the place that it brings along (None: the table says it), and files that it was made from."""


def ready_artwork(key: str, table: Table, board: Board, folder: Path) -> ReadyRule:
    """The ready artwork of a table called `key`; `folder`: where the files that it names are looked for."""
    if key == "lettering":
        return lettering(table, board, folder)
    return {"shape": shape, "stringing": stringing, "banding": banding}[key](table, board)


def shape(table: Table, board: Board) -> ReadyRule:
    """A ready shape: its distances locate its middle unless it says otherwise."""
    kind = table.choice("kind", SHAPES)
    form = _shape(table, kind)
    most = {"fan": MOST_BLADES, "star": 2}.get(kind, 1)
    woods = woods_of(table, most)
    if isinstance(form, Star):
        form = Star(form.diameter, form.points, form.waist, halved=len(woods) == 2)
    return _rule(table, board, "shape", (kind, (form, woods, None, ())))


def stringing(table: Table, board: Board) -> ReadyRule:
    """A line of stringing."""
    along = table.choice("along", STRUNG)
    width = table.length("width", limits=(MORE_THAN_NOTHING[0], WIDEST))
    track, place = _track(table, along, width, board)
    longest = 0.0 if along == "path" else table.length("longest", 0.0)
    form = Stringing(track, width, longest)
    return _rule(table, board, "stringing", ("stringing", (form, woods_of(table, 1), place, ())))


def banding(table: Table, board: Board) -> ReadyRule:
    """A patterned strip."""
    along = table.choice("along", BANDED)
    width = table.length("width", limits=(MORE_THAN_NOTHING[0], WIDEST))
    track, place = _track(table, along, width, board)
    block = table.length("block", limits=(MORE_THAN_NOTHING[0], WIDEST))
    line = table.length("line", 0.0, (0.0, WIDEST))
    woods = woods_of(table, MOST_BLADES)
    if line > 0.0:
        woods = (*woods, wood_in(table, "line_wood"))
        if 2.0 * line >= width:
            table.fault("The two lines leave no room for the blocks", "line", "Make line narrower, or width wider.")
    if not isinstance(track, StraightTrack | FrameTrack):
        raise AssertionError(f"banding along {along}")
    if isinstance(track, FrameTrack) and track.corner_radius > 0.0:
        table.fault("The corners of a banding are mitred", "corner_radius", "Leave corner_radius out.")
    form = Banding(track, width, block, line)
    return _rule(table, board, "banding", ("banding", (form, woods, place, ())))


def lettering(table: Table, board: Board, folder: Path) -> ReadyRule:
    """Words in a font, at a cap height."""
    from purfle.files.fonts import BUNDLED, find_font, letters_of  # slow to load, and most jobs have no lettering

    text, height = table.text("text"), table.length("height", limits=(0.1, WIDEST))
    circle = table.length("circle") if table.has("circle") else 0.0
    inside = table.choice("side", ("outside", "inside"), "outside") == "inside"
    kerning = table.yes("kerning", True)
    letters: tuple[Letter, ...] = ()
    files: tuple[Path, ...] = ()
    try:
        face = find_font(table.text("font", BUNDLED), _weight(table), table.yes("italic", False), folder)
        letters, files = letters_of(face, text, height, kerning), (face.file,)
    except FontError as refusal:
        for fault in refusal.faults:
            table.fault(fault.what, "text" if fault.where == "text" else "font", fault.mend)
    form = Lettering(
        letters=letters,
        height=height,
        spacing=(table.as_length(table.values["spacing"], "spacing") or 0.0) if table.has("spacing") else 0.0,
        circle=circle,
        inside=inside,
        at=table.number("at", DOWN if inside else UP, -360.0, 360.0),
    )
    return _rule(table, board, "lettering", (text, (form, woods_of(table, 1), None, files)))


def woods_of(table: Table, most: int) -> tuple[str, ...]:
    """The woods: wood = "..." for one, woods = ["...", "..."] for several in turn."""
    if not table.has("woods"):
        return (wood_in(table, "wood"),)
    if table.has("wood"):
        table.fault("wood and woods stand side by side", "wood", "Keep one of them.")
    value = table.values["woods"]
    known = isinstance(value, list) and value and all(isinstance(one, str) and one.strip() for one in value)
    if not isinstance(value, list) or not known:
        table.fault("woods has to be a list of names", "woods", 'Write, for instance, woods = ["holly", "wenge"].')
        return ("",)
    if len(value) > most:
        table.fault(f"woods has {len(value)} woods", "woods", f"This takes {most} at most.")
    for one in value:
        check_wood(table, "woods", one)
    return tuple(" ".join(one.split()) for one in value)


def _shape(table: Table, kind: str) -> Form:
    """The sizes of a shape."""
    match kind:
        case "disc":
            return Disc(table.length("diameter"))
        case "fan":
            return _fan(table)
        case "star":
            return _star(table)
        case "butterfly":
            return Butterfly(table.length("length"), table.length("end_width"), table.length("waist_width"))
    length, width = table.length("length"), table.length("width")
    if kind == "rectangle":
        return Rectangle(length, width, _corner_radius(table, (length, width)))
    return Oval(length, width) if kind == "oval" else Diamond(length, width)


def _corner_radius(table: Table, size: tuple[float, float]) -> float:
    """A radius that leaves the corners of a rectangle apart."""
    radius = table.length("corner_radius", 0.0, (0.0, WIDEST))
    if 2.0 * radius > min(size):
        table.fault("corner_radius is more than half of the shorter side", "corner_radius", "Make it smaller.")
        return 0.0
    return radius


def _whole(table: Table, key: str, least: int, most: int) -> int:
    """A count that has to be there."""
    if not table.has(key):
        table.fault(f"{key} is missing in [{table.path}]", key, f"Add a line {key} = {least} to {most}")
        return least
    value = table.number(key, least, least, most)
    if value != int(value):
        table.fault(f"{key} has to be a whole number", key, f"Use {round(value)}.")
    return int(value)


def _fan(table: Table) -> Fan:
    radius = table.length("radius")
    hub = table.length("hub", 0.0, (0.0, WIDEST))
    if hub >= radius:
        table.fault("The hub is as large as the fan", "hub", "Make hub smaller than radius.")
        hub = 0.0
    blades = _whole(table, "blades", 2, MOST_BLADES)
    return Fan(radius, blades, table.number("spread", 90.0, 5.0, 360.0), hub, table.yes("scalloped", False))


def _star(table: Table) -> Star:
    diameter = table.length("diameter")
    points = _whole(table, "points", 3, MOST_POINTS)
    waist = table.length("waist", diameter / 2.0)
    if waist >= diameter:
        table.fault("The waist is as wide as the star", "waist", "Make waist, over the notches, less than diameter.")
    return Star(diameter, points, waist)


def _track(table: Table, along: str, width: float, board: Board) -> tuple[Track, Place | None]:
    """What a strip runs along, and its place where that follows from the board."""
    if along == "edges" or along in SIDES:
        return _by_the_edges(table, along, width, board)
    match along:
        case "line":
            return StraightTrack(table.length("length")), None
        case "circle":
            return RingTrack(_wider(table, "diameter", table.length("diameter"), width)), None
        case "path":
            return PathTrack(_path(table)), None
    pair = pair_of(table, table.values["size"], "size") if table.has("size") else None
    if pair is None:
        table.fault(
            f"size is missing in [{table.path}]", "size", 'Add a line size = ["120 mm", "80 mm"], along A and B'
        )
    size = pair or (WIDEST, WIDEST)
    _wider(table, "size", min(size), width)
    return FrameTrack(*size, _corner_radius(table, size)), None


def _by_the_edges(table: Table, along: str, width: float, board: Board) -> tuple[Track, Place]:
    """A strip that keeps one distance from the edges of the board, or from one of them."""
    kept = table.length("from_edge", limits=(0.0, WIDEST))
    length, across = board.length - 2.0 * kept, board.width - 2.0 * kept
    if _wider(table, "from_edge", min(length, across), width) <= 0.0:
        return FrameTrack(WIDEST, WIDEST), (Distance("centre", 0.0), Distance("centre", 0.0))
    if along == "edges":
        track = FrameTrack(length, across, _corner_radius(table, (length, across)))
        return track, (Distance("centre", 0.0), Distance("centre", 0.0))
    beside = Distance("edge" if along in ("front", "left") else "far_edge", kept + width / 2.0)
    if along in ("front", "back"):
        return StraightTrack(length), (Distance("centre", 0.0), beside)
    return StraightTrack(across), (beside, Distance("centre", 0.0))


def _wider(table: Table, key: str, size: float, width: float) -> float:
    """A size that is more than twice the width of the strip."""
    if size <= 2.0 * width:
        table.fault("The strip is too wide for what it runs along", key, "Make width smaller, or the size larger.")
    return size


def _path(table: Table) -> str:
    value = table.values.get("path") if table.has("path") else None
    if not isinstance(value, str) or not 0 < len(value.strip()) <= LONGEST_PATH:
        mend = f'Add a line path = "M 0 0 L 40 0", path data as SVG has it, in mm, of up to {LONGEST_PATH} signs.'
        table.fault(f"path is missing in [{table.path}], or is no text", "path", mend)
        return "M 0 0 L 1 0"
    return value


def _weight(table: Table) -> int | None:
    """The weight of a font, by its word or its number."""
    if not table.has("weight"):
        return None
    value = table.values["weight"]
    if isinstance(value, str):
        return WEIGHTS[table.choice("weight", tuple(WEIGHTS))]
    return int(table.number("weight", 400, 1, 1000))


def _rule(table: Table, board: Board, kind: ReadyKind, drawn: tuple[str, Drawn]) -> ReadyRule:
    """What all ready artworks say alike: name, face, depth, place, angle, mirrored."""
    name, (form, woods, place, files) = drawn
    upright = isinstance(form, Stringing | Banding) and isinstance(form.track, StraightTrack) and place is not None
    along_a, along_b = place or place_of(table)
    usual = "end" if kind == "lettering" else "middle"
    side = upright and along_b == Distance("centre", 0.0)
    fixed = place is not None
    rule = ReadyRule(
        kind=kind,
        name=table.text("name", name),
        form=form,
        woods=woods,
        along_a=along_a,
        along_b=along_b,
        to_middle=fixed or table.choice("measured_to", ("end", "middle"), usual) == "middle",
        angle=90.0 * side if fixed else table.number("angle", 0.0, -360.0, 360.0),
        mirrored=False if fixed else table.yes("mirrored", False),
        depth=depth_of(table, board),
        face=table.choice("face", FACES, "show"),
        files=files,
    )
    table.close()
    return rule
