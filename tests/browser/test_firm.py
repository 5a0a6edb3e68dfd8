"""A firm's own pages in a real browser, light and dark: WCAG by axe-core, size of targets, no sideways scrolling, no errors."""

from __future__ import annotations

import tempfile
from pathlib import Path

from argon2 import PasswordHasher
from playwright.sync_api import Browser
from served import served

from earthwright.desk import Desk
from earthwright.firm import Firm
from earthwright.firm.tables import make
from earthwright.firm.tools import WRONG

from .conftest import AXE, PHONE, listen
from .test_access import EDGELESS, SMALL, TAGS, violations

BOOK = """[visit]
place = "1 Sorrel Lane"
date = 2026-11-20
kind = "periodic"
inspector = "Ines Quarry"
[[instrument]]
id = "t"
serial = "DT1"
valid_until = 2026-12-01
[[leads]]
id = "long"
allowed = "none"
[[step]]
check = "shorted"
shown = 0.02
"""


def firm_with_a_bit_of_everything(journal: str) -> tuple[dict[str, str], list[tuple[str, str]]]:
    """Keys of browsers by login, and the pages each looks at."""
    desk = Desk(journal)
    make(desk.store)
    firm = Firm(desk, PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    people = {
        name: firm.people.join(firm.people.invite(f"{name} Quarry", role, "test"), name.lower(), "x")
        for name, role in (
            ("Ines", "inspector"),
            ("Sara", "qualified supervisor"),
            ("Olga", "office"),
            ("Eric", "erase"),
        )
    }
    firm.give("visit-one", people["Ines"], people["Olga"])
    desk.take_in(BOOK, by="Ines Quarry", visit_id="visit-one")
    paper = desk.attach("visit-one", b"%PDF", "condition report", "Ines Quarry", media="application/pdf")
    desk.add("visit-one", "issue", {"document": "condition report", "hash": paper.body["hash"]}, "Ines Quarry")
    firm.note(people["Sara"], "sent back", "visit-one", "Look at the gas bond again.")
    firm.note(people["Olga"], WRONG, "dt1", "2026-11-01 reads 8 % low")
    link, invited = (
        firm.handing.over(people["Olga"], "visit-one", "Mrs Quill", 30),
        firm.people.invite("Nora", "office", "test"),
    )
    keys = {name: firm.people.begin(p) for name, p in people.items()}
    desk.close()
    return keys, [
        ("", "/sign-in"), ("", f"/join/{invited}"), ("", f"/h/{link}"), ("Olga", "/office"), ("Olga", "/plan"), ("Olga", "/people"),
        ("Olga", "/tools/dt1"), ("Olga", "/v/visit-one/handed"), ("Sara", "/v/visit-one/check"), ("Ines", "/me"), ("Ines", "/v/visit-one/"),
        ("Eric", "/erase?visit=visit-one"),
    ]  # fmt: skip


def test_every_page_of_a_firm(browser: Browser) -> None:
    with tempfile.TemporaryDirectory() as folder:
        journal = str(Path(folder) / "firm.sqlite")
        keys, pages = firm_with_a_bit_of_everything(journal)
        with served(journal) as address:
            context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
            context.set_default_timeout(15000)
            page = context.new_page()
            wrong = listen(page)
            for who, path in pages:
                context.clear_cookies()
                if who:
                    context.add_cookies([{"name": "earthwright", "value": keys[who], "url": address}])
                page.emulate_media(color_scheme="light")
                page.goto(address + path)
                page.evaluate("() => document.querySelectorAll('details').forEach(d => d.open = true)")
                page.evaluate(AXE)
                assert violations(page, {"runOnly": TAGS}) == [], path
                page.emulate_media(color_scheme="dark")
                assert violations(page, {"runOnly": {"type": "rule", "values": ["color-contrast"]}}) == [], path
                assert page.evaluate(SMALL) == [], path
                assert page.evaluate(EDGELESS) == [], path
                wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
                assert wide <= 0, path
            assert wrong == []
            context.close()
