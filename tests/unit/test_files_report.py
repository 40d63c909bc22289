"""The report carries every figure with its unit in the key, is the same to the byte, and keeps to its schema."""

import hashlib
import json
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from purfle.files.report import report, report_bytes
from purfle.model.findings import Finding
from purfle.model.job import JobResult
from purfle.reckoning import reckon
from sample import bare_result, tern_result

RESULT = replace(tern_result(), reckoning=reckon(tern_result()))
FILES = {"b.nc": b"M2\n", "a.svg": b"<svg/>", "report.json": b"old", "timings.json": b"{}"}
SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "report.schema.json").read_text(encoding="utf-8"))
UNITS = ("_n", "_w", "_m_per_s", "_mm", "_mm2", "_deg", "_min", "_rpm", "_mm_per_min", "_share", "_of_diameter")
UNITS += ("_percent", "_c")
UNITS += ("_h", "_in_currency", "_kg")
PLAIN = {"version", "number", "cutter", "areas", "ground_areas", "pieces", "junctions", "lines", "bytes", "moves"}
PLAIN |= {
    "order",
    "hosts",
    "tabs",
    "spring_passes",
    "copies",
    "coats",
    "amount",
    "working_days",
    "trips",
    "chisel_remnants",
    "share_within",
    "minutes",
    "metres",
    "mm",
    "mm_per_unit",
}
"""Numbers that are counts, shares, or whose name is the unit."""


def numbers(value: Any, key: str = "") -> Iterator[tuple[str, float]]:
    if isinstance(value, dict):
        for name, one in value.items():
            yield from numbers(one, name)
    elif isinstance(value, list):
        for one in value:
            yield from numbers(one, key)
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield key, value


@pytest.mark.parametrize(
    "result",
    [RESULT, tern_result("inch", "letter"), bare_result(300, 200), replace(RESULT, proof=None)],
    ids=["tern", "inch", "empty board", "not proven yet"],
)
def test_the_report_keeps_to_its_schema(result: JobResult) -> None:
    """Source: JSON Schema 2020-12, checked by the library jsonschema."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    jsonschema.Draft202012Validator(SCHEMA).validate(json.loads(report_bytes(result, FILES)))


def test_the_schema_refuses_what_it_does_not_know() -> None:
    entry = json.loads(report_bytes(RESULT, FILES))
    validator = jsonschema.Draft202012Validator(SCHEMA)
    assert not validator.is_valid(entry | {"extra": 1})
    assert not validator.is_valid({key: entry[key] for key in entry if key != "proof"})
    entry["inlays"][0]["fit"]["seam"]["widest_mm"] = "0.1 mm"
    assert not validator.is_valid(entry)


def test_every_number_has_its_unit_in_its_key() -> None:
    keys = {key for key, _ in numbers(json.loads(report_bytes(RESULT, FILES)))}
    assert {key for key in keys if not key.endswith(UNITS)} <= PLAIN


def test_the_report_is_the_same_to_the_byte() -> None:
    again = replace(tern_result(), reckoning=reckon(tern_result()))
    assert report_bytes(again, FILES) == report_bytes(RESULT, dict(reversed(FILES.items())))


def test_fit_figures_are_those_of_the_fit_by_both_engines() -> None:
    fit, told = RESULT.layout.inlays[0].fit, report(RESULT, FILES)["inlays"][0]["fit"]
    assert told["closing_residual_geos_mm"] == fit.pieces.closing_residual_geos
    assert told["closing_residual_clipper_mm"] == fit.pieces.closing_residual_clipper
    assert told["seam"]["narrowest_mm"] == fit.seam.narrowest
    assert told["seam"]["widest_mm"] == fit.seam.widest
    assert told["seam"]["share_within"] == fit.seam.share_within
    assert told["art_changed_share"] == fit.pieces.art_changed
    assert len(told["lost"]) == len(fit.pieces.lost)


def test_every_finding_is_in_the_report_and_one_that_says_stop_undoes_proven() -> None:
    assert report(RESULT, FILES)["proven"] is not any(f.severity == "stop" for f in RESULT.findings)
    calm = replace(RESULT, findings=())
    assert report(calm, FILES)["proven"] is True
    stop = Finding("stop", "too deep", "hinge 1", "let it in less deep", "cutting", (10.0, 20.0))
    told = report(replace(RESULT, findings=(stop,)), FILES)
    assert told["proven"] is False
    assert told["findings"][0] == {
        "severity": "stop",
        "what": "too deep",
        "where": "hinge 1",
        "mend": "let it in less deep",
        "stage": "cutting",
        "at_mm": [10.0, 20.0],
    }


def test_the_files_are_listed_with_their_sizes_and_sums() -> None:
    assert report(RESULT, FILES)["files"] == [
        {"name": "a.svg", "bytes": 6, "sha256": hashlib.sha256(b"<svg/>").hexdigest()},
        {"name": "b.nc", "bytes": 3, "sha256": hashlib.sha256(b"M2\n").hexdigest()},
    ]


def test_a_figure_that_could_not_be_found_is_told_as_nothing() -> None:
    inlay = RESULT.layout.inlays[0]
    seam = replace(inlay.fit.seam, narrowest=float("inf"), narrowest_at=(float("nan"), 0.0))
    layout = replace(RESULT.layout, inlays=(replace(inlay, fit=replace(inlay.fit, seam=seam)),))
    told = json.loads(report_bytes(replace(RESULT, layout=layout), FILES))["inlays"][0]["fit"]["seam"]
    assert told["narrowest_mm"] is None
    assert told["narrowest_at_mm"] is None


def test_no_place_of_the_makers_disk_stands_in_the_report() -> None:
    assert str(RESULT.job.folder.resolve()) not in report_bytes(RESULT, FILES).decode()


def test_the_version_told_is_that_of_the_project() -> None:
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8"))
    assert report(RESULT, FILES)["purfle"] == project["project"]["version"]
