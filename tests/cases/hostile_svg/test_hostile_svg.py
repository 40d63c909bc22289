"""Hostile or hopeless SVG: one clear error or a sound result, never a traceback."""

import json
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest
from fontTools.svgLib.path import parse_path

from purfle.artwork.drawing import areas_of_drawing
from purfle.errors import DrawingError
from purfle.files import svg_path
from purfle.files.svg_drawing import read_svg

OPEN = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
PAGE = OPEN + 'width="80mm" height="80mm" viewBox="0 0 80 80">'
SQUARE = '<rect x="10" y="10" width="20" height="20"/>'
REFUSED = {
    "entity bomb": '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
    + PAGE + "&b;</svg>",
    "not xml": "this is no drawing",
    "truncated": PAGE + "<g><path d=",
    "html": "<html><body/></html>",
    "empty file": "",
    "nothing in it": PAGE + "</svg>",
    "zero size": OPEN + 'width="0" height="10" viewBox="0 0 1 1">' + SQUARE + "</svg>",
    "only text": PAGE + '<text font-family="No Such Font">Tern</text></svg>',
    "use of itself": PAGE + '<g id="a"><use href="#a"/></g></svg>',
    "use in a circle": PAGE + '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g></svg>',
    "clip of itself": PAGE + '<clipPath id="c" clip-path="url(#c)"><rect width="9" height="9" clip-path="url(#c)"/>'
    '</clipPath><rect clip-path="url(#c)" width="9" height="9"/></svg>',
    "monstrous length": PAGE + '<rect width="1e300" height="4"/></svg>',
    "nonsense length": PAGE + '<rect width="4 apples" height="4"/></svg>',
    "nesting without end": PAGE + "<g>" * 200 + SQUARE + "</g>" * 200 + "</svg>",
    "too many shapes": PAGE + SQUARE * 12_000 + "</svg>",
    "uses that multiply": PAGE + '<g id="g0">' + SQUARE + "</g>" + "".join(
        f'<g id="g{k + 1}">' + f'<use href="#g{k}"/>' * 10 + "</g>" for k in range(9)
    ) + "</svg>",
    "empty uses that multiply": PAGE + '<g id="g0"/>' + "".join(
        f'<g id="g{k + 1}">' + f'<use href="#g{k}"/>' * 10 + "</g>" for k in range(9)
    ) + SQUARE + "</svg>",
    "a hundred thousand elements": PAGE + "<g/>" * 100_000 + SQUARE + "</svg>",
    "a style sheet that multiplies": PAGE + "<style>" + "g g g,g>g{fill:red}" * 2_000 + "</style>" + "<g/>" * 2_000
    + SQUARE + "</svg>",
    "a billion laughs": '<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY l0 "ha">'
    + "".join(f'<!ENTITY l{k + 1} "' + f"&l{k};" * 10 + '">' for k in range(9)) + "]>" + PAGE
    + "<desc>&l9;</desc></svg>",
    "an entity from a file": '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>' + PAGE + "<desc>&x;</desc>"
    + SQUARE + "</svg>",
    "an entity from the network": '<!DOCTYPE svg [<!ENTITY % p SYSTEM "http://nowhere.invalid/a.dtd"> %p;]>' + PAGE
    + SQUARE + "</svg>",
    "only a mask": PAGE + '<mask id="m"><rect width="9" height="9" fill="#fff"/></mask></svg>',
    "only hairlines": PAGE + '<path d="M1 1H60V60" fill="none" stroke="#333" stroke-width="0"/></svg>',
    "viewBox of nothing": OPEN + 'width="80mm" height="80mm" viewBox="0 0 0 80">' + SQUARE + "</svg>",
    "viewBox that is no number": OPEN + 'width="80mm" height="80mm" viewBox="0 0 NaN 80">' + SQUARE + "</svg>",
    "viewBox of 1e300": OPEN + 'width="80mm" height="80mm" viewBox="0 0 1e300 1e300">' + SQUARE + "</svg>",
    "viewBox of 1e400": OPEN + 'width="80mm" height="80mm" viewBox="0 0 1e400 1e400">' + SQUARE + "</svg>",
    "viewBox of 1e-300": OPEN + 'width="80mm" height="80mm" viewBox="0 0 1e-300 1e-300">' + SQUARE + "</svg>",
    "a size that is no number": OPEN + 'width="NaN" height="80mm">' + SQUARE + "</svg>",
    "a size below nothing": OPEN + 'width="-8mm" height="80mm">' + SQUARE + "</svg>",
    "scaled by 1e300": PAGE + '<g transform="scale(1e300)">' + SQUARE + "</g></svg>",
    "scaled to nothing": PAGE + '<g transform="matrix(0 0 0 0 0 0)">' + SQUARE + "</g></svg>",
    "a stroke of 1e300": PAGE + '<path stroke="#000" stroke-width="1e300" d="M0 0h9v9z"/></svg>',
    "a style sheet that nests without end": PAGE + "<style>" + "g " * 20_000 + "{fill:red}</style>" + SQUARE + "</svg>",
    "NUL in the text": PAGE + SQUARE + "\0</svg>",
    "viewports without end": PAGE + '<svg viewBox="0 0 1 1">' * 70 + SQUARE + "</svg>" * 71,
    "a path without end": PAGE + '<path d="M0 0' + "L1 1" * 3_000_000 + '"/></svg>',
    "curves without number, far bent": PAGE + '<path d="M0 0' + "c9e5 0 0 9e5 9 9" * 60_000 + 'z"/></svg>',
    "arcs without number, far bent": PAGE + '<path d="M0 0' + "a9e5 9e5 0 1 1 9 9" * 20_000 + 'z"/></svg>',
}  # fmt: skip
READ = {
    "missing viewBox": OPEN + 'width="80mm" height="80mm">' + SQUARE + "</svg>",
    "not a number in a path": PAGE + '<path d="M0 0L5 5LNaN 7Z"/>' + SQUARE + "</svg>",
    "an infinite path": PAGE + '<path d="M0 0L1e300 5L1e308 1e308Z"/>' + SQUARE + "</svg>",
    "external reference": PAGE + '<use href="http://nowhere.invalid/a.svg#b"/>' + SQUARE + "</svg>",
    "a mask and a filter": PAGE + '<g mask="url(#m)" filter="url(#f)">' + SQUARE + "</g></svg>",
    "text beside a shape": PAGE + '<text font-family="No Such Font">Tern</text>' + SQUARE + "</svg>",
    "text along a path": PAGE + '<text><textPath href="#p">Tern</textPath></text>' + SQUARE + "</svg>",
    "markers": PAGE + '<path marker-mid="url(#m)" d="M0 0h9v9z"/></svg>',
    "dashes without number": PAGE + '<path stroke="#000" stroke-dasharray="1e-6" d="M0 0h9v9z"/></svg>',
    "a picture beside a shape": PAGE + '<image href="file:///etc/passwd" width="9" height="9"/>' + SQUARE + "</svg>",
    "only strokes": PAGE + '<path d="M10 10H60V60" fill="none" stroke="#333" stroke-width="4"/></svg>',
    "a mask of itself": PAGE + '<mask id="m" mask="url(#m)"><rect width="9" height="9" mask="url(#m)"/></mask>'
    + '<rect mask="url(#m)" width="9" height="9"/></svg>',
    "a pattern of itself": PAGE + '<pattern id="p" href="#p"><rect width="9" height="9" fill="url(#p)"/></pattern>'
    + '<rect fill="url(#p)" width="9" height="9"/></svg>',
    "a style sheet from elsewhere": PAGE + '<style>@import url("http://nowhere.invalid/a.css");</style>' + SQUARE
    + "</svg>",
    "a style sheet for paper": PAGE + "<style>@media print{rect{fill:red}}</style>" + SQUARE + "</svg>",
    "an include of a file": PAGE + '<i:include xmlns:i="http://www.w3.org/2001/XInclude" href="file:///etc/hostname"/>'
    + SQUARE + "</svg>",
    "a document type from elsewhere": '<!DOCTYPE svg SYSTEM "http://nowhere.invalid/a.dtd">' + PAGE + SQUARE + "</svg>",
    "a script": PAGE + '<script>while(1);</script><rect width="9" height="9" onload="alert(1)"/></svg>',
    "one far away": PAGE + '<g transform="scale(1e300)">' + SQUARE + "</g>" + SQUARE + "</svg>",
    "three thousand crossing lines": PAGE + '<path d="M'
    + " ".join(f"{k * 7919 % 79},{k * 104729 % 79}" for k in range(3000)) + 'Z"/></svg>',
    "a name of two million signs": PAGE + f'<rect id="{"x" * 2_000_000}" width="9" height="9"/></svg>',
    "an arc of 1e300": PAGE + '<path d="M5 5A1e300 1 0 1 1 9 5Z"/>' + SQUARE + "</svg>",
    "a gradient": PAGE + '<linearGradient id="l"><stop offset="0" stop-color="#000"/><stop offset="1" '
    'stop-color="#fff"/></linearGradient><rect width="20" height="20" fill="url(#l)"/></svg>',
    "half transparent": PAGE + '<g opacity=".6"><rect width="20" height="20"/></g></svg>',
}  # fmt: skip
LISTED = {"text along a path", "markers", "dashes without number", "a mask and a filter", "text beside a shape",
          "a picture beside a shape", "a gradient", "half transparent", "external reference", "not a number in a path",
          "an infinite path", "a mask of itself", "a pattern of itself", "a style sheet from elsewhere",
          "a style sheet for paper", "an include of a file", "one far away", "an arc of 1e300"}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_hopeless_drawing_is_refused_with_what_where_and_mend(case: str) -> None:
    """One error of the family with all three parts."""
    with pytest.raises(DrawingError) as caught:
        read_svg(REFUSED[case].encode(), "case.svg")
    fault = caught.value.faults[0]
    assert fault.what
    assert "case.svg" in fault.where or "svg" in fault.where
    assert fault.mend.endswith(".")


@pytest.mark.parametrize("case", READ)
def test_odd_drawing_keeps_what_is_sound_and_lists_what_is_not(case: str) -> None:
    """What can be carried is carried at its size; what can't stands in the list with its place."""
    drawing = read_svg(READ[case].encode(), "case.svg")
    areas = areas_of_drawing(drawing)
    assert len(areas.areas) - len(areas.ground) >= 1
    assert bool(drawing.not_carried) == (case in LISTED)
    for finding in drawing.not_carried:
        assert "case.svg, line 1" in finding.where
        assert finding.what
        assert finding.mend


@pytest.mark.parametrize("path", ["L1 1" * 50, "q9 9 18 0" * 50, "c9e5 0 0 9e5 9 9" * 50, "a9e5 9e5 0 1 1 9 9" * 50])
def test_points_are_counted_while_a_path_is_read(path: str) -> None:
    """The path is left at the first curve that goes beyond the budget, not after its last."""
    pen = svg_path.FlatPen(0.002, most=20)
    with pytest.raises(svg_path.TooManyPoints):
        parse_path("M0 0" + path, pen, arc_class=partial(svg_path.FlatArc, pen.tolerance))
    assert sum(map(len, pen.contours)) <= 21


MEASURED = """
import json, resource, sys, time
sys.path.insert(0, sys.argv[1])
import test_hostile_svg as cases
from purfle.artwork.drawing import areas_of_drawing
from purfle.errors import PurfleError
from purfle.files.svg_drawing import read_svg
took = {}
for case, text in {**cases.REFUSED, **cases.READ}.items():
    start = time.process_time()
    try:
        areas_of_drawing(read_svg(text.encode(), "case.svg"))
    except PurfleError:
        pass
    took[case] = time.process_time() - start
print(json.dumps([took, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]))
"""


@pytest.mark.skipif(sys.platform != "linux", reason="peak memory as Linux counts it")
def test_none_takes_long_or_much_memory() -> None:
    """10 s of processor time each, 1 GB in all: budgets stop whatever would take more."""
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", MEASURED, str(Path(__file__).parent)], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    took, peak = json.loads(done.stdout)
    assert {case: seconds for case, seconds in took.items() if seconds > 10.0} == {}
    assert peak < 1000.0
