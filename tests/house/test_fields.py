"""A field is declared once: it stands on every surface that follows from the declaration."""

from __future__ import annotations

import datetime as dt
import runpy
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from earthwright.records.json_values import from_json
from earthwright.records.personal import ANYWHERE, PERSONAL
from earthwright.schedule.columns import BY_KEY
from earthwright.site.fields import NEVER, Field, Kind, entered
from earthwright.site.reading import ASSUMED
from earthwright.site.tables import TABLES, Table
from earthwright.visitbook.lines import Lines
from earthwright.visitbook.read import read_tables
from earthwright.visitbook.schema import book_schema
from earthwright.web.specs import SPECS

ROOT = Path(__file__).parents[2]
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
        if table.name in ("sign", "receipt", "step") or f.ask is NEVER or f.kind is Kind.TABLE:
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
        if f.kind is not Kind.NUMBER or table.name in ("link", "step"):
            continue
        body = {f.key: "1e9", "id": "x"} if table.many else {f.key: "1e9"}
        book: dict[str, object] = {"visit": {"place": "–", "date": "2026-11-28"}}
        book[table.name] = {**book.get("visit", {}), **body} if table.name == "visit" else body  # type: ignore[dict-item]
        said = [x for x in read_tables(book).findings if x.where.endswith(f": {f.key}")]
        assert said, (table.name, f.key)
        assert ("a number" if f.unit == "1" else f.unit) in said[0].expected


def test_the_reference_page_is_fresh() -> None:
    made = runpy.run_path(str(ROOT / "docs" / "reference.py"))
    assert (ROOT / "docs" / "visit-book.md").read_text(encoding="utf-8") == made["page"](), (
        "run .venv/bin/python docs/reference.py"
    )


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items()}
    if isinstance(value, list):
        return [_plain(v) for v in value]
    return value.isoformat() if isinstance(value, dt.date | dt.time) else value


def test_visit_books_follow_the_schema_and_what_the_reader_refuses_does_not() -> None:
    follows = jsonschema.Draft202012Validator(book_schema())
    jsonschema.Draft202012Validator.check_schema(book_schema())
    whole = tomllib.loads((ROOT / "tests" / "paper" / "complete.toml").read_text(encoding="utf-8"))
    for name in ("07-tt-electrode", "09-ring-bridge", "24-ragged-board", "30-one-graph"):
        book = tomllib.loads((ROOT / "tests" / "visits" / f"{name}.toml").read_text(encoding="utf-8"))
        assert not list(follows.iter_errors(_plain(book))), name
    assert not list(follows.iter_errors(_plain(whole)))
    for table, key, wrong in (
        ("circuit", "line_mm2", "2.5"),
        ("circuit", "cpc_mm2", -1),
        ("circuit", "use", "socket"),
        ("circuit", "strange", 1),
        ("board", "phases", 2),
        ("supply", "system", "TNS"),
        ("report", "rented", "yes"),
        ("bond", "length_m", 0),
        ("step", "check", "short"),
    ):
        held = whole[table]
        entry = {**(held[0] if isinstance(held, list) else held), key: wrong}
        book = {**whole, table: [entry, *held[1:]] if isinstance(held, list) else entry}
        assert list(follows.iter_errors(_plain(book))), (table, key)


def test_every_key_that_the_reader_knows_is_declared() -> None:
    """An entry with a strange key is told all keys that its reader asks for."""
    steps = ("read", "tests", "check", "clamp", "volts", "isolated", "look", "repair", "override", "off")
    cases = [(t.name, {"strange": 1, "id": "x"}) for t in TABLES if t.name != "step"]
    cases += [("step", {"strange": 1, key: "r2" if key == "read" else "x"}) for key in steps]
    for name, body in cases:
        table = next(t for t in TABLES if t.name == name)
        book: dict[str, object] = {"visit": {"place": "–", "date": "2026-11-28"}}
        book[name] = {**body, "place": "–", "date": "2026-11-28"} if name == "visit" else [body] if table.many else body
        said = next(f for f in read_tables(book, lines=Lines("")).findings if f.where.endswith(": strange"))
        known = {f.key for f in table.fields} | {"usual", *ASSUMED}
        assert set(said.expected.removeprefix("one of: ").split(", ")) <= known, name


def test_a_key_belongs_to_one_group_of_facts_wherever_it_is_entered() -> None:
    groups: dict[str, set[str]] = {}
    for t, f in FIELDS:
        if t.many and f.fact:
            groups.setdefault(f.key, set()).add(f.fact)
    assert len(groups) > 40
    assert {key: found for key, found in groups.items() if len(found) > 1} == {}


def test_keys_that_are_kept_apart_anywhere_are_declared_as_a_persons() -> None:
    assert set(ANYWHERE) <= {key for kind, keys in PERSONAL.items() if kind for key in keys}
    assert {f.key for _, f in FIELDS if f.person} <= {key for keys in PERSONAL.values() for key in keys}
