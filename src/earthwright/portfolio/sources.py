"""Where visits come from: a folder of visit books, or a journal. Each visit is a job that a process of its own can do."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Protocol

from attrs import evolve, field, frozen
from sqlalchemy import func, select

from ..assess import assess
from ..base.errors import Severity, VisitBookError
from ..base.oneline import one_line
from ..outcomes.verdict import NO_RULE
from ..records import schema
from ..records.replay import replay
from ..records.store import Store
from ..rules import RuleBook
from ..rules.lookup import WIRING
from ..site.visit import Visit
from ..visitbook import ReadBook, read_book
from .flatten import Rows, edition_of, flatten
from .keys import Keys
from .tables import BY_YEAR, code

UNREAD, NO_EDITION, NOT_OURS = (
    "entries could not be read",
    "no edition of the rules is known for its day",
    "it is no visit book",
)


@frozen
class AsIf:
    """What a visit is judged under instead of its own.

    edition  of the wiring rules;  day  as if inspected then; none: its own day, or where the edition was not open yet the day on
             which it came into force;  decision  ``simple`` or ``guarded``
    """

    edition: str = ""
    day: dt.date | None = None
    decision: str = ""

    def visit(self, visit: Visit) -> Visit:
        """The visit with these in place of its own."""
        choices, day = visit.choices, self.day or visit.date
        if self.edition and self.day is None:
            chosen = next((e for e in RuleBook.load().of(WIRING) if e.edition == self.edition), None)
            day = day if chosen is None or chosen.open_on(day) else chosen.in_force
        choices = evolve(choices, edition=self.edition) if self.edition or self.day else choices
        choices = evolve(choices, decision=self.decision) if self.decision else choices
        return evolve(visit, date=day, choices=choices)

    @property
    def said(self) -> str:
        """What it is judged under, in words."""
        if self == AsIf():
            return "by the rules of each visit's own day"
        edition = f"under {WIRING}:{self.edition}" if self.edition else "under the edition in force"
        day = (
            f"as if inspected on {self.day}"
            if self.day
            else "on its own day, or that on which the edition came into force"
        )
        return ", ".join(x for x in (edition, day, f"decision rule {self.decision}" if self.decision else "") if x)

    @property
    def name(self) -> str:
        """A short name for it, fit for a folder."""
        parts = (self.edition, self.day.isoformat() if self.day else "", self.decision)
        return "_".join(x for x in parts if x) or "own"


@frozen
class Job:
    """One visit to be judged: where it stands, its name there, and a stamp that changes when it does."""

    source: str
    name: str
    stamp: str
    keys: Keys = field(repr=False)
    as_if: AsIf = AsIf()


@frozen
class Part:
    """What came of a job: its rows and the words in them; place and name are for the list that stands apart.

    year  of the visit, 0 where it has none
    """

    name: str
    stamp: str
    visit: int
    year: int
    home: int = 0
    place: str = ""
    rows: Rows = field(factory=dict, repr=False)
    words: frozenset[str] = field(factory=frozenset, repr=False)
    people: dict[int, str] = field(factory=dict, repr=False)
    said: str = ""


class Source(Protocol):
    """Somewhere visits are kept."""

    def new(self, known: Mapping[str, str]) -> tuple[dict[str, str], set[str]]:
        """Name and stamp of each visit that is not known so, and the names of those that are gone."""


@frozen
class Folder:
    """Every visit book below a folder. The stamp is its size and the time of its last change."""

    path: Path

    def new(self, known: Mapping[str, str]) -> tuple[dict[str, str], set[str]]:
        """What is new or changed, and what is gone."""
        there = {name: f"{said.st_size} {said.st_mtime_ns}" for name, said in _books(self.path)}
        return {n: s for n, s in sorted(there.items()) if known.get(n) != s}, set(known) - set(there)


def _books(folder: Path, above: str = "") -> Iterator[tuple[str, os.stat_result]]:
    """Each visit book below a folder, by its name from there, with what the system says of it."""
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                yield from _books(Path(entry.path), f"{above}{entry.name}/")
            elif entry.name.endswith(".toml") and entry.is_file():
                yield above + entry.name, entry.stat()


@frozen
class Journal:
    """The visits of a journal. The stamp is the number of the visit's last event; only newer events are looked at."""

    url: str

    def new(self, known: Mapping[str, str]) -> tuple[dict[str, str], set[str]]:
        """What has newer events than the newest that is known; of a journal nothing goes."""
        c = schema.event.c
        newest = max(map(int, known.values()), default=0)
        query = select(c.visit, func.max(c.no)).where(c.no > newest).group_by(c.visit).order_by(func.max(c.no))
        with _store(self.url).reading() as connection:
            return {row[0]: str(row[1]) for row in connection.execute(query)}, set()


def source_of(where: str) -> Source:
    """A folder of visit books, or a journal (file or address). Raises JournalError for what is neither."""
    return Folder(Path(where)) if Path(where).is_dir() else Journal(where)


@lru_cache(maxsize=1)
def _store(url: str) -> Store:
    return Store(url, create=False)


def judge(job: Job) -> Part:
    """Judge one visit into rows. What cannot be read is a part with its reason."""
    visit = job.keys.of("visit", job.name)
    try:
        book = _book(job)
    except VisitBookError as error:
        return failed(job, NOT_OURS, str(error))
    if book.visit is None:
        return failed(job, UNREAD, " ".join(f.sentence() for f in book.findings if f.severity is Severity.ERROR))
    a = assess(job.as_if.visit(book.visit), found=book.findings, broken=book.broken, ahead=False)
    flat = flatten(a, job.keys, visit, book.visit.date.year)
    rows = flat.rows
    if edition_of(a) == NO_RULE:
        rows["not_judged"].append((visit, book.visit.date.year, code(NO_EDITION), True))
        flat.words |= {NO_EDITION, NO_RULE}
    home = rows["visit"][0][2]
    return Part(
        job.name,
        job.stamp,
        visit,
        book.visit.date.year,
        home,
        one_line(book.visit.site.place),
        rows,
        frozenset(flat.words),
        flat.people,
    )


def failed(job: Job, why: str, said: str = "") -> Part:
    """The part of a visit that gave no result."""
    visit = job.keys.of("visit", job.name)
    rows: Rows = {t.name: [] for t in BY_YEAR}
    rows["not_judged"].append((visit, 0, code(why), False))
    return Part(job.name, job.stamp, visit, 0, rows=rows, words=frozenset((why,)), said=one_line(said)[:500])


def _book(job: Job) -> ReadBook:
    if (folder := Path(job.source)).is_dir():
        return read_book(folder / job.name)
    return kept_book(job.source, job.name)


def kept_book(url: str, visit: str) -> ReadBook:
    """A visit of a journal, read. The journal stays open in this process."""
    return replay(visit, _store(url).events(visit)).book
