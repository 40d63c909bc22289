"""A picture or drawing laid on the page becomes the design; undo brings the old one back, a bad one harms nothing."""

import io
import json
import struct
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
import tomlkit
from axe_core_python.sync_playwright import Axe
from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Page, expect

from conftest import TERN_LID
from page import Opened, browser, page_at, tern_lid_opened, wait_exact
from purfle.errors import PurfleError
from purfle.files import job_toml
from purfle.web import artwork, edits

TEXT = (TERN_LID / "job.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with browser() as started:
        yield started


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Opened]:
    with tern_lid_opened(tmp_path_factory.mktemp("jobs"), "tern lid") as running:
        yield running


def leaf() -> bytes:
    """A JPEG of two areas on white."""
    image = Image.new("RGB", (600, 400), "white")
    draw = ImageDraw.Draw(image)
    draw.ellipse((60, 60, 320, 340), fill="#503018")
    draw.rectangle((340, 120, 540, 300), fill="#b33d25")
    made = io.BytesIO()
    image.save(made, "JPEG", quality=92)
    return made.getvalue()


def huge() -> bytes:
    """A PNG of a few bytes that says it has ten thousand million pixels."""
    head = struct.pack(">IIBBBBB", 100_000, 100_000, 8, 2, 0, 0, 0)

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def drop(page: Page, name: str, data: bytes) -> None:
    """Let a file fall on the board, as a browser tells of it."""
    words = {"name": name, "data": list(data)}
    page.evaluate(
        """({name, data}) => {
            const dropped = new DataTransfer();
            dropped.items.add(new File([new Uint8Array(data)], name));
            for (const kind of ["dragover", "drop"])
                document.getElementById("bench").dispatchEvent(
                    new DragEvent(kind, {bubbles: true, cancelable: true, dataTransfer: dropped}));
        }""",
        words,
    )


def job_text(server: Opened) -> str:
    return (server.folder / "job.toml").read_text(encoding="utf-8")


def test_a_dropped_jpeg_becomes_the_design_and_files_and_undo_brings_the_one_before_back(
    chromium: Browser, server: Opened
) -> None:
    folder: Path = server.folder
    before = (folder / "tern.jpg").read_bytes()
    with page_at(chromium, server.link) as page:
        wait_exact(page)
        expect(page.locator("#art path.piece")).to_have_count(14)
        drop(page, "tern.jpg", leaf())
        expect(page.locator("#lay")).to_contain_text("Looking at tern.jpg")
        expect(page.locator("#art path.piece")).to_have_count(2)
        assert 'file       = "tern-2.jpg"' in job_text(server)
        assert (folder / "tern.jpg").read_bytes() == before
        assert (folder / "tern-2.jpg").read_bytes() == leaf()
        wait_exact(page)
        page.click("#write")
        expect(page.locator('a[href="/made.zip"]')).to_be_visible(timeout=120_000)
        page.click("#undo")
        expect(page.locator("#art path.piece")).to_have_count(14)
        assert job_text(server) == TEXT


def test_what_cannot_be_read_is_told_beside_its_place_and_changes_nothing(chromium: Browser, server: Opened) -> None:
    folder: Path = server.folder
    lay = sorted(one.name for one in folder.iterdir())
    before = job_text(server)
    with page_at(chromium, server.link, bypass_csp=True) as page:
        wait_exact(page)
        fault = page.locator('[data-sentence="place"] .fault')
        for name, data, what in (
            ("huge.png", huge(), "pixels"),
            ("torn.jpg", leaf()[:300], "torn.jpg"),
            ("laughs.svg", b'<!DOCTYPE s [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><svg>&b;</svg>', "laughs.svg"),
            ("letter.docx", b"PK", "neither a picture nor a drawing"),
        ):
            drop(page, name, data)
            expect(fault).to_contain_text(what)
            expect(fault).to_contain_text("Mend.")
            expect(page.locator("#lay")).to_be_hidden()
            expect(page.locator("#art path.piece")).to_have_count(14)
        found = Axe().run(page)["violations"]
        assert [one["id"] for one in found] == []
        with page.expect_file_chooser() as choosing:
            page.click("text=Bring another picture or drawing")
        assert not choosing.value.is_multiple()
    assert job_text(server) == before
    assert sorted(one.name for one in folder.iterdir()) == lay


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_sheet_over_the_board_has_no_automatic_fault_of_accessibility(
    chromium: Browser, server: Opened, theme: str
) -> None:
    with page_at(chromium, server.link, color_scheme=theme, bypass_csp=True) as page:
        wait_exact(page)
        page.evaluate("""() => {
            const over = new DataTransfer();
            over.items.add(new File(["x"], "x.png"));
            document.body.dispatchEvent(
                new DragEvent("dragover", {bubbles: true, cancelable: true, dataTransfer: over}));
        }""")
        expect(page.locator("#lay")).to_contain_text("Lay the picture or drawing here")
        assert [one["id"] for one in Axe().run(page)["violations"]] == []


def test_a_name_leads_nowhere_and_nothing_is_written_over(tmp_path: Path) -> None:
    assert artwork.PICTURES == job_toml.PICTURES
    assert artwork.DRAWINGS == job_toml.DRAWINGS
    for given, name in {
        "../../etc/a.png": "a.png",
        "C:\\x\\b.JPEG": "b.jpeg",
        "..png": "artwork.png",
        "a\x00\n\u202eb.svg": "a b.svg",
        "x" * 300 + ".dxf": "x" * 60 + ".dxf",
    }.items():
        assert artwork.safe_name(given) == name
    for given in ("", "a", "a.toml", "a.png/..", "job.toml\x00"):
        with pytest.raises(PurfleError):
            artwork.safe_name(given)
    assert artwork.kept(tmp_path, "a.png", b"1") == ("a.png", True)
    assert artwork.kept(tmp_path, "a.png", b"2") == ("a-2.png", True)
    assert artwork.kept(tmp_path, "a.png", b"2") == ("a-2.png", False)
    assert (tmp_path / "a.png").read_bytes() == b"1"
    (tmp_path / "b.png").symlink_to(tmp_path / "elsewhere")
    assert artwork.kept(tmp_path, "b.png", b"3") == ("b-2.png", True)
    assert not (tmp_path / "elsewhere").exists()


def test_what_was_said_of_other_areas_goes_and_the_rest_of_the_job_stays() -> None:
    made = tomlkit.parse(edits.edited(TEXT, artwork.changes_for(TEXT, "leaf.svg", "60 mm"), "mm")).unwrap()
    was = tomlkit.parse(TEXT).unwrap()
    assert made["picture"] == {"file": "leaf.svg", "height": "60 mm", "centred": True, "depth": "3 mm"}
    assert set(was) - set(made) == {"names", "woods", "order"}
    assert {key: was[key] for key in made if key != "picture"} == {key: made[key] for key in made if key != "picture"}
    several = '[job]\nname = "x"\n[[shape]]\nkind = "star"\n'
    made = tomlkit.parse(edits.edited(several, artwork.changes_for(several, "a.png", None), "mm")).unwrap()
    assert json.loads(json.dumps(made)) == {
        "job": {"name": "x"},
        "picture": {"file": "a.png", "centred": True, "height": "80 mm", "depth": "3 mm"},
    }
