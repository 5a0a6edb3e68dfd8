"""The same visit as tables of JSON or a form: read as strictly as the text, from the kinds of values JSON has."""

from __future__ import annotations

import datetime as dt
import json
import tomllib

import pytest
from attrs import evolve

from earthwright.base.errors import Severity
from earthwright.desk.demo import visit_text
from earthwright.site.visit import Visit
from earthwright.visitbook import read_tables, read_text
from earthwright.visitbook.read import MORE, Book


def as_json(value: object) -> object:
    """Everything as texts, as a form or a journal keeps it; flags and lists stay what they are."""
    if isinstance(value, dict):
        return {k: as_json(v) for k, v in value.items()}
    if isinstance(value, list):
        return [as_json(v) for v in value]
    if isinstance(value, bool):
        return value
    return value.isoformat() if isinstance(value, (dt.date, dt.time)) else str(value)


class Digits(str):
    """A number of the file as its digits."""


def test_tables_of_texts_are_the_same_visit() -> None:
    text = visit_text()
    data = as_json(tomllib.loads(text, parse_float=Digits))
    from_tables = read_tables(json.loads(json.dumps(data)))
    from_text = read_text(text)
    assert from_tables.findings == from_text.findings == ()
    assert from_tables.visit is not None
    assert from_text.visit is not None
    assert from_tables.visit.site == from_text.visit.site
    assert from_tables.visit.instruments == from_text.visit.instruments
    shown = [[getattr(e, "shown", None) for e in b.visit.events] for b in (from_tables, from_text) if b.visit]
    assert shown[0] == shown[1]


HEAD = {"visit": {"place": "x", "date": "2026-11-20"}}


@pytest.mark.parametrize(
    ("more", "where"),
    [
        ({"visit": {"place": "x", "date": "20.11.2026"}}, "visit: date"),
        ({"visit": {"place": "x", "date": "2026-02-30"}}, "visit: date"),
        ({"visit": {"place": "x", "date": 20261120}}, "visit: date"),
        ({"visit": {"place": "x", "date": "2026-11-20", "temp_c": "1e2"}}, "visit: temp_c"),
        ({"visit": {"place": "x", "date": "2026-11-20", "temp_c": "15,5"}}, "visit: temp_c"),
        ({"visit": {"place": "x", "date": "2026-11-20", "temp_c": True}}, "visit: temp_c"),
        ({"visit": {"place": "x", "date": "2026-11-20", "temp_c": float("nan")}}, "visit: temp_c"),
        ({"visit": "x"}, "visit"),
        ({**HEAD, "supply": {"phases": "two"}}, "supply: phases"),
        ({**HEAD, "supply": {"pme": "yes"}}, "supply: pme"),
        ({**HEAD, "supply": {"u0_v": 10**400}}, "supply: u0_v"),
        ({**HEAD, "supply": [1]}, "supply"),
        ({**HEAD, "step": [{"clamp": "earthing", "shown": 0.0}]}, "step 1: shown"),
        ({**HEAD, "step": [None]}, "step 1"),
        ({**HEAD, "step": "read"}, "step 1"),
        ({**HEAD, "steps": []}, "visit book: steps"),
    ],
)
def test_what_is_wrong_is_told(more: dict[str, object], where: str) -> None:
    book = read_tables(more)
    assert [f for f in book.findings if f.where == where and f.severity is Severity.ERROR], book.findings


def test_null_is_the_same_as_leaving_out_and_phases_may_be_digits() -> None:
    book = read_tables({**HEAD, "supply": {"phases": "3", "pme": None, "u0_v": "230.0"}, "part": None})
    assert book.findings == ()
    assert book.visit is not None
    assert book.visit.site.supply.phases == 3


def test_null_is_no_entry_where_one_is_needed() -> None:
    assert {f.where for f in read_tables({"visit": None}).findings} == {"visit: place", "visit: date"}


def test_a_further_table_is_read_by_its_own_function(monkeypatch: pytest.MonkeyPatch) -> None:
    def read_remarks(book: Book, visit: Visit) -> Visit:
        found = []
        for entry in book.entries("remark"):
            found.append(entry.text("text", need=True))
            entry.close()
        return evolve(visit, limitations=tuple(found))

    monkeypatch.setitem(MORE, "remark", read_remarks)
    book = read_tables({**HEAD, "remark": [{"text": "loft not seen"}]})
    assert book.findings == ()
    assert book.visit is not None
    assert book.visit.limitations == ("loft not seen",)
    assert read_tables({**HEAD, "remark": [{"txt": "x"}]}).findings


def test_points_of_a_table_without_order_stand_by_their_distance() -> None:
    board, points = {"id": "db1"}, {"window": 26, "hall": 4, "lounge": "18"}
    book = read_tables({**HEAD, "board": [board], "circuit": [{"id": "2", "board": "db1", "points": points}]})
    assert book.findings == ()
    assert book.visit is not None
    assert book.visit.site.circuits[0].points == (("hall", 4.0), ("lounge", 18.0), ("window", 26.0))
