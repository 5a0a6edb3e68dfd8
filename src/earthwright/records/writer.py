"""One turn at the end of the chain: what an event becomes when it is kept."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Sequence
from typing import Any

from attrs import asdict, evolve
from sqlalchemy import Connection, Select, bindparam, func, insert, select, text

from ..base import limits
from . import schema
from .canon import LARGEST_BYTES, NOTHING_BEFORE, canonical, digest, envelope, parsed
from .event import CORRECT, ERASE, FILE, ID, KIND, OWN_KINDS, PHOTO, STRIKE, Draft, Kept, StoredEvent
from .personal import Apart, is_reference, new_apart, set_apart
from .rows import apart_of, gone_of, kept, row_of
from .trouble import Conflict, NotKept

LOCK = 0x6561727468  # the advisory lock that stands for the end of the chain
TEXT_LOOKED_AT = 256  # entries of a visit after which its length as text is looked at
AT_ONCE = 1000  # ids that are asked for in one question
_INSERT_EVENT = insert(schema.event)


def _look() -> Select[Any]:
    c = schema.event.c
    end = select(c.no, c.hash).order_by(c.no.desc()).limit(1).subquery()
    known = select(c.no).where(c.id == bindparam("of_id")).scalar_subquery()
    seq = select(func.max(c.seq)).where(c.visit == bindparam("of_visit")).scalar_subquery()
    return select(end.c.no, end.c.hash, seq, known).select_from(end)


_LOOK = _look()
_p = schema.personal.c
_APART = (
    select(schema.personal)
    .where(_p.visit == bindparam("of_visit"), _p.field == bindparam("of_field"), _p.value == bindparam("of_value"))
    .limit(1)
)


def now() -> str:
    """The journal's clock: UTC, to the microsecond."""
    return dt.datetime.now(dt.UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def take_turn(connection: Connection) -> None:
    """Wait for the end of the chain (in SQLite BEGIN IMMEDIATE has done so).

    In PostgreSQL the turn ends with a commit that does not wait for the disk; whoever was told so must wait with
    :func:`to_disk` before anything is acknowledged. The log is written in the order of commits, so an event can never
    be on the disk without those before it, and many writers share one flush.
    """
    if connection.dialect.name != "sqlite":
        turn = text("SELECT set_config('synchronous_commit', 'off', true), pg_advisory_xact_lock(:lock)")
        connection.execute(turn, {"lock": LOCK})


def to_disk(connection: Connection) -> None:
    """Wait until everything committed so far is on the disk (in SQLite the commit has done so)."""
    if connection.dialect.name != "sqlite":
        raw: Any = connection.connection.dbapi_connection
        raw.autocommit = True
        raw.execute(FLUSH)
        raw.autocommit = False


# A commit that waits, of a message that says nothing: the log up to it is on the disk when it returns.
FLUSH = "BEGIN; SET LOCAL synchronous_commit = on; SELECT pg_logical_emit_message(true, 'journal', ''); COMMIT"


def checked(draft: Draft) -> Draft:
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


class Writer:
    """One turn at the end of the chain; the connection has waited for it with :func:`take_turn`."""

    def __init__(self, connection: Connection, *, may_erase: bool = False) -> None:
        self.connection, self.may_erase = connection, may_erase
        self.no, self.hash = -1, ""  # read with the first event
        self.seqs: dict[str, int] = {}
        self.known: dict[tuple[str, str, str], Apart] = {}
        self.there: set[str] | None = None  # ids that are in the journal, where they were asked for before

    def expect(self, ids: Sequence[str]) -> None:
        """Ask once which of these are there already: the turn is ours, so nobody else adds one meanwhile."""
        c = schema.event.c
        self.there = set()
        for n in range(0, len(ids), AT_ONCE):
            lot = select(c.id).where(c.id.in_(ids[n : n + AT_ONCE]))
            self.there.update(self.connection.execute(lot).scalars())

    def content(self, one: bytes) -> None:
        """Keep the bytes of a photo or file, once."""
        c = schema.content.c
        hash_ = digest(one)
        if self.connection.execute(select(c.size).where(c.hash == hash_)).first() is None:
            self.connection.execute(insert(schema.content).values(hash=hash_, size=len(one), bytes=one))

    def event(self, draft: Draft) -> Kept:
        """Append one event, or find that it is there."""
        if self.look(draft) and (row := row_of(self.connection, draft.id)) is not None:
            return self.again(row, draft)
        self.room(draft)
        kept_at = now()
        draft = evolve(draft, at=draft.at or kept_at)
        row = self.written(draft, *self.parts(draft), kept_at)
        return Kept(
            row.no, row.id, row.visit, row.seq, row.kind, parsed(canonical(draft.body)), row.at, kept_at, draft.by,
            row.prev, row.hash,
        )  # fmt: skip

    def written(self, draft: Draft, body: str, who: str, kept_at: str) -> StoredEvent:
        """Hang an event at the end of the chain, whose texts are ready; :meth:`look` has found where that is."""
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
        row = StoredEvent(**values, who=who, hash=digest(envelope(by=who, **values)))
        self.connection.execute(_INSERT_EVENT, asdict(row))
        self.no, self.hash, self.seqs[draft.visit] = row.no, row.hash, row.seq
        if self.there is not None:
            self.there.add(row.id)
        return row

    def room(self, draft: Draft) -> None:
        """Refuse what would make a visit longer than it can be read; only an erasure is always taken."""
        seq = self.seqs[draft.visit]
        if draft.kind == ERASE:
            return
        if limits.VISIT_ENTRIES.refuses(seq + 1):
            raise NotKept(f"This visit is full: {limits.VISIT_ENTRIES.said()}. Start the next visit to this place.")
        if seq and seq % TEXT_LOOKED_AT == 0:
            c = schema.event.c
            query = select(func.sum(func.length(c.body))).where(c.visit == draft.visit)
            if limits.VISIT_TEXT.refuses(found := int(self.connection.execute(query).scalar_one())):
                raise NotKept(
                    f"This visit is full: {limits.VISIT_TEXT.said(found)}. Start the next visit to this place."
                )

    def look(self, draft: Draft) -> bool:
        """Where the chain and the visit end, in one question; whether the event is there already."""
        if self.there is not None and draft.visit in self.seqs:
            return draft.id in self.there
        found = self.connection.execute(_LOOK, {"of_visit": draft.visit, "of_id": draft.id}).first()
        if self.no < 0:
            self.no, self.hash = (found[0], found[1]) if found else (0, NOTHING_BEFORE)
        self.seqs[draft.visit] = (found[2] or 0) if found else 0
        return bool(found and found[3])

    def parts(self, draft: Draft) -> tuple[str, str]:
        """Body and sender as they are hashed, with personal values set apart."""
        kind = self.kind_of(draft)

        def reference(field: str, value: str) -> dict[str, str]:
            return self.apart(draft.visit, field, value).reference

        body = canonical(set_apart(kind, draft.body, reference), draft.kind)
        if len(body.encode()) > LARGEST_BYTES:
            raise NotKept(
                f"{draft.kind}: expected an entry of at most {LARGEST_BYTES} bytes, found {len(body.encode())}."
            )
        return body, canonical(reference("by", draft.by) if draft.by else "")

    def kind_of(self, draft: Draft) -> str:
        """The kind whose keys the body has: a correction has those of what it corrects. Refuses loose ends."""
        if draft.kind in (CORRECT, STRIKE):
            row = row_of(self.connection, str(draft.body.get("event", "")))
            if row is None or row.visit != draft.visit:
                raise NotKept(f"{draft.kind}: there is no event '{draft.body.get('event', '')}' in this visit.")
            if not str(draft.body.get("reason", "")).strip():
                raise NotKept(f"{draft.kind}: a change needs a reason.")
            if draft.kind == STRIKE:
                return STRIKE
            if row.kind in OWN_KINDS or not isinstance(draft.body.get("body"), dict):
                raise NotKept(
                    f"{draft.kind}: an event of kind '{row.kind}' cannot be corrected; strike it out instead."
                )
            return row.kind
        if draft.kind == ERASE and not self.may_erase:
            raise NotKept("erase: an erasure is signed at the journal itself, not sent along.")
        if draft.kind in (PHOTO, FILE):
            c = schema.content.c
            hash_ = str(draft.body.get("hash", ""))
            if self.connection.execute(select(c.size).where(c.hash == hash_)).first() is None:
                raise NotKept(f"{draft.kind}: the file itself ({hash_[:12]}…) is not in the journal.")
        return draft.kind

    def apart(self, visit: str, field: str, value: str) -> Apart:
        """The value under its key; the same value of the same visit stands once."""
        at = (visit, field, value)
        if at not in self.known:
            of = {"of_visit": visit, "of_field": field, "of_value": value}
            found = self.connection.execute(_APART, of).first()
            if found is None:
                made = new_apart(visit, field, value)
                self.connection.execute(
                    insert(schema.personal).values(key=made.key, visit=visit, field=field, value=value, salt=made.salt)
                )
                self.known[at] = made
            else:
                self.known[at] = Apart(*found)
        return self.known[at]

    def again(self, row: StoredEvent, draft: Draft) -> Kept:
        """The event that is there under this id, if it is the same one."""
        gone = gone_of(self.connection)
        found = kept(row, apart_of(self.connection, row.visit), gone)
        same = _same(parsed(row.body), found.body, parsed(canonical(draft.body)), gone)
        same = same and _same(parsed(row.who), found.by, draft.by, gone)
        if not same or (row.visit, row.kind) != (draft.visit, draft.kind):
            raise Conflict(
                f"Event {draft.id} is in the journal with other content (number {row.no}, {row.kind}). "
                "The first one stays; give the new entry an id of its own."
            )
        return evolve(found, new=False)


def _same(stored: Any, found: Any, sent: Any, gone: set[str]) -> bool:
    """Whether what was sent is what is kept; an erased value can no longer be compared and counts as the same."""
    if is_reference(stored):
        return stored["personal"] in gone or found == sent
    if isinstance(stored, dict) and isinstance(sent, dict) and set(stored) == set(sent):
        return all(_same(stored[k], found[k], sent[k], gone) for k in stored)
    return bool(stored == sent)
