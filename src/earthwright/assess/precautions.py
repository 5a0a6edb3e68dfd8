"""Gates with the danger that was found: before a step for a screen, and afterwards what was done past a closed gate."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from ..base.errors import Finding, Severity
from ..gates import steps as doors
from ..gates.currents import over_limit
from ..gates.shut import CLAMP, DANGER, ISOLATION, OWNER, Gate
from ..outcomes.circuits import Alarm
from ..site.events import Event, Off, Override
from ..site.ledger import FAR_END, disconnections
from ..site.visit import Visit
from .circuits import live
from .circuits.readings import Taken
from .rulings import Rulings

# A gate passed without a word: how loudly that is said. The rest is on the paper as a note.
_LOUD = {DANGER: Severity.STOP, CLAMP: Severity.WARNING, OWNER: Severity.WARNING}


def before(visit: Visit, step: Event) -> tuple[Gate, ...]:
    """The gates before a step, with the alarms that the readings so far raise. For screens and the command line."""
    return doors.gates(visit, step, alarms_now(visit))


def findings(visit: Visit, alarms: Sequence[Alarm]) -> list[Finding]:
    """What was opened past a closed gate, and every gate that somebody signed for.

    alarms  of the whole visit: when there are none, there were none at any earlier moment worth working out again
    """
    found = [_signed(e) for e in visit.events if isinstance(e, Override)]
    settled = {line.off.seq for line in disconnections(visit.events) if line.verified is not None}
    unproved: dict[str, list[str]] = {}
    for event, some in doors.taken(visit, lambda so_far: alarms_now(so_far) if alarms else ()):
        shut = {gate.name: gate for gate in doors.closed(some)}
        over = CLAMP in shut and over_limit(_until(visit, event), shut[CLAMP].what.removesuffix(FAR_END)) is not None
        for gate in shut.values():
            # A voltage that could not be read closes the gate without an alarm.
            unread = gate.name == DANGER and not alarms_now(_until(visit, event))
            if gate.name == ISOLATION or (gate.name == CLAMP and not over) or unread:
                unproved.setdefault(gate.why, []).append(gate.what)
            elif gate.name != CLAMP or DANGER not in shut:  # the danger says it louder
                found.append(_passed(event, gate, settled=event.seq in settled))
    return [*found, *_unproved(unproved)]


def alarms_now(visit: Visit) -> tuple[Alarm, ...]:
    """Danger that the entries of a visit show now."""
    return live.alarms(visit, Taken(visit), Rulings(visit))


def _until(visit: Visit, event: Event) -> Visit:
    return evolve(visit, events=tuple(e for e in visit.events if e.seq < event.seq))


def _signed(event: Override) -> Finding:
    return Finding(
        f"step {event.seq}",
        f"The gate '{event.gate}' was passed: {event.reason} (signed: {event.by or 'nobody'}).",
        Severity.NOTE if event.by and event.reason else Severity.WARNING,
        "gate.overridden",
        event.gate,
        because="A closed gate is only passed for a signed reason, and the reason is printed.",
    )


def _passed(event: Event, gate: Gate, *, settled: bool) -> Finding:
    """What was done past a closed gate. Once it is back and was found in its place it is no danger that is there now."""
    loud = _LOUD.get(gate.name, Severity.NOTE)
    done = f"{gate.what} was disconnected" if isinstance(event, Off) else "The supply was restored"
    return Finding(
        f"step {event.seq}",
        f"{done} although a gate was closed ({gate.name}).",
        Severity.WARNING if settled and loud is Severity.STOP else loud,
        "gate.passed",
        gate.what,
        "an open gate, or a signed reason",
        gate.why.rstrip("."),
        gate.instead,
    )


def _unproved(reasons: dict[str, list[str]]) -> list[Finding]:
    """What is not noted before something was taken off, all in one: it may well have been done."""
    if not reasons:
        return []
    names = list(dict.fromkeys(name for some in reasons.values() for name in some))
    return [
        Finding.of(
            "gate.not_noted",
            "ledger",
            f"{', '.join(names)}: disconnected, but not everything that comes first was entered.",
            names[0],
            "isolation proved, and the clamp meter before and after it",
            "; ".join(reason.rstrip(".") for reason in reasons),
            "Enter each as you do it; if it was done, add the step.",
        )
    ]
