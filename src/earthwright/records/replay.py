"""Events of a visit, one after another, give the visit as it stands: entries, tables, and the reader's findings.

A ``correct`` event replaces the entry it names, a ``strike`` event takes an event out; striking a correction brings
the value before it back, striking a strike brings the entry back. What was struck or replaced is still there to see.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from attrs import frozen

from ..base.errors import Finding, Severity
from ..visitbook import ReadBook, read_tables
from ..visitbook.lines import Lines
from ..visitbook.read import MORE, TABLES
from .event import CORRECT, OWN_KINDS, STRIKE, Kept
from .json_values import from_json, ordered

# Tables that stand once in a visit book; every other one is a list.
SINGLE = ("visit", "supply", "usual", "report", "origin", "danger", "inspected")
JOURNAL = "entry"  # what findings call the place: ``entry:12`` is the visit's twelfth event


@frozen
class EntryNow:
    """One entry of a visit as it stands now.

    event   the event that brought it in;  kind  table of the visit book;  body  as corrected
    number  place among the entries of its kind, from 0;  latest  the event that its present form comes from
    struck  the strike that took it out, None while it stands
    """

    event: Kept
    kind: str
    body: dict[str, Any]
    number: int
    latest: Kept
    struck: Kept | None = None

    @property
    def id(self) -> str:
        """Id of the event that brought it in; what a correction names."""
        return self.event.id


@frozen
class Replayed:
    """A visit as its events leave it.

    entries   every entry in order, struck ones among them;  tables  what stands, as a visit book would hold it
    book      what the visit book's reader makes of it;  head  hash of the visit's last event
    events    all events of the visit
    """

    visit_id: str
    events: tuple[Kept, ...]
    entries: tuple[EntryNow, ...]
    tables: dict[str, Any]
    book: ReadBook
    head: str

    def entry(self, event_id: str) -> EntryNow:
        """The entry that an event brought in. Raises KeyError."""
        for entry in self.entries:
            if entry.id == event_id:
                return entry
        raise KeyError(event_id)

    def event_at(self, line: int) -> str:
        """Id of the event behind ``line`` of a finding or of a thing done (``Happened.line``); empty if none."""
        return self.events[line - 1].id if 0 < line <= len(self.events) else ""

    def event_of(self, kind: str, name: str) -> str:
        """Id of the event that brought in the standing entry of that kind and id (or part); empty if none."""
        for entry in self.entries:
            if entry.kind == kind and entry.struck is None:
                label = entry.body.get("id") or entry.body.get("part")
                if label == name:
                    return entry.id
        return ""

    def at_field(self, event_id: str) -> list[tuple[str, Finding]]:
        """Findings of the reader about one entry, each with the key it concerns (empty: the whole entry)."""
        found = []
        for finding in self.book.findings:
            if finding.file == JOURNAL and self.event_at(finding.line) == event_id:
                key = finding.where[len(finding.entry) + 2 :] if finding.where.startswith(finding.entry + ": ") else ""
                found.append((key, finding))
        return found


class _Places(Lines):
    """In place of a line in a file: the number of the event in its visit."""

    def __init__(self, places: dict[tuple[str, int], int]) -> None:
        super().__init__("")
        self._places = places

    def of(self, table: str, number: int = 0, key: str = "") -> int:
        """Number in the visit of the event that brought in the entry."""
        return self._places.get((table, number), 0)


def effect(events: Sequence[Kept]) -> tuple[dict[str, Kept], dict[str, Kept]]:
    """What is struck and by which strike, and the correction that counts for each entry."""
    struck: dict[str, Kept] = {}
    for event in reversed(events):  # a strike may itself be struck, by a later one
        if event.kind == STRIKE and event.id not in struck:
            struck.setdefault(event.about, event)
    corrected: dict[str, Kept] = {}
    for event in events:
        if event.kind == CORRECT and event.id not in struck:
            corrected[event.about] = event
    return struck, corrected


def entries_of(events: Sequence[Kept]) -> tuple[EntryNow, ...]:
    """Every entry of the visit book's own kinds, as it stands."""
    struck, corrected = effect(events)
    numbers: dict[str, int] = {}
    found = []
    for event in events:
        if event.kind in OWN_KINDS:
            continue
        latest = corrected.get(event.id, event)
        body = ordered(latest.body["body"] if latest.kind == CORRECT else event.body)
        out = struck.get(event.id)
        number = numbers.get(event.kind, 0)
        if out is None:
            numbers[event.kind] = number + 1
        found.append(EntryNow(event, event.kind, body, number, latest, out))
    return tuple(found)


def replay(visit_id: str, events: Sequence[Kept]) -> Replayed:
    """The visit that a visit's events (in order, all of them) leave."""
    entries = entries_of(events)
    tables: dict[str, Any] = {}
    places: dict[tuple[str, int], int] = {}
    findings: list[Finding] = []
    for entry in entries:
        if entry.struck is not None:
            continue
        if entry.kind in SINGLE and entry.kind in tables:
            findings.append(_twice(entry))
            continue
        body = {k: from_json(v, k) for k, v in entry.body.items()}
        if entry.kind in SINGLE:
            tables[entry.kind] = body
        else:
            tables.setdefault(entry.kind, []).append(body)
        places[entry.kind, entry.number] = entry.event.seq
    known = {k: v for k, v in tables.items() if k in TABLES or k in MORE}
    book = read_tables(known, JOURNAL, _Places(places))
    findings += [_unknown(e) for e in entries if e.kind not in known and e.struck is None]
    book = ReadBook(book.visit, (*findings, *book.findings), book.broken)
    return Replayed(visit_id, tuple(events), entries, tables, book, events[-1].hash if events else "")


def _twice(entry: EntryNow) -> Finding:
    return Finding(
        entry.kind,
        "This was entered a second time; the first entry counts.",
        Severity.ERROR,
        "input.entry",
        entry.kind,
        "one entry of this kind",
        f"another by {entry.event.by or 'nobody named'}",
        "Correct the first one with what is right, and strike this one.",
        file=JOURNAL,
        line=entry.event.seq,
    )


def _unknown(entry: EntryNow) -> Finding:
    return Finding(
        entry.kind,
        "This kind of entry is not known here, so what it says is kept but not judged.",
        Severity.ERROR,
        "input.entry",
        entry.kind,
        "one of: " + ", ".join((*TABLES, *MORE)),
        entry.kind,
        "Use the later program, or strike the entry.",
        file=JOURNAL,
        line=entry.event.seq,
    )
