"""What stands on a sheet as figures and words, and how much room it takes."""

import json

import pytest
import typst
from hypothesis import given, settings
from hypothesis import strategies as st

from purfle.sheets.lettering import listed, plural, width, with_article, wrapped
from purfle.sheets.style import PAPERS, Style
from purfle.sheets.tints import tints
from purfle.sheets.trade import liquid
from purfle.units import length

MM = Style("mm", "a4")
INCH = Style("inch", "letter")
DECIMAL = Style("inch-decimal", "letter")


def test_a_rule_shows_half_millimetres_or_sixty_fourths() -> None:
    assert [s.rule(117.06) for s in (MM, INCH, DECIMAL)] == ["117.0", "4 39/64", "4.609"]
    assert [s.rule(6.35) for s in (MM, INCH, DECIMAL)] == ["6.5", "1/4", "0.250"]


def test_the_error_of_rounding_has_its_sign_and_none_has_no_sign() -> None:
    assert [MM.rule_error(x) for x in (117.11, 302.89, 74.0, 10.004)] == ["−0.11", "+0.11", "0.00", "0.00"]
    assert INCH.rule_error(25.4 * (1 + 1 / 64) - 0.0254 * 7) == "+0.007"


def test_little_of_a_finish_is_not_told_as_nothing() -> None:
    """1 US fl oz = 29.5735 ml (source: NIST Handbook 44, appendix C)."""
    assert [liquid(ml, INCH) for ml in (29.5735, 9.1, 1.3)] == [
        "1.0 fl oz (30 ml)",
        "0.3 fl oz (9.1 ml)",
        "0.04 fl oz (1.3 ml)",
    ]
    assert liquid(1.3, MM) == "1.3 ml"


def test_figures_below_each_other_have_their_tenth() -> None:
    assert [MM.tenths(x) for x in (6.0, 30.6)] == ["6.0", "30.6"]
    assert MM.size(420, 260.04, 19) == "420 × 260 × 19"


@given(st.floats(0.1, 3000.0), st.sampled_from([MM, INCH, DECIMAL]))
@settings(deadline=None, derandomize=True, max_examples=200)
def test_the_rules_figure_and_its_error_give_the_true_distance(mm: float, style: Style) -> None:
    """Figure less error is the true distance, to the last decimal printed."""
    unit = 1.0 if style.unit == "mm" else 25.4
    figure = length(style.rule(mm), style.unit)
    error = float(style.rule_error(mm).replace("−", "-")) * unit
    assert figure - error == pytest.approx(mm, abs=(0.0051 if style.unit == "mm" else 0.00101 * 25.4))


def test_papers_are_those_of_the_standards() -> None:
    """ISO 216 A4 in mm; US letter is 8.5 by 11 inches."""
    assert PAPERS["a4"] == (210.0, 297.0)
    assert PAPERS["letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


@pytest.mark.parametrize("weight", ["regular", "bold", "italic"])
def test_widths_are_those_that_typst_sets(weight: str) -> None:
    """Against typst's own measure of the same text: within 3 %."""
    texts = [
        "117.0",
        "382.0",
        "4 39/64",
        "15 3/64",
        "left datum edge",
        "butterfly key 44 × 20, 8.0 deep",
        "offcut 12: 238 × 92",
    ]
    set_in = {"regular": 'weight: "regular"', "bold": 'weight: "bold"', "italic": 'style: "italic"'}[weight]
    source = (
        f'#set text(font: "Libertinus Serif", size: 100pt, number-type: "lining", number-width: "tabular", {set_in})\n'
        '#import "base.typ": rich\n'
        "#context [#metadata(json(bytes(sys.inputs.texts)).map(t => measure(rich(t)).width.mm())) <w>]"
    )
    from purfle.sheets.book import typst_sources

    compiler = typst.Compiler(
        {**dict(typst_sources()), "main.typ": source.encode()},  # type: ignore[arg-type]
        ignore_system_fonts=True,
        sys_inputs={"texts": json.dumps(texts)},
    )
    measured = json.loads(compiler.query("<w>", field="value", one=True))
    for text, mm in zip(texts, measured, strict=True):
        assert width(text, 100.0, weight) == pytest.approx(mm, rel=0.03), text  # type: ignore[arg-type]


@given(st.text(st.characters(codec="ascii", exclude_categories=["C"]), max_size=80), st.floats(20.0, 120.0))
@settings(deadline=None, derandomize=True, max_examples=200)
def test_wrapped_lines_fit_and_lose_no_word(text: str, room: float) -> None:
    lines = wrapped(text, 10.5, room)
    assert " ".join(lines).split() == text.split()
    assert all(width(line, 10.5) <= room or " " not in line for line in lines)


def test_words() -> None:
    assert listed([]) == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert [plural(n, "piece") for n in (1, 14)] == ["1 piece", "14 pieces"]
    assert with_article("middle of eye") == "the middle of the eye"
    assert with_article("point of the bill") == "the point of the bill"
    assert with_article("middle of piece 4") == "the middle of piece 4"


def test_greys_keep_the_order_of_lightness() -> None:
    """Holly is palest, wenge darkest, whatever the order they are named in."""
    shades = tints(["wenge", "holly", "sapele", "maple"])
    assert sorted(shades, key=lambda wood: -int(shades[wood][1:3], 16)) == ["holly", "maple", "sapele", "wenge"]
    assert shades["holly"] == "#ffffff"
    assert len(tints(["holly"])) == 1
