"""Areas that lie against each other but for a ten thousandth of a millimetre became other pieces by 0.36 mm.

Found by `bench/turned.py`, which moves every place by 0.0001 mm. Outlines that run along one another without common
vertices gape or overlap then. A slit of the grid's width between two areas counted as ground, and its ends as tips.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

from purfle.fit import make_pieces
from purfle.fit.cells import cells_of
from purfle.geometry.coverage import shares_every_vertex
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)


def drawn():
    lines = (Path(__file__).parent / "areas.txt").read_text().splitlines()
    said = [line.split("|") for line in lines]
    return tuple(DrawnArea(name, wood, (0, 0, 0), shapely.from_wkt(outline)) for name, wood, outline in said)


def shaken(places):
    x, y = places.T
    return places + 1e-4 * np.column_stack((np.sin(997 * x + 331 * y), np.cos(613 * x - 787 * y)))


def test_what_is_moved_by_a_grid_step_becomes_the_same_pieces():
    moved = tuple(replace(area, region=shapely.transform(area.region, shaken)) for area in drawn())
    here, there = make_pieces(drawn(), RULE), make_pieces(moved, RULE)
    assert [finding.what for finding in there.findings] == [finding.what for finding in here.findings]
    for piece, other in zip(here.pieces, there.pieces, strict=True):
        assert shapely.hausdorff_distance(piece.region.boundary, other.region.boundary) < 0.03


def test_an_open_slit_along_an_edge_is_closed():
    """The upper side of a bar runs a hair above two boxes that stand on it; no vertex of theirs is one of the bar."""
    bar = shapely.Polygon([(0, 0), (40, 0), (40, 9.99995), (0, 10.00005)])
    areas = (
        DrawnArea("bar", "holly", (0, 0, 0), bar),
        DrawnArea("left", "holly", (0, 0, 0), shapely.box(5, 10, 15, 20)),
        DrawnArea("right", "wenge", (0, 0, 0), shapely.box(25, 10, 35, 20)),
    )
    regions = [cell.region for cell in cells_of(areas)]
    assert not shares_every_vertex([bar, *(area.region for area in areas[1:])]) or bar.distance(areas[2].region) > 0.0
    assert shares_every_vertex(regions)
    assert isinstance(shapely.coverage_union_all(regions), shapely.Polygon)
