"""Take a whole journal over into another one, event by event as they stand: backup, restore, import.

Nothing is trusted: every event is worked out again on the way in. What is there already must be the same; a journal
that has gone another way is refused, and both are left as they were.
"""

from __future__ import annotations

import secrets
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, Protocol

from sqlalchemy import Connection, insert, select

from . import schema
from .canon import digest
from .event import FILE, PHOTO, StoredEvent
from .personal import Apart
from .rows import events_of, gone_of, head_of
from .store import LARGEST_CONTENT, Store
from .trouble import Conflict, Damaged, JournalError
from .verify import checked_through, hash_of, verify

BATCH = 500


class Source(Protocol):
    """Somewhere a whole journal can be read from."""

    def rows(self) -> Iterable[StoredEvent]:
        """Events in their order."""

    def erased(self) -> Iterable[tuple[str, str]]:
        """(key or hash, id of the erase event)."""

    def apart(self) -> Iterable[Apart]:
        """Personal values."""

    def links(self) -> Iterable[dict[str, Any]]:
        """What devices proved of their own journals."""

    def contents(self) -> Iterable[bytes]:
        """Photos and files."""


class Snapshot:
    """A journal, or one visit of it, as it is at one moment, while others go on writing."""

    def __init__(self, connection: Connection, visit: str = "") -> None:
        self.connection, self.visit = connection, visit

    def rows(self) -> Iterator[StoredEvent]:
        """Events in their order."""
        query = select(schema.event).order_by(schema.event.c.no)
        if self.visit:
            query = query.where(schema.event.c.visit == self.visit)
        for found in self.connection.execution_options(yield_per=BATCH).execute(query):
            yield StoredEvent(*found)

    def erased(self) -> list[tuple[str, str]]:
        """(key or hash, id of the erase event)."""
        c = schema.erased.c
        return [(r[0], r[1]) for r in self.connection.execute(select(c.what, c.event).order_by(c.what))]

    def apart(self) -> list[Apart]:
        """Personal values."""
        c = schema.personal.c
        query = select(c.key, c.visit, c.field, c.value, c.salt).order_by(c.key)
        if self.visit:
            query = query.where(c.visit == self.visit)
        return [Apart(*found) for found in self.connection.execute(query)]

    def links(self) -> Iterator[dict[str, Any]]:
        """What devices proved of their own journals, in the order of each; nothing of one visit by itself."""
        x = schema.link.c
        found = () if self.visit else self.connection.execute(select(schema.link).order_by(x.device, x.no))
        for row in found:
            yield dict(row._mapping)

    def contents(self) -> Iterator[bytes]:
        """Photos and files, one at a time."""
        c = schema.content.c
        hashes = list(self.connection.execute(select(c.hash).order_by(c.hash)).scalars())
        if self.visit:
            own = {e.body.get("hash") for e in events_of(self.connection, self.visit, kinds=(PHOTO, FILE))}
            hashes = [hash_ for hash_ in hashes if hash_ in own]
        for hash_ in hashes:
            yield bytes(self.connection.execute(select(c.bytes).where(c.hash == hash_)).scalar_one())


def take_over(source: Source, store: Store) -> int:
    """Bring a journal into another, all or nothing; how many events were new. Raises Conflict, Damaged, JournalError."""
    with store.writing() as connection:
        new = _events(connection, source.rows())
        ours = gone_of(connection)
        for what, event_id in source.erased():
            if what not in ours:
                connection.execute(insert(schema.erased).values(what=what, event=event_id))
        gone = gone_of(connection)
        connection.execute(schema.personal.delete().where(schema.personal.c.key.in_(gone - ours)))
        connection.execute(schema.content.delete().where(schema.content.c.hash.in_(gone - ours)))
        _apart(connection, source.apart(), gone)
        _contents(connection, source.contents(), gone)
        _links(connection, source.links())
        checked = checked_through(connection)
        if not checked.whole:
            raise Damaged(
                f"What was to be taken over is not whole; nothing was changed. {checked.faults[0].sentence()}"
            )
    return new


def _events(connection: Connection, rows: Iterable[StoredEvent]) -> int:
    c = schema.event.c
    there: dict[int, str] = {row[0]: row[1] for row in connection.execute(select(c.no, c.hash))}
    last_no, last_hash = head_of(connection)
    expected, new, batch = 1, 0, []
    for row in rows:
        if row.no != expected:
            raise Damaged(f"Event {expected} is missing in what is to be taken over. Nothing was changed.")
        expected += 1
        if hash_of(row) != row.hash:
            raise Damaged(f"Event {row.no} is not what was kept: its hash does not fit. Nothing was changed.")
        if row.no in there:
            if there[row.no] != row.hash:
                raise Conflict(
                    f"The two journals have the same first {row.no - 1} events and then differ (event {row.no}): each "
                    "was written to after a copy. Nothing was changed; keep both, and enter the newer work of one again."
                )
            continue
        if row.prev != last_hash or row.no != last_no + 1:
            raise Damaged(f"Event {row.no} does not hang on the one before it. Nothing was changed.")
        last_no, last_hash = row.no, row.hash
        batch.append({name: getattr(row, name) for name in _COLUMNS})
        new += 1
        if len(batch) == BATCH:
            connection.execute(insert(schema.event), batch)
            batch = []
    if batch:
        connection.execute(insert(schema.event), batch)
    return new


_COLUMNS = ("no", "id", "visit", "seq", "kind", "body", "at", "kept_at", "who", "prev", "hash")


def _apart(connection: Connection, values: Iterable[Apart], gone: set[str]) -> None:
    there = set(connection.execute(select(schema.personal.c.key)).scalars())
    for one in values:
        if one.key not in there and one.key not in gone:
            connection.execute(
                insert(schema.personal).values(
                    key=one.key, visit=one.visit, field=one.field, value=one.value, salt=one.salt
                )
            )


def _contents(connection: Connection, contents: Iterable[bytes], gone: set[str]) -> None:
    there = set(connection.execute(select(schema.content.c.hash)).scalars())
    for one in contents:
        if len(one) > LARGEST_CONTENT:
            raise JournalError(
                f"A file of {len(one)} bytes is too large (at most {LARGEST_CONTENT}). Nothing was changed."
            )
        hash_ = digest(one)
        if hash_ not in there and hash_ not in gone:
            connection.execute(insert(schema.content).values(hash=hash_, size=len(one), bytes=one))


def _links(connection: Connection, links: Iterable[dict[str, Any]]) -> None:
    c = schema.link.c
    there = {(row[0], row[1]) for row in connection.execute(select(c.device, c.no))}
    for one in links:
        if (one["device"], one["no"]) not in there:
            connection.execute(insert(schema.link).values(one))


def backup(store: Store, path: Path, also: Callable[[Store], object] = lambda copy: None) -> int:
    """Copy the journal, as it is at this moment, into a new SQLite file, check the copy, and only then give it its name.

    Others may go on writing. Works for SQLite and PostgreSQL alike. ``also``: puts more into the copy. How many events it holds. Raises JournalError.
    """
    if path.exists():
        raise JournalError(f"{path} already exists and is not overwritten. Name another file.")
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")  # a name that nobody else has
    copy = Store(part)
    try:
        with store.reading() as connection:
            count = take_over(Snapshot(connection), copy)
        checked = verify(copy)
        if not checked.whole:
            raise Damaged(f"The journal is not whole, so the copy is not either: {checked.faults[0].sentence()}")
        also(copy)
        with copy.engine.connect() as connection:  # one file that needs no companion
            connection.connection.cursor().execute("PRAGMA journal_mode = DELETE")
    except BaseException:
        copy.close()
        _clear(part)
        raise
    copy.close()
    part.rename(path)
    return count


def _clear(part: Path) -> None:
    for end in ("", "-wal", "-shm", "-journal"):
        part.with_name(part.name + end).unlink(missing_ok=True)


def restore(path: Path, store: Store, also: Callable[[Store], object] = lambda saved: None) -> int:
    """Bring a backup back into an empty journal; ``also``: takes more from it. How many events. Raises JournalError when it is not empty."""
    if store.head()[0]:
        raise JournalError(f"{store.name} already holds entries; a backup can only be restored to a new journal.")
    if not path.is_file():
        raise JournalError(f"There is no backup at {path}.")
    with tempfile.TemporaryDirectory() as folder:  # the backup itself is only read
        saved = Store(shutil.copyfile(path, Path(folder) / "saved.sqlite"), create=False)
        try:
            with saved.reading() as connection:
                count = take_over(Snapshot(connection), store)
            also(saved)
            return count
        finally:
            saved.close()
