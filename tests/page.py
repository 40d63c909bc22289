"""The page for tests: one server and one browser for all of a process; each test opens a job of its own."""

import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, expect, sync_playwright

from conftest import TERN_LID

CHROMIUM = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), "")
SECONDS = 20_000
"""Milliseconds that anything on the page may take before a test gives up."""
expect.set_options(timeout=SECONDS)


class Opened:
    """One `purfle open` that runs: its link and its process."""

    def __init__(self, folder: Path) -> None:
        command = [sys.executable, "-m", "purfle.cli", "open", str(folder), "--no-browser"]
        told = tempfile.TemporaryFile()  # noqa: SIM115
        self.running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=told, text=True)
        assert self.running.stdout is not None
        line = self.running.stdout.readline()
        self.link = re.search(r"http://\S+", line)[0]  # type: ignore[index]
        self.address = self.link.split("/open/")[0]
        self.folder = folder

    def close(self) -> None:
        self.running.terminate()
        self.running.wait(timeout=20)


@contextmanager
def opened(folder: Path) -> Iterator[Opened]:
    """A server of its own for one job folder."""
    server = Opened(folder)
    try:
        yield server
    finally:
        server.close()


@contextmanager
def tern_lid_opened(above: Path, name: str) -> Iterator[Opened]:
    """A server for a copy of the Tern lid, in a folder of this name; it knows that `folder`."""
    folder = above / name
    shutil.copytree(TERN_LID, folder)
    with opened(folder) as server:
        yield server


@contextmanager
def browser() -> Iterator[Browser]:
    """Debian's chromium."""
    assert CHROMIUM, "chromium is missing: apt-get install chromium"
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield started
        started.close()


@contextmanager
def page_at(chromium: Browser, link: str, **how: object) -> Iterator[Page]:
    """A page on a link; whatever its console says, and whatever it asks of another machine, fails the test."""
    said: list[str] = []
    wanted = {"viewport": {"width": 1440, "height": 900}, **how}
    context = chromium.new_context(**wanted)  # type: ignore[arg-type]
    page = context.new_page()
    page.set_default_timeout(SECONDS)
    page.on("console", lambda told: said.append(f"console: {told.text}") if told.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: said.append(f"error: {error}"))
    page.on("request", lambda asked: None if asked.url.startswith(link[:17]) else said.append(f"left: {asked.url}"))
    try:
        page.goto(link)
        page.wait_for_selector("body[data-ready]")
        yield page
    finally:
        context.close()
    assert said == []


def wait_exact(page: Page) -> None:
    """Until the exact answer has come: nothing is being reckoned any more."""
    page.wait_for_selector("#head:not(:has-text('reckoned'))")
    page.wait_for_selector("#sentences li")
