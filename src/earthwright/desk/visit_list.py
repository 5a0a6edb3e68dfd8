"""The list of visits."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from typing import Generic, Protocol, TypeVar

from attrs import frozen
from sqlalchemy import select

from ..records import schema
from ..records.event import CORRECT, ISSUE, STRIKE, Kept, StoredEvent
from ..records.replay import effect, entries_of
from ..records.rows import apart_of, gone_of, kept
from ..records.store import Store


@frozen
class VisitLine:
    """One visit in the list.

    place, date, kind, inspector  from its heading;  events  how many;  changed  when the last one was kept [UTC]
    head  hash of its last event;  issued  whether a document was issued
    """

    id: str
    place: str
    date: str
    kind: str
    inspector: str
    events: int
    changed: str
    head: str
    issued: bool


KINDS = ("visit", CORRECT, STRIKE, ISSUE)  # events that a line rests on, beside how many there are


class Lined(Protocol):
    """What a list holds of one visit."""

    @property
    def changed(self) -> str:
        """When its last event was kept [UTC]."""
        ...


L = TypeVar("L", bound=Lined)
Make = Callable[[str, int, str, str, Sequence[Kept]], L]  # id, how many events, when changed, head, events of the kinds


class PerVisit(Generic[L]):
    """A line for each visit of a journal. A visit is read again only when something was written to it since the last question.

    kinds  of the events that a line rests on;  make  the line from them
    """

    def __init__(self, store: Store, kinds: Sequence[str], make: Make[L]) -> None:
        self.store, self.kinds, self.make = store, kinds, make
        self._upto = 0
        self._by_visit: dict[str, L] = {}
        self._sorted: list[L] = []

    def lines(self) -> list[L]:
        """Every visit, the one changed last first."""
        c = schema.event.c
        newest, _ = self.store.head()
        if newest < self._upto:  # another journal under the same name
            self._by_visit, self._upto = {}, 0
        if newest == self._upto:
            return list(self._sorted)
        changed: list[str] = []
        if self._upto:
            with self.store.glance() as connection:
                query = select(c.visit).where(c.no > self._upto).distinct()
                changed = list(connection.execute(query).scalars())
        if self._upto and len(changed) <= FEW:
            for visit in changed:
                self._by_visit[visit] = self._one(visit)
        elif self._upto and len(changed) <= SOME:
            self._read(changed)
        else:
            self._by_visit = {}
            self._read(())
        self._upto = newest
        self._sorted = sorted(self._by_visit.values(), key=lambda v: v.changed, reverse=True)
        return list(self._sorted)

    def line(self, visit_id: str) -> L | None:
        """One visit; None when there is none of that id."""
        self.lines()
        return self._by_visit.get(visit_id)

    def _read(self, among: Sequence[str]) -> None:
        """Make the lines of some visits, or of all, in one go."""
        c = schema.event.c
        rows = {row[0]: row for row in self.store.visits(among)}
        query = select(schema.event).where(c.kind.in_(self.kinds)).order_by(c.visit, c.no)
        made: dict[str, L] = {}
        with self.store.reading() as connection:
            values, gone = apart_of(connection, *among), gone_of(connection)
            asked = query.where(c.visit.in_(among)) if among else query
            found = connection.execution_options(yield_per=500).execute(asked)
            for visit, events in groupby((StoredEvent(*row) for row in found), key=lambda e: e.visit):
                if visit in rows:  # else begun since: it comes with the next question
                    made[visit] = self.make(*rows[visit], [kept(e, values, gone) for e in events])
        for visit in rows.keys() - made.keys():
            made[visit] = self.make(*rows[visit], [])
        self._by_visit.update(made)

    def _one(self, visit: str) -> L:
        c = schema.event.c
        query = select(c.seq, c.kept_at, c.hash).where(c.visit == visit).order_by(c.seq.desc()).limit(1)
        with self.store.reading() as connection:
            count, changed, head = connection.execute(query).one()
        return self.make(visit, count, changed, head, self.store.events(visit, kinds=self.kinds))


class VisitList(PerVisit[VisitLine]):
    """The lines of the first page."""

    def __init__(self, store: Store) -> None:
        super().__init__(store, KINDS, _line)


FEW = 4  # visits that are read again one by one
SOME = 500  # visits that are read again in one go; of more, all are


def _line(visit_id: str, count: int, changed: str, head: str, events: Sequence[Kept]) -> VisitLine:
    heading = next((e.body for e in entries_of(events) if e.kind == "visit" and e.struck is None), {})
    struck, _ = effect(events)
    return VisitLine(
        id=visit_id,
        place=said(heading.get("place")),
        date=said(heading.get("date")),
        kind=said(heading.get("kind")),
        inspector=said(heading.get("inspector")),
        events=count,
        changed=changed,
        head=head,
        issued=any(e.kind == ISSUE and e.id not in struck for e in events),
    )


def said(value: object) -> str:
    """A value of a heading as text; a marked one without its mark."""
    if isinstance(value, dict):
        return str(next(iter(value.values()), ""))
    return "" if value is None else str(value)
