"""Taps and characters of whole jobs on a phone: real Chromium, touch, 360 x 740.

    ./run bench taps

How it counts: putting the focus into a field, or pressing a button, a link or a chip, is 1 tap; a choice from a list 2;
each key of the page's keypad and each character typed is 1 character. Nothing is counted that the page does by itself.
Prints the jobs with what they took and what is allowed, where the button that saves a reading stands (it must lie above
683 px without scrolling), and the longest pages in screens of 740 px. Ends with 1 when a figure is over what is allowed.
"""

from __future__ import annotations

import argparse
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Browser, Locator, Page, sync_playwright

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from served import served

PHONE = {"width": 360, "height": 740}
IN_SIGHT = 683  # above the bar of a phone's navigation [px]
MOST_SCREENS = 4.0
KEYS = ("0.0", "0.")
SAVE = "Save"


class Count:
    """A finger that counts."""

    def __init__(self, page: Page, address: str) -> None:
        self.page, self.address = page, address
        self.taps = self.typed = 0
        self.said: list[str] = []
        self.saves: dict[str, float] = {}
        self.screens: dict[str, float] = {}

    def part(self, name: str) -> None:
        """Begin a part of a job, for the list of what costs most."""
        self.said.append(f"{self.taps:4d} {self.typed:4d}  {name}")

    def _note(self) -> None:
        where = self.page.url.removeprefix(self.address)
        high = self.page.evaluate("document.documentElement.scrollHeight") / PHONE["height"]
        kind = where.split("?")[0]
        self.screens[kind] = max(self.screens.get(kind, 0.0), float(high))
        save = self.page.locator("main .entry .save")
        if save.count() and save.first.is_visible():
            box = save.first.bounding_box()
            scrolled = self.page.evaluate("scrollY")
            if box and not scrolled:
                self.saves[kind] = max(self.saves.get(kind, 0.0), box["y"] + box["height"])

    def go(self, path: str) -> None:
        """A page by its address, for the beginning of a job only: it is not counted."""
        self.page.goto(self.address + path)
        self._note()

    def tap(self, where: Locator) -> None:
        """A tap that stays on the page."""
        self.taps += 1
        where.tap()

    def leave(self, where: Locator) -> None:
        """A tap that leads to another page, or another state of this one."""
        self.taps += 1
        self.page.evaluate("document.getElementById('page').dataset.old = '1'")
        where.tap()
        self.page.wait_for_selector("#page:not([data-old])", state="attached")
        self.page.wait_for_load_state()
        refused = self.page.locator("main .strip.bad[data-focus]")
        if refused.count():
            raise AssertionError(refused.first.inner_text())
        self._note()

    def press(self, name: str) -> None:
        """A button or a link that leads on; one that tells how many it is for is known by its beginning."""
        main = self.page.locator("main")
        for role in ("button", "link"):
            found = main.get_by_role(role, name=name, exact=not name.startswith("All good"))  # type: ignore[arg-type]
            if found.count():
                return self.leave(found.first)
        raise AssertionError(f"there is no '{name}' on {self.page.url}")

    def nav(self, name: str) -> None:
        """The navigation at the foot."""
        self.leave(self.page.locator("nav.jobs").get_by_role("link", name=name, exact=True))

    def link(self, end: str) -> None:
        """The link whose address ends so."""
        self.leave(self.page.locator(f'main a[href$="{end}"]').first)

    def chip(self, word: str, inside: str = "main") -> None:
        """One of a few choices, or a word that is put into a field."""
        where = self.page.locator(inside).locator(".chip", has_text=word).first
        self.tap(where.locator("input") if where.locator("input").count() else where)

    def fill(self, field: str, text: str) -> None:
        """Focus a field and type."""
        where = self.page.locator(f'main [name="{field}"]').first
        self.tap(where)
        self.typed += len(text)
        where.fill(text)

    def keys(self, text: str) -> None:
        """Digits on the page's own keys; the focus is there already."""
        before = next((k for k in KEYS if text.startswith(k)), "")
        for key in ([before] if before else []) + list(text[len(before) :]):
            self.typed += 1
            self.page.locator(f'main .keys [data-key="{key}"]').first.tap()

    def key(self, key: str) -> None:
        """A key of the keypad that is no digit."""
        self.taps += 1
        self.page.locator(f'main .keys [data-key="{key}"]').first.tap()

    def key_beside(self, key: str) -> None:
        """A key beside the keypad."""
        self.taps += 1
        self.page.locator(f'main .special [data-key="{key}"]').first.tap()


def bond(c: Count, name: str) -> None:
    """One bond by three readings, from the page that names it next."""
    c.link(f"/bond/{name}/conductor")
    c.keys("0.31")
    c.press(SAVE)
    c.press("All done, in this order")
    c.keys("0.04")
    c.press(SAVE)
    if c.page.get_by_role("button", name="0.00 Ω").count():
        c.press("0.00 Ω")
    c.press("It is off now")
    c.keys("0.03")
    c.press(SAVE)
    c.press("Over-range")
    c.press("It is back and tight")
    c.keys("0.03")
    c.press(SAVE)


def ready(c: Count) -> None:
    """A visit with one bond that nothing was read of, and leads."""
    c.go("/new")
    c.fill("place", "1 Test Row")
    c.chip("bonding")
    c.fill("inspector", "J. Example")
    c.press("Begin")
    visit = c.page.url.removeprefix(c.address).rstrip("/")
    c.go(f"{visit}/add/leads")
    c.fill("null_ohm", "0.21")
    c.press(SAVE)
    c.go(f"{visit}/add/part")
    c.press(SAVE)
    c.fill("length_m", "16")
    c.press(SAVE)


def job_bond(c: Count) -> None:
    """One bond by three readings, visit ready."""
    ready(c)
    c.taps = c.typed = 0
    c.said.clear()
    bond(c, "water")


def job_first(c: Count) -> None:
    """Nothing to the first proved bond: the second house of an inspector, with leads that were shorted after."""
    ready(c)  # an earlier house: the inspector's name is known from it
    c.taps = c.typed = 0
    c.go("/")
    c.press("New visit")
    c.fill("place", "1 Test Row, Nowhere")
    c.chip("bonding")
    c.press("Begin")
    c.press("Add a part")
    c.press(SAVE)
    c.fill("length_m", "16")
    c.press(SAVE)
    bond(c, "water")
    c.press("Do this")
    c.press("0.00 Ω")
    assert "proved" in c.page.locator(".verdict").inner_text()
    assert "not shown" not in c.page.locator(".verdict").inner_text()


CHOSEN = {  # what is tapped or typed where the form has no words of its own that fit
    "visit:client": "A. Client", "report:client_address": "1 Test Row", "report:firm_address": "2 Test Row",
    "visit:firm": "Example", "instrument:serial": "A1234", "origin:demand_a": "60", "supply:ze_ohm": "0.21",
    "report:age_years": "20", "report:overall": "unsatisfactory", "supply:system": "TN-C-S", "origin:live": "1-phase, 2-wire",
}  # fmt: skip


def fill(c: Count, slug: str) -> None:
    """Everything a form asks for that nobody reads off an instrument: a chip where one fits, else typed."""
    for _ in range(8):
        if "/fill/" not in c.page.url:
            return
        for box in c.page.locator("main form .two > *").all():
            field = box.locator("input, select, textarea").first
            name = field.get_attribute("name") or ""
            table, _, key = name.partition(":")
            short = f"{table}:{key.rpartition(':')[2]}"
            if box.locator("input[type=checkbox]").count():
                for one in box.locator("input[type=checkbox]").all():
                    if one.get_attribute("value") in ("gas", "oil", "steel", "lightning"):
                        c.tap(one)
            elif box.locator("input[type=radio]").count():
                wanted = box.locator(f'input[value="{CHOSEN.get(short, "")}"]')
                c.tap(wanted if wanted.count() else box.locator("input[type=radio]").first)
            elif field.evaluate("e => e.tagName") == "SELECT":
                c.taps += 2
                field.select_option(index=1)
            elif field.input_value():
                continue
            elif short in CHOSEN and short != "origin:demand_a":
                c.fill(name, CHOSEN[short])
            elif box.locator("button.chip").count():
                c.tap(box.locator("button.chip").first)
            elif field.get_attribute("type") == "date":
                c.tap(field)
                c.typed += 8
                field.fill("2021-11-03")
            else:
                print("    nothing to tap or to type for", name)
        c.press("Save, and the next" if c.page.get_by_role("button", name="Save, and the next").count() else SAVE)


def begin(c: Count, kind: str, before: Callable[[Count, str], None] = lambda c, visit: None) -> str:
    """A visit with its board; the inspector had one bonding visit before, so that the instruments are known."""
    ready(c)
    earlier = c.page.url.removeprefix(c.address).split("/bond")[0]
    before(c, earlier)
    c.go(f"{earlier}/add/instrument")
    c.fill("serial", "A1234")
    c.press(SAVE)
    c.taps = c.typed = 0
    c.go("/")
    c.press("New visit")
    c.fill("place", "1 Test Row, Nowhere")
    c.chip(kind)
    c.press("Begin")
    return c.page.url.removeprefix(c.address).rstrip("/")


RING = "Sockets, ring"
SIX = (RING, "Lights", "Lights", "Cooker", "Shower", "Fixed load")


def circuits(c: Count, presets: tuple[str, ...]) -> None:
    """Board and circuits: each from a preset or the one before, with its length and its points."""
    c.nav("Circuits")
    c.press("Add a board")
    c.press(SAVE)
    c.press("Add a circuit")
    for n, preset in enumerate(presets):
        c.leave(c.page.locator("main a.chip", has_text=preset).first)
        if n == 0:
            c.tap(c.page.locator('[name="rcd_type"][value="A"]'))
            c.fill("rcd_ma", "30")
            c.fill("breaking_ka", "6")
            c.taps += 4  # two lists: wiring, reference method
            c.page.locator("#f-wiring").select_option("A")
            c.page.locator("#f-reference").select_option("C")
        c.fill("length_m", "18" if preset != RING else "48")
        c.fill("points", "6")
        c.press("Next circuit like this one" if n + 1 < len(presets) else SAVE)


# R1+R2 and Zs by hand from sizes and lengths at 20 °C: 18 m each, the ring 48 m, Ze 0.21 Ω.
OHM = {
    "r1r2": {"Lights": "0.54", "Smoke alarms": "0.54", "Cooker": "0.19", "Shower": "0.12", "Fixed load": "0.35",
             "Sockets, radial": "0.35"},
    "zs": {RING: "0.45", "Lights": "0.75", "Smoke alarms": "0.75", "Cooker": "0.40", "Shower": "0.33",
           "Fixed load": "0.56", "Sockets, radial": "0.56"},
}  # fmt: skip


def column(c: Count, values: list[str], save: str = SAVE) -> None:
    """Down a column on the page's keys; the first empty place is ready, and saved at the end."""
    for n, value in enumerate(values):
        if value.startswith(">"):
            c.key(value)
            continue
        c.keys(value)
        if n + 1 < len(values):
            c.key("next")
    c.press(save)


def tests(c: Count, presets: tuple[str, ...]) -> None:
    """Every test of every circuit, dead then live, column by column."""
    c.nav("Circuits")
    c.link("/along/r1r2%7C%7C")
    radial = [p for p in presets if p != RING]
    column(c, [OHM["r1r2"][p] for p in radial])
    for value in ("0.36", "0.36", "0.58"):
        column(c, [value] * presets.count(RING))
    for _ in range(2):  # live to live, line to earth
        c.key(">999")
        c.key_beside("same")
        c.press(SAVE)
    c.press("All good: Polarity")
    column(c, [OHM["zs"][p] for p in presets])
    column(c, ["24"] * len(presets))
    c.press("All good: RCD button")


def places(c: Count) -> None:
    """The origin, the board and every socket of the ring; then the leads once more."""
    c.nav("Circuits")
    c.link("/circuits/origin")
    c.tap(c.page.locator("#f-clamp-shown"))
    c.typed += 4
    c.page.locator("#f-clamp-shown").fill("0.02")
    c.press("Save the current")
    c.press("It is off now")
    column(c, ["0.21"])
    c.press("It is back and tight")
    column(c, ["1.1", "1.1"], "All good: Polarity")
    c.nav("Circuits")
    c.link("/circuits/db1")
    column(c, [">999", "0.22", "1.0", "1.0"], "All good: Polarity, Functions")  # dead tests first
    c.nav("Circuits")
    c.link("/circuits/c1")
    for n in range(6):  # every socket: of a few alone the ring is not shown
        for which, value in (("ln", "0.18"), ("le", "0.24")):
            c.tap(c.page.locator(f'main [name="p.{n}.{which}"]'))
            c.keys(value)
    c.press(SAVE)
    c.tap(c.page.locator("main details.strip summary").first)
    c.press("Check the leads")
    c.press("0.00 Ω")


def papers(c: Count, slug: str, roles: tuple[str, ...]) -> None:
    """What is still missing, the signatures, the issue."""
    c.nav("Paper")
    c.link(f"/paper/{slug}")
    if c.page.get_by_role("link", name="Fill in what is missing").count():
        c.press("Fill in what is missing")
        fill(c, slug)
    c.part("paper filled in")
    for role in roles:
        if c.page.locator("#f-role").input_value() != role:
            c.taps += 2
            c.page.locator("#f-role").select_option(role)
        c.press("Sign")
    c.press("Issue it")
    link = c.page.locator('main a[href$=".pdf"][href*="/issued/"]').first.get_attribute("href")
    assert link
    assert c.page.request.get(c.address + link).body().startswith(b"%PDF-")


def job_initial(c: Count) -> None:
    """Initial verification, one board, six circuits, one bond, to the issued PDF."""
    visit = begin(c, "initial")
    c.part("begun")
    c.press("Add a part")
    c.press(SAVE)
    c.fill("length_m", "16")
    c.press(SAVE)
    bond(c, "water")
    c.part("bond read")
    circuits(c, SIX)
    c.part("circuits entered")
    tests(c, SIX)
    c.part("circuits tested")
    places(c)
    c.part("origin, board, sockets read")
    c.nav("Paper")
    c.press("Schedule of inspections")
    c.press("Rest inspected: acceptable")
    c.part("inspected")
    papers(c, "installation-certificate", ("designer + constructor + inspected and tested by",))
    _ = visit


EIGHT = (*SIX, "Smoke alarms", "Sockets, radial")
# What was found: field of the item on the schedule of inspections, code, and what was written of it at an earlier visit.
FOUND = (
    ("intake-cutout", "C3", "Cut-out cover cracked, no live part can be touched"),
    ("earthing-label", "C3", "No label at the main bond of the water pipe"),
    ("board-enclosure", "C2", "Front cover of the board loose, one screw missing"),
    ("board-chart", "C3", "Circuit chart out of date"),
    ("circuit-held", "C3", "Cable in the loft not supported"),
)


def wrote_before(c: Count, visit: str) -> None:
    """An earlier visit of the same inspector at which such things were written up: nothing of it is counted."""
    for item, code, words in FOUND:
        c.go(f"{visit}/add/observation?about={item}")
        c.fill("what", words)
        c.page.locator("#f-code").select_option(code)
        c.fill("where", "as written")
        c.press(SAVE)


def job_periodic(c: Count) -> None:
    """Periodic inspection, one board, eight circuits, five observations, to the issued PDF."""
    begin(c, "periodic", wrote_before)
    c.part("begun")
    c.press("Add a part")
    c.press(SAVE)
    c.fill("length_m", "16")
    c.press(SAVE)
    bond(c, "water")
    c.part("bond read")
    circuits(c, EIGHT)
    c.part("circuits entered")
    tests(c, EIGHT)
    c.part("circuits tested")
    places(c)
    c.part("origin, board, sockets read")
    c.nav("Paper")
    c.press("Schedule of inspections")
    for item, code, _ in FOUND:
        where = c.page.locator(f'main [name="{item}"]')
        fold = c.page.locator(f'main details.fold:has([name="{item}"])')
        if fold.get_attribute("open") is None:
            c.tap(fold.locator("summary").first)
        c.taps += 2
        where.select_option(code)
    c.press("Rest inspected: acceptable")
    for _, _, words in FOUND:
        c.tap(c.page.locator("main .phrases .chip", has_text=words[:30]).first)
        c.tap(c.page.locator('main .puts [data-to="f-where"]').first)
        c.press(SAVE)
    c.part("inspected, five observations")
    papers(c, "condition-report", ("inspected and tested by", "authorised for issue"))


JOBS: dict[str, tuple[str, Callable[[Count], None], int, int]] = {
    "initial": ("initial verification, 1 board, 6 circuits, to the issued PDF", job_initial, 210, 350),
    "periodic": ("periodic report, 1 board, 8 circuits, 5 observations, to the issued PDF", job_periodic, 230, 400),
    "first": ("nothing to the first proved bond", job_first, 25, 30),
    "bond": ("one bond by three readings, visit ready", job_bond, 11, 9),
}


def walk(browser: Browser, job: Callable[[Count], None], pictures: Path | None) -> Count:
    """One job on a journal of its own."""
    with served() as address:
        context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)  # type: ignore[arg-type]
        context.set_default_timeout(60000)
        count = Count(context.new_page(), address)
        try:
            job(count)
        except Exception:
            if pictures:
                count.page.screenshot(path=pictures / "stopped.png", full_page=True)
                print(count.page.url, count.taps, count.typed, *count.said, sep="\n")
                print(count.page.locator("main").inner_text()[:1500])
            raise
        finally:
            context.close()
    return count


def main() -> int:
    """Walk the jobs and print what they took."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("--job", choices=sorted(JOBS), help="only this one")
    asked.add_argument("--pictures", type=Path, help="folder for a picture of where a walk stopped")
    given = asked.parse_args()
    chromium = next((p for p in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if p), None)
    if chromium is None:
        print("no browser is installed")
        return 1
    over, saves, screens = False, {}, {}
    with sync_playwright() as p:
        browser = p.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-background-networking"])
        for name, (title, job, taps, typed) in JOBS.items():
            if given.job not in (None, name):
                continue
            c = walk(browser, job, given.pictures)
            over |= c.taps > taps or c.typed > typed
            saves |= c.saves
            screens |= c.screens
            print(f"{title}: {c.taps} taps, {c.typed} characters (at most {taps}, {typed})")
            print(*(f"    {x}" for x in c.said), sep="\n")
        browser.close()
    low, long = max(saves.items(), key=lambda x: x[1]), max(screens.items(), key=lambda x: x[1])
    print(f"lowest button that saves a reading: {low[1]:.0f} px on {low[0]} (at most {IN_SIGHT})")
    print("longest pages:", ", ".join(f"{k} {v:.1f}" for k, v in sorted(screens.items(), key=lambda x: -x[1])[:5]))
    return int(over or low[1] > IN_SIGHT or long[1] > MOST_SCREENS)


if __name__ == "__main__":
    sys.exit(main())
