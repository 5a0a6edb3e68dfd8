"""What the office looks for: each visit with its stage, its words, its instruments. Held in memory, worked out from the journal.

Nothing of it is kept: an erasure takes what it takes out of here as well, with the next question.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Any

from attrs import field, frozen
from sqlalchemy import select

from ..desk.visit_list import PerVisit, said
from ..records import schema
from ..records.event import CORRECT, ISSUE, STRIKE, Kept
from ..records.replay import effect, entries_of
from ..records.store import Store
from ..site.particulars import ASKED, AUTHORISED, CONFIRMED, OVERTAKEN, REMEDIED, TESTED
from ..site.tables import TABLES

PLANNED, ON_SITE, TO_SIGN, ISSUED, REMEDIAL, DONE = (
    "planned", "on site", "to be countersigned", "issued", "remedial open", "done",
)  # fmt: skip
STAGES = (PLANNED, ON_SITE, TO_SIGN, ISSUED, REMEDIAL, DONE)
THINGS = ("observation", *(t.name for t in TABLES if t.many and t.again))
KINDS = ("visit", "report", "sign", *THINGS, CORRECT, STRIKE, ISSUE)
# Keys of a thing by which somebody looks for it.
_WORDS = ("id", "name", "title", "what", "where", "code", "serial", "kind", "part", "designation", "device", "clause")
_PERSONAL = ("place", "client", "client_address", "premises", "occupier", "inspector", "supervisor", "firm")


@frozen
class Tool:
    """An instrument as a visit names it; ``checked`` and ``until`` as entered there."""

    id: str
    name: str
    serial: str
    checked: str
    until: str


@frozen
class Found:
    """One visit as the office sees it.

    signed, countersigned  when the inspector and the supervisor signed, empty when not;  issued  hashes of its papers
    codes  of observations that stand;  open_codes  C1, C2 and FI of which nobody has said that they were put right
    next_by  the last day for the next inspection, as entered;  words  everything it is found by
    """

    id: str
    place: str
    date: str
    kind: str
    inspector: str
    changed: str
    head: str
    signed: str
    countersigned: str
    issued: tuple[tuple[str, str], ...]
    codes: tuple[str, ...]
    open_codes: tuple[str, ...]
    next_by: str
    tools: tuple[Tool, ...]
    words: str = field(repr=False)


def _found(visit_id: str, count: int, changed: str, head: str, events: Sequence[Kept]) -> Found:
    entries = [e for e in entries_of(events) if e.struck is None]
    struck, _ = effect(events)
    bodies: dict[str, list[dict[str, Any]]] = {}
    for e in entries:
        bodies.setdefault(e.kind, []).append(e.body)
    heading, report = (bodies.get(k, [{}])[0] for k in ("visit", "report"))
    signs = {str(b.get("role")): e.event.kept_at for e in entries if e.kind == "sign" for b in [e.body]}
    observations = bodies.get("observation", [])
    codes = tuple(sorted({said(b.get("code")) for b in observations} - {""}))
    words = [said(b.get(k)) for b in (heading, report) for k in _PERSONAL]
    words += [said(heading.get("date")), said(heading.get("kind"))]
    words += [said(b.get(k)) for kind in THINGS for b in bodies.get(kind, []) for k in _WORDS]
    return Found(
        id=visit_id,
        place=said(heading.get("place")),
        date=said(heading.get("date")),
        kind=said(heading.get("kind")),
        inspector=said(heading.get("inspector")),
        changed=changed,
        head=head,
        signed=signs.get(TESTED, ""),
        countersigned=signs.get(AUTHORISED, ""),
        issued=tuple(
            (said(e.body.get("document")), said(e.body.get("hash")))
            for e in events
            if e.kind == ISSUE and e.id not in struck
        ),
        codes=codes,
        open_codes=tuple(sorted(said(b.get("code")) for b in observations if _open(b))),
        next_by=said(report.get("next_by")),
        tools=tuple(_tool(b) for b in bodies.get("instrument", [])),
        words=" ".join(dict.fromkeys(w.casefold() for w in words if w)),
    )


def _open(observation: dict[str, Any]) -> bool:
    stages = observation.get("then", observation.get("stages", []))
    ended = {said(s.get("stage")) for s in stages if isinstance(s, dict)} if isinstance(stages, list) else set()
    return said(observation.get("code")) in ASKED and not ended & {REMEDIED, CONFIRMED, OVERTAKEN}


def _tool(b: dict[str, Any]) -> Tool:
    return Tool(*(said(b.get(k)) for k in ("id", "name", "serial", "checked", "valid_until")))


class Index(PerVisit[Found]):
    """Every visit as the office sees it."""

    def __init__(self, store: Store) -> None:
        super().__init__(store, KINDS, _found)
        self._begun_upto, self._begun = 0, set[str]()

    def begun(self) -> set[str]:
        """Ids of the visits at which something was done: a step, or an item looked at."""
        c = schema.event.c
        newest, _ = self.store.head()
        if newest < self._begun_upto:  # another journal under the same name
            self._begun_upto, self._begun = 0, set()
        if newest > self._begun_upto:
            query = select(c.visit).where(c.kind.in_(("step", "inspected")), c.no > self._begun_upto).distinct()
            with self.store.glance() as connection:
                self._begun |= set(connection.execute(query).scalars())
            self._begun_upto = newest
        return self._begun


def stage_of(found: Found, begun: bool, back_at: str, handed: bool) -> str:
    """Where a visit stands. ``back_at``: when it was last sent back to its inspector; ``handed``: whether to the client."""
    if found.issued:
        return REMEDIAL if found.open_codes else DONE if handed else ISSUED
    if found.signed > back_at:
        return TO_SIGN
    return ON_SITE if begun or back_at else PLANNED


def matching(found: Iterable[Found], wanted: str, whose: Mapping[str, str]) -> list[Found]:
    """Those that hold every word, in themselves or in the name of the person whose they are (``whose``, by visit)."""
    words = wanted.casefold().split()
    return [f for f in found if all(w in f.words or w in whose.get(f.id, "").casefold() for w in words)]


@lru_cache(maxsize=16384)  # ten years have 3,650 days, and thousands of visits name them again and again
def day_of(text: str) -> dt.date | None:
    """A day as entered; None when there is none, or it cannot be read."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        return None


def is_day(text: str) -> bool:
    """Whether a day is written as 2026-12-31, and in none of the other forms of ISO 8601."""
    day = day_of(text)
    return day is not None and day.isoformat() == text
