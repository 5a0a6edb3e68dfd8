"""A whole visit in a real browser, from nothing to an issued document: by touch at 360 px, without script, by keyboard."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from .conftest import PHONE, listen
from .hands import Finger, Hand, Keys

COMPLETE = Path(__file__).parents[1] / "paper" / "complete.toml"


def whole_visit(hand: Hand, address: str) -> str:
    """Everything from the list of visits to the address of the issued PDF. The readings of one bond are counted."""
    visit = one_bond(hand, address)
    page = hand.page
    page.goto(f"{visit}/bond/water/joint")
    hand.digits("0.00")
    hand.press("Save")
    page.goto(f"{visit}/leads")
    hand.digits("0.00")
    hand.press("Save")
    page.goto(f"{visit}/")
    assert "1 proved, 0 disproved, 0 not shown" in page.locator("main").inner_text()
    page.goto(f"{visit}/paper/bonding-record")
    hand.press("Issue it")
    return issued(page)


def issued(page: Page) -> str:
    link = page.locator('main a[href$=".pdf"][href*="/issued/"]').first.get_attribute("href")
    assert link
    return link


def one_bond(hand: Hand, address: str) -> str:
    """From the list of visits to the verdict of a bond that was read three ways; the address of the visit."""
    page = hand.page
    page.goto(address)
    hand.go("New visit")
    hand.fill("Place", "1 Test Row, Nowhere")
    hand.chip("bonding")
    hand.fill("Inspector", "J. Example")
    hand.press("Begin")
    visit = re.sub(r"(/v/[^/]+).*", r"\1", page.url)
    page.goto(f"{visit}/details")
    hand.open("/add/supply")
    hand.choose("System", "TN-C-S")
    hand.choose("PME conditions apply", "yes")
    hand.fill("Supply neutral, not more than", "35")
    hand.fill("Earthing conductor fitted", "16")
    hand.press("Save")
    page.goto(f"{visit}/leads")
    hand.go("Add a lead set")
    hand.fill("Nulled out", "0.21")
    hand.press("Save")
    page.goto(f"{visit}/map")
    hand.go("Add a part")
    hand.fill("Name", "Water service")
    hand.press("Save")
    hand.fill("Length", "16")
    hand.press("Save")
    hand.presses = hand.typed = 0
    hand.open("/bond/water/conductor")
    hand.digits("0.31")
    hand.press("Save")  # clamp current, supply on
    hand.press("All done, in this order")
    hand.digits("0.04")
    hand.press("Save")  # clamp current, isolated
    hand.press("0.00 Ω")  # leads
    hand.press("It is off now")
    hand.digits("0.03")
    hand.press("Save")
    hand.press("Over-range")  # the path: the page went on by itself
    hand.press("It is back and tight")
    hand.digits("0.03")
    hand.press("Save")
    assert "not shown" in page.locator(".verdict").inner_text()  # until the leads are shorted afterwards
    return visit


def certificate(hand: Hand, address: str) -> str:
    """Of a visit that lacks a column, an observation and its signatures: these, and the address of the issued PDF."""
    page = hand.page
    text = re.sub(r'\[\[step\]\]\nread = "zs"\n(?:[a-z]+ = .*\n)*', "", COMPLETE.read_text(encoding="utf-8"))
    book = {"name": "v.toml", "mimeType": "application/toml", "buffer": text.encode()}
    made = page.request.post(f"{address}/book", multipart={"uid": "c" * 24, "book": book}, headers={"origin": address})  # type: ignore[dict-item]
    visit = re.findall(r".*/v/[^/]+", made.url)[0]
    column_by_wedge(page, visit)
    page.goto(f"{visit}/add/observation")
    hand.fill("What was found", "Label of circuit 2 faded")
    hand.choose("Code", "C3")
    hand.press("Save")
    page.goto(f"{visit}/paper/installation-certificate")
    assert page.locator("#sign").get_attribute("open") is not None
    assert "Nothing drawn: signed with the typed name." in page.locator("#sign").inner_text()
    for _ in ("for the work", "authorised"):  # one act for three roles, then the supervisor's
        hand.press("Sign")
    assert page.locator("#sign > p").count() == 2
    hand.press("Issue it")
    return issued(page)


def column_by_wedge(page: Page, visit: str) -> None:
    """An instrument that types: digits and Enter, fast, with the focus on no field. A paste goes to the reading in hand."""
    page.goto(f"{visit}/along/zs||")
    assert page.evaluate("document.activeElement === document.body")
    paste(page, " 0.99 ")
    places = page.locator("input[data-column]")
    assert places.nth(0).input_value() == "0.99"
    assert places.nth(0).evaluate("e => e === document.activeElement")
    places.nth(0).fill("")
    page.evaluate("document.activeElement.blur()")
    page.keyboard.type("0.60\n", delay=0)
    assert [p.input_value() for p in places.all()] == ["0.60", ""]
    assert places.nth(1).evaluate("e => e === document.activeElement")
    page.evaluate("document.getElementById('page').dataset.old = '1'")
    page.keyboard.type("0.57\n", delay=0)
    page.wait_for_selector("#page:not([data-old])", state="attached")
    said = page.locator("main").inner_text()
    assert "0.60" in said
    assert "0.57" in said


def paste(page: Page, text: str) -> None:
    """As a person would: copied elsewhere, pasted with the focus on no field."""
    page.evaluate(
        "t => { const e = document.createElement('textarea'); e.id = 'copied'; e.value = t; document.body.append(e); e.select() }",
        text,
    )
    page.keyboard.press("Control+c")
    page.evaluate("document.getElementById('copied').remove()")
    page.keyboard.press("Control+v")


def until(page: Page, holds: str) -> None:
    """Wait until something holds in the page (its policy forbids what playwright's own waiting does)."""
    for _ in range(80):
        if page.evaluate(holds):
            return
        page.wait_for_timeout(100)
    raise AssertionError(holds)


def check(page: Page, link: str, address: str) -> None:
    answer = page.request.get(address + link)
    assert answer.status == 200
    assert answer.body().startswith(b"%PDF-")


def test_by_touch_on_a_small_screen(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    context.set_default_timeout(8000)
    page = context.new_page()
    wrong = listen(page)
    hand = Finger(page)
    check(page, whole_visit(hand, address), address)
    assert wrong == []
    print(f"one bond by three readings: {hand.presses} taps, {hand.typed} digits")
    assert hand.presses <= 11 + 6  # the joint, the leads afterwards and the issue are no part of the three readings
    context.close()


def test_without_script(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport=PHONE, java_script_enabled=False)
    context.set_default_timeout(8000)
    page = context.new_page()
    check(page, whole_visit(Hand(page), address), address)
    context.close()


def test_by_keyboard_alone(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    context.set_default_timeout(8000)
    page = context.new_page()
    wrong = listen(page)
    visit = one_bond(Keys(page), address)
    page.goto(f"{visit}/bond/water/joint")
    page.keyboard.type("0.00\n", delay=0)  # with the focus on no field
    page.wait_for_selector(".verdict")
    assert "0.00" in page.locator("main").inner_text()
    check(page, certificate(Keys(page), address), address)
    assert wrong == []
    context.close()


@pytest.mark.parametrize("script", [True, False])
def test_a_refused_entry_stays_and_says_why(browser: Browser, address: str, script: bool) -> None:
    context = browser.new_context(viewport=PHONE, java_script_enabled=script)
    context.set_default_timeout(8000)
    page = context.new_page()
    page.goto(f"{address}/v/demo-visit/bond/gas/joint")
    page.locator("input.big").fill("1,234")
    page.get_by_role("button", name="Save").click()
    wrong = page.locator(".wrong").first
    wrong.wait_for()
    assert page.locator("input.big").input_value() == "1,234"
    assert "comma" in wrong.inner_text()
    if script:  # the focus went to what is wrong, and it was said aloud
        assert page.evaluate("document.activeElement.matches('[data-focus]')")
        until(page, "document.getElementById('said').textContent.includes('Not saved yet')")
    context.close()


def test_after_a_reading_the_verdict_has_the_focus_and_is_said_aloud(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport=PHONE)
    context.set_default_timeout(8000)
    page = context.new_page()
    page.goto(f"{address}/v/demo-visit/bond/steel/joint")
    page.locator("input.big").fill("0.41")
    page.get_by_role("button", name="Save").click()
    page.locator(".verdict").wait_for()
    assert page.evaluate("document.activeElement.matches('[data-focus]')")
    until(page, "document.getElementById('said').textContent.includes('disproved')")
    page.reload()
    assert page.locator(".verdict").count() == 1  # the address can be reloaded and shared
    page.go_back()
    context.close()


@pytest.mark.parametrize("how", ["no answer", "500", "413"])
def test_when_the_answer_fails_the_form_keeps_what_was_typed(browser: Browser, address: str, how: str) -> None:
    context = browser.new_context(viewport=PHONE)
    context.set_default_timeout(8000)
    page = context.new_page()
    page.goto(f"{address}/v/demo-visit/bond/gas/joint")
    fail = {
        "no answer": lambda r: r.abort(),
        "500": lambda r: r.fulfill(status=500, body="<p>oh</p>"),
        "413": lambda r: r.fulfill(status=413, body="<p>oh</p>"),
    }
    page.route("**/joint", lambda r: fail[how](r) if r.request.method == "POST" else r.continue_())
    page.locator("input.big").fill("0.04")
    page.get_by_role("button", name="Save").click()
    until(page, "document.getElementById('lost').textContent.includes('What you typed is still here')")
    assert page.locator("input.big").input_value() == "0.04"
    page.unroute("**/joint")
    page.get_by_role("button", name="Save").click()
    page.locator(".verdict").wait_for()
    assert page.locator("#lost").inner_text() == ""
    context.close()


def test_two_on_one_visit_are_told_of_each_other(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport=PHONE)
    context.set_default_timeout(8000)
    first, second = context.new_page(), context.new_page()
    first.goto(f"{address}/v/demo-visit/bond/steel/joint")
    second.goto(f"{address}/v/demo-visit/bond/steel/joint")
    first.locator("input.big").fill("0.40")
    first.get_by_role("button", name="Save").click()
    first.locator(".verdict").wait_for()
    second.locator("input.big").fill("0.44")
    second.get_by_role("button", name="Save").click()
    second.get_by_text("Since you opened this page", exact=False).first.wait_for()
    assert second.locator("input.big").input_value() == "0.44"
    second.get_by_role("button", name="Save").click()
    second.locator(".verdict").wait_for()
    context.close()
