"""The desk: kept visits, their entries, and what is judged of them. The web pages and the commands both use it."""

from __future__ import annotations

import datetime as dt
import tomllib
import uuid
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from attrs import frozen

from ..assess import assess
from ..errors import VisitBookError
from ..judged import Assessment
from ..records.booktext import as_toml
from ..records.canon import digest
from ..records.kept import CORRECT, FILE, FOLLOWS, ISSUE, OWN_KINDS, PHOTO, STRIKE, Draft, Kept
from ..records.replay import SINGLE, EntryNow, Replayed, effect, entries_of, replay
from ..records.store import Store
from ..records.trouble import Conflict, NoSuch, NotKept
from ..records.typed import to_json
from ..visitbook.read import LARGEST_BYTES

KEPT_JUDGED = 32  # assessments held, by the head of their visit


@frozen
class VisitLine:
    """One visit in the list.

    place, date, kind  from its heading;  entries  standing entries;  changed  when the last event was kept
    head  hash of its last event;  issued  whether a document was issued
    """

    id: str
    place: str
    date: str
    kind: str
    inspector: str
    entries: int
    changed: str
    head: str
    issued: bool


class Desk:
    """A journal with everything done to it. ``url``: path of an SQLite file, or an address (sqlite, postgresql)."""

    def __init__(self, url: str | Path, *, create: bool = True) -> None:
        self.store = Store(url, create=create)
        self._judged: OrderedDict[tuple[str, str], Assessment | None] = OrderedDict()
        self._read: OrderedDict[tuple[str, str], Replayed] = OrderedDict()

    def close(self) -> None:
        """Let go of the journal."""
        self.store.close()

    # ---- visits ----

    def visits(self) -> list[VisitLine]:
        """Every visit, the one changed last first."""
        by_visit: dict[str, list[Kept]] = {}
        for event in self.store.events():
            by_visit.setdefault(event.visit, []).append(event)
        lines = [_line(visit_id, events) for visit_id, events in by_visit.items()]
        return sorted(lines, key=lambda v: v.changed, reverse=True)

    def start(
        self,
        place: str,
        *,
        date: dt.date | str = "",
        kind: str = "periodic",
        by: str = "",
        visit_id: str = "",
        at: str = "",
        **heading: Any,
    ) -> str:
        """A new visit with its heading; gives its id. ``heading``: more keys of the visit table."""
        visit_id = visit_id or str(uuid.uuid4())
        body = {"place": place, "date": str(date or dt.date.today()), "kind": kind, **heading}
        self.add(visit_id, "visit", body, by, id=f"{visit_id[:55]}-heading", at=at)
        return visit_id

    def take_in(self, text: str | bytes, *, by: str = "", visit_id: str = "", at: str = "") -> str:
        """Keep a visit book, all of it or nothing; gives the id of the visit. The text itself is kept as a file.

        Raises VisitBookError for a text that is no visit book. Entries with faults are kept as typed; read them back
        to see the findings.
        """
        content = text if isinstance(text, bytes) else text.encode()
        drafts = book_drafts(content, visit_id or str(uuid.uuid4()), by, at)
        self.store.append(drafts, [content])
        return drafts[0].visit

    def read(self, visit_id: str) -> Replayed:
        """The visit as it stands, with the reader's findings and the event behind each. Raises NoSuch."""
        _, head = self.store.visit_head(visit_id)
        if not head:
            raise NoSuch(f"There is no visit '{visit_id}'.")
        found = self._read.get((visit_id, head))
        if found is None:
            found = replay(visit_id, self.store.events(visit_id))
            _hold(self._read, (visit_id, found.head), found)
        return found

    def assess(self, visit_id: str) -> Assessment | None:
        """The visit judged; None when its heading cannot be read. Held until the visit changes. Raises NoSuch."""
        read = self.read(visit_id)
        key = (visit_id, read.head)
        if key not in self._judged:
            book = read.book
            judged = None if book.visit is None else assess(book.visit, found=book.findings, broken=book.broken)
            _hold(self._judged, key, judged)
        return self._judged[key]

    def as_visit_book(self, visit_id: str) -> str:
        """The visit as the text of a visit book, which reads back as the same visit. Raises NoSuch."""
        read = self.read(visit_id)
        return as_toml(read.tables, f"Written from the journal. Visit {visit_id}, state {read.head}.")

    # ---- entries ----

    def add(
        self, visit_id: str, kind: str, body: Mapping[str, Any], by: str = "", *, id: str = "", at: str = ""
    ) -> Kept:
        """Keep one entry. ``body``: the keys of the visit book's table, values as typed (text), numbers, true, false.

        The same id again adds nothing and gives the first back (``new`` is False); with other content it is a Conflict.
        """
        return self.add_all([Draft(visit_id, kind, dict(body), by, id, at)])[0]

    def add_all(self, drafts: Sequence[Draft]) -> list[Kept]:
        """Keep several entries, all or none: for instance what was collected without signal."""
        return self.store.append([_as_json(d) for d in drafts])

    def correct(
        self,
        event_id: str,
        body: Mapping[str, Any],
        reason: str,
        by: str = "",
        *,
        id: str = "",
        at: str = "",
        seen: str = "",
    ) -> Kept:
        """Replace what an entry says, with a reason; the value before stays in the history.

        seen  id of the event that the person was looking at (``EntryNow.latest.id``); if the entry has been changed
        since, a Conflict says by whom and nothing is kept.
        """
        entry = self._entry(event_id)
        _reason(reason)
        if seen and id != entry.latest.id and entry.latest.id != seen:
            raise Conflict(f"{entry.latest.by or 'Somebody'} changed this entry at {entry.latest.kept_at}; look again.")
        if entry.struck is not None:
            raise Conflict(f"{entry.struck.by or 'Somebody'} took this entry out at {entry.struck.kept_at}; look again.")
        changed = {"event": entry.id, "body": to_json(dict(body)), "reason": reason}
        return self.store.append([Draft(entry.event.visit, CORRECT, changed, by, id, at)])[0]

    def strike(
        self, event_id: str, reason: str, by: str = "", *, id: str = "", at: str = "", undo: bool = False
    ) -> Kept:
        """Take an entry, a correction, a photo or an earlier strike out, with a reason; it stays visible as struck."""
        event = self.store.event(event_id)
        _reason(reason)
        body: dict[str, Any] = {"event": event.id, "reason": reason, **({"undo": True} if undo else {})}
        return self.store.append([Draft(event.visit, STRIKE, body, by, id, at)])[0]

    def undo(self, visit_id: str, by: str = "", *, id: str = "", at: str = "") -> Kept:
        """Take back what was last done in a visit and still stands. Raises NoSuch when there is nothing to take back."""
        events = self.read(visit_id).events
        struck, _ = effect(events)
        for event in reversed(events):
            back = event.kind not in (ISSUE, "erase", "sign", FOLLOWS) and not event.body.get("undo")
            if back and event.id not in struck and event.seq > 1:
                return self.strike(event.id, "taken back", by, id=id, at=at, undo=True)
        raise NoSuch("There is nothing to take back.")

    def history(self, event_id: str) -> list[Kept]:
        """An event and everything that corrected or struck it, or struck its corrections, in order. Raises NoSuch."""
        first = self.store.event(event_id)
        wanted, found = {first.id}, [first]
        for event in self.store.events(first.visit, after=first.no, kinds=(CORRECT, STRIKE)):
            if event.about in wanted:
                wanted.add(event.id)
                found.append(event)
        return found

    # ---- photos and files ----

    def attach(
        self,
        visit_id: str,
        content: bytes,
        caption: str,
        by: str = "",
        *,
        name: str = "",
        media: str = "",
        about: str = "",
        id: str = "",
        at: str = "",
    ) -> Kept:
        """Keep a photo or a file, its bytes once by their hash. ``about``: id of the entry or thing it shows."""
        if not content:
            raise NotKept("The file is empty.")
        hash_ = digest(content)
        kind = PHOTO if media.startswith("image/") else FILE
        body = {"hash": hash_, "size": len(content), "caption": caption, "name": name, "media": media, "about": about}
        return self.store.append([Draft(visit_id, kind, body, by, id, at)], [content])[0]

    def content(self, hash_: str) -> bytes:
        """The bytes of a photo or file. Raises NoSuch, or JournalError when they were changed."""
        return self.store.content(hash_)

    def _entry(self, event_id: str) -> EntryNow:
        event = self.store.event(event_id)
        try:
            return self.read(event.visit).entry(event.id)
        except KeyError as error:
            raise NotKept(f"An event of kind '{event.kind}' is not corrected; strike it instead.") from error


def book_drafts(content: bytes, visit_id: str, by: str, at: str) -> list[Draft]:
    """The entries of a visit book, and the file itself, as drafts. Raises VisitBookError."""
    if len(content) > LARGEST_BYTES:
        raise VisitBookError(f"{len(content)} bytes is too large for a visit book (at most {LARGEST_BYTES}). Is it the right file?")
    try:
        data = tomllib.loads(content.decode("utf-8-sig").replace("\r\n", "\n"), parse_float=Decimal)
    except UnicodeDecodeError as error:
        raise VisitBookError(f"This is not a text file in UTF-8 (byte {error.start}).") from error
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise VisitBookError(f"This cannot be read as a visit book: {error}.") from error
    loose = [k for k, v in data.items() if k in OWN_KINDS or not isinstance(v, (dict, list))]
    if loose or "visit" not in data:
        said = f"'{loose[0]}' is no table of a visit book" if loose else "there is no [visit] table"
        raise VisitBookError(f"This cannot be kept as a visit book: {said}.")
    drafts = [
        Draft(visit_id, name, entry, by, "", at)
        for name, tables in data.items()
        for entry in (tables if isinstance(tables, list) else [tables])
    ]
    drafts.sort(key=lambda d: d.kind != "visit")  # the heading comes first
    whole = {"hash": digest(content), "size": len(content), "caption": "visit book as taken in", "media": "text/toml"}
    return [*map(_as_json, drafts), Draft(visit_id, FILE, {**whole, "name": "", "about": ""}, by, "", at)]


def _as_json(draft: Draft) -> Draft:
    if draft.kind in (CORRECT, STRIKE) or not isinstance(draft.body, Mapping):
        return draft
    return Draft(draft.visit, draft.kind, to_json(dict(draft.body)), draft.by, draft.id, draft.at)


def _reason(reason: str) -> None:
    if not reason.strip():
        raise NotKept("A change needs its reason.")


def _line(visit_id: str, events: Sequence[Kept]) -> VisitLine:
    entries = [e for e in entries_of(events) if e.struck is None]
    heading = next((e.body for e in entries if e.kind == "visit"), {})
    struck, _ = effect(events)
    return VisitLine(
        visit_id,
        *(_said(heading.get(k)) for k in ("place", "date", "kind", "inspector")),
        entries=len(entries),
        changed=events[-1].kept_at,
        head=events[-1].hash,
        issued=any(e.kind == ISSUE and e.id not in struck for e in events),
    )


def _said(value: object) -> str:
    return "" if value is None else str(next(iter(value.values()))) if isinstance(value, dict) and value else str(value)


def _hold(held: OrderedDict[tuple[str, str], Any], key: tuple[str, str], value: Any) -> None:
    held[key] = value
    held.move_to_end(key)
    while len(held) > KEPT_JUDGED:
        held.popitem(last=False)


_ = SINGLE
