"""A long run of gentle bends, as an ordinary job's last pass has it: its groove must be swept, and be true.

`way.txt` holds the places of that run, x and y in mm; the cutter is 3.175 mm wide. Grown in one go, the plane geometry
engine leaves out corners on the hollow side of bends, and the groove comes out up to 0.004 mm too wide there.
"""

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from manifold3d import CrossSection, FillRule, JoinType, OpType

from purfle.errors import ProgramError
from purfle.proof import cuts
from purfle.proof.program import read_program
from purfle.proof.regions import grown
from purfle.proof.sweep import Unswept, Way, groove, sections

RADIUS = 1.5875
PLACES = np.loadtxt(Path(__file__).parent / "way.txt")


def way(places=PLACES, radius=RADIUS):
    deep = np.column_stack([places, np.full(len(places), -1.0)])
    return Way(deep[:-1], deep[1:], np.arange(len(places) - 1), radius)


def capsules(places, radius):
    """Outside reference: Clipper2 (by manifold3d) grows each straight bit alone, and unites them."""
    grown_bits = []
    for start, end in pairwise(places):
        along = (end - start) / np.hypot(*(end - start))
        # the second engine grows areas only: a bit is a sliver of a millionth of a mm
        aside = np.array([-along[1], along[0]]) * 5e-7
        ring = [start - aside, end - aside, end + aside, start + aside]
        bit = CrossSection([np.array(ring)], FillRule.NonZero)
        grown_bits.append(bit.offset(radius, JoinType.Round, circular_segments=256))
    united = CrossSection.batch_boolean(grown_bits, OpType.Add)
    return shapely.build_area(shapely.geometrycollections([shapely.linearrings(r) for r in united.to_polygons()]))


def test_the_groove_of_the_run_is_that_of_an_independent_engine():
    ours, theirs = groove(way()), capsules(PLACES, RADIUS)
    assert shapely.hausdorff_distance(ours.boundary, theirs.boundary) < 0.0012
    assert ours.area <= 2 * RADIUS * float(np.hypot(*np.diff(PLACES, axis=0).T).sum()) + math.pi * RADIUS**2


def test_the_run_grown_in_one_go_shows_why_it_is_looked_at():
    """Else the case above would prove nothing."""
    line = shapely.LineString(PLACES)
    in_one_go = line.buffer(RADIUS, quad_segs=32)
    assert in_one_go.area > 2 * RADIUS * line.length + math.pi * RADIUS**2
    assert shapely.hausdorff_distance(in_one_go.boundary, capsules(PLACES, RADIUS).boundary) > 0.003


@pytest.mark.parametrize("radius", [0.4, 0.79375, 1.5, 3.175])
@pytest.mark.parametrize("size", [0.5, 1.0, 2.0])
def test_it_is_true_for_other_cutters_and_sizes(radius, size):
    ours, theirs = groove(way(PLACES * size, radius)), capsules(PLACES * size, radius)
    assert (
        shapely.hausdorff_distance(ours.boundary, theirs.boundary) < 0.0025
    )  # in a crease of the groove both errors weigh double


def test_a_section_takes_the_whole_run():
    (region,) = sections(way(), (0.5,))
    assert shapely.covers(region, shapely.LineString(PLACES))


def test_an_outline_of_gentle_bends_is_offset():
    outline = shapely.Polygon(PLACES)
    for by in (0.012, -0.012, 0.1, -0.1):
        gained = grown(outline, by).area - outline.area
        assert gained == pytest.approx(by * outline.length, rel=0.05)


def test_what_cannot_be_swept_is_told_with_program_line_and_place(monkeypatch):
    text = b"G21 G90 G17 G94\nT1\nS9000 M3\nG0 Z5\nG0 X10 Y20\nG1 Z-1 F300\nG1 X30 Y20\nM2\n"
    reading = read_program("one.nc", text)
    places = way(np.array([[10.0, 20.0], [30.0, 20.0]]))

    def lost(*_):
        raise Unswept(len(reading.line) - 1)

    monkeypatch.setattr(cuts, "sections", lost)
    with pytest.raises(ProgramError) as told:
        cuts._swept(reading, places, (0.5,))
    (fault,) = told.value.faults
    assert fault.what == "what the cutter takes away here cannot be worked out"
    assert fault.where == "one.nc, line 7, at 30.00, 20.00 mm on the machine"
    assert "seam 0.01 mm wider or narrower" in fault.mend
