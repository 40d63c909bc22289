"""What a cutter takes at a depth, held against single bits put together by shapely."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
import shapely

from purfle.proof.cones import Cone, ConeRun, cone_section
from purfle.proof.program import read_program

STRAIGHT = Cone(1.5, 0.0, 12.0)
SLOPING = Cone(0.05, math.tan(math.radians(30.0)), 12.0)
DEPTHS = (0.001, 0.5, 1.0, 1.7, 2.0, 2.6, 2.999)
OFF = 0.002
"""Two ways of rounding discs and grooves stand off each other by no more than this, mm."""


def zigzag(depth: float, back: bool) -> list[tuple[float, float, float]]:
    """A pass: down a ramp, to and fro; gone `back` over, it takes nothing more."""
    corners = [(2.0 * number, 8.0 if number % 2 else 1.0, depth) for number in range(6)]
    return [(0.0, 8.0, 0.0), *corners, *(corners[::-1] if back else ()), (*corners[-1][:2], -5.0)]


def program(passes: Sequence[list[tuple[float, float, float]]]) -> bytes:
    lines = ["G90 G17 G21 G94", "T1", "M3 S18000", "G0 Z5", "F1000"]
    for places in passes:
        lines.append(f"G0 X{places[0][0]} Y{places[0][1]}")
        lines += [f"G1 X{x} Y{y} Z{-depth}" for x, y, depth in places]
    return "\n".join([*lines, "M5", "M2", ""]).encode()


def bit_by_bit(run: ConeRun, depth: float) -> shapely.Geometry:
    """The hull of the two discs at the ends of every bit, one by one."""
    taken = []
    for a, b in zip(run.way.start, run.way.end, strict=True):
        if not np.isfinite(a).all() or min(a[2], b[2]) > -depth:
            continue
        ends = []
        for here, there in ((a, b), (b, a)):
            share = max(0.0, (here[2] + depth) / (here[2] - there[2])) if here[2] > -depth else 0.0
            place = here + share * (there - here)
            ends.append(
                shapely.Point(place[:2]).buffer(run.cone.tip + (-place[2] - depth) * run.cone.slope + 1e-9, 256)
            )
        taken.append(shapely.convex_hull(shapely.union_all(ends)))
    return shapely.union_all(taken)


def run_of(cone: Cone) -> ConeRun:
    passes = [zigzag(depth, back) for depth, back in ((1.0, False), (2.0, True), (3.0, False))]
    aside = [(x + 20.0, y, min(depth, 2.5) if depth > 0.0 else depth) for x, y, depth in passes[-1]]
    return ConeRun.of(read_program("a.nc", program([*passes, aside])), cone)


@pytest.mark.parametrize("cone", [STRAIGHT, SLOPING], ids=["straight", "sloping"])
def test_a_section_is_what_all_bits_take_one_by_one(cone):
    """At every depth, between passes and at them, the section is the hulls of all bits that go so deep."""
    run = run_of(cone)
    for depth in DEPTHS:
        assert off(cone_section(run, depth), bit_by_bit(run, depth)) < OFF, depth


@pytest.mark.parametrize("cone", [STRAIGHT, SLOPING], ids=["straight", "sloping"])
def test_a_section_is_the_same_whichever_was_asked_for_first(cone):
    """What deeper passes take is kept; a section does not tell whether it was there already."""
    one, other = run_of(cone), run_of(cone)
    upwards = {depth: cone_section(one, depth).wkb for depth in reversed(DEPTHS)}
    downwards = {depth: cone_section(other, depth).wkb for depth in DEPTHS}
    assert upwards == downwards


def test_a_pass_that_is_left_out_changes_the_section_at_its_depth_alone():
    """What is kept of deeper passes stands in for no other pass."""
    whole, less = run_of(STRAIGHT), [zigzag(1.0, False), zigzag(3.0, False)]
    run = ConeRun.of(read_program("a.nc", program([less[0], [(x + 9.0, y, z) for x, y, z in less[1]]])), STRAIGHT)
    assert off(cone_section(run, 2.0), bit_by_bit(run, 2.0)) < OFF
    assert off(cone_section(run, 0.5), cone_section(whole, 0.5)) > 1.0


def off(one: shapely.Geometry, other: shapely.Geometry) -> float:
    """How far two regions stand off each other at most."""
    return max(float(shapely.hausdorff_distance(one, other)), float(shapely.hausdorff_distance(other, one)))
