"""Three hundred spoilt tables and visit books: no traceback, nothing taken silently, no verdict on a broken entry."""

from __future__ import annotations

import csv
import importlib.util
import io
import random
import re
import tomllib
from functools import cache
from pathlib import Path
from types import ModuleType

import pytest
from wide import seeds

from earthwright.assess import assess
from earthwright.base.errors import Severity, VisitBookError
from earthwright.schedule import Filled, as_csv, fill, read_sheet
from earthwright.schedule.cells import address
from earthwright.schedule.columns import BY_HEADER, POINTS, READING, TEXT
from earthwright.site.events import Reading
from earthwright.visitbook import read_text


def load_many() -> ModuleType:
    spec = importlib.util.spec_from_file_location("many", Path(__file__).parents[1] / "visits" / "many.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@cache
def works() -> str:
    return str(load_many().many(2, 5))


@cache
def empty_works() -> str:
    """The same works with its boards and no circuit."""
    return re.sub(r"fed_by = .*\n", "", works().partition("[[circuit]]")[0])


@cache
def sheet_of_works() -> tuple[tuple[str, ...], ...]:
    book = read_text(works())
    assert book.findings == ()
    assert book.visit is not None
    return tuple(tuple(row) for row in csv.reader(io.StringIO(as_csv(book.visit))))


def as_bytes(rows: list[list[str]]) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def refused(result: Filled, before: str) -> set[str]:
    """The cells that were refused; then nothing may have been written."""
    errors = {f.where.split(" ")[0] for f in result.findings if f.severity is Severity.ERROR}
    assert bool(errors) != result.good
    assert result.good or result.text == before
    return errors


def test_the_sound_table_fills_the_empty_works_and_changes_nothing_in_the_full_one() -> None:
    content = as_bytes([list(r) for r in sheet_of_works()])
    result = fill(empty_works(), read_sheet(content))
    assert result.good, [f.sentence() for f in result.findings]
    assert result.circuits == 10
    again = fill(works(), read_sheet(content))
    assert (again.good, again.circuits, again.values, again.readings) == (True, 0, 0, 0)


# Of these a reading of resistance is understood, and that is said at the cell.
UNDERSTOOD = ("inf", "1,5", "0.4 kΩ", "0.5MΩ")
SPOILT = (
    "TRUE",
    "abc",
    "nan",
    "inf",
    "-inf",
    "-1",
    "1,5",
    "1.000,5",
    "0.4 kΩ",
    "0.5MΩ",
    "3 V",
    "1E+05",
    "02-May",
    "2025-03-01",
    "1/2/24",
    "10:15",
    "#REF!",
    "#N/A",
    "=1+1",
    "9" * 400,
    "<script>",
    "\u0661\u0662",
    "0x1F",
    "1;2",
    "--",
    "?",
    "1 2",
    "LIM",
    "\u22121",
    "0.93 0.94",
)


@pytest.mark.parametrize("seed", seeds(120))
def test_a_spoilt_cell_is_told_at_its_place(seed: int) -> None:
    rng = random.Random(seed)
    rows = [list(r) for r in sheet_of_works()]
    places = [
        (i, j)
        for i in range(1, len(rows))
        for j, head in enumerate(rows[0])
        if head not in BY_HEADER or BY_HEADER[head].kind not in (TEXT, POINTS)
    ]
    i, j = rng.choice([p for p in places if rows[p[0]][p[1]]] if seed % 2 else places)
    rows[i][j] = rng.choice(SPOILT)
    for book in (empty_works(), works()):
        result = fill(book, read_sheet(as_bytes(rows)))
        cells = refused(result, book)
        column = BY_HEADER.get(rows[0][j])
        readable = column is not None and column.kind == READING
        if readable and rows[i][j] in (UNDERSTOOD if column.unit in ("Ω", "MΩ") else UNDERSTOOD[:1]):
            cells |= {f.where.split(" ")[0] for f in result.findings if f.what.startswith("Understood as")}
        assert address(i + 1, j + 1) in cells, (rows[0][j], rows[i][j], cells)


@pytest.mark.parametrize("seed", seeds(40))
def test_a_spoilt_form_is_told(seed: int) -> None:
    rng = random.Random(seed)
    rows = [list(r) for r in sheet_of_works()]
    i, j = rng.randrange(1, len(rows)), rng.randrange(2, len(rows[0]))
    filled = [k for k, head in enumerate(rows[0]) if any(r[k] for r in rows[1:])]
    j = rng.choice([k for k in filled if k > 1])
    kind = seed % 10
    content = b""
    if kind == 0:
        rows[0][j] += "x"
    elif kind == 1:
        rows[0][j] = ""
    elif kind == 2:
        rows[0][j] = re.sub(r" \(.*\)$", " (kV)", rows[0][j]) if "(" in rows[0][j] else rows[0][j] + " (Ω)"
    elif kind == 3:
        rows[0].append(rows[0][j])
        rows = [rows[0], *([*r, r[j]] for r in rows[1:])]
    elif kind == 4:
        del rows[i][-1]
    elif kind == 5:
        rows[i].append("0.93")
    elif kind == 6:
        rows.append(rows[i])
    elif kind == 7:
        del rows[0]
    elif kind == 8:
        content = as_bytes(rows).decode().encode("cp1252", "replace") + b"\xe9"
    else:
        content = as_bytes(rows)[:-3] + b'"'
    book = empty_works()
    assert refused(fill(book, read_sheet(content or as_bytes(rows))), book)


@pytest.mark.parametrize("seed", seeds(20))
def test_a_table_of_noise_is_no_table(seed: int) -> None:
    rng = random.Random(seed)
    content = bytes(rng.randrange(256) for _ in range(400))
    book = empty_works()
    assert refused(fill(book, read_sheet(content)), book)


# ---- visit books ----

ABSURD = (
    '""',
    "true",
    "-1",
    "1e300",
    "nan",
    "inf",
    '"1,050"',
    '"0.4 MHz"',
    '"<script>"',
    "[]",
    "{}",
    "[[]]",
    "{ a = 1 }",
    "2026-11-20",
    "99999999999999999999",
    '"\\u0000"',
    "[1, true]",
    '"' + "9" * 400 + '"',
)
# Keys whose value is a free text: any text is one.
FREE = {"name", "place", "inspector", "serial", "fuse", "cable", "method", "standard", "point", "seen", "load"}


@pytest.mark.parametrize("seed", seeds(120))
def test_a_spoilt_visit_book_is_told_and_what_is_broken_is_not_judged(seed: int) -> None:
    rng = random.Random(seed)
    lines = works().splitlines()
    places = [i for i, line in enumerate(lines) if "=" in line and not line.startswith("#")]
    i = rng.choice(places)
    key = lines[i].partition("=")[0].strip()
    kind = seed % 4
    if kind == 0:
        lines[i] = lines[i].replace(key, key + "x", 1)
    elif kind == 1 and lines[i].endswith("}"):
        lines[i] = re.sub(r" = [^,}]+", lambda _: f" = {rng.choice(ABSURD)}", lines[i].partition("{")[2], count=1)
        lines[i] = f"{key} = {{{lines[i]}"
    else:
        lines[i] = f"{key} = {rng.choice(ABSURD)}"
    text = "\n".join(lines) + "\n"
    try:
        tomllib.loads(text)
    except (tomllib.TOMLDecodeError, ValueError):
        with pytest.raises(VisitBookError):
            read_text(text)
        return
    book = read_text(text)
    errors = [f for f in book.findings if f.severity is Severity.ERROR]
    typed = lines[i].partition("=")[2].strip()
    free = key in FREE and typed.startswith('"')
    assert errors or free or _says_nothing(key, typed), lines[i]
    if book.visit is None:
        return
    a = assess(book.visit, found=book.findings, broken=book.broken)
    judged = {c.circuit.id for b in a.boards for c in b.circuits} | {b.board.id for b in a.boards}
    assert not judged & set(book.broken)
    assert set(book.broken) <= {n.entry for n in a.not_judged}
    spoilt = {e.id for e in book.visit.events if isinstance(e, Reading) and e.refused}
    for board in a.boards:
        for test in (*board.tests, *(t for c in board.circuits for t in c.tests)):
            # A refused reading is shown with its row, and no verdict stands on it.
            used = test.corrected.reading.id if test.corrected else ""
            assert used not in spoilt
            if test.readings and all(r.id in spoilt for r in test.readings):
                assert test.outcome not in ("meets",)


def _says_nothing(key: str, typed: str) -> bool:
    """An empty text or list where there need be none."""
    return (key in FREE | {"fed_by"} and typed == '""') or (key in ("off", "on") and typed == "[]")


def test_the_kinds_of_columns_that_were_spoilt() -> None:
    """The sound table has cells of every kind, or the trials above would be idle."""
    rows = sheet_of_works()
    full = {rows[0][j] for row in rows[1:] for j, cell in enumerate(row) if cell}
    kinds = {BY_HEADER[h].kind for h in full if h in BY_HEADER}
    assert {READING, TEXT, POINTS, "number", "word", "whole"} <= kinds
