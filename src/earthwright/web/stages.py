"""The steps of a reading on a bond in their order, each with its gate, worked out from what was done so far."""

from __future__ import annotations

from attrs import frozen

from ..gates.shut import CLAMP, END_OFF, ISOLATION, Gate, Shut
from ..gates.steps import gates
from ..outcomes.assessment import Assessment
from ..site.events import CLAMP_BODY, CONDUCTOR, PATH, LeadCheck, Off, Reading
from ..site.installation import Bond
from ..site.ledger import missing_stages, newest_currents, state_now
from .banner import last_check

NEEDS_END_OFF = (CONDUCTOR, PATH, CLAMP_BODY)
DONE, HERE, LATER, SHUT = "done", "here", "later", "shut"


@frozen
class Stage:
    """One step before a reading, or the reading itself.

    kind   clamp, isolate, clamp_again, leads, off, on, read
    state  done, here (to do now), later, shut (its gate is closed)
    gates  the gates that are closed, or were passed by a signed reason
    said   what was noted when it is done;  missing  stages of isolation that are not noted yet
    """

    kind: str
    state: str
    gates: tuple[Gate, ...] = ()
    said: str = ""
    missing: tuple[str, ...] = ()


def stages(a: Assessment, bond: Bond, test: str) -> tuple[Stage, ...]:
    """What leads up to a reading of a bond, and the reading. At most one stage is the one to do now."""
    off = _is_off(a, bond)
    found = _before_off(a, bond) if test in NEEDS_END_OFF and not off else []
    if test not in NEEDS_END_OFF and off:
        found.append(Stage("on", LATER))
    lead = _leads(a)
    if lead is not None:
        found.insert(max(0, len(found) - 1) if found and found[-1].kind == "off" else len(found), lead)
    reading = Reading(seq=_next(a), id="", test=test, of=bond.id)
    shut = tuple(g for g in gates(a.visit, reading, a.alarms) if not g.passes and g.name != END_OFF)
    found.append(Stage("read", SHUT if shut else LATER, shut))
    return _one_here(found)


def _one_here(found: list[Stage]) -> tuple[Stage, ...]:
    """The first stage that is not done is the one to do now; a shut one holds everything back."""
    result: list[Stage] = []
    held = False
    for s in found:
        if held or s.state in (DONE, SHUT):
            result.append(s)
            held = held or s.state == SHUT
            continue
        result.append(Stage(s.kind, HERE, s.gates, s.said, s.missing))
        held = True
    return tuple(result)


def _before_off(a: Assessment, bond: Bond) -> list[Stage]:
    before, after = newest_currents(a.visit.events, bond.id)
    missing = missing_stages(a.visit.events)
    found = []
    if before is not None or (after is None and len(missing) == 4):
        found.append(Stage("clamp", DONE if before else LATER, said=str(before.shown) if before else ""))
    found.append(Stage("isolate", LATER if missing else DONE, missing=missing))
    found.append(Stage("clamp_again", DONE if after else LATER, said=str(after.shown) if after else ""))
    all_gates = gates(a.visit, Off(seq=_next(a), what=bond.id), a.alarms)
    shut = tuple(g for g in all_gates if not g.open and not _still_to_come(g, found))
    signed = bool(shut) and all(g.passes for g in shut)
    found.append(Stage("off", SHUT if shut and not signed else LATER, shut))
    return found


def _still_to_come(gate: Gate, before: list[Stage]) -> bool:
    """Closed only because a stage of the list has not been done yet; that stage says so itself."""
    undone = {s.kind for s in before if s.state != DONE}
    if gate.passes:
        return False
    if gate.name == ISOLATION:
        return "isolate" in undone
    return gate.name == CLAMP and bool(undone & {"clamp", "clamp_again"}) and gate.cause is not Shut.CARRIES


def _leads(a: Assessment) -> Stage | None:
    """The lead check before the first reading of a series; left out once it was made."""
    if not a.visit.leads:
        return None
    made: LeadCheck | None = last_check(a.visit.events)
    return Stage("leads", DONE if made else LATER, said=str(made.shown) if made else "")


def _is_off(a: Assessment, bond: Bond) -> bool:
    off = state_now(a.visit.events).off
    return bond.id in off or f"{bond.id}@part" in off


def _next(a: Assessment) -> int:
    return a.visit.events[-1].seq + 1 if a.visit.events else 1
