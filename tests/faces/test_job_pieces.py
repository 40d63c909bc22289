"""`purfle pieces JOB`: the pieces are those that `purfle make` cuts, with everything that the job file says of them."""

import json
from pathlib import Path
from typing import Any

import pytest
import shapely
from shapely.geometry import shape

from conftest import CLASP_DRAWING, CLASP_JOB, Made, write_clasp
from purfle import job as flow
from purfle.cli import main as face
from purfle.files.job_folder import read_job_folder

SAID = """
[areas]
merge = [["leaf", "shade"]]
[names]
"spot" = "dot"
[corners]
"0, 39" = "chisel"
[cutters]
"spot" = "1/16 in straight"
[order]
"spot" = "beside"
"""
"""Everything that a job file can say of its pieces."""


def features_of(folder: Path, target: Path) -> list[dict[str, Any]]:
    """The features that `purfle pieces` writes of a job folder."""
    assert face.main(["pieces", str(folder), "--geojson", str(target)]) == 0
    found: list[dict[str, Any]] = json.loads(target.read_text(encoding="utf-8"))["features"]
    return found


def of_kind(features: list[dict[str, Any]], kind: str) -> list[dict[str, Any]]:
    return [one for one in features if one["properties"]["kind"] == kind]


def unlike(one: dict[str, Any], region: shapely.Geometry) -> float:
    return float(shape(one["geometry"]).symmetric_difference(region).area)


def test_the_pieces_of_a_job_are_those_that_are_made(tmp_path: Path, clasp: Made) -> None:
    """Insert by insert, and recess by recess, of both orders of letting in; the key is left out."""
    features = features_of(write_clasp(tmp_path / "clasp"), tmp_path / "pieces.json")
    inlays = [inlay for inlay in clasp[0].layout.inlays if inlay.kind == "picture"]
    made = {insert.number: (inlay, insert) for inlay in inlays for insert in inlay.fit.inserts}
    inserts = of_kind(features, "insert")
    assert {one["properties"]["piece"] for one in inserts} == set(made) == {1, 2, 3}
    for one in inserts:
        inlay, insert = made[one["properties"]["piece"]]
        assert unlike(one, insert.region) < 1e-3
        said = [one["properties"][key] for key in ("name", "wood", "order", "hosts")]
        assert said == [insert.name, insert.wood, inlay.fit.order, list(insert.hosts)]
    recesses = of_kind(features, "recess")
    assert [one["properties"]["order"] for one in recesses] == [1, 2]
    for one, inlay in zip(recesses, inlays, strict=True):
        assert unlike(one, inlay.fit.recess) < 1e-3


def test_what_is_drawn_tiles_within_each_order(tmp_path: Path) -> None:
    """The ground is there once, as piece 0; a later order lies in the inserts below it and leaves no hole there."""
    features = features_of(write_clasp(tmp_path / "clasp"), tmp_path / "pieces.json")
    first = [one for one in of_kind(features, "drawn") if one["properties"]["order"] == 1]
    assert [one["properties"]["piece"] for one in first] == [0, 1, 2]
    regions = [shape(one["geometry"]) for one in first]
    assert shapely.union_all(regions).area == pytest.approx(sum(one.area for one in regions), abs=1e-3)
    (second,) = [one for one in of_kind(features, "drawn") if one["properties"]["order"] == 2]
    assert shape(second["geometry"]).difference(shapely.union_all(regions[1:])).area < 1e-6


def test_everything_that_a_job_says_of_its_pieces_counts(tmp_path: Path) -> None:
    """Areas merged and renamed, an order, a corner and a cutter of its own: as `make` fits them."""
    woods = CLASP_JOB.replace('"shade" = "wenge"\n', "").replace('"dot" = "padauk"', '"spot" = "padauk"')
    drawing = CLASP_DRAWING.replace("M4 8 C14 0 24 2 29 8", "M4 2 L29 2 L29 8")
    folder = write_clasp(tmp_path / "clasp", woods + SAID, drawing)
    features = features_of(folder, tmp_path / "pieces.json")
    job, shop = read_job_folder(folder)
    fits = flow.fit_all(job, shop, flow.design_of(job, shop).drawn)
    wanted = {insert.name: insert for name, fit in fits.items() if "key" not in name for insert in fit.inserts}
    assert set(wanted) == {"leaf", "spot"}
    inserts = {one["properties"]["name"]: one for one in of_kind(features, "insert")}
    assert all(unlike(inserts[name], insert.region) < 1e-3 for name, insert in wanted.items())
    assert {name: one["properties"]["order"] for name, one in inserts.items()} == {"leaf": 1, "spot": 1}
    cutters = {name: one["properties"]["cutter_mm"] for name, one in inserts.items()}
    assert cutters == pytest.approx({"leaf": 3.175, "spot": 1.5875})
    leaf = shape(inserts["leaf"]["geometry"])
    left, _, _, high = leaf.bounds
    assert leaf.distance(shapely.Point(left, high)) < 0.01, "the corner that the job names is chiselled"
    assert features_of(folder, tmp_path / "again.json") == features


def test_a_job_that_cannot_be_used_writes_no_pieces(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An edit that meets nothing is told as `make` tells it."""
    folder = write_clasp(tmp_path / "clasp", CLASP_JOB + '[areas]\nto_ground = ["lid"]\n')
    assert face.main(["pieces", str(folder), "--geojson", str(tmp_path / "x.json")]) == 2
    assert capsys.readouterr().err.startswith('No area is called "lid".\n  where: [areas] to_ground\n')
    assert not (tmp_path / "x.json").exists()
