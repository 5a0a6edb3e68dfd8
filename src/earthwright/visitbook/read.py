"""Visit book text → visit and findings. Everything wrong is told at once; what is whole is still judged."""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import copy
from decimal import Decimal
from functools import cached_property
from pathlib import Path

from attrs import evolve, frozen

from ..base import limits
from ..base.errors import Finding, VisitBookError
from ..base.oneline import one_line
from ..site.assumptions import Assumptions
from ..site.installation import Site
from ..site.tables import said_of
from ..site.visit import Choices, Unread, Visit
from .bounds import refuse_too_many, refuse_too_much
from .circuits import read_installation
from .fields import Entry
from .lines import Lines
from .paperwork import READERS as PAPERWORK
from .paperwork import Content
from .places import in_order
from .site import read_bonds, read_links, read_parts, read_supply
from .steps import read_step
from .tools import read_instruments, read_leads
from .values import values
from .walk import Walk

TABLES = (
    "visit",
    "supply",
    "instrument",
    "leads",
    "part",
    "bond",
    "link",
    "electrode",
    "usual",
    "assumptions",
    "board",
    "circuit",
    "step",
)

# Tables that are read after the steps, each with the function that reads them (``book.entries(name)``) and gives back
# the visit with what they say in it. A new kind of entry is added here and nowhere else.
MORE: dict[str, Callable[[Book, Visit], Visit]] = {**PAPERWORK}


@frozen
class ReadBook:
    """What a visit book says.

    visit    None only when the heading is so broken that nothing can be judged
    broken   ids of entries that are not judged because they could not be read
    """

    visit: Visit | None
    findings: tuple[Finding, ...]
    broken: tuple[str, ...] = ()


class Book:
    """A visit book being read: its tables, its lines, and the findings so far."""

    def __init__(self, data: dict[str, object], lines: Lines, file: str, loose: bool = False) -> None:
        self.data, self.lines, self.file, self.loose = data, lines, file, loose
        self.findings: list[Finding] = []
        self.broken: list[str] = []
        self.lost: dict[str, list[str]] = {}  # ids that cannot be kept, by the kind of entry
        self.unread: list[Unread] = []

    @cached_property
    def content(self) -> Content:
        """What a signature freezes."""
        return Content(self.data)

    def without(self, entry: Entry, of: str) -> None:
        """Note the keys of an entry that is kept without them."""
        for key in entry.bad:
            if entry.knows(key):  # one that is not known was told; the key that may have been meant is noted
                self.unread.append(
                    Unread(of, key, f"{entry.title}: {said_of(entry.table, key)}, which could not be read")
                )

    def entry(self, name: str, title: str = "") -> Entry:
        """The single table of that name (empty if it is not there)."""
        table = self.data.get(name)
        table = {} if table is None and (self.loose or name not in self.data) else table
        return Entry(table, name, 0, title or name, self.lines, self.file, self.findings, self.loose)

    def rows(self, name: str) -> list[dict[str, object]]:
        """The tables of an array as they were written, for what must be known before they are read."""
        tables = self.data.get(name)
        return [t for t in (tables if isinstance(tables, list) else [tables]) if isinstance(t, dict)]

    def entries(self, name: str) -> list[Entry]:
        """Every table of an array of tables, titled by its id or number."""
        tables = self.data.get(name, [])
        if tables is None and self.loose:
            return []
        if not isinstance(tables, list):
            tables = [tables]
        return [self.entry_of(name, number, table) for number, table in enumerate(tables)]

    def entry_of(self, name: str, number: int, table: object) -> Entry:
        """One table of an array of tables, the ``number``-th from 0."""
        title = title_of(name, number, table)
        return Entry(table, name, number, title, self.lines, self.file, self.findings, self.loose)

    def copied(self) -> Book:
        """The same, whose findings and gaps may grow without those of this one."""
        other = copy(self)
        other.findings, other.broken, other.unread = [*self.findings], [*self.broken], [*self.unread]
        other.lost = {kind: [*ids] for kind, ids in self.lost.items()}
        return other


def title_of(name: str, number: int, table: object) -> str:
    """How findings name a table of an array: by its id (a bond: its part), else by its place among the others, from 0."""
    label = table.get("id") or table.get("part") if isinstance(table, dict) and name != "step" else None
    label = one_line(label) if isinstance(label, str) else ""
    return f"{name} {label or number + 1}"


def read_book(path: Path) -> ReadBook:
    """Read a visit book from a file. Raises VisitBookError when it is no visit book at all."""
    try:
        size = path.stat().st_size
        if limits.BOOK.refuses(size):
            raise VisitBookError(f"{path}: this is too large for a visit book: {limits.BOOK.said(size)}.")
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise VisitBookError(f"{path}: this is not a text file in UTF-8 (byte {error.start}).") from error
    except OSError as error:
        raise VisitBookError(f"{path}: cannot be read: {error.strerror}.") from error
    return read_text(text, str(path))


def read_text(text: str, file: str = "visit book") -> ReadBook:
    """Read a visit book from its text. Raises VisitBookError when it is not TOML, or more than any visit holds."""
    return Reader(Book(parse(text, file), Lines(text), file)).read()


def parse(text: str, file: str = "visit book") -> dict[str, object]:
    """The tables of a visit book as typed, digits as written. Raises VisitBookError."""
    text = text.replace("\r\n", "\n")
    refuse_too_much(text, file)
    try:
        data = tomllib.loads(text, parse_float=Decimal)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise VisitBookError(
            f"{file}: this cannot be read as a visit book: {error}. "
            'Text goes between quotes; a reading such as over-range is written "over-range".'
        ) from error
    refuse_too_many(data, file)
    return data


def read_tables(data: Mapping[str, object], file: str = "entries", lines: Lines | None = None) -> ReadBook:
    """Read a visit from tables as JSON or a form gives them; judged exactly as the same visit book would be.

    data  ``{"visit": {…}, "circuit": [{…}, …], "step": […]}``. Numbers may be numbers or plain digits in a text, a
    date an ISO date in a text, null means that the key is left out. Displays are best given as texts (``"0.00"``):
    a number of JSON has lost its trailing zeros, and a bare zero is refused.
    file  what the findings call the place the entries came from;  lines  where each entry stands there, if that is known
    """
    return reader_of(data, file, lines).read()


def reader_of(
    data: Mapping[str, object], file: str, lines: Lines | None = None, said: Iterable[Finding] = ()
) -> Reader:
    """The reader of tables, as :func:`read_tables` takes them, that may grow by steps;  said  findings that come first."""
    book = Book({str(k): v for k, v in data.items()}, lines or Lines(""), file, loose=True)
    book.findings.extend(said)
    return Reader(book)


class Reader:
    """A visit book as it is read: heading and things, then one step after another, then what is said of them all.

    Nothing that stands before a step depends on it, so a book that grew by steps is read on and not anew: :meth:`further`
    gives the reader of the longer book, :meth:`read` what a book says so far. Neither changes the reader it is asked of.
    """

    def __init__(self, book: Book) -> None:
        root = Entry(dict.fromkeys(book.data, 1), "", 0, "visit book", book.lines, book.file, book.findings)
        for table in (*TABLES, *MORE):
            root.raw(table)
        root.close()
        self._dated, visit = _heading(book)
        visit = _things(book, visit)
        self._walk = Walk(book, visit)
        for entry in book.entries("step"):
            read_step(self._walk, entry)

    def further(self, steps: Sequence[Mapping[str, object]], lines: Lines) -> Reader:
        """The reader of the same book with further steps, each as a table;  lines  where all its entries stand."""
        longer = copy(self)
        content = self._walk.book.content
        longer._walk = walk = self._walk.copied()
        book, written = walk.book, walk.book.rows("step")
        book.data = {**book.data, "step": [*written, *steps]}
        book.content = content.further(steps)
        book.lines = lines
        for number, table in enumerate(steps, len(written)):
            read_step(walk, book.entry_of("step", number, table))
        return longer

    def faults(self, step: Mapping[str, object]) -> list[Finding]:
        """What is wrong with one more step, read exactly as the book would read it."""
        walk = self._walk.copied()
        book, known = walk.book, len(walk.book.findings)
        book.lines = Lines("")
        read_step(walk, book.entry_of("step", len(book.rows("step")), step))
        return book.findings[known:]

    def read(self) -> ReadBook:
        """What the book says."""
        walk = self._walk.copied()
        walk.void_lost_checks()
        visit, book = walk.visit, walk.book
        if walk.places:
            circuits = tuple(
                evolve(c, points=in_order(walk.places[c.id])) if c.id in walk.places else c for c in visit.site.circuits
            )
            visit = evolve(visit, site=evolve(visit.site, circuits=circuits))
        visit = evolve(visit, events=tuple(walk.events))
        for reader in MORE.values():
            visit = reader(book, visit)
        visit = evolve(visit, unread=tuple(dict.fromkeys(book.unread)))
        return ReadBook(visit if self._dated else None, tuple(book.findings), tuple(dict.fromkeys(book.broken)))


def _heading(book: Book) -> tuple[bool, Visit]:
    """Whether the visit has a date, without which nothing can be judged, and what its heading says."""
    head = book.entry("visit")
    site, said = Site(**values(head, Site)), values(head, Visit)
    date, designed = said.pop("date"), said.pop("designed")
    if designed is not None and date is not None and designed > date:
        head.fault("designed", "The design is dated after the visit.", f"a day up to {date}", designed.isoformat())
        designed = None
    visit = Visit(site, date or dt.date(1, 1, 1), designed=designed, choices=_choices(book, head), **said)
    head.close()
    book.without(head, "visit")
    if designed is not None and "kind" in head.bad:  # of which kind of visit it is, the edition depends then
        book.unread.append(
            Unread("visit", "designed", "visit: kind, which could not be read and decides on the design's day")
        )
    return date is not None, visit


def _things(book: Book, visit: Visit) -> Visit:
    """The visit with its building, its instruments and its leads."""
    parts = read_parts(book)
    bonds = read_bonds(book, {p.id for p in parts})
    site = evolve(visit.site, supply=read_supply(book), parts=parts, bonds=bonds)
    site = read_installation(book, site)
    site = evolve(site, links=read_links(book, site))
    instruments, leads = read_instruments(book), read_leads(book)
    return evolve(visit, site=site, instruments=instruments, leads=leads, unread=tuple(book.unread))


def _assumptions(book: Book) -> Assumptions:
    """What this visit assumes otherwise than usual, each within its bounds."""
    entry = book.entry("assumptions")
    found = Assumptions(**values(entry, Assumptions))
    entry.close()
    book.without(entry, "assumptions")
    return found


def _choices(book: Book, head: Entry) -> Choices:
    choices = Choices(**values(head, Choices), assumptions=_assumptions(book))
    # One that cannot be read is none at all: until it can, no current is small enough.
    return evolve(choices, clamp_stop_a=0.0) if "clamp_stop_a" in head.bad else choices
