"""No page is longer than four screens of a phone, and a reading is saved without scrolling: one page of each kind, at the works of sixty circuits."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from .conftest import PHONE

ROOT = Path(__file__).parents[2]


def test_every_kind_of_page_at_the_works(browser: Browser, address: str) -> None:
    spec = importlib.util.spec_from_file_location("lengths", ROOT / "benchmarks" / "lengths.py")
    assert spec is not None
    assert spec.loader is not None
    lengths = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(lengths)
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(address)
    page.get_by_text("Import a visit book").first.tap()
    book = {"name": "works.toml", "mimeType": "application/toml", "buffer": lengths.books(["many"])["many"].encode()}
    page.locator("#f-book").set_input_files(book)  # type: ignore[arg-type]
    page.get_by_role("button", name="Import it").tap()
    page.wait_for_url("**/v/*/")
    start = page.url.removeprefix(address)
    over, kinds = [], 0
    for path, high, save, wrong in lengths.walk(page, address, start, once=True):
        kinds += 1
        if high > lengths.MOST_SCREENS or save > lengths.IN_SIGHT or wrong:
            over.append(f"{path}: {high:.1f} screens, save at {save:.0f} px {wrong}")
    context.close()
    assert kinds > 30
    assert over == []


def test_braces_of_the_style_sheet_are_even() -> None:
    """A rule that is left open takes all that follow it into itself."""
    depth = 0
    for n, line in enumerate(
        (ROOT / "src/earthwright/web/static/earth.css").read_text(encoding="utf-8").splitlines(), 1
    ):
        if line.startswith("@media") and depth:
            pytest.fail(f"line {n}: the rule before it is still open")
        depth += line.count("{") - line.count("}")
    assert depth == 0
