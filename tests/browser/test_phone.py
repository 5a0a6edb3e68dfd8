"""The program in the browser itself: fetched once, then the network is cut and the server stopped, and all of it goes on.

One test, because the folder takes longest to make. Kills, speed and memory are measured by benchmarks/phone.py.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Error, Frame, Page

from earthwright.phone.build import HERE, build
from earthwright.phone.parts import NotToHand, node, runtime
from earthwright.phone.same import hash_of_text

from .conftest import PHONE

ROOT = Path(__file__).parents[2]
MAKE = HERE / "make.mjs"
VISITS = (
    sorted((ROOT / "tests" / "visits").glob("*.toml"))
    + sorted((ROOT / "tests" / "visits" / "practice").glob("*.toml"))[::8]
)


@contextmanager
def handed_out(folder: Path) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """Any web host will do; this one is our own."""
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        port = str(s.getsockname()[1])
    command = [sys.executable, "-m", "earthwright", "serve", "--phone", str(folder), "--port", port]
    with subprocess.Popen(command, stdout=subprocess.PIPE) as server:
        assert server.stdout
        server.stdout.readline()
        for _ in range(100):
            with suppress(OSError):
                urllib.request.urlopen(f"http://localhost:{port}", timeout=5).close()
                break
            time.sleep(0.1)
        try:
            yield f"http://localhost:{port}", server
        finally:
            server.terminate()


def pages(page: Page, what: str, seconds: float = 60) -> Frame:
    """The frame of the pages, once it shows this."""
    for _ in range(int(seconds * 10)):
        for frame in page.frames[1:]:
            with suppress(Error):  # it is just going to another page
                if frame.evaluate("w => document.querySelector(w) !== null", what):
                    return frame
        page.wait_for_timeout(100)
    raise AssertionError(f"{what} never came: {page.inner_text('#state')}")


def test_the_phone_works_offline_and_gives_the_same_answers(browser: Browser, tmp_path: Path) -> None:
    out = tmp_path / "out"
    try:
        sizes = build(out, ROOT / ".phone", ROOT / "requirements", effort=1)
    except NotToHand as error:
        pytest.skip(f"the phone's folder cannot be made here: {error}")
    assert sizes["phone/press.zip.packed"] > 10e6
    assert sum(n for name, n in sizes.items() if "press" not in name) < 27e6  # packed in a hurry here; 18e6 when not
    same_answers(out)
    with handed_out(out) as (address, server):
        offline(browser, address, server)


def same_answers(out: Path) -> None:
    """The hash of each visit's record in this Python, in any other one that is here, and in the phone's; all at once."""
    managed = sorted(Path(os.environ.get("PYENV_ROOT", "~/.pyenv")).expanduser().glob("versions/3.1[2-9]*/bin/python"))
    found = [*map(str, managed), *filter(None, (shutil.which(f"python3.{n}") for n in (12, 13, 14)))]
    others = [p for p in found if subprocess.run([p, "-c", ""], capture_output=True).returncode == 0][-1:]
    code = "import sys; from earthwright.phone.same import hash_of_text\nfor p in sys.argv[1:]: print(hash_of_text(open(p, encoding='utf-8').read()), p)"
    paths = os.pathsep.join([str(ROOT / "src"), *(p for p in sys.path if p.endswith("site-packages"))])
    names = [str(p) for p in VISITS]
    phone = [node(), str(MAKE), "judge", str(runtime(ROOT / ".phone", ROOT / "requirements")), str(out), *names]
    asked = [phone, *([other, "-c", code, *names] for other in others)]
    started = [
        subprocess.Popen(a, stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": paths}) for a in asked
    ]
    print(f"the same in the phone and in {others or 'no other Python, because none is here'}")
    here = {name: hash_of_text(Path(name).read_text(encoding="utf-8")) for name in names}
    for command, other in zip(asked, started, strict=True):
        told = other.communicate()[0]
        assert dict(line.split(" ", 1)[::-1] for line in told.splitlines()) == here, command[0]


def offline(browser: Browser, address: str, server: subprocess.Popen[bytes]) -> None:
    """Fetched once; then a reading is written, flushed, and still there, with nobody to ask."""
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
    ask = context.new_cdp_session(page)
    assert ask.send("Page.getAppManifest")["errors"] == []
    missing = {e["errorId"] for e in ask.send("Page.getInstallabilityErrors")["installabilityErrors"]}
    assert missing <= {"in-incognito"}  # which this window is
    server.terminate()
    server.wait()
    context.set_offline(True)

    page.goto(f"{address}/v/demo-visit/bond/gas/together")  # any address of the pages opens by itself
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
    page.goto(f"{address}/v/demo-visit/steps/")  # a slash too much is led on, without asking any host
    page.reload()
    frame = pages(page, "ul.rows")
    said = frame.inner_text("main")
    assert "0.07" in said
    assert "Written down before the program was awake: 0.31, Water service, conductor" in said
    policy = frame.evaluate("fetch(location.href).then(r => r.headers.get('content-security-policy'))")
    assert "script-src 'self';" in policy
    assert "wasm" not in policy
    assert not wrong, wrong
    context.close()
