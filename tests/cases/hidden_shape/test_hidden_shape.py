"""A shape that lies wholly under others: it shows nowhere, so it is no area, and it is no fault either."""

from purfle.artwork import areas_of_drawing
from purfle.files.svg_drawing import read_svg

HIDDEN = b"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40" width="40mm" height="40mm">
<rect x="9" y="9" width="9" height="9" fill="#703020"/>
<rect x="5" y="5" width="30" height="30" fill="#e0c080"/></svg>"""


def test_a_shape_wholly_under_another_is_no_area():
    areas = areas_of_drawing(read_svg(HIDDEN, "hidden.svg"))
    shown = [area for area in areas.areas if area.number not in areas.ground]
    assert [area.colour for area in shown] == [(0xE0, 0xC0, 0x80)]
    assert abs(shown[0].region.area - 900.0) < 1e-3
