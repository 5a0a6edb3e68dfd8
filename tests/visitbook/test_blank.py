"""What ``start`` writes: an example that nobody took out is never judged."""

from __future__ import annotations

import datetime as dt
import re
import tomllib

from earthwright.assess import assess
from earthwright.site.fields import ID, TABLE
from earthwright.site.tables import BY_NAME
from earthwright.site.tests import TESTS
from earthwright.visitbook import read_text
from earthwright.visitbook.blank import BLANK

TEXT = BLANK.format(today="2026-11-20").replace('place = ""', 'place = "3 Fellgate"')


def test_nothing_but_the_heading_is_live() -> None:
    assert tomllib.loads(TEXT) == {
        "visit": {"place": "3 Fellgate", "date": dt.date(2026, 11, 20), "kind": "bonding", "inspector": ""}
    }


def test_a_blank_with_a_place_proves_nothing() -> None:
    book = read_text(TEXT)
    assert book.visit is not None
    a = assess(book.visit, found=book.findings, broken=book.broken)
    assert (a.bonds, a.boards, a.origin, a.visit.events, a.visit.leads, a.visit.instruments) == ((), (), (), (), (), ())
    assert a.visit.site.supply.system is None
    assert a.visit.site.supply.pme is None


def test_every_example_is_good_once_its_mark_is_taken_away() -> None:
    whole = re.sub(r"(?m)^#(?=[\[a-z])", "", TEXT)
    book = read_text(whole)
    assert [f.sentence() for f in book.findings] == []
    assert book.visit is not None
    assert len(book.visit.site.bonds) == 1
    assert len(book.visit.site.circuits) == 2
    assert len(book.visit.events) > 15


def test_every_declared_key_and_test_stands_in_it() -> None:
    for table in ("supply", "part", "bond", "board", "circuit", "electrode", "report"):
        for f in BY_NAME[table].fields:
            if f.kind not in (ID, TABLE):
                assert re.search(rf"\b{f.key}\b", TEXT), (table, f.key)
    assert all(t.name in TEXT for t in TESTS)
