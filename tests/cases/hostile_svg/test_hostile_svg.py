"""Hostile or hopeless SVG: one clear error or a sound result, never a traceback."""

import pytest

from purfle.artwork.drawing import areas_of_drawing
from purfle.errors import DrawingError
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
    "a path without end": PAGE + '<path d="M0 0' + "L1 1" * 3_000_000 + '"/></svg>',
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
    "a gradient": PAGE + '<linearGradient id="l"><stop offset="0" stop-color="#000"/><stop offset="1" '
    'stop-color="#fff"/></linearGradient><rect width="20" height="20" fill="url(#l)"/></svg>',
    "half transparent": PAGE + '<g opacity=".6"><rect width="20" height="20"/></g></svg>',
}  # fmt: skip
LISTED = {"text along a path", "markers", "dashes without number", "a mask and a filter", "text beside a shape",
          "a picture beside a shape", "a gradient", "half transparent", "external reference", "not a number in a path",
          "an infinite path"}  # fmt: skip


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
