"""Laws of the dry fit that hold for any job and for any damage."""

import json
import math

from hypothesis import given, settings
from hypothesis import strategies as st

from proof_fixture import about, card, job_files
from purfle.errors import ProgramError
from purfle.proof import dry_fit
from purfle.proof.outlines_dxf import read_dxf
from purfle.proof.outlines_svg import read_svg
from purfle.proof.program import read_program

FILES = job_files()
QUIET = settings(max_examples=5, deadline=None, derandomize=True)


@QUIET
@given(st.floats(-180, 180))
def test_a_disc_goes_in_however_it_is_turned(angle: float) -> None:
    keys = card()
    x, y = about(25, 28, angle, (60, 50))[1:]
    keys["inlays"][0]["parts"][0]["to_board"] = {"angle": angle, "x": x, "y": y, "mirrored": False}
    proof = dry_fit({**FILES, "assembly.json": json.dumps(keys).encode()})
    assert proof.proven
    assert all(abs(seam.narrowest - 0.1) < 0.001 for seam in proof.seams if seam.inlay == "moon")


@QUIET
@given(st.floats(0, 2 * math.pi), st.floats(0.025, 0.09))
def test_a_part_out_of_place_by_more_than_the_tolerance_is_never_proven(angle: float, off: float) -> None:
    """Its seam narrows by as much on one side: no shift of 0.025 mm or more passes."""
    keys = card()
    pose = keys["inlays"][0]["parts"][0]["to_board"]
    pose["x"] += off * math.cos(angle)
    pose["y"] += off * math.sin(angle)
    proof = dry_fit({**FILES, "assembly.json": json.dumps(keys).encode()})
    assert not proof.proven
    narrow = min(seam.narrowest for seam in proof.seams if seam.inlay == "moon")
    assert abs(narrow - (0.1 - off)) < 0.002


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.sampled_from(["set-up-1.ngc", "set-up-1.svg", "set-up-1.dxf"]), st.data())
def test_a_damaged_file_is_read_or_refused_but_never_a_crash(name: str, data: st.DataObject) -> None:
    text = bytearray(FILES[name])
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.integers(0, len(text) - 1))
        length = data.draw(st.integers(0, 6))
        text[place : place + length] = data.draw(st.binary(max_size=6))
    read = {"ngc": read_program, "svg": lambda n, b: read_svg(n, b, 1), "dxf": lambda n, b: read_dxf(n, b, 1)}
    faults = ()
    try:
        read[name[-3:]](name, bytes(text))
    except ProgramError as error:
        faults = error.faults
    assert all(fault.what and fault.where.startswith(name) and fault.mend for fault in faults)


@settings(max_examples=8, deadline=None, derandomize=True)
@given(st.data())
def test_a_program_with_a_line_lost_or_doubled_is_never_a_crash(data: st.DataObject) -> None:
    lines = FILES["set-up-1.ngc"].splitlines()
    place = data.draw(st.integers(0, len(lines) - 1))
    lines[place : place + 1] = [lines[place]] * data.draw(st.sampled_from([0, 2]))
    wrong = []
    try:
        proof = dry_fit({**FILES, "set-up-1.ngc": b"\n".join(lines)})
        wrong = [finding for finding in proof.findings if finding.severity == "stop"]
        assert proof.proven == (not wrong)
    except ProgramError as error:
        wrong = list(error.faults)
    assert all(found.what and found.where and found.mend for found in wrong)
