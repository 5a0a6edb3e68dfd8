"""Make the pictures of docs/site from the running pages, so that they cannot go stale.

    .venv/bin/python docs/pictures.py             the pictures of the guides, into docs/site/pictures
    .venv/bin/python docs/pictures.py --all DIR   every screen at 360 and 1,280 px, light and dark, into a folder

A browser must be installed (Debian: chromium). The pages are served from a journal of their own, which is thrown away.
"""

from __future__ import annotations

import argparse
import re
import shutil
import sys
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))
from served import served  # noqa: E402

V = "/v/demo-visit"
SCREENS = {
    "visits": "/", "new": "/new", "now": f"{V}/", "map": f"{V}/map", "between": f"{V}/between?a=MET&b=gas", "network": f"{V}/network",
    "network-asked": f"{V}/network?weigh=yes", "bond": f"{V}/bond/gas", "test": f"{V}/bond/gas/conductor",
    "reading": f"{V}/bond/gas/joint", "verdict": f"{V}/bond/water/together?wrote=1", "leads": f"{V}/leads", "steps": f"{V}/steps",
    "circuits": f"{V}/circuits", "row": f"{V}/circuits/1", "ring": f"{V}/circuits/2", "board": f"{V}/circuits/db1", "origin": f"{V}/circuits/origin",
    "along": f"{V}/along/insulation|L-E|", "findings": f"{V}/findings", "photos": f"{V}/photos", "papers": f"{V}/paper",
    "paper": f"{V}/paper/bonding-record", "report": f"{V}/paper/condition-report", "inspected": f"{V}/inspected", "details": f"{V}/details",
    "compare": f"{V}/compare", "add-bond": f"{V}/add/bond", "add-circuit": f"{V}/add/circuit", "sums": "/sums",
    "sum": "/sums/resistance?csa=10&length=16", "sum-ring": "/sums/ring?r1=0.62&rn=0.62&r2=1.02", "not-there": "/nothing",
}  # fmt: skip
PHONE, DESK = {"width": 360, "height": 740}, {"width": 1280, "height": 800}


def phone(browser: Browser, dark: bool = False) -> Page:
    """A page on a small screen that is touched."""
    context = browser.new_context(
        viewport=PHONE,
        has_touch=True,
        is_mobile=True,
        device_scale_factor=1.25,
        color_scheme="dark" if dark else "light",
    )
    return context.new_page()


def snap(page: Page, name: str, folder: Path) -> None:
    """One picture of what is on the screen."""
    page.wait_for_load_state()
    page.evaluate("() => document.activeElement && document.activeElement.blur()")
    page.screenshot(path=str(folder / f"{name}.png"))
    print(f"{name}.png")


def piece(page: Page, selector: str, name: str, folder: Path) -> None:
    """A picture of one thing alone, what folds it away opened, with nothing over it."""
    thing = page.locator(selector).first
    thing.evaluate("e => { for (let p = e; p; p = p.parentElement) if (p.tagName === 'DETAILS') p.open = true; }")
    page.wait_for_load_state("networkidle")
    over = "() => document.querySelectorAll('.entry, .jobs').forEach((e) => e.style.setProperty('display', {}))"
    page.evaluate(over.format("'none', 'important'"))
    thing.screenshot(path=str(folder / f"{name}.png"))
    page.evaluate(over.format("''"))
    print(f"{name}.png")


def press(page: Page, name: str) -> None:
    """Press a button and wait for what comes."""
    page.evaluate("document.getElementById('page').dataset.old = '1'")
    page.get_by_role("button", name=name, exact=True).first.tap()
    page.wait_for_selector("#page:not([data-old])", state="attached")


def enter(page: Page, digits: str) -> None:
    """Type digits and write them down."""
    page.locator("input.big").fill(digits)
    press(page, "Save")


def guides(browser: Browser, at: str, folder: Path) -> None:
    """The pictures of the guides, in the order of the work."""
    folder.mkdir(parents=True, exist_ok=True)
    page = phone(browser)
    page.goto(f"{at}{V}/")
    snap(page, "now", folder)
    page.goto(f"{at}{V}/map")
    snap(page, "map", folder)
    page.goto(f"{at}{V}/between?a=MET&b=gas")
    page.locator("#answer").evaluate("e => e.scrollIntoView()")
    snap(page, "between", folder)
    page.goto(f"{at}{V}/network?weigh=yes")
    while not page.locator("details.fold").count():  # they are weighed beside the page
        page.wait_for_timeout(1000)
        page.reload()
    page.locator("details.fold").first.evaluate("e => e.scrollIntoView()")
    snap(page, "network", folder)
    page.goto(f"{at}{V}/bond/gas/conductor")
    snap(page, "steps-before", folder)
    press(page, "It is off now")
    piece(page, "figure.drawing", "connect", folder)
    page.evaluate("scrollTo(0, 0)")
    page.locator('[data-key="0"]').first.tap()
    snap(page, "entry", folder)
    page.locator("input.big").fill("")
    press(page, "Over-range")
    page.goto(f"{at}{V}/bond/gas")
    snap(page, "over-range", folder)
    page.goto(f"{at}{V}/steps")
    snap(page, "steps", folder)
    page.goto(f"{at}{V}/circuits/2")
    for i, (ln, le) in enumerate(
        (
            ("0.19", "0.25"),
            ("0.19", "0.25"),
            ("0.19", "0.25"),
            ("0.19", "0.26"),
            ("0.20", "0.26"),
            ("0.19", "0.25"),
            ("0.19", "0.25"),
        )
    ):
        page.locator(f'[name="p.{i}.ln"]').fill(ln)
        page.locator(f'[name="p.{i}.le"]').fill(le)
    page.locator('[name="p.0.ln"]').scroll_into_view_if_needed()
    snap(page, "ring-entry", folder)
    press(page, "Save")
    piece(page, "figure.drawing:not(figure.drawing:has(figcaption))", "ring", folder)
    page.goto(f"{at}{V}/findings")
    snap(page, "findings", folder)
    page.goto(f"{at}{V}/paper/bonding-record")
    page.get_by_text("See it as it prints").first.tap()
    piece(page, ".sheet", "paper", folder)
    tt_site(page, at, folder)
    page.goto(f"{at}/new?after=demo-visit")
    page.get_by_label("Place").fill("12 Thornwick Lea, Harrowby Marsh")
    snap(page, "next-visit", folder)
    press(page, "Begin")
    visit = re.sub(r"(/v/[^/]+).*", r"\1", page.url)
    page.goto(f"{visit}/compare")
    snap(page, "compare", folder)
    page.context.close()


def tt_site(page: Page, at: str, folder: Path) -> None:
    """An invented site with its own electrode."""
    page.goto(f"{at}/new")
    page.get_by_label("Place").fill("Test Farm, Test Lane")
    page.get_by_label("Inspector").fill("J. Example")
    press(page, "Begin")
    visit = re.sub(r"(/v/[^/]+).*", r"\1", page.url)
    page.goto(f"{visit}/add/supply")
    page.get_by_label("System").select_option("TT")
    press(page, "Save")
    page.goto(f"{visit}/add/electrode")
    press(page, "Save")
    page.goto(f"{visit}/add/board")
    press(page, "Save")
    page.goto(f"{visit}/add/circuit")
    page.locator("#f-device").fill("BS EN 61009 B32")
    page.locator("#f-rcd_type-2").check()
    page.get_by_label("RCD rated residual current").fill("30")
    press(page, "Save")
    page.goto(f"{visit}/circuits/rod")
    page.locator('[name^="c.rod.electrode"]').first.fill("142")
    snap(page, "electrode-entry", folder)
    press(page, "Save")
    snap(page, "electrode", folder)


def screens(browser: Browser, at: str, folder: Path) -> None:
    """Every screen at both widths, light and dark."""
    folder.mkdir(parents=True, exist_ok=True)
    for view in (PHONE, DESK):
        for scheme in ("light", "dark"):
            small = view is PHONE
            context = browser.new_context(viewport=view, color_scheme=scheme, has_touch=small, is_mobile=small)
            page = context.new_page()
            for name, path in SCREENS.items():
                page.goto(at + path)
                page.wait_for_load_state("networkidle")
                height = min(2600, page.evaluate("document.documentElement.scrollHeight"))
                page.set_viewport_size({"width": view["width"], "height": height})
                page.screenshot(path=str(folder / f"{name}-{view['width']}-{scheme}.png"))
                page.set_viewport_size(view)
            context.close()


def main() -> None:
    """Read the arguments and go."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--all", type=Path, metavar="DIR")
    chosen = parser.parse_args()
    chromium = next((p for p in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if p), None)
    if chromium is None:
        sys.exit("pictures: no browser is installed. Install one (Debian: apt install chromium).")
    with served() as at, sync_playwright() as p:
        browser = p.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-background-networking"])
        if chosen.all:
            screens(browser, at, chosen.all)
        else:
            guides(browser, at, HERE / "site" / "pictures")
        browser.close()


if __name__ == "__main__":
    main()
