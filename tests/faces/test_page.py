"""The page in a real browser: edited by typing, keys, pointer and touch; written and proven; taken over; attacked."""

import http.client
import json
import re
import time
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

import jsonschema
import pytest
from axe_core_python.sync_playwright import Axe
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, Page, TimeoutError, expect

from page import Opened, browser, page_at, tern_lid_opened, wait_exact
from purfle.files.job_folder import read_job_folder
from purfle.web.app import FONTS, STATIC, Pages

WIDTHS = (1440, 1024, 720, 360)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with browser() as started:
        yield started


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Opened]:
    """One server on a job that every test of this file works on; each leaves it by undoing what it did."""
    with tern_lid_opened(tmp_path_factory.mktemp("jobs"), "tern lid “ü”") as running:
        yield running


@pytest.fixture
def page(chromium: Browser, server: Opened) -> Iterator[Page]:
    with page_at(chromium, server.link) as one:
        wait_exact(one)
        yield one


def job_text(server: Opened) -> str:
    return (server.folder / "job.toml").read_text(encoding="utf-8")


def undo_all(page: Page) -> None:
    """Back to the beginning; the last undo may have been answered just before it is asked for once more."""
    undo = page.locator("#undo")
    expect(undo).to_be_enabled()
    while undo.is_enabled():
        with suppress(TimeoutError):
            undo.click(timeout=1_000)
        page.wait_for_timeout(60)


def test_a_figure_is_written_over_moved_by_keys_and_dragged_and_undone_to_the_beginning(
    page: Page, server: Opened
) -> None:
    before = job_text(server)
    place = page.locator('#fields input[data-id="place.x"]')
    place.fill("205")
    place.press("Enter")
    expect(page.locator('.f[data-id="place.x"]')).to_have_value("205 mm")
    design = page.locator('#grips [data-id="design"]')
    design.focus()
    for key in ("ArrowLeft", "ArrowLeft", "Shift+ArrowRight"):
        page.keyboard.press(key)
    expect(page.locator('.f[data-id="place.x"]')).to_have_value("203.1 mm")
    expect(page.locator('#grips [data-id="design"]')).to_be_focused()
    box = page.locator('#grips [data-id="design"]').bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 60, box["y"] + 60)
    page.mouse.down()
    page.mouse.move(box["x"] + 80, box["y"] + 100, steps=5)
    live = place.input_value()
    page.mouse.up()
    expect(page.locator('.f[data-id="place.x"]')).to_have_value(f"{live} mm")
    assert 'measured_to = "middle"' in job_text(server)
    page.reload()
    expect(page.locator('.f[data-id="place.x"]')).to_have_value(f"{live} mm")
    undo_all(page)
    assert job_text(server) == before


def test_a_slip_is_told_beside_its_field_and_what_was_typed_stays(page: Page, server: Opened) -> None:
    before = job_text(server)
    seam = page.locator('.f[data-id="fit.seam"]')
    seam.fill("wide")
    seam.press("Enter")
    fault = page.locator('[data-sentence="seam"] .fault')
    expect(fault).to_contain_text('"wide" is not a length')
    expect(fault).to_contain_text("Write a number with its unit")
    expect(page.locator('.f[data-id="fit.seam"]')).to_have_value("wide")
    assert job_text(server) == before
    page.locator('.f[data-id="fit.seam"]').press("Escape")
    expect(page.locator('.f[data-id="fit.seam"]')).to_have_value("0.10 mm")
    expect(page.locator(".fault")).to_have_count(0)


def test_what_is_being_typed_stays_when_an_answer_comes(page: Page) -> None:
    design = page.locator('#grips [data-id="design"]')
    design.focus()
    page.keyboard.press("ArrowLeft")
    expect(page.locator('.f[data-id="place.x"]')).to_have_value("209 mm")
    proud = page.locator('.f[data-id="fit.proud"]')
    proud.click()
    page.keyboard.type("0.6")
    wait_exact(page)
    page.wait_for_timeout(300)
    expect(proud).to_be_focused()
    expect(proud).to_have_value("0.6")
    page.keyboard.press("Escape")
    undo_all(page)


def test_a_design_that_does_not_lie_on_the_board_is_told_and_still_seen(page: Page) -> None:
    place = page.locator('#fields input[data-id="place.x"]')
    place.fill("30")
    place.press("Enter")
    expect(page.locator("#head")).to_contain_text("stop")
    page.click("#pick-thickness")
    expect(page.locator('[data-sentence="thickness"] .find.stop')).to_contain_text("does not lie on the board")
    expect(page.locator("#art path.piece")).to_have_count(14)
    undo_all(page)
    expect(page.locator("#head")).not_to_contain_text("stop")


def test_a_finger_moves_the_design_on_a_small_screen(chromium: Browser, server: Opened) -> None:
    how = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True, "device_scale_factor": 2}
    with page_at(chromium, server.link, **how) as page:
        wait_exact(page)
        box = page.locator('#grips [data-id="design"]').bounding_box()
        assert box is not None
        touch = page.context.new_cdp_session(page)
        x, y = box["x"] + 50, box["y"] + 40
        for kind, points in (
            ("touchStart", [{"x": x, "y": y}]),
            ("touchMove", [{"x": x + 10, "y": y + 5}]),
            ("touchMove", [{"x": x + 24, "y": y + 9}]),
            ("touchEnd", []),
        ):
            touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        expect(page.locator('.f[data-id="place.x"]')).not_to_have_value("210 mm")
        undo_all(page)
        expect(page.locator('.f[data-id="place.x"]')).to_have_value("210 mm")


def test_units_are_switched_in_one_place(page: Page) -> None:
    page.check('#units input[value="inch"]')
    expect(page.locator('.f[data-id="board.thickness"]')).to_have_value("3/4 in")
    expect(page.locator('.f[data-id="fit.seam"]')).to_have_value("0.004 in")
    page.check('#units input[value="inch-decimal"]')
    expect(page.locator('.f[data-id="board.thickness"]')).to_have_value("0.748 in")
    undo_all(page)


def test_long_work_is_cancelled_at_once_and_files_are_written_and_proven(page: Page) -> None:
    page.click("#write")
    expect(page.locator("#stage")).to_contain_text("areas")
    start = time.monotonic()
    page.click("#cancel")
    expect(page.locator("#write")).to_be_visible()
    assert time.monotonic() - start < 3.0  # 0.3 s on a quiet machine: bench/page.py
    page.click("#write")
    expect(page.locator("#head")).to_contain_text("Proven from the files", timeout=120_000)
    with page.expect_download() as loading:
        page.click('a[href="/made.zip"]')
    assert loading.value.suggested_filename == "tern-lid.zip"
    expect(page.locator(".papers li")).to_have_count(3)


def test_the_second_page_on_a_job_says_so_and_may_take_over(chromium: Browser, server: Opened, page: Page) -> None:
    with page_at(chromium, server.link) as second:
        expect(second.locator("#word")).to_contain_text("Another page has this job open")
        expect(second.locator('.f[data-id="fit.seam"]')).to_be_disabled()
        second.click("text=Take over")
        expect(second.locator('.f[data-id="fit.seam"]')).to_be_enabled()
        expect(page.locator("#word")).to_contain_text("Another page has this job open")


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_no_automatic_fault_of_accessibility_and_no_sideways_scrolling(
    chromium: Browser, server: Opened, theme: str
) -> None:
    with page_at(chromium, server.link, color_scheme=theme, reduced_motion="reduce", bypass_csp=True) as page:
        wait_exact(page)
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate("document.documentElement.scrollWidth") <= width
        page.set_viewport_size({"width": 1280, "height": 800})
        for sentence in ("woods", "seam", "detail", "thickness", "passes", "season"):
            page.click(f"#pick-{sentence}")
            expect(page.locator(f"#look-fresh, .dressed[data-dress={sentence}]:not(.old)")).to_have_count(1)
            found = Axe().run(page)
            told = [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found["violations"]]
            assert told == []


def test_a_chosen_sentence_dresses_the_drawing_and_unfolds_what_it_knows(page: Page) -> None:
    page.click("#pick-seam")
    expect(page.locator("#dress .seam")).to_have_count(14)
    expect(page.locator("#dress text", has_text="widest")).to_have_count(1)
    expect(page.locator('#fields input[data-id="place.x"]')).to_have_count(0)
    page.click("#pick-thickness")
    expect(page.locator("#dress .level")).to_have_count(12)
    expect(page.locator('#fields input[data-id="place.x"]')).to_have_count(1)
    page.click("#pick-season")
    expect(page.locator(".curve .band")).to_be_visible()
    page.click("#pick-passes")
    page.click("#compare")
    expect(page.locator("caption", has_text="Cutter against fidelity")).to_be_visible(timeout=120_000)
    page.click("#pick-woods")
    page.locator("#look-aged").check(force=True)
    assert "look=aged" in (page.locator("#art image").first.get_attribute("href") or "")
    page.locator("#look-finished").check(force=True)


def test_fittings_are_added_moved_by_keys_and_pointer_and_taken_out(page: Page, server: Opened) -> None:
    before = job_text(server)
    page.click("#pick-thickness")
    page.locator('[data-sentence="thickness"] button.do', has_text="magnet").click()
    grip = page.locator('#grips [data-id="grip fitting.4"]')
    expect(grip).to_have_count(1)
    place = page.locator('#fields input[data-id="fitting.4.x"]')
    expect(place).to_have_count(1)
    from_b = float(place.input_value())
    grip.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(place).to_have_value(f"{from_b + 2:g}")
    expect(page.locator('#grips [data-id="grip fitting.4"]')).to_be_focused()
    wait_exact(page)
    box = grip.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 12, box["y"] + 12)
    page.mouse.down()
    page.mouse.move(box["x"] + 2, box["y"] + 20, steps=3)
    page.mouse.up()
    expect(place).not_to_have_value(f"{from_b + 2:g}")
    assert job_text(server).startswith(before.rstrip()[:200])
    grip.focus()
    page.keyboard.press("Delete")
    expect(page.locator('#grips [data-id="grip fitting.4"]')).to_have_count(0)
    assert job_text(server).count("[[fitting]]") == 4
    undo_all(page)
    assert job_text(server) == before


def ask(server: Opened, method: str, path: str, body: bytes | None = None, **headers: str) -> tuple[int, bytes]:
    host = server.address.removeprefix("http://")
    line = http.client.HTTPConnection(host, timeout=10)
    line.putrequest(method, path, skip_host="host" in headers, skip_accept_encoding=True)
    for name, value in headers.items():
        line.putheader(name.replace("_", "-"), value)
    if body is not None:
        line.putheader("content-length", str(len(body)))
    line.endheaders(body)
    answer = line.getresponse()
    return answer.status, answer.read()


@pytest.fixture(scope="module")
def cookie(server: Opened) -> str:
    host = server.address.removeprefix("http://")
    line = http.client.HTTPConnection(host, timeout=10)
    line.request("GET", server.link.removeprefix(server.address))
    answer = line.getresponse()
    given = answer.headers["set-cookie"]
    assert re.search(r"HttpOnly", given)
    assert re.search(r"SameSite=strict", given, re.IGNORECASE)
    assert "default-src 'none'" in answer.headers["content-security-policy"]
    return given.split(";")[0]


def test_who_has_no_secret_or_comes_from_elsewhere_gets_nothing(server: Opened, cookie: str) -> None:
    host = server.address.removeprefix("http://")
    assert ask(server, "GET", "/job")[0] == 403
    assert ask(server, "GET", "/open/guessed")[0] == 403
    assert ask(server, "GET", "/status", cookie=cookie)[0] == 200
    assert ask(server, "GET", "/status", cookie=cookie, host="localhost:80")[0] == 421
    assert ask(server, "GET", "/status", cookie=cookie, host="127.0.0.1")[0] == 421
    assert ask(server, "GET", "/status", cookie=cookie, sec_fetch_site="cross-site")[0] == 403
    own = {"cookie": cookie, "origin": f"http://{host}", "x_purfle_page": "test", "sec_fetch_site": "same-origin"}
    edit = json.dumps({"changes": []}).encode()
    assert ask(server, "POST", "/cancel", b'{"what": "exact"}', **own)[0] == 200
    for name in ("cookie", "origin", "x_purfle_page"):
        assert ask(server, "POST", "/edit", edit, **{key: value for key, value in own.items() if key != name})[0] == 403
    assert ask(server, "POST", "/edit", edit, **{**own, "origin": "http://evil.example"})[0] == 403
    assert ask(server, "POST", "/edit", edit, **{**own, "sec_fetch_site": "same-site"})[0] == 403


def test_no_path_leads_out_and_no_body_is_too_much(server: Opened, cookie: str) -> None:
    host = server.address.removeprefix("http://")
    for path in (
        "/static/..%2f..%2fapp.py",
        "/static/../app.py",
        "/made/..%2fjob.toml",
        "/made/job.toml",
        "/made/%2e%2e",
    ):
        assert ask(server, "GET", path, cookie=cookie)[0] == 404
    own = {"cookie": cookie, "origin": f"http://{host}", "x_purfle_page": "test", "sec_fetch_site": "same-origin"}
    assert ask(server, "POST", "/edit", b"[" * 300_000, **own)[0] == 413
    for body in (b"", b"null", b"[" * 5_000, b'{"changes": 1}', b"\xff"):
        status, told = ask(server, "POST", "/edit", body, **own)
        assert status == 422
        assert set(json.loads(told)["faults"][0]) == {"what", "where", "mend", "key"}


@pytest.fixture(scope="module")
def api(server: Opened, cookie: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(ask(server, "GET", "/api.json", cookie=cookie)[1])
    return found


def holds(api: dict[str, Any], path: str, answer: tuple[int, bytes]) -> None:
    """An answer is one of those that the description promises."""
    (method,) = api["paths"][path].values()
    content = method["responses"][str(answer[0])]["content"]
    if "application/json" in content:
        schema = {**content["application/json"]["schema"], "components": api["components"]}
        jsonschema.Draft202012Validator(schema).validate(json.loads(answer[1]))


def test_every_address_is_described_and_answers_as_described(server: Opened, cookie: str, api: dict[str, Any]) -> None:
    routes = {route.path for route in Pages(server.folder, server.folder).app().routes}
    assert routes == set(api["paths"])
    for path in ("/job", "/status", "/states", "/api.json", "/made.zip"):
        holds(api, path, ask(server, "GET", path, cookie=cookie))
    for path in ("/static/{name}", "/font/{name}.woff", "/made/{name}"):
        assert ask(server, "GET", path.replace("{name}", "nothing"), cookie=cookie)[0] == 404


WORDS = st.one_of(st.none(), st.booleans(), st.integers(-9, 9), st.floats(allow_nan=False), st.text(max_size=12))
PATHS = st.lists(st.sampled_from(["board", "picture", "fitting", "fit", "depth", "x", 0, 1, 9]), max_size=4)
CHANGES = st.one_of(
    st.fixed_dictionaries({"length": PATHS, "text": st.text(max_size=12)}),
    st.fixed_dictionaries({"set": PATHS, "value": WORDS}),
    st.fixed_dictionaries({"take_out": PATHS}),
    st.fixed_dictionaries({"add": PATHS, "table": st.dictionaries(st.text(max_size=6), WORDS, max_size=2)}),
    st.fixed_dictionaries({"place": PATHS, "x": WORDS, "y": WORDS}),
    st.fixed_dictionaries({"units": WORDS}),
    st.dictionaries(st.text(max_size=6), WORDS, max_size=2),
    WORDS,
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(changes=st.lists(CHANGES, min_size=1, max_size=2), label=WORDS, kind=WORDS)
def test_whatever_is_asked_is_answered_as_described(
    server: Opened, cookie: str, api: dict[str, Any], changes: list[Any], label: Any, kind: Any
) -> None:
    """No change, however odd, is answered by a fault of ours, and none leaves a job file that cannot be read."""
    own = {"cookie": cookie, "origin": server.address, "x_purfle_page": "odd", "sec_fetch_site": "same-origin"}
    body = json.dumps({"changes": changes, "label": label, "kind": kind}).encode()
    answer = ask(server, "POST", "/edit", body, **own)
    assert answer[0] in (200, 422)
    holds(api, "/edit", answer)
    assert "ours" not in answer[1].decode()
    read_job_folder(server.folder)


def test_the_page_is_light(server: Opened, cookie: str) -> None:
    """At most 150 KiB come over the line, fonts included."""
    parts = [f"/static/{file.name}" for file in STATIC.iterdir()] + [f"/font/{name}.woff" for name in FONTS]
    come = [ask(server, "GET", path, cookie=cookie, accept_encoding="gzip") for path in parts]
    assert {status for status, _ in come} == {200}
    weight = sum(len(body) for _, body in come)
    assert 50_000 < weight <= 150 * 1024
