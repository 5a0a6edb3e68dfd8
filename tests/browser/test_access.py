"""Every page in a real browser, light and dark: WCAG by axe-core, size of targets, no sideways scrolling, no errors."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from .conftest import AXE, PHONE, listen

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
V = "/v/demo-visit"
PAGES = [
    "/", "/?find=nothing+there", "/new", "/sums", "/sums/resistance?csa=10&length=16", "/sums/bond-size?system=TN-S&on=2026-11-20", "/sums/ring?r1=0.62&rn=0.62&r2=1.02",
    "/sums/zs-limit", f"{V}/", f"{V}/map", f"{V}/network", f"{V}/network?weigh=yes", f"{V}/between", f"{V}/between?a=MET&b=gas", f"{V}/bond/gas", f"{V}/bond/water", f"{V}/bond/gas/conductor", f"{V}/bond/gas/joint",
    f"{V}/bond/water/together?wrote=1", f"{V}/leads", f"{V}/steps", f"{V}/details", f"{V}/circuits", f"{V}/circuits/1", f"{V}/circuits/2",
    f"{V}/circuits/db1", f"{V}/circuits/origin", f"{V}/circuits/water", f"{V}/along/zs||", f"{V}/along/insulation|L-E|", f"{V}/findings", f"{V}/photos", f"{V}/paper",
    f"{V}/paper/condition-report", f"{V}/fill/condition-report", f"{V}/paper/bonding-record", f"{V}/inspected", f"{V}/compare", f"{V}/add/part", f"{V}/add/bond",
    f"{V}/add/circuit", f"{V}/add/instrument", f"{V}/add/observation", f"{V}/nothing-here",
]  # fmt: skip
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


@pytest.mark.parametrize("path", PAGES)
def test_page(page: Page, address: str, path: str) -> None:
    wrong = listen(page)
    page.emulate_media(color_scheme="light")
    page.goto(address + path)
    page.evaluate("() => document.querySelectorAll('details').forEach(d => d.open = true)")
    page.evaluate(AXE)
    assert violations(page, {"runOnly": TAGS}) == []
    page.emulate_media(color_scheme="dark")
    assert violations(page, {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}) == []
    assert page.evaluate(SMALL) == []
    assert page.evaluate(EDGELESS) == []
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    if "nothing-here" not in path:
        assert wrong == []


def test_a_refused_form_and_a_stop_are_accessible_too(page: Page, address: str) -> None:
    page.emulate_media(color_scheme="light")
    page.goto(f"{address}{V}/add/bond")
    page.get_by_role("button", name="Save").click()
    page.locator(".wrong").first.wait_for()
    page.evaluate(AXE)
    assert violations(page, {"runOnly": TAGS}) == []
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
