"""Findings at the terminal: each once, and many that are alike in a few lines."""

import io

from purfle.cli.telling import tell_findings
from purfle.model.findings import Finding


def told(*findings: Finding) -> list[str]:
    out = io.StringIO()
    tell_findings(findings, out)
    return out.getvalue().splitlines()


def tip(number: int) -> Finding:
    return Finding("note", f'"point {number}" is {number / 10} mm wide', f"place {number}", "draw it wider", "fit")


def test_many_findings_that_differ_by_figures_and_names_are_told_with_their_places() -> None:
    lines = told(*(tip(number) for number in range(1, 9)))
    assert lines[:3] == ['note: "point 1" is 0.1 mm wide', "  where: place 1", "  mend:  draw it wider"]
    assert lines[3:] == ["  and 7 more like it: place 2; place 3; place 4; the others are in the report"]


def test_two_alike_are_told_whole_and_what_differs_in_words_is_never_put_together() -> None:
    other = Finding("note", '"point 3" is lost', "place 3", "draw it wider", "fit")
    assert len(told(tip(1), tip(2), other)) == 9


def test_stops_come_first_and_what_is_said_twice_is_told_once() -> None:
    stop = Finding("stop", "too deep", "key", "less deep", "cutting")
    lines = told(tip(1), stop, stop)
    assert [line for line in lines if not line.startswith(" ")] == ["STOP: too deep", 'note: "point 1" is 0.1 mm wide']
