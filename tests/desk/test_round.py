"""A visit book, the journal, and back: the same visit, the same digits, the same verdicts."""

from __future__ import annotations

import ast
import datetime as dt
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import attrs
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

import earthwright
from earthwright.assess import assess
from earthwright.desk import Desk
from earthwright.records.booktext import as_toml
from earthwright.records.canon import canonical
from earthwright.records.json_values import from_json, to_json
from earthwright.records.replay import SINGLE
from earthwright.site.fields import Kind, entered
from earthwright.site.tables import TABLES
from earthwright.site.visit import Visit
from earthwright.visitbook import ReadBook, read_text
from earthwright.visitbook.blank import BLANK

SRC = Path(earthwright.__file__).parent
BOOKS = [*sorted((Path(__file__).parents[1] / "visits").glob("*.toml")), SRC / "desk" / "demo" / "visit.toml"]


def without_lines(visit: Visit | None) -> Visit:
    assert visit is not None
    return attrs.evolve(visit, events=tuple(attrs.evolve(e, line=0) for e in visit.events))


def said(book: ReadBook) -> list[tuple[str, str, str]]:
    return [(f.where, f.what, f.severity.value) for f in book.findings]


@pytest.mark.parametrize("path", BOOKS, ids=lambda p: p.stem)
def test_a_visit_book_is_kept_and_comes_back_the_same(desk: Desk, path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    visit_id = desk.take_in(text, by="J. Example")
    direct, kept = read_text(text), desk.read(visit_id).book
    back = read_text(desk.as_visit_book(visit_id))
    assert without_lines(direct.visit) == without_lines(kept.visit) == without_lines(back.visit)
    assert said(direct) == said(kept) == said(back)
    judged, expected = desk.assess(visit_id), assess(direct.visit, found=direct.findings, broken=direct.broken)  # type: ignore[arg-type]
    assert judged is not None
    assert [(b.bond.id, b.verdict, b.words) for b in judged.bonds] == [
        (b.bond.id, b.verdict, b.words) for b in expected.bonds
    ]


def test_the_blank_visit_book_is_kept_too(desk: Desk) -> None:
    text = BLANK.format(today="2026-11-25")
    visit_id = desk.take_in(text)
    assert said(desk.read(visit_id).book) == said(read_text(text))


def test_digits_are_kept_exactly_as_typed(desk: Desk) -> None:
    book = """
[visit]
place = "x"
date = 2026-11-20
temp_c = 15.0
[[part]]
id = "water"
[[bond]]
part = "water"
csa_mm2 = 10
length_m = 12.50
length_tol_m = "1"
[[step]]
at = 09:10:30
read = "together"
bond = "water"
shown = 0.00
[[step]]
read = "together"
bond = "water"
shown = [0.020, "over-range", 3]
"""
    read = desk.read(desk.take_in(book))
    bodies = {e.kind: e.body for e in read.entries}
    assert bodies["bond"] == {"part": "water", "csa_mm2": 10, "length_m": "12.50", "length_tol_m": {"text": "1"}}
    assert bodies["step"]["shown"] == ["0.020", "over-range", "3"]
    first = next(e for e in read.entries if e.kind == "step")
    assert first.body == {"at": "09:10:30", "read": "together", "bond": "water", "shown": "0.00"}
    written = desk.as_visit_book(read.visit_id)
    for line in (
        "length_m = 12.50",
        'length_tol_m = "1"',
        "at = 09:10:30",
        "shown = 0.00",
        'shown = [0.020, "over-range", 3]',
    ):
        assert line in written


def test_what_a_form_posts_is_read_like_the_same_visit_book(desk: Desk) -> None:
    """Everything from a form is text; the key says how it is meant."""
    visit_id = desk.start("x", date="2026-11-20", kind="bonding", by="J. Example", temp_c="15")
    desk.add(visit_id, "part", {"id": "water", "kind": "water", "plastic_section_m": "1.5"})
    desk.add(visit_id, "bond", {"part": "water", "csa_mm2": "10", "length_m": "12.50", "iec_class": "2", "label": True})
    desk.add(
        visit_id, "instrument", {"id": "t", "valid_until": "2027-03-01", "continuity": {"pct": "3", "step": "0.01"}}
    )
    desk.add(visit_id, "step", {"at": "09:10", "read": "together", "bond": "water", "shown": "0.02"})
    book = desk.read(visit_id).book
    assert book.findings == ()
    back = read_text(desk.as_visit_book(visit_id))
    assert back.findings == ()
    assert without_lines(back.visit) == without_lines(book.visit)
    assert "csa_mm2 = 10\n" in desk.as_visit_book(visit_id)
    assert "valid_until = 2027-03-01\n" in desk.as_visit_book(visit_id)


def test_what_cannot_be_read_stays_as_typed_and_is_found_at_its_field(desk: Desk) -> None:
    visit_id = desk.start("x", date="2026-11-20", by="J. Example")
    desk.add(visit_id, "part", {"id": "water"})
    bond = desk.add(visit_id, "bond", {"part": "water", "csa_mm2": "1,5", "length_m": "", "colour": "green"})
    step = desk.add(visit_id, "step", {"read": "together", "bond": "water", "shown": "1,234"})
    read = desk.read(visit_id)
    at = {e.id: {f.where.rpartition(": ")[2]: f for f in read.book.findings if f.line == e.seq} for e in (bond, step)}
    assert list(at[bond.id]) == ["csa_mm2", "length_m", "colour"]
    found = at[step.id]
    assert set(found) >= {"shown"}
    assert "comma" in found["shown"].what
    assert read.event_at(found["shown"].line) == step.id
    assert read.event_of("part", "water") == read.entries[1].id
    assert read.event_of("bond", "gas") == ""
    assert read.event_at(0) == read.event_at(99) == ""


def test_unknown_tables_and_doubles_are_kept_and_said(desk: Desk) -> None:
    visit_id = desk.take_in(
        '[visit]\nplace = "x"\ndate = 2026-11-20\n[[widget]]\na = 1\n[[supply]]\npme = true\n[[supply]]\npme = false\n'
    )
    read = desk.read(visit_id)
    what = [f.what for f in read.book.findings]
    assert any("not known here" in w for w in what)
    assert any("entered a second time" in w for w in what)
    assert read.book.visit is not None
    assert read.book.visit.site.supply.pme is True
    again = read_text(desk.as_visit_book(visit_id))
    assert any("widget" in (f.where, f.found) or "widget" in f.where for f in again.findings)


def test_a_heading_that_cannot_be_read_gives_no_verdict(desk: Desk) -> None:
    visit_id = desk.take_in('[visit]\nplace = "x"\ndate = "some day"\n')
    assert desk.assess(visit_id) is None
    assert desk.visits()[0].date == "some day"
    assert desk.kept_until(visit_id).day is None


# ---- the key tells how a text is meant: held against what the visit book's own readers ask for ----


KINDS = {
    Kind.NUMBER: "number",
    Kind.COUNT: "whole",
    Kind.WHOLE: "whole",
    Kind.DATE: "date",
    Kind.TIME: "time",
    Kind.NAMES: "names",
}


def asked_for() -> dict[str, set[str]]:
    """Key → how it is declared, and how what is left of the readers in visitbook/ asks for it."""
    found: dict[str, set[str]] = {}
    declared = [f for t in TABLES for f in t.fields]
    for f in (*declared, *(x for outer in declared if outer.of for x in entered(outer.of))):
        if f.kind in KINDS or f.kind.value.startswith("text"):
            found.setdefault(f.key, set()).add(KINDS.get(f.kind, "text"))
    for path in (SRC / "visitbook").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.args):
                continue
            first = node.args[0]
            if isinstance(first, ast.Constant) and isinstance(first.value, str):
                found.setdefault(first.value, set()).add(node.func.attr)
    return found


# Keys that mean different things in different tables: there the value itself decides (a date is a date).
BOTH = {"on"}


def test_every_number_of_a_visit_book_is_a_number_again_after_the_journal() -> None:
    asked = asked_for()
    numbers = {k for k, how in asked.items() if how & {"number", "whole"}}
    assert len(numbers) > 50
    assert {k for k in numbers if not isinstance(from_json("12.5", k), Decimal)} == set()
    assert {k for k in numbers if from_json("12", k) != 12} == set()


def test_every_date_is_a_date_again_and_every_text_stays_a_text() -> None:
    asked = asked_for()
    dates = {k for k, how in asked.items() if "date" in how}
    assert len(dates) > 5
    assert {k for k in dates if from_json("2026-11-25", k) != dt.date(2026, 11, 25)} == set()
    texts = {k for k, how in asked.items() if how & {"text", "names"} and not how & {"number", "whole", "date", "time"}}
    assert len(texts) > 40
    assert {k for k in texts if from_json("12.5", k) != "12.5"} == set()
    assert {k for k in texts - BOTH if from_json("2026-11-25", k) != "2026-11-25"} == set()
    assert {k for k in texts if from_json("09:10:00", k) != "09:10:00"} == set()


def test_the_tables_that_stand_once_are_those_the_readers_ask_for_once() -> None:
    once = set()
    for path in (SRC / "visitbook").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "entry":
                assert isinstance(node.args[0], (ast.Constant, ast.Name))
                if isinstance(node.args[0], ast.Constant):
                    once.add(node.args[0].value)
    assert once == set(SINGLE)


TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
VALUES = st.recursive(
    st.booleans()
    | st.integers(-(2**60), 2**60)
    | st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-1e6, max_value=1e6)
    | st.dates()
    | st.times()
    | TEXTS
    | st.sampled_from(["10", "2.50", "2026-11-25", "09:10", "over-range", "inf", ".5", "1e3"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS.filter(bool), inner, min_size=1, max_size=3),
    max_leaves=6,
)
KEYS = st.sampled_from(
    ["note", "csa_mm2", "date", "at", "on", "id", "between", "points", "tests", "shown", "curve", "phases", "x y", "é"]
)


@given(KEYS, VALUES)
@example("date", "")
@example("date", "2026-11-25")
def test_any_value_of_a_visit_book_comes_back_through_journal_and_text(key: str, value: Any) -> None:
    """Marks of our own ({"text": …}) are the only tables that a visit book cannot hold itself."""
    if marked(value):
        return
    kept = to_json({key: value}, exact=True)
    # As the journal replays an entry: key by key, so that an entry of one key is never taken for a mark.
    back = {k: from_json(v, k) for k, v in tomllib_json(canonical(kept)).items()}
    again = tomllib.loads(as_toml({"step": [back]}), parse_float=Decimal)["step"][0]
    in_order = key == "tests"
    assert as_read(back, in_order) == as_read(again, in_order) == as_read({key: value}, in_order)
    if key not in ("tests", "shown"):
        assert back == again == {key: value}
    if key == "points" and isinstance(value, dict):
        assert list(back[key]) == list(again[key]) == list(value)


def as_read(value: Any, in_order: bool) -> Any:
    """Digits of a display are the same whether they stand bare or between quotes."""
    if isinstance(value, dict):
        items = [(k, as_read(v, in_order)) for k, v in value.items()]
        return items if in_order else dict(items)
    if isinstance(value, list):
        return [as_read(v, in_order) for v in value]
    return str(value) if isinstance(value, (str, int, Decimal)) and not isinstance(value, bool) else value


def marked(value: Any) -> bool:
    if isinstance(value, dict):
        return (len(value) == 1 and set(value) <= {"number", "date", "time", "text", "in order"}) or any(
            map(marked, value.values())
        )
    return isinstance(value, list) and any(map(marked, value))


def tomllib_json(text: str) -> Any:
    import json

    return json.loads(text)


@pytest.mark.parametrize(
    ("points", "read"),
    [
        ("6", tuple((str(n), None) for n in range(1, 7))),
        ({"hall": "4", "landing": "2.5", "attic": "12"}, (("landing", 2.5), ("hall", 4.0), ("attic", 12.0))),
        (["1", "2 landing"], (("1", None), ("2 landing", None))),
    ],
)
def test_points_typed_into_a_form_read_the_same_from_the_text_of_the_visit_book(
    desk: Desk, points: object, read: tuple[tuple[str, float | None], ...]
) -> None:
    visit_id = desk.start("3 Pellow Court", date="2026-11-20")
    desk.add(visit_id, "board", {"id": "db1", "name": "Board"})
    desk.add(visit_id, "circuit", {"id": "1", "board": "db1", "kind": "radial", "points": points})
    kept, text = desk.read(visit_id).book, read_text(desk.as_visit_book(visit_id))
    assert kept.visit is not None
    assert text.visit is not None
    assert kept.visit.site.circuits[0].points == text.visit.site.circuits[0].points == read
    assert text.findings == kept.findings == ()
    assert kept.visit.paperwork.content == text.visit.paperwork.content
