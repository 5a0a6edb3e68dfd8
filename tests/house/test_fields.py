"""A field is declared once: it stands on every surface that follows from the declaration."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest

from earthwright.records.json_values import from_json
from earthwright.schedule.columns import BY_KEY
from earthwright.site.fields import NEVER, Field, Kind, entered
from earthwright.site.tables import TABLES, Table
from earthwright.visitbook.read import read_tables
from earthwright.web.specs import SPECS

FIELDS = [(t, f) for t in TABLES for f in t.fields]
NUMBERS = (Kind.NUMBER, Kind.COUNT, Kind.WHOLE)


@pytest.mark.parametrize("table", TABLES, ids=lambda t: t.name)
def test_each_key_is_declared_once_with_its_label(table: Table) -> None:
    keys = [f.key for f in table.fields]
    assert len(keys) == len(set(keys))
    for f in table.fields:
        assert f.label[:1].isupper() or f.label[:2] in ("cp",), f.key
        assert not f.need or f.key in keys
        assert (f.kind in NUMBERS and f.kind is not Kind.WHOLE) <= bool(f.unit or f.kind is Kind.COUNT), f.key


def test_each_field_is_asked_for_in_its_form_under_its_own_label() -> None:
    for table, f in FIELDS:
        if table.name == "sign" or f.ask is NEVER or f.kind is Kind.TABLE:
            continue
        spec = next(s for s in SPECS[table.name] if s.key == f.key)
        assert spec.label(table.name) == f.label
        assert spec.choices == f.choices


def test_each_field_of_a_circuit_has_its_column() -> None:
    circuit = next(t for t in TABLES if t.name == "circuit")
    for f in entered(circuit.kind):
        if f.kind is not Kind.DEVICE:
            assert BY_KEY[f.key].header.startswith(f.head or f.label)
            assert BY_KEY[f.key].unit == f.unit


def _number(f: Field) -> str:
    """A number that the field takes, as it would be typed."""
    return f.choices[-1] if f.choices else str(int(f.least or f.above or 0) + 1)


def test_what_a_form_keeps_as_text_is_a_number_or_a_date_to_the_book() -> None:
    """``area_m2``, ``count``, ``grouped``, ``let_through_a2s`` and two dates were exported as texts that the reader refuses."""
    for _, f in FIELDS:
        if f.kind in NUMBERS and f.key != "number":
            assert isinstance(from_json(_number(f), f.key), int | Decimal), f.key
        if f.kind is Kind.DATE:
            assert from_json("2026-11-28", f.key) == dt.date(2026, 11, 28), f.key


def test_a_number_out_of_its_bounds_is_refused_with_what_is_declared() -> None:
    for table, f in FIELDS:
        if f.kind is not Kind.NUMBER or table.name in ("link", "danger"):
            continue
        body = {f.key: "1e9", "id": "x"} if table.many else {f.key: "1e9"}
        book: dict[str, object] = {"visit": {"place": "–", "date": "2026-11-28"}}
        book[table.name] = {**book.get("visit", {}), **body} if table.name == "visit" else body  # type: ignore[dict-item]
        said = [x for x in read_tables(book).findings if x.where.endswith(f": {f.key}")]
        assert said, (table.name, f.key)
        assert f.unit in said[0].expected
