"""Events of a visit, one after another, give the visit as it stands: entries, tables, and the reader's findings.

A ``correct`` event replaces the entry it names, a ``strike`` event takes an event out; striking a correction brings
the value before it back, striking a strike brings the entry back. What was struck or replaced is still there to see.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from attrs import evolve, field, frozen

from ..base.errors import Finding, Severity
from ..site.tables import SINGLE
from ..visitbook import ReadBook
from ..visitbook.lines import Lines
from ..visitbook.read import MORE, TABLES, Reader, reader_of
from .contest import Rivals, clocks, for_reader, mixed, rivals_of, several, together
from .event import CORRECT, OWN_KINDS, STRIKE, Kept
from .json_values import from_json, ordered

# Tables that stand once in a visit book; every other one is a list.
JOURNAL = "entry"  # what findings call the place: ``entry:12`` is the visit's twelfth event


@frozen
class EntryNow:
    """One entry of a visit as it stands now.

    event   the event that brought it in;  kind  table of the visit book;  body  as corrected
    number  place among the entries of its kind, from 0;  latest  the event that its present form comes from
    struck  the strike that took it out, None while it stands
    rivals  changes made without knowing of each other, of which one has to be chosen; None when there are none
    mixed   disconnections on other devices that did not know of this reading, nor it of them
    """

    event: Kept
    kind: str
    body: dict[str, Any]
    number: int
    latest: Kept
    struck: Kept | None = None
    rivals: Rivals | None = None
    mixed: tuple[Kept, ...] = ()

    @property
    def contested(self) -> bool:
        """Whether somebody has to choose before anything rests on it."""
        return self.rivals is not None or bool(self.mixed)

    @property
    def id(self) -> str:
        """Id of the event that brought it in; what a correction names."""
        return self.event.id


@frozen
class Replayed:
    """A visit as its events leave it.

    entries   every entry in order, struck ones among them;  tables  what stands, as a visit book would hold it
    book      what the visit book's reader makes of it;  head  hash of the visit's last event
    events    all events of the visit;  reader  of what stands, for what comes after (:func:`replay_on`)
    """

    visit_id: str
    events: tuple[Kept, ...]
    entries: tuple[EntryNow, ...]
    tables: dict[str, Any]
    book: ReadBook
    head: str
    reader: Reader = field(eq=False, repr=False)

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
    rivals, beside = rivals_of(events, struck), mixed(events, struck, corrected)
    numbers: dict[str, int] = {}
    found, shared = [], several(events)
    for event in events:
        if event.kind in OWN_KINDS:
            continue
        latest = corrected.get(event.id, event)
        body = ordered(latest.body["body"] if latest.kind == CORRECT else event.body)
        each = rivals.get(event.id)
        out = None if each else struck.get(event.id)
        if out is not None and shared and latest.kind == CORRECT and latest.knew(out):
            out = None  # whoever wrote it knew that it had been taken out, and chose
        body = each.shown if each else body
        number = numbers.get(event.kind, 0)
        if out is None:
            numbers[event.kind] = number + 1
        off = beside.get(event.id, ()) if out is None else ()
        clash = each if each and each.clash else None
        found.append(EntryNow(event, event.kind, body, number, latest, out, clash, off))
    return tuple(found)


def replay(visit_id: str, events: Sequence[Kept]) -> Replayed:
    """The visit that a visit's events (in order, all of them) leave."""
    entries = entries_of(events)
    tables: dict[str, Any] = {}
    places: dict[tuple[str, int], int] = {}
    findings: list[Finding] = []
    watch = clocks(events)
    first: dict[str, EntryNow] = {}
    for entry in entries:
        if entry.struck is not None:
            continue
        said = for_reader(entry.event, entry.rivals.said if entry.rivals else entry.body, entry.mixed, watch)
        body = {k: from_json(v, k) for k, v in said.items()}
        if entry.kind in SINGLE and entry.kind in tables:
            findings.append(_twice(entry))
            tables[entry.kind] = together(tables[entry.kind], body, first[entry.kind].latest, entry.latest)
            continue
        first.setdefault(entry.kind, entry)
        if entry.kind in SINGLE:
            tables[entry.kind] = body
        else:
            tables.setdefault(entry.kind, []).append(body)
        places[entry.kind, entry.number] = entry.event.seq
    known = {k: v for k, v in tables.items() if k in TABLES or k in MORE}
    findings += [_unknown(e) for e in entries if e.kind not in known and e.struck is None]
    reader = reader_of(known, JOURNAL, _Places(places), findings)
    head = max(events, key=lambda e: e.no).hash if events else ""
    return Replayed(visit_id, tuple(events), entries, tables, reader.read(), head, reader)


def replay_on(before: Replayed, new: Sequence[Kept]) -> Replayed | None:
    """The visit with what came since, read on from where it was; None unless steps came and nothing else.

    Equal in everything to the replay of all its events: a step changes nothing that was read before it, if whoever made it
    knew of that.
    """
    if not new or any(e.kind != "step" for e in new):
        return None
    if any(e.device or e.seen >= 0 for e in new):  # each has to know all that stands before it, the new ones among it
        every = (*before.events, *new)
        if not all(n.knew(e) for at, n in enumerate(new, len(before.events)) for e in every[:at]):
            return None
    if new[0].seq != len(before.events) + 1:
        return None
    watch = clocks((*before.events, *new))
    number = sum(e.kind == "step" and e.struck is None for e in before.entries)
    entries = tuple(EntryNow(e, e.kind, ordered(e.body), number + n, e) for n, e in enumerate(new))
    said = (for_reader(e.event, e.body, (), watch) for e in entries)
    steps = [{k: from_json(v, k) for k, v in body.items()} for body in said]
    places = {(e.kind, e.number): e.event.seq for e in (*before.entries, *entries) if e.struck is None}
    reader = before.reader.further(steps, _Places(places))
    return evolve(
        before,
        events=(*before.events, *new),
        entries=(*before.entries, *entries),
        tables={**before.tables, "step": [*before.tables.get("step", []), *steps]},
        book=reader.read(),
        head=max(new, key=lambda e: e.no).hash,
        reader=reader,
    )


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
