"""Laws of the cutting stage, on regions made at random; the outside reference is shapely's buffer of the path."""

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cutting_bench import (
    CUTTER,
    NO_PARTS,
    SHOP,
    deepest_inside,
    discs_and_boxes,
    inlay,
    job,
    layout,
    passes_of,
    path_length,
    swept,
)
from purfle import cutting
from purfle.cutting.rings import nested_rings
from purfle.cutting.walks import walks_over
from purfle.tolerances import SIDE_AS_CUT

LAWS = settings(max_examples=5, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck))


@LAWS
@given(st.integers(0, 10_000))
def test_a_recess_is_cut_whole_and_nothing_beside_it(seed: int) -> None:
    """What the passes leave of a recess, and what they take beside it, is thinner than SIDE_AS_CUT."""
    region = discs_and_boxes(seed)
    set_up = cutting.plan(job(), layout(inlay(region)), NO_PARTS, SHOP).set_ups[0]
    passes = list(set_up.programs[0].passes)
    assert deepest_inside(region.difference(swept(passes, CUTTER, 3.0))) < SIDE_AS_CUT / 2
    assert deepest_inside(swept(passes, CUTTER).difference(region)) < SIDE_AS_CUT / 2


@LAWS
@given(st.integers(0, 10_000))
def test_roughing_leaves_the_allowance_and_enters_once_for_each_room(seed: int) -> None:
    """Roughing alone leaves no more than its allowance, with one entry for each connected room and level."""
    region = discs_and_boxes(seed)
    set_up = cutting.plan(job(), layout(inlay(region)), NO_PARTS, SHOP).set_ups[0]
    roughing = passes_of(set_up, "roughing")
    rooms = region.buffer(-CUTTER.radius, quad_segs=32)
    assert deepest_inside(region.difference(swept(roughing, CUTTER, 3.0))) <= 0.1
    assert {len(one.trips) for one in roughing} == {len(getattr(rooms, "geoms", [rooms]))}


def test_clearing_paths_are_near_the_shortest_that_nested_rings_allow() -> None:
    """On each of 16 recesses the path is at most 1.07 times area(T0)/step + perimeter/2 (design goal)."""
    for seed in range(16):
        region = discs_and_boxes(seed)
        set_up = cutting.plan(job(), layout(inlay(region)), NO_PARTS, SHOP).set_ups[0]
        room = region.buffer(-CUTTER.radius - 0.1, quad_segs=32)
        bound = room.area / (0.4 * CUTTER.width) + room.length / 2
        assert path_length(passes_of(set_up, "roughing")[-1:]) <= 1.07 * bound, seed


@pytest.mark.parametrize("wider", [0.3, 0.8, 1.4])
def test_narrow_recesses_are_gone_along_their_middle_and_left_whole(wider: float) -> None:
    """Bent, closed and forked recesses hardly wider than the cutter, and the tail of a wide one: one way within the
    bound, entered in cleared wood.

    A fork of three is gone along one of its legs twice: no way in one go is shorter.
    """
    turns = np.linspace(0.0, 4.0 * np.pi, 400)
    wave = shapely.LineString(np.column_stack([12.0 * turns, 20.0 * np.sin(turns)]))
    ring = shapely.Point(0.0, 0.0).buffer(30.0, quad_segs=64).exterior
    fork = shapely.MultiLineString([[(0, 0), (40, 0)], [(40, 0), (70, 30)], [(40, 0), (44, -9)]])
    knob = shapely.Point(0.0, 0.0).buffer(5.0, quad_segs=64)
    for line, twice in ((wave, 0.0), (ring, 0.0), (fork, float(np.hypot(4, 9))), (wave.union(knob), 0.0)):
        region = line.buffer((CUTTER.width + wider) / 2.0, quad_segs=32)
        set_up = cutting.plan(job(), layout(inlay(region)), NO_PARTS, SHOP).set_ups[0]
        room = region.buffer(-CUTTER.radius, quad_segs=32)
        bound = room.area / (0.4 * CUTTER.width) + room.length / 2
        roughing = passes_of(set_up, "roughing")
        assert path_length(roughing[-1:]) <= 1.07 * bound + twice
        assert {len(one.trips) for one in roughing} == {1}
        assert all(one.leaves_more for one in roughing) or wider > 1.0  # there some are gone along both sides
        gone = swept(roughing, CUTTER, 3.0)
        for trip in passes_of(set_up, "last")[0].trips:
            assert shapely.Point(trip.start[:2]).buffer(CUTTER.radius - 0.02).within(gone)
        passes = list(set_up.programs[0].passes)
        assert deepest_inside(region.difference(swept(passes, CUTTER, 3.0))) < SIDE_AS_CUT / 2
        assert deepest_inside(swept(passes, CUTTER).difference(region)) < SIDE_AS_CUT / 2


def test_no_piece_of_a_ring_is_gone_twice() -> None:
    """Two discs joined by a neck: the way is at most all rings and twice the shortest links between them.

    The links of rings a step-over apart are that long, the one from the ring around both to the rings of the second
    disc too; a walk that went on along the ring to where that link leaves it would go most of the neck twice.
    """
    lobes = shapely.union_all([shapely.Point(x, 0).buffer(12, quad_segs=64) for x in (0, 60)])
    room = lobes.union(shapely.box(0, -1.0, 60, 1.0))
    rings = nested_rings(room, 1.2, 1.5)
    walk = walks_over(rings, 1.2)[0].line
    length = float(np.hypot(*np.diff(walk, axis=0).T).sum())
    most = sum(ring.length for ring in rings) + 2 * (len(rings) - 1) * 1.3
    assert sum(ring.length for ring in rings) < length <= most
