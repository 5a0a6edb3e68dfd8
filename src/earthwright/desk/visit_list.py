"""The list of visits."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from ..records.event import CORRECT, ISSUE, STRIKE, Kept
from ..records.replay import effect, entries_of
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


def visit_lines(store: Store) -> list[VisitLine]:
    """Every visit, the one changed last first."""
    by_visit: dict[str, list[Kept]] = {}
    for event in store.events(kinds=("visit", CORRECT, STRIKE, ISSUE)):
        by_visit.setdefault(event.visit, []).append(event)
    lines = [_line(*row, by_visit.get(row[0], [])) for row in store.visits()]
    return sorted(lines, key=lambda v: v.changed, reverse=True)


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
