"""Taps and characters of whole jobs on a phone: real Chromium, touch, 360 x 740.

    ./run bench taps

How it counts: putting the focus into a field, or pressing a button, a link or a chip, is 1 tap; a choice from a list 2;
each key of the page's keypad and each character typed is 1 character. Nothing is counted that the page does by itself.
Prints the jobs with what they took and what is allowed, where the button that saves a reading stands (it must lie above
683 px without scrolling), and the longest pages in screens of 740 px. Ends with 1 when a figure is over what is allowed.
"""

from __future__ import annotations

import argparse
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Locator, Page, sync_playwright

PHONE = {"width": 360, "height": 740}
IN_SIGHT = 683  # above the bar of a phone's navigation [px]
MOST_SCREENS = 4.0
KEYS = ("0.0", "0.")


class Count:
    """A finger that counts."""

    def __init__(self, page: Page, address: str) -> None:
        self.page, self.address = page, address
        self.taps = self.typed = 0
        self.said: list[str] = []
        self.saves: dict[str, float] = {}
        self.screens: dict[str, float] = {}

    def part(self, name: str) -> None:
        """Begin a part of a job, for the list of what costs most."""
        self.said.append(f"{self.taps:4d} {self.typed:4d}  {name}")

    def _note(self) -> None:
        where = self.page.url.removeprefix(self.address)
        high = self.page.evaluate("document.documentElement.scrollHeight") / PHONE["height"]
        kind = where.split("?")[0]
        self.screens[kind] = max(self.screens.get(kind, 0.0), float(high))
        save = self.page.locator("main .entry .save")
        if save.count() and save.first.is_visible():
            box = save.first.bounding_box()
            scrolled = self.page.evaluate("scrollY")
            if box and not scrolled:
                self.saves[kind] = max(self.saves.get(kind, 0.0), box["y"] + box["height"])

    def go(self, path: str) -> None:
        """A page by its address, for the beginning of a job only: it is not counted."""
        self.page.goto(self.address + path)
        self._note()

    def tap(self, where: Locator) -> None:
        """A tap that stays on the page."""
        self.taps += 1
        where.tap()

    def leave(self, where: Locator) -> None:
        """A tap that leads to another page, or another state of this one."""
        self.taps += 1
        self.page.evaluate("document.getElementById('page').dataset.old = '1'")
        where.tap()
        self.page.wait_for_selector("#page:not([data-old])", state="attached")
        self.page.wait_for_load_state()
        self._note()

    def press(self, name: str) -> None:
        """A button or a link that leads on."""
        main = self.page.locator("main")
        for role in ("button", "link"):
            found = main.get_by_role(role, name=name, exact=True)  # type: ignore[arg-type]
            if found.count():
                return self.leave(found.first)
        raise AssertionError(f"there is no '{name}' on {self.page.url}")

    def nav(self, name: str) -> None:
        """The navigation at the foot."""
        self.leave(self.page.locator("nav.jobs").get_by_role("link", name=name, exact=True))

    def link(self, end: str) -> None:
        """The link whose address ends so."""
        self.leave(self.page.locator(f'main a[href$="{end}"]').first)

    def chip(self, word: str, inside: str = "main") -> None:
        """One of a few choices, or a word that is put into a field."""
        where = self.page.locator(inside).locator(".chip", has_text=word).first
        self.tap(where.locator("input") if where.locator("input").count() else where)

    def fill(self, field: str, text: str) -> None:
        """Focus a field and type."""
        where = self.page.locator(f'main [name="{field}"]').first
        self.tap(where)
        self.typed += len(text)
        where.fill(text)

    def keys(self, text: str) -> None:
        """Digits on the page's own keys; the focus is there already."""
        before = next((k for k in KEYS if text.startswith(k)), "")
        for key in ([before] if before else []) + list(text[len(before) :]):
            self.typed += 1
            self.page.locator(f'main .keys [data-key="{key}"]').first.tap()

    def key(self, key: str) -> None:
        """A key of the keypad that is no digit."""
        self.taps += 1
        self.page.locator(f'main .keys [data-key="{key}"]').first.tap()


def bond(c: Count, name: str) -> None:
    """One bond by three readings, from the page that names it next."""
    c.link(f"/bond/{name}/conductor")
    c.keys("0.31")
    c.press("Write it down")
    c.press("All done, in this order")
    c.keys("0.04")
    c.press("Write it down")
    if c.page.get_by_role("button", name="0.00 Ω").count():
        c.press("0.00 Ω")
    c.press("It is off now")
    c.keys("0.03")
    c.press("Write it down")
    c.press("Over-range")
    c.press("It is back and tight")
    c.keys("0.03")
    c.press("Write it down")


def ready(c: Count) -> None:
    """A visit with one bond that nothing was read of, and leads."""
    c.go("/new")
    c.fill("place", "1 Test Row")
    c.chip("bonding")
    c.fill("inspector", "J. Example")
    c.press("Begin")
    visit = c.page.url.removeprefix(c.address).rstrip("/")
    c.go(f"{visit}/add/leads")
    c.fill("null_ohm", "0.21")
    c.press("Write it down")
    c.go(f"{visit}/add/part")
    c.press("Write it down")
    c.fill("length_m", "16")
    c.press("Write it down")


def job_bond(c: Count) -> None:
    """One bond by three readings, visit ready."""
    ready(c)
    c.taps = c.typed = 0
    c.said.clear()
    bond(c, "water")


def job_first(c: Count) -> None:
    """Nothing to the first proved bond: the second house of an inspector, with leads that were shorted after."""
    ready(c)  # an earlier house: the inspector's name is known from it
    c.taps = c.typed = 0
    c.go("/")
    c.press("New visit")
    c.fill("place", "1 Test Row, Nowhere")
    c.chip("bonding")
    c.press("Begin")
    c.press("Add a part")
    c.press("Write it down")
    c.fill("length_m", "16")
    c.press("Write it down")
    bond(c, "water")
    c.press("Do this")
    c.press("0.00 Ω")
    assert "proved" in c.page.locator(".verdict").inner_text()
    assert "not shown" not in c.page.locator(".verdict").inner_text()


JOBS: dict[str, tuple[str, Callable[[Count], None], int, int]] = {
    "first": ("nothing to the first proved bond", job_first, 25, 30),
    "bond": ("one bond by three readings, visit ready", job_bond, 11, 9),
}


@contextmanager
def served() -> Iterator[str]:
    """The pages as they are served, with a journal of their own."""
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        port = s.getsockname()[1]
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "earthwright", "serve", "--journal", f"{folder}/j.sqlite", "--port", str(port)]
        with subprocess.Popen(command, stdout=subprocess.DEVNULL, env={**os.environ}) as server:
            try:
                for _ in range(150):
                    try:
                        with urllib.request.urlopen(f"http://127.0.0.1:{port}/static/mark.svg", timeout=2):
                            break
                    except OSError:
                        time.sleep(0.2)
                yield f"http://127.0.0.1:{port}"
            finally:
                server.terminate()


def walk(browser: Browser, job: Callable[[Count], None], pictures: Path | None) -> Count:
    """One job on a journal of its own."""
    with served() as address:
        context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)  # type: ignore[arg-type]
        context.set_default_timeout(8000)
        count = Count(context.new_page(), address)
        try:
            job(count)
        except Exception:
            if pictures:
                count.page.screenshot(path=pictures / "stopped.png", full_page=True)
                print(count.page.url, count.taps, count.typed, *count.said, sep="\n")
            raise
        finally:
            context.close()
    return count


def main() -> int:
    """Walk the jobs and print what they took."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("--job", choices=sorted(JOBS), help="only this one")
    asked.add_argument("--pictures", type=Path, help="folder for a picture of where a walk stopped")
    given = asked.parse_args()
    chromium = next((p for p in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if p), None)
    if chromium is None:
        print("no browser is installed")
        return 1
    over, saves, screens = False, {}, {}
    with sync_playwright() as p:
        browser = p.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-background-networking"])
        for name, (title, job, taps, typed) in JOBS.items():
            if given.job not in (None, name):
                continue
            c = walk(browser, job, given.pictures)
            over |= c.taps > taps or c.typed > typed
            saves |= c.saves
            screens |= c.screens
            print(f"{title}: {c.taps} taps, {c.typed} characters (at most {taps}, {typed})")
            print(*(f"    {x}" for x in c.said), sep="\n")
        browser.close()
    low, long = max(saves.items(), key=lambda x: x[1]), max(screens.items(), key=lambda x: x[1])
    print(f"lowest button that saves a reading: {low[1]:.0f} px on {low[0]} (at most {IN_SIGHT})")
    print("longest pages:", ", ".join(f"{k} {v:.1f}" for k, v in sorted(screens.items(), key=lambda x: -x[1])[:5]))
    return int(over or low[1] > IN_SIGHT or long[1] > MOST_SCREENS)


if __name__ == "__main__":
    sys.exit(main())
