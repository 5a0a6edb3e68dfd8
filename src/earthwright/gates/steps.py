"""Gates before a step: what must be so before something is opened, energised or read. A closed gate offers another way.

A gate is worked out from the events so far, so a screen can ask before the step is taken and paper can ask afterwards.
It is passed against its word only by a signed reason (:class:`~earthwright.events.Override`), which is printed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from attrs import evolve, frozen

from ..outcomes.circuits import Alarm
from ..site.events import (
    CLAMP_BODY,
    CONDUCTOR,
    EARTHING,
    PATH,
    TOGETHER,
    Event,
    Isolation,
    Off,
    Override,
    Reading,
)
from ..site.installation import Bond, Part
from ..site.ledger import (
    FAR_END,
    Disconnection,
    disconnections,
    held,
    missing_stages,
    newest_currents,
    readings,
    state_now,
)
from ..site.tests import CONTINUITY, DEAD_READ, TESTS
from ..site.visit import NEW_WORK, Visit
from .currents import dropped_current, dropped_volts, over_limit
from .open_cpc import open_cpc
from .shut import ALL_BACK, ALONE, CLAMP, CPC_FIRST, DANGER, END_OFF, ISOLATION, ONE, OWNER, Gate, Shut
from .support import joined_to_met, without_earth

AFTER_CONTINUITY = tuple(t.name for t in TESTS if t.after_continuity)
CONTINUITY_OF_CPC = tuple(t.name for t in TESTS if t.function == CONTINUITY and "cpc" in t.through)


def gates(visit: Visit, step: Event, alarms: Sequence[Alarm] = (), *, hindsight: bool = False) -> tuple[Gate, ...]:
    """The gates before a step that has not been taken yet; the visit holds what was done so far.

    step    an Off, an Isolation of the stage ``restored``, or a Reading; other steps have no gates, nor has a load that
            is unplugged or a device that is switched off
    alarms  danger that was found: one that blocks closes every disconnection
    hindsight  the step was taken long ago, so nobody is told any more what rests on it
    """
    if isinstance(step, Off) and held(step.what):
        found = _before_off(visit, step.what, alarms, hindsight)
    elif isinstance(step, Isolation) and step.stage == "restored":
        found = [_all_back(visit, "the supply is restored")]
    elif isinstance(step, Reading):
        found = _before_reading(visit, step)
    else:
        return ()
    return tuple(_signed(visit.events, gate) for gate in found)


def closed(found: Iterable[Gate]) -> tuple[Gate, ...]:
    """The gates that hold a step back: closed, and nobody has signed for passing them."""
    return tuple(gate for gate in found if not gate.passes)


def _signed(events: Sequence[Event], gate: Gate) -> Gate:
    """A closed gate with the override that passes it. One signed reason passes one step: the next one asks again."""
    if gate.open:
        return gate
    last_step = max((e.seq for e in events if isinstance(e, Off | Reading)), default=0)
    for event in reversed(events):
        if isinstance(event, Override) and event.seq > last_step and _passes(event, gate):
            return evolve(gate, overridden=event)
    return gate


def _passes(event: Override, gate: Gate) -> bool:
    named = event.gate in (gate.name, f"{gate.name}: {gate.what}")
    return named and bool(event.by and event.reason)


# ---- before something is opened ----


def _before_off(visit: Visit, what: str, alarms: Sequence[Alarm], hindsight: bool) -> list[Gate]:
    base = what.removesuffix(FAR_END)
    bond = next((b for b in visit.site.bonds if b.id == base), None)
    found = [_danger(visit, what, alarms)]
    if bond is not None:
        found.append(_owner(what, visit.site.part(bond.part)))
    if bond is not None or base == EARTHING:
        found.append(_clamp(visit, what, base))
    isolation = _isolation(visit.events, what)
    found.append(isolation if hindsight else _with_what_rests(visit, isolation))
    found.append(_one(visit, what))
    return found


def _danger(visit: Visit, what: str, alarms: Sequence[Alarm]) -> Gate:
    blocking = [a for a in alarms if a.blocks]
    if not blocking:
        unread = dropped_volts(visit)
        if unread is not None:
            return Shut.VOLTS_UNREAD.gate(what, unread=unread.what)
        return Gate(DANGER, what, True, "No sign of a present danger was entered.")
    first = blocking[0]
    return Shut.ALARM.gate(what, alarm=first.what, do=" ".join(first.do))


def _owner(what: str, part: Part) -> Gate:
    if not part.owner:
        return Gate(OWNER, what, True, "The part is not entered as somebody else's.")
    return Shut.OWNED.gate(what, part=part.title, owner=part.owner)


def _clamp(visit: Visit, what: str, base: str) -> Gate:
    stop = visit.choices.clamp_stop_a
    name = "earthing conductor" if base == EARTHING else f"bond {base}"
    before, after = newest_currents(visit.events, base)
    over = over_limit(visit, base)
    if over is not None:
        load = f" ({over.load})" if over.load else ""
        return Shut.CARRIES.gate(what, name=name, shown=over.shown, load=load, stop=stop)
    unread = dropped_current(visit, base)
    if unread is not None:
        return Shut.CURRENT_UNREAD.gate(what, unread=unread.what, stop=stop)
    if before is None and after is None:
        return Shut.CURRENT_NOT_READ.gate(what, name=name)
    if after is None:
        return Shut.CURRENT_READ_BEFORE_ONLY.gate(what, name=name)
    first = f"{before.shown} before, " if before is not None else ""
    return Gate(CLAMP, what, True, f"{first}{after.shown} after isolation, no more than {stop:g} A.")


_SAID = {
    "locked": "locked off",
    "tester proved": "tester proved before",
    "dead": "dead on all pairs",
    "tester proved again": "tester proved again",
}


def _isolation(events: Sequence[Event], what: str) -> Gate:
    missing = missing_stages(events)
    if not missing:
        return Gate(ISOLATION, what, True, "Locked off; tester proved, dead, tester proved again.")
    said = ", ".join(_SAID[stage] for stage in missing)
    return Shut.NOT_PROVED_DEAD.gate(what, missing=said)


def _with_what_rests(visit: Visit, gate: Gate) -> Gate:
    """The isolation has to cover everything that has no earth while the end is off."""
    words = without_earth(visit.site, gate.what, state_now(visit.events).off)
    if gate.open or not words:
        return evolve(gate, why=f"{gate.why} {words}".strip())
    return evolve(gate, instead=f"{gate.instead} {words} Lock off all of it.")


def _one(visit: Visit, what: str) -> Gate:
    ends = {b.id for b in visit.site.bonds} | {EARTHING}
    base = what.removesuffix(FAR_END)
    others = sorted(n for n in state_now(visit.events).off if n.removesuffix(FAR_END) in ends - {base})
    if not others:
        return Gate(ONE, what, True, "Nothing else is off.")
    return Shut.ANOTHER_OFF.gate(what, others=", ".join(others), first=others[0])


# ---- before something is energised or read ----


def _all_back(visit: Visit, moment: str) -> Gate:
    off = sorted(what for what in state_now(visit.events).off if held(what))
    if not off:
        return Gate(ALL_BACK, "", True, "Nothing is off.")
    return Shut.STILL_OFF.gate("", off=", ".join(off), moment=moment)


def _before_reading(visit: Visit, step: Reading) -> list[Gate]:
    off = state_now(visit.events).off
    bond = next((b for b in visit.site.bonds if b.id == step.of), None)
    if bond is not None and step.test in (CONDUCTOR, PATH, CLAMP_BODY, TOGETHER):
        return [_end_off(bond, step.test, off)]
    if step.test == "extraneous":
        return [_isolation(visit.events, step.of), _alone(visit, step.of, off)]
    if step.test in AFTER_CONTINUITY:
        found = [_all_back(visit, "this test is made live")]
        if any(c.id == step.of for c in visit.site.circuits):
            broken = open_cpc(visit.events, step.of)
            if broken is not None:
                found.append(Shut.CPC_OPEN.gate(step.of, why=broken[0], do=broken[1]))
            elif visit.kind in NEW_WORK:  # energised for the first time: nothing has ever shown that they are there
                found.append(_cpc_first(visit, step.of))
        return found
    if step.test in DEAD_READ:
        return [_isolation(visit.events, step.of)]
    return []


def _end_off(bond: Bond, test: str, off: frozenset[str]) -> Gate:
    is_off = bond.id in off or f"{bond.id}{FAR_END}" in off
    if test == TOGETHER:
        if is_off:
            return Shut.BOND_OFF.gate(bond.id)
        return Gate(END_OFF, bond.id, True, "The bond is connected.")
    if is_off:
        return Gate(END_OFF, bond.id, True, "One end is off.")
    return Shut.BOND_ON.gate(bond.id)


def _alone(visit: Visit, part_id: str, off: frozenset[str]) -> Gate:
    on = joined_to_met(visit.site, part_id, off)
    if not on:
        return Gate(ALONE, part_id, True, "No bond or known metal joins the part to the MET.")
    return Shut.JOINED.gate(part_id, on=", ".join(on))


def _cpc_first(visit: Visit, circuit: str) -> Gate:
    shown = any(r.shown or r.outcome for t in CONTINUITY_OF_CPC for r in readings(visit.events, circuit, t))
    if shown:
        return Gate(CPC_FIRST, circuit, True, "Continuity of the protective conductor was read first.")
    return Shut.CPC_NOT_READ.gate(circuit)


# ---- before the visit is closed ----


@frozen
class Closing:
    """Whether a visit may be closed.

    off         still off;  unverified  put back, but no reading and no stated look found it in place
    """

    off: tuple[Disconnection, ...]
    unverified: tuple[Disconnection, ...]

    @property
    def may_close(self) -> bool:
        """Nothing is off, and everything that was off has been found back in its place."""
        return not self.off and not self.unverified

    @property
    def why(self) -> str:
        """One sentence."""
        if self.may_close:
            return "Nothing is off, and everything that was off has been checked."
        parts = []
        if self.off:
            parts.append(f"still off: {', '.join(d.what for d in self.off)}")
        if self.unverified:
            parts.append(f"reconnected but not checked: {', '.join(d.what for d in self.unverified)}")
        return f"The visit is not closed: {'; '.join(parts)}."


def can_close(visit: Visit) -> Closing:
    """What still has to be done before the visit is closed: what is off, and what was put back but not re-verified."""
    lines = disconnections(visit.events)
    back_again = {line.what: line for line in lines}  # the last word on each conductor counts
    return Closing(
        tuple(line for line in back_again.values() if line.on is None),
        tuple(
            line for line in back_again.values() if line.on is not None and line.verified is None and held(line.what)
        ),
    )


def taken(
    visit: Visit, alarms_at: Callable[[Visit], Sequence[Alarm]] = lambda _: ()
) -> tuple[tuple[Event, tuple[Gate, ...]], ...]:
    """Every disconnection and every restoring of the supply that was made, with its gates as they stood just before.

    alarms_at  the danger that was known at a moment, from the visit up to then
    """
    found = []
    for place, event in enumerate(visit.events):
        restored = isinstance(event, Isolation) and event.stage == "restored"
        if restored or (isinstance(event, Off) and held(event.what)):
            before = evolve(visit, events=visit.events[:place])
            found.append((event, gates(before, event, alarms_at(before), hindsight=True)))
    return tuple(found)
