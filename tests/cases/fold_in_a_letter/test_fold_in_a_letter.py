"""A letter A 50 mm high, opened and closed for bush and cutter: offsetting folds its outline back for 0.05 mm.

Its outline file was refused by the dry fit, "the outline crosses itself", since arcs fitted along a fold cross.
"""

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from purfle.files.fonts import BUNDLED, find_font, letters_of
from purfle.fit.apart import smoothed
from purfle.fit.apart_told import Corners
from purfle.geometry.folds import unfolded
from purfle.geometry.offsetting import grow

OF_CUTTER, OF_BUSH = 3.175 / 2.0, (7.9375 + 3.175) / 2.0


def sharpest(region) -> float:
    """The largest turn of an outline at a place, degrees."""
    most = 0.0
    for part in shapely.get_parts(region):
        for ring in (part.exterior, *part.interiors):
            places = shapely.get_coordinates(ring)[:-1]
            before, after = places - np.roll(places, 1, axis=0), np.roll(places, -1, axis=0) - places
            cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
            most = max(most, float(np.degrees(np.arctan2(np.abs(cross), (before * after).sum(axis=1))).max()))
    return most


def test_the_outline_of_a_letter_never_runs_back() -> None:
    """What a cutter 3.175 mm wide has opened has no tips; offsetting leaves steps of some thousandths, no folds."""
    (letter,) = letters_of(find_font(BUNDLED, 400), "A", 50.0)
    made = smoothed(letter.region, Corners(OF_CUTTER, OF_BUSH))
    assert sharpest(made) < 120.0


def test_a_fold_goes_and_the_outline_stays_where_it_is() -> None:
    folded = Polygon([(0, 0), (10, 0), (10, 4.0), (9.99995, 3.9), (9.9999, 10), (0, 10)])
    assert sharpest(folded) > 179.0
    made = unfolded(folded)
    assert sharpest(made) < 91.0
    assert shapely.hausdorff_distance(made.exterior, folded.exterior) < 0.0005


def test_a_fold_whose_end_is_two_places_goes_too() -> None:
    """A spike 0.0003 mm long and 0.000003 wide turns by a right angle twice: seen on a plate of tapered walls."""
    spiked = Polygon([(0, 0), (10, 0), (10, 5), (4.000003, 5), (4.000003, 5.0003), (4.0, 5.0003), (4.0, 5), (0, 5)])
    made = unfolded(spiked)
    assert made.bounds[3] == 5.0
    assert made.area == pytest.approx(50.0, abs=1e-6)


def test_crumbs_go_parts_and_holes_stay() -> None:
    """A hole of a few grid steps that two fronts leave between them is no wood; one of 0.1 mm is."""
    crumb, hole = box(3, 3, 3.0004, 3.0006), box(6, 6, 6.1, 6.1)
    made = unfolded(box(0, 0, 10, 10).difference(shapely.union_all([crumb, hole])))
    assert [round(Polygon(ring).area, 6) for ring in made.interiors] == [0.01]


def test_tips_and_what_has_no_fold_are_left_as_they_are() -> None:
    """A tip of 2 degrees is no fold: it is as wide as it is drawn."""
    tip = Polygon([(0, 0), (30, 0.5), (0, 1.0)])
    assert unfolded(tip) is tip
    assert sharpest(tip) > 175.0
    disc = grow(box(0, 0, 1, 1), 2.0)
    assert unfolded(disc) is disc
