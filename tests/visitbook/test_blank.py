"""What ``start`` writes: an example that nobody took out is never judged."""

from __future__ import annotations

import datetime as dt
import re
import tomllib

from earthwright.assess import assess
from earthwright.visitbook import BLANK, read_text

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
