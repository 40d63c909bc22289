"""A name finds one wood, or says why it does not; what is shown of a wood says where it comes from."""

import pytest

from purfle import wood
from purfle.errors import PurfleError

DEMO_WOODS = ["holly", "wenge", "padauk", "maple", "sapele", "white oak"]


@pytest.mark.parametrize(
    "name, species",
    [
        ("holly", "holly"),
        ("American holly", "holly"),
        ("Ilex opaca", "holly"),
        ("HOLLY ", "holly"),
        ("white-oak", "oak_white"),
        ("Oak, white", "oak_white"),
        ("oak_white", "oak_white"),
        ("maple", "maple_sugar"),
        ("hard maple", "maple_sugar"),
        ("padauk", "padauk_african"),
        ("Padouk", "padauk_african"),
        ("zebrano", "zebrawood"),
        ("western red cedar", "cedar_western_red"),
        ("western redcedar", "cedar_western_red"),
        ("Douglas fir", "douglas_fir_coast"),
        ("Guaiacum", "lignum_vitae"),
    ],
)
def test_a_name_in_any_of_its_forms_finds_its_species(name: str, species: str) -> None:
    assert wood.find(name).id == species


def test_every_name_of_every_species_finds_that_species_or_names_it() -> None:
    for species in wood.all_species():
        for name in (species.id, species.common, species.botanical):
            try:
                assert wood.find(name).id == species.id
            except PurfleError as error:
                assert species.common in error.mend  # noqa: PT017


def test_a_name_shared_by_several_woods_says_which_are_meant() -> None:
    with pytest.raises(PurfleError) as caught:
        wood.find("oak")
    assert caught.value.what == "'oak' is the name of 4 woods"
    assert "oak" in caught.value.where
    assert caught.value.mend == "say which: northern red oak, white oak, live oak, European oak"


@pytest.mark.parametrize("name, near", [("padaukk", "African padauk"), ("wenga", "wenge"), ("sappele", "sapele")])
def test_a_misspelt_name_tells_the_nearest_known(name: str, near: str) -> None:
    with pytest.raises(PurfleError) as caught:
        wood.find(name)
    assert name in caught.value.what
    assert name in caught.value.where
    assert near in caught.value.mend


@pytest.mark.parametrize("name", ["", "   ", "()", "plywood of the moon", "x" * 5000, "木"])
def test_what_is_no_name_of_a_wood_is_refused(name: str) -> None:
    with pytest.raises(PurfleError) as caught:
        wood.find(name)
    assert caught.value.mend


def test_same_wood_holds_for_names_of_one_species_and_for_unknown_names_only_as_written() -> None:
    assert wood.same_wood("maple", "sugar maple")
    assert not wood.same_wood("maple", "red maple")
    assert wood.same_wood("bog oak", "Bog Oak")
    assert not wood.same_wood("bog oak", "fumed oak")


def test_every_figure_has_a_source_and_a_status() -> None:
    for species in wood.all_species():
        for name in species.__slots__:
            figure = getattr(species, name)
            if isinstance(figure, wood.Figure):
                assert figure.source, (species.id, name)
                assert figure.status, (species.id, name)
                assert figure.value > 0


def test_derived_coefficients_are_labelled_derived() -> None:
    radial = wood.find("wenge").change_radial
    tangential = wood.find("wenge").change_tangential
    assert radial is not None
    assert tangential is not None
    assert (radial.source, radial.status) == ("DER-13-3", "derived")
    assert tangential.source == "NWFA-A200"


@pytest.mark.parametrize("name", DEMO_WOODS)
def test_the_woods_of_the_demo_have_a_look_of_their_own(name: str) -> None:
    look = wood.look_of(name)
    assert look.status == "own estimate"
    assert look == wood.find(name).look


def test_looks_tell_the_woods_of_the_demo_apart() -> None:
    """Any two differ by more than 25 in some colour channel, so that they can be told apart on paper."""
    looks = [wood.look_of(name).finished for name in DEMO_WOODS]
    for n, one in enumerate(looks):
        for other in looks[n + 1 :]:
            assert max(abs(a - b) for a, b in zip(one, other, strict=True)) > 25


def test_a_wood_without_a_look_says_so() -> None:
    missing = [species for species in wood.all_species() if species.look.status != "own estimate"]
    assert missing
    assert all(species.look.status == "no look known: a plain brown stands in" for species in missing)


def test_colour_change_and_its_absence() -> None:
    changed = wood.colour_change_of("padauk")
    assert changed is not None
    assert changed.fresh == "orange-red"
    assert wood.colour_change_of("basswood") is None
    assert wood.hazards_of("basswood") == ()


def test_practice_by_the_beginning_of_its_name() -> None:
    thin = wood.practice("fit", "short grain: least width")
    assert (thin.low, thin.typical, thin.high, thin.unit, thin.status) == (1.5, 2.0, 3.0, "mm", "memory")


@pytest.mark.parametrize(
    "topic, item, mend",
    [
        ("fit", "short grian: least", "short grain: least width"),
        ("fit", "short grain", "short grain: "),
        ("fits", "seam", "topics are: code, cutter"),
    ],
)
def test_an_unknown_or_doubtful_practice_tells_the_nearest(topic: str, item: str, mend: str) -> None:
    with pytest.raises(PurfleError) as caught:
        wood.practice(topic, item)
    assert item in caught.value.what
    assert topic in caught.value.where
    if topic == "fit":
        assert mend in caught.value.mend
    else:
        assert caught.value.mend.startswith("topics are: ")


@pytest.mark.parametrize(
    "formula",
    [
        lambda: wood.moisture_content(20, 101),
        lambda: wood.moisture_content(-40, 50),
        lambda: wood.moisture_content(float("nan"), 50),
        lambda: wood.movement_small(100, 0.002, (5, 8)),
        lambda: wood.movement_wide(100, 7.0, (10, 31)),
        lambda: wood.movement_wide(100, 0.0, (10, 12)),
        lambda: wood.shrinkage_at(7.0, 40),
        lambda: wood.derived_coefficient(150.0),
    ],
)
def test_formulas_refuse_what_they_are_not_valid_for(formula: object) -> None:
    assert callable(formula)
    with pytest.raises(PurfleError) as caught:
        formula()
    assert "valid" in caught.value.what
    assert caught.value.where
    assert caught.value.mend.startswith("give a figure from")


def test_codes_of_sources_name_their_publication() -> None:
    used = {
        figure.source
        for species in wood.all_species()
        for name in species.__slots__
        if isinstance(figure := getattr(species, name), wood.Figure)
    }
    for code in used:
        assert wood.publication(code) != code or " " in code or "/" in code, code


def test_a_text_tells_woods_by_the_makers_words_and_leaves_files_and_unknown_words_alone():
    told = wood.woods_told("maple_sugar beside walnut_black, in my_wood.svg and tern_lid", ["unknown wood", "Maple"])
    assert told == "Maple beside black walnut, in my_wood.svg and tern_lid"
