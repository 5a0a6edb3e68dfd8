"""How long the pages are: every page of every visit of the tests in real Chromium, 360 x 740, touch.

    ./run bench lengths                        every visit of the tests, and the works of sixty circuits
    .venv/bin/python benchmarks/lengths.py --visit 20-plain --visit many
    .venv/bin/python benchmarks/lengths.py --share 3/16    every sixteenth visit, from the third on

A page is measured as it opens: what is closed stays closed. Prints the longest page of each kind in screens of 740 px and
where the lowest button that saves a reading stands, and ends with 1 when a page is longer than 4 screens, a button lies
below 683 px, anything is wider than the screen, an id stands twice on a page, a page is not answered with 200, or its text
(what is closed included) holds a word from inside the program: ``None``, braces, the name of a key, ``inf``.
"""

from __future__ import annotations

import argparse
import html
import importlib.util
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote, urljoin

from playwright.sync_api import Error, Page, sync_playwright

HERE = Path(__file__).resolve().parent
VISITS = HERE.parent / "tests" / "visits"
PHONE = {"width": 360, "height": 740}
IN_SIGHT = 683
MOST_SCREENS = 4.0
SKIP = re.compile(r"\.(pdf|svg|csv|json|xml|toml|js|css|txt|jpe?g|png|webp|zip)$|/draft|/issued/|/file/|/page/")
# What no person reads: how Python writes things, and keys with their underscores. Outlines of notation are not looked at.
INNER = re.compile(
    r"<[a-z_]+[ .>]|\bNone\b(?! [a-z])|\bTrue\b|\bFalse\b|[{}]|\[\[|\b(?:inf|nan|undefined)\b|Traceback|0x[0-9a-f]{6}|\b[a-z]+_[a-z0-9_]+\b"
)
MEASURE = f"""() => {{
  const save = [...document.querySelectorAll('main .entry .save')].find(e => e.getBoundingClientRect().height);
  return [document.documentElement.scrollHeight / {PHONE["height"]}, save ? save.getBoundingClientRect().bottom : 0,
    document.documentElement.scrollWidth - document.documentElement.clientWidth,
    [...document.querySelectorAll('[id]')].map(e => e.id).filter((id, n, all) => all.indexOf(id) !== n),
    [...document.querySelectorAll('main a[href], main form[action][method=get]')].map(e => e.getAttribute('href') || ''),
    document.querySelector('body').textContent + [...document.querySelectorAll('main [aria-label], main [alt], main [title]')]
      .map(e => e.getAttribute('aria-label') || e.getAttribute('alt') || e.title).join(' ')]
}}"""


def books(names: list[str] | None, share: tuple[int, int] = (1, 1)) -> dict[str, str]:
    """Text of the visit books of the tests, and of the works; of a share k/n, every n-th from the k-th on."""
    found = {p.stem: p.read_text(encoding="utf-8") for p in sorted(VISITS.glob("*.toml"))}
    found |= {p.stem: p.read_text(encoding="utf-8") for p in sorted((VISITS / "practice").glob("*.toml"))}
    spec = importlib.util.spec_from_file_location("many", VISITS / "many.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    found["many"] = module.many(3, 20)
    first, each = share
    return {k: found[k] for k in list(found)[first - 1 :: each] if not names or k in names}


def walk(page: Page, address: str, start: str, *, once: bool = False) -> Iterator[tuple[str, float, float, str]]:
    """Every page of a visit, or one of each kind: path, screens, bottom of the button that saves, what else is wrong."""
    kinds: set[str] = set()
    todo, seen = [start], {start}
    while todo:
        path = todo.pop(0)
        kind = kind_of(path, start) + ("*" if "board=*" in path else "")
        if once and kind in kinds:
            continue
        kinds.add(kind)
        try:
            answer = page.goto(address + path)
            high, save, wide, twice, links, text = page.evaluate(MEASURE)
        except Error as e:  # one page that fails is told, and the walk goes on
            yield path, 0.0, 0.0, f"not measured: {e.message.splitlines()[0]}"
            continue
        wrong = ([f"{wide} px too wide"] if wide > 0 else []) + [f"id {x} twice" for x in twice[:3]]
        if answer is None or answer.status != 200:
            wrong.append(f"answered with {answer.status if answer else 'nothing'}")
        wrong += [f"'{text[max(0, m.start() - 30) : m.end() + 20]}'" for m in list(INNER.finditer(text))[:2]]
        yield path, high, save, ", ".join(wrong)
        for link in links:
            to = urljoin(path, html.unescape(link).split("#")[0])
            if to.startswith(start) and to not in seen and not SKIP.search(to.split("?")[0]):
                seen.add(to)
                todo.append(to)


def kind_of(path: str, start: str) -> str:
    """The sort of page: /bond/gas/conductor is bond/*/conductor."""
    parts = unquote(path.split("?")[0]).removeprefix(start).split("/")
    if parts[0] in ("circuits", "bond", "entry", "findings") and len(parts) > 1:
        parts[1] = parts[1] if parts[1] == "origin" else "*"
    return "/".join(parts) or "now"


def main() -> int:
    """Walk and print."""
    sys.path.insert(0, str(HERE))
    from taps import served

    from earthwright.desk import Desk

    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("--visit", action="append", help="only this one; may be said again")
    asked.add_argument("--share", default="1/1", help="k/n: only every n-th visit, from the k-th on")
    asked.add_argument("--all", action="store_true", help="print every page that is over")
    given = asked.parse_args()
    k, _, n = given.share.partition("/")
    if not (k.isdecimal() and n.isdecimal() and 1 <= int(k) <= int(n)):
        asked.error(f"--share: expected k/n with k from 1 to n, found {given.share}")
    share = int(k), int(n)
    chromium = next((p for p in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if p), None)
    if chromium is None:
        print("no browser is installed")
        return 1
    longest: dict[str, tuple[float, str]] = {}
    lowest, over, count = (0.0, ""), 0, 0
    with tempfile.TemporaryDirectory(prefix="lengths-") as folder, sync_playwright() as p:
        journal = f"{folder}/j.sqlite"
        desk = Desk(journal)
        ids = {name: desk.take_in(text) for name, text in books(given.visit, share).items()}
        desk.close()
        with served(journal) as address:
            browser = p.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            page = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True).new_page()  # type: ignore[arg-type]
            for name, visit in ids.items():
                start = f"/v/{visit}/"
                for path, high, save, wrong in walk(page, address, start):
                    count += 1
                    kind, where = kind_of(path, start), f"{name}: {path.removeprefix(start)}"
                    longest[kind] = max(longest.get(kind, (0.0, "")), (high, where))
                    lowest = max(lowest, (save, where))
                    if high > MOST_SCREENS or save > IN_SIGHT or wrong:
                        over += 1
                        if given.all:
                            print(
                                f"    {high:5.1f} screens, save at {save:.0f} px {wrong}: {where}",
                                flush=True,
                            )
            browser.close()
    print(f"{count} pages of {len(ids)} visits; over: {over}")
    for kind, (high, where) in sorted(longest.items(), key=lambda x: -x[1][0])[:40]:
        print(f"{high:6.1f}  {kind:32} {where}")
    print(f"lowest button that saves a reading: {lowest[0]:.0f} px, {lowest[1]}")
    return int(over > 0)


if __name__ == "__main__":
    sys.exit(main())
