"""What is due by when: rented homes by the law of the country, the next inspection, keeping of records; list and calendar."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterable

from attrs import frozen

from ..base.errors import NoRule
from ..outcomes.assessment import Assessment
from ..rules import RuleBook
from ..rules.documents import (
    Deadline,
    deadlines,
    next_inspection_by,
    observation_code,
    other_duties,
    rented_edition,
    retention,
)
from ..site.particulars import CONFIRMED, REMEDIED
from ..site.visit import Visit
from .coding import edition_of
from .observations import Thread, immediate, threads, waits_for_nobody

INSPECTION, COMPLETION = "inspection and test", "completion of the work"
WORK = "remedial or investigative work"
FOLDED_AT = 75  # octets of a content line without its line break (RFC 5545, 3.1)


@frozen
class Due:
    """One thing that is due.

    last_day  last day on which it is done in time;  now  danger is there: no day is given, it is done at once;  counted  how the day was found;  source  document and clause
    memory    True when a value or the counting is from memory of the document
    """

    what: str
    last_day: dt.date
    counted: str
    source: str
    memory: bool = False
    note: str = ""
    now: bool = False


@frozen
class Duties:
    """What is due in date order, duties without a date, what each open code asks for, and what must be said about it."""

    due: tuple[Due, ...]
    undated: tuple[str, ...]
    acts: tuple[str, ...]
    said: tuple[str, ...]


def duties(a: Assessment) -> Duties:
    """Everything that is due after a visit, as dated data with their source.

    The period for work that a report asks for runs from the inspection, not from the day the report arrives.
    """
    due, undated, said = [*_now(a), *_next(a.visit)], [], []
    report = a.visit.paperwork.report
    open_threads = [t for t in threads(a) if t.counts]
    asks = [t for t in open_threads if t.observation.code in ("C1", "C2", "FI")]
    if report.rented is None:
        said.append("It is not entered whether the home is rented, so no landlord's periods are shown.")
    elif report.rented and not report.country:
        said.append("The country is not entered, so no landlord's periods are shown.")
    elif report.rented:
        law_due, law_undated, law_said = _rented(a, asks)
        due += law_due
        undated += law_undated
        said += law_said
    try:
        kept = retention(edition_of(a))
        years = int(kept.value)
        due.append(
            Due(
                "Keep the records of the work at least until then",
                _years_on(a.visit.date, years),
                f"{years} years from {a.visit.date}",
                f"{kept.document}, {kept.clause}",
                kept.confidence == "memory",
            )
        )
    except NoRule as error:
        said.append(f"How long records are kept: no rule: {error}")
    by_day = tuple(sorted(due, key=lambda d: (not d.now, d.last_day, d.what)))
    return Duties(by_day, tuple(undated), tuple(_acts(a, open_threads)), tuple(said))


def _now(a: Assessment) -> list[Due]:
    """What is dangerous now has no last day: it is removed before anybody leaves."""
    try:
        row = observation_code(edition_of(a), "C1")
        act, source, memory = row.text("act"), f"{row.document}, {row.clause}", row.confidence == "memory"
    except NoRule as error:
        act, source, memory = "make it harmless at once", f"no rule: {error}", False
    counted = "at once: there is danger now, and no period runs for it"
    return [
        Due(
            f"Danger: {x.what.rstrip('.')}" + (f" ({x.where})" if x.where and x.where not in x.what else ""),
            a.visit.date,
            counted,
            source,
            memory,
            f"{x.said}: {act}",
            now=True,
        )
        for x in immediate(a)
    ]


def _next(visit: Visit) -> list[Due]:
    report = visit.paperwork.report
    if report.next_by is None:
        return []
    why = report.next_reason or "no reason is entered"
    return [Due("Next inspection, by the report", report.next_by, why, "the inspector's recommendation")]


def _rented(a: Assessment, asks: list[Thread]) -> tuple[list[Due], list[str], list[str]]:
    visit, report = a.visit, a.visit.paperwork.report
    try:
        law = rented_edition(RuleBook.load(), report.country, visit.date)
    except NoRule as error:
        return [], [], [f"Landlord's periods: no rule: {error}"]
    due, said = [], []
    for d in deadlines(law, INSPECTION, visit.date, report.work_days):
        if d.duty != WORK:
            due.append(_due(d, visit.date))
        elif later := [t.observation.id for t in asks if not waits_for_nobody(t)]:
            due.append(_due(d, visit.date, f"for observation{'s' if len(later) > 1 else ''} {', '.join(later)}"))
        elif asks:
            said.append(f"The danger is removed now; the law's period for {WORK} is none to wait for.")
        else:
            said.append(f"No {WORK} is asked for, so no period for it runs.")
    if any(t.observation.code == "FI" for t in asks):
        said.append(
            "Whether an FI makes the report unsatisfactory is one question, by the edition of the wiring rules; the law's "
            "period for further investigation is another and runs all the same where the law has one."
        )
    finished = _finished(a)
    if finished is not None:
        due += [_due(d, finished) for d in deadlines(law, COMPLETION, finished)]
    try:
        due.append(
            _due(next_inspection_by(law, visit.date, report.next_by), visit.date, f"rented home, {report.country}")
        )
    except NoRule as error:
        said.append(f"Interval by law: no rule: {error}")
    undated = [
        f"{str(r.keys['duty']).capitalize()}: {r.text('rule')} ({r.document}, {r.clause})." for r in other_duties(law)
    ]
    if law.has("duty.days"):
        rows = [r for r in law.table("duty.days").all() if r.text("from") not in (INSPECTION, COMPLETION)]
        undated += [
            f"{str(r.keys['duty']).capitalize()}: {int(r.value)} days from {r.text('from')} ({r.document}, {r.clause})."
            for r in rows
        ]
        if finished is None and asks:
            rows = [r for r in law.table("duty.days").all() if r.text("from") == COMPLETION]
            undated += [
                f"{str(r.keys['duty']).capitalize()}: {int(r.value)} days from {COMPLETION} ({r.document}, {r.clause})."
                for r in rows
            ]
    else:
        said.append(f"The law of {report.country} in the data sets no periods in days.")
    if law.source.confidence == "memory":
        said.append(f"{law.title}: dates from memory; check them.")
    return due, undated, said


def _due(d: Deadline, event_on: dt.date, about: str = "") -> Due:
    row = d.rule
    first = bool(row.columns.get("counts_first_day"))
    how = f"from {d.event} on {event_on}" + (", that day counted as the first" if first else "")
    how += "; period of the report, shorter than the law's" if d.shorter else ""
    note = ". ".join(x for x in (about, row.note) if x)
    source = f"{row.document}, {row.clause}"
    what = "Next inspection, by law" if d.duty == INSPECTION else d.duty[0].upper() + d.duty[1:]
    return Due(what, d.last_day, how, source, row.confidence == "memory", note)


def _finished(a: Assessment) -> dt.date | None:
    """Day on which the last piece of work was done, when all of it was; None while some is open or none was."""
    asked = [t for t in threads(a) if t.observation.code in ("C1", "C2", "FI")]
    days = []
    for t in asked:
        done = [s.on for s in t.observation.stages if s.stage in (REMEDIED, CONFIRMED)]
        if not done:
            return None
        days.append(min(done))
    return max(days, default=None)


def _acts(a: Assessment, open_threads: Iterable[Thread]) -> list[str]:
    try:
        edition = edition_of(a)
        rows = {str(r.keys["code"]): r for r in edition.table("observation.codes").all()}
    except NoRule:
        return []
    said = []
    for t in open_threads:
        row = rows.get(t.observation.code)
        if row is not None:
            said.append(f"Observation {t.observation.id}, {t.observation.code}: {row.text('act')}.")
    return said


def _years_on(day: dt.date, years: int) -> dt.date:
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February
        return dt.date(day.year + years, 2, 28)


# ---- calendar (RFC 5545) ----


def calendar(visit: Visit, found: Duties) -> str:
    """The dated duties as an iCalendar object, a whole-day event each; the same text for the same visit.

    Content lines end in CR LF, are folded at 75 octets between characters, and text is escaped (RFC 5545, 3.1, 3.3.11).
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//earthwright//deadlines//EN", "CALSCALE:GREGORIAN"]
    stamp = f"{visit.date:%Y%m%d}T000000Z"
    for d in found.due:
        memory = " From memory of the document, check it." if d.memory else ""
        about = f"{visit.site.place}. Counted {d.counted}. Source: {d.source}.{memory} {d.note}".strip()
        key = "\x00".join((visit.site.place, visit.date.isoformat(), d.what, d.last_day.isoformat(), d.source))
        uid = hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()[:32]
        lines += [
            "BEGIN:VEVENT",
            f"UID:{uid}@earthwright.invalid",
            f"DTSTAMP:{stamp}",
            f"DTSTART;VALUE=DATE:{d.last_day:%Y%m%d}",
            f"DTEND;VALUE=DATE:{d.last_day + dt.timedelta(days=1):%Y%m%d}",
            f"SUMMARY:{_escaped(f'Now: {d.what}' if d.now else f'Last day: {d.what[0].lower()}{d.what[1:]}')}",
            f"LOCATION:{_escaped(visit.site.place)}",
            f"DESCRIPTION:{_escaped(about)}",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(folded(line) + "\r\n" for line in lines)


def _escaped(text: str) -> str:
    """Text of a property value; control characters, which it may not hold, become blanks."""
    text = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\\n")
    return "".join(c if ord(c) >= 32 and ord(c) != 127 else " " for c in text)


def folded(line: str) -> str:
    """A content line in pieces of at most 75 octets of UTF-8, none split within a character (RFC 5545, 3.1)."""
    pieces: list[str] = []
    piece, size = "", 0
    for character in line:
        octets = len(character.encode("utf-8", "replace"))
        if size + octets > FOLDED_AT:
            pieces.append(piece)
            piece, size = "", 1  # the blank that begins a continued line counts
        piece, size = piece + character, size + octets
    pieces.append(piece)
    return "\r\n ".join(pieces)
