"""Programs for the machine: one text for each cutter in each set-up, in the plainest words that every reader knows.

Words written: G0 G1 G2 G3 G17 G20 G21 G90 G94, F S M3 M5 M2, T; comments in parentheses. Positions keep 4 decimals in
mm and 5 in inches: with one fewer, rounding breaks the published arc rule now and then.

Source: NIST RS274/NGC interpreter, NISTIR 6556: start and end of an arc may differ in their distance from the centre
by 0.002 mm or 0.0002 in at most; lines of 256 characters at most; comments do not nest.
"""

import math
import re
import textwrap
import unicodedata
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal

from purfle.geometry.arcs import ArcSegment, flatten
from purfle.model.cutting import Move, Pass, Program, SetUp, Straight, Trip
from purfle.model.job import Job
from purfle.model.shop import Cutter, VCutter
from purfle.tolerances import ARC_FIT, ARC_RADII, ARC_RADII_INCH, SAME_PLACE
from purfle.units import INCH, LengthUnit, figure, show

Place = tuple[int, int, int]
"""A place in steps of the last decimal written, so that equal places are equal numbers."""

COMMENT_WIDTH = 100
"""Comments are broken at this width: far below the limit of a line, and narrow enough for a machine's screen."""
_NO_BREAK = "\x1f"
"""Stands for the space between a figure and its unit while lines are broken."""
APPROACH = 0.5
"""A rapid move ends at least this far above the wood, whatever the trip says (mm)."""
ROUNDING_ROOM = 0.9
"""Arcs are written only if their radii agree within this share of what the rule allows."""
HALF_A_STEP = 0.5
"""An arc that rises less than this over its chord, in steps, cannot be told from a straight move as written."""
TURNED_ALIKE = 0.05
"""Rounding may change the sweep of an arc by this many radians; more, and it would run the wrong way round."""


@dataclass(frozen=True, slots=True)
class _Notation:
    """How numbers are written: the unit's size in mm, decimals, the word for it, the arc rule in that unit."""

    unit: LengthUnit
    size: float
    decimals: int
    feed_decimals: int
    word: str
    radii: float

    @property
    def steps_per_mm(self) -> float:
        """Steps of the last decimal in one mm."""
        return float(10**self.decimals) / self.size


_NOTATIONS: dict[Literal["mm", "inch"], _Notation] = {
    "mm": _Notation("mm", 1.0, 4, 1, "G21", ARC_RADII),
    "inch": _Notation("inch-decimal", float(INCH), 5, 2, "G20", ARC_RADII_INCH),
}


@dataclass(slots=True)
class _Writer:
    """The program so far, and where the cutter stands."""

    notation: _Notation
    safe: int
    lines: list[str] = field(default_factory=list)
    at: Place | None = None
    feed: str = ""
    scale: float = 0.0

    def __post_init__(self) -> None:
        self.scale = self.notation.steps_per_mm

    def steps(self, mm: float) -> int:
        """The nearest step of the last decimal."""
        return round(mm * self.scale)

    def place(self, x: float, y: float, z: float) -> Place:
        """A place in steps."""
        return round(x * self.scale), round(y * self.scale), round(z * self.scale)

    def rounded_up(self, mm: float) -> int:
        """The step at or above a height: no height is ever rounded towards the wood."""
        return math.ceil(mm * self.scale - SAME_PLACE)


def write_program(job: Job, set_up: SetUp, program: Program) -> str:
    """The text of one program, ASCII, in the unit of the job's cutting rule.

    Zero is the origin of the set-up frame, on top of the wood. The cutter moves sideways at full speed at the safe
    height only, and is lifted there before the end. An arc that would break the arc rule after rounding is
    written as short straight moves, within `tolerances.ARC_FIT` of it.
    """
    writer = _Writer(_NOTATIONS[job.cutting.unit], 0)
    writer.safe = writer.rounded_up(set_up.safe_height)
    for text in _header(job, set_up, program, writer.notation.unit):
        _comment(writer, text)
    writer.lines += [
        f"G17 {writer.notation.word} G90 G94",
        f"T{program.cutter.number}",
        f"M3 S{math.floor(program.figures.speed)}",
        f"G0 Z{_written(writer, writer.safe)}",
    ]
    for one in program.passes:
        _comment(writer, _about(one, writer.notation.unit))
        for trip in one.trips:
            _trip(writer, trip, program)
    writer.lines += ["M5", "M2", ""]
    return "\n".join(writer.lines)


def _header(job: Job, set_up: SetUp, program: Program, unit: LengthUnit) -> list[str]:
    """What the maker must know before this program runs."""
    cutter = program.cutter
    left, low, right, high = set_up.outline.bounds
    size = " x ".join(figure(mm, unit) for mm in (right - left, high - low, set_up.thickness))
    face = "show face up" if set_up.face == "show" else "underside up"
    corner = "the datum corner" if set_up.stock == "board" else "the lower left corner of the offcut's bounds"
    return [
        f"Purfle: {job.name}, change {job.change}",
        f"Set-up {set_up.number}: {set_up.title}",
        f"Stock: {set_up.stock}, {size}, {face}",
        f"Cutter T{cutter.number}: {_cutter_words(cutter, unit)}; {cutter.name}",
        f"Zero: X and Y at {corner}, Z on top of the wood",
        f"Safe height: {figure(set_up.safe_height, unit, 'depth')} above the wood",
        f"Holding: {set_up.holding}",
        *_through(set_up, program, unit),
        "CAUTION: run this program in the air first, well above the wood, and watch all of it.",
    ]


def _through(set_up: SetUp, program: Program, unit: LengthUnit) -> list[str]:
    """From which pass on parts lie loose."""
    first = None if set_up.stock == "board" else program.first_through(set_up.thickness)
    if first is None:
        return []
    holds = "tape alone holds" if not set_up.on_tabs else "tabs hold" if not set_up.on_tape else "tabs and tape hold"
    into, skin = figure(first.depth - set_up.thickness, unit, "depth"), program.skin(set_up.thickness)
    below = "below what tape alone holds" if set_up.on_tabs and set_up.on_tape else "below"
    left = [f"Roughing leaves a skin of {figure(skin, unit, 'depth')} {below}"] if skin > SAME_PLACE else []
    return [
        *left,
        f"Pass {first.number} is the first through the wood, {into} into the sacrificial board: {holds} then",
    ]


def _cutter_words(cutter: Cutter, unit: LengthUnit) -> str:
    """What tells a cutter from others at the machine."""
    if isinstance(cutter, VCutter):
        return (
            f"V cutter of {2.0 * cutter.half_angle:g} degrees, flat at its tip {show(2.0 * cutter.tip_radius, unit, 4)}"
        )
    return f"width of groove {show(cutter.width, unit, 4)}"


def _about(one: Pass, unit: LengthUnit) -> str:
    return f"Pass {one.number}: {one.what}, {figure(one.depth, unit, 'depth')} deep"


def _comment(writer: _Writer, text: str) -> None:
    """A text as comments: ASCII alone, broken into short lines, no parentheses inside.

    Nor semicolons: some machines, and readers, take one for the beginning of a comment wherever it stands.
    """
    apart = unicodedata.normalize("NFKD", text.replace("ß", "ss").replace("ø", "o").replace("Ø", "O"))
    letters = "".join(sign for sign in apart if not unicodedata.combining(sign))
    plain = letters.translate(str.maketrans("();", "[],")).encode("ascii", "replace").decode("ascii")
    kept = "".join(sign if sign.isprintable() else " " for sign in plain)
    together = re.sub(r"(?<=\d) (?=(?:mm|in)\b)", _NO_BREAK, kept)
    writer.lines += [f"({line})".replace(_NO_BREAK, " ") for line in textwrap.wrap(together, COMMENT_WIDTH)]


def _trip(writer: _Writer, trip: Trip, program: Program) -> None:
    """One trip: across at the safe height, down to where the wood begins, the moves, and up again."""
    x, y, z = trip.start
    start = writer.place(x, y, z)
    above = min(writer.rounded_up(max(z, APPROACH)), writer.safe)
    writer.lines.append(f"G0 X{_written(writer, start[0])} Y{_written(writer, start[1])}")
    writer.lines.append(f"G0 Z{_written(writer, above)}")
    writer.at = (start[0], start[1], above)
    writer.feed = ""
    plunge = _feed(program.figures.plunge_feed, writer.notation)
    if start[2] < above and z < APPROACH:
        _straight(writer, start, plunge)
    here = trip.start
    for move in trip.moves:
        drop = here[2] - move.z
        plunges = drop > 0.0 and drop > math.dist(here[:2], (move.x, move.y))
        _move(writer, here, move, plunge if plunges else _feed(move.share * program.figures.feed, writer.notation))
        here = (move.x, move.y, move.z)
    writer.lines.append(f"G0 Z{_written(writer, writer.safe)}")


def _move(writer: _Writer, here: tuple[float, float, float], move: Move, feed: str) -> None:
    """One move from `here`, the unrounded place where the cutter stands."""
    end = writer.place(move.x, move.y, move.z)
    if isinstance(move, Straight):
        _straight(writer, end, feed)
        return
    arc = ArcSegment(here[:2], (move.x, move.y), (move.cx, move.cy), move.ccw)
    rise = arc.radius * (1 - math.cos(arc.sweep / 2))
    if rise * writer.scale < HALF_A_STEP:
        _straight(writer, end, feed)
        return
    centre = _fitting_centre(writer, arc, end)
    if centre is None:
        _as_chords(writer, arc, end, feed)
    else:
        _arc(writer, end, centre, move.ccw, feed)


def _straight(writer: _Writer, end: Place, feed: str) -> None:
    """A straight move; one that goes nowhere is left out, and so are axes that stay."""
    assert writer.at is not None
    (x0, y0, z0), (x, y, z), decimals = writer.at, end, writer.notation.decimals
    words = f" X{_figures(x, decimals)}" if x != x0 else ""
    words += f" Y{_figures(y, decimals)}" if y != y0 else ""
    words += f" Z{_figures(z, decimals)}" if z != z0 else ""
    if words:
        writer.lines.append(f"G1{words}{_new_feed(writer, feed)}")
        writer.at = end


def _arc(writer: _Writer, end: Place, centre: tuple[int, int], ccw: bool, feed: str) -> None:
    assert writer.at is not None
    words = f"{'G3' if ccw else 'G2'} X{_written(writer, end[0])} Y{_written(writer, end[1])}"
    words += f" Z{_written(writer, end[2])}" if end[2] != writer.at[2] else ""
    words += f" I{_written(writer, centre[0])} J{_written(writer, centre[1])}{_new_feed(writer, feed)}"
    writer.lines.append(words)
    writer.at = end


def _fitting_centre(writer: _Writer, arc: ArcSegment, end: Place) -> tuple[int, int] | None:
    """I and J of an arc in steps, seen from the rounded start; None where no rounded centre keeps the arc rule.

    The centre as told comes first, then the one on the middle line between the rounded ends: the same radius to
    both but for its own rounding.
    """
    assert writer.at is not None
    told = (writer.steps(arc.centre[0]) - writer.at[0], writer.steps(arc.centre[1]) - writer.at[1])
    if _is_sound(writer, arc, end, told):
        return told
    x, y = end[0] - writer.at[0], end[1] - writer.at[1]
    chord = math.hypot(x, y)
    if chord == 0:
        return None
    off = ((told[0] - x / 2) * -y + (told[1] - y / 2) * x) / chord
    middle = (round(x / 2 - off * y / chord), round(y / 2 + off * x / chord))
    return middle if _is_sound(writer, arc, end, middle) else None


def _is_sound(writer: _Writer, arc: ArcSegment, end: Place, centre: tuple[int, int]) -> bool:
    """Whether an arc as rounded keeps the arc rule and still turns as far as the arc planned.

    A short flat arc may be rounded so that its end comes to lie behind its start: it would become a full circle.
    """
    assert writer.at is not None
    start = (-centre[0], -centre[1])
    finish = (end[0] - writer.at[0] - centre[0], end[1] - writer.at[1] - centre[1])
    limit = writer.notation.radii * 10**writer.notation.decimals
    near, far = math.hypot(*start), math.hypot(*finish)
    if near <= 2 * limit or abs(near - far) > ROUNDING_ROOM * limit or start == finish:
        return False
    return abs(_turned(start, finish, arc.ccw) - abs(arc.sweep)) < TURNED_ALIKE


def _turned(start: tuple[float, float], finish: tuple[float, float], ccw: bool) -> float:
    """The angle from one direction to another, the way round that is told, in [0, 2 pi)."""
    angle = math.atan2(finish[1], finish[0]) - math.atan2(start[1], start[0])
    return (angle if ccw else -angle) % math.tau


def _as_chords(writer: _Writer, arc: ArcSegment, end: Place, feed: str) -> None:
    """A turn as straight moves, the depth changing evenly."""
    assert writer.at is not None
    first, last = writer.at[2], end[2]
    chords = flatten([arc], ARC_FIT)[1:-1].tolist()
    for count, (x, y) in enumerate(chords, 1):
        _straight(
            writer, (writer.steps(x), writer.steps(y), round(first + (last - first) * count / (len(chords) + 1))), feed
        )
    _straight(writer, end, feed)


def _new_feed(writer: _Writer, feed: str) -> str:
    """The F word, only where the feed changes."""
    if feed == writer.feed:
        return ""
    writer.feed = feed
    return f" F{feed}"


def _feed(mm_min: float, notation: _Notation) -> str:
    """A feed rounded down, so that no machine's limit is passed by rounding."""
    parts = math.floor(mm_min / notation.size * 10**notation.feed_decimals + SAME_PLACE)
    return _figures(max(parts, 1), notation.feed_decimals)


def _written(writer: _Writer, steps: int) -> str:
    return _figures(steps, writer.notation.decimals)


@lru_cache(maxsize=1 << 15)
def _figures(steps: int, decimals: int) -> str:
    """Steps of the last decimal as a number, at least one decimal kept."""
    whole, rest = divmod(abs(steps), 10**decimals)
    tail = f"{rest:0{decimals}d}".rstrip("0") or "0"
    return f"{'-' if steps < 0 else ''}{whole}.{tail}"
