"""The pages in the Firefox that is installed, spoken to by WebDriver BiDi: nothing is downloaded.

    ./run bench firefox                                  everything
    .venv/bin/python benchmarks/firefox.py --part axe    or walks, by itself

axe: every kind of page at 360 px, light and dark, all folds open: WCAG by axe-core, size of targets, edges of fields, nothing
wider than the screen, no title of a group across its border; two refused forms as well. walks: one bond to the issued record
by mouse, one bond and then a column of a circuit, signatures and issue of a certificate by keyboard alone.

Ends with 1 when anything is wrong, with 2 when there is no Firefox, or none that this Playwright can drive. Playwright speaks
a newer BiDi than a Firefox of long support may know; then install an older one beside (1.57 drives Firefox 140 to 153) and
run this file with it.
"""

from __future__ import annotations

import argparse
import re
import shutil
import sys
import traceback
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Browser, Error, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
import browser.test_access as access
from browser.conftest import PHONE
from browser.hands import Hand, Keys
from browser.test_visit import certificate, check, one_bond, until, whole_visit
from served import served

FIREFOX = next((p for p in map(shutil.which, ("firefox", "firefox-esr")) if p), None)
SCHEME = "layout.css.prefers-color-scheme.content-override"  # 0 is dark, 1 light
ACROSS = """() => [...document.querySelectorAll('main legend')].filter(e => e.checkVisibility()).filter(e => {
  const title = e.getBoundingClientRect(), box = e.parentElement.getBoundingClientRect();
  const edge = parseFloat(getComputedStyle(e.parentElement).borderTopWidth);
  return edge > 0 && title.top < box.top + edge - .5;
}).map(e => `title across its border: ${e.textContent.trim()}`)"""
WIDE = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def held(page: Page, dark: bool) -> list[str]:
    """What is wrong with the page that is open."""
    page.evaluate("() => document.querySelectorAll('details').forEach(d => d.open = true)")
    page.evaluate(access.AXE)
    if dark:
        return access.violations(
            page, {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
        )
    wide = page.evaluate(WIDE)
    found: list[str] = access.violations(page, {"runOnly": access.TAGS}) + page.evaluate(ACROSS)
    return (
        found
        + page.evaluate(access.SMALL)
        + page.evaluate(access.EDGELESS)
        + ([f"{wide} px too wide"] if wide > 0 else [])
    )


def axe(browser: Browser, address: str, dark: bool) -> int:
    """Every kind of page, and two forms that are refused; how many have something."""
    page = browser.new_context(viewport=PHONE, bypass_csp=True).new_page()  # type: ignore[arg-type]
    page.set_default_timeout(30_000)
    page.goto(address)
    page.get_by_text("Import a visit book").first.click()
    page.locator("#f-book").set_input_files(str(access.COMPLETE))
    page.get_by_role("button", name="Import it").click()
    page.wait_for_url("**/v/*/")
    whole = re.findall(r"/v/[^/]+", page.url)[0]
    paths = [p.replace(access.WHOLE, whole) for p in access.PAGES]
    for where, begins in access.BEHIND:
        page.goto(address + where)
        paths.append(page.locator(f'main a[href*="{begins}"]').first.get_attribute("href") or where)
    wrong = 0

    def look(name: str) -> None:
        nonlocal wrong
        found = held(page, dark)
        wrong += bool(found)
        print(*(f"    {name}: {x}" for x in found), sep="\n", end="\n" * bool(found), flush=True)

    for path in paths:
        page.goto(address + path)
        look(path)
    page.goto(f"{address}{access.V}/add/bond")
    page.get_by_role("button", name="Save").click()
    page.locator(".wrong").first.wait_for()
    look("a refused bond")
    page.goto(f"{address}{whole}/paper/installation-certificate")
    page.locator("#sign #f-name").fill("")
    page.locator("#sign").get_by_role("button", name="Sign", exact=True).click()
    page.locator(".wrong").first.wait_for()
    look("a refused signature")
    print(f"axe, {'dark' if dark else 'light'}: {len(paths) + 2} pages, {wrong} with something", flush=True)
    page.context.close()
    return wrong


def mouse(page: Page, address: str) -> None:
    """From the list of visits to the issued record of one bond."""
    check(page, whole_visit(Hand(page), address), address)


def keyboard(page: Page, address: str) -> None:
    """One bond, a reading that is typed with the focus nowhere, a column, an observation, signatures and issue."""
    visit = one_bond(Keys(page), address)
    page.goto(f"{visit}/bond/water/joint")
    page.keyboard.type("0.00\n", delay=0)
    until(page, "!!document.querySelector('.verdict')")
    check(page, certificate(Keys(page), address), address)


def walks(browser: Browser, address: str) -> int:
    """How many walks broke off."""
    jobs: dict[str, tuple[Callable[[Page, str], None], dict[str, int]]] = {
        "mouse, 360 px": (mouse, PHONE),
        "keyboard, 1,280 px": (keyboard, {"width": 1280, "height": 800}),
    }
    broken = 0
    for name, (job, size) in jobs.items():
        context = browser.new_context(viewport=size, bypass_csp=True)  # type: ignore[arg-type]
        context.set_default_timeout(30_000)
        page = context.new_page()
        errors: list[str] = []
        page.on("pageerror", lambda e, errors=errors: errors.append(str(e)))  # type: ignore[misc]
        try:
            job(page, address)
        except (AssertionError, Error):
            errors.append(f"at {page.url.removeprefix(address)}: {traceback.format_exc(limit=-3)}")
        broken += bool(errors)
        print(f"walk by {name}: {'; '.join(errors) or 'to the issued PDF'}", flush=True)
        context.close()
    return broken


def main() -> int:
    """Look, walk and print."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("--part", choices=("axe", "walks"), help="only this")
    part = asked.parse_args().part
    if FIREFOX is None:
        print("no Firefox is installed (Debian: apt install firefox-esr)")
        return 2
    wrong = 0
    with sync_playwright() as p:
        for dark in (False, True)[: 1 if part == "walks" else 2]:
            browser = p.firefox.launch(
                channel="moz-firefox", executable_path=FIREFOX, firefox_user_prefs={SCHEME: 0 if dark else 1}
            )
            try:
                browser.new_context().close()
            except Error as e:
                print(f"this Playwright cannot drive Firefox {browser.version}: {e.message.splitlines()[0]}")
                return 2
            print(f"Firefox {browser.version}", flush=True)
            with served() as address:
                wrong += axe(browser, address, dark) if part != "walks" else 0
                wrong += walks(browser, address) if part != "axe" and not dark else 0
            browser.close()
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main())
