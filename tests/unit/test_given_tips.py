"""A tip that comes back is known by who gave it, where it lies and how large it is."""

from shapely import Polygon, affinity

from purfle.fit.given_tips import GivenTips

TIP = Polygon([(10, 5), (10.4, 5), (10.2, 6)])
MOON = ("moon", "holly")


def noted() -> GivenTips:
    given = GivenTips()
    given.add(MOON, TIP)
    return given


def test_a_tip_given_before_is_back_even_a_hair_beside_its_place():
    assert noted().is_back(MOON, TIP)
    assert noted().is_back(MOON, affinity.translate(TIP, 0.006, -0.006))
    assert noted().is_back(MOON, affinity.scale(TIP, 1.004, 1.004, origin="centroid"))


def test_a_tip_is_found_across_the_edge_of_its_square():
    """Squares are 1 mm wide: this tip's centre lies half a hundredth beside the edge of one."""
    given = GivenTips()
    x, y = TIP.centroid.coords[0]
    given.add(MOON, affinity.translate(TIP, 12.004 - x, 7.996 - y))
    assert given.is_back(MOON, affinity.translate(TIP, 11.998 - x, 8.002 - y))


def test_another_tip_is_not_back():
    """One that nobody gave, one of another cell, one moved on, one that has grown."""
    assert not GivenTips().is_back(MOON, TIP)
    assert not noted().is_back(("night", "holly"), TIP)
    assert not noted().is_back(("moon", "wenge"), TIP)
    assert not noted().is_back(MOON, affinity.translate(TIP, 0.02, 0.0))
    assert not noted().is_back(MOON, affinity.scale(TIP, 1.02, 1.02, origin="centroid"))
