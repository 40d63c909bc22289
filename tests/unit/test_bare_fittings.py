"""Fittings that are holes and nothing else stand on sheet 1 and in the quote beside those that are let in."""

from dataclasses import replace

from purfle.model.board import Hole
from purfle.model.job import JobResult
from purfle.reckoning.bench import bench_work
from purfle.reckoning.costs import _hardware
from purfle.sheets.parts import parts_of
from purfle.sheets.piece import hardware_words
from purfle.sheets.quote import included
from purfle.sheets.style import Style
from sample import tern_result


def with_holes() -> JobResult:
    """The tern lid with a cable hole, a pull of two bolts, two inserts of one name, and a screw of a hinge."""
    result = tern_result()
    hinge = result.layout.fittings[0].name
    holes = (
        Hole(1, "cable hole", "lead", "lead", "show", (30.0, 30.0), 20.0, 20.0, 18.0, is_through=True),
        Hole(2, "bolt", "screw 1 of pull", "pull", "show", (60.0, 30.0), 4.0, 4.0, 18.0, is_through=True),
        Hole(3, "bolt", "screw 2 of pull", "pull", "show", (90.0, 30.0), 4.0, 4.0, 18.0, is_through=True),
        Hole(1, "threaded insert", "nut", "nut", "underside", (60.0, 60.0), 8.5, 11.0, 12.0),
        Hole(2, "threaded insert", "nut", "nut", "underside", (90.0, 60.0), 8.5, 11.0, 12.0),
        Hole(3, "screw", f"screw of {hinge}", hinge, "underside", (120.0, 60.0), 2.0, 3.0, 9.0),
    )
    return replace(result, layout=replace(result.layout, holes=holes))


def test_sheet_1_names_fittings_without_a_recess() -> None:
    told, before = (
        [words.replace("\N{NO-BREAK SPACE}", " ") for words in hardware_words(result, Style("mm", "a4"))]
        for result in (with_holes(), tern_result())
    )
    assert told[: len(before)] == before
    assert told[len(before) :] == ["lead, Ø 20", "pull, two holes Ø 4", "2 × nut, Ø 8.5"]


def test_the_quote_holds_fittings_without_a_recess() -> None:
    result = with_holes()
    lines = included(result, parts_of(result))
    at = lines.index("a drawer pull and two threaded inserts, drilled for and fitted")
    assert lines[at - 1].endswith("let in and fitted")
    assert lines[at + 1] == "a cable hole, drilled"
    assert not [line for line in included(tern_result(), parts_of(tern_result())) if "drilled" in line]


def test_drilling_and_fitting_them_take_time_at_the_bench() -> None:
    """Six holes at 0.5, 1.5 and 3 minutes; a pull and two inserts at 10 more than what is let in."""
    work, before = ({one.name: one for one in bench_work(result)} for result in (with_holes(), tern_result()))
    drilling = work["drilling"]
    assert drilling.reckoned_from == "6 holes"
    assert (drilling.minutes.low, drilling.minutes.typical, drilling.minutes.high) == (3.0, 9.0, 18.0)
    assert work["hardware"].minutes.typical == before["hardware"].minutes.typical + 3 * 10.0
    assert "drilling" not in before


def test_hardware_costs_where_it_is_only_holes() -> None:
    result = with_holes()
    all_holes = [hole for hole in result.layout.holes if hole.kind != "screw"]
    for kinds, count in ((("bolt",), 1), (("threaded insert",), 1), (("cable hole",), 0)):
        holes = tuple(hole for hole in all_holes if hole.kind in kinds)
        assert len(_hardware(replace(result, layout=replace(result.layout, fittings=(), holes=holes)))) == count
