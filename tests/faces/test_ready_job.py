"""Jobs of ready artwork from the job file to the dry fit."""

import json
from pathlib import Path

import pytest
import shapely
from shapely.affinity import scale

from conftest import SMALL_SHOP
from purfle import job as flow
from purfle.files.job_toml import load_job
from purfle.geometry.pose import UNDERSIDE, Pose
from purfle.model.job import JobResult, ReadyRule
from purfle.shop import load_shop

ROOT = Path(__file__).parents[2]
SHOP = (
    SMALL_SHOP
    + """\
[[offcut]]
name = "holly"
wood = "holly"
outline = "160 x 80 mm"
thickness = 3.6
[[offcut]]
name = "padauk"
wood = "padauk"
outline = "160 x 60 mm"
thickness = 3.6
"""
)
JOB = """
[job]
name = "Small tray"
units = "mm"
[board]
wood = "black walnut"
length = 110
width = 70
thickness = 12
[fit]
seam = 0.1
cutter = "1/16 in straight"
[[shape]]
kind = "oval"
length = 40
width = 26
wood = "padauk"
FACE
depth = 2
centred = true
[[stringing]]
along = "edges"
from_edge = 8
width = 3
wood = "holly"
FACE
depth = 2
[[lettering]]
text = "I"
height = 14
weight = "black"
wood = "holly"
FACE
depth = 2
centred = true
"""


def made(folder: Path, face: str) -> tuple[JobResult, dict[str, bytes]]:
    """The small tray, let into one face."""
    (folder / "shop.toml").write_text(SHOP)
    (folder / "job.toml").write_text(JOB.replace("FACE", f'face = "{face}"'))
    return flow.make(folder)


@pytest.mark.parametrize("face", ["show", "underside"])
def test_a_job_without_a_picture_is_proven(tmp_path: Path, face: str) -> None:
    """An oval with an initial over it and stringing round the edge go together, and lie where the file says."""
    result, files = made(tmp_path, face)
    assert result.proof is not None
    assert result.proof.proven, [finding.what for finding in result.proof.findings]
    assert flow.stops(result) == ()
    (inlay,) = result.layout.inlays
    recess = inlay.recess
    # the outer side of the stringing lies 8 mm inside the edges, less half a seam that the recess is larger by
    assert recess.bounds == pytest.approx((7.95, 7.95, 102.05, 62.05), abs=0.02)
    names = {insert.name for insert in inlay.fit.inserts}
    assert names == {"oval", "letter I", *(f"stringing {side}" for side in ("front", "back", "left", "right"))}
    letter = next(one for one in inlay.fit.inserts if one.name == "letter I")
    placed = inlay.pose.region(letter.region)
    assert placed.bounds[3] - placed.bounds[1] == pytest.approx(13.9, abs=0.05)
    oval = next(one for one in inlay.fit.inserts if one.name == "oval")
    assert inlay.pose.region(oval.region).intersection(placed).area < 1e-6
    report = json.loads(files["report.json"])
    assert report["inputs"]["picture"] is None
    assert [one["kind"] for one in report["inputs"]["artworks"]] == ["shape", "stringing", "lettering"]


def test_words_on_the_underside_read_right_from_below(tmp_path: Path) -> None:
    """Seen from above, what is let into the underside is the mirror image, in edge A, of the same on the show face."""
    (tmp_path / "shop.toml").write_text(SHOP)
    placed = []
    for face, turn in (("show", Pose()), ("underside", UNDERSIDE)):
        (tmp_path / "job.toml").write_text(JOB.replace('text = "I"', 'text = "F"').replace("FACE", f'face = "{face}"'))
        design = flow.composed(load_job(tmp_path), load_shop(tmp_path / "shop.toml"))
        assert design.pose is not None
        (letter,) = (area.region for area in design.drawn if area.name == "letter F")
        placed.append(design.pose.then(turn).region(letter))
    mirrored = scale(placed[0], 1.0, -1.0, origin=(55.0, 35.0))
    assert mirrored.symmetric_difference(placed[1]).area < 1e-3 * mirrored.area
    assert scale(placed[0], -1.0, 1.0, origin=(55.0, 35.0)).symmetric_difference(placed[1]).area > 0.1 * mirrored.area


def test_mirrored_words_are_told(tmp_path: Path) -> None:
    """Words that will read backwards are made as asked for, with a finding."""
    (tmp_path / "shop.toml").write_text(SHOP)
    text = JOB.replace("FACE", "").replace('text = "I"', 'text = "F"\nmirrored = true')
    (tmp_path / "job.toml").write_text(text)
    (finding,) = flow.composed(load_job(tmp_path), load_shop(tmp_path / "shop.toml")).findings
    assert finding.severity == "look"
    assert finding.what == 'The words "F" are mirrored: they will read backwards.'
    assert finding.where == "F"
    assert finding.mend == "Leave mirrored out; on the underside words read right without it."


def test_pictures_and_shapes_share_a_job(tmp_path: Path) -> None:
    """Two drawings, each with woods of its own, and a disc over one of them, each where the file says."""
    (tmp_path / "shop.toml").write_text(SHOP)
    square = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm"><path fill="#888" d="M0 0H20V20H0Z"/></svg>'
    )
    (tmp_path / "square.svg").write_text(square)
    picture = '[[picture]]\nfile = "square.svg"\nheight = 20\ndepth = 2\nfrom_front = 10\nfrom_left = {}\n'
    woods = '[picture.woods]\n"#888888" = "{}"\n'
    disc = '[[shape]]\nkind = "disc"\ndiameter = 8\ndepth = 2\nwood = "holly"\nfrom_left = 80\nfrom_front = 20\n'
    head = JOB[: JOB.index("[[shape]]")]
    body = picture.format(10) + woods.format("padauk") + picture.format(70) + woods.format("holly") + disc
    (tmp_path / "job.toml").write_text(head + body)
    design = flow.composed(load_job(tmp_path), load_shop(tmp_path / "shop.toml"))
    assert design.pose is not None
    placed = [(area.wood, design.pose.region(area.region)) for area in design.drawn]
    wanted = [
        ("padauk_african", shapely.box(10, 10, 30, 30)),
        ("holly", shapely.box(70, 10, 90, 30).difference(shapely.Point(80, 20).buffer(4.0, 64))),
        ("holly", shapely.Point(80, 20).buffer(4.0, 64)),
    ]
    for wood, region in wanted:
        assert min(region.symmetric_difference(one).area for name, one in placed if name == wood) < 0.15
    assert len(placed) == 3


def test_the_star_tray_can_be_read() -> None:
    """The example's artworks are those that its file tells of; the whole of it is made by hand before a release."""
    rules = load_job(ROOT / "examples" / "star-tray").artworks
    assert [rule.kind if isinstance(rule, ReadyRule) else "picture" for rule in rules] == [
        "shape",
        "shape",
        "stringing",
        "lettering",
        "lettering",
    ]


def test_the_letters_of_a_job_know_their_words(tmp_path: Path) -> None:
    """So that those that the cutter cannot make are told together."""
    (tmp_path / "shop.toml").write_text(SHOP)
    (tmp_path / "job.toml").write_text(JOB.replace("FACE", 'face = "show"'))
    words = {}
    for rule in load_job(tmp_path).artworks:
        assert isinstance(rule, ReadyRule)
        words[rule.kind] = {area.words for area in flow.ready_areas(rule)[0]}
    assert words == {"shape": {""}, "stringing": {""}, "lettering": {"I"}}
