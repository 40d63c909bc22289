"""A picture that is nearly its own mirror image is told; others, and those that are made so already, are not."""

from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from purfle import job as flow
from purfle.cli.main import main
from purfle.files.job_toml import load_job
from purfle.model.findings import Finding
from purfle.shop import load_shop


def findings(folder: Path, moved: int, turned: bool = False, asked: str = "") -> list[Finding]:
    """What is told of two wings and a body; the right wing is moved up by some px."""
    picture = Image.new("RGB", (420, 300), "white")
    draw = ImageDraw.Draw(picture)
    draw.ellipse((40, 60, 180, 220), fill=(180, 60, 30))
    draw.ellipse((239, 60 - moved, 379, 220 - moved), fill=(180, 60, 30))
    draw.rectangle((185, 40, 234, 260), fill=(40, 30, 30))
    if turned:
        picture = picture.transpose(Image.Transpose.ROTATE_90)
    folder.mkdir(exist_ok=True)
    picture.save(folder / "wings.png")
    assert main(["new", str(folder / "job"), str(folder / "wings.png")]) == 0
    if asked:
        text = (folder / "job" / "job.toml").read_text()
        (folder / "job" / "job.toml").write_text(text.replace("# [areas]", f'[areas]\nsymmetrical = "{asked}"'))
    job = load_job(folder / "job")
    told = flow.design_of(job, load_shop(job.shop_file)).findings
    return [one for one in told if "its own mirror image" in one.what]


def test_nearly_alike_halves_are_told_with_their_line(tmp_path: Path) -> None:
    """One px of 220 apart: the middle of the design, which is 90 mm high for 220 px, lies at 169.5 px of its width."""
    (one,) = findings(tmp_path, 1)
    assert one.severity == "note"
    assert 'symmetrical = "upright"' in one.mend
    at = float(one.what.partition("line ")[2].partition(" mm")[0])
    assert at == pytest.approx(169.75 * 90.0 / 221.0, abs=0.4)


def test_a_level_line_is_seen_too(tmp_path: Path) -> None:
    """The same picture turned by a quarter."""
    (one,) = findings(tmp_path, 1, turned=True)
    assert 'symmetrical = "level"' in one.mend


def test_unlike_halves_and_halves_made_alike_are_not_told(tmp_path: Path) -> None:
    """Twenty px apart nothing is alike; and who asked for symmetry has it."""
    assert findings(tmp_path / "apart", 20) == []
    assert findings(tmp_path / "made", 1, asked="upright") == []
