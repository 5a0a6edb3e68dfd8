"""Readings that an instrument saved (CSV), read by a mapping of its columns that the user made: no maker's format is known.

Nothing is guessed: a circuit, a test or a unit that the mapping does not name is asked for, and a reading of another day is
refused. What cannot be taken is told with its cell, all of it at once.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import re
from collections.abc import Mapping
from typing import Any

from attrs import asdict, field, frozen

from ..base import limits
from ..base.errors import Finding, Severity
from ..base.oneline import hides, one_line
from ..site.events import CIRCUIT_TESTS, ORIGIN, Reading
from ..site.source import Source, source_of
from ..site.tests import BY_LEADS
from ..site.visit import Visit
from ..visitbook.readings import test_of
from ..visitbook.spellings import absent_of
from .cells import address, as_it_was, fault
from .read import lines_of

# What a column may hold besides the readings of one test, which it is then named after.
OF, TEST, VALUE, UNIT, TIME, POINT, NOTE = "of", "test", "value", "unit", "time", "point", "note"
MEANINGS = (OF, TEST, VALUE, UNIT, TIME, POINT, NOTE)
LEAVE_OUT = "leave out"  # of a test: readings that are no part of this visit
DAY_FIRST, MONTH_FIRST = "day first", "month first"
_NUMBER = re.compile(r"(?:[<>]=?|≤|≥)?\s*[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)\s*\+?")
_CLOCK = re.compile(r"(?:(.*?)[ T]+)?(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?")
_DAY = re.compile(r"(\d{1,4})[-/.](\d{1,2})[-/.](\d{1,4})")


@frozen
class Saved:
    """A file as it is: its columns by name, its rows with their numbers, its digest (SHA-256)."""

    name: str
    digest: str
    columns: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    findings: tuple[Finding, ...]

    def words(self, meaning: str, mapping: Columns) -> tuple[str, ...]:
        """The different texts of the column that has a meaning, in their order."""
        place = mapping.place(meaning, self)
        found = (cells[place] for _, cells in self.rows) if place is not None else ()
        return tuple(dict.fromkeys(c for c in found if c))

    def begin(self, column: int, most: int = 3) -> tuple[str, ...]:
        """The first different texts of a column."""
        return tuple(dict.fromkeys(cells[column] for _, cells in self.rows if cells[column]))[:most]


@frozen
class Columns:
    """How the columns of a file are read, as its user said once.

    columns   name of a column → what it holds: one of :data:`MEANINGS`, or a test as a step names it (``insulation L-E``)
    units     name of a column → unit of its values, where neither they nor a column of units say it
    tests     word of the file → test, or :data:`LEAVE_OUT`;  things  word of the file → id of a circuit, board …
    days      how a date with strokes is written;  ahead_s  how far the instrument's clock was ahead [s], taken off
    instrument, leads   ids of what all of it was read with
    """

    columns: Mapping[str, str] = field(factory=dict)
    units: Mapping[str, str] = field(factory=dict)
    tests: Mapping[str, str] = field(factory=dict)
    things: Mapping[str, str] = field(factory=dict)
    days: str = DAY_FIRST
    ahead_s: int = 0
    instrument: str = ""
    leads: str = ""

    def place(self, meaning: str, saved: Saved) -> int | None:
        """Which column holds it; None when none does."""
        return next((i for i, c in enumerate(saved.columns) if self.columns.get(c) == meaning), None)

    def plain(self) -> dict[str, Any]:
        """As plain data, to be kept and read again by :func:`columns_from`."""
        return asdict(self)


@frozen
class Row:
    """One reading that was found: its row, and the step of a visit book it becomes."""

    number: int
    body: dict[str, object]
    cell: str


@frozen
class Taken:
    """What a file comes to. ``left_out``: rows without a value, or of tests that are left out."""

    rows: tuple[Row, ...]
    findings: tuple[Finding, ...]
    left_out: int = 0

    @property
    def good(self) -> bool:
        """Whether there is something, and nothing was refused."""
        return bool(self.rows) and all(f.severity.rank > Severity.ERROR.rank for f in self.findings)


def columns_from(data: object) -> Columns:
    """A mapping from plain data. Raises ValueError with everything that is wrong with it."""
    if not isinstance(data, dict):
        raise ValueError("This is not a mapping of columns: a table was expected.")
    wrong = [x for key, value in data.items() if (x := _wrong_key(str(key), value))]
    columns = data.get("columns", {})
    for name, meaning in columns.items() if isinstance(columns, dict) else ():
        if isinstance(meaning, str) and meaning and meaning not in MEANINGS and test_of(meaning) is None:
            wrong.append(f"columns: {one_line(name)[:40]}: one of {', '.join(MEANINGS)} or a test was expected.")
    if data.get("days", DAY_FIRST) not in (DAY_FIRST, MONTH_FIRST):
        wrong.append(f"days: {DAY_FIRST} or {MONTH_FIRST} was expected.")
    if wrong:
        raise ValueError(" ".join(wrong))
    return Columns(**data)


def _wrong_key(key: str, value: object) -> str:
    """What is wrong with one key of a mapping, by its kind alone; empty where nothing is."""
    if key in ("columns", "units", "tests", "things"):
        texts = isinstance(value, dict) and all(isinstance(v, str) for v in value.values())
        return "" if texts else f"{key}: a table of texts was expected."
    if key == "ahead_s":
        whole = isinstance(value, int) and not isinstance(value, bool) and abs(value) <= 86400 * 366
        return "" if whole else "ahead_s: whole seconds of at most a year were expected."
    if key not in ("days", "instrument", "leads"):
        return f"{one_line(key)[:40]}: this is not known here."
    return "" if isinstance(value, str) else f"{key}: a text was expected."


def read_saved(content: bytes, name: str) -> Saved:
    """The columns and rows of a file. The row with the most filled cells first is the header; rows above it say nothing here."""
    findings: list[Finding] = []
    digest = hashlib.sha256(content).hexdigest()
    name = one_line(name.replace("\\", "/").rpartition("/")[2]).replace(", row ", " ").strip()[:80] or "readings.csv"
    if limits.SAVED.refuses(len(content)):
        findings.append(fault("file", "", "This file is too large.", limits.SAVED.said(), str(len(content))))
        return Saved(name, digest, (), (), tuple(f.at(name, 0) for f in findings))
    lines = lines_of(content, findings)
    width = max((len(c) for _, c in lines), default=0)
    head = max(range(len(lines)), key=lambda i: (sum(bool(c.strip()) for c in lines[i][1]), -i), default=0)
    below = lines[head + 1 :]
    for bound, found in ((limits.SAVED_COLUMNS, width), (limits.SAVED_ROWS, len(below))):
        if bound.refuses(found):
            findings.append(fault("file", "", "This file is too large.", bound.said(), str(found)))
            below = []
    if not below and not any(f.severity is Severity.ERROR for f in findings):
        findings.append(fault("file", "", "There is no reading in this file.", "a header and rows below it", name))
    names: list[str] = []
    for place in range(width if below else 0):
        said = one_line(lines[head][1][place]).strip() if place < len(lines[head][1]) else ""
        letter = address(1, place + 1)[:-1]
        names.append(said if said and said not in names else f"{said} ({letter})".strip())
    rows: list[tuple[int, tuple[str, ...]]] = []
    for number, cells in below:
        for place, text in enumerate(cells, 1):
            if hides(text):
                what = "There is a character here that cannot be seen."
                findings.append(fault(address(number, place), "", what, "letters and digits", one_line(text)))
        filled = [one_line(as_it_was(c)).strip() for c in cells] + [""] * (width - len(cells))
        rows.append((number, tuple(filled)))
    return Saved(name, digest, tuple(names), tuple(rows), tuple(f.at(name, 0) for f in findings))


def take(saved: Saved, mapping: Columns, visit: Visit) -> Taken:
    """The readings of a file as steps of a visit; everything that keeps one out is a finding at its cell."""
    reader = _Reader(saved, mapping, visit)
    if not reader.findings:
        for number, cells in saved.rows:
            reader.row(number, cells)
    if not reader.rows and not any(f.severity is Severity.ERROR for f in (*saved.findings, *reader.findings)):
        reader.fault("file", "", "No reading is left to take in.", "a row with a value", saved.name)
    findings = (*saved.findings, *(f.at(saved.name, 0) for f in reader.findings))
    return Taken(tuple(reader.rows), findings, reader.left_out)


class _Reader:
    """One file read by one mapping."""

    def __init__(self, saved: Saved, mapping: Columns, visit: Visit) -> None:
        self.saved, self.mapping, self.visit = saved, mapping, visit
        self.rows: list[Row] = []
        self.findings: list[Finding] = []
        self.left_out = 0
        site = visit.site
        self.things = {
            ORIGIN,
            *(x.id for some in (site.circuits, site.boards, site.parts, site.electrodes) for x in some),
        }
        self.before = {
            (x.digest, x.row) for e in visit.events if isinstance(e, Reading) and (x := source_of(e.source)) is not None
        }
        self.at = {m: mapping.place(m, saved) for m in MEANINGS}
        self.wide = [
            (i, m) for i, c in enumerate(saved.columns) if (m := mapping.columns.get(c, "")) not in ("", *MEANINGS)
        ]
        self._whole()

    def fault(self, cell: str, header: str, what: str, expected: str, found: str, do: str = "") -> None:
        """Something keeps a reading out."""
        self.findings.append(fault(cell, header, what, expected, found, do))

    def _whole(self) -> None:
        """What is wrong with the mapping as a whole."""
        said = list(self.mapping.columns.values())
        for m in MEANINGS:
            if said.count(m) > 1:
                self.fault("columns", m, "Two columns cannot both be this.", "one column", m)
        for name in self.mapping.columns:
            if self.saved.columns and name not in self.saved.columns:
                self.fault("columns", name, "This file has no such column.", ", ".join(self.saved.columns)[:200], name)
        if self.saved.columns:
            if self.at[OF] is None:
                self.fault(
                    "columns", "", "Which column says what was measured?", "a column for circuit or board", "none"
                )
            if (self.at[VALUE] is None or self.at[TEST] is None) and not self.wide:
                what = "Which columns hold the readings?"
                self.fault("columns", "", what, "test and reading, or a column for each test", "none")

    def _cell(self, cells: tuple[str, ...], meaning: str) -> str:
        place = self.at[meaning]
        return cells[place] if place is not None else ""

    def row(self, number: int, cells: tuple[str, ...]) -> None:
        """The readings of one row."""
        found = [(i, m) for i, m in self.wide if cells[i]]
        place, unknown = self.at[VALUE], False
        if place is not None and self.at[TEST] is not None and cells[place]:
            word = self._cell(cells, TEST)
            test = self.mapping.tests.get(word, word)
            unknown = test != LEAVE_OUT and test_of(test) is None
            if unknown:
                self._ask(number, TEST, "Which test is this?", "a test, or leave out", word)
            elif test != LEAVE_OUT:
                found.append((place, test))
        if not found and not unknown:
            self.left_out += 1
            return
        of = self._thing(number, self._cell(cells, OF))
        at = self._time(number, self._cell(cells, TIME))
        source = str(Source(self.saved.name, number, self.saved.digest))
        if (self.saved.digest, number) in self.before:
            self.fault(f"row {number}", "", "This row was taken in before.", "each reading once", source[:80])
        for i, test in found:
            body = self._body(number, i, cells, test)
            body |= {k: v for k, v in (("of", of), ("at", at), ("source", source)) if v}
            if of:
                self.rows.append(Row(number, body, address(number, i + 1)))

    def _ask(self, number: int, meaning: str, what: str, expected: str, found: str) -> None:
        place = self.at[meaning]
        cell = address(number, place + 1) if place is not None else f"row {number}"
        if not any(f.what == what and f.found == found[:80] for f in self.findings):  # a word is asked about once
            self.fault(cell, self.saved.columns[place] if place is not None else "", what, expected, found)

    def _thing(self, number: int, word: str) -> str:
        of = self.mapping.things.get(word) or word
        if of in self.things:
            return of
        self._ask(number, OF, "What was measured here?", "a circuit, a board or another thing of this visit", word)
        return ""

    def _body(self, number: int, place: int, cells: tuple[str, ...], name: str) -> dict[str, object]:
        named = test_of(name)
        assert named is not None  # it was looked at before
        test, between, method = named
        text, header = cells[place], self.saved.columns[place]
        m = self.mapping
        unit = (self._cell(cells, UNIT) if place == self.at[VALUE] else "") or m.units.get(header, "")
        body: dict[str, object] = {"read": test}
        absent, why = absent_of(text)
        if absent:
            body["absent"] = absent
        elif not CIRCUIT_TESTS[test].unit:
            body["outcome"] = text
        else:
            body["shown"] = f"{text} {unit}".strip() if _NUMBER.fullmatch(text) else text
            if _NUMBER.fullmatch(text) and not unit:
                self._unit(number, place)
        continuity = test in BY_LEADS
        note = "; ".join(x for x in (why, self._cell(cells, NOTE)) if x)
        more = {
            "between": between,
            "method": method,
            "point": self._cell(cells, POINT),
            "note": note,
            "instrument": m.instrument,
            "leads": m.leads if continuity and "shown" in body else "",
        }
        return body | {k: v for k, v in more.items() if v}

    def _unit(self, number: int, place: int) -> None:
        header = self.saved.columns[place]
        what = "In which unit is this column?"
        if not any(f.what == what and f"({header})" in f.where for f in self.findings):
            self.fault(address(number, place + 1), header, what, "a unit such as Ω, MΩ, ms", "none")

    def _time(self, number: int, text: str) -> str:
        """The true time of day; a reading of another day is no reading of this visit."""
        if not text:
            return ""
        moment = _moment(text, self.mapping.days, self.visit.date)
        place = self.at[TIME]
        assert place is not None  # its text came from there
        cell, header = address(number, place + 1), self.saved.columns[place]
        if moment is None:
            self.fault(cell, header, "This time cannot be read.", "2026-11-20 10:15:00 or 10:15", text)
            return ""
        moment -= dt.timedelta(seconds=self.mapping.ahead_s)
        if moment.date() != self.visit.date:
            what = "This reading was taken on another day, so it is no reading of this visit."
            do = "Set the instrument's clock right below, or leave the row out of the file."
            self.fault(cell, header, what, self.visit.date.isoformat(), moment.isoformat(" ", "minutes"), do)
        return moment.strftime("%H:%M:%S")


def _moment(text: str, days: str, today: dt.date) -> dt.datetime | None:
    clock = _CLOCK.fullmatch(text)
    if clock is None:
        return None
    try:
        time = dt.time(int(clock[2]), int(clock[3]), int(clock[4] or 0))
        if not clock[1]:
            return dt.datetime.combine(today, time)
        day = _DAY.fullmatch(clock[1].strip(" ,"))
        if day is None:
            return None
        a, b, c = (int(x) for x in day.groups())
        year, month, date = (a, b, c) if len(day[1]) == 4 else (c, a, b) if days == MONTH_FIRST else (c, b, a)
        return dt.datetime.combine(dt.date(year + 2000 if year < 100 else year, month, date), time)
    except ValueError:
        return None
