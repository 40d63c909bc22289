"""A polygon of 205 mm2 that GEOS 3.14 shrinks by 0.74675 mm (the closing radius of a 1/16 in cutter) to nothing at all.

It is a disc of our own, grown by that radius and put on the precision grid. A geometry remembers the grid that it was
put on, and the first engine then offsets it on that grid: nothing is left, and no error is raised.
Found among random drawings of `bench/pieces.py`.
"""

import math
from pathlib import Path

import pytest
import shapely
from shapely import Point, Polygon

from purfle.fit import let_in, make_pieces
from purfle.geometry import offsetting
from purfle.geometry.offsetting import closing_by_clipper, shrink
from purfle.model.pieces import DrawnArea, FitRule
from purfle.tolerances import OFFSET_PERTURBED, QUADRANT_SEGMENTS

RADIUS = 0.74675
RULE = FitRule(cutter_radius=0.79375, seam=0.1)


def outline():
    lines = (Path(__file__).parent / "outline.txt").read_text().splitlines()
    return shapely.set_precision(Polygon([tuple(map(float, line.split())) for line in lines]), 1e-4)


def test_the_disc_comes_back_when_what_it_was_grown_by_is_taken_off():
    """Against the closed form: a convex region grown by r shrinks back to itself, area A - L r + pi r^2."""
    grown = outline()
    assert grown.is_valid
    back = shrink(grown, RADIUS)
    closed_form = grown.area - grown.length * RADIUS + math.pi * RADIUS**2
    assert back.area == pytest.approx(closed_form, abs=0.05)


def test_the_trap_is_one_still_and_the_measuring_of_results_sees_it(monkeypatch):
    """The first engine, asked on the grid, gives but crumbs; the guard refuses them, the second engine steps in.

    If the first line fails, the installed GEOS no longer has the fault, and another outline has to be looked for.
    """
    assert outline().buffer(-RADIUS, quad_segs=QUADRANT_SEGMENTS).area < 1e-3
    whole = shrink(outline(), RADIUS)
    asked = []

    def on_its_grid(region, distance):
        asked.append(distance)
        return region.buffer(distance, quad_segs=QUADRANT_SEGMENTS)

    monkeypatch.setattr(offsetting, "_by_geos", on_its_grid)
    back = shrink(outline(), RADIUS)
    assert len(asked) == 1 + len(OFFSET_PERTURBED)
    assert back.symmetric_difference(whole).area < 0.05


def test_the_disc_is_a_piece_for_that_cutter_by_both_engines():
    disc = shrink(outline(), RADIUS)
    pieces = make_pieces((DrawnArea("moon", "holly", (0, 0, 0), disc),), RULE)
    (piece,) = pieces.pieces
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= 0.005
    assert piece.region.symmetric_difference(disc).area < 0.05
    assert closing_by_clipper(pieces.ground, RADIUS).intersection(disc).area < 0.05
    assert let_in(pieces, RULE).seam.narrowest >= 0.099
    assert piece.region.contains(Point(disc.centroid))
