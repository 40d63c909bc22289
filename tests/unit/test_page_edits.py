"""Changes that the page makes in a job file: comments stay, numbers keep their meaning."""

import tomllib
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conftest import TERN_LID
from purfle.errors import JobFileError
from purfle.files.job_folder import read_job_folder
from purfle.web import edits

TERN = (TERN_LID / "job.toml").read_text(encoding="utf-8")


def lines_changed(new: str) -> list[str]:
    return [line for line in new.splitlines() if line not in TERN.splitlines()]


def test_a_length_is_written_over_in_place_and_its_comment_stays() -> None:
    new = edits.edited(TERN, [{"length": ["fit", "seam"], "text": "0.12"}], "mm")
    assert lines_changed(new) == ['seam      = "0.12 mm"        # width of every joint']


def test_a_length_in_another_unit_stays_as_it_was_typed() -> None:
    new = edits.edited(TERN, [{"length": ["board", "thickness"], "text": "3/4in"}], "mm")
    assert tomllib.loads(new)["board"]["thickness"] == "3/4in"


def test_a_place_takes_out_whatever_said_it_another_way() -> None:
    new = edits.edited(TERN, [{"place": ["picture"], "x": "205", "y": "134 mm"}], "mm")
    picture = tomllib.loads(new)["picture"]
    said = {key: picture.get(key) for key in ("centred", "from_left", "from_front", "measured_to")}
    assert said == {"centred": None, "from_left": "205 mm", "from_front": "134 mm", "measured_to": "middle"}


def test_other_units_leave_every_number_of_the_job_what_it_was() -> None:
    """Numbers without a unit stay in the one they were written in; back again gives the file that was."""
    bare = TERN.replace('"420 mm"', "420")
    inches = edits.edited(bare, [{"units": "inch"}], "mm")
    job, _ = read_job_folder(TERN_LID, inches.encode())
    assert (job.unit, job.board.length, job.artworks[0].depth) == ("inch", 420.0, 3.0)
    assert edits.edited(inches, [{"units": "mm"}], "in") == bare


def test_a_table_is_added_and_taken_out_again() -> None:
    hinge = {"kind": "hinge", "name": "third hinge", "face": "underside", "length": "50 mm"}
    new = edits.edited(TERN, [{"add": ["fitting"], "table": hinge}], "mm")
    assert tomllib.loads(new)["fitting"][4] == hinge
    assert len(tomllib.loads(edits.edited(new, [{"take_out": ["fitting", 0]}], "mm"))["fitting"]) == 4
    assert "# Two magnets under the front corners keep the lid shut." in new


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"set": "board"},
        {"set": []},
        {"set": ["fitting", 9, "depth"], "value": 1},
        {"set": ["board", "x"], "value": None},
    ],
    ids=["nothing", "no list", "empty", "no such table", "no value"],
)
def test_a_change_that_means_nothing_is_refused_with_what_to_do(change: dict[str, object]) -> None:
    with pytest.raises(JobFileError) as refusal:
        edits.edited(TERN, [change], "mm")
    assert refusal.value.what
    assert refusal.value.where
    assert refusal.value.mend


WORDS = st.one_of(st.none(), st.booleans(), st.integers(-9, 9), st.floats(allow_nan=False), st.text(max_size=9))
PATHS = st.lists(st.sampled_from(["board", "picture", "fitting", "fit", "depth", "x", 0, 1, 9]), max_size=4)
KEYS = st.sampled_from(["set", "length", "add", "place", "take_out", "units", "value", "text", "table", "x", "y"])


@settings(max_examples=120, deadline=None)
@given(st.lists(st.one_of(st.dictionaries(KEYS, st.one_of(PATHS, WORDS), max_size=4), WORDS), min_size=1, max_size=3))
def test_whatever_is_asked_gives_toml_or_is_refused(changes: list[dict[str, object]]) -> None:
    with suppress(JobFileError):
        tomllib.loads(edits.edited(TERN, changes, "mm"))
