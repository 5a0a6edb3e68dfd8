"""Rows of the journal as events: the look-ups that reading and writing share."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from attrs import evolve
from sqlalchemy import ColumnClause, Connection, and_, bindparam, literal_column, or_, select, text

from . import schema
from .canon import NOTHING_BEFORE, parsed
from .event import Kept, StoredEvent
from .personal import put_back
from .trouble import Damaged

# Questions that every page asks, built once: to build one takes longer than the database takes to answer it.
_E, _L = schema.event.c, schema.link.c
_HEAD = select(_E.no, _E.hash).order_by(_E.no.desc()).limit(1)
_LAST = select(_E.seq, _E.hash).where(_E.visit == bindparam("visit")).order_by(_E.seq.desc()).limit(1)
_ROW = select(schema.event).where(_E.id == bindparam("id"))
_AFTER = select(schema.event).where(_E.no > bindparam("after")).order_by(_E.no)
_OF_VISIT = _AFTER.where(_E.visit == bindparam("visit"))
_APART = select(schema.personal.c.key, schema.personal.c.value)
_APART_OF = _APART.where(schema.personal.c.visit.in_(bindparam("visits", expanding=True)))
_GONE = select(schema.erased.c.what)
_ANY_PLACED = select(schema.place.c.seq).where(schema.place.c.visit == bindparam("visit")).limit(1)
_MADE = (
    select(_L.event, _L.device, _L.seen)
    .select_from(schema.link.join(schema.event, and_(_L.event == _E.id, _L.own == 1)))
    .where(_E.visit == bindparam("visit"))
)


def head_of(connection: Connection) -> tuple[int, str]:
    """Number and hash of the last event; 0 and zeros when there is none."""
    row = connection.execute(_HEAD).first()
    if row is None:
        return 0, NOTHING_BEFORE
    if not isinstance(row[0], int):  # SQLite keeps whatever stands there
        raise Damaged("The file is damaged: its last event has no number. It was not changed. Restore the last backup.")
    return row[0], row[1]


def last_of(connection: Connection, visit: str) -> tuple[int, str]:
    """Number in the visit and hash of a visit's last event; 0 and empty when there is no such visit."""
    row = connection.execute(_LAST, {"visit": visit}).first()
    return (row[0], row[1]) if row else (0, "")


def row_of(connection: Connection, event_id: str) -> StoredEvent | None:
    """The row of an event, None when there is none of that id."""
    row = connection.execute(_ROW, {"id": event_id}).first()
    return StoredEvent(*row) if row else None


def apart_of(connection: Connection, *visits: str) -> dict[str, str]:
    """Personal values by key, of some visits or of all."""
    rows = connection.execute(_APART_OF, {"visits": visits}) if visits else connection.execute(_APART)
    return {row[0]: row[1] for row in rows}


def gone_of(connection: Connection) -> set[str]:
    """Keys and hashes that a signed erasure took out."""
    return set(connection.execute(_GONE).scalars())


def kept(row: StoredEvent, values: Mapping[str, str], gone: Collection[str]) -> Kept:
    """A row with its personal values put back."""
    body = put_back(parsed(row.body), values, gone.__contains__)
    by = put_back(parsed(row.who), values, gone.__contains__)
    return Kept(row.no, row.id, row.visit, row.seq, row.kind, body, row.at, row.kept_at, by, row.prev, row.hash)


def events_of(connection: Connection, visit: str = "", *, after: int = 0, kinds: Sequence[str] = ()) -> list[Kept]:
    """Events in their order: of one visit, after a number, of some kinds."""
    query = _OF_VISIT if visit else _AFTER
    if kinds:
        query = query.where(_E.kind.in_(kinds))
    rows = [StoredEvent(*r) for r in connection.execute(query, {"after": after, "visit": visit})]
    values, gone = apart_of(connection, *([visit] if visit else [])), gone_of(connection)
    found = [kept(r, values, gone) for r in rows]
    return in_order(connection, visit, found) if visit else found


def in_order(connection: Connection, visit: str, events: Sequence[Kept]) -> list[Kept]:
    """Events of a visit with who made them, in the order of the office that this journal goes with, if with any.

    Behind those that the office has placed stand the own ones that it has not. The order of two events never changes:
    the office places the own ones in their order, and whatever it placed before one of them came here before that.
    """
    standing = _placed(connection, visit) or _made(connection, visit)
    if not standing:
        return list(events)
    found = (evolve(e, seq=s[0] or e.seq, device=s[1], seen=s[2]) if (s := standing.get(e.id)) else e for e in events)
    return sorted(found, key=lambda e: e.seq)


def _placed(connection: Connection, visit: str) -> dict[str, tuple[int, str, int]]:
    """Place in the office's order, maker and what it knew, of every event of a visit; nothing when no office placed any."""
    e, p = schema.event.c, schema.place.c
    if connection.execute(_ANY_PLACED, {"visit": visit}).first() is None:
        return {}
    query = (
        select(e.id, p.seq, p.device, p.seen)
        .select_from(schema.event.outerjoin(schema.place, p.event == e.id))
        .where(e.visit == visit)
        .order_by(e.no)
    )
    rows, mine = list(connection.execute(query)), own_name(connection)
    last = max(r[1] or 0 for r in rows)
    known, found = Known(), dict[str, tuple[int, str, int]]()
    for event, seq, device, seen in rows:
        if seq is None:
            last += 1
            found[event] = last, mine, known.upto
        else:
            found[event] = seq, device, seen
            known.add(seq)
    return found


class Known:
    """Places of a visit that a device knows, and up to which one it knows all."""

    def __init__(self) -> None:
        self.upto, self._beyond = 0, set[int]()

    def add(self, seq: int) -> None:
        """Note one more place."""
        self._beyond.add(seq)
        while self.upto + 1 in self._beyond:
            self.upto += 1
            self._beyond.remove(self.upto)


def _made(connection: Connection, visit: str) -> dict[str, tuple[int, str, int]]:
    """Maker and what it knew, of the events of a visit that other devices sent; the place is that of this journal (0)."""
    return {row[0]: (0, row[1], row[2]) for row in connection.execute(_MADE, {"visit": visit})}


def own_name(connection: Connection) -> str:
    """The name of this journal among those that go together; empty while it goes with none."""
    c = schema.together.c
    return str(connection.execute(select(c.value).where(c.name == "device")).scalar() or "")


def visits_with_content(connection: Connection, content: str) -> list[str]:
    """Visits of which a document was issued or signed, or something was erased, when they had this content; by the index."""
    place = "instr" if connection.dialect.name == "sqlite" else "strpos"
    # Written as the index has it, so that the database sees that the index answers it.
    at: ColumnClause[str] = literal_column(f'substr(body, {place}(body, \'"content":"\') + 11, 64)')
    kinds = text("kind IN ('issue', 'sign', 'erase')")
    query = select(schema.event.c.visit).where(kinds, at == content).order_by(schema.event.c.no)
    return list(dict.fromkeys(connection.execute(query).scalars()))


def stored_of(connection: Connection, visit: str) -> list[StoredEvent]:
    """The events of a visit as they are hashed, in their order."""
    c = schema.event.c
    return [
        StoredEvent(*row) for row in connection.execute(select(schema.event).where(c.visit == visit).order_by(c.no))
    ]


def hash_at(connection: Connection, no: int) -> str:
    """Hash of the event with that number; empty when there is none."""
    return str(connection.execute(select(schema.event.c.hash).where(schema.event.c.no == no)).scalar() or "")


def sent_there(connection: Connection, no: int, hash_: str) -> bool:
    """Whether a device proved that its journal once ended so."""
    x = schema.link.c
    at = or_(and_(x.no == no, x.hash == hash_), and_(x.no == no + 1, x.prev == hash_))
    return connection.execute(select(x.no).where(at).limit(1)).first() is not None


def arrivals_of(connection: Connection, visit: str) -> dict[str, list[Kept]]:
    """The events of a visit as they came: here (under no name), and to each device that sent them, as far as it held them."""
    events = events_of(connection, visit)
    named, x, e = {one.id: one for one in events}, schema.link.c, schema.event.c
    query = (
        select(x.device, x.event).select_from(schema.link.join(schema.event, x.event == e.id)).where(e.visit == visit)
    )
    found = {"": events}
    for device, event in connection.execute(query.order_by(x.device, x.no)):
        found.setdefault(device, []).append(named[event])
    return found
