"""`purfle pieces JOB` and `purfle areas JOB`: pieces as `purfle make` cuts them; points that name areas."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from PIL import Image
from shapely.geometry import shape

from conftest import CLASP_DRAWING, CLASP_JOB, TERN_LID, Made, write_clasp
from purfle import job as flow
from purfle.cli import main as face
from purfle.files.job_folder import read_job_folder
from purfle.fitted import fit_all

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
    fits = fit_all(job, shop, flow.design_of(job, shop).drawn)
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


def test_the_points_of_a_job_name_its_areas(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each point that is drawn, put into the job file, means the area that it is listed with."""
    folder = write_clasp(tmp_path / "clasp")
    target = tmp_path / "points.svg"
    assert face.main(["areas", str(folder), "--points", str(target)]) == 0
    assert capsys.readouterr().out == f"3 areas with a point in each, drawn to {target}.\n"
    words = re.findall(r">([^<]*)</text>", target.read_text(encoding="utf-8"))
    listed = dict(zip([one for one in words if one in ("leaf", "shade", "dot")], _points(words), strict=True))
    assert set(listed) == {"leaf", "shade", "dot"}
    renamed = "\n".join(f'"new {name}" = {point}' for name, point in listed.items())
    woods = CLASP_JOB
    for name in listed:
        woods = woods.replace(f'"{name}" =', f'"new {name}" =')
    write_clasp(folder, f"{woods}[names]\n{renamed}\n")
    job, shop = read_job_folder(folder)
    drawn = {area.name: area.region for area in flow.design_of(job, shop).drawn}
    before = {area.name: area.region for area in flow.design_of(*read_job_folder(write_clasp(tmp_path / "b"))).drawn}
    assert {f"new {name}": region for name, region in before.items()} == drawn


def _points(words: list[str]) -> list[str]:
    return [one.replace("&quot;", '"') for one in words if re.fullmatch(r'"[0-9.]+, [0-9.]+"', one)]


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (["JOB"], "Nothing says where the areas go"),
        (["JOB", "--points", "x.pdf"], '"x.pdf" is no picture that can be drawn'),
        (["JOB", "--points", "x.svg", "--height", "9mm"], "Clasp is a job: it says that itself"),
        (["clasp.svg", "--geojson", "x", "--points", "x.svg"], "Points are those of a job"),
        (["clasp.svg"], "Nothing says where the areas go"),
    ],
)
def test_points_that_cannot_be_drawn_are_told(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    what: str,
) -> None:
    folder = write_clasp(tmp_path / "clasp")
    monkeypatch.chdir(folder)
    before = sorted(folder.iterdir())
    assert face.main(["areas", *(str(folder) if one == "JOB" else one for one in words)]) == 2
    assert capsys.readouterr().err.startswith(what)
    assert sorted(folder.iterdir()) == before


def test_points_of_a_picture_in_inches_are_a_png_that_shows_it(tmp_path: Path) -> None:
    """The tern in a job in inches: the picture lies below, blue in its corner, and nothing runs off the page."""
    folder = tmp_path / "lid"
    assert face.main(["new", str(folder), str(TERN_LID / "tern.jpg"), "--units", "inch"]) == 0
    target = tmp_path / "points.png"
    assert face.main(["areas", str(folder), "--points", str(target)]) == 0
    pixels = np.array(Image.open(target))
    red, _, blue = pixels[60, 60].tolist()
    assert blue > red + 10
    edge = np.concatenate([pixels[0], pixels[-1], pixels[:, 0], pixels[:, -1]])
    assert len(np.unique(edge, axis=0)) == 1


def test_an_order_can_be_given_to_a_colour(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As in the other tables: all areas drawn in it. The dot is let in over by the rule, beside by its colour."""
    folder = write_clasp(tmp_path / "clasp", CLASP_JOB + '[order]\n"#b33d25" = "beside"\n')
    job, shop = read_job_folder(folder)
    (fit,) = flow.pieces_of(job, shop)[0]
    assert {choice.name: (choice.way, choice.by) for choice in fit.choices} == {"dot": ("beside", "job")}
    write_clasp(folder, CLASP_JOB + '[order]\n"#00ff00" = "beside"\n')
    assert face.main(["pieces", str(folder), "--geojson", str(tmp_path / "x.json")]) == 2
    assert capsys.readouterr().err.startswith(
        "No area is drawn in #00ff00.\n  where: [order]\n  mend:  The colours drawn"
    )
