"""Is the journal what was kept? Every event worked out again, every file hashed again, every trigger looked for.

A chain tells of itself that nothing inside it was changed, taken out or put in. It cannot tell that its end is missing:
for that it is held against hashes that are known from elsewhere (printed on documents, written down, in a backup).
:mod:`earthwright.desk.anchors` reads those out of papers, exports, backups and witness files.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from attrs import evolve, field, frozen
from sqlalchemy import Connection, inspect, select, text
from sqlalchemy.exc import DBAPIError

from ..base.errors import Finding
from . import schema
from .canon import NOTHING_BEFORE, canonical, digest, envelope, parsed
from .event import ERASE, FILE, ID, ISSUE, KIND, PHOTO, StoredEvent
from .migrate import VERSION, version
from .migrations.guards import NAMES
from .personal import Apart, references
from .store import Store
from .trouble import JournalError

MOST_FAULTS = 50
SHORTEST = 12  # digits of a hash that are enough to look for it
BATCH = 500


@frozen
class Head:
    """An end of the chain that somebody kept: ``source`` says where, ``no`` and ``hash`` which event it was."""

    source: str
    no: int
    hash: str


@frozen
class Verified:
    """What a check of the journal found.

    events, files  how many were worked out again;  head  hash of the last event
    faults         what is not as it was kept, each with its place;  notes  what is worth knowing and no fault
    found          hashes that were given out, with where they stand;  missing  those that stand nowhere
    """

    events: int
    files: int
    head: str
    faults: tuple[Finding, ...]
    notes: tuple[Finding, ...] = ()
    found: tuple[tuple[str, str], ...] = ()
    missing: tuple[str, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults


class _Enough(Exception):
    """One fault was all that was asked for."""


@frozen
class _Seen:
    """What is remembered while the events go by."""

    faults: list[Finding] = field(factory=list)
    notes: list[Finding] = field(factory=list)
    seqs: dict[str, int] = field(factory=dict)
    seals: dict[str, tuple[str, int]] = field(factory=dict)
    files: dict[str, int] = field(factory=dict)
    erased: dict[str, str] = field(factory=dict)
    hashes: dict[str, str] = field(factory=dict)
    ends: dict[int, str] = field(factory=dict)
    sent: set[tuple[int, str]] = field(factory=set)
    wanted: frozenset[int] = frozenset()
    clock: list[str] = field(factory=list)
    first: bool = False

    def fault(self, where: str, what: str, expected: str = "", found: str = "", do: str = "") -> None:
        """Remember one fault, up to a number that a person can read."""
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(Finding.of("journal.chain", where, what, "", expected, found, do or _RESTORE))
        if self.first:
            raise _Enough


_RESTORE = "Leave the journal as it is, keep a copy of it, and compare with the last backup."


def verify(store: Store, known: Sequence[str] = (), heads: Sequence[Head] = (), *, first: bool = False) -> Verified:
    """Check a whole journal.

    known  hashes (12 digits or more) from documents or notes that must be in the chain: of an event, of an issued
           document or its record, of a file, of what was signed
    heads  ends of the chain that were kept elsewhere: each must still be the event it was
    first  go no further than the first fault
    """
    found = Verified(0, 0, "", ())
    try:
        with store.from_disk() as connection:
            found = checked_through(connection, known, heads, structure=True, first=first)
    except (DBAPIError, sqlite3.Error, UnicodeError) as error:
        return found if found.faults else evolve(found, faults=(_unreadable(0, error),))
    return found


def _unreadable(count: int, error: Exception) -> Finding:
    said = str(getattr(error, "orig", None) or error).splitlines()[0]
    what = f"The database cannot be read any further: {said}."
    return Finding.of("journal.chain", f"after event {count}", what, do=_RESTORE)


def checked_through(
    connection: Connection,
    known: Sequence[str] = (),
    heads: Sequence[Head] = (),
    *,
    structure: bool = False,
    first: bool = False,
) -> Verified:
    """Check what a connection sees, with what it has written and not yet finished. ``structure``: the database too."""
    seen = _Seen(first=first, wanted=frozenset(h.no for h in heads))
    found: dict[str, str] = {}
    count, last, files = 0, NOTHING_BEFORE, 0
    try:
        if structure:
            _structure(connection, seen)
        for row in _rows(connection):
            last = _event(row, count, last, seen)
            count += 1
        _links(connection, seen)
        files = _apart(connection, seen)
        found = _known(known, count, last, seen)
        _heads(heads, count, seen)
    except _Enough:
        pass
    except (DBAPIError, sqlite3.Error, UnicodeError) as error:
        seen.faults.append(_unreadable(count, error))
    return Verified(
        count,
        files,
        last if count else "",
        tuple(seen.faults),
        tuple(seen.notes),
        tuple(found.items()),
        tuple(k for k in known if k not in found),
    )


NOT_IN_CHAIN = "A hash that was given out is not in the chain: events are missing, or this is another journal."


def _known(known: Sequence[str], count: int, last: str, seen: _Seen) -> dict[str, str]:
    found = {}
    for hash_ in known:  # a document may print only the beginning
        where = [w for h, w in seen.hashes.items() if len(hash_) >= SHORTEST and h.startswith(hash_.lower())]
        if where:
            found[hash_] = where[0]
        else:
            seen.fault("chain", NOT_IN_CHAIN, hash_, f"{count} events up to {last[:12]}…")
    return found


def _heads(heads: Sequence[Head], count: int, seen: _Seen) -> None:
    """Whether each end that was kept elsewhere is still the event it was."""
    for head in heads:
        if (head.no, head.hash) in seen.sent:  # the end of a device's journal, which sent its chain here
            continue
        if head.no > count:
            what = "The journal was rolled back or cut: it has fewer events than when this was written."
            seen.fault(head.source, what, f"event {head.no}, {head.hash[:12]}…", f"{count} events")
        elif seen.ends.get(head.no) != head.hash:
            what = (
                "The journal was chained anew, or this is another one: the event of that number is not the one it was."
            )
            seen.fault(head.source, what, f"event {head.no}, {head.hash[:12]}…", f"{seen.ends.get(head.no, '')[:12]}…")


def _structure(connection: Connection, seen: _Seen) -> None:
    if connection.dialect.name == "sqlite":
        for (said,) in connection.execute(text("PRAGMA integrity_check(10)")):
            if said != "ok":
                seen.fault("file", f"The database's own check says: {str(said).splitlines()[0]}.")
        there = connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'"))
    else:
        there = connection.execute(
            text("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled = 'O' AND tgrelid = ANY(:t)"),
            {
                "t": [
                    connection.execute(text("SELECT to_regclass(:n)::oid"), {"n": t.name}).scalar()
                    for t in schema.TABLES
                ]
            },
        )
    names = set(there.scalars())
    for name in NAMES:
        if name not in names:
            seen.fault("database", f"The guard '{name}' is gone, so events could be changed.", "all guards in place")
    if (found := version(connection)) != VERSION:
        seen.fault("database", "The journal is of another version.", VERSION, found)
    tables = set(inspect(connection).get_table_names())
    for table in schema.TABLES:
        if table.name not in tables:
            seen.fault("database", f"The table '{table.name}' is gone.")


def _rows(connection: Connection) -> Iterator[StoredEvent]:
    result = connection.execution_options(yield_per=BATCH).execute(select(schema.event).order_by(schema.event.c.no))
    for found in result:
        yield StoredEvent(*found)


# Hashes inside entries that leave the house on paper, and what they are of.
_GIVEN_OUT = {
    ISSUE: {
        "record": "record of a document that was issued",
        "hash": "file of a document that was issued",
        "content": "visit as a document was issued from it",
    },
    "sign": {"content": "visit as it was signed"},
    "receipt": {"content": "visit as a document of it was received"},
    FILE: {"hash": "a file that is kept"},
    PHOTO: {"hash": "a photo that is kept"},
}


def _event(row: StoredEvent, count: int, last: str, seen: _Seen) -> str:
    """Check one event; its hash."""
    where = f"event {row.no}"
    _in_its_place(row, count, last, where, seen)
    texts = (row.id, row.visit, row.kind, row.body, row.at, row.kept_at, row.who, row.prev, row.hash)
    if not all(isinstance(t, str) for t in texts):
        seen.fault(where, "A value is not a text.")
        return str(row.hash)
    if not (ID.fullmatch(row.id) and ID.fullmatch(row.visit) and KIND.fullmatch(row.kind)):
        seen.fault(where, "Its id, visit or kind is of no form that is kept.")
    if hash_of(row) != row.hash:
        seen.fault(where, "It is not what was kept: its hash does not fit its content.")
    seen.hashes[row.hash] = where
    if row.no in seen.wanted:
        seen.ends[row.no] = row.hash
    try:
        body, who = parsed(row.body), parsed(row.who)
    except (ValueError, RecursionError):
        body, who = None, ""
    if not isinstance(body, dict):
        seen.fault(where, "Its content cannot be read.")
        return row.hash
    _what_it_names(row, body, who, where, seen)
    if seen.clock and row.kept_at < seen.clock[-1]:
        seen.notes.append(
            Finding.of(
                "journal.clock",
                where,
                "The computer's clock was set back before this event. The order of the chain is the order of events.",
                found=f"{row.kept_at} after {seen.clock[-1]}",
            )
        )
    seen.clock[:] = [row.kept_at]
    return row.hash


def _in_its_place(row: StoredEvent, count: int, last: str, where: str, seen: _Seen) -> None:
    """Whether an event follows the one before it, in the journal and in its visit."""
    if row.no != count + 1:
        seen.fault(where, "The numbers have a gap or a double.", str(count + 1), str(row.no))
    following = seen.seqs.get(row.visit, 0) + 1
    if not isinstance(row.seq, int) or row.seq != following:
        seen.fault(where, "The numbers inside the visit do not follow.", str(following), str(row.seq))
    seen.seqs[row.visit] = row.seq if isinstance(row.seq, int) else 0
    if row.prev != last:
        seen.fault(where, "It does not hang on the event before it.", str(last)[:16], str(row.prev)[:16])


def _what_it_names(row: StoredEvent, body: dict[str, Any], who: Any, where: str, seen: _Seen) -> None:
    """Note the personal values, papers, files and erasures that an event names."""
    for key, seal in references([body, who]):
        seen.seals.setdefault(key, (seal, row.no))
    for name, said in _GIVEN_OUT.get(row.kind, {}).items():
        seen.hashes.setdefault(str(body.get(name)), f"{where}: {said}")
    if row.kind in (PHOTO, FILE):
        seen.files.setdefault(str(body.get("hash")), row.no)
    if row.kind == ERASE:
        seen.erased.update((str(what), row.id) for what in (*body.get("keys", ()), *body.get("files", ())))


def hash_of(row: StoredEvent) -> str:
    """The hash that an event must have."""
    parts = {n: getattr(row, n) for n in ("no", "id", "visit", "seq", "kind", "body", "at", "kept_at", "prev")}
    return digest(envelope(**parts, by=row.who))


def _links(connection: Connection, seen: _Seen) -> None:
    """Check what devices proved of their own journals: each event there hangs on the one before, with the texts kept here."""
    e, x = schema.event.c, schema.link.c
    query = select(schema.link, e.no.label("here"), e.id, e.visit, e.kind, e.body.label("b"), e.at, e.who.label("w"))
    last: tuple[object, int, str] = ("", 0, "")
    for r in connection.execute(
        query.select_from(schema.link.join(schema.event, x.event == e.id)).order_by(x.device, x.no)
    ):
        row = StoredEvent(
            r.no, r.id, r.visit, r.seq, r.kind, r.body or r.b, r.at, r.kept_at, r.who or r.w, r.prev, r.hash
        )
        where = f"event {r.here}, number {r.no} of device {str(r.device)[:8]}"
        if hash_of(row) != r.hash:
            seen.fault(where, "It is not what that device sent: its hash there does not fit its content.")
        if last[0] == r.device and last[1] + 1 == r.no and last[2] != r.prev:
            seen.fault(
                where, "It does not hang on the event before it in that device's journal.", last[2][:16], r.prev[:16]
            )
        last = r.device, r.no, r.hash
        seen.hashes.setdefault(r.hash, where)
        seen.sent.update(((r.no, r.hash), (r.no - 1, r.prev)))


def _apart(connection: Connection, seen: _Seen) -> int:
    """Check what stands apart: personal values, files, erasures. How many files were hashed."""
    gone = {row[0]: row[1] for row in connection.execute(select(schema.erased.c.what, schema.erased.c.event))}
    if gone != seen.erased:
        odd = min(str(what) for what, _ in set(gone.items()) ^ set(seen.erased.items()))
        seen.fault("erasures", "What was taken out and what was signed to be taken out differ.", "", odd[:16])
    c = schema.personal.c
    there = set()
    for found in connection.execute(select(c.key, c.visit, c.field, c.value, c.salt)):
        apart = Apart(*found)
        there.add(apart.key)
        seal, no = seen.seals.get(apart.key, ("", 0))
        if not no:
            seen.fault("personal data", "A name or address belongs to no event.", "", str(apart.key)[:16])
        elif _seal(apart) != seal:
            seen.fault(f"event {no}", f"The {apart.field} was changed after it was kept.")
    for key, (_, no) in seen.seals.items():
        if key not in there and key not in gone:
            seen.fault(f"event {no}", "A name or address is missing and was never erased.")
    return _files(connection, seen, gone)


def _seal(apart: Apart) -> str:
    try:
        return digest(f"{apart.salt}:{canonical(apart.value)}")
    except JournalError:
        return ""


def _files(connection: Connection, seen: _Seen, gone: Iterable[str]) -> int:
    c = schema.content.c
    names = list(connection.execute(select(c.hash)).scalars())
    for name in names:
        found = connection.execute(select(c.size, c.bytes).where(c.hash == name)).first()
        size, raw = (found[0], found[1]) if found else (0, None)
        if not isinstance(raw, (bytes, memoryview)) or digest(bytes(raw)) != name or size != len(raw):
            seen.fault(
                f"file {str(name)[:12]}…", "It was changed after it was kept.", "", f"event {seen.files.get(name, '?')}"
            )
        if name not in seen.files:
            what = "It belongs to no event: it was sent, and what it shows was not."
            seen.notes.append(Finding.of("journal.file", f"file {str(name)[:12]}…", what))
    for name, no in seen.files.items():
        if name not in names and name not in gone:
            seen.fault(f"event {no}", f"Its file {name[:12]}… is missing and was never erased.")
    return len(names)
