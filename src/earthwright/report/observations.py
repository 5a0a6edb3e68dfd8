"""Observations of a condition report: codes proposed with reasons, decided by the inspector, followed until they end.

What the codes mean and what they do to the overall assessment comes from the edition of the report. Which code a finding
tends to get is guidance and custom, not law; each proposal says what it rests on, and two honest inspectors may differ.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from attrs import evolve, frozen

from ..base.counted import counted
from ..base.errors import NoRule
from ..evidence.bond import DISPROVED, OPEN, PROVED
from ..outcomes.assessment import Assessment, BondJudged
from ..outcomes.circuits import CircuitJudged, TestJudged
from ..outcomes.verdict import FAILS
from ..rules import Edition
from ..rules.documents import observation_code, overall_assessment
from ..site.events import Reading
from ..site.particulars import (
    CODES,
    CONFIRMED,
    FOUND,
    NO_CODE,
    OVERTAKEN,
    REMEDIED,
    SATISFACTORY,
    UNSATISFACTORY,
    Observation,
)
from . import words
from .coding import CUSTOM, DISCUSSED, Proposed, edition_if_any, edition_of, looks, of_tests, parts, runs_on, undersized
from .confirming import bond_left_open, does_not_confirm, left_open
from .customs import bonding_there, misplaced
from .grounds import gaps, said


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

    @property
    def named(self) -> tuple[Proposed, ...]:
        """Of its proposals those it names or repeats: it may speak of something else at the same thing, so only of these is a
        clause or a meaning taken."""
        o = self.observation
        own = o.what.casefold()
        return tuple(p for p in self.proposals if p.name in o.answers or p.what.rstrip(".").casefold() in own)


@frozen
class Overall:
    """The overall assessment: what the codes lead to, and what the inspector decided.

    proposed  satisfactory or unsatisfactory; empty when it is not decided, then ``because`` says why
    """

    edition: str
    proposed: str
    because: str
    decided: str
    reason: str

    @property
    def differs(self) -> bool:
        """Whether the inspector decided otherwise than the codes, or for satisfactory where they decide nothing."""
        if not self.proposed:
            return self.decided == SATISFACTORY
        return bool(self.decided and self.proposed != self.decided)


def urgency(code: str) -> int:
    """Place of a code, most urgent first: C1, C2, FI, C3; anything else comes last."""
    return CODES.index(code) if code in CODES else len(CODES)


# ---- what is proposed ----


def propose(a: Assessment) -> tuple[Proposed, ...]:
    """A code for everything judged that tends to get one, most urgent first. The inspector decides."""
    edition = edition_if_any(a)
    found = [*_alarms(a), *parts(a), *looks(a), *(p for judged in a.parts for p in runs_on(judged))]
    for bond in a.bonds:
        found += _bond(a, bond)
    found += of_tests(a.origin, "the origin", supply=True, edition=edition)
    for electrode in a.electrodes:
        found += of_tests(electrode.tests, electrode.electrode.where or f"electrode {electrode.electrode.id}")
    for board in a.boards:
        name = board.board.name or board.board.id
        found += of_tests(board.tests, name, supply=True)
        for circuit in board.circuits:
            fed = [t for b in a.boards if b.board.fed_by == circuit.circuit.id for t in b.tests]
            found += _circuit(circuit, name, fed, bonding_there(a, circuit.circuit.location))
    for f in a.found:
        if f.faults:
            found.append(_put_right("circuit", f.of, f"{f.of}: {'; '.join(f.faults)}", (f.words,), left_open(a, f)))
    return tuple(sorted((p.cited(edition) for p in found), key=lambda p: urgency(p.code)))


def _put_right(kind: str, about: str, what: str, because: tuple[str, ...], left: str) -> Proposed:
    """A fault that was put right within the visit; it counts on until what was read after that shows it to be gone."""
    if not left:
        what = f"{what}; it was put right within the visit."
        return Proposed(f"{kind}.put-right", about, about, what, "C2", because, CUSTOM, put_right=True)
    what = f"{what}; work on it was noted, and nothing read since shows that it is put right."
    said = f"{left[:1].upper()}{left[1:]}."
    return Proposed(f"{kind}.put-right-not-shown", about, about, what, "C2", (*because, said), CUSTOM)


def _alarms(a: Assessment) -> Iterator[Proposed]:
    for alarm in a.alarms:
        because = (*alarm.because, "The danger is there now.")
        yield Proposed("alarm", alarm.kind, "", alarm.what, "C1", because, CUSTOM)


def _bond(a: Assessment, b: BondJudged) -> Iterator[Proposed]:
    where = b.bond.position or b.part.entry or b.part.title

    def said(name: str, what: str, code: str, because: Iterable[str], basis: str = CUSTOM) -> Proposed:
        reasons = tuple(x for x in because if x)
        return Proposed(name, b.bond.id, where, what, code, reasons, basis)

    title, read = b.part.title, _bond_digits(b)
    if b.verdict == DISPROVED:
        state = "open" if b.named == OPEN else "impaired"
        because = (read, "A main bond that does not connect is taken as one that is missing.")
        yield said("bond.disproved", f"The bond to the {title} is {state}.", "C2", because, DISCUSSED)
    elif b.verdict != PROVED and not b.limited and not _only_leads(b):  # a limitation is no finding about the bond
        because = (
            read,
            "Its continuity is not shown. Measure with one end off before it is coded, or state a limitation.",
        )
        yield said("bond.not-shown", f"The bond to the {title} is not shown to be whole.", "FI", because)
    for f, what, reasons in words.bond_put_right(b):
        yield evolve(_put_right("bond", b.bond.id, what, reasons, bond_left_open(b, f)), where=where)
    if b.joint.outcome == FAILS and b.verdict != DISPROVED:
        because = (read, b.joint.why)
        yield said("bond.joint", f"The joint of the bond to the {title} is poor.", "C2", because)
    if b.size.judged.outcome == FAILS:
        yield undersized(a, b, where)
    for code, what, why in misplaced(b):
        yield said("bond.place", what, code, why)
    if b.bond.label is False:
        yield said("bond.label", f"The warning label at the {title} is missing.", "C3", ("Looked at.",), DISCUSSED)


def _only_leads(b: BondJudged) -> bool:
    """Whether its digits are those of a whole bond, and nothing but the leads that nobody shorted afterwards is in the way.

    That asks for one more look at the leads and bars *satisfactory* as long as it is open; it is no finding about the bond.
    """
    checked = b.evidence.if_checked
    return b.evidence.held_by_leads and checked is not None and checked.verdict == PROVED and not b.contradicted


def _circuit(c: CircuitJudged, board: str, fed: Sequence[TestJudged], bonding: Sequence[str]) -> Iterator[Proposed]:
    where = f"{board}, circuit {c.circuit.id}" + (f", {c.circuit.name}" if c.circuit.name else "")
    broken = c.ring is not None and c.ring.verdict == DISPROVED  # said once, with the ring
    tests = [
        p
        for p in of_tests(c.tests, where, loops=fed, bonding=bonding)
        if not (broken and p.name.startswith("test.ring "))
    ]
    yield from tests
    yield from _cpc(c, where)
    if c.ring is None or c.ring.verdict == PROVED or any(p.name.startswith("test.ring ") for p in tests):
        return
    named = c.ring.named
    if c.ring.verdict == DISPROVED and named != "legs not crossed":
        which = f": {named}" if named else ""
        what, code = f"The ring of circuit {c.circuit.id} is not whole{which}.", "C2"
        why = "A ring that is broken or bridged can be overloaded, or lose its protective conductor."
    elif not c.ring.suspect:
        return  # only proof is lacking: the verdict says so and asks for the reading, and nothing is found
    else:
        what, code = f"The ring of circuit {c.circuit.id} is not shown to be whole: {c.ring.suspect}.", "FI"
        why = "Measure again before it is coded, or state a limitation."
    yield Proposed("ring", c.circuit.id, where, what, code, (c.ring.words, why), CUSTOM)


def _cpc(c: CircuitJudged, where: str) -> Iterator[Proposed]:
    """A protective conductor that is disproved, or for which only other metal has spoken."""
    cpc, said_already = c.cpc, any(t.test in ("r1r2", "r2") and t.outcome == FAILS for t in c.tests)
    if cpc is None or said_already:
        return
    if cpc.verdict == DISPROVED:
        what = f"The protective conductor of circuit {c.circuit.id} is {cpc.named}."
        yield Proposed("cpc.disproved", c.circuit.id, where, what, "C2", (cpc.words,), CUSTOM)
    elif cpc.verdict != PROVED and cpc.others:
        what = f"The protective conductor of circuit {c.circuit.id} is not shown to be whole."
        yield Proposed("cpc.not-shown", c.circuit.id, where, what, "FI", (cpc.words,), CUSTOM)


def _bond_digits(b: BondJudged) -> str:
    read = [f"{r.reading.test} {r.reading.shown.as_shown}" for r in b.readings if r.used and r.reading.shown]
    return "Read: " + ", ".join(read) + "." if read else ""


# ---- what was decided, and what became of it ----


def threads(a: Assessment, on: dt.date | None = None) -> tuple[Thread, ...]:
    """The observations as they stand on a day (the day of issue, else of the visit), each with its proposals."""
    day = on or a.visit.paperwork.report.issued or a.visit.date
    proposals = propose(a)
    every = a.visit.paperwork.observations
    named = {(o.about, name) for o in every for name in o.answers}
    free = tuple(
        p for p in proposals if (p.about, p.name) not in named
    )  # one that is answered by name is answered once
    return tuple(_thread(a, o, proposals if o.answers else free, day) for o in every)


def _thread(a: Assessment, o: Observation, proposals: Iterable[Proposed], day: dt.date) -> Thread:
    mine = _answered(o, [p for p in proposals if o.about and p.about == o.about])
    proposed = min((p.code for p in mine), key=urgency, default="")
    stage, since, counts = FOUND, o.found or a.visit.date, o.code != NO_CODE
    if mine and all(p.put_right for p in mine):
        stage, counts = REMEDIED, False
    faults: list[str] = []
    asks = counts
    for s in sorted((s for s in o.stages if s.on <= day), key=lambda s: s.on):
        fault = does_not_confirm(a, o, s, mine) if s.stage in (CONFIRMED, OVERTAKEN) else ""
        if fault:
            faults.append(fault)
            continue
        stage, since = s.stage, s.on
        counts = asks and s.stage not in (CONFIRMED, OVERTAKEN)  # work after a confirmation was checked by nothing yet
    differs = bool(proposed and o.code and o.code != proposed)
    return Thread(o, mine, proposed, differs, stage, since, counts, tuple(faults))


def _answered(o: Observation, about: Sequence[Proposed]) -> tuple[Proposed, ...]:
    """The proposals about a thing that an observation of it answers: those it names; without names what is no more urgent.

    One that gives a reason for its code, has no code yet, or fits nothing less urgent, answers all of it.
    """
    if o.answers:
        # What was put right since goes with the observation of it, whatever that was named after.
        return tuple(p for p in about if p.name in o.answers or ".put-right" in p.name)
    fitting = tuple(p for p in about if urgency(p.code) >= urgency(o.code))
    return fitting if fitting and o.code in CODES and not o.reason else tuple(about)


def _counts_as(t: Thread) -> str:
    """The code that an observation counts with: a less urgent one than proposed is no decision before its reason is given."""
    o = t.observation
    lower = bool(t.proposed) and urgency(t.proposed) < urgency(o.code) and not o.reason
    return t.proposed if lower else o.code


@frozen
class Immediate:
    """A danger coded C1 that nobody has removed: what and where, and who says so (an observation, or a proposal)."""

    what: str
    where: str
    said: str


def immediate(a: Assessment, on: dt.date | None = None) -> tuple[Immediate, ...]:
    """Every C1 that counts and is not made safe, and every C1 proposed that nobody has answered: they are for now."""
    found = [
        Immediate(t.observation.what, t.observation.where, f"observation {t.observation.id}")
        for t in threads(a, on)
        if waits_for_nobody(t)
    ]
    left = [p for p in unanswered(a) if p.code == "C1" and not p.put_right]
    return (*found, *(Immediate(p.what, p.where, "proposed, not answered yet") for p in left))


def waits_for_nobody(t: Thread) -> bool:
    """Whether an observation is danger that is there now: C1, counting, and nobody made it safe."""
    return t.observation.code == "C1" and t.counts and t.stage == FOUND


def unanswered(a: Assessment) -> tuple[Proposed, ...]:
    """Proposals that no observation answers. Each is either taken up or turned down with a reason before issue."""
    answered = {(p.name, p.about, p.what) for t in threads(a) for p in t.proposals}
    return tuple(p for p in propose(a) if (p.name, p.about, p.what) not in answered)


def overall(a: Assessment, on: dt.date | None = None) -> Overall:
    """The overall assessment on a day: what the codes that still count lead to under the edition, and what was decided.

    Nothing gets better by being left open: a proposal without an answer counts as proposed, and nothing is satisfactory
    that was not looked at.
    """
    report = a.visit.paperwork.report
    left = [p.code for p in unanswered(a) if not p.put_right]
    try:
        edition = edition_of(a)
        counting = [_counts_as(t) for t in threads(a, on) if t.counts]
        found = overall_assessment(edition, [c for c in (*counting, *left) if c])
    except NoRule as error:
        return Overall("", "", f"no rule: {error}", report.overall, report.overall_reason)
    word, because = UNSATISFACTORY if found.unsatisfactory else SATISFACTORY, found.because
    open_fi = [p for p in unanswered(a) if p.code == "FI"]
    open_fi += [
        p for t in threads(a, on) if t.counts and t.observation.code != _counts_as(t) == "FI" for p in t.proposals
    ]
    asked = tuple(
        f"the suggested FI is neither taken up nor dismissed: {p.what.rstrip('.')}" for p in open_fi if p.code == "FI"
    )
    lacking = () if found.unsatisfactory else (*asked, *gaps(a, ((p.name, p.about) for p in propose(a))))
    if lacking:
        word, because = (
            "",
            f"not everything was inspected, tested or agreed as a limitation: {said(lacking)}",
        )
    if left:
        because += f"; {counted(len(left), 'suggested code')} counted until taken up or dismissed"
    return Overall(edition.edition, word, because, report.overall, report.overall_reason)


def own_codes_against(a: Assessment) -> tuple[str, ...]:
    """The inspector's own codes that count and make a report unsatisfactory while its assessment says satisfactory."""
    try:
        edition = edition_of(a)
        mine = sorted({t.observation.code for t in threads(a) if t.counts} & set(CODES), key=urgency)
        against = tuple(c for c in mine if overall_assessment(edition, [c]).unsatisfactory)
    except NoRule:
        return ()
    return against if a.visit.paperwork.report.overall == SATISFACTORY else ()


def anything(a: Assessment) -> bool:
    """Whether anything at all was looked at: an empty visit is not satisfactory."""
    v = a.visit
    return bool(v.paperwork.inspected or v.paperwork.observations or any(isinstance(e, Reading) for e in v.events))


def meaning(edition: Edition, code: str) -> tuple[str, str]:
    """What a code means, and what is to be done, under an edition. Raises NoRule."""
    row = observation_code(edition, code)
    return row.text("meaning"), row.text("act")
