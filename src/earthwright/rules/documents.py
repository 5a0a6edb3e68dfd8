"""Rules about reports: codes and the overall assessment, intervals, how long records are kept, landlords' deadlines."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from attrs import frozen

from ..base.days import years_on
from ..base.errors import NoRule
from .load import RuleBook
from .model import Edition, RuleValue

INSPECTION = "inspection and test"


def observation_codes(edition: Edition) -> tuple[RuleValue, ...]:
    """The codes of a condition report, most urgent first: columns meaning, unsatisfactory, act."""
    return edition.table("observation.codes").all()


def observation_code(edition: Edition, code: str) -> RuleValue:
    """One code of a condition report. Raises NoRule for a code the edition does not have."""
    return edition.table("observation.codes").look(code=code)


@frozen
class Proposal:
    """What the codes make of a report. The inspector decides, and may differ with a reason.

    decided_by  the codes that make it unsatisfactory, or that might be thought to and do not
    """

    unsatisfactory: bool
    because: str
    decided_by: tuple[RuleValue, ...]


def overall_assessment(edition: Edition, codes: Iterable[str]) -> Proposal:
    """The overall assessment that the codes of a report lead to under the edition. Raises NoRule for unknown codes."""
    observation_codes(edition)  # without codes of its own an edition decides nothing, however few there are
    rows = [observation_code(edition, code) for code in dict.fromkeys(codes)]
    failing = tuple(r for r in rows if r.flag("unsatisfactory"))
    if failing:
        said = ", ".join(str(r.keys["code"]) for r in failing)
        return Proposal(True, f"{said}: unsatisfactory under {edition.edition}", failing)
    noted = tuple(r for r in rows if r.note)
    said = "".join(f"; {r.keys['code']} {r.note}" for r in noted)
    return Proposal(False, f"no code that is unsatisfactory under {edition.edition}{said}", noted)


def inspection_interval(edition: Edition, premises: str) -> RuleValue:
    """Usual longest interval until the next inspection [years]; guidance, the inspector gives the reason."""
    return edition.table("inspection.intervals").look(premises=premises)


def retention(edition: Edition, what: str = "work, calibration, complaints") -> RuleValue:
    """How long documents are kept at least [years]."""
    return edition.table("records.retention").look(what=what)


def rented_edition(book: RuleBook, country: str, on: dt.date) -> Edition:
    """The law on rented homes of a country on a day.

    country  ``England``, ``Scotland``, ``Wales``, ``Northern Ireland``. Raises NoRule, also for other countries.
    """
    if not book.knows(f"{country} rented"):
        raise NoRule(f"no rule data for rented homes in '{country}'")
    return book.edition_for(f"{country} rented", on)


@frozen
class Deadline:
    """Last day on which a duty is done in time.

    duty, event  what is due and the event the period runs from;  shorter  the period came from the report
    """

    duty: str
    event: str
    last_day: dt.date
    shorter: bool
    rule: RuleValue


def deadline(law: Edition, duty: str, event_on: dt.date, shorter_days: int | None = None) -> Deadline:
    """Last day of a period in days from an event [date].

    ``event + days``, one less where the law counts the day of the event as the first.
    shorter_days  period that the report sets instead [days], used where the law allows it and it is shorter.
    Raises NoRule when the country's law sets no such period, ValueError for a period below 1 day.
    """
    row = law.table("duty.days").look(duty=duty)
    days = int(row.value)
    if shorter_days is not None and shorter_days < 1:
        raise ValueError(f"shorter_days: expected at least 1 day, found {shorter_days}")
    shorter = False
    if shorter_days is not None and shorter_days < days and row.flag("shorter_in_report"):
        days, shorter = shorter_days, True
    last = event_on + dt.timedelta(days=days - (1 if row.flag("counts_first_day") else 0))
    return Deadline(duty, row.text("from"), last, shorter, row)


def deadlines(law: Edition, event: str, event_on: dt.date, shorter_days: int | None = None) -> tuple[Deadline, ...]:
    """Every deadline that runs from one event, soonest first; empty where the law sets none in days."""
    if not law.has("duty.days"):
        return ()
    rows = (r for r in law.table("duty.days").all() if r.text("from") == event)
    found = [deadline(law, str(r.keys["duty"]), event_on, shorter_days) for r in rows]
    return tuple(sorted(found, key=lambda d: d.last_day))


def next_inspection_by(law: Edition, inspected_on: dt.date, report_says: dt.date | None = None) -> Deadline:
    """Last day until which an inspection of a rented home counts [date]: years of the law, or the earlier day of the report."""
    row = law.table("duty.years").look(duty=INSPECTION)
    last = years_on(inspected_on, int(row.value))
    if row.flag("counts_first_day"):
        last -= dt.timedelta(days=1)
    if report_says is not None and report_says < last and row.flag("shorter_in_report"):
        return Deadline(INSPECTION, INSPECTION, report_says, True, row)
    return Deadline(INSPECTION, INSPECTION, last, False, row)


def other_duties(law: Edition) -> tuple[RuleValue, ...]:
    """Duties of a landlord without a period, in our own words; empty when the data hold none."""
    return law.table("duty.other").all() if law.has("duty.other") else ()
