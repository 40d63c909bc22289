"""Draw docs/pictures/page: every state of the page at three sizes, light and dark, as JPEG; look at them afterwards.

    python builders/page_pictures.py [STATE ...]

Needs Debian's chromium. Each state is reached as a maker would reach it, on a copy of the Tern lid.
"""

import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from playwright.sync_api import Page  # noqa: E402

from page import browser, opened, page_at, wait_exact  # noqa: E402

OUT = ROOT / "docs" / "pictures" / "page"
SIZES = ((1440, 900), (1280, 800), (390, 844))
QUALITY = 78
EXACT = 3_000
"""Milliseconds until the exact answer to a change is there, also on a busy machine."""
SETTLED = 900
"""Milliseconds until all pictures of wood are there."""


def stopped(page: Page) -> None:
    """A board too thin for what is cut into it."""
    page.locator('.f[data-id="board.thickness"]').fill("12")
    page.locator('.f[data-id="board.thickness"]').press("Enter")
    page.wait_for_selector("#head.h-stop")
    page.click("#pick-thickness")


def slip(page: Page) -> None:
    page.locator('.f[data-id="fit.seam"]').fill("wide")
    page.locator('.f[data-id="fit.seam"]').press("Enter")
    page.wait_for_selector(".fault")


def inches(page: Page) -> None:
    page.check('#units input[value="inch"]')
    page.wait_for_selector('.f[data-id="board.thickness"][value="3/4 in"]')


def laid(page: Page) -> None:
    """A picture held over the page."""
    page.evaluate("""() => {
        const over = new DataTransfer();
        over.items.add(new File(["x"], "x.png"));
        document.body.dispatchEvent(new DragEvent("dragover", {bubbles: true, cancelable: true, dataTransfer: over}));
    }""")
    page.wait_for_selector("#lay:not([hidden])")


def brought(page: Page) -> None:
    """A drawing instead of the picture: woods by colour, in the middle of the board."""
    page.set_input_files("#artwork", ROOT / "examples" / "tern-lid" / "tern.svg")
    page.wait_for_selector("#lay", state="hidden")
    wait_exact(page)


def refused(page: Page) -> None:
    """A picture that is torn."""
    torn = {"name": "torn.jpg", "mimeType": "image/jpeg", "buffer": b"\xff\xd8\xff\xe0 torn"}
    page.set_input_files("#artwork", torn)
    page.wait_for_selector(".fault")


def written(page: Page) -> None:
    page.click("#write")
    page.wait_for_selector('a[href="/made.zip"]', timeout=120_000)


def dressed(sentence: str) -> Callable[[Page], None]:
    """A sentence chosen, and what it dresses the drawing with."""

    def reach(page: Page) -> None:
        page.click(f"#pick-{sentence}")
        page.wait_for_selector(f'.dressed[data-dress="{sentence}"]:not(.old)')

    return reach


def after_years(page: Page) -> None:
    page.click("#pick-woods")
    page.check("#look-aged", force=True)


STATES: dict[str, tuple[str, Callable[[Page], None]]] = {
    "ready": ("light", lambda _: None),
    "dark": ("dark", lambda _: None),
    "seam": ("light", dressed("seam")),
    "detail": ("light", dressed("detail")),
    "thickness": ("light", dressed("thickness")),
    "passes": ("light", dressed("passes")),
    "season": ("light", dressed("season")),
    "years": ("light", after_years),
    "dark-thickness": ("dark", dressed("thickness")),
    "stop": ("light", stopped),
    "slip": ("light", slip),
    "inches": ("light", inches),
    "laid": ("light", laid),
    "laid-dark": ("dark", laid),
    "brought": ("light", brought),
    "refused": ("light", refused),
    "written": ("light", written),
}


def draw(name: str) -> None:
    """One state at every size."""
    theme, reach = STATES[name]
    folder = Path(tempfile.mkdtemp()) / "tern-lid"
    shutil.copytree(ROOT / "examples" / "tern-lid", folder)
    with opened(folder) as server, browser() as chromium, page_at(chromium, server.link, color_scheme=theme) as page:
        wait_exact(page)
        reach(page)
        page.wait_for_timeout(EXACT)
        for width, height in SIZES:
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(SETTLED)
            page.screenshot(path=OUT / f"{name}-{width}.jpg", type="jpeg", quality=QUALITY)
    shutil.rmtree(folder.parent, ignore_errors=True)


def main() -> None:
    OUT.mkdir(parents=True, exist_ok=True)
    for name in sys.argv[1:] or STATES:
        draw(name)
        print(name)


if __name__ == "__main__":
    main()
