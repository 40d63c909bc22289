"""Laws of the fit on random partitions: discs and bars laid over one another in three woods."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely import Point, box

from purfle.errors import FitError
from purfle.fit import let_in, make_pieces
from purfle.geometry.offsetting import closing, closing_by_clipper, difference, polygonal, union_of
from purfle.geometry.partition import tiling_of
from purfle.model.pieces import DrawnArea, FitRule
from purfle.tolerances import CLOSED, SEAM_CORNER_FACTOR, SEAM_DRAWN

RULE = FitRule(cutter_radius=1.5875, seam=0.1)
FEW = settings(max_examples=6, deadline=None, derandomize=True)
FEWER = settings(max_examples=3, deadline=None, derandomize=True, phases=[Phase.generate])
"""Fits take a second: no time is spent on making a failing example smaller."""

places = st.integers(0, 300).map(lambda tenth: tenth / 10)
sizes = st.integers(20, 120).map(lambda tenth: tenth / 10)
discs = st.builds(lambda x, y, r: Point(x, y).buffer(r, quad_segs=16), places, places, sizes)
bars = st.builds(
    lambda x, y, a, b, turn: shapely.affinity.rotate(box(x, y, x + 2 * a, y + b), turn),
    places, places, sizes, sizes, st.integers(0, 89),
)  # fmt: skip
shapes = st.lists(st.tuples(st.sampled_from(["holly", "wenge", "maple"]), discs | bars), min_size=2, max_size=5)


def areas_of(laid, move=(0.0, 0.0)):
    """The visible areas of shapes laid over one another, the last on top."""
    drawn = []
    for place, (wood, shape) in enumerate(laid):
        above = [one for _, one in laid[place + 1 :]]
        seen = polygonal(difference(shape, union_of(above)) if above else shape)
        if seen.area > 0.01:
            drawn.append(DrawnArea(f"area {place}", wood, (0, 0, 0), shapely.affinity.translate(seen, *move)))
    return tuple(drawn)


def made(areas):
    pieces = make_pieces(areas, RULE)
    return pieces, [pieces.ground, *(piece.region for piece in pieces.pieces)]


@FEW
@given(shapes)
def test_pieces_tile_their_domain_and_share_their_edges(laid):
    pieces, regions = made(areas_of(laid))
    tiling = tiling_of(regions, pieces.domain)
    assert tiling.edges_shared
    assert tiling.area_apart < 1e-6
    assert abs(tiling.area_twice) < 1e-6


@FEW
@given(shapes)
def test_what_is_cut_stays_as_it_is_under_the_cutters_closing_by_either_engine(laid):
    pieces, _ = made(areas_of(laid))
    assert max(pieces.closing_residual_geos, pieces.closing_residual_clipper) <= CLOSED
    fit = let_in(pieces, RULE)
    for region in (*(insert.region for insert in fit.inserts), pieces.domain.difference(fit.recess)):
        for close in (closing, closing_by_clipper):
            beyond = close(region, RULE.cutter_radius).difference(region)
            vertices = shapely.points(shapely.get_coordinates(beyond))
            assert shapely.distance(region, vertices).max(initial=0.0) <= CLOSED


@FEW
@given(shapes)
def test_every_seam_is_as_asked_for_and_opens_only_at_junctions(laid):
    fit = let_in(make_pieces(areas_of(laid), RULE), RULE)
    assert fit.seam.narrowest >= RULE.seam - SEAM_DRAWN
    assert fit.seam.widest <= SEAM_CORNER_FACTOR * RULE.seam
    assert fit.seam.share_within >= 0.99
    parts = [insert.region for insert in fit.inserts]
    assert all(part.within(fit.recess) for part in parts)
    for number, part in enumerate(parts):
        assert all(part.distance(other) >= RULE.seam - SEAM_DRAWN for other in parts[number + 1 :])


@FEWER
@given(shapes, st.randoms(use_true_random=False))
def test_the_order_of_the_areas_makes_no_difference(laid, chance):
    areas = areas_of(laid)
    mixed = list(areas)
    chance.shuffle(mixed)
    assert made(tuple(mixed))[0] == made(areas)[0]


@FEWER
@given(shapes, st.floats(-3000, 3000), st.floats(-3000, 3000))
def test_where_the_artwork_lies_makes_no_difference(laid, x, y):
    """Moved by any amount: the same pieces and findings to the last digit, seen from their own corner.

    Inserts are shrunk where they lie; the chords of their round corners stand 0.0005 mm off at most.
    """
    here, there = fitted(areas_of(laid)), fitted(areas_of(laid, (x, y)))
    if here is None or there is None:
        assert here is there
        return
    assert [told.what for told in there.pieces.findings] == [told.what for told in here.pieces.findings]
    for one, other in zip(here.pieces.pieces, there.pieces.pieces, strict=True):
        assert at_corner(other.region, there) == at_corner(one.region, here)
    for one, other in zip(here.inserts, there.inserts, strict=True):
        assert shapely.hausdorff_distance(at_corner(one.region, here), at_corner(other.region, there)) < 0.001
    assert there.seam.widest == pytest.approx(here.seam.widest, abs=0.005)


def fitted(areas):
    """The fit, or None where it is refused."""
    try:
        return let_in(make_pieces(areas, RULE), RULE)
    except FitError:
        return None


def at_corner(region, fit):
    """The region with the corner of the fit's domain as origin, to the last digit that pieces have."""
    left, low, _, _ = fit.pieces.domain.bounds
    return shapely.transform(region, lambda places: np.round(places - (left, low), 7) + 0.0)


@FEWER
@given(shapes, st.booleans(), st.integers(0, 3).map(lambda quarter: 90.0 * quarter) | st.floats(0.0, 360.0))
def test_how_the_artwork_is_turned_makes_no_difference(laid, mirrored, degrees):
    """Turned by any angle and mirrored: as many pieces, the same findings, the same outlines.

    Within 0.005 mm: a drawing that looks the same several ways is not turned back to one and the same of them.
    """
    turn = np.radians(degrees)
    matrix = np.array(((np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn)))) @ np.diag((1 - 2 * mirrored, 1))
    drawn = areas_of(laid)
    turned = [replace(area, region=shapely.transform(area.region, lambda places: places @ matrix.T)) for area in drawn]
    here, there = fitted(drawn), fitted(tuple(turned))
    if here is None or there is None:
        assert here is there
        return
    assert sorted(one.name for one in there.inserts) == sorted(one.name for one in here.inserts)
    assert sorted(told.what for told in there.pieces.findings) == sorted(told.what for told in here.pieces.findings)
    images = [shapely.transform(piece.region, lambda places: places @ matrix) for piece in there.pieces.pieces]
    for piece in here.pieces.pieces:
        assert min(shapely.hausdorff_distance(piece.region.boundary, image.boundary) for image in images) < 0.005
    assert there.seam.widest == pytest.approx(here.seam.widest, abs=0.005)
    assert tiling_of(
        [there.pieces.ground, *(one.region for one in there.pieces.pieces)], there.pieces.domain
    ).edges_shared


@pytest.mark.parametrize("seam", [0.0, 0.05, 0.25])
def test_other_seams_are_kept_too(seam):
    rule = FitRule(1.5875, seam)
    drawn = (
        DrawnArea("a", "holly", (0, 0, 0), box(0, 0, 20, 20)),
        DrawnArea("b", "wenge", (0, 0, 0), box(20, 0, 40, 20)),
    )
    try:
        figures = let_in(make_pieces(drawn, rule), rule).seam
    except FitError as refusal:
        pytest.fail(str(refusal))
    assert figures.narrowest >= seam - SEAM_DRAWN
