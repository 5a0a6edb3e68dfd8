"""The journal in a database: append, read, and nothing else.

SQLite (one file, write-ahead log, every commit flushed to the disk) or PostgreSQL. Several programs may write at once:
each takes its turn at the end of the chain (SQLite: BEGIN IMMEDIATE; PostgreSQL: an advisory lock), and the database
itself refuses an event that does not follow the last one.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import uuid
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from attrs import evolve
from sqlalchemy import Connection, Engine, create_engine, event, func, insert, select, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError
from sqlalchemy.pool import StaticPool

from . import schema
from .apart import Apart, is_reference, new_apart, put_back, set_apart
from .canon import LARGEST_BYTES, NOTHING_BEFORE, canonical, digest, envelope, parsed
from .kept import CORRECT, ID, KIND, Draft, Kept, Row
from .migrate import VERSION, bring_up, version
from .said import in_words
from .trouble import Conflict, JournalError, NoSuch, NotKept

WAIT_S = 30
LOCK = 0x6561727468  # the advisory lock that stands for the end of the chain
LARGEST_CONTENT = 25_000_000  # bytes of one photo or file
_INSERT_EVENT = insert(schema.event)


def now() -> str:
    """The journal's clock: UTC, to the microsecond."""
    return dt.datetime.now(dt.UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


class Store:
    """A journal in a database. ``url`` is a path of an SQLite file, or ``sqlite:///…`` or ``postgresql://…``."""

    def __init__(self, url: str | Path, *, create: bool = True) -> None:
        self.engine = _engine(url)
        self.sqlite = self.engine.dialect.name == "sqlite"
        self.name = self.engine.url.render_as_string(hide_password=True)
        with in_words(self.name):
            if self.sqlite and not create and not Path(self.engine.url.database or "").is_file():
                raise NoSuch(f"There is no journal at {self.engine.url.database}.")
            with self.engine.connect() as connection:
                found = version(connection)
            if found != VERSION:
                with self.writing() as connection:
                    if not self.sqlite:
                        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
                    bring_up(connection)

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    @contextlib.contextmanager
    def reading(self) -> Iterator[Connection]:
        """One look at the journal: everything read inside belongs together."""
        with in_words(self.name), self.engine.connect() as connection:
            if not self.sqlite:
                connection = connection.execution_options(isolation_level="REPEATABLE READ")
            with connection.begin():
                yield connection

    @contextlib.contextmanager
    def writing(self) -> Iterator[Connection]:
        """A turn at the end of the chain: what is written inside is kept whole or not at all."""
        with in_words(self.name), self.engine.connect() as connection:
            connection = connection.execution_options(writes=True)
            with connection.begin():
                yield connection

    # ---- writing ----

    def append(self, drafts: Sequence[Draft], contents: Sequence[bytes] = ()) -> list[Kept]:
        """Keep events, all or none, and say where they stand in the chain.

        An id that is there already with the same content is given back as it was kept and adds nothing.
        Raises NotKept for an entry of no keepable form, Conflict for an id used with other content, JournalError.
        """
        drafts = [_checked(d) for d in drafts]
        for one in contents:
            if len(one) > LARGEST_CONTENT:
                raise NotKept(f"expected a file of at most {LARGEST_CONTENT} bytes, found {len(one)}.")
        with self.writing() as connection:
            writer = _Writer(connection, self.sqlite)
            for one in contents:
                writer.content(one)
            return [writer.event(d) for d in drafts]

    def erase(self, draft: Draft, keys: Sequence[str], hashes: Sequence[str]) -> Kept:
        """Keep an erase event and take out what it names: personal values by key, files by hash."""
        draft = _checked(draft)
        with self.writing() as connection:
            kept = _Writer(connection, self.sqlite).event(draft)
            for what in (*keys, *hashes):
                connection.execute(insert(schema.erased).values(what=what, event=kept.id))
            connection.execute(schema.personal.delete().where(schema.personal.c.key.in_(keys)))
            connection.execute(schema.content.delete().where(schema.content.c.hash.in_(hashes)))
        self._wipe()
        return kept

    def _wipe(self) -> None:
        """Leave no trace of deleted rows in the database's own files (secure_delete has zeroed the pages)."""
        with in_words(self.name), self.engine.connect() as connection:
            if self.sqlite:
                connection.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # type: ignore[attr-defined]
            else:
                connection = connection.execution_options(isolation_level="AUTOCOMMIT")
                connection.execute(text("VACUUM personal, content"))

    # ---- reading ----

    def head(self) -> tuple[int, str]:
        """Number and hash of the last event; 0 and zeros when there is none."""
        with self.reading() as connection:
            return _head(connection)

    def visit_head(self, visit: str) -> tuple[int, str]:
        """Number in the visit and hash of the visit's last event; 0 and empty when there is no such visit."""
        c = schema.event.c
        with self.reading() as connection:
            row = connection.execute(select(c.seq, c.hash).where(c.visit == visit).order_by(c.seq.desc()).limit(1)).first()
            return (row[0], row[1]) if row else (0, "")

    def events(self, visit: str = "", *, after: int = 0, kinds: Sequence[str] = ()) -> list[Kept]:
        """Events in their order: of one visit, after a number, of some kinds."""
        c = schema.event.c
        query = select(schema.event).where(c.no > after).order_by(c.no)
        if visit:
            query = query.where(c.visit == visit)
        if kinds:
            query = query.where(c.kind.in_(kinds))
        with self.reading() as connection:
            rows = [Row(*r) for r in connection.execute(query)]
            values = apart_of(connection, visit)
            gone = set(connection.execute(select(schema.erased.c.what)).scalars())
        return [kept(r, values, gone) for r in rows]

    def event(self, event_id: str) -> Kept:
        """The event of that id. Raises NoSuch."""
        with self.reading() as connection:
            row = _by_id(connection, event_id)
            if row is None:
                raise NoSuch(f"There is no event '{event_id}'.")
            gone = set(connection.execute(select(schema.erased.c.what)).scalars())
            return kept(row, apart_of(connection, row.visit), gone)

    def content(self, hash_: str) -> bytes:
        """A photo or file by its hash. Raises NoSuch when it is not there, JournalError when it was changed."""
        with self.reading() as connection:
            found = connection.execute(select(schema.content.c.bytes).where(schema.content.c.hash == hash_)).scalar()
        if found is None:
            raise NoSuch(f"There is no file {hash_[:12]}… in the journal.")
        if digest(bytes(found)) != hash_:
            raise JournalError(f"The file {hash_[:12]}… was changed after it was kept.")
        return bytes(found)


class _Writer:
    """One turn at the end of the chain."""

    def __init__(self, connection: Connection, sqlite: bool) -> None:
        self.connection = connection
        if not sqlite:
            connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
        self.no, self.hash = _head(connection)
        self.seqs: dict[str, int] = {}
        self.known: dict[tuple[str, str, str], Apart] = {}

    def content(self, one: bytes) -> None:
        c = schema.content.c
        hash_ = digest(one)
        if self.connection.execute(select(c.size).where(c.hash == hash_)).first() is None:
            self.connection.execute(insert(schema.content).values(hash=hash_, size=len(one), bytes=one))

    def event(self, draft: Draft) -> Kept:
        """Append one event, or find that it is there."""
        row = _by_id(self.connection, draft.id)
        if row is not None:
            return self.again(row, draft)
        if draft.visit not in self.seqs:
            c = schema.event.c
            last = self.connection.execute(select(func.max(c.seq)).where(c.visit == draft.visit)).scalar()
            self.seqs[draft.visit] = last or 0
        kept_at = now()
        draft = evolve(draft, at=draft.at or kept_at)
        body, who = self.parts(draft)
        values: dict[str, Any] = {
            "no": self.no + 1,
            "id": draft.id,
            "visit": draft.visit,
            "seq": self.seqs[draft.visit] + 1,
            "kind": draft.kind,
            "body": body,
            "at": draft.at,
            "kept_at": kept_at,
            "prev": self.hash,
        }
        hash_ = digest(envelope(by=who, **values))
        self.connection.execute(_INSERT_EVENT, {**values, "who": who, "hash": hash_})
        self.no, self.hash, self.seqs[draft.visit] = values["no"], hash_, values["seq"]
        return Kept(**{**values, "body": parsed(canonical(draft.body)), "by": draft.by, "hash": hash_})

    def parts(self, draft: Draft) -> tuple[str, str]:
        """Body and sender as they are hashed, with personal values set apart."""
        kind = draft.kind
        if kind == CORRECT:  # the new body is one of the kind that it corrects
            row = _by_id(self.connection, str(draft.body.get("event", "")))
            kind = row.kind if row else kind

        def reference(field: str, value: str) -> dict[str, str]:
            return self.apart(draft.visit, field, value).reference

        body = canonical(set_apart(kind, draft.body, reference), draft.kind)
        if len(body.encode()) > LARGEST_BYTES:
            raise NotKept(f"{draft.kind}: expected an entry of at most {LARGEST_BYTES} bytes, found {len(body.encode())}.")
        return body, canonical(reference("by", draft.by) if draft.by else "")

    def apart(self, visit: str, field: str, value: str) -> Apart:
        at = (visit, field, value)
        if at not in self.known:
            c = schema.personal.c
            found = self.connection.execute(
                select(schema.personal).where(c.visit == visit, c.field == field, c.value == value).limit(1)
            ).first()
            if found is None:
                made = new_apart(visit, field, value)
                self.connection.execute(
                    insert(schema.personal).values(
                        key=made.key, visit=visit, field=field, value=value, salt=made.salt
                    )
                )
                self.known[at] = made
            else:
                self.known[at] = Apart(*found)
        return self.known[at]

    def again(self, row: Row, draft: Draft) -> Kept:
        """The event that is there under this id, if it is the same one."""
        gone = set(self.connection.execute(select(schema.erased.c.what)).scalars())
        found = kept(row, apart_of(self.connection, row.visit), gone)
        same = _same(parsed(row.body), found.body, parsed(canonical(draft.body)), gone)
        same = same and _same(parsed(row.who), found.by, draft.by, gone)
        if not same or (row.visit, row.kind) != (draft.visit, draft.kind):
            raise Conflict(
                f"Event {draft.id} is in the journal with other content (number {row.no}, {row.kind}). "
                "What is kept stays; give the new entry an id of its own."
            )
        return evolve(found, new=False)


def _same(stored: Any, found: Any, sent: Any, gone: set[str]) -> bool:
    """Whether what was sent is what is kept; an erased value can no longer be compared and counts as the same."""
    if is_reference(stored):
        return stored["personal"] in gone or found == sent
    if isinstance(stored, dict) and isinstance(sent, dict) and set(stored) == set(sent):
        return all(_same(stored[k], found[k], sent[k], gone) for k in stored)
    return bool(stored == sent)


def _checked(draft: Draft) -> Draft:
    """The draft with an id; refused when its frame is not in order."""
    draft = evolve(draft, id=draft.id or str(uuid.uuid4()))
    for name, value, form in (("id", draft.id, ID), ("visit", draft.visit, ID), ("kind", draft.kind, KIND)):
        if not isinstance(value, str) or not form.fullmatch(value):
            raise NotKept(f"{name}: expected {form.pattern}, found {value!r}.")
    for name, value in (("by", draft.by), ("at", draft.at)):
        if not isinstance(value, str) or len(value) > 200:
            raise NotKept(f"{name}: expected a text of at most 200 characters, found {str(value)[:60]!r}.")
        canonical(value, name)
    if not isinstance(draft.body, dict):
        raise NotKept(f"{draft.kind}: expected keys and values, found {draft.body!r}.")
    canonical(draft.body, draft.kind)
    return draft


def _head(connection: Connection) -> tuple[int, str]:
    c = schema.event.c
    row = connection.execute(select(c.no, c.hash).order_by(c.no.desc()).limit(1)).first()
    return (row[0], row[1]) if row else (0, NOTHING_BEFORE)


def _by_id(connection: Connection, event_id: str) -> Row | None:
    row = connection.execute(select(schema.event).where(schema.event.c.id == event_id)).first()
    return Row(*row) if row else None


def apart_of(connection: Connection, visit: str = "") -> dict[str, str]:
    """Personal values by key, of one visit or of all."""
    c = schema.personal.c
    query = select(c.key, c.value)
    return {k: v for k, v in connection.execute(query.where(c.visit == visit) if visit else query)}


def kept(row: Row, values: dict[str, str], gone: set[str]) -> Kept:
    """A row with its personal values put back."""
    body = put_back(parsed(row.body), values, gone.__contains__)
    by = put_back(parsed(row.who), values, gone.__contains__)
    return Kept(row.no, row.id, row.visit, row.seq, row.kind, body, row.at, row.kept_at, by, row.prev, row.hash)


def _engine(url: str | Path) -> Engine:
    """The engine for a path or an address. Raises JournalError for an address that is not understood."""
    wanted = str(url)
    if "://" not in wanted:
        wanted = f"sqlite:///{wanted}"
    try:
        made = make_url(wanted)
    except ArgumentError as error:
        raise JournalError("This is no path and no address of a database.") from error
    if made.drivername in ("postgresql", "postgres"):
        made = made.set(drivername="postgresql+psycopg")
    if made.get_backend_name() not in ("sqlite", "postgresql"):
        raise JournalError(f"A journal is kept in SQLite or PostgreSQL, not in {made.get_backend_name()}.")
    options: dict[str, Any] = {}
    if made.get_backend_name() == "sqlite" and made.database in (None, "", ":memory:"):
        options = {"poolclass": StaticPool, "connect_args": {"check_same_thread": False}}
    try:
        engine = create_engine(made, **options)
    except (ModuleNotFoundError, NoSuchModuleError) as error:
        raise JournalError("For PostgreSQL install the extra 'office' (psycopg).") from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _prepare)
        event.listen(engine, "begin", _begin)
    return engine


def _prepare(dbapi: Any, _: Any) -> None:
    """Every commit is on the disk before it is acknowledged; what is deleted is overwritten."""
    dbapi.isolation_level = None  # transactions are begun below, not guessed by the driver
    cursor = dbapi.cursor()
    for pragma in (
        f"busy_timeout = {WAIT_S * 1000}",
        "journal_mode = WAL",  # where the file system cannot, SQLite stays with its rollback journal
        "synchronous = FULL",
        "foreign_keys = ON",
        "secure_delete = ON",
        "trusted_schema = OFF",
    ):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

