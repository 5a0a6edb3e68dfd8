"""The firm's instruments: which visits used each, until when its check counts, what its checks showed, and whether it was wrong.

An instrument is known by its serial number; one without a number by its name. What a visit says of it stays as it was
entered there; a later check, and that it turned out wrong, are written down here.
"""

from __future__ import annotations

import datetime as dt
from functools import lru_cache
from typing import TYPE_CHECKING

from attrs import field, frozen

from ..base.digits import Kind
from ..site.events import LeadCheck
from .index import Found, day_of, is_day
from .people import too_long

if TYPE_CHECKING:
    from .firm import Firm
    from .rights import Person

CHECKED, WRONG = "instrument checked", "instrument found wrong"
MOST_READ = 40  # visits whose checks of leads are read for the plot, the newest


@frozen
class Wrong:
    """From which day on an instrument's readings are in doubt, and what was found."""

    since: dt.date
    words: str


@frozen
class Firms:
    """One instrument. ``key``: serial number or name;  visits, the newest first;  until  the last day its check counts"""

    key: str
    title: str
    visits: tuple[Found, ...] = field(repr=False)
    users: frozenset[str]
    until: dt.date | None
    wrong: Wrong | None

    def doubted(self) -> list[Found]:
        """The visits that rest on it since it is in doubt."""
        return [f for f in self.visits if self.wrong and ((day := day_of(f.date)) is None or day >= self.wrong.since)]


@lru_cache(maxsize=4096)  # a firm has dozens, and each stands in hundreds of visits
def key_of(serial: str, name: str) -> str:
    """By what an instrument is known: blanks and capitals do not count."""
    return "".join((serial or name).casefold().split())


def tools(firm: Firm) -> list[Firms]:
    """Every instrument that a visit names, the one whose check lapses first before the others."""
    used: dict[str, list[tuple[Found, str, str, str]]] = {}
    for f in firm.index.lines():
        for t in f.tools:
            if key := key_of(t.serial, t.name):
                used.setdefault(key, []).append((f, t.name, t.serial, t.until))
    checked, wrong = firm.last(CHECKED), firm.last(WRONG)
    made = []
    for key, rows in used.items():
        rows.sort(key=lambda r: r[0].date, reverse=True)
        days = [day for r in rows if (day := day_of(r[3]))]
        if key in checked and (day := day_of(checked[key].words)):
            days.append(day)
        since, _, words = wrong[key].words.partition(" ") if key in wrong else ("", "", "")
        day = day_of(since)
        made.append(
            Firms(
                key,
                ", ".join(x for x in (rows[0][1], rows[0][2]) if x),
                tuple(r[0] for r in rows),
                frozenset(r[0].inspector for r in rows),
                max(days, default=None),
                Wrong(day, words) if day else None,
            )
        )
    return sorted(made, key=lambda t: (t.until or dt.date.max, t.title))


def shown(firm: Firm, tool: Firms) -> list[tuple[dt.date, str, float]]:
    """What its checks showed at each visit, oldest first: day, kind, and how far from what it should be [Ω]."""
    found = []
    for f in tool.visits[:MOST_READ]:
        visit = firm.desk.read(f.id).book.visit
        ids = {t.id for t in f.tools if key_of(t.serial, t.name) == tool.key} | {""}
        for e in visit.events if visit else ():
            read = isinstance(e, LeadCheck) and e.kind in ("shorted", "known") and e.shown.kind is Kind.VALUE
            if visit and read and isinstance(e, LeadCheck) and e.instrument in ids:
                found.append((visit.date, e.kind, float(e.shown.digits) - (e.nominal_ohm or 0.0)))
    return sorted(found)


def doubts(firm: Firm, found: Found) -> list[Firms]:
    """The instruments of a visit that turned out wrong before or when it was made."""
    keys = {key_of(t.serial, t.name) for t in found.tools}
    return [t for t in tools(firm) if t.key in keys and any(f.id == found.id for f in t.doubted())]


def note(firm: Firm, by: Person, key: str, what: str, day: str, words: str = "") -> str:
    """Write down a later check, or that it turned out wrong from a day on; what is amiss with that, or empty."""
    if not is_day(day):
        return "Write the day as 2026-12-31."
    if what == WRONG and not words.strip():
        return "Say what was found: it stands beside every visit that rests on it."
    said = f"{day} {words.strip()}".strip()
    if why := too_long(said):
        return why
    firm.note(by, what, key, said)
    return ""
