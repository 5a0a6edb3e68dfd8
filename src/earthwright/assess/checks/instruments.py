"""Instruments outside the period for which they were checked, and two that read the same thing and disagree."""

from __future__ import annotations

import datetime as dt

from ...base.errors import Finding, Severity
from ...site.events import Reading
from ...site.reading import Instrument
from ...site.tests import LOOPS_READ
from .repeats import REPEATABLE
from .series import Series, SeriesReading, inside, key_of

# By custom an instrument is compared once a year; a month is left for the appointment.
USUAL_DAYS = 396


def period(series: Series) -> list[Finding]:
    """Instruments with readings in this visit whose check is over, has not been made yet, or is old."""
    used = {e.instrument for e in series.visit.events if isinstance(e, Reading) and not e.refused and e.instrument}
    return [f for i in series.visit.instruments if i.id in used and (f := _of(i, series.visit.date)) is not None]


def disagree(series: Series) -> list[Finding]:
    """The same thing read with two instruments, nothing handled between, further apart than the limits of error of both."""
    groups: dict[tuple[object, ...], dict[str, SeriesReading]] = {}
    for row in series.rows:
        if row.reading.instrument and row.reading.test in (*REPEATABLE, *LOOPS_READ):
            key = (*key_of(row.reading), series.handled[row.reading.seq])
            groups.setdefault(key, {})[row.reading.instrument] = row
    found = []
    for by in groups.values():
        low, high = min(by.values(), key=lambda r: r.high), max(by.values(), key=lambda r: r.low)
        if low.high < high.low - 1e-9:
            found.append(_disagree(series, low, high))
    return found


def _disagree(series: Series, low: SeriesReading, high: SeriesReading) -> Finding:
    tools = {i.id: i for i in series.visit.instruments}
    named = [_named(tools[r.reading.instrument]) for r in (low, high)]
    return Finding.of(
        "instrument.disagree",
        f"{low.name}, {low.reading.test}",
        f"Two instruments read it and disagree: {low.shown} with {named[0]}, {high.shown} with {named[1]}.",
        low.reading.of,
        f"within the accuracy of both: {low.low:.3g} to {low.high:.3g} and {high.low:.3g} to {high.high:.3g} {low.shown.unit}",
        f"{low.shown.as_shown} and {high.shown.as_shown}",
        _check_first(series, low, high, named),
        "Leads that were not nulled, a probe on paint, or a supply that changed in between will do this.",
    )


def _check_first(series: Series, low: SeriesReading, high: SeriesReading, named: list[str]) -> str:
    """Which of the two to hold against a known resistor first: what does not fit the cable, else whose check is over or older."""
    expected = series.expected(low)
    fits = [expected is not None and inside(r, expected) for r in (low, high)]
    tools = {i.id: i for i in series.visit.instruments}
    days = [_date(tools[r.reading.instrument].checked) or dt.date.min for r in (low, high)]
    over = [_of(tools[r.reading.instrument], series.visit.date) is not None for r in (low, high)]
    if fits[0] != fits[1]:
        first, why = fits.index(False), "its reading does not fit the cable entered"
    elif over[0] != over[1]:
        first, why = over.index(True), "its check had run out"
    elif days[0] != days[1]:
        first, why = days.index(min(days)), "its check is older or not entered"
    else:
        return "Check both on a known resistor, with the same leads, and enter what they show; then read again."
    return f"Check {named[first]} on a known resistor first, with its leads: {why}. Then read again with both."


def _named(instrument: Instrument) -> str:
    return f"{instrument.name or instrument.id} ({f'serial {instrument.serial}' if instrument.serial else 'no serial entered'})"


def _of(instrument: Instrument, on: dt.date) -> Finding | None:
    valid, checked = _date(instrument.valid_until), _date(instrument.checked)
    if valid is not None and valid < on:
        return _finding(instrument, on, "Its check had run out when it was used.", Severity.WARNING, valid)
    if checked is not None and checked > on:
        return _finding(instrument, on, "Its check is dated after the visit.", Severity.WARNING, checked)
    if valid is None and checked is not None and (on - checked).days > USUAL_DAYS:
        return _finding(instrument, on, "It was last checked more than a year before.", Severity.NOTE, checked)
    return None


def _finding(instrument: Instrument, on: dt.date, what: str, severity: Severity, day: dt.date) -> Finding:
    return Finding(
        f"instrument {instrument.name or instrument.id}",
        what,
        severity,
        "instrument.period",
        instrument.id,
        f"a check that is in date on {on.isoformat()}",
        day.isoformat(),
        "Enter the newer certificate if there is one; if not, check it on a known resistor now and enter what it shows.",
        "The certificate in the case is often newer than the one in the office. Readings are judged all the same.",
    )


def _date(text: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text) if text else None
    except ValueError:
        return None
