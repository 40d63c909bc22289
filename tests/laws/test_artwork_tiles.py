"""Laws of tracing: whatever the labels, areas tile the frame and share their boundaries."""

from itertools import pairwise

import cv2
import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from purfle.artwork.arc_graph import arc_graph
from purfle.artwork.corridors import fewest_lines, held_to_edges
from purfle.artwork.crossings import moved_crossings
from purfle.artwork.curves import Ends, Stretch, at, fit_curve, fit_curves, flattened
from purfle.artwork.mixing import mixing_of
from purfle.artwork.parts import Parts, parts_of, without_specks
from purfle.artwork.strands import Line
from purfle.artwork.tiling import _touches, tile
from purfle.model.artwork import OUTSIDE

COLOURS = np.array([[30, 30, 30], [220, 210, 200], [180, 60, 40], [60, 90, 160]], np.float32)


@st.composite
def label_images(draw: st.DrawFn) -> NDArray[np.int16]:
    """Random labels, single pixels or blocks of 3: every kind of cell, thin lines, saddles, areas inside areas."""
    rows, columns = draw(st.integers(1, 7)), draw(st.integers(1, 7))
    values = draw(st.lists(st.integers(0, 3), min_size=rows * columns, max_size=rows * columns))
    labels = np.array(values, np.int16).reshape(rows, columns)
    return np.kron(labels, np.ones((3, 3), np.int16)) if draw(st.booleans()) else labels


@settings(max_examples=220, deadline=None, derandomize=True)
@given(label_images(), st.integers(0, 1000))
def test_areas_tile_the_frame_whatever_the_labels(labels: NDArray[np.int16], seed: int) -> None:
    """Areas sum to the frame, do not overlap, are as many as the raw graph's, and arcs meet only in their ends."""
    height, width = labels.shape
    noisy = COLOURS[labels] + np.random.default_rng(seed).normal(0, 25, (height, width, 3)).astype(np.float32)
    graph = arc_graph(labels)
    tiling = tile(graph, moved_crossings(graph, labels, noisy, mixing_of(labels, noisy, COLOURS, True), 2), 1.0)

    raw = []
    for chain in graph.chains:
        points = graph.raw[chain.crossings]
        ends = (
            (points[:0], points[:1]) if chain.closed else (graph.junctions[[chain.start]], graph.junctions[[chain.end]])
        )
        raw.append(shapely.LineString(np.concatenate([ends[0], points, ends[1]])))
    assert len(tiling.faces) == len(shapely.polygonize(raw).geoms)

    faces = np.array(tiling.faces, dtype=object)
    assert shapely.is_valid(faces).all()
    assert abs(float(shapely.area(faces).sum()) - width * height) < 1e-9 * width * height
    assert abs(shapely.union_all(faces).area - width * height) < 1e-6
    lines = [shapely.LineString(arc.points) for arc in tiling.arcs]
    assert all(line.is_simple for line in lines)
    # noding cuts a line wherever it meets another one: none is cut, so they meet in their ends alone
    assert len(shapely.get_parts(shapely.node(shapely.MultiLineString(lines)))) == len(lines)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(label_images())
def test_both_areas_of_an_arc_have_it_in_their_boundary(labels: NDArray[np.int16]) -> None:
    """Each arc is stored once and is, point for point, part of the boundary of the area on either side."""
    graph = arc_graph(labels)
    values = COLOURS[labels]
    tiling = tile(graph, moved_crossings(graph, labels, values, mixing_of(labels, values, COLOURS, True), 2), 0.0)
    corners = [set(map(tuple, shapely.get_coordinates(face).tolist())) for face in tiling.faces]
    for arc in tiling.arcs:
        points = set(map(tuple, arc.points.tolist()))
        for side in (arc.left, arc.right):
            assert side == OUTSIDE or points <= corners[side]


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(st.floats(-40, 40), min_size=8, max_size=8))
def test_a_fitted_curve_finds_the_cubic_its_points_lie_on_and_flattens_it_finely(numbers: list[float]) -> None:
    """Points on a gentle cubic: the fit stays within its tolerance, the polyline within 0.02 px of the fit."""
    ends = np.array([[0.0, 0.0], [60.0, 0.0]])
    inner = np.array([[20.0, numbers[0] / 3], [40.0, numbers[1] / 3]])
    cubic = np.concatenate([ends[:1], inner, ends[1:]])
    points = at(cubic, np.linspace(0, 1, 60))
    segments = fit_curve(points, 0.2, Ends())
    line = flattened(segments)
    assert shapely.distance(shapely.points(points), shapely.LineString(line)).max() < 0.2 + 0.02
    fine = np.concatenate([at(part, np.linspace(0, 1, 300)) for part in segments if len(part) == 4] or [points[:1]])
    assert shapely.distance(shapely.points(fine), shapely.LineString(line)).max() <= 0.0201


@settings(max_examples=20, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.integers(2, 90), st.floats(0.05, 0.8), st.booleans()), min_size=1, max_size=6))
def test_stretches_fitted_together_come_out_as_each_does_alone(asked: list[tuple[int, float, bool]]) -> None:
    """A stretch knows nothing of its neighbours in the batch: the same segments, one after the other, ends kept."""
    stretches = []
    for number, (count, tolerance, held) in enumerate(asked):
        angle = np.linspace(0.0, 1.0 + number, count)
        jitter = np.random.default_rng(count).normal(0.0, 0.1, (count, 2))
        points = (9.0 + 4.0 * number) * np.stack([np.cos(angle), np.sin(2.0 * angle)], axis=1) + jitter
        stretches.append(Stretch(points, tolerance, Ends(np.array([0.6, 0.8]) if held else None)))
    for stretch, together in zip(stretches, fit_curves(stretches), strict=True):
        alone = fit_curve(stretch.points, stretch.tolerance, stretch.ends)
        assert [len(part) for part in together] == [len(part) for part in alone]
        assert max(float(np.abs(one - other).max()) for one, other in zip(together, alone, strict=True)) < 1e-6
        assert (together[0][0] == stretch.points[0]).all()
        assert (together[-1][-1] == stretch.points[-1]).all()
        assert all((one[-1] == other[0]).all() for one, other in pairwise(together))


def same_parts(parts: Parts, labels: NDArray[np.int16]) -> bool:
    """Whether parts are those that OpenCV finds label by label: as many, and one for one."""
    count = 0
    for value in np.unique(labels):
        number, found = cv2.connectedComponents((labels == value).astype(np.uint8), connectivity=4)
        count += number - 1
        inside = found > 0
        pairs = np.unique(np.stack([found[inside], parts.parts[inside]]), axis=1)
        if pairs.shape[1] != number - 1 or (parts.owners[pairs[1]] != value).any():
            return False
    return count == len(parts.owners)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(label_images(), st.integers(1, 12))
def test_parts_are_those_an_outside_library_finds_also_after_specks_were_joined(
    labels: NDArray[np.int16], smallest: int
) -> None:
    """Connected parts agree with OpenCV's, before and after; only small parts change their label."""
    assert same_parts(parts_of(labels), labels)
    joined, count = without_specks(labels, smallest)
    assert same_parts(joined, joined.labels)
    sizes = np.bincount(parts_of(labels).parts.ravel())
    assert count == 0 or (sizes < smallest).any()
    # nothing but small parts changes its label
    large = (sizes >= smallest)[parts_of(labels).parts]
    assert (joined.labels[large] == labels[large]).all()


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 10_000), st.integers(2, 6), st.sampled_from([0.05, 0.25, 0.8]))
def test_lines_through_an_arcs_own_pixel_edges_never_touch_another_arc(seed: int, count: int, tolerance: float) -> None:
    """All arcs of random label images, each crossing anywhere on its own pixel edge, as few lines as can be."""
    random = np.random.default_rng(seed)
    labels = np.repeat(np.repeat(random.integers(0, count, (7, 8)), 3, axis=0), 3, axis=1).astype(np.int16)
    labels[random.random(labels.shape) < 0.1] = 0
    graph = arc_graph(labels)
    shift = random.uniform(-2.0, 2.0, len(graph.raw))
    moved = graph.raw.copy()
    moved[: graph.upright, 0] += shift[: graph.upright]
    moved[graph.upright :, 1] += shift[graph.upright :]
    lines, fewer = [], 0
    for chain in graph.chains:
        raw = graph.raw[chain.crossings]
        held = raw if chain.on_frame else held_to_edges(raw, moved[chain.crossings])
        upright = chain.crossings < graph.upright
        if chain.closed:
            places, middles = (np.concatenate([one, one[:1]]) for one in (held, raw))
            upright = np.append(upright, upright[0])
        else:
            ends = graph.junctions[[chain.start, chain.end]]
            places, middles = (np.concatenate([ends[:1], one, ends[1:]]) for one in (held, raw))
            upright = np.concatenate([upright[:1], upright, upright[-1:]])
        kept = np.arange(len(places))
        if not chain.on_frame:
            kept = fewest_lines(places, middles, upright, tolerance)
            fewer += len(places) - len(kept)
        assert (kept[0], kept[-1]) == (0, len(places) - 1)
        lines.append(Line(places[kept], ()))
    assert fewer > 0
    assert len(_touches(graph.chains, lines)) == 0


def test_a_slanting_row_of_crossings_is_one_line() -> None:
    """The border x = 4.2 + 0.3 y, measured without error: between both its ends nothing is kept; a bend stays."""
    rows = np.arange(14) + 0.5
    places = np.stack([4.2 + 0.3 * rows, rows], axis=1)
    middles = np.stack([np.rint(places[:, 0]), rows], axis=1)
    upright = np.ones(len(rows), bool)
    near = np.abs(places[:, 0] - middles[:, 0]) < 0.45
    kept = fewest_lines(places, np.where(near[:, None], middles, places), upright, 0.2)
    assert len(kept) <= 3  # 13 steps are a line of 12 and one of 1
    bent = places + np.where(rows > 7.0, 3.0 * (rows - 7.0), 0.0)[:, None] * [1.0, 0.0]
    assert 7 in fewest_lines(bent, bent, upright, 0.2) or 6 in fewest_lines(bent, bent, upright, 0.2)
