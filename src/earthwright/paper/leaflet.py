"""The leaflet for the people who live there: what was found, what must not be used, what to have done by when and by whom."""

from __future__ import annotations

import datetime as dt

from ..base.days import day
from ..outcomes.assessment import Assessment
from ..report.due import INSPECTION, WORK, Due
from ..report.duties import duties
from ..report.household import of_proposal, told
from ..report.observations import Thread, immediate, propose, threads, unanswered, urgency, waits_for_nobody
from ..report.stops import NETWORK as CALL_NETWORK
from ..report.stops import stops
from ..site.at import field_at
from ..site.particulars import MADE_SAFE, NO_CODE
from .fields import Field, Group
from .remedial import last_day

# What the code of an observation means to somebody who lives there. The trade's meaning stands in the rule data.
MEANS = {
    "C1": "Danger now. Do not use it or touch it until an electrician has dealt with it.",
    "C2": "It may turn into danger when one more thing goes wrong. Have it put right soon, do not wait.",
    "FI": "It could not be settled on the day. Have it looked into soon, do not wait.",
    "C3": "It is not how new work is done today. It would be good to have it done. There is no rush.",
}
STAGES = {
    "made safe": "The danger was taken away on {day}. The repair still has to be done.",
    "remedied": "It was put right on {day}. Somebody still has to check that it holds.",
    "confirmed": "It was put right, and that was checked on {day}. Nothing more is needed here.",
    "overtaken": "It no longer applies since {day}.",
}
UNSEEN = (
    "We look at what can be reached without damage, on one day. We can't see wires in walls and floors. A fault that comes "
    "and goes can stay hidden."
)
CALL = (
    "If lights flicker, or something gets hot, smells or tingles: turn it off and call an electrician.",
    f"If lights go very bright or very dim, or taps and pipes tingle: keep away and keep others away. {CALL_NETWORK}",
    "If there is a fire or somebody is hurt: phone 999.",
)


def leaflet_groups(a: Assessment) -> tuple[Group, ...]:
    """What the leaflet needs beside the observations."""
    return _groups(a, "Leaflet")


def letter_groups(a: Assessment) -> tuple[Group, ...]:
    """What the letter needs, which is the same."""
    return _groups(a, "Letter")


def _groups(a: Assessment, title: str) -> tuple[Group, ...]:
    v, r = a.visit, a.visit.paperwork.report
    return (
        Group(
            title,
            (
                Field("Installation", v.site.place, field_at("visit", "place")),
                Field("Inspected on", day(v.date), field_at("visit", "date")),
                Field("By", v.inspector, field_at("visit", "inspector")),
                Field("What was looked at", v.extent, field_at("visit", "extent")),
                Field(
                    "What was not looked at",
                    "; ".join((*v.limitations, *r.operational)),
                    field_at("visit", "limitations"),
                ),
            ),
        ),
    )


def by_urgency(a: Assessment, on: dt.date | None = None) -> list[Thread]:
    """The observations as they stand on a day (of issue, if none is given): those that count first, the most urgent first."""
    found = [t for t in threads(a, on) if t.observation.code != NO_CODE]
    return sorted(found, key=lambda t: (not t.counts, urgency(t.observation.code)))


def leaflet_page(a: Assessment) -> dict[str, object]:
    """The leaflet as texts."""
    return {"leaflet": leaflet(a, last_day(a))}


def leaflet(a: Assessment, on: dt.date | None = None) -> dict[str, object]:
    """What the leaflet says of the state on a day: of issue as first page of a condition report, of today by itself."""
    v, r = a.visit, a.visit.paperwork.report
    found = by_urgency(a, on)
    work = duties(a).due
    work_by = next((d for d in work if d.duty == WORK), None)
    codes = [c for c in MEANS if any(t.observation.code == c for t in found)]
    return {
        "day": day(v.date),
        "head": result(a, found, on),
        "now": _now(a, on),
        "found": [told_of(t, work_by) for t in found],
        "open": _unanswered(a),
        "looked_at": v.extent or "not stated",
        "not_looked_at": [x for x in (*v.limitations, *r.operational) if x.lower() != "none"],
        "unseen": UNSEEN,
        "codes": [[c, MEANS[c]] for c in codes],
        "good": _good(a),
        "call": list(CALL),
        "from": [x for x in (v.inspector, v.firm, r.firm_phone) if x],
    }


def result(a: Assessment, found: list[Thread], on: dt.date | None = None) -> str:
    """What was found, in one sentence."""
    still = [t for t in found if t.counts]
    danger = "There is danger now. " if immediate(a, on) or stops(a) else ""
    if left := sum(
        not p.put_right for p in unanswered(a)
    ):  # only a draft gets here; it must not sound like a clean result
        return f"{danger}Not finished: {things(left)} the inspector has not settled yet."
    if still:
        urgent = sum(t.observation.code != "C3" for t in still)
        if not urgent:
            return f"{danger}We found {things(len(still))} that could be better. None is urgent."
        return f"{danger}We found {things(len(still))} to deal with."
    if found:
        return f"{danger}All that we found has been put right."
    return danger or "We found nothing that needs work in what we looked at."


def things(count: int) -> str:
    """So many things, in words for small numbers."""
    small = ("no things", "one thing", "two things", "three things", "four things", "five things", "six things")
    return small[count] if count < len(small) else f"{count} things"


def _now(a: Assessment, on: dt.date | None) -> list[dict[str, object]]:
    """What is dangerous now, each with what must not be done; what the visit's alarms say stands above it already."""
    asked = a.visit.paperwork.danger
    told_already = {s.what for s in stops(a)}
    rows: list[dict[str, object]] = [
        {"what": x.what, "where": x.where} for x in immediate(a, on) if x.what not in told_already
    ]
    if asked.what and asked.what not in {x["what"] for x in rows}:
        rows.insert(0, {"what": asked.what, "where": asked.where})
    for row in rows:
        row["not"] = asked.must_not if row["what"] == asked.what or len(rows) == 1 else ""
        row["not"] = row["not"] or "Do not use it. Do not touch it. Keep others away from it."
    return rows


def told_of(t: Thread, work_by: Due | None) -> dict[str, object]:
    """One observation as somebody without the trade is told of it."""
    o, kind = t.observation, told(t)
    live = t.counts and t.stage != MADE_SAFE
    return {
        "what": kind.found or o.what,
        "words": o.what if kind.found else "",
        "where": o.where,
        "means": kind.means if t.counts else "",
        "until": kind.until if live else "",
        "stage": STAGES.get(t.stage, "").format(day=day(t.since)),
        "by": by_when(t, work_by),
        "who": kind.who if t.counts else "",
        "code": o.code,
        "counts": t.counts,
    }


def by_when(t: Thread, work_by: Due | None) -> str:
    """Until when an observation is to be dealt with; empty once it no longer counts."""
    if waits_for_nobody(t):
        return "now. This cannot wait."
    if not t.counts:
        return ""
    if t.observation.code == "C3":
        return "when it suits. Best done with the next work."
    return f"{day(work_by.last_day)} at the latest. Your landlord must see to it." if work_by else "soon. Do not wait."


def _unanswered(a: Assessment) -> list[dict[str, str]]:
    """What the inspector has not settled yet, as far as the catalogue has words for it: in a draft alone."""
    left = {(p.name, p.about, p.what) for p in unanswered(a)}
    rows = []
    for p in propose(a):
        if (p.name, p.about, p.what) in left and p.name != "alarm":  # an alarm leads the page already
            kind = of_proposal(p)
            rows.append({"what": kind.found or p.what, "where": p.where, "means": kind.means, "code": p.code})
    return rows


def _good(a: Assessment) -> list[str]:
    """How long the paper is good, and what ends it sooner."""
    r = a.visit.paperwork.report
    said = [f"This page says what we saw on {day(a.visit.date)}. It can't say what happens after that day."]
    due = [d for d in duties(a).due if d.duty == INSPECTION]
    if r.next_by is not None or due:
        last = min([*(d.last_day for d in due), *([r.next_by] if r.next_by else [])])
        said.append(f"Have it looked at again by {day(last)}.")
    else:
        said.append("Ask the inspector when it should be looked at again.")
    said.append("Have it looked at sooner after a fire, a flood or new wiring, or if something seems wrong.")
    said.append("Keep this page. Show it to whoever works on the wiring next.")
    return said
