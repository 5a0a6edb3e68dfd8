"""An event of another journal kept in this one: the texts that were hashed there, to the last byte, under the order here."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from sqlalchemy import Connection, insert

from ..records import schema
from ..records.canon import parsed
from ..records.event import FILE, PHOTO, Draft, StoredEvent
from ..records.personal import Apart, is_personal, is_reference, put_back
from ..records.rows import apart_of, gone_of
from ..records.trouble import Conflict, Damaged, NotKept
from ..records.writer import Writer, checked, now


class Keeper:
    """One turn at the end of the chain, for events that come from elsewhere.

    names  what came along, by key;  login  under which they are kept, where the database has one for each person
    """

    def __init__(
        self,
        connection: Connection,
        names: Mapping[str, Apart],
        *,
        may_erase: bool = False,
        gone: Collection[str] = (),
        login: str = "",
    ) -> None:
        self.connection, self.names, self.login = connection, names, login
        self.writer = Writer(connection, may_erase=may_erase)
        self.gone = gone_of(connection)
        self.gone_there = {*gone, *self.gone}  # files that an erasure took out, there or here
        self._known: dict[str, dict[str, str]] = {}

    def append(self, row: StoredEvent) -> StoredEvent:
        """Keep an event that is not here; gives it as it stands here. Raises NotKept, Damaged."""
        body, who = parsed(row.body), parsed(row.who)
        draft = checked(Draft(row.visit, row.kind, self._plain(row, body), str(self._plain(row, who)), row.id, row.at))
        if self.login and draft.by not in ("", self.login):
            raise NotKept(f"This device sends under the login {self.login}, and an entry stands under another name.")
        self.writer.look(draft)
        self.writer.room(draft)
        gone = str(body.get("hash")) in self.gone_there if row.kind in (PHOTO, FILE) else False
        kind = row.kind if gone else self.writer.kind_of(draft)
        for field, reference in (*_names(kind, body), *_names(kind, {"by": who})):
            self._name(row, field, reference)
        return self.writer.written(draft, row.body, row.who, now())

    def same(self, row: StoredEvent, here: StoredEvent) -> bool:
        """Whether an event that came is the one that is here, to the last byte; Conflict when it says something else.

        Handed over as a file it keeps its id and its words, and names stand under keys of each journal's own.
        """
        if (row.visit, row.kind, row.body, row.who, row.at) == (here.visit, here.kind, here.body, here.who, here.at):
            return True
        said, stands = self._plain(row, parsed(row.body)), self._plain(here, parsed(here.body))
        # Brought in as a file where people sign in it stands under the name of whoever brought it.
        if (row.visit, row.kind, row.at, said) != (here.visit, here.kind, here.at, stands):
            raise Conflict(
                f"Entry {row.id} is here with other content ({here.kind} of visit {here.visit[:8]}). What is kept stays."
            )
        return False

    def _plain(self, row: StoredEvent, value: Any) -> Any:
        if row.visit not in self._known:
            self._known[row.visit] = apart_of(self.connection, row.visit)
        values = {**{k: a.value for k, a in self.names.items()}, **self._known[row.visit]}
        return put_back(value, values, self.gone.__contains__)

    def _name(self, row: StoredEvent, field: str, reference: Mapping[str, str]) -> None:
        """Keep the name behind a reference, once; one that was erased here does not come back."""
        key = reference["personal"]
        if not isinstance(key, str) or not isinstance(reference["seal"], str):
            raise Damaged(f"A name of entry {row.id} stands under no key.")
        if key in self.gone_there or key in self._known[row.visit]:
            return
        one = self.names.get(key)
        if one is None or one.seal != reference["seal"] or (one.visit, one.field) != (row.visit, field):
            raise Damaged(f"A name of entry {row.id} is missing or was changed on the way. Nothing was kept.")
        values = {"key": key, "visit": row.visit, "field": field, "value": one.value, "salt": one.salt}
        self.connection.execute(insert(schema.personal).values(values))
        self._known[row.visit][key] = one.value

    def erase(self, row: StoredEvent) -> None:
        """Take out what an erasure of the office took out; its event stands here."""
        body = parsed(row.body)
        what = [str(x) for x in (*body.get("keys", ()), *body.get("files", ()))]
        for one in what:
            if one not in self.gone:
                self.connection.execute(insert(schema.erased).values(what=one, event=row.id))
        self.connection.execute(schema.personal.delete().where(schema.personal.c.key.in_(what)))
        self.connection.execute(schema.content.delete().where(schema.content.c.hash.in_(what)))
        self.gone.update(what)
        self._known.clear()


def _names(kind: str, body: Any, key: str = "") -> Iterator[tuple[str, dict[str, str]]]:
    """Every name of a body: its field and what stands for it. Raises NotKept for a name that does not stand apart."""
    if is_reference(body):
        if not is_personal(kind, key):
            raise NotKept(f"{key}: this is no field of a name.")
        yield key, body
    elif isinstance(body, dict):
        for inner, value in body.items():
            yield from _names(kind, value, inner)
    elif isinstance(body, list):
        for value in body:
            yield from _names(kind, value, key)
    elif isinstance(body, str) and body.strip() and is_personal(kind, key):
        raise NotKept(f"{key}: names and addresses stand apart from the entries, so that they can be erased.")
