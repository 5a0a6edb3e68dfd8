"""Three ways to use a page: fingers on a small screen, a mouse without script, and the keyboard alone."""

from __future__ import annotations

from playwright.sync_api import Locator, Page

# How often the tabulator is pressed from what has the focus to an element: backwards when negative.
STEPS = """e => {
  const seen = (x) => x.tabIndex >= 0 && !x.disabled && x.checkVisibility({visibilityProperty: true});
  const first = (x) => x.type !== 'radio' || x === (x.form.querySelector(`[name="${CSS.escape(x.name)}"]:checked`) || x.form.elements[x.name][0] || x);
  const all = [...document.querySelectorAll('a[href],button,input,select,textarea,summary,[tabindex]')].filter((x) => x === e || (seen(x) && first(x)));
  const from = document.activeElement, goal = all.indexOf(e), here = all.indexOf(from);
  if (here >= 0) return goal - here;
  const next = from === document.body ? 0 : all.findIndex((x) => from.compareDocumentPosition(x) & Node.DOCUMENT_POSITION_FOLLOWING);
  return goal >= next ? goal - next + 1 : goal - next;
}"""


class Hand:
    """Clicks, as with a mouse."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.presses = 0
        self.typed = 0

    def find(self, role: str, name: str) -> Locator:
        found = self.page.locator("main").get_by_role(role, name=name, exact=True)
        return (found if found.count() else self.page.get_by_role(role, name=name, exact=True)).first

    def label(self, name: str) -> Locator:
        return self.page.locator("main").get_by_label(name, exact=False).first

    def press(self, name: str, role: str = "button") -> None:
        self.presses += 1
        self._leave(self.find(role, name))

    def _leave(self, where: Locator) -> None:
        """Press, and wait until another page, or another state of this one, is there."""
        self.page.evaluate("document.getElementById('page').dataset.old = '1'")
        self._press(where)
        self.page.wait_for_selector("#page:not([data-old])", state="attached")
        self.page.wait_for_load_state()

    def open(self, end: str) -> None:
        """The link whose address ends so."""
        self.presses += 1
        self._leave(self.page.locator(f'main a[href$="{end}"]').first)

    def go(self, name: str) -> None:
        self.press(name, "link")

    def fill(self, name: str, text: str) -> None:
        self.presses += 1
        self.typed += len(text)
        self._fill(self.label(name), text)

    def digits(self, text: str) -> None:
        """The large entry of a reading."""
        self.typed += len(text)
        self._fill(self.page.locator("input.big"), text)

    def choose(self, name: str, value: str) -> None:
        self.presses += 2
        self.label(name).select_option(value)

    def chip(self, word: str) -> None:
        """One of a few choices that stand side by side."""
        self.presses += 1
        self.page.locator("main .chip").get_by_label(word, exact=True).first.check(force=True)

    def tick(self, name: str) -> None:
        self.presses += 1
        self.label(name).check()

    def _press(self, where: Locator) -> None:
        where.click()

    def _fill(self, where: Locator, text: str) -> None:
        where.fill(text)


class Finger(Hand):
    """Taps; digits go in by the keys of the page."""

    def _press(self, where: Locator) -> None:
        where.tap()

    def tick(self, name: str) -> None:
        self.presses += 1
        self.label(name).tap()

    def digits(self, text: str) -> None:
        before = "0.0" if text.startswith("0.0") else "0." if text.startswith("0.") else ""
        keys = [*([before] if before else []), *text[len(before) :]]
        self.typed += len(keys)
        for c in keys:
            self.page.locator(f'[data-key="{c}"]').first.tap()
        assert self.page.locator("input.big").input_value() == text


class Keys(Hand):
    """The keyboard alone: everything is reached by the tabulator, and what has the focus can be seen."""

    def reach(self, where: Locator) -> None:
        steps = where.evaluate(
            STEPS
        )  # counted in the page, so that each step need not be asked about; the end is asked
        for _ in range(abs(steps)):
            self.page.keyboard.press("Tab" if steps > 0 else "Shift+Tab")
        for _ in range(160):
            if where.evaluate("e => e === document.activeElement"):
                break
            self.page.keyboard.press("Tab")
        else:
            raise AssertionError("it cannot be reached by the tabulator")
        seen = where.evaluate(
            "e => { const s = getComputedStyle(e); return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2 }"
        )
        assert seen, "what has the focus cannot be seen"

    def _press(self, where: Locator) -> None:
        self.reach(where)
        self.page.keyboard.press("Enter")

    def _fill(self, where: Locator, text: str) -> None:
        self.reach(where)
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def choose(self, name: str, value: str) -> None:
        where = self.label(name)
        self.reach(where)
        self.page.keyboard.press("Home")
        for _ in range(40):
            if where.input_value() == value:
                return
            self.page.keyboard.press("ArrowDown")
        raise AssertionError(f"{value} cannot be chosen in {name}")

    def chip(self, word: str) -> None:
        self.presses += 1
        where = self.page.locator("main .chip").get_by_label(word, exact=True).first
        self.page.evaluate("e => e.checked = false", where.element_handle())
        group = self.page.locator(f'main input[name="{where.get_attribute("name")}"]')
        chosen = group.and_(self.page.locator(":checked"))
        self.reach(
            chosen.first if chosen.count() else group.first
        )  # the tabulator comes to the one that is chosen, arrows go on from there
        for _ in range(group.count()):
            if where.evaluate("e => e === document.activeElement"):
                break
            self.page.keyboard.press("ArrowDown")
        if not where.is_checked():
            self.page.keyboard.press("Space")

    def tick(self, name: str) -> None:
        self.presses += 1
        self.reach(self.label(name))
        self.page.keyboard.press("Space")
