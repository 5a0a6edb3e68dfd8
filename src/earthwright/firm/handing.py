"""Handing a visit's issued papers to the client: by an address that ends, or to a client's login; and what was opened when."""

from __future__ import annotations

from attrs import frozen
from sqlalchemy import ColumnElement, Row, insert, select, update

from ..records.store import Store
from ..records.writer import now
from . import tables
from .people import DAY_S, People, did, key_hash, new_key
from .rights import Person
from .tables import reading, writing

MOST_DAYS = 400
MOST_TO = 200  # characters of to whom


@frozen
class Link:
    """A hand-over: of which visit, to whom, for whose login if any, until when, by whose id, when, and when it was ended.

    id  what its openings are kept under: a hash, which opens nothing;  live  whether it still opens the papers
    """

    id: str
    visit: str
    to: str
    person: str
    ends: float
    by: str
    at: str
    ended: str
    live: bool


class Handing:
    """What was handed over."""

    def __init__(self, store: Store, people: People) -> None:
        self.store, self.people = store, people

    def over(self, by: Person, visit: str, to: str, days: int, client: Person | None = None) -> str:
        """Hand a visit over; the key that goes into the address."""
        key = new_key()
        ends = self.people.clock() + min(max(days, 1), MOST_DAYS) * DAY_S
        with writing(self.store) as connection:
            connection.execute(
                insert(tables.link).values(
                    key=key_hash(key), visit=visit, to=to[:MOST_TO], person=client.id if client else "", ends=ends,
                    by=by.id, at=now(), ended="",
                )
            )  # fmt: skip
            did(connection, by.id, "handed over", visit)
        return key

    def of_key(self, key: str) -> Link | None:
        """What an address opens; None when it has ended."""
        return next((x for x in self._links(tables.link.c.key == key_hash(key)) if x.live), None)

    def to_client(self, person: Person) -> list[Link]:
        """What a client may read."""
        return [x for x in self._links(tables.link.c.person == person.id) if x.live] if person.id else []

    def of_visit(self, visit: str) -> list[Link]:
        """Every hand-over of a visit, ended ones too."""
        return self._links(tables.link.c.visit == visit)

    def visits(self) -> frozenset[str]:
        """Ids of the visits that were handed over to somebody."""
        with reading(self.store) as connection:
            return frozenset(connection.execute(select(tables.link.c.visit).distinct()).scalars())

    def end(self, by: Person, visit: str, id_: str) -> None:
        """From now on it opens nothing; one that is not there, or was ended, is left alone."""
        c = tables.link.c
        with writing(self.store) as connection:
            live = update(tables.link).where(c.key == id_, c.visit == visit, c.ended == "").values(ended=now())
            if connection.execute(live).rowcount:
                did(connection, by.id, "ended a hand-over", visit)

    def forget(self, visit: str) -> None:
        """End every hand-over of a visit, and no longer say to whom they were."""
        c = tables.link.c
        with writing(self.store) as connection:
            connection.execute(update(tables.link).where(c.visit == visit).values(to="[erased]", ended=now()))

    def opened(self, link: Link, what: str) -> None:
        """Write down that something was opened, and when; not by whom: whoever has the address."""
        with writing(self.store) as connection:
            did(connection, link.person, "opened", link.id, what)

    def _links(self, where: ColumnElement[bool]) -> list[Link]:
        with reading(self.store) as connection:
            return [
                self._link(r) for r in connection.execute(select(tables.link).where(where).order_by(tables.link.c.at))
            ]

    def _link(self, r: Row[tuple[object, ...]]) -> Link:
        live = not r.ended and r.ends > self.people.clock()
        return Link(r.key, r.visit, r.to, r.person, r.ends, r.by, r.at, r.ended, live)
