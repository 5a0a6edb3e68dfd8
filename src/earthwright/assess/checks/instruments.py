"""Instruments outside the period for which they were checked, and readings whose state was never said."""

from __future__ import annotations

import datetime as dt

from ...base.errors import Finding, Severity
from ...site.events import Reading
from ...site.reading import Instrument
from .series import Series

# By custom an instrument is compared once a year; a month is left for the appointment.
USUAL_DAYS = 396


def period(series: Series) -> list[Finding]:
    """Instruments with readings in this visit whose check is over, has not been made yet, or is old."""
    used = {e.instrument for e in series.visit.events if isinstance(e, Reading) and not e.refused and e.instrument}
    return [f for i in series.visit.instruments if i.id in used and (f := _of(i, series.visit.date)) is not None]


def _of(instrument: Instrument, on: dt.date) -> Finding | None:
    valid, checked = _date(instrument.valid_until), _date(instrument.checked)
    if valid is not None and valid < on:
        return _finding(
            instrument, on, "It was used after the day until which its check holds.", Severity.WARNING, valid
        )
    if checked is not None and checked > on:
        return _finding(instrument, on, "Its check is dated after the visit.", Severity.WARNING, checked)
    if valid is None and checked is not None and (on - checked).days > USUAL_DAYS:
        return _finding(instrument, on, "It was checked more than a year before.", Severity.NOTE, checked)
    return None


def _finding(instrument: Instrument, on: dt.date, what: str, severity: Severity, day: dt.date) -> Finding:
    return Finding(
        f"instrument {instrument.name or instrument.id}",
        what,
        severity,
        "instrument.period",
        instrument.id,
        f"a check that holds on {on.isoformat()}",
        day.isoformat(),
        "Enter the newer certificate if there is one; else compare it with a known resistor now and note what it showed.",
        "The certificate in the case is often newer than the one in the office. Readings are judged all the same.",
    )


def _date(text: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text) if text else None
    except ValueError:
        return None
