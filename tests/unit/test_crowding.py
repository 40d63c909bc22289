"""What noding would cost is counted before: pairs of edges whose boxes overlap, edges that a line swept over meets."""

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from purfle.geometry.crowding import edges_of, is_crowded, is_swept_slowly, vertices_about


def lattice(count):
    """As many level edges as upright ones, each across all the others."""
    at = np.arange(count, dtype=float)
    level = np.stack(
        [np.column_stack((np.full(count, -1.0), at)), np.column_stack((np.full(count, count + 0.0), at))], 1
    )
    return np.concatenate((level, level[:, :, ::-1]))


@pytest.mark.parametrize(("most", "crowded"), [(1400, True), (1700, False)])
def test_a_lattice_has_as_many_pairs_as_crossings(most, crowded):
    """Forty edges across forty: 1,600 pairs, less the 80 that may touch those before and after them."""
    assert is_crowded(lattice(40), most) is crowded


def test_edges_beside_one_another_are_no_pairs_however_many():
    level = lattice(3000)[:3000]
    assert not is_crowded(level, 1)


def test_the_edges_of_a_fine_ring_are_no_crowd():
    """Two neighbours an edge, and nothing else."""
    ring = shapely.Point(0, 0).buffer(30, quad_segs=2000).exterior
    edges = edges_of(*shapely.get_coordinates([ring], return_index=True))
    assert len(edges) == 8000
    assert not is_crowded(edges, 100)


@pytest.mark.parametrize(("most", "slowly"), [(9_999, True), (10_000, False)])
def test_a_line_swept_over_upright_edges_meets_all_of_them_at_each_end(most, slowly):
    """A hundred edges, a hundred met at each."""
    upright = lattice(100)[100:]
    assert is_swept_slowly(upright, most) is slowly
    assert not is_swept_slowly(upright[:, :, ::-1], 9_999)


def test_vertices_about_a_region_are_those_of_all_whose_boxes_meet_its_own():
    """Rings in one another have all others about each, squares apart only themselves."""
    rings = [Point(0, 0).buffer(k + 1).difference(Point(0, 0).buffer(k + 0.5)) for k in range(10)]
    assert vertices_about(rings) == 10 * sum(map(shapely.get_num_coordinates, rings))
    assert vertices_about([box(2 * k, 0, 2 * k + 1, 1) for k in range(10)]) == 10 * 5
    assert vertices_about([box(0, 0, 1, 1), Polygon()]) == 5
