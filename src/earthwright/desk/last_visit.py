"""The visit before: the latest earlier one to the same place, found without reading the journal again each time."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable

from attrs import frozen
from sqlalchemy import select

from ..records import schema
from ..records.event import CORRECT, ERASE, STRIKE, Kept
from ..records.personal import MISSING
from ..records.replay import entries_of
from ..records.store import Store
from ..site.fields import ERASED

HEADING = "visit"
CHANGES = (HEADING, CORRECT, STRIKE)  # events that may change what a heading says; an erasure takes its place away


@frozen
class Heading:
    """Where and when a visit was, as its heading stands. ``place``: its words without case and signs, empty if unknown."""

    place: str
    date: dt.date | None


class Headings:
    """The headings of a journal. Only what was written since the last question is read again."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._upto = 0
        self._by_visit: dict[str, Heading] = {}  # in the order in which the visits were begun

    def earlier(self, visit_id: str, date: dt.date) -> list[tuple[str, dt.date]]:
        """Other visits to the same place on days before ``date``, the latest first, each with its day."""
        self._refresh()
        here = self._by_visit.get(visit_id)
        if here is None or not here.place:
            return []
        found = [
            (name, h.date)
            for name, h in self._by_visit.items()
            if name != visit_id and h.place == here.place and h.date is not None and h.date < date
        ]
        found.reverse()  # of one day, the one begun last comes first
        return sorted(found, key=lambda x: x[1], reverse=True)

    def of(self, visit_id: str) -> Heading:
        """The heading of a visit; an empty one when there is none."""
        self._refresh()
        return self._by_visit.get(visit_id, Heading("", None))

    def _refresh(self) -> None:
        c = schema.event.c
        query = select(c.no, c.visit).where(c.no > self._upto, c.kind.in_((*CHANGES, ERASE))).order_by(c.no)
        with self.store.reading() as connection:
            new = [(row[0], row[1]) for row in connection.execute(query)]
        if not new:
            return
        by_visit: dict[str, list[Kept]] = {visit: [] for _, visit in new}
        if not self._upto:  # the whole journal is read in one go, once
            for event in self.store.events(kinds=CHANGES):
                by_visit.setdefault(event.visit, []).append(event)
        for visit, events in by_visit.items():
            self._by_visit[visit] = _heading(events if not self._upto else self.store.events(visit, kinds=CHANGES))
        self._upto = new[-1][0]


def _heading(events: Iterable[Kept]) -> Heading:
    body = next((e.body for e in entries_of(list(events)) if e.kind == HEADING and e.struck is None), {})
    place = body.get("place")
    try:
        date = dt.date.fromisoformat(_text(body.get("date")))
    except ValueError:
        date = None
    return Heading(same_place(place) if isinstance(place, str) else "", date)


def _text(value: object) -> str:
    """A value of a heading as text; a marked one without its mark."""
    return str(next(iter(value.values()), "")) if isinstance(value, dict) else str(value)


def same_place(place: str) -> str:
    """A place as it is compared: its words in small letters, without signs; empty when it was erased or is missing."""
    return "" if place in (ERASED, MISSING) else " ".join(re.findall(r"\w+", place.casefold()))
