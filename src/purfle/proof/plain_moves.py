"""Runs of plain moves of a program, read all at once: nearly every line is one, and each is simple.

Only what is beyond doubt is taken; whatever else there is, or could be, is left to the reader of single lines.
"""

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from purfle.proof.shelf import FURTHEST

LONGEST_LINE = 256
"""Characters in a line (NIST RS274/NGC)."""
RAPID, STRAIGHT, CLOCKWISE, COUNTER = 0, 1, 2, 3
"""Kinds of move, numbered as their G words."""
_LETTERS = b"GXYZIJF"
_LINE = "(?:G[0-3] )?(?=[XYZ])" + " ?".join(rf"(?:{letter}-?[0-9]+\.[0-9]+)?" for letter in "XYZIJF") + r"\r?\n"
_RUN = re.compile(f"(?:{_LINE})+")
_FIGURES = bytes.maketrans(_LETTERS, b" " * len(_LETTERS))
_COLUMN = np.zeros(256, np.int64)
_COLUMN[list(_LETTERS)] = np.arange(len(_LETTERS))


@dataclass(frozen=True, slots=True)
class Setting:
    """What holds before a run: the motion, the place in mm, mm in a unit, how far an arc's radii may differ (mm)."""

    motion: int
    at: tuple[float, float, float]
    scale: float
    radii: float


def plain_run(text: str, begin: int) -> str:
    """The lines from `begin` on that hold a move alone, each word once and in the common order; often none."""
    run = _RUN.match(text, begin)
    return run[0] if run else ""


@dataclass(frozen=True, slots=True)
class Moves:
    """Of n moves: rows (n, 9) of kind, start (3), end (3) and centre (2) in mm, and the feeds (mm/min) on the way."""

    rows: NDArray[np.float64]
    feeds: NDArray[np.float64]


def moves_of(run: str, setting: Setting) -> Moves | None:
    """The moves of a run; None where a line needs to be looked at by itself."""
    figures, given = _figures(run, setting.scale)
    feeds = figures[given[:, 6], 6]
    if len(figures) < run.count("\n") or not (np.abs(figures[:, :6]) <= FURTHEST).all() or not (feeds > 0).all():
        return None
    kind = _last_given(figures[:, 0], given[:, 0], float(setting.motion))
    ends = np.stack([_last_given(figures[:, 1 + i], given[:, 1 + i], setting.at[i]) for i in range(3)], axis=1)
    starts = np.vstack([setting.at, ends[:-1]])
    turns = kind >= CLOCKWISE
    centre = np.where(turns[:, None], starts[:, :2] + figures[:, 4:6], np.nan)
    sound = given[turns, 1:3].any(axis=1) & given[turns, 4:6].any(axis=1)
    if not sound.all() or given[~turns, 4:6].any():
        return None
    if not _alike(starts[turns], ends[turns], centre[turns], setting.radii):
        return None
    return Moves(np.column_stack([kind, starts, ends, centre]), feeds)


def _figures(run: str, scale: float) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """A row for each line, a column for each letter: figures in mm, and where there is one; no row if one is too long.

    The pattern of a run has made sure that every letter is followed by one figure.
    """
    written = run.encode("ascii")
    ends = np.flatnonzero(np.frombuffer(written, np.uint8) == ord("\n"))
    figures, given = np.zeros((len(ends), len(_LETTERS))), np.zeros((len(ends), len(_LETTERS)), bool)
    if np.diff(ends, prepend=-1).max() > LONGEST_LINE:
        return figures[:0], given[:0]
    letters = np.frombuffer(written.translate(None, b"0123456789.- \r"), np.uint8)
    new_line = letters == ord("\n")
    place = np.cumsum(new_line)[~new_line], _COLUMN[letters[~new_line]]
    figures[place] = [float(figure) for figure in written.translate(_FIGURES).split()]
    figures[:, 1:] *= scale
    given[place] = True
    return figures, given


def _last_given(values: NDArray[np.float64], given: NDArray[np.bool_], before: float) -> NDArray[np.float64]:
    """Each value, or the last one that was given before it."""
    last = np.maximum.accumulate(np.where(given, np.arange(1, len(values) + 1), 0))
    filled: NDArray[np.float64] = np.concatenate([[before], values])[last]
    return filled


def _alike(start: NDArray[np.float64], end: NDArray[np.float64], centre: NDArray[np.float64], radii: float) -> bool:
    """Whether all arcs keep the arc rule."""
    near, far = (np.hypot(*(place[:, :2] - centre).T) for place in (start, end))
    return bool(((np.abs(near - far) <= radii) & (near > radii) & (near <= FURTHEST)).all())
