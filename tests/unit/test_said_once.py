"""What follows from things that are not placed as they can be is not told as if the files were wrong."""

from types import SimpleNamespace
from typing import Any

import pytest

from purfle import job
from purfle.model.findings import Finding


@pytest.mark.parametrize(("stage", "mend"), [("board", job.FOLLOWS), ("fit", "write the files again")])
def test_stops_of_the_dry_fit_are_mended_with_the_board(stage: str, mend: str) -> None:
    planned = Finding("stop", "hinge and magnet run into each other", "hinge and magnet", "move one of them", stage)
    deep = Finding("stop", "'hinge-1' is cut 3.20 mm deep", "a.nc", "write the files again", "proof")
    wide = Finding("look", "the seam is wide", "a.nc", "have a look", "proof")
    result: Any = SimpleNamespace(findings=(planned,), proof=SimpleNamespace(findings=(deep, wide)))
    told = job.said_once(result)
    assert [one.mend for one in told] == ["move one of them", mend, "have a look"]
    assert job.stops(result)[1] == deep
