"""Programs read by the tests' own interpreter, which shares nothing with the writer nor with the proof.

Source: Kramer, Proctor, Messina, The NIST RS274/NGC Interpreter, version 3 (NISTIR 6556, 2000), section 3.5.3.2: the
distances from an arc's centre to its two ends may differ by 0.002 mm, or 0.0002 in, at most. From memory.
"""

import math
import re
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

Place = tuple[float, float, float]
RADII = {"G21": 0.002, "G20": 0.0002}
FLAT = 0.0005


@dataclass(frozen=True)
class Stroke:
    """One move: its line in the file (from 0), its word, where it starts and ends (mm), and the pass it belongs to."""

    line: int
    word: str
    start: Place
    end: Place
    centre: tuple[float, float] | None
    of_pass: str

    def points(self) -> list[tuple[float, float]]:
        """Seen from above, as points."""
        if self.centre is None:
            return [self.start[:2], self.end[:2]]
        cx, cy = self.centre
        radius = math.dist(self.start[:2], self.centre)
        a, b = (math.atan2(p[1] - cy, p[0] - cx) for p in (self.start, self.end))
        turn = (b - a) % (2 * math.pi) or 2 * math.pi
        turn = turn if self.word == "G3" else turn - 2 * math.pi or -2 * math.pi
        steps = max(1, math.ceil(abs(turn) / (2 * math.acos(max(0.0, 1 - FLAT / radius)))))
        middle = [a + turn * i / steps for i in range(1, steps)]
        between = [(cx + radius * math.cos(t), cy + radius * math.sin(t)) for t in middle]
        return [self.start[:2], *between, self.end[:2]]


def strokes(program: bytes) -> list[Stroke]:
    """Every move of a program, in mm. Fails on words that it does not know and on arcs that break the rule."""
    scale, rule, word, of_pass = 1.0, RADII["G21"], "", ""
    at = {"X": math.nan, "Y": math.nan, "Z": math.nan}
    found: list[Stroke] = []
    for number, line in enumerate(program.decode("ascii").splitlines()):
        if line.startswith("("):
            of_pass = line.strip("()") if line.startswith("(Pass") else of_pass
            continue
        words = re.findall(r"([A-Z])(-?[\d.]+)", line)
        assert "".join(a + b for a, b in words) == line.replace(" ", ""), line
        for letter, value in words:
            name = letter + value
            if name in RADII:
                scale, rule = (1.0 if name == "G21" else 25.4), RADII[name]
            elif letter == "G" and name not in ("G17", "G90", "G94"):
                assert name in ("G0", "G1", "G2", "G3"), line
                word = name
        given = {letter: float(value) * scale for letter, value in words if letter in "XYZIJ"}
        if not given:
            continue
        start = at["X"], at["Y"], at["Z"]
        at.update({k: v for k, v in given.items() if k in at})
        end, centre = (at["X"], at["Y"], at["Z"]), None
        if word in ("G2", "G3"):
            centre = start[0] + given.get("I", 0.0), start[1] + given.get("J", 0.0)
            apart = abs(math.dist(start[:2], centre) - math.dist(end[:2], centre))
            assert apart <= rule * scale, f"line {number + 1}: the ends of an arc are {apart:.5f} mm unlike"
        found.append(Stroke(number, word, start, end, centre, of_pass))
    return found


def cut_at(moves: list[Stroke], depth: float, radius: float) -> BaseGeometry:
    """What a cutter of this radius takes away at this depth and deeper, from moves that lie wholly below it."""
    lines = [
        shapely.LineString(m.points() if m.start[:2] != m.end[:2] else [m.start[:2]] * 2)
        for m in moves
        if m.word != "G0" and max(m.start[2], m.end[2]) <= -depth + 1e-6
    ]
    return shapely.union_all([line.buffer(radius, quad_segs=32) for line in lines])
