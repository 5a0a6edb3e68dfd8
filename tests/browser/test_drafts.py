"""What is typed stays on the device until it is written down or thrown away: over other pages, reloads and a dead server."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route

from .conftest import PHONE
from .test_visit import until

V = "/v/demo-visit"
ROW = f"{V}/circuits/3"
LINE = ".draft"
TYPED = {"c.3.zs..": "0.91", "c.3.r1r2..": "0.52", "c.3.insulation.L-N.": ">999", "c.3.insulation.L-E.": "212", "c.3.r2..": "0.3", "note": "dimmer out"}  # fmt: skip


class Server:
    """The served pages with a journal of their own; killed and started again on the same port."""

    def __init__(self, journal: Path) -> None:
        with socket.socket() as s:
            s.bind(("127.0.0.1", 0))
            self.port = s.getsockname()[1]
        self.journal = journal
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        command = [
            sys.executable,
            "-m",
            "earthwright",
            "serve",
            "--journal",
            str(self.journal),
            "--port",
            str(self.port),
        ]
        self.process = subprocess.Popen(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env={**os.environ}
        )
        for _ in range(900):
            try:
                with urllib.request.urlopen(f"{self.address}/static/mark.svg", timeout=2):
                    return
            except OSError:
                time.sleep(0.2)
        raise AssertionError("the server does not answer")

    def kill(self) -> None:
        assert self.process is not None
        self.process.kill()
        self.process.wait()


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    made = Server(tmp_path_factory.mktemp("drafts") / "journal.sqlite")
    made.start()
    yield made
    made.kill()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    made = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    made.set_default_timeout(30000)
    yield made
    made.close()


@pytest.fixture
def page(context: BrowserContext, server: Server) -> Page:
    made = context.new_page()
    made.goto(server.address)
    made.get_by_role("button", name="Open the demo visit").click()
    made.wait_for_url(f"**{V}/")
    return made


def field(page: Page, name: str) -> str:
    return str(page.evaluate("n => document.getElementById('f-' + n).value", name))


def type_row(page: Page, address: str) -> None:
    page.goto(address + ROW)
    page.evaluate("() => document.querySelectorAll('form.grid details').forEach(d => d.open = true)")
    for name, text in TYPED.items():
        page.locator(f"[id='f-{name}']").fill(text)
    assert page.locator(LINE).is_visible()


def standing(page: Page) -> dict[str, str]:
    page.locator(LINE).first.wait_for()
    return {name: field(page, name) for name in TYPED}


def test_six_values_outlive_another_page_a_reload_and_a_killed_server(page: Page, server: Server) -> None:
    type_row(page, server.address)
    page.goto(f"{server.address}{V}/map")
    page.goto(server.address + ROW)
    assert standing(page) == TYPED
    page.reload()
    assert standing(page) == TYPED
    server.kill()
    page.get_by_role("button", name="Save").first.click()
    until(page, "document.getElementById('lost').textContent.includes('What you typed is still here')")
    server.start()
    page.reload()
    assert standing(page) == TYPED
    page.goto(f"{server.address}{V}/")
    page.locator("#drafts a").wait_for()
    assert page.locator("#drafts a").get_attribute("href") == ROW
    page.goto(server.address + ROW)
    page.evaluate("() => document.querySelectorAll('form.grid details').forEach(d => d.open = true)")
    standing(page)
    with_reason = page.locator("#f-reason")
    if with_reason.count():
        with_reason.fill("seen dead")
        page.locator("#f-by").fill("J. Example")
    page.get_by_role("button", name="Save").first.click()
    page.get_by_text("Saved.", exact=False).first.wait_for()
    for path in (ROW, f"{V}/", ROW):  # saved, it does not come back
        page.goto(server.address + path)
        page.wait_for_timeout(300)
        assert page.locator(LINE).count() == 0
        assert not page.locator("#drafts").is_visible()
    assert field(page, "note") == ""


def test_a_draft_is_thrown_away_and_stays_away(page: Page, server: Server) -> None:
    type_row(page, server.address)
    page.get_by_role("button", name="Throw away").click()
    until(page, "document.getElementById('f-c.3.zs..').value === ''")
    page.reload()
    page.wait_for_timeout(300)
    assert page.locator(LINE).count() == 0
    assert page.evaluate("Object.keys(localStorage).length") == 0


def test_a_draft_goes_after_thirty_days_untouched(page: Page, server: Server) -> None:
    """A device may be another person's next month, and what was typed holds names and readings."""
    type_row(page, server.address)
    for days, there in ((29, True), (31, False)):
        page.evaluate(
            """days => Object.keys(localStorage).forEach(k => localStorage.setItem(k, JSON.stringify(
                 { ...JSON.parse(localStorage.getItem(k)), typed: Date.now() - days * 86400e3 })))""",
            days,
        )
        page.goto(f"{server.address}{V}/map")  # any page will do
        page.wait_for_timeout(300)
        assert (page.evaluate("Object.keys(localStorage).length") > 0) is there
    page.goto(server.address + ROW)
    page.wait_for_timeout(300)
    assert page.locator(LINE).count() == 0


def test_what_was_written_although_the_answer_was_lost_does_not_come_back(page: Page, server: Server) -> None:
    joint = f"{V}/bond/steel/joint"
    page.goto(server.address + joint)

    def written_then_lost(route: object) -> None:
        route.fetch()  # type: ignore[attr-defined]
        route.abort()  # type: ignore[attr-defined]

    page.route("**/joint", lambda r: written_then_lost(r) if r.request.method == "POST" else r.continue_())
    page.locator("input.big").fill("0.42")
    page.get_by_role("button", name="Save").click()
    until(page, "document.getElementById('lost').textContent.includes('What you typed is still here')")
    page.unroute("**/joint")
    page.goto(server.address + joint)
    page.wait_for_timeout(400)
    assert page.locator("input.big").input_value() == ""
    assert page.evaluate("Object.keys(localStorage).length") == 0
    assert page.locator(".history b", has_text="0.42").count() == 1


def test_a_refused_form_stays_a_draft_and_a_draft_made_on_an_old_page_meets_what_came_since(
    page: Page, context: BrowserContext, server: Server
) -> None:
    items = f"{V}/inspected"
    page.goto(server.address + items)
    first = page.locator("main select").first
    name = str(first.get_attribute("name"))
    first.select_option("acceptable")
    page.goto(f"{server.address}{V}/map")
    other = context.browser.new_context() if context.browser else None  # another phone
    assert other is not None
    theirs = other.new_page()
    theirs.goto(server.address + items)
    theirs.locator("main select").first.select_option("N/A")
    theirs.get_by_role("button", name="Save").click()
    theirs.get_by_text("Saved.", exact=False).first.wait_for()
    other.close()
    page.goto(server.address + items)
    page.locator(LINE).wait_for()
    assert page.locator("main select").first.input_value() == "acceptable"
    page.get_by_role("button", name="Save").click()
    page.locator(".clash").wait_for()
    assert page.locator(LINE).is_visible()
    page.reload()  # it is asked again, not decided by a reload
    page.locator(LINE).wait_for()
    page.get_by_role("button", name="Save").click()
    page.locator(".clash").wait_for()
    page.get_by_label("Keep what", exact=False).tap()
    page.get_by_role("button", name="Save").click()
    page.wait_for_url(f"**{items}**")
    until(page, "document.querySelectorAll('.clash').length === 0")
    page.goto(server.address + items)
    assert page.locator(f"select[name='{name}']").input_value() == "N/A"


def test_a_draft_of_one_visit_is_not_shown_in_another(page: Page, server: Server) -> None:
    page.goto(f"{server.address}{V}/details")
    page.locator('main a[href*="/add/report"], main a[href*="/entry/"]').nth(2).click()
    page.wait_for_load_state()
    page.locator("#f-client_address").fill("1 Test Row, Nowhere")
    page.goto(f"{server.address}/new")
    page.get_by_label("Place").fill("2 Test Row")
    page.get_by_role("button", name="Begin").click()
    page.wait_for_url("**/v/v-*/")
    page.wait_for_timeout(300)
    assert not page.locator("#drafts").is_visible()
    page.goto(f"{page.url}add/report")
    page.wait_for_timeout(300)
    assert page.locator("#f-client_address").input_value() == ""
    assert "1 Test Row" not in page.content()
    page.goto(f"{server.address}/new")
    page.wait_for_timeout(300)
    assert page.get_by_label("Place").input_value() == ""


def test_without_script_a_refused_form_comes_back_as_typed(browser: Browser, server: Server) -> None:
    context = browser.new_context(viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{server.address}{V}/circuits/2")
    page.locator("[id='f-c.2.zs..']").fill("0.9x")
    page.locator("[id='f-c.2.ring r1..']").fill("0.31")
    page.get_by_role("button", name="Save").first.click()
    assert page.locator("[id='f-c.2.zs..']").input_value() == "0.9x"
    assert page.locator("[id='f-c.2.ring r1..']").input_value() == "0.31"
    assert page.locator(LINE).count() == 0
    context.close()


def held_back(page: Page, path: str) -> list[Route]:
    """Answers of posts to this page wait until the test lets them go."""
    waiting: list[Route] = []
    page.route(path, lambda r: waiting.append(r) if r.request.method == "POST" else r.continue_())
    return waiting


def let_go(page: Page, waiting: list[Route]) -> None:
    until(page, "true")
    for _ in range(100):
        if waiting:
            break
        page.wait_for_timeout(50)
    page.evaluate("document.getElementById('page').dataset.old = '1'")
    waiting.pop().continue_()
    page.wait_for_selector("#page:not([data-old])", state="attached")


def test_digits_typed_while_an_answer_is_on_its_way_go_to_the_next_reading(page: Page, server: Server) -> None:
    page.goto(f"{server.address}{V}/along/zs%7C%7C")
    waiting = held_back(page, "**/along/**")
    first = page.locator("input[data-column]").first
    for key in ("0.", "9", "9"):
        page.locator(f'[data-key="{key}"]').first.tap()
    sent = first.input_value()
    page.get_by_role("button", name="Save", exact=True).tap()
    page.locator('[data-key="0."]').first.tap()  # the thumb is quicker than the answer
    page.keyboard.type("53")
    page.locator('[data-key="back"]').first.tap()
    assert first.input_value() == sent == "0.99"
    let_go(page, waiting)
    places = page.locator("input[data-column]").evaluate_all("all => all.map(e => e.value)")
    assert [v for v in places if v] == ["0.5"]
    assert page.locator("#lost").inner_text() == ""
    page.reload()
    page.locator(LINE).first.wait_for()  # and it is a draft like anything typed
    page.get_by_role("button", name="Throw away").first.click()
    until(page, "document.querySelectorAll('.draft').length === 0")

    joint = f"{server.address}{V}/bond/gas/joint"
    page.goto(joint)
    waiting = held_back(page, "**/joint")
    page.locator("input.big").fill("9x")  # it will be refused: nothing is put behind what is wrong
    page.get_by_role("button", name="Save").tap()
    page.keyboard.type("0.04")
    let_go(page, waiting)
    assert page.locator("input.big").input_value() == "9x"
    assert "not entered: 0.04" in page.locator("#lost").inner_text()
    page.locator("input.big").fill("0.04")
    page.get_by_role("button", name="Save").tap()
    page.keyboard.type("0.0")
    page.keyboard.press("Enter")  # an instrument that types ends with it; what comes behind is another reading
    page.keyboard.type("7")
    let_go(page, waiting)
    lost = page.locator("#lost").inner_text()
    told = lost + "".join(page.locator("input.big").evaluate_all("all => all.map(e => e.value)"))
    assert "0.0" in told
    assert "0.07" not in told, "two readings never run into one"
    assert "7" in lost, "and what was not taken is told"


def test_what_is_typed_into_another_place_while_an_answer_is_on_its_way_stays(page: Page, server: Server) -> None:
    page.goto(server.address + ROW)
    page.evaluate("() => document.querySelectorAll('form.grid details').forEach(d => d.open = true)")
    waiting = held_back(page, "**/circuits/3")
    page.locator("[id='f-c.3.r1r2..']").fill("0.52")
    page.get_by_role("button", name="Save").first.tap()
    page.locator("[id='f-c.3.zs..']").fill("0.91")
    let_go(page, waiting)
    page.locator(LINE).first.wait_for()
    assert field(page, "c.3.zs..") == "0.91"
    assert field(page, "c.3.r1r2..") == ""  # saved once, and not offered again


CIRCUIT = {
    "name": "Sockets, loft",
    "device": "BS EN 61009 B16",
    "length_m": "18",
    "line_mm2": "2.5",
    "method": "clipped",
}


def test_a_circuit_that_is_being_entered_outlives_a_killed_server(page: Page, server: Server) -> None:
    """Its form has a field that is called method, as forms themselves have."""
    form = f"{server.address}{V}/add/circuit"
    page.goto(form)
    page.evaluate("() => document.querySelectorAll('main details').forEach(d => d.open = true)")
    for n, (name, text) in enumerate(CIRCUIT.items()):
        if n == 2:
            server.kill()
        page.locator(f"main [name='{name}']").fill(text)
    page.locator("#f-rcd_type-2").check(force=True)
    page.locator("#f-wiring").select_option("A")
    page.get_by_role("button", name="Save").first.click()
    until(page, "document.getElementById('lost').textContent.includes('What you typed is still here')")
    server.start()
    page.goto(form)
    page.locator(LINE).first.wait_for()
    assert {name: page.locator(f"main [name='{name}']").input_value() for name in CIRCUIT} == CIRCUIT
    assert page.locator("#f-rcd_type-2").is_checked()
    assert page.locator("#f-wiring").input_value() == "A"
