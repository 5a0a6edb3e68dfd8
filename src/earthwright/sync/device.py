"""A device's side: what it has not sent yet goes to the office in its own order, and what the office has placed comes back.

Written as one run of questions whose answers are handed in, so that the same code runs over a network, in a phone's browser
and in a test that cuts it anywhere. Whatever was kept stays kept; a run that was cut is begun again and goes on where it was.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Generator, Sequence
from typing import Any

from attrs import asdict, evolve, frozen
from sqlalchemy import Connection, func, insert, select

from ..records import schema
from ..records.canon import digest, parsed
from ..records.event import ERASE, FILE, PHOTO, StoredEvent
from ..records.personal import Apart, references
from ..records.rows import hash_at, row_of
from ..records.store import Store
from ..records.trouble import Damaged, NoSuch
from .keep import Keeper
from .line import PROTOCOL, Ask, Refused, apart_of, as_json, origin_hash, sent_of
from .names import Office, keep_office, name_of, new_name, office, wanted
from .office import FORK, LACKS

AT_ONCE, MOST_TEXT = 200, 1_000_000
Answer = Any  # values of JSON, or bytes of a file
Asking = Generator[Ask, Answer, Any]


@frozen
class Outcome:
    """What came of it: how many entries went out and came in, and how far this clock is ahead of the office's [ms]."""

    sent: int = 0
    fetched: int = 0
    ahead_ms: int = 0


def waiting(store: Store, leave: Sequence[str] = ()) -> int:
    """How many entries of this journal the office has not placed yet."""
    with store.reading() as connection:
        e, p = schema.event.c, schema.place.c
        query = (
            select(func.count())
            .select_from(schema.event.outerjoin(schema.place, p.event == e.id))
            .where(p.event.is_(None), e.visit.not_in(_left(connection, leave)))
        )
        return int(connection.execute(query).scalar_one())


def _left(connection: Connection, leave: Sequence[str]) -> list[str]:
    """Visits that are not sent: those named, and those of which something was erased here and not by the office."""
    e, p = schema.event.c, schema.place.c
    joined = schema.event.outerjoin(schema.place, p.event == e.id)
    query = select(e.visit).select_from(joined).where(e.kind == ERASE, p.event.is_(None)).distinct()
    return [*leave, *connection.execute(query).scalars()]


def exchange(store: Store, clock: Callable[[], dt.datetime], leave: Sequence[str] = ()) -> Asking:
    """Send and fetch. Yields each question and is sent its answer; gives an :class:`Outcome`.

    clock  this device's, with its zone;  leave  visits that stay here
    Raises what the answers raise (:class:`Refused`), and Damaged for an answer that is not whole. A question that got no
    answer ends the run; nothing that was kept is lost by that.
    """
    run = _Run(store, clock, tuple(leave))
    yield from run.hello()
    yield from run.send()
    yield from run.fetch()
    yield from run.send()  # what came has its place in this journal now, which proves what was known here
    return Outcome(run.sent, run.fetched, run.ahead_ms)


class _Run:
    def __init__(self, store: Store, clock: Callable[[], dt.datetime], leave: tuple[str, ...]) -> None:
        self.store, self.clock, self.leave = store, clock, leave
        self.device, self.upto = name_of(store), 0
        self.sent, self.fetched, self.ahead_ms = 0, 0, 0

    def _now(self) -> str:
        return self.clock().isoformat(timespec="milliseconds")

    def hello(self) -> Asking:
        """Is it the same office, and how far did we come?"""
        said = yield from self._hello()
        known = office(self.store) or Office()
        if known.name and known.name != said["office"]:
            raise Refused(
                "Another office's journal answers at this address. This journal goes with one office only: nothing was sent. "
                "Name the address of the first one, or hand visits over as files."
            )
        if known.name != said["office"]:
            keep_office(self.store, evolve(known, name=said["office"]))

    def _hello(self) -> Asking:
        for _ in range(2):
            ask = Ask.of("hello", device=self.device, clock=self._now(), protocol=PROTOCOL)
            try:
                said = yield ask
            except Refused as error:
                if error.code != FORK:
                    raise
            else:
                self.upto, self.ahead_ms = int(said["upto"]), int(said["ahead_ms"])
                with self.store.reading() as connection:
                    if not self.upto or hash_at(connection, self.upto) == said["hash"]:
                        return said
            self.device = new_name(self.store)  # this journal is a copy of one that goes on elsewhere
        raise Refused("The office does not know this journal under any name.")

    # ---- out ----

    def send(self) -> Asking:
        """Everything behind what the office has, in the order of this journal: files first, then entries."""
        full: set[str] = set()
        forked = False
        while rows := self._behind():
            yield from self._files([r for r in rows if r.kind in (PHOTO, FILE)])
            try:
                said = yield self._message(rows, full)
            except Refused as error:
                if error.code == LACKS:
                    lacking = set(str(error).split()) - full
                    if not lacking:
                        raise
                    full |= lacking
                elif (
                    error.code == FORK and not forked
                ):  # a backup brought back, or a copy: another journal from here on
                    forked, self.device, self.upto = True, new_name(self.store), 0
                else:
                    raise
                continue
            if int(said["upto"]) <= self.upto:
                raise Damaged("The office's answer does not go on: it says that it kept nothing of what it took.")
            self.upto = int(said["upto"])
            self.sent += int(said["new"])

    def _behind(self) -> list[StoredEvent]:
        c = schema.event.c
        with self.store.reading() as connection:
            query = (
                select(schema.event)
                .where(c.no > self.upto, c.visit.not_in(_left(connection, self.leave)))
                .order_by(c.no)
                .limit(AT_ONCE)
            )
            found, size = [], 0
            for row in connection.execute(query):
                found.append(StoredEvent(*row))
                size += len(found[-1].body)
                if size > MOST_TEXT:
                    break
        return found

    def _message(self, rows: Sequence[StoredEvent], full: set[str]) -> Ask:
        with self.store.reading() as connection:
            p, a = schema.place.c, schema.personal.c
            ids = [r.id for r in rows]
            placed = set(connection.execute(select(p.event).where(p.event.in_(ids))).scalars())
            texts = [r for r in rows if r.id not in placed or r.id in full]
            keys = {key for r in texts for key, _ in references([parsed(r.body), parsed(r.who)])}
            found = connection.execute(select(a.key, a.visit, a.field, a.value, a.salt).where(a.key.in_(keys)))
            names = [asdict(Apart(*x)) for x in found]
        whole = {r.id for r in texts}
        entries = [as_json(r, full=r.id in whole) for r in rows]
        return Ask.of("send", device=self.device, clock=self._now(), entries=entries, names=names)

    def _files(self, rows: Sequence[StoredEvent]) -> Asking:
        hashes = list(dict.fromkeys(str(parsed(r.body).get("hash")) for r in rows))
        if not hashes:
            return
        said = yield Ask.of("lacking", files=hashes)
        for hash_ in said["files"]:
            try:
                content = self.store.content(str(hash_))
            except NoSuch:
                continue  # erased here meanwhile
            yield Ask(f"file/{hash_}", content)

    # ---- in ----

    def fetch(self) -> Asking:
        """What the office placed since, page by page; each page is kept whole or not at all."""
        for _ in range(100_000):
            visits = self._cursor()
            if not visits:
                return
            said = yield Ask.of("fetch", visits=visits)
            if said["again"]:
                self._forget([str(v) for v in said["again"]])
                continue
            if not said["entries"]:
                return
            contents = yield from self._contents(said)
            self._keep(said, contents)

    def _cursor(self) -> dict[str, list[Any]]:
        """Every visit that goes together, with the last place that is known of it."""
        e, p = schema.event.c, schema.place.c
        with self.store.reading() as connection:
            left = set(_left(connection, self.leave))
            visits = [*connection.execute(select(e.visit).distinct()).scalars(), *wanted(connection)]
            last = {r[0]: [r[1], r[2]] for r in connection.execute(select(p.visit, p.seq, p.hash).order_by(p.seq))}
        return {v: last.get(v, [0, ""]) for v in visits if v not in left}

    def _forget(self, visits: Sequence[str]) -> None:
        """The office brought an older backup back: its order of these visits is asked for anew, and nothing here goes."""
        with self.store.writing() as connection:
            connection.execute(schema.place.delete().where(schema.place.c.visit.in_(visits)))

    def _contents(self, said: Any) -> Asking:
        entries = [e for e in said["entries"] if e["kind"] in (PHOTO, FILE)]
        wanted = dict.fromkeys(str(e["body"].get("hash")) for e in entries)
        gone, found = set(said["gone"]), []
        for hash_ in wanted:
            if hash_ in gone or self._has(hash_):
                continue
            content = yield Ask(f"file/{hash_}")
            if digest(content) != hash_:
                raise Damaged("A file was changed or cut on the way. It is fetched again the next time.")
            found.append(content)
        return found

    def _has(self, hash_: str) -> bool:
        c, x = schema.content.c, schema.erased.c
        with self.store.reading() as connection:
            there = connection.execute(select(c.hash).where(c.hash == hash_)).first()
            return bool(there or connection.execute(select(x.what).where(x.what == hash_)).first())

    def _keep(self, said: Any, contents: Sequence[bytes]) -> None:
        names, erasures = apart_of(said["names"]), 0
        with self.store.writing() as connection:
            keeper = Keeper(connection, names, may_erase=True, gone=set(map(str, said["gone"])))
            for content in contents:
                keeper.writer.content(content)
            for one in said["entries"]:
                row = sent_of(one).row
                if origin_hash(row) != row.hash:
                    raise Damaged("An entry of the office was changed on the way. Nothing of this was kept; try again.")
                here = row_of(connection, row.id)
                if here is None:
                    keeper.append(row)
                    self.fetched += 1
                else:
                    keeper.same(row, here)
                if row.kind == ERASE:
                    keeper.erase(row)
                    erasures += 1
                connection.execute(
                    insert(schema.place).values(
                        event=row.id, visit=row.visit, seq=row.seq, hash=row.hash,
                        device=str(one.get("device", "")), seen=int(one.get("seen", -1)),
                    )
                )  # fmt: skip
        if erasures:
            self.store.wipe()
