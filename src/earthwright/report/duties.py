"""What is due by when: rented homes by the law of the country, the next inspection, keeping of records; list and calendar."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Iterable, Iterator

from attrs import frozen

from ..base.days import years_on
from ..base.errors import NoRule
from ..outcomes.assessment import Assessment
from ..rules.documents import observation_code, retention
from ..site.particulars import ASKED
from ..site.visit import Visit
from .coding import edition_of
from .due import INSPECTION, Due, Found
from .landlord import landlord
from .notifying import notices
from .observations import Immediate, Thread, immediate, threads
from .stops import stops

KEEP = "Keep the records of the work at least until then"
REMINDED = "-P7D"  # of a last day: a week before it
BEYOND = "A period would end after the year 9999: no last day is counted. Look at the dates that were entered."
FOLDED_AT = 75  # octets of a content line without its line break (RFC 5545, 3.1)


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
    open_threads = [t for t in threads(a) if t.counts]
    found = Found([*_now(a), *_next(a.visit)])
    found.add(_counted(lambda: landlord(a, [t for t in open_threads if t.observation.code in ASKED])))
    found.add(_counted(lambda: notices(a.visit)))
    try:
        kept = retention(edition_of(a))
        years = int(kept.value)
        found.due.append(
            Due(
                KEEP,
                years_on(a.visit.date, years),
                f"{years} years from {a.visit.date}",
                f"{kept.document}, {kept.clause}",
                kept.confidence == "memory",
            )
        )
    except NoRule as error:
        found.said.append(f"How long records are kept: no rule: {error}")
    by_day = tuple(sorted(found.due, key=lambda d: (not d.now, d.last_day, d.what)))
    return Duties(by_day, tuple(found.undated), tuple(_acts(a, open_threads)), tuple(found.said))


def _counted(rules: Callable[[], Found]) -> Found:
    """What rules lead to; only that nothing can be counted where a period ends after the last day there is."""
    try:
        return rules()
    except OverflowError:
        return Found(said=[BEYOND])


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
        for x in _dangers(a)
    ]


def _dangers(a: Assessment) -> Iterator[Immediate]:
    """Every C1 that nobody made safe, then what else stops the work: each once."""
    coded = immediate(a)
    yield from coded
    said = {x.what for x in coded}
    yield from (Immediate(s.what, "", "found at the visit") for s in stops(a) if s.what not in said)


def _next(visit: Visit) -> list[Due]:
    report = visit.paperwork.report
    if report.next_by is None:
        return []
    why = report.next_reason or "no reason is entered"
    return [
        Due("Next inspection, by the report", report.next_by, why, "the inspector's recommendation", duty=INSPECTION)
    ]


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


# ---- calendar (RFC 5545) ----


def calendar(visit: Visit, found: Duties) -> str:
    """The dated duties as an iCalendar object, a whole-day event each with a reminder, danger first in rank; the same text for the same visit.

    Content lines end in CR LF, are folded at 75 octets between characters, and text is escaped (RFC 5545, 3.1, 3.3.11).
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//earthwright//deadlines//EN", "CALSCALE:GREGORIAN"]
    stamp = f"{digits(visit.date)}T000000Z"
    for d in found.due:
        memory = " From memory of the document, check it." if d.memory else ""
        about = f"{visit.site.place}. Counted {d.counted}. Source: {d.source}.{memory} {d.note}".strip()
        key = "\x00".join((visit.site.place, visit.date.isoformat(), d.what, d.last_day.isoformat(), d.source))
        uid = hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()[:32]
        lines += [
            "BEGIN:VEVENT",
            f"UID:{uid}@earthwright.invalid",
            f"DTSTAMP:{stamp}",
            *whole_day(d.last_day),
            f"SUMMARY:{escaped(f'Now: {d.what}' if d.now else f'Last day: {d.what[0].lower()}{d.what[1:]}')}",
            f"LOCATION:{escaped(visit.site.place)}",
            f"DESCRIPTION:{escaped(about)}",
            f"PRIORITY:{1 if d.now else 5}",
            f"TRANSP:{'OPAQUE' if d.now else 'TRANSPARENT'}",
            "BEGIN:VALARM",
            "ACTION:DISPLAY",
            f"TRIGGER:{'PT0S' if d.now else REMINDED}",
            f"DESCRIPTION:{escaped(d.what)}",
            "END:VALARM",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "".join(folded(line) + "\r\n" for line in lines)


def digits(day: dt.date) -> str:
    """A date of a calendar, its year in four digits (RFC 5545, 3.3.4)."""
    return day.isoformat().replace("-", "")


def whole_day(day: dt.date) -> list[str]:
    """From when until when a whole day lasts; without an end it is that day alone (RFC 5545, 3.6.1), as the last there is."""
    begins = f"DTSTART;VALUE=DATE:{digits(day)}"
    if day == dt.date.max:
        return [begins]
    return [begins, f"DTEND;VALUE=DATE:{digits(day + dt.timedelta(days=1))}"]


def escaped(text: str) -> str:
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
