"""Banding, a fan, a star, stringing and words, each as a small job: made, read back and proven, counted as they lie."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import Polygon

from conftest import SMALL_SHOP
from purfle import job as flow
from purfle.model.board import Inlay
from purfle.model.job import JobResult
from purfle.model.pieces import Insert

SHOP = SMALL_SHOP + "".join(
    f'[[offcut]]\nname = "{wood}"\nwood = "{wood}"\noutline = "220 x 120 mm"\nthickness = 3.6\n'
    for wood in ("holly", "padauk", "wenge")
)
HEAD = """
[job]
name = "Small panel"
units = "mm"
[board]
wood = "black walnut"
length = 110
width = 100
thickness = 12
[fit]
seam = 0.1
cutter = "1/16 in straight"
"""
COMMON = "depth = 2\ncentred = true\n"
BANDING = """
[[banding]]
along = "frame"
size = [52, 40]
width = 9
block = 13
woods = ["holly", "wenge"]
line = 2
line_wood = "padauk"
"""
FAN = """
[[shape]]
kind = "fan"
radius = 36
blades = 5
spread = 120
hub = 8
scalloped = true
woods = ["holly", "padauk"]
"""
STAR = """
[[shape]]
kind = "star"
points = 8
diameter = 70
waist = 34
woods = ["holly", "wenge"]
"""
DISC = '[[shape]]\nkind = "disc"\ndiameter = 16\nwood = "padauk"\n'
EDGES = '[[stringing]]\nalong = "edges"\nfrom_edge = 8\nwidth = 3\ncorner_radius = 9\nwood = "holly"\ndepth = 2\n'
PATH = '[[stringing]]\nalong = "path"\npath = "M 0 0 C 12 -24 30 -24 36 0 L 50 0"\nwidth = 2.5\nwood = "padauk"\n'
LINE = '[[lettering]]\ntext = "OK"\nheight = 13\nweight = "bold"\nwood = "holly"\n'
CIRCLE = '[[lettering]]\ntext = "BY ME"\nheight = 9\nweight = "bold"\ncircle = 68\nspacing = 1\nwood = "padauk"\n'


def clockwise(inserts: list[Insert], middle: tuple[float, float]) -> list[float]:
    """Directions of inserts from a middle, clockwise from the top, degrees from -22.5 to 337.5."""
    places = [(one.region.centroid.x - middle[0], one.region.centroid.y - middle[1]) for one in inserts]
    return [(math.degrees(math.atan2(x, y)) + 22.5) % 360.0 - 22.5 for x, y in places]


def banding_is_mitred(inlay: Inlay) -> None:
    """Lines and end blocks of two sides meet on the diagonal of each corner (closed form), a seam apart."""
    outer = {one.name: one.region for one in inlay.fit.inserts if one.name.endswith("outer line")}
    assert sorted(outer) == [f"banding {side} outer line" for side in ("back", "front", "left", "right")]
    assert outer["banding front outer line"].area == pytest.approx((52 + 48) / 2 * 2 - 0.1 * 52, rel=0.03)
    assert outer["banding front outer line"].area == pytest.approx(outer["banding back outer line"].area, abs=0.01)
    left, low, right, high = shapely.total_bounds([one.region for one in inlay.fit.inserts])
    assert (right - left, high - low) == pytest.approx((51.9, 39.9), abs=0.02)
    # where four pieces meet the cutter rounds them all, so the mitre is looked at between those places
    for start, end in ((0.7, 1.4), (3.2, 6.2), (7.6, 8.5)):
        mitre = shapely.LineString([(left + start, low + start), (left + end, low + end)])
        crossed = [one.name for one in inlay.fit.inserts if one.region.intersection(mitre).length > 0.15]
        assert crossed == [], f"a seam runs along the mitre from {start} to {end} mm"


def fan_has_whole_blades(inlay: Inlay) -> None:
    """Five blades, each one piece, symmetrical about the upright line, with sound feet at the hub."""
    inserts = sorted(inlay.fit.inserts, key=lambda one: one.name)
    assert [one.name for one in inserts] == [f"fan blade {n}" for n in range(1, 6)]
    areas = [one.region.area for one in inserts]
    assert areas == pytest.approx(areas[::-1], rel=1e-3)
    assert min(areas) > 0.97 * max(areas)


def star_is_counted_clockwise(inlay: Inlay) -> None:
    """The halves of each wood run clockwise, the first one about the top; all of a wood are alike."""
    middle = next(one for one in inlay.fit.inserts if one.name == "disc").region.centroid
    for side, wood in (("left", "holly"), ("right", "wenge")):
        halves = [one for one in inlay.fit.inserts if one.wood == wood]
        assert [one.name for one in halves] == [f"star point {n} {side}" for n in range(1, 9)]
        directions = clockwise(halves, (middle.x, middle.y))
        assert directions == sorted(directions)
        assert [one.region.area for one in halves] == pytest.approx([halves[0].region.area] * 8, rel=1e-3)


def stringing_runs_round(inlay: Inlay) -> None:
    """Strips along all edges, as wide as asked for less the seam; the path is one bent strip of its full length.

    Length of the curve by Gauss's formula with 64 places (from memory), plus the straight end.
    """
    path = next(one.region for one in inlay.fit.inserts if one.wood.startswith("padauk"))
    assert isinstance(path, Polygon)
    at, weights = np.polynomial.legendre.leggauss(64)
    t = (at + 1.0) / 2.0
    points = np.array([(0.0, 0.0), (12.0, -24.0), (30.0, -24.0), (36.0, 0.0)])
    first, second, third = np.diff(points, axis=0)[:, None, :]
    speed = 3 * (first * ((1 - t) ** 2)[:, None] + second * (2 * t * (1 - t))[:, None] + third * (t**2)[:, None])
    curve = float(np.hypot(*speed.T) @ weights / 2.0)
    assert path.area / 2.4 == pytest.approx(curve + 14.0, rel=0.02)
    edges = [one.region for one in inlay.fit.inserts if one.wood == "holly"]
    left, low, right, high = shapely.total_bounds(edges)
    assert (right - left, high - low) == pytest.approx((110 - 16.1, 100 - 16.1), abs=0.02)
    straight = 2 * (94 - 18) + 2 * (84 - 18) + math.pi * (9**2 - 6**2) / 3
    assert sum(one.area for one in edges) == pytest.approx(straight * 3 - 0.1 * 340, rel=0.02)


def words_stand_where_they_belong(inlay: Inlay) -> None:
    """The line stands level; the letters of the circle stand all about as far from its middle."""
    line = [one.region for one in inlay.fit.inserts if one.wood == "holly"]
    assert len(line) >= 2
    assert {one.wood for one in inlay.fit.inserts} == {"holly", "padauk_african"}
    placed = [
        inlay.pose.region(one.region) for one in inlay.fit.inserts if one.wood != "holly" and one.region.area > 15
    ]
    away = [one.centroid.distance(shapely.Point(55, 50)) for one in placed]
    assert len(away) >= 4
    assert all(34 < one < 43 for one in away)


@dataclass(frozen=True)
class Build:
    """The artworks of a job, and what has to hold of them besides being proven."""

    artworks: str
    holds: Callable[[Inlay], None]


BUILDS = {
    "banding": Build(BANDING + COMMON, banding_is_mitred),
    "fan": Build(FAN + COMMON, fan_has_whole_blades),
    "star": Build(STAR + COMMON + DISC + COMMON, star_is_counted_clockwise),
    "stringing": Build(EDGES + PATH + COMMON, stringing_runs_round),
    "words": Build(LINE + COMMON + CIRCLE + COMMON, words_stand_where_they_belong),
}


def made(folder: Path, artworks: str) -> tuple[JobResult, dict[str, bytes]]:
    (folder / "shop.toml").write_text(SHOP)
    (folder / "job.toml").write_text(HEAD + artworks)
    return flow.make(folder)


@pytest.mark.parametrize("name", BUILDS)
def test_a_ready_build_is_proven(tmp_path: Path, name: str) -> None:
    """From its sizes to files that were read back, nothing said that stops."""
    result, files = made(tmp_path, BUILDS[name].artworks)
    assert result.proof is not None
    assert result.proof.proven, [finding.what for finding in result.proof.findings]
    assert flow.stops(result) == ()
    assert files["small-panel-bench-sheets.pdf"].startswith(b"%PDF")
    (inlay,) = result.layout.inlays
    BUILDS[name].holds(inlay)


def test_a_fan_whose_blades_meet_in_a_point_is_told(tmp_path: Path) -> None:
    """From which hub on the blades are 0.8 mm wide: 0.4 / sin(half a blade's angle), in closed form."""
    (tmp_path / "shop.toml").write_text(SHOP)
    (tmp_path / "job.toml").write_text(HEAD + FAN.replace("hub = 8\n", "") + COMMON)
    job, shop = flow.read_job_folder(tmp_path)
    (finding,) = flow.design_of(job, shop).findings
    assert finding.severity == "note"
    assert finding.what.startswith("Where its blades meet, each is narrower than 0.8 mm")
    assert (finding.where, 0.4 / math.sin(math.radians(12)) < 2.0) == ("fan", True)
    assert finding.mend == 'Give hub = "2 mm" or more, or let a disc in over the point.'


def test_wood_that_is_missing_is_a_stop_said_once(tmp_path: Path) -> None:
    """The plan says what to buy; that its place stays empty, as the dry fit finds too, is the same thing."""
    (tmp_path / "shop.toml").write_text(SHOP[: SHOP.index('[[offcut]]\nname = "padauk"')])
    (tmp_path / "job.toml").write_text(HEAD + DISC + COMMON)
    result, _ = flow.make(tmp_path)
    assert result.proof is not None
    assert not result.proof.proven
    assert len(flow.stops(result)) == 2
    (stop,) = [one for one in flow.said_once(result) if one.severity == "stop"]
    assert stop.what.startswith("African padauk: there is no African padauk on the rack")
    assert stop.mend.startswith("buy a board of ")
