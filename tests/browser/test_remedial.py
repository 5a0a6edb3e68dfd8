"""From a C2 to the closing statement, by touch on a small screen: put right, checked by a reading, signed, issued, passed on."""

from __future__ import annotations

import importlib.util
import re
import subprocess
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page

from earthwright.base.jpeg import size_of, unfit

from .conftest import AXE, PHONE, listen
from .hands import Finger

STORY = Path(__file__).parents[1] / "paper" / "remedied.py"


def book(tmp_path: Path) -> Path:
    """A visit with a Zs that fails, and its observation."""
    spec = importlib.util.spec_from_file_location("story", STORY)
    assert spec is not None
    assert spec.loader is not None
    story = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(story)
    path = tmp_path / "visit.toml"
    path.write_text(story.visit(), encoding="utf-8")
    return path


def words(content: bytes, tmp_path: Path) -> str:
    (tmp_path / "d.pdf").write_bytes(content)
    done = subprocess.run(["pdftotext", tmp_path / "d.pdf", "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


def _until(page: Page, said: str) -> None:
    """Wait for what the page's own script has still to do; a page that forbids eval is asked from outside."""
    for _ in range(80):
        if page.evaluate(said):
            return
        page.wait_for_timeout(100)
    raise AssertionError(said)


def _photo_and_sketch(page: Page, hand: Finger, visit: str, tmp_path: Path) -> None:
    """A photo is made smaller and loses what the camera wrote before it is sent; a sketch is drawn and its last line taken back."""
    shot, exif = tmp_path / "shot.jpg", Image.Exif()
    exif[0x0110], exif[0x0112] = "Invented 9", 6
    Image.effect_noise((250, 188), 60).resize((2000, 1500)).convert("RGB").save(shot, quality=90, exif=exif)
    page.goto(f"{visit}/photos?about=observation%203")
    page.locator("#f-photo").set_input_files(str(shot))
    _until(page, "document.getElementById('f-photo').files[0].size <= 200000")
    sent = bytes(
        page.evaluate("document.getElementById('f-photo').files[0].arrayBuffer().then(b => [...new Uint8Array(b)])")
    )
    assert unfit(sent) == ""
    assert size_of(sent) == (960, 1280), "upright, as the camera said"
    hand.fill("Caption: what it shows", "New socket, connections tight")
    hand.press("Save the photo")
    page.goto(f"{visit}/photos?sketch=1&about=observation%203")
    sheet = page.locator("canvas[data-sketch]")
    box = sheet.bounding_box()
    assert box is not None
    dark = (
        "c => [...c.getContext('2d').getImageData(0, 0, 1200, 800).data].filter((v, i) => i % 4 === 0 && v < 60).length"
    )
    blank = sheet.evaluate(dark)
    for y in (40, 80):
        page.mouse.move(box["x"] + 20, box["y"] + y)
        page.mouse.down()
        page.mouse.move(box["x"] + 150, box["y"] + y)
        page.mouse.up()
    two = sheet.evaluate(dark)
    page.locator("[data-sketch-back]").tap()
    assert blank == 0 < sheet.evaluate(dark) < two
    hand.fill("Words: type them", "sink")
    page.mouse.click(box["x"] + 60, box["y"] + 120)
    _until(page, "document.getElementById('f-photo').files.length === 1")
    hand.fill("Caption: what it shows", "Which socket it is")
    hand.press("Save the sketch")
    assert "Which socket it is" in page.locator("main").inner_text()


def test_from_a_c2_to_the_closing_statement(browser: Browser, address: str, tmp_path: Path) -> None:
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    context.set_default_timeout(8000)
    page = context.new_page()
    wrong = listen(page)
    hand = Finger(page)
    page.goto(address)
    page.locator("summary", has_text="visit book").first.click()
    page.locator('input[name="book"]').set_input_files(str(book(tmp_path)))
    hand.press("Import it")
    visit = re.sub(r"(/v/[^/]+).*", r"\1", page.url)

    page.goto(f"{visit}/paper/closing-statement")
    assert "put right and checked" in page.locator("main").inner_text()
    page.locator("main a", has_text="put right and checked").first.tap()
    page.wait_for_url("**/remedy/3*")
    page.evaluate(AXE)
    found = page.evaluate("axe.run(document, {runOnly: ['wcag2a', 'wcag2aa']}).then(r => r.violations.map(v => v.id))")
    assert found == []
    hand.fill("What was done, in words", "Loose earth wire at the socket remade")
    hand.fill("By whom", "P. Fitter, Example Electrical")
    reading = page.locator("#f-reading option", has_text="3.60")
    page.locator("#f-reading").select_option(str(reading.get_attribute("value")))
    hand.press("Save")
    assert "does not confirm it" in page.locator("main").inner_text(), "the reading that failed closes nothing"
    page.locator("#f-reading").select_option("")
    hand.press("Save")
    assert "Loose earth wire at the socket remade" in page.locator("main").inner_text(), (
        "put right, and still to be checked"
    )
    hand.fill("By inspection or another test", "Zs 0.62 Ω at the far end, sheet 12")
    hand.press("Save")
    assert page.url.split("?")[0].endswith("/findings")

    _photo_and_sketch(page, hand, visit, tmp_path)
    page.goto(f"{visit}/paper/closing-statement")
    for _ in range(2):  # who checked it, then the supervisor
        page.locator("#sign input[name=name]").fill("J. Example")
        hand.press("Sign")
    hand.press("Issue it")
    link = page.locator('main a[href$=".pdf"][href*="/issued/"]').first.get_attribute("href")
    said = words(page.request.get(address + str(link)).body(), tmp_path)
    for part in (
        "Put right and checked",
        "P. Fitter, Example Electrical",
        "Zs 0.62 Ω at the far end, sheet 12",
        "Netherby Homes",
        "Photo 1. New socket, connections tight",
        "Sketch 2. Which socket it is",
    ):
        assert all(w in said for w in part.split()), part
    passed_on = words(page.request.get(f"{visit}/paper/confirmation-of-work.pdf").body(), tmp_path)
    assert "Put right and checked" in passed_on
    assert "Netherby Homes" not in passed_on
    letter = words(page.request.get(f"{visit}/paper/letter.pdf").body(), tmp_path)
    assert "It was put right, and that was checked on" in letter
    assert wrong == []
    context.close()
