"""What stands at the top of every page until it is done: what is off, leads not tried, danger that is there now."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve, frozen

from ..outcomes.assessment import Assessment
from ..report.observations import Immediate, immediate
from ..report.reviewed import notices
from ..report.stops import stops
from ..site.correction import function_of
from ..site.events import Event, LeadCheck, Reading
from ..site.tests import CONTINUITY
from .words import say


@frozen
class Strip:
    """One standing warning.

    tone  bad or open;  sign  word of its drawn sign;  words  what is always in sight, never cut
    more  what stands behind it;  link  where to do something about it
    """

    tone: str
    sign: str
    words: str
    link: str = ""
    link_words: str = ""
    more: str = ""


def strips(a: Assessment, base: str) -> tuple[Strip, ...]:
    """The warnings that stand now, loudest first; ``base`` is the address of the visit."""
    found = [Strip("bad", "warn", say("caution.alarm", what=s.what), more=" ".join(s.do)) for s in stops(a)]
    found += [
        Strip("bad", "warn", say("strip.c1", what=x.what.rstrip("."), where=_place(x)), more=say("strip.harmless"))
        for x in _coded(a)
    ]
    found = [evolve(s, link=f"{base}/paper/danger-notice", link_words=say("strip.notice")) for s in found]
    if a.still_off:
        what = ", ".join(dict.fromkeys(e.what for e in a.still_off))
        found.append(Strip("bad", "off", say("strip.off", what=what), more=say("strip.off_more")))
    found += [Strip("open", "warn", words) for words in notices(a)]
    found += _leads(a, base)
    return tuple(found)


def _place(x: Immediate) -> str:
    return f" ({x.where})." if x.where and x.where not in x.what else "."


def _coded(a: Assessment) -> list[Immediate]:
    """Dangers coded C1 that nobody removed; an alarm has its own strip already."""
    loud = {s.what for s in stops(a)}
    return [x for x in immediate(a) if x.what not in loud]


def _leads(a: Assessment, base: str) -> list[Strip]:
    for leads in a.visit.leads:
        mine = [e for e in a.visit.events if _uses(e, leads.id)]
        reads = [e.seq for e in mine if isinstance(e, Reading)]
        checks = [e.seq for e in mine if isinstance(e, LeadCheck) and e.kind == "shorted"]
        if reads and not (checks and checks[-1] > reads[-1]):
            words = say("strip.leads_after", leads=leads.id)
            return [Strip("open", "warn", words, f"{base}/leads", say("strip.leads_do"), say("strip.leads_more"))]
    return []


def _uses(event: Event, leads: str) -> bool:
    if isinstance(event, LeadCheck):
        return event.leads == leads
    if not isinstance(event, Reading) or event.leads != leads or event.refused:
        return False
    return function_of(event) == CONTINUITY


def last_check(events: Sequence[Event]) -> LeadCheck | None:
    """The newest check with the tips together."""
    return next((e for e in reversed(events) if isinstance(e, LeadCheck) and e.kind == "shorted"), None)
