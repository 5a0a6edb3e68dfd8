"""What is coming: planned visits, inspections and remedials that fall due, checks of instruments that lapse. For page, calendar, mail."""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import TYPE_CHECKING

from attrs import frozen

from ..report.duties import digits, duties, escaped, folded, whole_day
from .index import PLANNED, REMEDIAL, day_of
from .rights import PLAN, Person, may
from .tools import tools

if TYPE_CHECKING:
    from .firm import Firm

WARNED_DAYS = 30  # before the check of an instrument lapses
MOST_JUDGED = 40  # visits with open remedials whose duties are worked out, the ones changed last


@frozen
class Coming:
    """What falls on a day: in whole days, at which place; ``visit``: its id, empty for an instrument."""

    day: dt.date
    what: str
    place: str = ""
    visit: str = ""


def coming(firm: Firm, person: Person, today: dt.date) -> list[Coming]:
    """What a person has to know of, in the order of days: the office of all, an inspector of their own."""
    stages, owners, every = firm.stages(), firm.owners(), may(person, PLAN)
    mine = [f for f in firm.index.lines() if every or owners.get(f.id) == person.id]
    names = {p.id: p.name for p in firm.people.all()}
    found = []
    for f in mine:
        if stages[f.id] == PLANNED and (day := day_of(f.date)):
            who = f" ({names[owners[f.id]]})" if every and owners.get(f.id) in names else ""
            found.append(Coming(day, f"Visit: {f.kind}{who}", f.place, f.id))
        if f.issued and (day := day_of(f.next_by)):
            found.append(Coming(day, "Last day for the next inspection", f.place, f.id))
    for f in [f for f in mine if stages[f.id] == REMEDIAL][:MOST_JUDGED]:
        a = firm.desk.record(f.id)
        for d in duties(a).due if a else ():
            if day_of(f.next_by) != d.last_day and d.last_day <= today + dt.timedelta(days=366):
                found.append(Coming(d.last_day, d.what, f.place, f.id))
    for tool in tools(firm):
        if (every or person.name in tool.users) and (day := tool.until) is not None:
            found.append(Coming(day, f"Check of {tool.title} lapses"))
    return sorted(found, key=lambda x: (x.day, x.what, x.place))


def feed(events: list[Coming]) -> str:
    """What is coming as an iCalendar object (RFC 5545): whole days, the same text for the same events."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//earthwright//firm//EN", "CALSCALE:GREGORIAN"]
    for e in events:
        uid = hashlib.sha256(f"{e.day}\0{e.what}\0{e.visit or e.place}".encode("utf-8", "replace")).hexdigest()[:32]
        lines += [
            "BEGIN:VEVENT",
            f"UID:{uid}@earthwright.invalid",
            f"DTSTAMP:{digits(e.day)}T000000Z",
            *whole_day(e.day),
            f"SUMMARY:{escaped(f'{e.what}, {e.place}' if e.place else e.what)}",
            f"LOCATION:{escaped(e.place)}",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    return "".join(folded(line) + "\r\n" for line in (*lines, "END:VCALENDAR"))
