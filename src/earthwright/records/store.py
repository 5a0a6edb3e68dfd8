"""The journal in a database: append, read, and nothing else.

SQLite (one file, write-ahead log, every commit flushed to the disk) or PostgreSQL. Several programs may write at once:
each takes its turn at the end of the chain (SQLite: BEGIN IMMEDIATE; PostgreSQL: an advisory lock), and the database
itself refuses an event that does not follow the last one.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from attrs import evolve
from sqlalchemy import Connection, func, insert, select, text
from sqlalchemy.pool import StaticPool

from ..base import limits
from . import schema
from .canon import digest
from .complaints import in_words
from .database import engine_for
from .event import CORRECT, STRIKE, Draft, Kept
from .log import commits_dropped
from .login import login_of
from .migrate import VERSION, bring_up, version
from .rows import apart_of, arrivals_of, events_of, gone_of, head_of, kept, last_of, row_of
from .trouble import Damaged, JournalError, Moved, NoSuch, NotKept
from .writer import Writer, checked, take_turn, to_disk

SMALLEST = 512  # bytes of the smallest page of SQLite
LARGEST_CONTENT = limits.CONTENT.most
FEW = 2  # events that are looked for one by one


class Store:
    """A journal in a database. ``url`` is a path of an SQLite file, or ``sqlite:///…`` or ``postgresql://…``."""

    def __init__(self, url: str | Path, *, create: bool = True) -> None:
        self.engine = engine_for(url)
        self.sqlite = self.engine.dialect.name == "sqlite"
        self.login = ""
        self.name = self.engine.url.render_as_string(hide_password=True)
        try:
            self._open(create)
        except BaseException:
            self.close()
            raise

    def _open(self, create: bool) -> None:
        with in_words(self.name):
            if self.sqlite:
                _look_at(self.engine.url.database or "", create)
            with self.engine.connect() as connection:
                found = version(connection)
            if not found and not create:
                raise Damaged(f"{self.name}: there is no journal in it. Nothing was changed.")
            if found != VERSION:
                with self.writing() as connection:
                    bring_up(connection)
            if not self.sqlite:
                with self.engine.connect() as connection:
                    self.login = login_of(connection)

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
    def glance(self) -> Iterator[Connection]:
        """A single question, which needs no more of the others to stand still: over a network one way there and back, not three."""
        with in_words(self.name), self.engine.connect() as connection:
            if not self.sqlite:
                connection = connection.execution_options(isolation_level="AUTOCOMMIT")
            with connection.begin():
                yield connection

    @contextlib.contextmanager
    def writing(self) -> Iterator[Connection]:
        """A turn at the end of the chain: what is written inside is kept whole or not at all, and on the disk after."""
        with in_words(self.name), self.engine.connect() as connection:
            connection = connection.execution_options(writes=True)
            with connection.begin():
                take_turn(connection)
                yield connection
            to_disk(connection)

    @contextlib.contextmanager
    def from_disk(self) -> Iterator[Connection]:
        """A look at what the disk holds, not at what this program remembers of it; damaged texts come as they are."""
        own = self.sqlite and not isinstance(self.engine.pool, StaticPool)
        engine = engine_for(self.engine.url) if own else self.engine
        try:
            with engine.connect() as connection:  # closed without a commit: nothing was written
                raw = connection.connection.dbapi_connection
                if own and raw is not None:
                    raw.text_factory = lambda b: b.decode("utf-8", "surrogateescape")
                yield connection
        finally:
            if own:
                engine.dispose()

    # ---- writing ----

    def append(
        self,
        drafts: Sequence[Draft],
        contents: Sequence[bytes] = (),
        check: Callable[[list[Kept]], None] | None = None,
        head: str = "",
    ) -> list[Kept]:
        """Keep events, all or none, and say where they stand in the chain.

        An id that is there already with the same content is given back as it was kept and adds nothing.
        check  looks at the corrections and strikes of the first event's visit when the turn has come, and may refuse
        head   hash of the last event of the first event's visit as it was looked at; when something came after it, Moved
        Raises NotKept for an entry of no keepable form, Conflict for an id used with other content, Moved, JournalError.
        """
        drafts = [self._signed(checked(d)) for d in drafts]
        for one in contents:
            if len(one) > LARGEST_CONTENT:
                raise NotKept(f"expected a file of at most {LARGEST_CONTENT} bytes, found {len(one)}.")
        with self.writing() as connection:
            writer = Writer(connection)
            if (check is not None or head) and row_of(connection, drafts[0].id) is None:
                if head and last_of(connection, drafts[0].visit)[1] != head:
                    raise Moved(
                        "Somebody else wrote to this visit in the same moment. Nothing of this was kept; send it again."
                    )
                if check is not None:
                    check(events_of(connection, drafts[0].visit, kinds=(CORRECT, STRIKE)))
            for one in contents:
                writer.content(one)
            if len(drafts) > FEW:
                writer.expect([d.id for d in drafts])
            return [writer.event(d) for d in drafts]

    def erase(self, draft: Draft, keys: Sequence[str], hashes: Sequence[str]) -> Kept:
        """Keep an erase event and take out what it names: personal values by key, files by hash."""
        draft = self._signed(checked(draft))
        with self.writing() as connection:
            done = Writer(connection, may_erase=True).event(draft)
            for what in (*keys, *hashes):
                connection.execute(insert(schema.erased).values(what=what, event=done.id))
            connection.execute(schema.personal.delete().where(schema.personal.c.key.in_(keys)))
            connection.execute(schema.content.delete().where(schema.content.c.hash.in_(hashes)))
        self.wipe()
        return done

    def _signed(self, draft: Draft) -> Draft:
        """The draft under the login that acts, where the database has one for each person; else under the name typed."""
        return evolve(draft, by=self.login) if self.login else draft

    def wipe(self) -> None:
        """Leave no trace of deleted rows in the database's own files (secure_delete has zeroed the pages)."""
        with in_words(self.name), self.engine.connect() as connection:
            if self.sqlite:
                connection.connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
            else:
                connection = connection.execution_options(isolation_level="AUTOCOMMIT")
                connection.execute(text("VACUUM personal, content"))

    # ---- reading ----

    def head(self) -> tuple[int, str]:
        """Number and hash of the last event; 0 and zeros when there is none."""
        with self.glance() as connection:
            return head_of(connection)

    def visit_head(self, visit: str) -> tuple[int, str]:
        """Number in the visit and hash of the visit's last event; 0 and empty when there is no such visit."""
        with self.glance() as connection:
            return last_of(connection, visit)

    def visits(self, among: Sequence[str] = ()) -> list[tuple[str, int, str, str]]:
        """Every visit, or of some, in the order of its first event: id, number of events, time of the last, hash of the last."""
        c = schema.event.c
        each = select(c.visit, func.max(c.no).label("last"), func.min(c.no).label("first")).group_by(c.visit)
        last = (each.where(c.visit.in_(among)) if among else each).subquery()
        query = select(c.visit, c.seq, c.kept_at, c.hash).join(last, c.no == last.c.last).order_by(last.c.first)
        with self.reading() as connection:
            return [(r[0], r[1], r[2], r[3]) for r in connection.execute(query)]

    def events(self, visit: str = "", *, after: int = 0, kinds: Sequence[str] = ()) -> list[Kept]:
        """Events in their order: of one visit, after a number, of some kinds."""
        with self.reading() as connection:
            return events_of(connection, visit, after=after, kinds=kinds)

    def arrivals(self, visit: str) -> list[list[Kept]]:
        """The events of a visit as they came, here and to each device that sent some of them."""
        with self.reading() as connection:
            return list(arrivals_of(connection, visit).values())

    def event(self, event_id: str) -> Kept:
        """The event of that id. Raises NoSuch."""
        with self.reading() as connection:
            row = row_of(connection, event_id)
            if row is None:
                raise NoSuch(f"There is no event '{event_id}'.")
            return kept(row, apart_of(connection, row.visit), gone_of(connection))

    def content(self, hash_: str) -> bytes:
        """A photo or file by its hash. Raises NoSuch when it is not there, JournalError when it was changed."""
        with self.reading() as connection:
            found = connection.execute(select(schema.content.c.bytes).where(schema.content.c.hash == hash_)).scalar()
        if found is None:
            raise NoSuch(f"There is no file {hash_[:12]}… in the journal.")
        if digest(bytes(found)) != hash_:
            raise JournalError(f"The file {hash_[:12]}… was changed after it was kept.")
        return bytes(found)


def _look_at(file: str, create: bool) -> None:
    """Refuse a file that SQLite would take for an empty one and write over."""
    path = Path(file)
    if file in ("", ":memory:"):
        return
    if not path.is_file():
        if not create:
            raise NoSuch(f"There is no journal at {file}.")
    elif (size := path.stat().st_size) < SMALLEST and (size or not create):
        raise Damaged(f"{file}: only {size} bytes are left of this file. It was not changed.")
    elif lost := commits_dropped(path):
        raise Damaged(
            f"{file}: the log beside it ({path.name}-wal) is damaged, and at least {lost} acknowledged commits behind the "
            "damage would be lost. Nothing was changed. Copy both files away; then restore the last backup, or take the "
            "log away to go on with what the journal itself holds."
        )
