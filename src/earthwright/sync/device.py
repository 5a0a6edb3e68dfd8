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

from ..base import limits
from ..records import schema
from ..records.canon import digest, parsed
from ..records.event import ERASE, FILE, PHOTO, StoredEvent
from ..records.personal import Apart, references
from ..records.rows import hash_at, row_of
from ..records.store import Store
from ..records.trouble import Damaged, NoSuch
from .keep import Keeper
from .line import PROTOCOL, Ask, Refused, apart_of, as_json, origin_hash, sent_of, visit_in
from .names import LONGEST_NAME, Held, Office, held, hold, keep_office, let_go, name_of, new_name, office, wanted
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


def _some(
    connection: Connection, where: list[Any], most: int = AT_ONCE, most_text: int = MOST_TEXT
) -> list[StoredEvent]:
    """As many of these entries as go into one message."""
    found: list[StoredEvent] = []
    size = 0
    for row in connection.execute(select(schema.event).where(*where).order_by(schema.event.c.no).limit(most)):
        found.append(StoredEvent(*row))
        size += len(found[-1].body)
        if size > most_text:
            break
    return found


class _Run:
    def __init__(self, store: Store, clock: Callable[[], dt.datetime], leave: tuple[str, ...]) -> None:
        self.store, self.clock, self.leave = store, clock, leave
        self.device, self.upto, self.top, self.forked = name_of(store), 0, 0, False
        self.tried, self.closed = set[str](), dict[str, str]()  # visits: kept back in this run; not given by the office
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
        person = str(said.get("person", ""))[:LONGEST_NAME]
        if (known.name, known.person) != (said["office"], person):
            keep_office(self.store, evolve(known, name=said["office"], person=person))

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
            self._begin_anew()  # this journal is a copy of one that goes on elsewhere
            self.forked = False
        raise Refused("The office does not know this journal under any name.")

    # ---- out ----

    def send(self) -> Asking:
        """Everything behind what the office has, in the order of this journal; then what it did not take before, once more."""
        while rows := self._behind():
            try:
                yield from self._sent(rows)
            except Refused as error:
                self._hold(error, rows)
        with self.store.reading() as connection:
            left = {*_left(connection, self.leave), *self.tried}
            back = [one for one in held(connection) if one.since and one.visit not in left]
        for one in back:
            self.tried.add(one.visit)
            while rows := self._kept_back(one):
                try:
                    goes_on = yield from self._sent(rows)
                except Refused as error:
                    self._hold(error, rows)
                    break
                if not goes_on:
                    yield from self.send()
                    return
                one = evolve(one, since=rows[-1].no + 1)
                hold(self.store, one)
            else:
                let_go(self.store, [one.visit])

    def _hold(self, error: Refused, rows: Sequence[StoredEvent]) -> None:
        """Keep the visit back that was not taken, and why; what is not about one visit is raised again."""
        visit, entry = visit_in(error.code)
        waits = [r.no for r in rows if r.visit == visit]
        if not waits:
            raise error
        self.tried.add(visit)
        hold(self.store, Held(visit, str(error), waits[0], entry))

    def _sent(self, rows: Sequence[StoredEvent]) -> Asking:
        """These entries: files first, then the entries, with all their texts where the office lacks them. Gives whether it
        goes on behind them: not where all is sent again under another name."""
        full: set[str] = set()
        while True:
            yield from self._files([r for r in rows if r.kind in (PHOTO, FILE)])
            try:
                said = yield self._message(rows, full)
            except Refused as error:
                lacking = set(str(error).split()) - full if error.code == LACKS else set()
                if lacking:
                    full |= lacking
                    continue
                if error.code != FORK or self.forked:
                    raise
                self._begin_anew()  # a backup brought back, or a copy: another journal from here on
                return False
            if not self.upto <= int(said["upto"]) >= rows[-1].no:
                raise Damaged("The office's answer does not go on: it says that it kept nothing of what it took.")
            self.upto = int(said["upto"])
            self.sent += int(said["new"])
            return True

    def _begin_anew(self) -> None:
        self.forked, self.device, self.upto = True, new_name(self.store), 0
        with self.store.reading() as connection:
            back = [one.visit for one in held(connection)]
        let_go(self.store, back)

    def _behind(self) -> list[StoredEvent]:
        with self.store.reading() as connection:
            c = schema.event.c
            back = [one.visit for one in held(connection) if one.since]
            found = _some(connection, [c.no > self.upto, c.visit.not_in([*_left(connection, self.leave), *back])])
            self.top = found[-1].no if found else int(connection.execute(select(func.max(c.no))).scalar() or 0)
            return found

    def _kept_back(self, one: Held) -> list[StoredEvent]:
        """Entries of a visit that was not taken, as many at once as the office looks at, so that it sees what was taken out.

        Only up to where all others were sent: what the office has last says up to where that is.
        """
        with self.store.reading() as connection:
            c = schema.event.c
            where = [c.visit == one.visit, c.no.between(one.since, self.top)]
            return _some(connection, where, limits.SENT_ENTRIES.most, MOST_TEXT * 2)

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
                break
            try:
                said = yield Ask.of("fetch", visits=visits)
            except Refused as error:
                visit, _ = visit_in(error.code)
                if visit not in visits:
                    raise
                self.closed[visit] = str(error)
                continue
            if said["again"]:
                self._forget([str(v) for v in said["again"]])
                continue
            if not said["entries"]:
                break
            contents = yield from self._contents(said)
            self._keep(said, contents)
        with self.store.reading() as connection:
            before = {one.visit: one for one in held(connection)}
        let_go(self.store, [v for v, one in before.items() if not one.since and v not in self.closed])
        for visit, why in self.closed.items():
            if visit not in before:
                hold(self.store, Held(visit, why))

    def _cursor(self) -> dict[str, list[Any]]:
        """Every visit that goes together, with the last place that is known of it."""
        e, p = schema.event.c, schema.place.c
        with self.store.reading() as connection:
            left = set(_left(connection, self.leave))
            visits = [*connection.execute(select(e.visit).distinct()).scalars(), *wanted(connection)]
            last = {r[0]: [r[1], r[2]] for r in connection.execute(select(p.visit, p.seq, p.hash).order_by(p.seq))}
        return {v: last.get(v, [0, ""]) for v in visits if v not in left and v not in self.closed}

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
