"""What became of the observations: the closing statement for the client, and the confirmation that is passed on.

Both tell the state after the last thing that was done. The confirmation goes to tenants and the local authority: it holds
neither the client's name and address nor the record.
"""

from __future__ import annotations

import datetime as dt

from ..base.days import day
from ..outcomes.assessment import Assessment
from ..report.confirming import readings as every_reading
from ..report.due import COMPLETION
from ..report.duties import duties
from ..report.observations import Thread, threads, unanswered, urgency
from ..site.at import field_at
from ..site.particulars import ASKED, CONFIRMED, MADE_SAFE, NO_CODE, OVERTAKEN, REMEDIED, Stage
from .fields import Field, Group, contractor, groups


def last_day(a: Assessment) -> dt.date:
    """The day up to which anything is known of the observations: of the report, or of the last thing done about one."""
    first = a.visit.paperwork.report.issued or a.visit.date
    return max([first, *(s.on for o in a.visit.paperwork.observations for s in o.stages)])


def followed(a: Assessment) -> list[Thread]:
    """The observations as they stand after the last thing that was done, the most urgent first."""
    found = [t for t in threads(a, last_day(a)) if t.observation.code not in (NO_CODE, "")]
    return sorted(found, key=lambda t: urgency(t.observation.code))


def asked(a: Assessment) -> list[Thread]:
    """Those of them that ask for work or for a closer look."""
    return [t for t in followed(a) if t.observation.code in ASKED]


def still_open(a: Assessment) -> list[Thread]:
    """Those of them that still count."""
    return [t for t in asked(a) if t.counts]


def closing_groups(a: Assessment) -> tuple[Group, ...]:
    """The fields of a closing statement."""
    return _groups(a, private=True)


def confirmation_groups(a: Assessment) -> tuple[Group, ...]:
    """The fields of a confirmation."""
    return _groups(a, private=False)


def _groups(a: Assessment, *, private: bool) -> tuple[Group, ...]:
    """What both need: the report they belong to, who answers; the closing statement also whom it is for."""
    v, r = a.visit, a.visit.paperwork.report
    whom = (
        Field("Client", v.client, field_at("visit", "client")),
        Field("Address", r.client_address, field_at("report", "client_address")),
    )
    return (
        Group(
            "What this refers to",
            (
                *(whom if private else ()),
                Field("Installation", v.site.place, field_at("visit", "place")),
                Field("Report, number", r.number, field_at("report", "number"), need=False),
                Field("Inspected and tested on", day(v.date), field_at("visit", "date")),
                Field("By", v.inspector, field_at("visit", "inspector")),
                Field("Report issued on", day(r.issued), field_at("report", "issued"), need=False),
            ),
        ),
        contractor(a),
    )


def closing_page(a: Assessment) -> dict[str, object]:
    """The closing statement."""
    return {**_page(a, private=True), "to_send": _to_send(a)}


def confirmation_page(a: Assessment) -> dict[str, object]:
    """The confirmation for tenants and the local authority."""
    return {**_page(a, private=False), "to_send": []}


def _page(a: Assessment, *, private: bool) -> dict[str, object]:
    return {
        "groups": groups(_groups(a, private=private)),
        "as_of": day(last_day(a)),
        "outcome": _outcome(a),
        "rows": [_row(a, t) for t in asked(a)],
        "advice": [[t.observation.id, t.observation.what, t.observation.where] for t in followed(a) if _advice(t)],
    }


def _advice(t: Thread) -> bool:
    return t.observation.code == "C3" and t.counts


def _outcome(a: Assessment) -> dict[str, object]:
    every, left = asked(a), still_open(a)
    about = "What the report asked to have put right or looked into"
    if any(not p.put_right for p in unanswered(a)):
        return {"over": about, "head": "Not finished", "lines": ["The inspector has not settled everything yet."]}
    if not every:
        return {"over": about, "head": "Nothing was asked for", "lines": []}
    day_said = f"As it stood on {day(last_day(a))}."
    if not left:
        said = f"All {len(every)} are dealt with, and each was checked after that."
        if len(every) == 1:
            said = "The one matter is dealt with, and was checked after that."
        return {"over": about, "head": "Put right and checked", "lines": [said, day_said]}
    names = ", ".join(t.observation.id for t in left)
    said = f"{len(left)} of {len(every)} still to be dealt with, or to be checked: observation {names}."
    return {"over": about, "head": "Further work is needed", "lines": [said, day_said]}


def _row(a: Assessment, t: Thread) -> dict[str, object]:
    o = t.observation
    done = next((s for s in reversed(o.stages) if s.stage == REMEDIED), None)
    checked = next((s for s in reversed(o.stages) if s.stage in (CONFIRMED, OVERTAKEN)), None) if not t.counts else None
    safe = next((s for s in o.stages if s.stage == MADE_SAFE), None)
    first = done or (checked if checked is not None and checked.stage == CONFIRMED else None)
    return {
        "id": o.id,
        "code": o.code,
        "what": o.what,
        "where": o.where,
        "safe": f"Made safe on {day(safe.on)}. {safe.what}".strip() if safe and t.counts else "",
        "done": _done(first) if first else "" if t.counts else "At the inspection itself.",
        "checked": _checked(a, checked) if checked else _within(t),
        "open": t.counts,
        "faults": list(t.faults),
    }


def _within(t: Thread) -> str:
    """Put right within the visit itself: readings before and after it were taken the same day."""
    return "" if t.counts else "Read again after that, in the same visit."


def _done(s: Stage) -> str:
    who = f" by {s.by}" if s.by else ""
    return f"{day(s.on)}{who}" + (f": {s.what}" if s.what else "")


def _checked(a: Assessment, s: Stage) -> str:
    by_what = s.seen
    if s.reading:
        shown = every_reading(a).get(s.reading)
        by_what = f"reading {s.reading}" + (f", {shown}" if shown else "") + (f"; {s.seen}" if s.seen else "")
    word = "No longer applies" if s.stage == OVERTAKEN else f"{day(s.on)}{f' by {s.by}' if s.by else ''}"
    return f"{word}: {by_what}" if by_what else word


def work_done(a: Assessment, circuit: str = "") -> list[tuple[Thread, Stage]]:
    """What was put right, of one circuit or of everything, each with the stage that says so."""
    return [
        (t, s)
        for t in followed(a)
        for s in t.observation.stages
        if s.stage == REMEDIED and (not circuit or t.observation.about == circuit)
    ]


def _to_send(a: Assessment) -> list[list[str]]:
    """What the law has sent to whom by when, once the work is done."""
    found = duties(a)
    return [[day(d.last_day), d.what, d.source] for d in found.due if d.event == COMPLETION]
