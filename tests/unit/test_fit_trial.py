"""The arithmetic of a fit trial, its table in the job file, and a shop file that keeps every sign but its figures."""

import math
from pathlib import Path

import numpy as np
import pytest

from purfle.errors import Fault, JobFileError, ShopFileError, TrialError
from purfle.files.job_toml import load_job
from purfle.files.job_trial import trial_text
from purfle.model.job import ReadyRule
from purfle.shop import first_shop_text, read_shop
from purfle.shop.saving import with_cutter_figures
from purfle.shop.trial import BY_HAND, BY_HAND_ERROR, CALIPER, READING, Plug, TrialNotes, outcome_of

SEAMS = [0.02 * number for number in range(1, 8)]
PLUGS = [Plug(number, a, 20.0 - a, 20.0 + a) for number, a in enumerate(SEAMS, 1)]
FIGURES = {"path_width": '"3.21 mm"', "path_width_error": '"0.008 mm"', "fit_trial": "2026-11-30"}


@pytest.mark.parametrize("wider", [-0.05, 0.0, 0.04])
def test_sizes_give_the_true_width_whatever_the_calipers_add(wider: float) -> None:
    """Plug S - a - e, recess S + a + e, both read 0.015 too large: the mean of both is e."""
    plugs = tuple((p.number, p.plug - wider + 0.015) for p in PLUGS)
    recesses = tuple((p.number, p.recess + wider + 0.015) for p in PLUGS)
    assert outcome_of(PLUGS, 3.175, TrialNotes(None, plugs, recesses)).path_width == pytest.approx(3.175 + wider)
    alone = outcome_of(PLUGS, 3.175, TrialNotes(None, plugs))
    assert alone.path_width == pytest.approx(3.175 + wider - 0.015)
    assert alone.path_width_error > CALIPER / math.sqrt(3.0)


def test_one_reading_is_as_sure_as_readings_are() -> None:
    one = outcome_of(PLUGS, 3.0, TrialNotes(None, ((4, 19.9),)))
    assert one.path_width == pytest.approx(3.0 + 0.02)
    assert one.path_width_error == pytest.approx(math.hypot(READING, CALIPER / math.sqrt(3.0)))
    assert (one.goes_in, one.goes_in_error) == (BY_HAND, BY_HAND_ERROR)


def test_the_plug_that_went_in_gives_the_width_by_what_is_usual() -> None:
    """Number 4 went in, 3 did not: h - e = 0.07 within 0.02 / sqrt 12, so e = 0.03 - 0.07."""
    found = outcome_of(PLUGS, 3.175, TrialNotes(4))
    assert found.path_width == pytest.approx(3.175 - 0.04)
    assert found.path_width_error == pytest.approx(math.hypot(BY_HAND_ERROR, 0.02 / math.sqrt(12.0)))
    assert not found.is_measured


def test_hand_and_sizes_together_are_the_least_squares_of_three_findings() -> None:
    """Against numpy's solution of e = m, h - e = d, h = 0.03, each divided by its standard deviation."""
    notes = TrialNotes(4, ((4, 19.905),), ((4, 20.11), (2, 20.08)))
    found = outcome_of(PLUGS, 3.175, notes)
    sizes = outcome_of(PLUGS, 3.175, TrialNotes(None, notes.plugs, notes.recesses))
    rows = np.array([[1.0, 0.0], [-1.0, 1.0], [0.0, 1.0]])
    said = np.array([sizes.path_width - 3.175, 0.07, BY_HAND])
    errors = np.array([sizes.path_width_error, 0.02 / math.sqrt(12.0), BY_HAND_ERROR])
    weighted = rows / errors[:, None]
    solved = np.linalg.lstsq(weighted, said / errors, rcond=None)[0]
    spread = np.sqrt(np.diag(np.linalg.inv(weighted.T @ weighted)))
    assert (found.path_width - 3.175, found.goes_in) == pytest.approx(tuple(solved))
    assert (found.path_width_error, found.goes_in_error) == pytest.approx(tuple(spread))


def test_the_error_stated_is_the_error_made() -> None:
    """4,000 trials with calipers and hands as stated, by random numbers: the errors spread as the outcome says."""
    random = np.random.default_rng(7)
    wider, off = 0.03, []
    for _ in range(4000):
        jaw = random.uniform(-CALIPER, CALIPER)
        inside = random.uniform(-CALIPER, CALIPER)
        # the mean of plugs and recesses keeps half of what one kind alone would be off by
        readings = random.normal(0.0, READING, 4)
        plugs = tuple((n, PLUGS[n - 1].plug - wider + jaw + readings[n - 1]) for n in (1, 2))
        recesses = tuple((n, PLUGS[n - 1].recess + wider + jaw + inside + readings[n + 1]) for n in (1, 2))
        off.append(outcome_of(PLUGS, 3.175, TrialNotes(None, plugs, recesses)).path_width - 3.175 - wider)
    stated = math.hypot(READING / 2.0, 0.5 * CALIPER / math.sqrt(3.0))
    assert np.mean(off) == pytest.approx(0.0, abs=4 * stated / math.sqrt(4000))
    assert np.std(off) == pytest.approx(stated, rel=0.06)


@pytest.mark.parametrize(
    ("notes", "what", "where"),
    [
        (TrialNotes(9), "There is no plug 9", "--went-in"),
        (TrialNotes(None, ((8, 19.9),)), "There is no plug 8", "--plug"),
        (TrialNotes(None, (), ((4, 30.0),)), "30.00 mm cannot be the recess of plug 4", "--recess"),
        (TrialNotes(None, ((4, math.nan),)), "nan mm cannot be the plug of plug 4", "--plug"),
        (TrialNotes(1), "even plug 1 went in, so the groove is wider by 0.01 mm or by any more", "--went-in"),
        (TrialNotes(0), "not even plug 7 went in, so the groove is narrower by 0.11 mm or more", "--went-in"),
        (TrialNotes(), "Nothing says how the trial went", "purfle fit-trial"),
    ],
)
def test_what_says_nothing_is_refused(notes: TrialNotes, what: str, where: str) -> None:
    with pytest.raises(TrialError) as refusal:
        outcome_of(PLUGS, 3.175, notes)
    assert refusal.value.what.startswith(what)
    assert refusal.value.where == where
    assert refusal.value.mend


# --- the shop file


def test_the_shop_file_keeps_every_sign_but_the_figures() -> None:
    """Comments, order, line ends and the other cutters stay; keys that are there change in place."""
    text = first_shop_text().replace("\n", "\r\n")
    changed = with_cutter_figures(text, "1/8 in straight", FIGURES)
    before, after = text.split("\r\n"), changed.split("\r\n")
    added = [line for line in after if line not in before]
    assert added == ['path_width = "3.21 mm"', 'path_width_error = "0.008 mm"', "fit_trial = 2026-11-30"]
    assert [line for line in after if line not in added] == before
    at = after.index(added[0])
    assert after[at - 1].startswith("max_speed")
    assert after[at - 6] == 'name = "1/8 in straight"'
    cutter = next(one for one in read_shop(changed).cutters if one.name == "1/8 in straight")
    assert (cutter.width, cutter.path_width_error, cutter.fit_trial) == (3.21, 0.008, "2026-11-30")
    again = with_cutter_figures(changed, "1/8 in straight", FIGURES | {"path_width": '"3.19 mm"'})
    assert again == changed.replace('"3.21 mm"\r\n', '"3.19 mm"\r\n')


def test_a_comment_behind_a_figure_stays_and_so_does_what_follows_a_long_list() -> None:
    text = (
        first_shop_text()
        .replace("max_speed = 24000", 'max_speed = 24000\n  path_width = "6.4 mm"   # last winter', 1)
        .replace('name = "1/8 in straight"', 'name = "1/8 in straight"\nnote = """a\nb"""')
    )
    changed = with_cutter_figures(text, "1/4 in straight", FIGURES)
    assert '  path_width = "3.21 mm"   # last winter' in changed
    assert "  path_width_error" in changed
    other = with_cutter_figures(first_shop_text().rstrip(), "1/16 in straight", {"path_width": '"1.6 mm"'})
    assert read_shop(other).cutters[2].width == 1.6


def test_a_shop_file_that_is_written_otherwise_is_refused_and_says_what_to_write() -> None:
    keys = 'name = "c", diameter = "3 mm", flutes = 2, cutting_length = "9 mm", stick_out = "9 mm", max_speed = 900'
    head = first_shop_text().split("# Cutters.")[0]
    with pytest.raises(ShopFileError) as refusal:
        with_cutter_figures(f"cutter = [{{ number = 1, {keys} }}]\n{head}", "c", FIGURES)
    assert "does not stand under a heading of its own" in refusal.value.what
    twice = first_shop_text().replace("max_speed = 24000", 'max_speed = 24000\n"path_width" = 6.4', 1)
    changed = twice
    with pytest.raises(ShopFileError) as refusal:
        changed = with_cutter_figures(twice, "1/4 in straight", FIGURES)
    assert changed == twice
    assert "cannot be changed here" in refusal.value.what
    assert "path_width" in refusal.value.mend


# --- the job file


def trial_in(folder: Path, change: tuple[str, str] = ("", ""), inches: bool = False) -> Path:
    folder.mkdir(parents=True)
    text = trial_text("Trial", "1/8 in straight", ("white oak", "holly"), inches)
    assert change[0] in text
    (folder / "job.toml").write_text(text.replace(*change, 1), encoding="utf-8")
    (folder / "shop.toml").write_text(first_shop_text(), encoding="utf-8")
    return folder


@pytest.mark.parametrize("inches", [False, True])
def test_a_new_trial_is_a_job_of_seven_plugs_in_a_row(tmp_path: Path, inches: bool) -> None:
    job = load_job(trial_in(tmp_path / "trial", inches=inches))
    assert job.trial is not None
    assert len(job.trial.seams) == len(job.artworks) == 7
    plugs = [rule for rule in job.artworks if isinstance(rule, ReadyRule)]
    assert [plug.seam for plug in plugs] == list(job.trial.seams)
    assert [plug.name for plug in plugs] == [f"plug {n}" for n in range(1, 8)]
    xs = [plug.along_a.amount for plug in plugs]
    assert np.diff(xs) == pytest.approx(job.trial.size + 8.0)
    assert xs[0] + xs[-1] == pytest.approx(job.board.length)
    assert {plug.along_b.amount for plug in plugs} == {job.board.width / 2}


def test_plugs_that_do_not_fit_in_one_row_stand_in_several(tmp_path: Path) -> None:
    job = load_job(trial_in(tmp_path / "trial", ('"40 mm"', '"100 mm"')))
    wide = load_job(
        trial_in(tmp_path / "other", ('length    = "210 mm"\nwidth     = "40 mm"', "length = 130\nwidth = 70"))
    )
    assert len({plug.along_b.amount for plug in job.artworks}) == 1
    assert [round(plug.along_b.amount, 3) for plug in wide.artworks] == [49.0] * 4 + [21.0] * 3


@pytest.mark.parametrize(
    ("change", "what", "where"),
    [
        (('"0.04 mm"', '"0.02 mm"'), "The seams do not grow", "fit_trial.seams"),
        (('"0.14 mm"', '"1.4 mm"'), "A seam of the trial cannot be so", "fit_trial.seams"),
        (('"20 mm"', '"60 mm"'), "the board has room for 0 plugs, 7 are asked for", "fit_trial.seams"),
        (
            ('wood  = "holly"', 'wood = "hollyhock tree"'),
            "'hollyhock tree' is no wood that Purfle knows",
            "fit_trial.wood",
        ),
        (("[fit]", '[fit]\nseam = "0.1 mm"'), "Each plug of a fit trial has a seam of its own", "fit.seam"),
        (
            ("[fit]", '[[shape]]\nkind = "disc"\n[fit]'),
            "shape stands beside fit_trial, which is a job of its own",
            "shape",
        ),
        (("seams = [", "seams = 3 # ["), "seams has to be a list of lengths", "fit_trial.seams"),
    ],
)
def test_a_trial_that_cannot_be_is_told_with_its_line(
    tmp_path: Path, change: tuple[str, str], what: str, where: str
) -> None:
    with pytest.raises(JobFileError) as refusal:
        load_job(trial_in(tmp_path / "trial", change))
    told: list[Fault] = [fault for fault in refusal.value.faults if fault.what.startswith(what[:30])]
    assert told, [fault.what for fault in refusal.value.faults]
    assert told[0].what.startswith(what.split(",")[0])
    assert told[0].where.startswith("job.toml, line ")
    assert told[0].where.endswith(where)
    assert told[0].mend
