"""What comes in by hand or voice: a signature drawn on the pad, readings that are spoken, a document handed on."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import Browser, Page

from .conftest import AXE, PHONE, listen
from .test_visit import until
from .tree import faults

COMPLETE = Path(__file__).parents[1] / "paper" / "complete.toml"
# As a British electrician says it → what stood on the display; nothing where it is no reading of this field.
SPOKEN = {
    "Ω": [
        ("nought point four seven", "0.47"), ("point oh three", "0.03"), ("zero point zero three ohms", "0.03"), ("point five oh", "0.50"), ("0.47", "0.47"), (".03", "0.03"),
        ("Nought point four seven.", "0.47"), ("point 03", "0.03"), ("nought .6", "0.6"), ("one point two", "1.2"), ("twelve point five", "12.5"), ("point forty-seven", "0.47"),
        ("0.47 ohms", "0.47"), ("0.47ω", "0.47"), ("point o one", "0.01"), ("point double oh four", "0.004"), ("over-range", "over-range"), ("over range", "over-range"), ("out of range", "over-range"),
        ("greater than nine ninety-nine", ">999"), ("less than nought point oh one", "<0.01"), ("sixteen hundred and sixty-seven", ""), ("one thousand six hundred and sixty-seven", "1667"),
        ("one two three", "123"), ("point four seven milliohms", ""), ("point four seven megohms", ""), ("point", ""), ("nought point", ""), ("one point two point three", ""), ("banana", ""),
        ("nought point banana", ""), ("", ""), ("minus one", ""), ("point five hundred", ""), ("about nought point five", ""),
    ],
    "MΩ": [
        ("greater than two ninety-nine", ">299"), ("more than two hundred and ninety-nine megohms", ">299"), ("over two ninety nine meg", ">299"), ("> 999", ">999"), ("above five hundred", ">500"), ("two oh five", "205"),
        ("one hundred", "100"), ("one hundred and five", "105"), ("two hundred", "200"), ("1,000", "1000"), ("less than point five", "<0.5"), ("two ninety-nine ohms", ""), ("one hundred hundred", ""), ("twenty five", "25"),
    ],
    "ms": [("twenty-four point three", "24.3"), ("24.3 milliseconds", "24.3"), ("a hundred", ""), ("eighteen", "18"), ("to", "2"), ("double two", "22"), ("treble nine", "999"), ("three hundred ms", "300")],
}  # fmt: skip
EAR = """
  window.said = ['banana'];
  window.SpeechRecognition = class { start() { setTimeout(() => this.onresult({results: [window.said.map((transcript) => ({transcript}))]}), 10) } };
  navigator.canShare = (d) => d.files.length === 1;
  navigator.share = async (d) => { const f = d.files[0]; window.shared = [f.name, f.type, (await f.text()).slice(0, 5)] };
"""


def test_signature_voice_and_sharing(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)  # type: ignore[arg-type]
    context.set_default_timeout(15000)
    context.add_init_script(EAR)
    page = context.new_page()
    wrong = listen(page)
    voice(page, address)
    drawn_and_shared(page, address)
    assert wrong == []
    context.close()


def voice(page: Page, address: str) -> None:
    joint = f"{address}/v/demo-visit/bond/gas/joint"
    page.goto(joint)
    assert page.locator(".speak button").count() == 0  # off until it is switched on
    page.goto(address)
    page.locator("#speech > summary").tap()
    assert "send the sound to their maker's service" in page.locator("#speech").inner_text()
    page.locator("#f-speak").check()
    for unit, cases in SPOKEN.items():
        heard = page.evaluate("([u, c]) => c.map(([said]) => digitsOf(said, u))", [unit, cases])
        assert list(zip([c[0] for c in cases], heard, strict=True)) == cases
    page.goto(joint)
    page.get_by_role("button", name="Speak the reading").tap()
    page.locator(".heard .wrong").wait_for()
    assert "banana" in page.locator(".heard").inner_text()
    page.evaluate("window.said = ['point oh for', 'point oh four ohms']")
    page.get_by_role("button", name="Speak the reading").tap()
    page.locator(".heard .digits").wait_for()
    assert page.locator(".heard .digits").inner_text() == "0.04 Ω"
    assert page.locator("input.big").input_value() == ""  # it counts after a tap, and is saved by another
    page.evaluate(AXE)
    assert page.evaluate("axe.run().then(r => r.violations.map(v => v.id))") == []
    page.get_by_role("button", name="Use it").tap()
    assert page.locator("input.big").input_value() == "0.04"
    page.evaluate("localStorage.removeItem('speak')")


def draw(page: Page, name: str, *, by: str) -> None:
    """Two strokes, by finger or by mouse."""
    svg = page.locator(f".pad:has([name={name}]) svg")
    svg.scroll_into_view_if_needed()
    box = svg.bounding_box()
    assert box
    for stroke in range(2):
        spots = [(box["x"] + 20 + 60 * stroke + 2 * n, box["y"] + 20 + (n * 7) % 50) for n in range(25)]
        if by == "mouse":
            page.mouse.move(*spots[0])
            page.mouse.down()
            for spot in spots[1:]:
                page.mouse.move(*spot)
            page.mouse.up()
            continue
        cdp = page.context.new_cdp_session(page)
        for kind, spot in (("touchStart", spots[0]), *(("touchMove", s) for s in spots[1:]), ("touchEnd", None)):
            points = [{"x": spot[0], "y": spot[1]}] if spot else []
            cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        cdp.detach()


def drawn_and_shared(page: Page, address: str) -> None:
    another = COMPLETE.read_bytes().replace(b"2 Sallow Bank", b"4 Sallow Bank")  # other tests bring the house itself
    book = {"name": "v.toml", "mimeType": "application/toml", "buffer": another}
    made = page.request.post(f"{address}/book", multipart={"uid": "d" * 24, "book": book}, headers={"origin": address})  # type: ignore[dict-item]
    paper = re.findall(r".*/v/[^/]+", made.url)[0] + "/paper/installation-certificate"
    page.goto(paper)
    kept = page.locator("input[name=strokes]")
    top = page.evaluate("scrollY")
    draw(page, "strokes", by="finger")
    assert [len(s.split(" ")) > 20 for s in kept.input_value().split(";")] == [True, True]
    assert page.evaluate("scrollY") >= top  # the page stands still below the finger
    page.wait_for_timeout(500)  # as a person would: the browser takes a tap at once after a stroke for a part of it
    page.get_by_role("button", name="Undo stroke").first.tap()
    assert len(kept.input_value().split(";")) == 1
    page.get_by_role("button", name="Clear").first.tap()
    assert kept.input_value() == ""
    draw(page, "strokes", by="mouse")
    assert faults(page) == []
    for _ in ("the work", "authorised"):
        page.evaluate("document.getElementById('page').dataset.old = '1'")
        page.locator("#sign").get_by_role("button", name="Sign", exact=True).tap()
        page.wait_for_selector("#page:not([data-old])", state="attached")
    page.get_by_role("button", name="Issue it").tap()
    page.locator(".issued .share").tap()
    until(page, "window.shared")
    name, kind, begins = page.evaluate("window.shared")
    assert name.startswith("installation-certificate-2026")
    assert (kind, begins) == ("application/pdf", "%PDF-")
    assert page.locator(".issued a[download]").count() == 1
