"""The list of visits."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen
from sqlalchemy import select

from ..records import schema
from ..records.event import CORRECT, ISSUE, STRIKE, Kept
from ..records.replay import effect, entries_of
from ..records.rows import head_of
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


class VisitList:
    """The lines of a journal. A visit is read again only when something was written to it since the last question."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._upto = 0
        self._by_visit: dict[str, VisitLine] = {}
        self._sorted: list[VisitLine] = []

    def lines(self) -> list[VisitLine]:
        """Every visit, the one changed last first."""
        c = schema.event.c
        with self.store.reading() as connection:
            newest, _ = head_of(connection)
            if newest < self._upto:  # another journal under the same name
                self._by_visit, self._upto = {}, 0
            if newest == self._upto:
                return list(self._sorted)
            query = select(c.visit).where(c.no > self._upto).distinct()
            changed = list(connection.execute(query).scalars()) if self._upto else []
        if self._upto and len(changed) <= FEW:
            for visit in changed:
                self._by_visit[visit] = self._one(visit)
        else:
            self._all()
        self._upto = newest
        self._sorted = sorted(self._by_visit.values(), key=lambda v: v.changed, reverse=True)
        return list(self._sorted)

    def line(self, visit_id: str) -> VisitLine | None:
        """One visit; None when there is none of that id."""
        self.lines()
        return self._by_visit.get(visit_id)

    def _all(self) -> None:
        by_visit: dict[str, list[Kept]] = {}
        for event in self.store.events(kinds=KINDS):
            by_visit.setdefault(event.visit, []).append(event)
        self._by_visit = {row[0]: _line(*row, by_visit.get(row[0], [])) for row in self.store.visits()}

    def _one(self, visit: str) -> VisitLine:
        c = schema.event.c
        query = select(c.seq, c.kept_at, c.hash).where(c.visit == visit).order_by(c.seq.desc()).limit(1)
        with self.store.reading() as connection:
            count, changed, head = connection.execute(query).one()
        return _line(visit, count, changed, head, self.store.events(visit, kinds=KINDS))


FEW = 50  # visits that are read again one by one; of more, all are read in one go


def _line(visit_id: str, count: int, changed: str, head: str, events: Sequence[Kept]) -> VisitLine:
    heading = next((e.body for e in entries_of(events) if e.kind == "visit" and e.struck is None), {})
    struck, _ = effect(events)
    return VisitLine(
        id=visit_id,
        place=_said(heading.get("place")),
        date=_said(heading.get("date")),
        kind=_said(heading.get("kind")),
        inspector=_said(heading.get("inspector")),
        events=count,
        changed=changed,
        head=head,
        issued=any(e.kind == ISSUE and e.id not in struck for e in events),
    )


def _said(value: object) -> str:
    """A value of a heading as text; a marked one without its mark."""
    if isinstance(value, dict):
        return str(next(iter(value.values()), ""))
    return "" if value is None else str(value)
