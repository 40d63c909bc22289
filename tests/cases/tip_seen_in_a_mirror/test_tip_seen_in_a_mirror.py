"""A drawing and its mirror image became different pieces: a tip was cut off whole in one of them.

Found by the law that motion makes no difference (`tests/laws/test_fit_laws.py`). Where a tip ends against the ground,
places are looked at along the edge of the picture from the tip on, until the piece is one cutter radius wide. That edge
came near the taker at both its ends, and which end is the tip's was left to the order of its vertices.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from purfle.fit import let_in, make_pieces
from purfle.model.pieces import DrawnArea, FitRule

RULE = FitRule(1.5875, 0.1)
WAYS = {"mirrored": np.diag((-1.0, 1.0)), "turned by a quarter": np.array(((0.0, -1.0), (1.0, 0.0)))}


def drawn():
    lines = (Path(__file__).parent / "areas.txt").read_text().splitlines()
    said = [line.split("|") for line in lines]
    return tuple(DrawnArea(name, wood, (0, 0, 0), shapely.from_wkt(outline)) for name, wood, outline in said)


def moved(region, matrix):
    return shapely.transform(region, lambda places: places @ matrix.T)


@pytest.mark.parametrize("way", WAYS)
def test_the_image_of_the_drawing_becomes_the_image_of_the_pieces(way):
    matrix = WAYS[way]
    here = make_pieces(drawn(), RULE)
    there = make_pieces(tuple(replace(area, region=moved(area.region, matrix)) for area in drawn()), RULE)
    assert sorted(finding.what for finding in there.findings) == sorted(finding.what for finding in here.findings)
    images = [(piece.name, moved(piece.region, matrix.T)) for piece in there.pieces]
    assert sorted(name for name, _ in images) == sorted(piece.name for piece in here.pieces)
    for piece in here.pieces:
        apart = [shapely.hausdorff_distance(piece.region.boundary, image.boundary) for _, image in images]
        assert min(apart) < 0.03
    assert let_in(there, RULE).seam.widest == pytest.approx(let_in(here, RULE).seam.widest, abs=0.003)
