"""Walls of wood left standing between recesses of one face: are they thick enough for their height and grain?"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import shapely
from shapely import LineString, STRtree

from purfle.geometry.offsetting import difference, grow, polygons, union_of
from purfle.geometry.thin_places import ThinPlace, chords_across, thin_places
from purfle.model.board import Board, Inlay
from purfle.model.findings import Face, Finding
from purfle.model.pieces import Region
from purfle.units import in_mm
from purfle.wood import highest_wall, least_ridge, least_wall

STAGE = "board"
ANY_GRAIN = None
"""Of recesses that are cut into inserts: their wood is glued in all round, so its grain does not count."""
Sides: TypeAlias = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Cut:
    """One recess of a face as walls see it: what it is called, where it is, how deep.

    `slope`: how far its walls go inward for each mm of depth, 0 for upright ones.
    """

    label: str
    region: Region
    depth: float
    slope: float = 0.0


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall at its weakest place: between which recesses, how thick, how high, how far off the grain it runs.

    `slope`: by how much it is thicker for each mm further down. `is_within`: a ridge with one recess on both sides.
    """

    one: str
    other: str
    chord: LineString
    height: float
    off_grain: float
    slope: float = 0.0
    is_within: bool = False

    @property
    def thickness(self) -> float:
        """How thick it is at the face."""
        return float(self.chord.length)

    @property
    def least(self) -> float:
        """How thick it has to be at the face."""
        return least_ridge(self.height, self.off_grain, self.slope)

    @property
    def foot(self) -> float:
        """How thick it is at its foot."""
        return self.thickness + self.slope * self.height


def wall_findings(board: Board, face: Face, cuts: list[Cut]) -> list[Finding]:
    """A finding for each wall between recesses of one face of the board that is too thin for its height."""
    return [_finding(wall, face) for wall in thin_walls(cuts, board.grain)]


def host_wall_findings(inlays: tuple[Inlay, ...]) -> list[Finding]:
    """The same for recesses that are cut into inserts, order by order."""
    groups: dict[tuple[Face, str], list[Cut]] = {}
    for inlay in inlays:
        if inlay.into and inlay.fit.walls is None:
            groups.setdefault((inlay.face, inlay.into), []).append(Cut(inlay.name, inlay.recess, inlay.depth))
    return [_finding(wall, face) for (face, _), cuts in sorted(groups.items()) for wall in thin_walls(cuts, ANY_GRAIN)]


def thin_walls(cuts: list[Cut], grain: float | None) -> list[Wall]:
    """Every wall between recesses that is too thin, at its weakest place; of each pair of sides one to a thin place.

    `grain`: direction of the fibres in degrees, None where it does not count.
    """
    if not cuts:
        return []
    sides = [replace(cut, region=part) for cut in cuts for part in polygons(cut.region)]
    gone = union_of([side.region for side in sides])
    width = max(least_wall(cut.depth, 0.0 if grain is None else 90.0) for cut in cuts)
    # far enough around the recesses that an edge of this box stands no nearer than a wall is wide
    around = grow(shapely.box(*gone.bounds), 3.0 * width)
    walls = [
        wall
        for thin in thin_places(difference(around, gone), width)
        for wall in _weakest(thin, gone, sides, (width, grain))
    ]
    return sorted(walls, key=lambda wall: (wall.one, wall.other, wall.chord.bounds))


def _weakest(thin: ThinPlace, gone: Region, sides: list[Cut], figures: tuple[float, float | None]) -> Iterator[Wall]:
    """The weakest place of each pair of sides along one thin place, if it is too weak."""
    width, grain = figures
    tree = STRtree([side.region for side in sides])
    candidates: dict[Sides, list[Wall]] = {}
    for chord in chords_across(thin.part, gone, width):
        first, second = sorted(int(tree.nearest(shapely.Point(end))) for end in chord.coords)
        one, other = sides[first], sides[second]
        lower, slope = min(one.depth, other.depth), one.slope + other.slope
        wall = Wall(one.label, other.label, chord, lower, _off_grain(chord, grain), slope, first == second)
        if wall.thickness < wall.least:
            candidates.setdefault((first, second), []).append(wall)
    for _, walls in sorted(candidates.items()):
        ordered = sorted(walls, key=lambda wall: round(wall.thickness / wall.least, 6))
        standing = next((wall for wall in ordered if thin.is_parted_by(wall.chord)), None)
        if standing:
            yield standing


def _off_grain(chord: LineString, grain: float | None) -> float:
    """Degrees, 0 to 90, between the way the wall runs, square to its chord, and the fibres."""
    if grain is None:
        return 0.0
    (x0, y0), (x1, y1) = chord.coords
    runs = math.degrees(math.atan2(y1 - y0, x1 - x0)) + 90.0 - grain
    return math.degrees(math.asin(min(1.0, abs(math.sin(math.radians(runs))))))


def direction_in_words(off_grain: float) -> str:
    """How a wall runs, in words.

    >>> [direction_in_words(angle) for angle in (0.0, 40.0, 90.0)]
    ['along the grain', '40° off the grain', 'across the grain']
    """
    if off_grain < 10.0:
        return "along the grain"
    return "across the grain" if off_grain > 80.0 else f"{off_grain:.0f}° off the grain"


def _finding(wall: Wall, face: Face) -> Finding:
    same = wall.one == wall.other
    between = f"two recesses of {wall.one}" if same else f"{wall.one} and {wall.other}"
    between = f"two sides of one recess of {wall.one}" if wall.is_within else between
    foot = f", {wall.foot:.1f} mm at its foot" if wall.slope else ""
    stands = f"only {wall.thickness:.1f} mm of wood stands between {between}{foot}"
    runs = direction_in_words(wall.off_grain)
    what = f"{stands}; a wall {in_mm(wall.height)} high that runs {runs} breaks below {wall.least:.1f} mm"
    middle = np.mean(wall.chord.coords, axis=0)
    at = f"{middle[0]:.1f} mm from B and {middle[1]:.1f} mm from A"
    where = f"{wall.one if same else f'{wall.one} and {wall.other}'}, {face}, {at}"
    return Finding("look", what, where, _mend(wall), STAGE, (float(middle[0]), float(middle[1])), face)


def _mend(wall: Wall) -> str:
    """Move apart, let merge where both are drawn, or cut less deep where that helps."""
    short = f"{wall.least - wall.thickness:.1f} mm"
    ways = [f"draw the ground there wider by {short}" if wall.is_within else f"move them apart by {short}"]
    if wall.is_within:
        ways.append("leave it out of the drawing")
    elif wall.one == wall.other:
        ways.append("let them run together")
    deepest = highest_wall(wall.thickness, wall.off_grain) if wall.slope == 0.0 else 0.0
    if deepest > 0.0:
        ways.append(f"cut {'it' if wall.is_within else 'one of them'} no deeper than {deepest:.1f} mm")
    return ways[0] if len(ways) == 1 else f"{', '.join(ways[:-1])}, or {ways[-1]}"
