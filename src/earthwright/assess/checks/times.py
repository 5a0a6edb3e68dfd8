"""Dates and times that cannot be: steps out of order, days that have not come, readings faster than a person walks."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

from attrs import frozen

from ...base.errors import Finding, Severity
from ...site.events import Event, Reading
from .series import Series

NIGHT = (dt.time(23, 0), dt.time(5, 0))
# Two watches differ by a minute; a step back of so many minutes may be the next morning.
WATCHES_MIN, NEXT_DAY_MIN = 2, 240
# Nobody puts two probes on metal, waits for the digits and writes them down faster than this, place after place.
FASTEST_S = 5.0
PLACES = 6


@frozen
class _Timed:
    event: Event
    minute: int
    day: dt.date
    own: bool


def _timed(series: Series) -> list[_Timed]:
    """Every event with a time; ``day`` is its own, else that of the step before it, else the visit's."""
    found, days = [], dict[str, dt.date]()  # by whose clock
    for event in series.visit.events:
        text, day = event.at.strip(), days.get(event.clock, series.visit.date)
        try:
            if len(text) > 8:
                moment = dt.datetime.fromisoformat(text)
                day = days[event.clock] = moment.date()
                found.append(_Timed(event, moment.hour * 60 + moment.minute, day, own=True))
            elif text:
                time = dt.time.fromisoformat(text if ":" in text[:2] or len(text) > 4 else f"0{text}")
                found.append(_Timed(event, time.hour * 60 + time.minute, day, own=False))
        except ValueError:
            continue  # a time in words is kept for people
    return found


def _whose(t: _Timed) -> tuple[str, str]:
    return t.event.by, t.event.clock


def order(series: Series) -> list[Finding]:
    """Steps of one person whose times run backwards."""
    found = []
    timed = _timed(series)
    people = dict.fromkeys(map(_whose, timed))  # two people work side by side, each in an order of their own
    for a, b in (pair for person in people for pair in pairwise(t for t in timed if _whose(t) == person)):
        back = (a.day - b.day).days * 1440 + a.minute - b.minute
        if back <= WATCHES_MIN:
            continue
        new_day = NEXT_DAY_MIN <= back < 1440 and not b.own
        found.append(
            Finding(
                f"step {b.event.seq}",
                "The times run backwards" + (", or the next day began." if new_day else "."),
                Severity.NOTE if new_day else Severity.WARNING,
                "times.order",
                "",
                f"{a.event.at} or later",
                b.event.at,
                "Put the steps in the order you did them: that order shows what was off at each reading.",
                "They may have been entered later from memory, or by two people with two watches.",
            )
        )
    return found[:5]


def days(series: Series) -> list[Finding]:
    """A visit that has not happened yet, or that lies before the last one; work in the middle of the night."""
    visit, found = series.visit, []
    if series.today is not None and visit.date > series.today:
        found.append(_day("The visit is dated in the future.", f"{series.today.isoformat()} or earlier", visit.date))
    if series.previous is not None and series.previous.date > visit.date:
        found.append(
            _day("The visit is dated before the last one.", f"after {series.previous.date.isoformat()}", visit.date)
        )
    at_night = [t for t in _timed(series) if t.minute >= NIGHT[0].hour * 60 or t.minute < NIGHT[1].hour * 60]
    if at_night:
        first = at_night[0].event
        found.append(
            Finding.of(
                "times.night",
                f"step {first.seq}",
                f"{len(at_night)} steps are timed in the middle of the night.",
                "",
                "a working day",
                first.at,
                "Leave it if it is right; if not, correct the times.",
                "Shops and works are often tested at night; a clock in the wrong time zone does it too.",
            )
        )
    return found


def _day(what: str, expected: str, found: dt.date) -> Finding:
    return Finding.of(
        "times.date",
        "visit: date",
        what,
        "",
        expected,
        found.isoformat(),
        "Correct the date: it decides which edition of the rules applies.",
        "A slip of the year or the month, or a device with the wrong date.",
    )


def too_fast(series: Series) -> list[Finding]:
    """More places read within one minute than anybody can reach."""
    by_minute: dict[tuple[dt.date, int, str], set[tuple[str, str]]] = {}
    first: dict[tuple[dt.date, int, str], Event] = {}
    for t in _timed(series):
        if isinstance(t.event, Reading) and not t.event.refused:
            at = t.day, t.minute, t.event.clock
            by_minute.setdefault(at, set()).add((t.event.of, t.event.point))
            first.setdefault(at, t.event)
    found = []
    for minute, places in by_minute.items():
        if len(places) <= PLACES:
            continue
        pace = 60.0 / len(places)
        slow = pace >= FASTEST_S
        found.append(
            Finding(
                f"step {first[minute].seq}",
                f"{len(places)} places were read within one minute.",
                Severity.NOTE if slow else Severity.WARNING,
                "times.pace",
                "",
                f"at least {FASTEST_S:g} s for a place",
                f"{pace:.1f} s",
                "If the readings were typed in together, leave the times out, or enter when each was taken.",
                "Readings copied from an instrument's memory or a notebook all get the time of typing.",
            )
        )
    return found[:5]
