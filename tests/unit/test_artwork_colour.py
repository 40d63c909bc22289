"""Colour differences against the published test data, and ready shapes against closed forms."""

import numpy as np
import pytest

from purfle.artwork import butterfly_key
from purfle.artwork.colour import ciede2000, lab_of
from purfle.errors import DrawingError

# Sharma, Wu, Dalal 2005, table 1: L a b, L a b, difference. From memory; the difference depends on every term.
PUBLISHED = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 3.1571, -77.2803), (50.0, 0.0, -82.7485), 2.8615),
    ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0000),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0009), 7.1792),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0011), 7.2195),
    ((50.0, 2.5, 0.0), (50.0, 0.0, -2.5), 4.3065),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((50.0, 2.5, 0.0), (61.0, -5.0, 29.0), 22.8977),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((22.7233, 20.0904, -46.694), (23.0331, 14.973, -42.5619), 2.0373),
    ((2.0776, 0.0795, -1.135), (0.9033, -0.0636, -0.5514), 0.9082),
]


@pytest.mark.parametrize(("first", "second", "difference"), PUBLISHED)
def test_ciede2000_agrees_with_the_published_pairs(
    first: tuple[float, ...], second: tuple[float, ...], difference: float
) -> None:
    assert float(ciede2000(np.array(first), np.array(second))) == pytest.approx(difference, abs=5e-5)
    assert float(ciede2000(np.array(second), np.array(first))) == pytest.approx(difference, abs=5e-5)


def test_lab_of_white_black_and_srgb_red() -> None:
    """Source: CIE 15 by definition; sRGB red in Lab (53.24, 80.09, 67.20) is the commonly published value."""
    found = lab_of(np.array([[255, 255, 255], [0, 0, 0], [255, 0, 0]]))
    assert np.allclose(found, [[100, 0, 0], [0, 0, 0], [53.24, 80.09, 67.20]], atol=0.02)


def test_a_butterfly_key_has_the_area_of_its_two_trapezia() -> None:
    key = butterfly_key(62.0, 30.0, 14.0)
    assert key.area == pytest.approx(62.0 * (30.0 + 14.0) / 2)
    assert key.bounds == (-31.0, -15.0, 31.0, 15.0)
    assert key.centroid.distance(key.centroid.__class__(0, 0)) < 1e-12
    assert key.exterior.is_ccw


@pytest.mark.parametrize(
    ("sizes", "what", "where", "mend"),
    [
        ((0.0, 30.0, 14.0), "three sizes above zero", "length 0 mm", "all three"),
        ((60.0, float("nan"), 14.0), "three sizes above zero", "end width nan", "all three"),
        ((60.0, 14.0, 14.0), "narrower than its ends", "waist width 14 mm", "half as wide"),
    ],
)
def test_a_butterfly_key_that_holds_nothing_is_refused(
    sizes: tuple[float, float, float], what: str, where: str, mend: str
) -> None:
    with pytest.raises(DrawingError) as refusal:
        butterfly_key(*sizes)
    assert what in refusal.value.what
    assert where in refusal.value.where
    assert mend in refusal.value.mend
