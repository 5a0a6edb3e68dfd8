"""A real browser on the served pages. Where no browser is installed these checks are not collected; the others remain."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
from served import served

CHROMIUM = next((p for p in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if p), None)
if CHROMIUM is None:
    collect_ignore_glob = ["test_*.py"]
AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
PHONE = {"width": 360, "height": 740}


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """The pages as `earthwright serve` serves them, with a journal of their own."""
    with served() as at:
        yield at


@pytest.fixture(scope="module")  # its event loop must be gone before other tests start one of their own
def browser() -> Iterator[Browser]:
    with sync_playwright() as p:
        made = p.chromium.launch(
            executable_path=CHROMIUM,
            args=["--no-sandbox", "--disable-background-networking", "--disable-component-update", "--no-first-run"],
        )
        yield made
        made.close()


def listen(page: Page) -> list[str]:
    """What goes wrong in the page: errors, refused loads, answers that are not right."""
    wrong: list[str] = []
    page.on("pageerror", lambda e: wrong.append(f"error: {e}"))
    page.on(
        "console", lambda m: wrong.append(f"console: {m.text}") if m.type == "error" and "422" not in m.text else None
    )
    page.on(
        "requestfailed",
        lambda r: (
            wrong.append(f"failed: {r.url}")
            if "/since" not in r.url and "net::ERR_ABORTED" not in str(r.failure)
            else None
        ),
    )
    page.on("response", lambda r: wrong.append(f"{r.status}: {r.url}") if r.status >= 400 and r.status != 422 else None)
    return wrong
