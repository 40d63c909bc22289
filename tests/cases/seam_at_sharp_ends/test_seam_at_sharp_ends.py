"""Where the seam opened to more than 1.3 times its width, on drawings of open sets, and why; each drawn here anew.

- A cutter of 1/16 in leaves the end of a slanting piece rounder than the disc that tips are looked for with: each round
  end was taken for a tip again, cut off with a smaller radius, and taken once more, until the rounds ran out.
- Decisions leave tips after the rounds in which tips are trimmed.
- A closing that bridges a slot can be no wider than a hair there, and was not looked at for necks.
"""

import math

import pytest
import shapely
from shapely import LineString, Point, box

from purfle.fit import let_in, make_pieces, making
from purfle.fit.cells import lay_out
from purfle.fit.sweeping import put_in_order, sweep
from purfle.fit.tips import trim
from purfle.model.pieces import DrawnArea, FitRule
from purfle.tolerances import CLOSING_SLACK

SMALL, LARGE = FitRule(0.79375, 0.1), FitRule(1.5875, 0.1)
GOAL = 1.3 * 0.1


def slanting(degrees):
    """A board of two woods, parted by a line that meets its lower edge at an angle."""
    whole = box(0, 0, 40, 12)
    x = 15 + 12 / math.tan(math.radians(degrees))
    right = whole.intersection(shapely.Polygon([(15, 0), (90, 0), (90, 12), (x, 12)]))
    return (
        DrawnArea("left", "holly", (0, 0, 0), whole.difference(right)),
        DrawnArea("right", "wenge", (0, 0, 0), right),
    )


@pytest.mark.parametrize("degrees", [25, 40, 60])
@pytest.mark.parametrize("rule", [SMALL, LARGE])
def test_a_slanting_end_meets_the_edge_bluntly_and_costs_no_more_than_its_tip(degrees, rule):
    """The end stands where the piece is one cutter radius wide, r / sin(t) from the point: no more than that is given,
    and a tenth of a mm for the places that are looked at.
    """
    drawn = slanting(degrees)
    pieces = make_pieces(drawn, rule)
    assert let_in(pieces, rule).seam.widest <= GOAL
    (right,) = (piece.region for piece in pieces.pieces if piece.name == "right")
    assert right.bounds[0] <= 15 + rule.cutter_radius / math.sin(math.radians(degrees)) + 0.1
    assert not pieces.lost


def test_a_tip_that_decisions_leave_is_trimmed_too(monkeypatch):
    """No round trims at first, so that a drawn tip meets what trims those that decisions leave."""
    monkeypatch.setattr(making, "_TRIM_ROUNDS", 0)
    assert let_in(make_pieces(slanting(25), LARGE), LARGE).seam.widest <= GOAL


def test_a_bridge_that_a_closing_builds_is_looked_at_for_a_neck():
    """Walls of radius R about a waist that is too narrow by d: the disc rests sqrt(R d) from the waist on each side, so
    that the bridge is as wide as those two discs are apart, 0.04 mm here. Looked at right after the sweep that builds
    it: nothing else has changed the frame.
    """
    radius, walls = LARGE.cutter_radius - LARGE.seam / 2 + CLOSING_SLACK, 40.0
    waist = 2 * radius - (radius + 0.02) ** 2 / walls
    above, below = (Point(30, side * (walls + waist / 2)).buffer(walls, quad_segs=256) for side in (1, -1))
    whole = Point(30, 0).buffer(36, quad_segs=128)
    strip = box(10, -20, 50, 20).difference(above).difference(below)
    caps = whole.difference(strip)
    partition = lay_out(
        (DrawnArea("frame", "holly", (0, 0, 0), caps), DrawnArea("strip", "wenge", (0, 0, 0), strip)), LARGE
    )
    trim(partition)
    assert sweep(partition, 6)
    put_in_order(partition)
    (frame,) = (cell for cell in partition.inserts if cell.wood == "holly")
    assert 0.0 < LineString([(15, 0), (45, 0)]).intersection(frame.region).length < 0.1
    partition.findings.clear()
    assert trim(partition) >= 1
    assert any('"frame" is thinner than 0.8 mm' in finding.what for finding in partition.findings)
