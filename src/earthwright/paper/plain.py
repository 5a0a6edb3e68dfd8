"""The letter to the occupier and the danger notice: what was found, what it means, by when; in words that need no trade."""

from __future__ import annotations

from ..base.days import day
from ..outcomes.assessment import Assessment
from ..report.coding import Proposed
from ..report.duties import WORK, Due, duties
from ..report.observations import Thread, immediate, overall, propose, threads, unanswered, waits_for_nobody
from ..report.stops import stops
from ..site.particulars import CONFIRMED, MADE_SAFE, NO_CODE, OVERTAKEN, REMEDIED, UNSATISFACTORY
from .fields import Field, Group

# What each code means to somebody who lives there. The trade's meaning stands in the rule data.
MEANS = {
    "C1": "There is danger now. It must not be used or touched until an electrician has dealt with it.",
    "C2": "It can become dangerous, for example when something else goes wrong. It needs to be put right without delay.",
    "FI": "It could not be settled on the day whether there is a problem. It needs to be looked into without delay.",
    "C3": "It does not meet what would be done in new work today. Improving it is recommended; it is not urgent.",
}
STAGES = {
    MADE_SAFE: "The danger was removed on {day}; the repair itself is still to be done.",
    REMEDIED: "It was repaired on {day}; a check that the repair holds is still to be made.",
    CONFIRMED: "It was repaired, and the repair was checked on {day}. Nothing more is needed here.",
    OVERTAKEN: "It no longer applies since {day}.",
}
NOT_LOOKED = (
    "An inspection looks at what can be reached without damage, on one day. Cables inside walls and floors, and faults "
    "that come and go, can stay unseen. If lights flicker, something gets warm, smells or tingles, switch off and call an electrician."
)
NETWORK = (
    "Lights much brighter or dimmer than usual, or a tingle from taps, pipes or metal: keep away, keep others away, and "
    "call the electricity network on 105 (free, day and night)."
)


def letter_groups(a: Assessment) -> tuple[Group, ...]:
    """What the letter needs beside the observations."""
    v, r = a.visit, a.visit.paperwork.report
    return (
        Group(
            "Letter",
            (
                Field("Installation", v.site.place, "[visit] place"),
                Field("Inspected on", day(v.date), "[visit] date"),
                Field("By", v.inspector, "[visit] inspector"),
                Field("What was looked at", v.extent, "[visit] extent"),
                Field(
                    "What was not looked at",
                    "; ".join((*v.limitations, *r.operational)),
                    '[visit] limitations (or "none")',
                ),
            ),
        ),
    )


def letter_page(a: Assessment) -> dict[str, object]:
    """The letter as texts: what was found, most urgent first, with what it means and by when."""
    v, r = a.visit, a.visit.paperwork.report
    found = [t for t in threads(a) if t.observation.code != NO_CODE]
    order = {"C1": 0, "C2": 1, "FI": 2, "C3": 3}
    found.sort(key=lambda t: (not t.counts, order.get(t.observation.code, 9)))
    due = duties(a)
    work_by = next((d for d in due.due if d.what.lower() == WORK), None)
    return {
        "to": r.occupier or "The occupier",
        "looked_at": v.extent or "not stated",
        "not_looked_at": [x for x in (*v.limitations, *r.operational) if x.lower() != "none"],
        "result": _result(a, found),
        "found": [_told(t, work_by) for t in found],
        "next": _next(a),
        "rented": _rented(due.due),
        "always": [NOT_LOOKED, NETWORK],
        "from": [x for x in (v.inspector, v.firm) if x],
    }


def _result(a: Assessment, found: list[Thread]) -> str:
    still = [t for t in found if t.counts]
    danger = "There is danger now. " if immediate(a) else ""
    if left := len(unanswered(a)):  # only a draft gets here; it must not sound like a clean result
        matters = f"{left} matter{'s' if left != 1 else ''} that the inspector has not decided yet"
        more = f" and {len(still)} that should be dealt with" if still else ""
        return f"{danger}Not finished: there {'are' if left != 1 else 'is'} {matters}{more}."
    if not still:
        return (
            "Nothing that needs work was found in what was looked at."
            if not found
            else "Everything that was found has been dealt with."
        )
    count = f"{len(still)} thing{'s' if len(still) != 1 else ''} that should be dealt with"
    o = overall(a)
    if a.visit.kind != "periodic" or not (o.decided or o.proposed):
        return f"{danger}We found {count}."
    word = o.decided or o.proposed
    said = "not satisfactory for continued use" if word == UNSATISFACTORY else "satisfactory for continued use"
    return f"{danger}We found {count}. On the day, the parts of the installation that were looked at were {said} in the sense of the report."


def _told(t: Thread, work_by: Due | None) -> dict[str, str]:
    o = t.observation
    by = ""
    if waits_for_nobody(t):
        by = "now. This cannot wait."
    elif t.counts and o.code in ("C1", "C2", "FI"):
        by = f"{day(work_by.last_day)} at the latest (your landlord's duty)." if work_by else "without delay."
    return {
        "where": o.where,
        "what": o.what,
        "code": o.code,
        "means": MEANS.get(o.code, "") if t.counts and t.stage != MADE_SAFE else "",
        "stage": STAGES.get(t.stage, "").format(day=day(t.since)),
        "by": by,
    }


def _next(a: Assessment) -> str:
    r = a.visit.paperwork.report
    if r.next_by is None:
        return ""
    return f"The next inspection is recommended by {day(r.next_by)}" + (
        f" ({r.next_reason})." if r.next_reason else "."
    )


def _rented(due: tuple[Due, ...]) -> list[str]:
    """Dated duties towards the people who live there."""
    return [
        f"{d.what}: by {day(d.last_day)}."
        for d in due
        if "tenant" in d.what.lower() or "contract-holder" in d.what.lower()
    ]


# ---- danger notice ----


def dangers(a: Assessment) -> tuple[str, ...]:
    """What the danger is: as entered, else observations coded C1 that still count; and every danger that the visit shows."""
    d = a.visit.paperwork.danger
    coded = [t.observation.what for t in threads(a) if t.observation.code == "C1" and t.counts]
    return tuple(dict.fromkeys([*([d.what] if d.what else coded), *(s.what for s in stops(a))]))


def _danger_places(a: Assessment) -> str:
    d = a.visit.paperwork.danger
    places = [
        t.observation.where for t in threads(a) if t.observation.code == "C1" and t.counts and t.observation.where
    ]
    return d.where or "; ".join(dict.fromkeys(places))


def notice_groups(a: Assessment) -> tuple[Group, ...]:
    """What the notice needs: the danger, where, what was done about it, who was told and when."""
    v, d = a.visit, a.visit.paperwork.danger
    return (
        Group(
            "Danger notice",
            (
                Field("Installation", v.site.place, "[visit] place"),
                Field("The danger", "; ".join(dangers(a)), "[danger] what, or an observation coded C1"),
                Field("Where", _danger_places(a), "[danger] where"),
                Field("What must not be done", d.must_not, "[danger] must_not"),
                Field("What was done about it, or that nothing could be", d.done, "[danger] done"),
                Field("Consent of the person responsible", d.consent, "[danger] consent (given, or refused)"),
                Field("Who was told", d.told, "[danger] told"),
                Field("When", d.at, "[danger] at"),
                Field("Left with", d.left_with, "[danger] left_with", need=False),
                Field("Given by", v.inspector, "[visit] inspector"),
            ),
        ),
    )


def notice_page(a: Assessment) -> dict[str, object]:
    """The notice as texts."""
    v, d = a.visit, a.visit.paperwork.danger
    first: list[Proposed] = [p for p in propose(a) if p.code == "C1"]
    return {
        "danger": list(dangers(a)),
        "where": _danger_places(a),
        "must_not": d.must_not,
        "do": list(dict.fromkeys(x for s in stops(a) for x in (s.plain, *s.do))),
        "done": d.done,
        "consent": d.consent,
        "told": d.told,
        "at": d.at,
        "left_with": d.left_with,
        "by": ", ".join(x for x in (v.inspector, v.firm) if x),
        "why": [x for p in first for x in p.because],
        "always": [NETWORK],
    }
