"""A DXF from its layers to woods, and at its own size."""

import json
from pathlib import Path

import pytest
import shapely
from ezdxf.document import Drawing
from ezdxf.layouts import Modelspace
from shapely.geometry import shape

from dxf_sample import dxf_bytes
from purfle import job as flow
from purfle.cli.main import main
from purfle.files.job_toml import load_job
from purfle.shop import load_shop


def draw(_: Drawing, space: Modelspace) -> None:
    """Two discs on layers called after woods, one on a layer called by nothing known; in inches, all of one colour."""
    for layer, x in (("Padauk", 0.0), ("walnut", 1.5), ("cut here", 3.0)):
        space.add_circle((x, 0.0), 0.5, dxfattribs={"layer": layer, "color": 2})


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A new job of that drawing."""
    (tmp_path / "discs.dxf").write_bytes(dxf_bytes(draw, units=1))
    assert main(["new", str(tmp_path / "discs"), str(tmp_path / "discs.dxf")]) == 0
    return tmp_path / "discs"


def woods(folder: Path) -> dict[str, str]:
    """The wood of each area by its name."""
    job = load_job(folder)
    return {area.name: area.wood for area in flow.design_of(job, load_shop(job.shop_file)).drawn}


def test_a_layer_called_after_a_wood_of_the_rack_is_cut_from_it(folder: Path) -> None:
    """ "walnut" alone means two woods that Purfle knows; the one on the rack is meant. Others go by their colour."""
    found = woods(folder)
    assert found["Padauk"] == "padauk_african"
    assert found["walnut"] == "walnut_black"
    assert found["cut here"] not in ("padauk_african", "walnut_black")


@pytest.mark.parametrize("which", ["Padauk", "12.7, 12.7", "#ffff00"])
def test_the_job_outranks_layers(folder: Path, which: str) -> None:
    """By name, by a point in the disc, by its colour."""
    text = (folder / "job.toml").read_text().replace("[woods]", f'[woods]\n"{which}" = "sapele"')
    (folder / "job.toml").write_text(text)
    assert woods(folder)["Padauk"] == "sapele"


def test_a_drawing_that_says_its_size_needs_no_height(
    tmp_path: Path, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Discs of an inch come out as discs of 25.4 mm; with a height, they are that high."""
    capsys.readouterr()
    for words, high in (([], 25.4), (["--height", "50.8mm"], 50.8)):
        assert main(["pieces", str(tmp_path / "discs.dxf"), *words, "--geojson", "-"]) == 0
        features = json.loads(capsys.readouterr().out)["features"]
        inserts = [shape(one["geometry"]) for one in features if one["properties"]["kind"] == "insert"]
        low, top = shapely.total_bounds(inserts)[[1, 3]]
        assert top - low == pytest.approx(high - 0.1, abs=0.01)  # less the seam
    assert folder.is_dir()
