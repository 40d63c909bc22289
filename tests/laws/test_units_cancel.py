"""What is shown can be read back."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from purfle.errors import LengthError
from purfle.units import INCH, LengthUnit, length, on_rule, show, signed_length

QUICK = settings(deadline=None, derandomize=True, max_examples=300)
UNITS: tuple[LengthUnit, ...] = ("mm", "inch", "inch-decimal")
HALF_STEP = {"mm": 0.0005, "inch": 25.4 / 128, "inch-decimal": 0.0127}
ROUNDING = 1e-9


@QUICK
@given(st.floats(-50_000, 50_000), st.sampled_from(UNITS))
def test_showing_and_reading_a_length_cancel_within_half_the_last_step(mm: float, unit: LengthUnit) -> None:
    assert abs(signed_length(show(mm, unit)) - mm) <= HALF_STEP[unit] + ROUNDING


@QUICK
@given(st.floats(0, 50_000), st.sampled_from(UNITS[:2]))
def test_what_lies_on_the_rule_comes_back_to_the_bit(mm: float, unit: LengthUnit) -> None:
    ruled = on_rule(mm, unit)
    assert length(show(ruled, unit)) == ruled


@QUICK
@given(st.integers(0, 400), st.integers(0, 63))
def test_every_sixty_fourth_is_read_exactly(whole: int, part: int) -> None:
    assert length(f"{whole} {part}/64 in") == float((whole * 64 + part) * INCH / 64)


@QUICK
@given(st.text(max_size=30) | st.text(alphabet="0123456789 /.,'\"-½⅛mincft", max_size=20))
def test_any_text_is_either_a_finite_length_or_refused_in_full(text: str) -> None:
    refused: LengthError | None = None
    mm = 0.0
    try:
        mm = length(text, bare="mm", where="here")
    except LengthError as error:
        refused = error
    assert 0 <= mm <= 100_000
    assert refused is None or (refused.what and refused.mend and refused.where == "here")


@pytest.mark.parametrize("unit", UNITS)
def test_nothing_is_shown_as_nothing(unit: LengthUnit) -> None:
    assert length(show(0.0, unit)) == 0.0
    assert show(-0.0, unit)[0] == "0"
