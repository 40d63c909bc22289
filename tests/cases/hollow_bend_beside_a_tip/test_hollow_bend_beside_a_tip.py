"""A hole whose blunted tip is 0.018 mm long: GEOS straightens it away while it offsets, by up to 1 % of the distance.

2 mm off such a hole, where the wall of a recess begins to be cut at full depth, the contour stood 2.015 mm off it; none
of the places that are measured of a long outline lay there, and 0.014 mm of wood was left on 10 mm of the wall.
Found among drawings of `bench/tapered.py`.
"""

import math

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from purfle.geometry import offsetting
from purfle.geometry.offsetting import even_offset, shrink
from purfle.proof.regions import grown, grown_evenly

TURNS = np.linspace(-2.6, 0.6, 40)
FAR = [(-3.0 + 9.0 * math.cos(turn), -9.2 + 10.0 * math.sin(turn)) for turn in TURNS]
TIP = [(0.8538, -0.9036), (0.4335, -0.4457), (0.0, 0.0), (0.0038, -0.0179)]
REGION = box(-30, -40, 30, 20).difference(Polygon([*FAR, *TIP]))
WAY = 2.0


def out(result) -> float:
    """By how much the worst middle of an edge is out, arcs' chords allowed for."""
    rings = [shapely.get_coordinates(ring) for ring in shapely.get_rings(shapely.get_parts(result))]
    middles = np.vstack([(ring[1:] + ring[:-1]) / 2.0 for ring in rings])
    away = shapely.distance(REGION.boundary, shapely.points(middles))
    return float(np.abs(away - WAY).max()) - WAY * (1.0 - math.cos(math.pi / 4.0 / 32))


@pytest.fixture
def unlucky(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if no measured place lay where the first engine is out."""
    monkeypatch.setattr(offsetting, "_is_offset", lambda *_: True)


@pytest.mark.usefixtures("unlucky")
def test_every_edge_of_an_even_offset_is_measured() -> None:
    assert out(shrink(REGION, WAY)) > 0.005, "the first engine is out here"
    assert out(even_offset(REGION, -WAY)) < 0.001
    whole = box(0, 0, 1, 1)
    assert even_offset(whole, 0.0).equals(whole)


@pytest.mark.usefixtures("unlucky")
def test_an_offset_that_both_engines_get_wrong_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(offsetting, "_by_clipper", lambda region, distance: shrink(region, -distance))
    with pytest.raises(offsetting.PurfleError, match="both ways of computing it are out") as caught:
        even_offset(REGION, -WAY)
    assert "x -30.0 to 30.0 mm" in caught.value.faults[0].where
    assert "simplify the outline" in caught.value.faults[0].mend


def test_the_proof_measures_sections_of_tapered_walls_all_round() -> None:
    assert out(grown(REGION, -WAY)) > 0.005, "the engine is out here"
    assert out(grown_evenly(REGION, -WAY)) < 0.001
    assert grown_evenly(REGION, 0.0).equals(REGION)
