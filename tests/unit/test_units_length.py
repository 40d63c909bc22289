"""Text becomes mm exactly; what is not clearly a length is refused with what, where and how to mend it."""

from fractions import Fraction

import pytest

from purfle.errors import LengthError
from purfle.units import figure, in_mm, length, number, on_rule, retold, show, signed_length

READ = [
    ("3 1/2 in", Fraction(7, 2) * 254 / 10),
    ('3-1/2"', Fraction(7, 2) * 254 / 10),
    ("3½″", Fraction(7, 2) * 254 / 10),
    ("3 ½ in", Fraction(7, 2) * 254 / 10),
    ("3¹⁄₂ in", Fraction(7, 2) * 254 / 10),
    ("⅛ in", Fraction(1, 8) * 254 / 10),
    ("1/8in", Fraction(1, 8) * 254 / 10),
    (".005 in", Fraction(5, 1000) * 254 / 10),
    ("0.118in", Fraction(118, 1000) * 254 / 10),
    ("5 thou", Fraction(5, 1000) * 254 / 10),
    ("5 thousandths", Fraction(5, 1000) * 254 / 10),
    ("89 mm", Fraction(89)),
    ("89 MM", Fraction(89)),
    ("8,9 cm", Fraction(89)),
    ("0,125 in", Fraction(1, 8) * 254 / 10),
    ("1.5 m", Fraction(1500)),
    ("1' 2 3/8\"", (12 + Fraction(19, 8)) * 254 / 10),
    ("1 ft 2 in", Fraction(14) * 254 / 10),
    ("1′ 2″", Fraction(14) * 254 / 10),
    ("2''", Fraction(2) * 254 / 10),
    ("  7   mm ", Fraction(7)),
    ("0 mm", Fraction(0)),
]


@pytest.mark.parametrize(("text", "mm"), READ)
def test_every_way_of_writing_a_length_gives_the_float_nearest_the_exact_value(text: str, mm: Fraction) -> None:
    assert length(text) == float(mm)


REFUSED = [
    ("", "missing", "Write a number"),
    ("   ", "missing", "Write a number"),
    ("89", "no unit", "Name the unit: 89 mm or 89 in"),
    ("3 1/2", "no unit", "Name the unit"),
    ("mm", "is not a length", "Write a number"),
    ("nan mm", "is not a length", "Write a number"),
    ("inf", "is not a length", "Write a number"),
    ("1e3 mm", "not a unit", "Write a number"),
    ("7 furlong", "furlong is not a unit", "Write a number"),
    ("1,234 mm", "two ways", "Write 1234 or 1.234"),
    ("3 5/4 in", "not less than one", "Write the whole"),
    ("1/0 in", "divides by nothing", "lower number"),
    ("3 mm 4 mm", "mixes units", "one number"),
    ("2 in 1 ft", "mixes units", "one number"),
    ("1 2 mm", "is not a length", "Write a number"),
    ("1/2/3 in", "is not a length", "Write a number"),
    ("3½½ in", "is not a length", "Write a number"),
    ("- mm", "is not a length", "Write a number"),
    ("--3 mm", "is not a length", "Write a number"),
    ("-3 mm", "less than nothing", "minus sign"),
    ("100001 mm", "too long", "check the unit"),
    ("9" * 70 + " m", "too long", "check the unit"),
    ("9" * 5000 + " mm", "too long a text", "Write a number"),
    ("٣ mm", "is not a length", "Write a number"),
]


@pytest.mark.parametrize(("text", "what", "mend"), REFUSED)
def test_what_is_not_clearly_a_length_is_refused_with_what_where_and_mend(text: str, what: str, mend: str) -> None:
    with pytest.raises(LengthError) as caught:
        length(text, where="job.toml: board.length")
    assert what in caught.value.what
    assert caught.value.where == "job.toml: board.length"
    assert mend in caught.value.mend
    assert len(caught.value.what) < 120


def test_a_bare_number_stands_in_the_unit_that_the_caller_names() -> None:
    assert length("89", bare="mm") == 89.0
    assert length("3 1/2", bare="inch") == 88.9
    assert length("3.5", bare="inch-decimal") == 88.9
    assert length("3.5 cm", bare="inch") == 35.0


def test_a_sign_is_understood_only_where_a_side_can_be_meant() -> None:
    assert signed_length("-3 1/2 in") == -88.9
    assert signed_length("−2 mm") == -2.0
    assert signed_length("+2 mm") == 2.0


def test_a_value_that_is_no_text_is_refused_not_guessed() -> None:
    with pytest.raises(LengthError) as caught:
        length(89, where="board.length")  # type: ignore[arg-type]
    assert (caught.value.what, caught.value.where) == ('"89" is not a length', "board.length")
    assert "with its unit" in caught.value.mend


def test_figures_are_rounded_as_a_rule_and_a_feeler_gauge_show_them() -> None:
    assert figure(118.04, "mm") == "118 mm"
    assert figure(118.05, "mm") == "118.1 mm"
    assert figure(88.9, "inch") == "3 1/2 in"
    assert figure(88.9, "inch-decimal") == "3.5 in"
    assert figure(0.1, "mm", "seam") == "0.10 mm"
    assert figure(0.1, "inch", "seam") == "0.004 in"
    assert figure(6.35, "mm", "depth") == "6.35 mm"
    assert figure(6.0, "mm", "depth") == "6.0 mm"
    assert figure(6.35, "inch", "depth") == "1/4 in"
    assert figure(6.0, "inch", "depth") == "0.236 in"
    assert figure(6.35, "inch-decimal", "depth") == "0.250 in"
    assert number(-0.001, "mm") == "0"
    assert show(-88.9, "inch") == "-3 1/2 in"
    assert show(0.2, "inch") == "1/64 in"
    assert show(0.1, "inch") == "0 in"


def test_halves_round_away_from_zero_as_written_not_as_stored() -> None:
    assert show(0.15, "mm", 1) == "0.2 mm"
    assert show(-0.15, "mm", 1) == "-0.2 mm"
    assert on_rule(0.25, "mm") == 0.5


def test_a_number_that_is_no_length_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="nan"):
        show(float("nan"), "mm")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("163.2 mm from its left end", "6.425 in from its left end"),
        ("at 12.0, -40.5 mm", "at 0.472, -1.594 in"),
        ("piece 3, 2.54 mm wide", "piece 3, 0.1 in wide"),
        ("x 1.0 to 2.0 mm, y 3.0 x 4.0 mm", "x 0.039 to 0.079 in, y 0.118 x 0.157 in"),
        ("travels 600 mm", "travels 23.62 in"),
        ("4.20 mm2 at 1200 mm/min, 3 mm² of 20mm", "0.00651 sq in at 1200 mm/min, 3 mm² of 20mm"),
    ],
)
def test_a_text_in_mm_is_told_in_inches(text: str, told: str) -> None:
    """Figures by 1 in = 25.4 mm, worked by hand; areas and feeds are no lengths; in mm nothing changes."""
    assert retold(text, "inch") == retold(text, "inch-decimal") == told
    assert retold(text, "mm") == text


def test_names_of_the_makers_own_are_not_translated() -> None:
    text = 'the cutter "3 mm straight" is 3.00 mm wide'
    assert retold(text, "inch", ["3 mm straight", "saw"]) == 'the cutter "3 mm straight" is 0.118 in wide'


def test_a_wall_as_high_as_an_eighth_of_an_inch_is_told_as_one() -> None:
    """3.175 mm is 0.125 in, 4.7625 mm 3/16 in; rounded to tenths of a mm first they would be 0.126 and 0.189."""
    told = [retold(f"a wall {in_mm(mm)} high", "inch") for mm in (3.175, 4.7625)]
    assert told == ["a wall 0.125 in high", "a wall 0.188 in high"]
