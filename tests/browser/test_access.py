"""Every page in a real browser, light and dark: WCAG by axe-core, size of targets, no sideways scrolling, no errors."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from earthwright.web.app import routes

from .conftest import AXE, PHONE, listen
from .tree import faults, state, tree

COMPLETE = Path(__file__).parents[1] / "paper" / "complete.toml"

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
V, WHOLE = "/v/demo-visit", "/v/whole"
PAGES = [
    "/", "/?find=nothing+there", "/new", "/sums", "/sums/resistance?csa=10&length=16", "/sums/bond-size?system=TN-S&on=2026-11-20", "/sums/ring?r1=0.62&rn=0.62&r2=1.02",
    "/sums/zs-limit", f"{V}/", f"{V}/map", f"{V}/network", f"{V}/network?weigh=yes", f"{V}/between", f"{V}/between?a=MET&b=gas", f"{V}/bond/gas", f"{V}/bond/water", f"{V}/bond/gas/conductor", f"{V}/bond/gas/joint",
    f"{V}/bond/water/together?wrote=1", f"{V}/leads", f"{V}/steps", f"{V}/details", f"{V}/circuits", f"{V}/circuits/1", f"{V}/circuits/2",
    f"{V}/circuits/db1", f"{V}/circuits/origin", f"{V}/circuits/water", f"{V}/along/zs||", f"{V}/along/insulation|L-E|", f"{V}/findings", f"{V}/photos", f"{V}/paper",
    f"{V}/paper/condition-report", f"{V}/fill/condition-report", f"{V}/paper/bonding-record", f"{V}/inspected", f"{V}/compare", f"{V}/add/part", f"{V}/add/bond",
    f"{V}/add/circuit", f"{V}/add/instrument", f"{V}/add/observation", f"{V}/readings", f"{V}/paper/danger-notice", f"{V}/nothing-here",
    "/together", f"{V}/chosen", f"{WHOLE}/", f"{WHOLE}/paper/installation-certificate", f"{WHOLE}/circuits/1",
]  # fmt: skip
# Pages whose address is made by another page: where it stands, and what it begins with.
# The demo has no observation: tests/browser/test_remedial.py walks the page of one.
BEHIND = ((f"{V}/findings", "/findings/"), (f"{V}/steps", "/entry/"))
# Addresses that answer with no page, or only to those who serve many homes.
NO_PAGE = re.compile(
    r"\.(svg|pdf|png|csv)$|^/(static|kept|portfolio)|/remedy/|/(since|weighed|hand-over|photo/\{hash\})$"
)
SMALL = """() => [...document.querySelectorAll('a, button, input, select, textarea, summary')].filter(e => {
  const box = e.getBoundingClientRect(), style = getComputedStyle(e);
  if (!box.width || style.visibility === 'hidden' || e.type === 'hidden' || e.closest('.skip')) return false;
  if (e.type === 'checkbox') return e.parentElement.getBoundingClientRect().height < 44;
  if (e.closest('svg')) return box.height < 24;
  if (e.tagName === 'A' && e.closest('p, dd, figcaption, .plain, .strip')) return false;
  return box.height < 43.5 || (box.width < 43.5 && e.tagName !== 'A');
}).map(e => e.outerHTML.slice(0, 120) + ' ' + JSON.stringify(e.getBoundingClientRect()))"""


# Where digits go in must be seen: a field has an edge of its own, or stands in a table that draws one round it.
EDGELESS = """() => [...document.querySelectorAll('main input[type=text], main select, main textarea')].filter(e => {
  const box = e.getBoundingClientRect();
  return box.width && !e.closest('table') && parseFloat(getComputedStyle(e).borderTopWidth) < 1;
}).map(e => e.outerHTML.slice(0, 120))"""


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport=PHONE, bypass_csp=False, has_touch=True, is_mobile=True)
    context.set_default_timeout(15000)
    yield context.new_page()
    context.close()


def violations(page: Page, options: dict[str, object]) -> list[str]:
    found = page.evaluate(f"axe.run({json.dumps(options)}).then(r => r.violations)")
    return [f"{v['id']}: {v['help']}: " + "; ".join(n["html"][:160] for n in v["nodes"][:3]) for v in found]


@pytest.fixture(scope="module")
def whole(page: Page, address: str) -> str:
    """Where a visit with circuits stands that lacks nothing but its signatures."""
    book = {"name": "v.toml", "mimeType": "application/toml", "buffer": COMPLETE.read_bytes()}
    made = page.request.post(f"{address}/book", multipart={"uid": "b" * 24, "book": book}, headers={"origin": address})  # type: ignore[dict-item]
    return re.findall(r"/v/[^/]+", made.url)[0]


def test_no_page_is_left_out() -> None:
    """A route that is new is looked at here too, or is named as none that shows a page."""
    asked = [p.partition("?")[0] for p in PAGES] + [where.rpartition("/")[0] + part + "x" for where, part in BEHIND]
    pages = [r for r in routes() if "GET" in (r.methods or ()) and not NO_PAGE.search(r.path)]
    assert [r.path for r in pages if not any(r.path_regex.match(p) for p in asked)] == []


@pytest.mark.parametrize(("where", "begins"), BEHIND)
def test_page_behind_another(page: Page, address: str, where: str, begins: str, whole: str) -> None:
    page.goto(address + where)
    link = page.locator(f'main a[href*="{begins}"]').first.get_attribute("href")
    assert link
    test_page(page, address, link, whole)


@pytest.mark.parametrize("path", PAGES)
def test_page(page: Page, address: str, path: str, whole: str) -> None:
    wrong = listen(page)
    page.emulate_media(color_scheme="light")
    page.goto(address + path.replace(WHOLE, whole))
    page.evaluate("() => document.querySelectorAll('details').forEach(d => d.open = true)")
    page.evaluate(AXE)
    assert violations(page, {"runOnly": TAGS}) == []
    assert faults(page) == []
    page.emulate_media(color_scheme="dark")
    assert violations(page, {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}) == []
    assert page.evaluate(SMALL) == []
    assert page.evaluate(EDGELESS) == []
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    if "nothing-here" not in path:
        assert wrong == []


def test_a_refused_form_and_a_stop_are_accessible_too(page: Page, address: str, whole: str) -> None:
    refused = {
        f"{V}/add/bond": lambda: page.get_by_role("button", name="Save").click(),
        f"{whole}/paper/installation-certificate": lambda: (
            page.locator("#sign #f-name").fill(""),
            page.locator("#sign").get_by_role("button", name="Sign", exact=True).click(),
        ),
    }
    for path, send in refused.items():
        page.emulate_media(color_scheme="light")
        page.goto(f"{address}{path}")
        send()
        page.locator(".wrong").first.wait_for()
        page.evaluate(AXE)
        assert violations(page, {"runOnly": TAGS}) == []
        assert faults(page) == []
        invalid = [n for n in tree(page) if state(n, "invalid") == "true"]
        assert invalid, path  # what is wrong says so by itself, with its reason behind it
        assert all(n.get("description", {}).get("value") for n in invalid)
        page.emulate_media(color_scheme="dark")
        assert violations(page, {"runOnly": {"type": "rule", "values": ["color-contrast"]}}) == []


def test_motion_can_be_done_without(page: Page, address: str) -> None:
    page.emulate_media(reduced_motion="reduce")
    page.goto(f"{address}{V}/")
    moving = page.evaluate(
        "() => [...document.querySelectorAll('*')].filter(e => { const s = getComputedStyle(e);"
        " return s.animationName !== 'none' || parseFloat(s.transitionDuration) > 0 }).length"
    )
    assert moving == 0


def test_printed_without_forms_and_navigation(page: Page, address: str) -> None:
    page.emulate_media(media="print", color_scheme="light")
    page.goto(f"{address}{V}/bond/water")
    assert not page.locator(".jobs").is_visible()
    assert page.locator(".verdict").is_visible()
    page.emulate_media(media="screen")


def test_two_hundred_per_cent_and_the_first_load(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 640, "height": 800}, device_scale_factor=2)
    page = context.new_page()
    sizes: list[int] = []
    page.on("response", lambda r: sizes.append(len(r.body())))
    page.goto(f"{address}{V}/")
    page.wait_for_load_state("networkidle")
    assert sum(sizes) < 100_000
    assert len(sizes) <= 6
    page.set_viewport_size({"width": 320, "height": 400})
    assert page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth") <= 0
    context.close()


def test_the_checks_themselves_can_fail(page: Page, address: str) -> None:
    page.goto(f"{address}/new")
    page.evaluate(AXE)
    page.evaluate(
        "() => { document.getElementById('page').insertAdjacentHTML('beforeend', '<img src=x><button>.</button>') }"
    )
    assert any(v.startswith("image-alt") for v in violations(page, {"runOnly": TAGS}))
    page.evaluate(
        "() => { document.querySelector('main button:last-child').style.cssText = 'min-height:0;height:20px' }"
    )
    assert len(page.evaluate(SMALL)) == 1
    page.evaluate("""() => { document.querySelector('main').insertAdjacentHTML('beforeend',
        '<a href="/a">Open</a><a href="/b">Open</a><h5>Far down</h5>'); document.getElementById('said').removeAttribute('aria-live') }""")
    heard = " ".join(faults(page))
    for what in ("2 places behind one link name 'Open'", "of level 5", "image without a name", "#said is read out"):
        assert what in heard, what
