"""The program in the browser itself: fetched once, then the network is cut and the server stopped, and all of it goes on."""

from __future__ import annotations

import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Frame, Page

from earthwright.phone.build import build
from earthwright.phone.parts import NotToHand

from .conftest import PHONE

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("phone") / "out"
    try:
        sizes = build(made, ROOT / ".phone", ROOT / "requirements", effort=1)
    except NotToHand as error:
        pytest.skip(f"the phone's folder cannot be made here: {error}")
    assert sizes["phone/press.whl"] > 10e6
    assert sum(n for name, n in sizes.items() if "press" not in name) < 45e6
    return made


@pytest.fixture(scope="module")
def handed_out(folder: Path) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """Any web host will do; this one is the standard library's."""
    command = [sys.executable, "-u", "-m", "http.server", "0", "--bind", "127.0.0.1", "-d", str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as server:
        assert server.stdout
        port = server.stdout.readline().split(b" port ")[1].split()[0].decode()
        address = f"http://localhost:{port}"
        urllib.request.urlopen(address, timeout=5).close()
        try:
            yield address, server
        finally:
            server.terminate()


def pages(page: Page, what: str, seconds: float = 60) -> Frame:
    """The frame of the pages, once it shows this."""
    for _ in range(int(seconds * 10)):
        for frame in page.frames[1:]:
            if frame.evaluate("w => document.querySelector(w) !== null", what):
                return frame
        page.wait_for_timeout(100)
    raise AssertionError(f"{what} never came: {page.inner_text('#state')}")


def test_offline_a_reading_is_kept_flushed_and_still_there(
    browser: Browser, handed_out: tuple[str, subprocess.Popen[bytes]]
) -> None:
    address, server = handed_out
    context = browser.new_context(viewport=PHONE, has_touch=True)
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda e: wrong.append(str(e)))
    page.goto(address)
    page.fill("#quick-digits", "0.31")  # before anything is awake
    page.fill("#quick-what", "Water service, conductor")
    page.press("#quick-what", "Enter")
    page.wait_for_selector("#waiting li")
    pages(page, 'form[action="/demo"]').click('form[action="/demo"] button')
    pages(page, "nav.jobs")
    server.terminate()
    server.wait()
    context.set_offline(True)

    page.goto(f"{address}/v/demo-visit/leads/")  # any address of the pages opens by itself
    frame = pages(page, "#page")
    page.goto(f"{address}/v/demo-visit/bond/gas/together")
    frame = pages(page, "input.big")
    answer = frame.evaluate(
        """async () => {
            const form = document.querySelector("input.big").form, sent = new URLSearchParams(new FormData(form));
            for (const field of form.querySelectorAll("input.big")) sent.set(field.name, "0.07");
            const flushed = (r) => Number(r.headers.get("x-flushes")), before = flushed(await fetch(location.href));
            const answer = await fetch(form.action, { method: "POST", body: sent });
            return [answer.status, flushed(answer) - before];
        }"""
    )
    assert answer[0] == 200, answer
    assert answer[1] >= 1, "acknowledged before it was on the disk"
    page.reload()
    frame = pages(page, "#page")
    page.goto(f"{address}/v/demo-visit/steps")
    frame = pages(page, "ul.rows")
    said = frame.inner_text("main")
    assert "0.07" in said
    assert "Written down before the program was awake: 0.31, Water service, conductor" in said
    policy = frame.evaluate("fetch(location.href).then(r => r.headers.get('content-security-policy'))")
    assert "script-src 'self';" in policy
    assert "wasm" not in policy
    assert not wrong, wrong
    context.close()
