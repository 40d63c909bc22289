"""A program for the machine, read as strictly as the machine reads it at its worst.

Source: NIST RS274/NGC (NISTIR 6556) for modal groups, line length, arc radii and I, J from the start point.
"""

import math
import re
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from purfle.errors import Fault, ProgramError
from purfle.proof.plain_moves import (
    CLOCKWISE,
    COUNTER,
    LONGEST_LINE,
    RAPID,
    STRAIGHT,
    Setting,
    moves_of,
    plain_run,
)
from purfle.proof.shelf import FURTHEST, MEND
from purfle.tolerances import ARC_RADII, ARC_RADII_INCH

MOST_FAULTS = 10
"""After so many faults the rest of a file says nothing new."""
_MM_IN_INCH = 25.4
_BLOCK = re.compile(r"(?:[A-Z]\s*[+-]?(?:\d+(?:\.\d*)?|\.\d+)\s*)*")
_WORD = re.compile(r"([A-Z])\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+))")
_GROUP = {0: "motion", 1: "motion", 2: "motion", 3: "motion", 17: "plane", 20: "units", 21: "units", 90: "distance"}
_GROUP[94] = "feed mode"
_G_WORDS = tuple(_GROUP)
_MOVES = frozenset((RAPID, STRAIGHT, CLOCKWISE, COUNTER))
_ONLY_MOVES = frozenset("XYZIJ")
_AXES = tuple(enumerate("XYZ"))
_NO_CENTRE = (math.nan, math.nan)
_STOPS = (0, 2)
_SPINDLE = (3, 5)


@dataclass(frozen=True, slots=True)
class Reading:
    """One program as the machine understands it, in mm.

    Of `n` moves: `kind` (n,), `start` and `end` (n, 3), `centre` (n, 2) of arcs, `line` (n,) where they stand in the
    file. A start that the program leaves open (before the first moves) is NaN. `cutter` is the T word.
    """

    file: str
    cutter: int
    inch: bool
    kind: NDArray[np.int64]
    start: NDArray[np.float64]
    end: NDArray[np.float64]
    centre: NDArray[np.float64]
    line: NDArray[np.int64]
    comments: tuple[str, ...]
    top_feed: float
    top_speed: float

    @property
    def deepest(self) -> float:
        """Deepest place that the cutter reaches, as a positive depth."""
        return max(0.0, -float(np.nanmin(self.end[:, 2]))) if len(self.end) else 0.0


class _Refused(Exception):
    """Why a line cannot be understood."""


@dataclass(slots=True)
class _State:
    """What the machine remembers from line to line. Positions in mm, the feed in mm/min."""

    motion: int | None = None
    scale: float | None = None
    absolute: bool = False
    plane: bool = False
    feed: float = 0.0
    speed: float = 0.0
    turning: bool = False
    cutter: int | None = None
    ended: bool = False
    at: list[float] = field(default_factory=lambda: [math.nan, math.nan, math.nan])
    rows: list[NDArray[np.float64]] = field(default_factory=list)
    top_feed: float = 0.0
    top_speed: float = 0.0


def read_program(file: str, data: bytes) -> Reading:
    """The moves of a program, or a ProgramError with file and line of every fault (the first ten)."""
    state = _State()
    faults: list[Fault] = []
    comments: list[str] = []
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise ProgramError("the program is not a text", file, MEND) from None
    done = _read_lines(file, text, state, comments, faults)
    if not faults and not state.ended:
        faults.append(Fault("the program does not end with M2", f"{file}, line {done}", MEND))
    if not faults and state.cutter is None:
        faults.append(Fault("the program names no cutter (no T word)", file, MEND))
    if faults:
        raise ProgramError.of(faults)
    return _reading(file, state, tuple(comments))


def _read_lines(file: str, text: str, state: _State, comments: list[str], faults: list[Fault]) -> int:
    """Read line after line, runs of plain moves at once; how many lines were read."""
    at, done = 0, 0
    while at < len(text) and len(faults) < MOST_FAULTS:
        setting = _setting(state)
        run = plain_run(text, at) if setting else ""
        if setting and run and _take_run(run, done + 1, setting, state):
            at += len(run)
            done += run.count("\n")
            continue
        # a run that holds something amiss, and the line after it, are looked at line by line
        end = text.find("\n", at + len(run)) + 1 or len(text)
        for line in text[at:end].splitlines():
            done += 1
            try:
                _read_line(line, done, state, comments)
            except _Refused as refused:
                faults.append(Fault(str(refused), f"{file}, line {done}", MEND))
            if len(faults) >= MOST_FAULTS:
                break
        at = end
    return done


def _reading(file: str, state: _State, comments: tuple[str, ...]) -> Reading:
    rows = np.vstack([np.empty((0, 10)), *state.rows])
    return Reading(
        file=file,
        cutter=state.cutter or 0,
        inch=state.scale == _MM_IN_INCH,
        kind=rows[:, 0].astype(np.int64),
        start=rows[:, 1:4],
        end=rows[:, 4:7],
        centre=rows[:, 7:9],
        line=rows[:, 9].astype(np.int64),
        comments=comments,
        top_feed=state.top_feed,
        top_speed=state.top_speed,
    )


def _setting(state: _State) -> Setting | None:
    """What plain moves start from, where all has been said that moves and arcs need."""
    may_cut = state.feed > 0 and state.turning and state.speed > 0 and state.cutter is not None and not state.ended
    if not (may_cut and state.absolute and state.plane) or math.isnan(sum(state.at)):
        return None
    if state.scale is None or state.motion is None:
        return None
    x, y, z = state.at
    return Setting(state.motion, (x, y, z), state.scale, _radii(state.scale))


def _take_run(run: str, number: int, setting: Setting, state: _State) -> bool:
    """Take a run of plain moves at once, if nothing is amiss in it."""
    moves = moves_of(run, setting)
    if moves is None:
        return False
    state.rows.append(np.column_stack([moves.rows, np.arange(number, number + len(moves.rows))]))
    state.motion = int(moves.rows[-1, 0])
    state.at = moves.rows[-1, 4:7].tolist()
    for feed in moves.feeds.tolist():
        state.feed = feed
        state.top_feed = max(state.top_feed, feed)
    return True


def _radii(scale: float) -> float:
    """How far the radii of an arc may differ, in mm."""
    return ARC_RADII if scale == 1.0 else ARC_RADII_INCH * _MM_IN_INCH


def _read_line(line: str, number: int, state: _State, comments: list[str]) -> None:
    if len(line) > LONGEST_LINE:
        raise _Refused(f"the line has more than {LONGEST_LINE} characters")
    if "(" in line or ")" in line:
        line = _without_comments(line, comments)
    line = line.strip().upper()
    if not line:
        return
    if state.ended:
        raise _Refused("something stands after the end of the program")
    if not _BLOCK.fullmatch(line):
        raise _Refused(f"'{line[:40]}' is not made of words of a program")
    words, g_words, m_words = _sorted_words(line)
    if m_words or not _MOVES.issuperset(g_words) or not _ONLY_MOVES.issuperset(words):
        _settings(words, g_words, m_words, state)
    _motion(words, g_words, number, state)
    if 2 in m_words:
        state.ended = True
        state.turning = False


def _without_comments(line: str, comments: list[str]) -> str:
    """The line without its comments; a comment inside a comment, or one that stays open, is refused."""
    kept, depth, begin = [], 0, 0
    for index, sign in enumerate(line):
        if sign == "(":
            depth += 1
            begin = index + 1
        elif sign == ")":
            depth -= 1
            comments.append(line[begin:index])
        elif depth == 0:
            kept.append(sign)
        if depth not in (0, 1):
            raise _Refused("a comment stands inside a comment" if depth > 1 else "a comment closes that was not opened")
    if depth:
        raise _Refused("a comment is not closed")
    return "".join(kept)


def _sorted_words(line: str) -> tuple[dict[str, float], list[int], list[int]]:
    """The line's words by letter, its G words and its M words; unknown and repeated ones are refused."""
    words: dict[str, float] = {}
    g_words: list[int] = []
    m_words: list[int] = []
    for letter, digits in _WORD.findall(line):
        value = float(digits)
        if letter == "G":
            _add_code(letter, value, _G_WORDS, g_words)
        elif letter == "M":
            _add_code(letter, value, _STOPS + _SPINDLE, m_words)
        elif letter not in "XYZIJFST":
            raise _Refused(f"the word {letter}{digits} is unknown")
        elif letter in words:
            raise _Refused(f"the word {letter} is repeated")
        else:
            words[letter] = value
    if len(g_words) > 1 or len(m_words) > 1:
        _one_of_each(g_words, m_words)
    return words, g_words, m_words


def _one_of_each(g_words: list[int], m_words: list[int]) -> None:
    """Two words of one modal group contradict each other."""
    groups = [_GROUP[code] for code in g_words] + ["stop" if code in _STOPS else "spindle" for code in m_words]
    for group in groups:
        if groups.count(group) > 1:
            raise _Refused(f"two words of one kind ({group}) stand in one line")


def _add_code(letter: str, value: float, known: tuple[int, ...], codes: list[int]) -> None:
    if value not in known:
        raise _Refused(f"the word {letter}{value:g} is unknown")
    codes.append(int(value))


def _settings(words: dict[str, float], g_words: list[int], m_words: list[int], state: _State) -> None:
    """Everything in a line that moves nothing."""
    if "S" in words:
        state.speed = words["S"]
        state.top_speed = max(state.top_speed, state.speed)
    if "T" in words:
        _take_cutter(words["T"], state)
    if 3 in m_words:
        state.turning = True
    if 5 in m_words:
        state.turning = False
    for code in g_words:
        if code in (20, 21):
            scale = _MM_IN_INCH if code == 20 else 1.0
            if state.rows and state.scale != scale:
                raise _Refused("the units change in the middle of the program")
            state.scale = scale
    state.absolute |= 90 in g_words
    state.plane |= 17 in g_words
    if "F" in words:
        if state.scale is None:
            raise _Refused("a feed stands before the units (G20 or G21)")
        state.feed = words["F"] * state.scale
        state.top_feed = max(state.top_feed, state.feed)


def _take_cutter(value: float, state: _State) -> None:
    if value != int(value) or value < 0:
        raise _Refused(f"T{value:g} is not a cutter number")
    if state.cutter is not None and state.cutter != int(value):
        raise _Refused(f"the cutter changes from T{state.cutter} to T{value:g} in the middle of the program")
    state.cutter = int(value)


def _motion(words: dict[str, float], g_words: list[int], number: int, state: _State) -> None:
    """The move of a line, if it has one."""
    asked = [code for code in g_words if code <= COUNTER]
    if asked:
        state.motion = asked[0]
    if not ("X" in words or "Y" in words or "Z" in words):
        if asked or "I" in words or "J" in words:
            raise _Refused("a move stands without X, Y or Z")
        return
    if state.motion is None:
        raise _Refused("X, Y or Z stand before any of G0, G1, G2, G3")
    if state.scale is None or not state.absolute:
        raise _Refused("a move stands before the units (G20 or G21) and absolute places (G90)")
    end = _end(words, state.scale, state.at)
    if state.motion != RAPID:
        _may_cut(end, state)
    elif math.isnan(end[2]):
        raise _Refused("the cutter moves sideways before its height is known")
    if state.motion in (CLOCKWISE, COUNTER):
        centre = _centre(words, end, state)
    elif "I" in words or "J" in words:
        raise _Refused("I or J stand in a straight move")
    else:
        centre = _NO_CENTRE
    state.rows.append(np.array([[state.motion, *state.at, *end, *centre, number]]))
    state.at = end


def _end(words: dict[str, float], scale: float, at: list[float]) -> list[float]:
    """Where a move ends, in mm: axes that the line does not name stay."""
    end = at.copy()
    for axis, letter in _AXES:
        if letter in words:
            place = end[axis] = words[letter] * scale
            if not -FURTHEST <= place <= FURTHEST:
                raise _Refused("a place is beyond any machine")
    return end


def _may_cut(end: list[float], state: _State) -> None:
    # one place that is not known makes the sum unknown
    if math.isnan(sum(state.at) + sum(end)):
        raise _Refused("a cut begins before X, Y and Z are known")
    if state.feed <= 0:
        raise _Refused("a cut stands without a feed (F)")
    if not state.turning or state.speed <= 0:
        raise _Refused("a cut stands while the spindle is still (M3 and S)")
    if state.cutter is None:
        raise _Refused("a cut stands before the cutter is named (T)")


def _centre(words: dict[str, float], end: list[float], state: _State) -> tuple[float, float]:
    """The centre of an arc, which must be equally far from its start and its end."""
    if not state.plane:
        raise _Refused("an arc stands before its plane (G17)")
    if ("X" not in words and "Y" not in words) or ("I" not in words and "J" not in words):
        raise _Refused("an arc needs X or Y, and I or J")
    scale = state.scale or 1.0
    x, y = (state.at[i] + words.get(letter, 0.0) * scale for i, letter in enumerate("IJ"))
    at_start = math.hypot(state.at[0] - x, state.at[1] - y)
    at_end = math.hypot(end[0] - x, end[1] - y)
    allowed = _radii(scale)
    if not abs(at_start - at_end) <= allowed or not allowed < at_start <= FURTHEST:
        raise _Refused(
            f"the arc's start and end lie {at_start:.4f} and {at_end:.4f} mm from its centre; they must be equally far"
        )
    return x, y
