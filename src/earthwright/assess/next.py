"""What to do next at one bond: the most telling reading that may be taken, and what must come before it."""

from __future__ import annotations

from collections.abc import Sequence

from ..base.digits import Kind
from ..evidence.bond import DISPROVED, NOT_SHOWN, OPEN, Evidence
from ..evidence.explain import Explanation
from ..evidence.worth import Worth, best
from ..gates.currents import dropped_current, dropped_volts, over_limit
from ..gates.shut import CLAMP, DANGER, ONE, OWNER
from ..gates.steps import can_close, closed, gates
from ..outcomes.assessment import LEAD_CHECK, Next, ReadingJudged
from ..outcomes.circuits import Alarm
from ..report import words
from ..site.events import BOND_TESTS, CONDUCTOR, JOINT, PATH, TOGETHER, Off, On
from ..site.installation import Bond
from ..site.ledger import FAR_END, newest_currents, readings, state_at, state_now
from ..site.visit import Visit

CLAMP_STEP = "clamp current"

# How to take each reading, as an instruction.
TAKE = {
    CONDUCTOR: "Take the MET end off and measure from the conductor's free end to bare metal of the {part}",
    PATH: "With the MET end still off, measure from the MET to bare metal of the {part}",
    TOGETHER: "With all connected, measure from the MET to bare metal of the {part}",
    JOINT: "Measure the joint: from the conductor at the clamp to bare metal of the {part} beside it",
}


def next_at(
    visit: Visit,
    bond: Bond,
    verdict: str,
    evidence: Evidence,
    could_show: Sequence[Worth],
    taken: Sequence[ReadingJudged],
    refused: bool,
    alarms: Sequence[Alarm] = (),
    contradicted: bool = False,
    explanations: Sequence[Explanation] = (),
) -> Next | None:
    """The next step at a bond; None when nothing is worth its trouble.

    contradicted  it was read open before, and no repair explains what was read since
    explanations  what would make the digits of a disproved bond, best first
    """
    part = visit.site.part(bond.part)
    name = part.title
    blocking = next((a for a in alarms if a.blocks), None)
    if blocking is not None:
        return Next(f"Leave every connection as it is. {' '.join(blocking.do)}", "alarm", blocked=blocking.what)
    if refused:
        return Next("Correct the entry that could not be read; no verdict is given until then.", "entry")
    if first := _leads_and_ends(visit, bond, name, verdict, evidence, taken):
        return first
    if verdict == DISPROVED:
        return _mend(bond, name, taken, evidence, explanations[0] if explanations else None)
    if contradicted:
        return Next(
            f"If the bond to the {name} was put right in between, enter the repair and read it again. If the reading was wrong, "
            "strike it and say why. Else look for a connection that comes and goes.",
            "repair",
        )
    shown_over = [
        x
        for x in taken
        if x.used and x.reading.test == CONDUCTOR and x.reading.shown and x.reading.shown.kind is Kind.OVER
    ]
    if shown_over and shown_over[-1].corrected.trust.after is None:
        return Next(
            "Short the leads now: 0.00 means the conductor is open, over-range means a lead was off.", LEAD_CHECK
        )
    choice = best(list(could_show), evidence.model.enough_bits) if verdict == NOT_SHOWN else None
    if choice is None:
        return _confirm(visit, bond, name) or _joint_or_nothing(visit, name, taken)
    if choice.test == TOGETHER:
        return Next(f"{TAKE[TOGETHER].format(part=name)}.", TOGETHER, choice)
    return _one_end_off(visit, bond, name, choice, list(could_show), part.owner)


def _leads_and_ends(
    visit: Visit, bond: Bond, name: str, verdict: str, evidence: Evidence, taken: Sequence[ReadingJudged]
) -> Next | None:
    """What the readings so far ask for before any other: their leads in order, and the end put back that need not be off."""
    if evidence.held_by_leads:
        return _short_leads(visit, [x for x in taken if x.used and x.reading.test in BOND_TESTS])
    if bond.id in state_at(visit.events, len(visit.events)).off and (verdict != NOT_SHOWN or _conductor_known(taken)):
        return Next(
            f"Put the MET end of the bond to the {name} back before anything is energised, then measure together.",
            "reconnect",
        )
    suspect = [x for x in taken if x.corrected.trust.suspect]
    if suspect and not any(x.used for x in taken if x.reading.seq > suspect[-1].reading.seq):
        return Next(
            "Null with exactly this lead set, short the tips and see 0.00, then take the whole series again.",
            LEAD_CHECK,
        )
    return None


def _one_end_off(
    visit: Visit,
    bond: Bond,
    name: str,
    choice: Worth,
    all_worths: list[Worth],
    owner: str,
) -> Next:
    """A reading that needs an end off: only as far as its gates are open."""
    together = next((w for w in all_worths if w.test == TOGETHER), None)
    doors = {gate.name: gate for gate in closed(gates(visit, Off(seq=len(visit.events) + 1, what=bond.id)))}
    over = over_limit(visit, bond.id)
    stop = visit.choices.clamp_stop_a
    if CLAMP in doors and over is not None:
        blocked = f"{over.shown} was found in this bond (more than {stop:g} A), so it is not to be opened"
        return Next(
            f"Do not open this bond: {blocked}. Tell the distributor; if it must be improved, run the new conductor first, in parallel.",
            choice.test,
            together,
            (),
            blocked,
        )
    if OWNER in doors:
        blocked = f"the {name} belongs to the {owner}"
        return Next(f"Do not open this bond without their agreement: {blocked}.", choice.test, together, (), blocked)
    take = TAKE[choice.test].format(part=name)
    now = state_now(visit.events)
    if {bond.id, f"{bond.id}{FAR_END}"} & now.off:
        return Next(f"{_still_off(choice.test, take, name)}.", choice.test, choice, words.CAUTIONS_OFF)
    if ONE in doors:
        return Next(f"{doors[ONE].why} {doors[ONE].instead}", "reconnect", choice, words.CAUTIONS_OFF)
    if dropped_volts(visit) or dropped_current(visit, bond.id):
        gate = next(doors[x] for x in (DANGER, CLAMP) if x in doors)
        return Next(f"{gate.why} {gate.instead}", "entry", choice, words.CAUTIONS_OFF)
    before, after = newest_currents(visit.events, bond.id)
    then = f"then: {take[0].lower()}{take[1:]}."
    if before is None and after is None:
        return Next(
            f"Put the clamp meter round the bond first; a bond that may carry current is not opened. If it carries no more than "
            f"{stop:g} A, isolate, {then}",
            CLAMP_STEP,
            choice,
            words.CAUTIONS_OFF,
        )
    if not now.isolated:
        do = f"Isolate, lock off and prove dead; put the clamp meter round the bond again; {then}"
        return Next(do, "isolate", choice, words.CAUTIONS_OFF)
    if after is None:
        do = f"Put the clamp meter round the bond again, now that the supply is off; if it carries no more than {stop:g} A, {then}"
        return Next(do, CLAMP_STEP, choice, words.CAUTIONS_OFF)
    return Next(f"{take}.", choice.test, choice, words.CAUTIONS_OFF)


def _still_off(test: str, take: str, name: str) -> str:
    """The instruction when the end is off already."""
    return f"Measure from the conductor's free end to bare metal of the {name}" if test == CONDUCTOR else take


def _mend(
    bond: Bond, name: str, taken: Sequence[ReadingJudged], evidence: Evidence, best_fit: Explanation | None
) -> Next:
    if evidence.named == OPEN:
        return Next(
            f"Renew the bond to the {name} in one length, or with an accessible proper joint, and measure it three ways again.",
            "mend",
        )
    joint = [x for x in taken if x.reading.test == JOINT and x.used]
    if joint and any(x.reading.shown and x.reading.shown.value > 0.05 for x in joint):
        return Next(
            f"Isolate; clean the {name} to bright metal, refit and lock the clamp, and measure joint and conductor again.",
            "mend",
        )
    if not joint:
        return Next(f"{TAKE[JOINT].format(part=name)}; it tells the joint from the run.", JOINT)
    if best_fit is not None and best_fit.kind == "contact":
        return Next(
            "Press the probes on bare metal and read again; if it still moves, isolate, remake the joints of the run one by one, and "
            "measure after each.",
            "mend",
        )
    if best_fit is not None and best_fit.kind == "size":
        return Next(
            f"Count and measure the strands first: the digits fit {best_fit.what}. If it is thinner than entered, correct the size, "
            f"which decides what is asked for. If it is {bond.csa_mm2:g} mm², follow the run to the damage or the poor joint, mend it, "
            "and measure again.",
            "mend",
        )
    return Next("Follow the run to the damage or the poor joint, mend it, and measure again.", "mend")


def _conductor_known(taken: Sequence[ReadingJudged]) -> bool:
    """Both readings that need the end off were taken, so there is no reason to leave it off."""
    return {CONDUCTOR, PATH} <= {x.reading.test for x in taken if x.used}


def _confirm(visit: Visit, bond: Bond, name: str) -> Next | None:
    """What was put back is confirmed by a reading with all connected, or by a look that found it in place."""
    if not any(line.what.removesuffix(FAR_END) == bond.id for line in can_close(visit).unverified):
        return None
    since = max(e.seq for e in visit.events if isinstance(e, On) and e.what.removesuffix(FAR_END) == bond.id)
    if any(e.test == TOGETHER and e.seq > since for e in readings(visit.events, bond.id)):
        return Next(
            "It was put back, and the reading with all connected is no lower than the path alone, so it does not show that. "
            "Pull at the terminal, look, and note it.",
            "mend",
        )
    return Next(
        f"It was put back: confirm it. {TAKE[TOGETHER].format(part=name)}, or look at the terminal and note it.",
        TOGETHER,
    )


def _joint_or_nothing(visit: Visit, name: str, taken: Sequence[ReadingJudged]) -> Next | None:
    joint = [x for x in taken if x.reading.test == JOINT and x.used]
    if joint:
        return _short_leads(visit, joint) if joint[-1].corrected.unchecked else None
    return Next(f"{TAKE[JOINT].format(part=name)}.", JOINT)


def _short_leads(visit: Visit, taken: Sequence[ReadingJudged]) -> Next:
    """The cheapest step there is: the tips of the leads together, before anything else is changed."""
    names = list(dict.fromkeys(x.reading.leads for x in taken if x.corrected.unchecked))
    leads = next((x for x in visit.leads if x.id in names), None)
    own = leads is not None and leads.allowed != "nulled" and leads.lead_ohm is not None
    shows = f"{leads.lead_ohm:g} Ω" if own and leads is not None else "0.00 Ω"
    of = f" of {' and '.join(names)}" if any(names) else ""
    return Next(
        f"Short the tips{of}, just as used and not nulled again, and note what is shown: {shows} lets the readings count.",
        LEAD_CHECK,
    )
