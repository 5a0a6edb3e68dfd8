"""The office's side: what a device sends is worked out again, gets its place in the office's order, and keeps its own proof.

Nothing that a device says of itself is believed: an entry's hash in the device's journal must be that of its texts, and each
must hang on the one before. So the whole chain of a device can be worked out at the office for ever, and with it what a paper
that was printed on the device rests on.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from attrs import asdict, evolve
from sqlalchemy import Connection, and_, func, insert, select

from ..records import schema
from ..records.canon import NOTHING_BEFORE, digest
from ..records.event import ERASE, FILE, ID, PHOTO, StoredEvent
from ..records.personal import Apart, references
from ..records.rows import Known, gone_of, row_of
from ..records.store import Store
from ..records.trouble import Conflict, Damaged, NotKept
from .keep import Keeper
from .line import (
    PROTOCOL,
    Refused,
    Sent,
    apart_of,
    as_json,
    entries_in,
    of_visit,
    origin_hash,
    parsed,
    sent_of,
    text_in,
)
from .names import name_of, office_of

AT_ONCE, MOST_TEXT, LONGEST_NAME = 200, 1_000_000, 200
FORK, LACKS = "another chain", "lacks"


Look = Callable[[Connection, str, StoredEvent], None]


def answer(store: Store, name: str, body: bytes, now: dt.datetime, token: str = "", look: Look | None = None) -> Any:
    """The answer to one question, as values for JSON, or bytes of a file.

    token  which device asked, by the token it was given: the name that it gives itself is bound to that
    look   looks at each new entry, given the device's name, before it is kept for good; raises NotKept for one that may not be
    Raises Refused, Damaged, NotKept, Conflict, JournalError, each with words for whoever reads the device's page.
    """
    if office_of(store):
        raise Refused("This journal itself goes with an office. Name that office's address on your device.")
    if name.startswith("file/"):
        return _file(store, name.removeprefix("file/"), body)
    said = parsed(body)
    asked = {"hello": _hello, "lacking": _lacking, "send": _send, "fetch": _fetch}.get(name)
    if asked is None:
        raise Refused("This office does not know that question. Is its program older than yours?")
    return _send(store, said, now, token, look) if name == "send" else asked(store, said, now, token)


def _hello(store: Store, said: Mapping[str, Any], now: dt.datetime, token: str) -> dict[str, Any]:
    if said.get("protocol") != PROTOCOL:
        raise Refused("This office keeps its journal in another form. Use the same version of the program on both.")
    device = _device(said)
    with store.reading() as connection:
        _bound(connection, device, token)
        upto, hash_ = _last(connection, device)
    return {"office": name_of(store), "upto": upto, "hash": hash_, "ahead_ms": ahead_ms(said, now)}


def ahead_ms(said: Mapping[str, Any], now: dt.datetime) -> int:
    """How far the clock of whoever asks is ahead of this one [ms]."""
    try:
        clock = dt.datetime.fromisoformat(text_in(said, "clock"))
    except ValueError as error:
        raise Damaged("The message does not say what the device's clock shows.") from error
    if clock.tzinfo is None:
        raise Damaged("The device's clock has no zone.")
    return round((clock - now).total_seconds() * 1000)


def _device(said: Mapping[str, Any]) -> str:
    device = text_in(said, "device")
    if not ID.fullmatch(device):
        raise Damaged("The device has no name that can be kept.")
    return device


def _bound(connection: Connection, device: str, token: str) -> str:
    """The token that a device's name belongs to, empty while it belongs to none. Raises Refused for another one's."""
    c = schema.together.c
    found = str(connection.execute(select(c.value).where(c.name == f"bound {device}")).scalar() or "")
    if found and found != token:
        raise Refused("This journal sends under the name of another device.", FORK)
    return found


def _last(connection: Connection, device: str) -> tuple[int, str]:
    c = schema.link.c
    row = connection.execute(select(c.no, c.hash).where(c.device == device).order_by(c.no.desc()).limit(1)).first()
    return (row[0], row[1]) if row else (0, NOTHING_BEFORE)


def _lacking(store: Store, said: Mapping[str, Any], now: dt.datetime, token: str) -> dict[str, Any]:
    c = schema.content.c
    asked = [_file_name(x) for x in entries_in(said, "files")]
    with store.reading() as connection:
        there = set(connection.execute(select(c.hash).where(c.hash.in_(asked))).scalars()) | gone_of(connection)
    return {"files": [x for x in asked if x not in there]}


def _file_name(value: object) -> str:
    """What a device calls a file. Raises Damaged for what no journal can be asked for."""
    if not isinstance(value, str) or len(value) > LONGEST_NAME or not value.isascii():
        raise Damaged("A file that was asked about has no name that can be looked up.")
    return value


def _file(store: Store, hash_: str, body: bytes) -> Any:
    if not body:
        return store.content(hash_)
    if digest(body) != hash_:
        raise Damaged("This file was changed or cut on the way. Nothing was kept.")
    store.append([], [body])
    return {"kept": True}


# ---- what a device sends ----


def _send(
    store: Store, said: Mapping[str, Any], now: dt.datetime, token: str, look: Look | None = None
) -> dict[str, Any]:
    device, ahead = _device(said), ahead_ms(said, now)
    entries, names = [sent_of(x) for x in entries_in(said, "entries")], apart_of(said.get("names"))
    with store.writing() as connection:
        if not _bound(connection, device, token):
            connection.execute(insert(schema.together).values(name=f"bound {device}", value=token))
        turn = _Turn(connection, device, ahead, Keeper(connection, names, login=store.login))
        for one in entries:
            turn.take(one)
        if turn.lacks:
            raise Refused(" ".join(turn.lacks), LACKS)
        if look is not None:
            _looked_at(look, connection, device, turn.new)
    return {"upto": turn.last[0], "new": len(turn.new)}


def _looked_at(look: Look, connection: Connection, device: str, rows: Sequence[StoredEvent]) -> None:
    for row in rows:
        try:
            look(connection, device, row)
        except NotKept as error:
            raise Refused(str(error), of_visit(row.visit, row.id)) from error


class _Turn:
    """One message of a device at the end of the chain."""

    def __init__(self, connection: Connection, device: str, ahead: int, keeper: Keeper) -> None:
        self.connection, self.device, self.ahead, self.keeper = connection, device, ahead, keeper
        self.last = _last(connection, device)
        self.new, self.lacks = list[StoredEvent](), list[str]()
        self._known: dict[str, Known] = {}

    def take(self, sent: Sent) -> None:
        """One entry: found as it was sent before, or kept."""
        if self._there(sent.row):
            return
        here = row_of(self.connection, sent.row.id)
        if here is None and not sent.full:
            self.lacks.append(sent.row.id)
            return
        row = sent.row if sent.full else _with_texts(sent.row, here)
        if origin_hash(row) != row.hash:
            if not sent.full:  # under keys of that journal's own
                self.lacks.append(row.id)
                return
            raise Damaged(f"Entry {row.id} was changed on the way: its hash does not fit. Nothing was kept.")
        if row.kind == ERASE and here is None:
            raise NotKept("An erasure is signed at the office's journal itself, not sent along.")
        try:
            own, alike = here is None, here is None or self.keeper.same(row, here)
            stands = here or self.keeper.append(row)
        except (NotKept, Conflict) as error:  # it will not do the next time either: the others go on without this visit
            raise Refused(str(error), of_visit(row.visit)) from error
        if own:
            self.new.append(stands)
        known = self._knows(row.visit)
        values = {n: getattr(row, n) for n in ("no", "seq", "kept_at", "prev", "hash")}
        texts = {"body": "", "who": ""} if alike else {"body": row.body, "who": row.who}
        self.connection.execute(
            insert(schema.link).values(
                **values, **texts, device=self.device, event=row.id, own=int(own), seen=known.upto, ahead_ms=self.ahead
            )
        )
        known.add(stands.seq)
        self.last = max(self.last, (row.no, row.hash))

    def _there(self, row: StoredEvent) -> bool:
        """Whether an entry was sent before. What stands beside it must be what it hangs on, and what hangs on it: entries of
        a visit that was kept back come later than those behind them."""
        c = schema.link.c
        beside = {self.last[0]: (self.last[1], "")}
        if row.no <= self.last[0]:
            query = select(c.no, c.hash, c.prev).where(c.device == self.device, c.no.between(row.no - 1, row.no + 1))
            beside = {r.no: (r.hash, r.prev) for r in self.connection.execute(query)}
        at, before = beside.get(row.no, (row.hash,))[0], beside.get(row.no - 1, (row.prev,))[0]
        after = beside.get(row.no + 1, ("", row.hash))[1]
        late = row.no < self.last[0] and row.no not in beside
        if (at, before, after) != (row.hash, row.prev, row.hash) or (late and self._later(row)):
            raise Refused("This journal went another way than the one that was sent before.", FORK)
        return row.no in beside

    def _later(self, row: StoredEvent) -> bool:
        """Whether that device sent an entry of the same visit that stands behind: then this one comes out of order."""
        e, x = schema.event.c, schema.link.c
        joined = schema.link.join(schema.event, x.event == e.id)
        query = select(x.no).select_from(joined).where(x.device == self.device, e.visit == row.visit, x.no > row.no)
        return self.connection.execute(query.limit(1)).first() is not None

    def _knows(self, visit: str) -> Known:
        """What a device knew of a visit, by the links it sent."""
        if visit not in self._known:
            e, x = schema.event.c, schema.link.c
            joined = schema.link.join(schema.event, and_(x.event == e.id, x.device == self.device))
            self._known[visit] = known = Known()
            for seq in self.connection.execute(select(e.seq).select_from(joined).where(e.visit == visit)).scalars():
                known.add(seq)
        return self._known[visit]


def _with_texts(row: StoredEvent, here: StoredEvent | None) -> StoredEvent:
    assert here is not None
    return evolve(row, kind=here.kind, body=here.body, at=here.at, who=here.who)


# ---- what a device fetches ----


def _fetch(store: Store, said: Mapping[str, Any], now: dt.datetime, token: str) -> dict[str, Any]:
    visits = said.get("visits")
    if not isinstance(visits, dict):
        raise Damaged("The message does not say which visits.")
    found: list[dict[str, Any]] = []
    names: set[str] = set()
    size, again = 0, []
    with store.reading() as connection:
        heads = _heads(connection)
        for visit, known in visits.items():
            seq, hash_ = _known_of(visit, known)
            if seq and _hash_at(connection, visit, seq) != hash_:
                again.append(visit)
            elif heads.get(visit, 0) > seq and size < MOST_TEXT and len(found) < AT_ONCE:
                for row, device, seen in _after(connection, visit, seq, AT_ONCE - len(found)):
                    found.append(as_json(row, device=device, seen=seen))
                    size += len(row.body)
                    names |= {visit}
                    if size > MOST_TEXT:
                        break
        keys = {key for one in found for key, _ in references([one["body"], one["by"]])}
        apart = [asdict(a) for a in _apart_of(connection, names, keys)]
        gone = sorted(gone_of(connection) & (keys | _files(found)))
    return {"entries": found, "names": apart, "gone": gone, "again": again}


def _known_of(visit: str, known: object) -> tuple[int, object]:
    """How far a device knows a visit, and the hash it has there. Raises Damaged for what cannot be."""
    if not ID.fullmatch(visit):
        raise Damaged("The id of a visit that was asked for is of no form that is kept.")
    if not (isinstance(known, list) and len(known) == 2 and isinstance(known[0], int)):
        raise Damaged("The message does not say what is known of a visit.")
    if not 0 <= known[0] < 2**31:
        raise Damaged("The place in a visit that was asked for cannot be.")
    return known[0], known[1]


def _heads(connection: Connection) -> dict[str, int]:
    c = schema.event.c
    return {r[0]: r[1] for r in connection.execute(select(c.visit, func.max(c.seq)).group_by(c.visit))}


def _hash_at(connection: Connection, visit: str, seq: int) -> str:
    c = schema.event.c
    return str(connection.execute(select(c.hash).where(c.visit == visit, c.seq == seq)).scalar() or "")


def _after(connection: Connection, visit: str, seq: int, most: int) -> list[tuple[StoredEvent, str, int]]:
    e, x = schema.event.c, schema.link.c
    query = (
        select(schema.event, x.device, x.seen)
        .select_from(schema.event.outerjoin(schema.link, and_(x.event == e.id, x.own == 1)))
        .where(e.visit == visit, e.seq > seq)
        .order_by(e.seq)
        .limit(most)
    )
    return [(StoredEvent(*r[:-2]), r[-2] or "", -1 if r[-1] is None else r[-1]) for r in connection.execute(query)]


def _apart_of(connection: Connection, visits: set[str], keys: set[str]) -> list[Apart]:
    c = schema.personal.c
    query = select(c.key, c.visit, c.field, c.value, c.salt).where(c.visit.in_(visits))
    return [Apart(*r) for r in connection.execute(query) if r[0] in keys]


def _files(found: list[dict[str, Any]]) -> set[str]:
    return {str(one["body"].get("hash")) for one in found if one["kind"] in (PHOTO, FILE)}
