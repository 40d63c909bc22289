"""The map of the thickness left is the exact overlay of what is cut from both faces: no part missing, none twice."""

import numpy as np
import pytest
import shapely
from plain_fit import BOARD, magnet, plate, wish
from shapely import Point, box

from purfle.board import Spot, lay_out
from purfle.model.board import Layout
from purfle.model.job import Distance, FittingRule, InsertRule, ScrewRule
from purfle.sheets.drilling import hole_table
from purfle.sheets.style import Style

LEAST = 0.5


def busy() -> Layout:
    """A design above; below it a plate that reaches under it, a magnet in its middle, an insert, a cable hole."""
    place = Distance("edge", 60), Distance("edge", 200)
    insert = FittingRule("threaded insert", "nut", "underside", 0, 0, 0, 0, *place, False, insert=InsertRule(8, 11, 13))
    hole = ScrewRule(20.0, 20.0, 0.0, 20.0, ((0.0, 0.0),), is_through=True)
    place = Distance("edge", 380), Distance("edge", 40)
    cable = FittingRule("cable hole", "cable", "show", 0, 0, 0, 0, *place, False, screws=hole)
    rules = (plate("plate", (240, 130), (40, 20)), magnet(195, 130, depth=7.0), insert, cable)
    return lay_out(BOARD, (wish(box(0, 0, 60, 60), depth=5.0),), rules, LEAST)


def test_parts_cover_the_board_and_do_not_overlap() -> None:
    parts = busy().thickness
    assert sum(part.region.area for part in parts) == pytest.approx(BOARD.length * BOARD.width, abs=1e-2)
    assert shapely.union_all([part.region for part in parts]).area == pytest.approx(
        BOARD.length * BOARD.width, abs=1e-2
    )
    assert all(part.region.contains(Point(part.place)) for part in parts)


def test_levels_are_thickness_less_what_is_cut_from_both_faces() -> None:
    lefts = {part.cut_by: part.left for part in busy().thickness}
    assert lefts == {
        ("cable",): 0.0,
        ("nut",): 6.0,
        ("picture", "magnet at 195, 130"): 7.0,
        ("picture", "plate"): 12.0,
        ("picture",): 14.0,
        ("plate",): 17.0,
        (): 19.0,
    }


def test_the_map_agrees_with_depths_asked_at_places_drawn_by_lot() -> None:
    """Outside reference: at each place, thickness less the deepest thing of either face that is there."""
    layout = busy()
    above = [(inlay.recess, inlay.depth) for inlay in layout.inlays]
    below = [(fitting.wanted, fitting.depth) for fitting in layout.fittings]
    above += [(hole.room, hole.depth) for hole in layout.holes if hole.face == "show"]
    below += [(hole.room, hole.depth) for hole in layout.holes if hole.face == "underside"]
    chance = np.random.default_rng(6)
    near = chance.uniform((170, 90), (270, 170), (300, 2))
    places = [Point(xy) for xy in np.vstack([near, chance.uniform((0, 0), (420, 260), (300, 2))])]
    edges = shapely.union_all([region.boundary for region, _ in (*above, *below)])
    for place in places:
        if place.distance(edges) < 0.01:
            continue
        depths = [
            max([deep for region, deep in face if region.contains(place)], default=0.0) for face in (above, below)
        ]
        (part,) = [one for one in layout.thickness if one.region.contains(place)]
        assert part.left == pytest.approx(max(0.0, BOARD.thickness - sum(depths)))


def test_both_faces_together_taking_more_than_half_is_looked_at_with_place_and_mend() -> None:
    design = wish(box(0, 0, 60, 60), depth=6.0)
    layout = lay_out(BOARD, (design,), (magnet(195, 130, depth=7.0),), LEAST)
    (look,) = [one for one in layout.findings if "together" in one.what]
    assert look.what == "picture and magnet at 195, 130 together take 68% of the thickness; 50% is the most by custom"
    assert look.where == "picture (show) and magnet at 195, 130 (underside)"
    assert look.mend == "cut one of them less deep by 3.5 mm, move one of them, or take a board thicker by 7.0 mm"
    assert look.place == pytest.approx((195, 130), abs=5.0)
    apart = lay_out(BOARD, (wish(box(0, 0, 60, 60), spot=Spot(Distance("edge", 60), Distance("edge", 60)), depth=6.0),),
                    (magnet(195, 130, depth=7.0),), LEAST)  # fmt: skip
    assert not [one for one in apart.findings if "together" in one.what]


def test_a_bare_board_is_one_part() -> None:
    (part,) = lay_out(BOARD, (), (), LEAST).thickness
    assert (part.left, part.cut_by, part.region.area) == (19.0, (), 420.0 * 260.0)


def test_depths_of_a_drilling_list_in_inches_are_all_fractions() -> None:
    """A stop is set with a rule: 13 mm are 33/64 in, not 0.512 in beside fractions."""
    layout = busy()
    rows = hole_table([hole for hole in layout.holes if hole.face == "underside"], Style("inch", "letter"))["rows"]
    assert [row[3] for row in rows] == [{"big": "33/64"}]
    assert all("." not in row[5] for row in rows)
