"""The letter to the occupier and the danger notice: what was found, what it means, by when; in words that need no trade."""

from __future__ import annotations

from ..base.days import day
from ..outcomes.assessment import Assessment
from ..report.coding import Proposed
from ..report.due import WORK, Due
from ..report.duties import duties
from ..report.observations import Thread, overall, propose, threads, unanswered
from ..report.stops import stops
from ..site.at import At, field_at
from ..site.particulars import UNSATISFACTORY
from .fields import Field, Group
from .leaflet import by_urgency, result, told_of
from .remedial import last_day

NOT_LOOKED = (
    "An inspection looks at what can be reached without damage, on one day. Cables inside walls and floors, and faults "
    "that come and go, can stay unseen. If lights flicker, something gets warm, smells or tingles, switch off and call an electrician."
)
NETWORK = (
    "Lights much brighter or dimmer than usual, or a tingle from taps, pipes or metal: keep away, keep others away, and "
    "call the electricity network on 105 (free, day and night)."
)


def letter_page(a: Assessment) -> dict[str, object]:
    """The letter as texts: what was found, most urgent first, with what it means and by when, and what was done since."""
    v, r = a.visit, a.visit.paperwork.report
    on = last_day(a)
    found = by_urgency(a, on)
    due = duties(a)
    work_by = next((d for d in due.due if d.duty == WORK), None)
    return {
        "to": r.occupier or "The occupier",
        "looked_at": v.extent or "not stated",
        "not_looked_at": [x for x in (*v.limitations, *r.operational) if x.lower() != "none"],
        "outcome": {
            "over": f"As it stood on {day(on)}",
            "head": result(a, found, on),
            "lines": _in_the_report(a, found),
        },
        "found": [told_of(t, work_by) for t in found],
        "next": _next(a),
        "rented": _rented(due.due),
        "always": [NOT_LOOKED, NETWORK],
        "from": [x for x in (v.inspector, v.firm) if x],
    }


def _in_the_report(a: Assessment, found: list[Thread]) -> list[str]:
    o = overall(a)
    if a.visit.kind != "periodic" or not o.decided or not found or unanswered(a):
        return []
    said = "not satisfactory" if o.decided == UNSATISFACTORY else "satisfactory"
    return [f"On the day of the inspection the report called what was looked at {said} for continued use."]


def _next(a: Assessment) -> str:
    r = a.visit.paperwork.report
    if r.next_by is None:
        return ""
    return f"The next inspection is recommended by {day(r.next_by)}" + (
        f" ({r.next_reason})." if r.next_reason else "."
    )


def _rented(due: tuple[Due, ...]) -> list[str]:
    """Dated duties towards the people who live there."""
    return [f"{d.what}: by {day(d.last_day)}." for d in due if d.occupier]


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
                Field("Installation", v.site.place, field_at("visit", "place")),
                Field(
                    "The danger",
                    "; ".join(dangers(a)),
                    field_at("danger", "what").or_at(At("observation", new=(("code", "C1"),))),
                ),
                Field("Where", _danger_places(a), field_at("danger", "where")),
                Field("What must not be done", d.must_not, field_at("danger", "must_not")),
                Field("What was done about it, or that nothing could be", d.done, field_at("danger", "done")),
                Field("Consent of the person responsible", d.consent, field_at("danger", "consent")),
                Field("Who was told", d.told, field_at("danger", "told")),
                Field("When", d.at, field_at("danger", "at")),
                Field("Left with", d.left_with, field_at("danger", "left_with"), need=False),
                Field("Given by", v.inspector, field_at("visit", "inspector")),
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
