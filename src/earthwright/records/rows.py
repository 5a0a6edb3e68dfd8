"""Rows of the journal as events: the look-ups that reading and writing share."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from sqlalchemy import ColumnClause, Connection, literal_column, select, text

from . import schema
from .canon import NOTHING_BEFORE, parsed
from .event import Kept, StoredEvent
from .personal import put_back
from .trouble import Damaged


def head_of(connection: Connection) -> tuple[int, str]:
    """Number and hash of the last event; 0 and zeros when there is none."""
    c = schema.event.c
    row = connection.execute(select(c.no, c.hash).order_by(c.no.desc()).limit(1)).first()
    if row is None:
        return 0, NOTHING_BEFORE
    if not isinstance(row[0], int):  # SQLite keeps whatever stands there
        raise Damaged("The file is damaged: its last event has no number. It was not changed. Restore the last backup.")
    return row[0], row[1]


def last_of(connection: Connection, visit: str) -> tuple[int, str]:
    """Number in the visit and hash of a visit's last event; 0 and empty when there is no such visit."""
    c = schema.event.c
    row = connection.execute(select(c.seq, c.hash).where(c.visit == visit).order_by(c.seq.desc()).limit(1)).first()
    return (row[0], row[1]) if row else (0, "")


def row_of(connection: Connection, event_id: str) -> StoredEvent | None:
    """The row of an event, None when there is none of that id."""
    row = connection.execute(select(schema.event).where(schema.event.c.id == event_id)).first()
    return StoredEvent(*row) if row else None


def apart_of(connection: Connection, visit: str = "") -> dict[str, str]:
    """Personal values by key, of one visit or of all."""
    c = schema.personal.c
    query = select(c.key, c.value)
    rows = connection.execute(query.where(c.visit == visit) if visit else query)
    return {row[0]: row[1] for row in rows}


def gone_of(connection: Connection) -> set[str]:
    """Keys and hashes that a signed erasure took out."""
    return set(connection.execute(select(schema.erased.c.what)).scalars())


def kept(row: StoredEvent, values: Mapping[str, str], gone: Collection[str]) -> Kept:
    """A row with its personal values put back."""
    body = put_back(parsed(row.body), values, gone.__contains__)
    by = put_back(parsed(row.who), values, gone.__contains__)
    return Kept(row.no, row.id, row.visit, row.seq, row.kind, body, row.at, row.kept_at, by, row.prev, row.hash)


def events_of(connection: Connection, visit: str = "", *, after: int = 0, kinds: Sequence[str] = ()) -> list[Kept]:
    """Events in their order: of one visit, after a number, of some kinds."""
    c = schema.event.c
    query = select(schema.event).where(c.no > after).order_by(c.no)
    if visit:
        query = query.where(c.visit == visit)
    if kinds:
        query = query.where(c.kind.in_(kinds))
    rows = [StoredEvent(*r) for r in connection.execute(query)]
    values, gone = apart_of(connection, visit), gone_of(connection)
    return [kept(r, values, gone) for r in rows]


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
