"""Regions that share every vertex: put on the grid together, their borders, their union, their groups."""

import math

import numpy as np
import pytest
import shapely
from shapely import MultiPoint, Point, box

from purfle.geometry.coverage import (
    noded_on_grid,
    noded_without_slits,
    shared_borders,
    shares_every_vertex,
    tile_edge_to_edge,
    union_of_noded,
)
from purfle.geometry.partition import border_length, within_reach
from purfle.tolerances import GRID


def checked_board(cells, turned):
    """Squares in rows, turned so that no vertex lies on the grid, neighbours sharing every vertex."""
    squares = [box(x, y, x + 1, y + 1) for y in range(cells) for x in range(cells)]
    turn = np.array([[math.cos(turned), math.sin(turned)], [-math.sin(turned), math.cos(turned)]])
    return [shapely.transform(square, lambda places: places @ turn) for square in squares]


def test_slits_are_looked_for_while_regions_are_put_on_the_grid():
    """The same regions, and whether it is known that they have no slits; regions that overlap come to nothing."""
    board = checked_board(6, 0.3)
    assert noded_without_slits(board) == (noded_on_grid(board), True)
    slit = [box(0, 0, 1, 1), box(1.0015, 0, 2, 1)]
    assert noded_without_slits(slit) == (noded_on_grid(slit), False)
    assert noded_without_slits([box(0, 0, 1, 1), box(0.5, 0, 2, 1)]) == (None, False)


def test_regions_that_share_every_vertex_still_do_on_the_grid():
    noded = noded_on_grid(checked_board(6, 0.3))
    assert shares_every_vertex(noded)
    steps = shapely.get_coordinates(list(noded)) / GRID
    assert np.abs(steps - steps.round()).max() < 1e-6


def triangles_about(places):
    corners = [(-1, -1), (2, -1), (2, 2), (-1, 2)]
    return list(shapely.get_parts(shapely.delaunay_triangles(MultiPoint(np.vstack((places, corners))))))


def test_outlines_that_the_grid_would_make_cross_are_noded():
    regions = triangles_about(np.random.default_rng(3).uniform(0, 0.01, (40, 2)))
    assert not shares_every_vertex(shapely.set_precision(regions, GRID, mode="pointwise"))
    noded = noded_on_grid(regions)
    assert shares_every_vertex(noded)
    for before, after in zip(regions, noded, strict=True):
        assert before.symmetric_difference(after).area <= GRID * before.length


def test_regions_that_overlap_or_share_no_vertices_are_left_alone():
    assert noded_on_grid([box(0, 0, 2, 2), box(1, 0, 3, 2)]) is None
    assert noded_on_grid([box(0, 0, 2, 2), box(2, 0, 3, 1)]) is None
    assert noded_on_grid([]) is None


def test_shared_borders_are_those_that_distances_show():
    regions = checked_board(4, 0.0)
    borders = shared_borders(regions)
    for one, beside in borders.items():
        for other in range(len(regions)):
            if other != one:
                by_distance = border_length(regions[one], regions[other])
                assert beside.get(other, 0.0) == pytest.approx(by_distance, abs=0.01)


def test_the_union_of_regions_that_share_every_vertex_is_that_of_an_overlay():
    regions = checked_board(5, 0.7)
    union = union_of_noded(regions[:7] + regions[12:20])
    overlay = shapely.union_all(regions[:7] + regions[12:20])
    assert union.symmetric_difference(overlay).area < 1e-9
    assert union_of_noded([]).is_empty


def test_groups_are_those_within_reach_of_one_another():
    discs = [Point(x, 0).buffer(1) for x in (0, 2.5, 5.0, 9.0, 11.5, 30.0)]
    assert sorted(within_reach(discs, 1.0)) == [[0, 1, 2], [3, 4], [5]]
    # a ring reaches what stands in it only as far as the gap between them
    ring = Point(0, 0).buffer(10).difference(Point(0, 0).buffer(9))
    assert sorted(within_reach([ring, Point(0, 0).buffer(1), Point(0, 7).buffer(1.5)], 1.0)) == [[0, 2], [1]]


def test_many_regions_tile_edge_to_edge_only_where_none_overlaps_gapes_or_lacks_a_vertex():
    squares, domain = checked_board(20, 0.0), box(0, 0, 20, 20)
    ring = box(5, 5, 9, 9).difference(box(6, 6, 8, 8))
    held = [square for square in squares if not box(5, 5, 9, 9).covers(square)]
    noded = shapely.segmentize([ring, box(6, 6, 8, 8)], 1.0).tolist()
    assert tile_edge_to_edge(squares, domain)
    assert tile_edge_to_edge([*held, *noded], domain)
    assert shapely.coverage_is_valid([*held, *noded])
    spoiled = {
        "a vertex is lacking": [*held, ring, box(6, 6, 8, 8)],
        "one lies twice": [*squares, squares[7]],
        "one is missing": squares[1:],
        "one in the middle is missing": [square for square in squares if square is not squares[210]],
        "one reaches over its neighbour": [*squares[:210], box(10, 10, 11.1, 11), *squares[211:]],
        "one stands off": [*squares[:210], box(10, 10, 10.999, 11), *squares[211:]],
    }
    assert [why for why, regions in spoiled.items() if tile_edge_to_edge(regions, domain)] == []


def test_few_regions_are_not_looked_at_edge_by_edge():
    assert not tile_edge_to_edge([box(0, 0, 1, 1)], box(0, 0, 1, 1))
