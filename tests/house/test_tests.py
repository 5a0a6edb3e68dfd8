"""Every declared test is found on every surface: visit book, table, page, drawing, paper, terminal, docs."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.assess import assess
from earthwright.base.catalogue import families
from earthwright.cli.main import main
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import page_of
from earthwright.schedule.columns import OF_CIRCUITS, Reads, column_of, header_of
from earthwright.site.events import Reading
from earthwright.site.tables import TABLES
from earthwright.site.tests import BOARD, CIRCUIT, ELECTRODE, ORIGIN, PART, TESTS, WORKED_OUT, Procedure
from earthwright.visitbook import read_text
from earthwright.web.drawing.circuit import circuit_drawing
from earthwright.web.schedule_rows import things
from earthwright.web.specs import SPECS
from earthwright.web.words import connect_of, title_of

ROOT = Path(__file__).parents[2]
BOOK = """[visit]
place = "4 Ellergate Row"
date = 2026-11-20
kind = "periodic"
inspector = "J. Example"
[supply]
system = "TN-C-S"
phases = 3
[[leads]]
id = "long"
allowed = "nulled"
[[part]]
id = "water"
kind = "water"
[[board]]
id = "db1"
phases = 3
[[circuit]]
id = "c1"
kind = "ring"
[[electrode]]
id = "rod"
"""
THINGS = {CIRCUIT: "c1", BOARD: "db1", ORIGIN: "origin", PART: "water", ELECTRODE: "rod"}
DIGITS = {t.name: "21.4" if t.unit == "ms" else f"{1.01 + n / 100:.2f}" for n, t in enumerate(TESTS)}


def step(t: Procedure) -> str:
    said = f'shown = "{DIGITS[t.name]}"' if t.unit else 'outcome = "good"'
    return f'[[step]]\nread = "{t.name}"\nof = "{THINGS[t.of[0]]}"\n{said}\n'


@pytest.fixture(scope="module")
def text() -> str:
    return BOOK + "".join(map(step, TESTS))


@pytest.fixture(scope="module")
def judged(text: str) -> Assessment:
    book = read_text(text)
    assert book.visit is not None
    assert not [f for f in book.findings if f.severity.value == "error"], book.findings
    return assess(book.visit, found=book.findings)


def test_each_is_read_from_a_visit_book_and_offered_as_a_word_of_the_schema(judged: Assessment) -> None:
    read = {e.test for e in judged.visit.events if isinstance(e, Reading)}
    assert read == {t.name for t in TESTS}
    schema = json.loads(CliRunner().invoke(main, ["schema", "visit"]).output)
    assert {t.name for t in TESTS} <= set(schema["properties"]["step"]["items"]["properties"]["read"]["enum"])


def test_each_of_a_circuit_may_have_its_column() -> None:
    for t in TESTS:
        if CIRCUIT in t.of:
            assert t.name in OF_CIRCUITS
            column, why = column_of(header_of(Reads(t.name)))
            assert column is not None, why
            assert (column.unit, column.reads) == (t.unit, Reads(t.name))


def test_each_has_its_words_and_its_drawing_on_a_page() -> None:
    for t in TESTS:
        assert title_of(t.name)[0].isupper() or t.name.startswith("ring")
        assert connect_of(t.name).endswith(".")
        assert "<svg" in circuit_drawing(t.name)
        assert ("LIVE TEST" in circuit_drawing(t.name)) == t.live
    assert "read" not in {s.key for s in SPECS["circuit"]}


def test_each_is_printed_with_what_was_read(judged: Assessment) -> None:
    page = json.dumps(page_of(judged, "evidence sheet", record="x"), ensure_ascii=False, default=str)
    for t in TESTS:
        if t.of[0] in (CIRCUIT, BOARD, ORIGIN) and t.unit:
            assert t.called in page or t.spoken in page or t.title in page, t.name
            assert DIGITS[t.name].rstrip("0") in page, t.name


def test_each_is_shown_in_the_terminal(text: str, tmp_path: Path) -> None:
    book = tmp_path / "visit.toml"
    book.write_text(text, encoding="utf-8")
    shown = CliRunner().invoke(main, ["judge", str(book), "--full"], env={"COLUMNS": "200"}).output
    for t in TESTS:
        if t.of[0] in (CIRCUIT, BOARD, ORIGIN):
            assert t.called in shown, t.name


def test_each_says_what_it_means_when_it_is_not_kept() -> None:
    for t in TESTS:
        # Of the parts of a ring the ring's own verdict speaks, of an extraneous part its own judgement.
        assert t.code or not t.limit or t.of == (PART,), t.name
        assert bool(t.code) == bool(t.fails)


def test_each_whose_outcome_is_a_word_has_the_finding_of_a_bad_one() -> None:
    for t in TESTS:
        if not t.unit:
            assert t.finding in families(), t.name
            assert t.do.endswith("."), t.name


def test_facts_that_a_test_rests_on_are_facts_of_declared_fields() -> None:
    known = {f.fact or f.key for table in TABLES for f in table.fields}
    for t in (*TESTS, *WORKED_OUT):
        assert not t.finding or t.finding in families(), t.name
        assert (t.facts or set()) <= known, t.name
        assert set(t.uses) <= {x.name for x in TESTS}, t.name


def test_each_has_the_places_that_its_declaration_names(judged: Assessment) -> None:
    rows = {t.id: t.keys for t in things(judged)}
    for t in TESTS:
        for p in t.places:
            assert (t.name, p.between, p.method) in rows[THINGS[p.of]], (t.name, p)
