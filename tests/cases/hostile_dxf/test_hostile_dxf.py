"""Hostile or hopeless DXF: one clear error or a sound result, never a traceback, within the budgets."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from ezdxf.document import Drawing as Document
from ezdxf.layouts import Modelspace

from dxf_sample import dxf_bytes
from purfle.artwork.drawing import areas_of_drawing
from purfle.errors import DrawingError
from purfle.files import dxf_file
from purfle.files.dxf_drawing import read_dxf

CIRCLE = dxf_bytes(lambda _, m: m.add_circle((0, 0), 6))
BINARY = dxf_bytes(lambda _, m: m.add_circle((0, 0), 6), binary=True)


def of_itself(document: Document, model: Modelspace) -> None:
    block = document.blocks.new("a")
    block.add_blockref("b", (0, 0))
    document.blocks.new("b").add_blockref("a", (1, 1))
    model.add_blockref("a", (0, 0))


def multiplying(document: Document, model: Modelspace) -> None:
    document.blocks.new("0x").add_circle((0, 0), 1)
    for k in range(9):
        block = document.blocks.new(f"{k + 1}x")
        for place in range(10):
            block.add_blockref(f"{k}x", (place, 0))
    model.add_blockref("9x", (0, 0))


def lines(count: int) -> bytes:
    """A file of that many lines, without a library."""
    line = b"  0\nLINE\n  8\n0\n 10\n0.0\n 20\n0.0\n 11\n1.0\n 21\n1.0\n"
    return b"  0\nSECTION\n  2\nENTITIES\n" + line * count + b"  0\nENDSEC\n  0\nEOF\n"


SPACING = {"row_spacing": 1, "column_spacing": 1}
REFUSED = {
    "empty file": (b"", "not a DXF drawing"),
    "no dxf": (b"this is no drawing", "not a DXF drawing"),
    "a page of html": (b"<html/>", "not a DXF drawing"),
    "a zip": (b"PK\x03\x04" + bytes(500), "not a DXF drawing"),
    "truncated": (CIRCLE[: len(CIRCLE) // 2], "ends early"),
    "truncated in its last line": (CIRCLE[:-5], "ends early"),
    "binary, truncated": (BINARY[:-40], "ends early"),
    "binary, rubbish inside": (BINARY[:60] + b"\xff" * 200 + BINARY[260:], "damaged"),
    "without a unit": (dxf_bytes(lambda d, m: m.add_circle((0, 0), 6), 0), "does not say what one of its units is"),
    "only its frame": (b"  0\nSECTION\n  2\nENTITIES\n  0\nENDSEC\n  0\nEOF\n", "does not say"),
    "nothing in it": (dxf_bytes(lambda d, m: None), "holds no closed outline"),
    "only text": (dxf_bytes(lambda d, m: m.add_text("Tern")), "holds no closed outline"),
    "only open lines": (dxf_bytes(lambda d, m: m.add_line((0, 0), (5, 5))), "holds no closed outline"),
    "a block in a circle": (dxf_bytes(of_itself), "holds itself"),
    "blocks that multiply": (dxf_bytes(multiplying), "more than"),
    "a block a thousand million times": (
        dxf_bytes(
            lambda d, m: (
                d.blocks.new("a").add_circle((0, 0), 1),
                m.add_blockref("a", (0, 0), {"row_count": 32000, "column_count": 32000, **SPACING}),
            )
        ),
        "repeated",
    ),
    "a hundred thousand lines": (lines(100_000), "entities, more than"),
    "far apart": (dxf_bytes(lambda d, m: (m.add_circle((0, 0), 1), m.add_circle((9e5, 0), 1)), 4), "m large"),
}  # fmt: skip
UNSOUND = {
    "not a number": lambda m: m.add_lwpolyline([(0, 0), (float("nan"), 5), (5, 0)], close=True),
    "1e300": lambda m: m.add_circle((1e300, 0), 1),
    "an infinite radius": lambda m: m.add_circle((0, 0), float("inf")),
    "a radius of 1e300": lambda m: m.add_circle((0, 0), 1e300),
    "a negative radius": lambda m: m.add_circle((0, 0), -3),
    "a radius of nothing": lambda m: m.add_circle((0, 0), 0),
    "an endless bulge": lambda m: m.add_lwpolyline([(0, 0, 1e300), (5, 0, 1)], "xyb", close=True),
    "an open spline of one point": lambda m: m.add_spline([(0, 0)]),
    "a block that is not there": lambda m: m.add_blockref("gone", (0, 0)),
    "a hatch without boundary": lambda m: m.add_hatch(),
}


@pytest.mark.parametrize("case", REFUSED)
def test_hopeless_dxf_is_refused_with_what_where_and_mend(case: str) -> None:
    """One error of the family with all three parts."""
    data, what = REFUSED[case]
    with pytest.raises(DrawingError) as caught:
        read_dxf(data, "case.dxf")
    fault = caught.value.faults[0]
    assert what in fault.what
    assert fault.where.startswith("case.dxf")
    assert fault.mend.rstrip().endswith(".")


@pytest.mark.parametrize("case", UNSOUND)
def test_an_unsound_entity_is_listed_and_the_rest_is_kept(case: str) -> None:
    """The circle beside it is carried at its size; what is unsound stands in the list with its place."""
    data = dxf_bytes(lambda _, m: (UNSOUND[case](m), m.add_circle((0, 0), 6)))
    drawing = read_dxf(data, "case.dxf")
    assert [round(shape.region.area) for shape in drawing.shapes] == [113]
    assert len(areas_of_drawing(drawing).areas) - len(areas_of_drawing(drawing).ground) == 1
    (told,) = drawing.not_carried
    assert told.where.startswith('case.dxf, layer "0", ')
    assert told.what
    assert told.mend


def test_rubbish_in_a_text_file_is_mended_and_told_or_refused() -> None:
    """A line lost in the middle of the file shifts every tag after it."""
    rows = CIRCLE.splitlines(keepends=True)
    refused: list[DrawingError] = []
    for lost in range(0, len(rows), len(rows) // 25):
        data = b"".join(rows[:lost] + rows[lost + 1 :])
        try:
            drawing = read_dxf(data, "case.dxf")
        except DrawingError as refusal:
            refused.append(refusal)
        else:
            assert [round(shape.region.area) for shape in drawing.shapes] == [113]
    assert refused
    assert all(fault.where.startswith("case.dxf") and fault.what and fault.mend for fault in refused)


def test_a_drawing_in_inches_comes_at_true_size() -> None:
    """A circle of 1/4 in radius: 6.35 mm (1 in = 25.4 mm)."""
    (shape,) = read_dxf(dxf_bytes(lambda _, m: m.add_circle((0, 0), 0.25), 1), "case.dxf").shapes
    assert shape.region.bounds[2] - shape.region.bounds[0] == pytest.approx(12.7, abs=0.01)


MEASURED = """
import json, resource, sys, time
sys.path[:0] = sys.argv[1:]
import test_hostile_dxf as cases
from dxf_sample import dxf_bytes
from purfle.artwork.drawing import areas_of_drawing
from purfle.errors import PurfleError
from purfle.files.dxf_drawing import read_dxf
unsound = {name: dxf_bytes(lambda _, m: (add(m), m.add_circle((0, 0), 6))) for name, add in cases.UNSOUND.items()}
took = {}
for case, data in {**{name: data for name, (data, _) in cases.REFUSED.items()}, **unsound}.items():
    start = time.process_time()
    try:
        areas_of_drawing(read_dxf(data, "case.dxf"))
    except PurfleError:
        pass
    took[case] = time.process_time() - start
print(json.dumps([took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]))
"""


@pytest.mark.skipif(sys.platform != "linux", reason="peak memory as Linux counts it")
def test_none_takes_long_or_much_memory() -> None:
    """10 s of processor time each, 1 GB in all: budgets stop whatever would take more."""
    places = [str(Path(__file__).parent), str(Path(__file__).parents[2])]
    done = subprocess.run([sys.executable, "-c", MEASURED, *places], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    took, peak = json.loads(done.stdout)
    assert {case: seconds for case, seconds in took.items() if seconds > 10.0} == {}
    assert peak < 1000.0


def test_a_large_file_is_refused_before_it_is_parsed(monkeypatch: pytest.MonkeyPatch) -> None:
    """More bytes than the budget: nothing is parsed."""
    monkeypatch.setattr(dxf_file, "MOST_BYTES", 1000)
    with pytest.raises(DrawingError) as caught:
        read_dxf(CIRCLE, "case.dxf")
    assert "more than" in caught.value.what
    assert caught.value.where == "case.dxf"
    assert caught.value.mend == "Save only what is to be let in."
