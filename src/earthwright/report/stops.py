"""Danger that is there now, gathered in one place: screens, pages and every document lead with it.

An alarm comes from voltages and currents, a finding of severity *stop* from a check. Which of them exist is said where
they are found; how each is told to somebody who lives there is said here.
"""

from __future__ import annotations

from attrs import frozen

from ..base.errors import Finding, Severity
from ..outcomes.assessment import Assessment
from ..outcomes.circuits import Alarm

NETWORK = "Call the electricity network on 105 (free, day and night)."
# Kind of an alarm or family of a finding → what somebody without the trade is told.
PLAIN = {
    "lost supply neutral": "There may be danger now from the supply cable to this home. Metal such as taps, pipes and casings can "
    f"give a shock: keep away from it, keep others away, and switch off at the main switch. {NETWORK}",
    "sign of a lost supply neutral": "The supply cable to this home may be failing. If metal such as taps or pipes tingles, keep "
    f"away from it and switch off at the main switch. {NETWORK}",
    "current after isolation": "Current from outside this home flows through its pipes. Nobody may take apart a pipe, a meter or "
    f"an earth wire before that is settled. {NETWORK}",
    "cpc.borrowed": "One circuit has no earth of its own and relies on the wiring of another. Nobody may work on either before an "
    "electrician has put that right.",
    "polarity.bad": "Line and neutral are the wrong way round. Do not use that part before an electrician has put it right.",
    "gate.passed": "A protective wire was taken off although there was danger. Ask the inspector to confirm in writing how it was left.",
    "ledger.live": "The supply was on while a protective wire was off. Ask the inspector to confirm in writing that it is back.",
}
OTHER = "An electrician has found something that must be dealt with now. Ask the inspector what not to touch."


@frozen
class Stop:
    """Danger that is there now.

    name   kind of the alarm or family of the finding;  where  the place in the visit, empty for the whole of it
    what   in the words of the trade;  plain  for somebody who lives there
    do     what to do, in order;  because  what it was seen by
    """

    name: str
    where: str
    what: str
    plain: str
    do: tuple[str, ...]
    because: tuple[str, ...]


def stops(a: Assessment) -> tuple[Stop, ...]:
    """Every danger that a visit shows, alarms first. What leads here need not be said again among the findings."""
    found = [_of_alarm(alarm) for alarm in a.alarms]
    found += [_of_finding(f) for f in a.findings if f.severity is Severity.STOP]
    return tuple(dict.fromkeys(found))


def _of_alarm(alarm: Alarm) -> Stop:
    return Stop(alarm.kind, "", alarm.what, PLAIN.get(alarm.kind, OTHER), alarm.do, alarm.because)


def _of_finding(f: Finding) -> Stop:
    seen = tuple(
        x
        for x in (f"Found: {f.found}." if f.found else "", f"Expected: {f.expected}." if f.expected else "", f.because)
        if x
    )
    return Stop(f.family, f.where, f"{f.where}: {f.what}", PLAIN.get(f.family, OTHER), (f.do,) if f.do else (), seen)
