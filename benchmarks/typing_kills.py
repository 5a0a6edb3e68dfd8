"""The server is killed in the middle of typing, on ten pages and more: is anything that was typed lost?

    ./run bench typing_kills

Real Chromium, 360 x 740, touch. On each page every field of every form is filled in: typed character by character, chosen,
ticked. In the middle of it the server is killed (SIGKILL); the rest is typed, and the form is sent to nobody. Then the server
starts again on the same journal, the page is loaded anew as after a dead battery, and every field is compared with what was
typed. Prints a line a page and ends with 1 when a field is lost or wrong.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

from playwright.sync_api import Page, TimeoutError, sync_playwright

sys.path += [str(Path(__file__).parents[1]), str(Path(__file__).parents[1] / "tests")]
from tests.browser.test_drafts import Server

V = "/v/demo-visit"
PAGES = (
    "/new",
    f"{V}/add/part",
    f"{V}/add/bond?part=water",
    f"{V}/add/board",
    f"{V}/add/circuit",
    f"{V}/add/observation",
    f"{V}/add/report",
    f"{V}/bond/water/together",
    f"{V}/photos",
    f"{V}/circuits/3",
    f"{V}/along/zs%7C%7C",
    f"{V}/circuits/origin",
    f"{V}/inspected",
    f"{V}/leads",
    f"{V}/steps",
    f"{V}/fill/condition-report",
    f"{V}/paper/condition-report",
)
# Fields of forms that are sent, each with what stands in it; those that nobody types into are left out.
STANDING = """() => {
  document.querySelectorAll('main details').forEach(d => d.open = true);
  const found = {};
  [...document.forms].filter(f => f.getAttribute('method') === 'post').forEach((form, n) => [...form.elements]
    .filter(e => e.name && !['hidden', 'file', 'submit', 'button', 'fieldset'].includes(e.type)).forEach((e, k) => {
    found[`${n} ${k} ${e.name}`] = ['checkbox', 'radio'].includes(e.type) ? e.checked : e.value;
  }));
  return found;
}"""
PLACE = "([n, k]) => [...[...document.forms].filter(f => f.getAttribute('method') === 'post')[n].elements].filter(e => e.name && !['hidden', 'file', 'submit', 'button', 'fieldset'].includes(e.type))[k]"


def type_all(page: Page, server: Server) -> dict[str, object]:
    """Type into every field, the server killed half way; what then stands in them."""
    fields = list(page.evaluate(STANDING))
    assert fields, f"nothing to type on {page.url}"
    for number, field in enumerate(fields):
        if number == len(fields) // 2:
            server.kill()
        n, k, _ = field.split(" ", 2)
        place = page.evaluate_handle(PLACE, [int(n), int(k)]).as_element()
        if place is None or not place.is_visible():
            continue
        kind = place.get_attribute("type") or ""
        if place.evaluate("e => e.tagName") == "SELECT":
            place.select_option(index=min(1, place.evaluate("e => e.options.length") - 1))
        elif kind in ("checkbox", "radio"):
            place.check()
        elif kind == "date":
            place.fill("2026-11-19")
        else:
            place.evaluate("e => { e.focus(); e.select(); }")
            page.keyboard.type(f"{number}.25")
    return dict(page.evaluate(STANDING))


def main() -> int:
    """Walk and print."""
    chromium = next((p for p in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if p), None)
    if chromium is None:
        print("no browser is installed")
        return 1
    lost = 0
    with tempfile.TemporaryDirectory(prefix="typing-") as folder, sync_playwright() as p:
        server = Server(Path(folder) / "journal.sqlite")
        server.start()
        browser = p.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        context = browser.new_context(viewport={"width": 360, "height": 740}, has_touch=True, is_mobile=True)
        context.set_default_timeout(60000)
        page = context.new_page()
        page.goto(server.address)
        page.get_by_role("button", name="Open the demo visit").tap()
        page.wait_for_url(f"**{V}/")
        for path in PAGES:
            page.goto(server.address + path)
            began = dict(page.evaluate(STANDING))
            typed = type_all(page, server)
            page.evaluate("[...document.forms].find(f => f.getAttribute('method') === 'post').requestSubmit()")
            page.wait_for_timeout(300)
            server.start()
            page.goto(server.address + path)
            with suppress(
                TimeoutError
            ):  # the journal is asked first whether it has it; what never comes back is counted below
                page.locator(".draft").first.wait_for(timeout=30000)
            now = dict(page.evaluate(STANDING))
            wrong = [
                f"{k.split(' ', 2)[2]}: typed {v!r}, stands {now.get(k)!r}" for k, v in typed.items() if now.get(k) != v
            ]
            lost += len(wrong)
            print(
                f"{path}: {sum(typed[k] != began.get(k) for k in typed)} fields typed, {len(wrong)} lost",
                *wrong[:6],
                sep="\n    ",
                flush=True,
            )
            page.evaluate("localStorage.clear()")
        browser.close()
        server.kill()
    print(f"{len(PAGES)} pages; fields lost: {lost}")
    return int(lost > 0)


if __name__ == "__main__":
    sys.exit(main())
