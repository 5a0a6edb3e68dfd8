"""Observations of a condition report: codes proposed with reasons, decided by the inspector, followed until they end.

What the codes mean and what they do to the overall assessment comes from the edition of the report. Which code a finding
tends to get is guidance and custom, not law; each proposal says what it rests on, and two honest inspectors may differ.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from attrs import frozen

from .errors import NoRule
from .events import ORIGIN, Reading
from .evidence import DISPROVED, OPEN, PROVED
from .installation import Part
from .judged import Assessment, BondJudged
from .particulars import (
    CODES,
    CONFIRMED,
    FOUND,
    NO_CODE,
    OVERTAKEN,
    SATISFACTORY,
    UNSATISFACTORY,
    Observation,
    Stage,
)
from .rules import Edition, RuleBook
from .rules.documents import observation_code, overall_assessment
from .rules.lookup import WIRING
from .tested import CircuitJudged, CpcJudged, TestJudged
from .verdict import FAILS, MEETS

CUSTOM = "custom of the trade; no published source was read"
DISCUSSED = "custom of the trade, read in discussions among inspectors; not a rule"
CANDIDATES = ("water", "gas", "oil", "heating", "steel")  # parts that are asked about when they have no bond

# Test of a circuit, board or origin that fails its rule → code, what it means, clause.
_FAILED = {
    "r1r2": ("C2", "continuity of the protective conductor is not as it should be", "643.2"),
    "r2": ("C2", "continuity of the protective conductor is not as it should be", "643.2"),
    "insulation": ("C2", "insulation resistance is below the least value", "643.3"),
    "polarity": ("C2", "polarity is wrong; C1 where live parts can be touched because of it", "643.6"),
    "phase sequence": ("C3", "phase sequence is not as intended; C2 where a machine can run the wrong way", "643.9"),
    "functional": ("C3", "a function does not work; C2 where protection rests on it", "643.10"),
    "ze": ("C2", "the means of earthing is not effective", "411.3.1.1; 643.7"),
    "zdb": ("C2", "the loop impedance at the board is too high", "411.4.4; 643.7"),
    "zs": ("C2", "the supply is not disconnected in time in a fault to earth", "411.3.2; 643.7"),
    "fault current": ("C2", "the fault current is above what the device can break", "434.5.1; 643.7"),
    "disconnection": ("C2", "a fault to earth is not disconnected in time", "411.3.2"),
    "adiabatic": ("C2", "the protective conductor is too small for the energy let through", "543.1.3"),
    "voltage drop": ("C3", "the voltage drop is above the guidance", "525"),
    "supplementary": ("C2", "supplementary bonding does not connect well enough", "415.2.2"),
    "supplementary bonding": ("C2", "supplementary bonding does not connect well enough", "415.2.2"),
    "special location": ("C2", "a rule for the special location is not met", "part 7"),
    "rcd": ("C2", "the residual current device does not operate in time", "643.7; 643.8"),
    "rcd button": ("C2", "the button of the residual current device does not trip it", "643.10"),
    "electrode": ("C2", "the resistance of the earth electrode is too high", "411.5.3; 643.7"),
}


@frozen
class Proposed:
    """A code that the tool proposes for something it has judged.

    name     stable short name, e.g. ``bond.disproved``;  about  id of the thing;  where  the thing in words
    because  the reasons, evidence first;  basis  what the choice of code rests on
    """

    name: str
    about: str
    where: str
    what: str
    code: str
    because: tuple[str, ...]
    clause: str
    basis: str


@frozen
class Thread:
    """One observation with what was proposed for it and where it stands on a day.

    proposed  the most urgent code among ``proposals``, empty when none is proposed;  differs  the inspector's is another
    stage     the last stage up to that day;  counts  whether its code still counts then
    faults    why a stage does not hold, e.g. a reading that does not confirm
    """

    observation: Observation
    proposals: tuple[Proposed, ...]
    proposed: str
    differs: bool
    stage: str
    since: dt.date
    counts: bool
    faults: tuple[str, ...] = ()


@frozen
class Overall:
    """The overall assessment: what the codes lead to, and what the inspector decided.

    proposed  satisfactory or unsatisfactory; empty when no edition is known, then ``because`` says why
    """

    edition: str
    proposed: str
    because: str
    decided: str
    reason: str

    @property
    def differs(self) -> bool:
        """Whether the inspector decided otherwise than the codes."""
        return bool(self.proposed and self.decided and self.proposed != self.decided)


def edition_of(a: Assessment) -> Edition:
    """The edition of the wiring rules that an assessment was made under. Raises NoRule."""
    return RuleBook.load().edition_for(WIRING, a.visit.date, a.visit.choices.edition)


def urgency(code: str) -> int:
    """Place of a code, most urgent first: C1, C2, FI, C3; anything else comes last."""
    return CODES.index(code) if code in CODES else len(CODES)


# ---- what is proposed ----


def propose(a: Assessment) -> tuple[Proposed, ...]:
    """A code for everything judged that tends to get one, most urgent first. The inspector decides."""
    found = [*_alarms(a), *_parts(a)]
    for bond in a.bonds:
        found += _bond(a, bond)
    for test in a.origin:
        found += _test(test, "the origin" if test.of == ORIGIN else test.of)
    for electrode in a.electrodes:
        for test in electrode.tests:
            found += _test(test, electrode.electrode.where or f"electrode {electrode.electrode.id}")
    for board in a.boards:
        name = board.board.name or board.board.id
        for test in board.tests:
            found += _test(test, name)
        for circuit in board.circuits:
            found += _circuit(circuit, name)
    return tuple(sorted(found, key=lambda p: urgency(p.code)))


def _alarms(a: Assessment) -> Iterator[Proposed]:
    for alarm in a.alarms:
        yield Proposed(
            "alarm", alarm.kind, "", alarm.what, "C1", (*alarm.because, "The danger is there now."), "", CUSTOM
        )


def _parts(a: Assessment) -> Iterator[Proposed]:
    bonded = {b.part for b in a.visit.site.bonds}
    tested = {t.of: t for t in a.origin if t.test == "extraneous"}
    for part in a.visit.site.parts:
        if part.id in bonded or part.kind not in CANDIDATES or part.owner:
            continue
        test = tested.get(part.id)
        if test is not None and test.outcome == MEETS:
            continue  # measured, and not extraneous
        yield _unbonded(part, test)


def _unbonded(part: Part, test: TestJudged | None) -> Proposed:
    where = part.entry or part.title
    if test is not None and test.outcome == FAILS:
        what = f"The {part.title} is an extraneous part and has no main bond."
        return Proposed(
            "part.unbonded", part.id, where, what, "C2", (_digits(test), test.words), "411.3.1.2; 544.1", DISCUSSED
        )
    what = f"The {part.title} has no main bond, and it was not settled whether it is an extraneous part."
    because = ("Measure whether it is extraneous before it is coded.", "A needless bond is not harmless under PME.")
    return Proposed("part.unsettled", part.id, where, what, "FI", because, "411.3.1.2", CUSTOM)


def _bond(a: Assessment, b: BondJudged) -> Iterator[Proposed]:
    where = b.bond.position or b.part.entry or b.part.title

    def said(name: str, what: str, code: str, because: Iterable[str], clause: str, basis: str = CUSTOM) -> Proposed:
        reasons = tuple(x for x in because if x)
        return Proposed(name, b.bond.id, where, what, code, reasons, clause, basis)

    title, read = b.part.title, _bond_digits(b)
    if b.verdict == DISPROVED:
        state = "open" if b.named == OPEN else "impaired"
        because = (read, "A main bond that does not connect is taken as one that is missing.")
        yield said(
            "bond.disproved", f"The bond to the {title} is {state}.", "C2", because, "411.3.1.2; 643.2", DISCUSSED
        )
    elif b.verdict != PROVED and not b.limited:  # a limitation is stated as one; it is no finding about the bond
        because = (
            read,
            "Its continuity is not shown. Measure with one end off before it is coded, or state a limitation.",
        )
        yield said("bond.not-shown", f"The bond to the {title} is not shown to be whole.", "FI", because, "643.2")
    if b.joint.outcome == FAILS and b.verdict != DISPROVED:
        because = (read, b.joint.why)
        yield said("bond.joint", f"The joint of the bond to the {title} is poor.", "C2", because, "526.1; 544.1.2")
    if b.size.judged.outcome == FAILS:
        yield _undersized(a, b, where)
    if b.bond.label is False:
        yield said(
            "bond.label", f"The warning label at the {title} is missing.", "C3", ("Looked at.",), "514.13.1", DISCUSSED
        )


def _undersized(a: Assessment, b: BondJudged, where: str) -> Proposed:
    needed = f"{b.size.needed_mm2:g} mm² is asked for" if b.size.needed_mm2 is not None else b.size.judged.why
    what = f"The bond to the {b.part.title} is {b.bond.csa_mm2:g} mm²; {needed}."
    least = _least_bond_mm2(a)
    sound = b.verdict != DISPROVED and least is not None and b.bond.csa_mm2 >= least
    why = (
        f"It is not below {least:g} mm² and not shown to be broken; signs of heat would make it C2, so look for them."
        if sound
        else "It is below the least size that any main bond has."
        if least is not None and b.bond.csa_mm2 < least
        else "It is below the size asked for."
    )
    basis = DISCUSSED if sound else CUSTOM
    return Proposed("bond.size", b.bond.id, where, what, "C3" if sound else "C2", (why,), "544.1.1", basis)


def _least_bond_mm2(a: Assessment) -> float | None:
    try:
        return float(edition_of(a).table("bond.main.other").look().number("least"))
    except NoRule:
        return None


def _circuit(c: CircuitJudged, board: str) -> Iterator[Proposed]:
    where = f"{board}, circuit {c.circuit.id}" + (f", {c.circuit.name}" if c.circuit.name else "")
    for test in c.tests:
        yield from _test(test, where)
    yield from _cpc(c, where)
    if c.ring is None or c.ring.verdict == PROVED:
        return
    named = c.ring.named
    if c.ring.verdict == DISPROVED and named != "legs not crossed":
        which = f": {named}" if named else ""
        what, code = f"The ring of circuit {c.circuit.id} is not whole{which}.", "C2"
        why = "A ring that is broken or bridged can be overloaded, or lose its protective conductor."
    else:
        what, code = f"The ring of circuit {c.circuit.id} is not shown to be whole.", "FI"
        why = "Measure again before it is coded, or state a limitation."
    yield Proposed("ring", c.circuit.id, where, what, code, (c.ring.words, why), "433.1.204; 643.2.1", CUSTOM)


def _cpc(c: CircuitJudged, where: str) -> Iterator[Proposed]:
    """A protective conductor that is disproved, or for which only other metal has spoken."""
    cpc, said_already = c.cpc, any(t.test in ("r1r2", "r2") and t.outcome == FAILS for t in c.tests)
    if cpc is None or said_already:
        return
    if cpc.verdict == DISPROVED:
        what = f"The protective conductor of circuit {c.circuit.id} is {cpc.named}."
        yield Proposed("cpc.disproved", c.circuit.id, where, what, "C2", (cpc.words,), "543.2; 643.2.1", CUSTOM)
    elif cpc.verdict != PROVED and cpc.others:
        what = f"The protective conductor of circuit {c.circuit.id} is not shown to be whole."
        yield Proposed("cpc.not-shown", c.circuit.id, where, what, "FI", (cpc.words,), "643.2.1", CUSTOM)


def _test(test: TestJudged, where: str) -> Iterator[Proposed]:
    if test.outcome != FAILS or test.test not in _FAILED:
        return
    code, meaning, clause = _FAILED[test.test]
    at = f", {test.point}" if test.point else ""
    what = f"{where}{at}: {meaning}."
    because = tuple(x for x in (_digits(test), *(j.why for j in test.judged if j.outcome == FAILS)) if x)
    yield Proposed(f"test.{test.test}", test.of, where, what[0].upper() + what[1:], code, because, clause, CUSTOM)


def _digits(test: TestJudged) -> str:
    read = [f"{r.shown.as_shown if r.shown else r.outcome} (reading {r.id})" for r in test.readings]
    return f"{test.test}: " + ", ".join(read) if read else ""


def _bond_digits(b: BondJudged) -> str:
    read = [f"{r.reading.test} {r.reading.shown.as_shown}" for r in b.readings if r.used and r.reading.shown]
    return "Read: " + ", ".join(read) + "." if read else ""


# ---- what was decided, and what became of it ----


def threads(a: Assessment, on: dt.date | None = None) -> tuple[Thread, ...]:
    """The observations as they stand on a day (the day of issue, else of the visit), each with its proposals."""
    day = on or a.visit.paperwork.report.issued or a.visit.date
    proposals = propose(a)
    return tuple(_thread(a, o, proposals, day) for o in a.visit.paperwork.observations)


def _thread(a: Assessment, o: Observation, proposals: Iterable[Proposed], day: dt.date) -> Thread:
    mine = tuple(p for p in proposals if o.about and p.about == o.about and (not o.answers or p.name in o.answers))
    proposed = min((p.code for p in mine), key=urgency, default="")
    stage, since, counts = FOUND, o.found or a.visit.date, o.code != NO_CODE
    faults: list[str] = []
    for s in o.stages:
        if s.on > day:
            continue
        fault = _does_not_confirm(a, o, s) if s.stage == CONFIRMED else ""
        if fault:
            faults.append(fault)
            continue
        stage, since = s.stage, s.on
        counts = counts and s.stage not in (CONFIRMED, OVERTAKEN)
    differs = bool(proposed and o.code and o.code != proposed)
    return Thread(o, mine, proposed, differs, stage, since, counts, tuple(faults))


def _does_not_confirm(a: Assessment, o: Observation, s: Stage) -> str:
    """Why a reading does not confirm that an observation is put right; empty if it does, or if a look does."""
    if not s.reading:
        return ""
    for b in a.bonds:
        for r in b.readings:
            if r.reading.id == s.reading:
                if o.about and o.about not in (b.bond.id, b.part.id):
                    return f"Reading {s.reading} belongs to {b.bond.id}, not to {o.about}."
                good = r.used and b.verdict == PROVED
                return "" if good else f"Reading {s.reading} does not confirm it: the bond is {b.verdict}."
    for test in _tests(a):
        if any(r.id == s.reading for r in test.readings):
            if o.about and o.about != test.of:
                return f"Reading {s.reading} belongs to {test.of}, not to {o.about}."
            if any(s.reading in c.used and c.verdict == PROVED for c in _cpcs(a)):
                return ""  # continuity has no figure in the rules: it is the evidence that confirms it
            return "" if test.outcome == MEETS else f"Reading {s.reading} does not confirm it: {test.outcome}."
    return f"Reading {s.reading} was not judged, so it confirms nothing."


def _tests(a: Assessment) -> Iterator[TestJudged]:
    yield from a.origin
    for e in a.electrodes:
        yield from e.tests
    for board in a.boards:
        yield from board.tests
        for circuit in board.circuits:
            yield from circuit.tests


def _cpcs(a: Assessment) -> Iterator[CpcJudged]:
    for board in a.boards:
        for circuit in board.circuits:
            if circuit.cpc is not None:
                yield circuit.cpc


def unanswered(a: Assessment) -> tuple[Proposed, ...]:
    """Proposals that no observation answers. Each is either taken up or turned down with a reason before issue."""
    answered = {(p.name, p.about, p.what) for t in threads(a) for p in t.proposals}
    return tuple(p for p in propose(a) if (p.name, p.about, p.what) not in answered)


def overall(a: Assessment, on: dt.date | None = None) -> Overall:
    """The overall assessment on a day: what the codes that still count lead to under the edition, and what was decided.

    Nothing gets better by being left open: a proposal without an answer counts as proposed.
    """
    report = a.visit.paperwork.report
    try:
        edition = edition_of(a)
        counting = [t.observation.code or t.proposed for t in threads(a, on) if t.counts]
        left = [p.code for p in unanswered(a)]
        found = overall_assessment(edition, [c for c in (*counting, *left) if c])
    except NoRule as error:
        return Overall("", "", f"no rule: {error}", report.overall, report.overall_reason)
    if not found.unsatisfactory and not anything(a):
        because = "nothing was inspected, read or observed yet, so nothing speaks for it"
        return Overall(edition.edition, "", because, report.overall, report.overall_reason)
    word = UNSATISFACTORY if found.unsatisfactory else SATISFACTORY
    open_ = f"; {len(left)} proposed codes that nobody has answered yet count as proposed" if left else ""
    return Overall(edition.edition, word, found.because + open_, report.overall, report.overall_reason)


def anything(a: Assessment) -> bool:
    """Whether anything at all was looked at: an empty visit is not satisfactory."""
    v = a.visit
    return bool(v.paperwork.inspected or v.paperwork.observations or any(isinstance(e, Reading) for e in v.events))


def meaning(edition: Edition, code: str) -> tuple[str, str]:
    """What a code means, and what is to be done, under an edition. Raises NoRule."""
    row = observation_code(edition, code)
    return row.text("meaning"), row.text("act")
