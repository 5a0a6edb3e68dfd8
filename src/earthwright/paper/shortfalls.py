"""What in new work does not comply or is not decided, and the departure that was entered for it.

New work that does not comply is put right before it is certified. Where an inspector goes on all the same, the departure
and its reason are entered thing by thing, and stand beside the result on the certificate.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve, frozen

from ..evidence.bond import DISPROVED, NOT_SHOWN, PROVED
from ..outcomes.assessment import BOND, Assessment, BondJudged
from ..outcomes.circuits import CircuitJudged, TestJudged
from ..outcomes.verdict import FAILS, NO_RULE, NOT_DECIDED
from ..report.grounds import BESIDE, NO_LIMIT, undecided
from ..report.rows import all_tests
from ..report.stops import stops
from ..site.at import At
from ..site.events import ORIGIN
from ..site.particulars import DEPARTS, EXISTING, Departure
from ..site.tests import called
from .circuits import whole
from .digits import said

DANGER = "danger"
CONTINUITY, SIZE, JOINT, RING, CPC = "continuity", "size", "joint", "ring", "cpc"


@frozen
class Shortfall:
    """One thing that does not comply or is not decided.

    of, test  what a departure names;  where  the thing in words;  result  verdict and digits;  answer  what was entered for it
    """

    of: str
    test: str
    where: str
    result: str
    answer: Departure | None = None

    @property
    def at(self) -> At:
        """The entry that answers it."""
        return At("departure", key="reason", new=(("of", self.of), ("test", self.test)))

    def why(self) -> str:
        """Why it is certified all the same, as printed; empty when nobody said so."""
        return "" if self.answer is None else reason_of(self.answer)


def reason_of(d: Departure) -> str:
    """A departure in words."""
    return f"Not part of this work: {d.reason}" if d.kind == EXISTING else f"Departure: {d.reason}"


def shortfalls(a: Assessment, circuit: CircuitJudged | None = None) -> tuple[Shortfall, ...]:
    """Everything in new work that does not comply or is not decided, each once.

    circuit  the only circuit that the certificate is for, with the board, the supply and the bonds that it relies on
    """
    found: dict[tuple[str, str], Shortfall] = {}
    for s in (*_dangers(a), *_tests(a, circuit), *(x for b in a.bonds for x in _bond(b)), *_unbonded(a)):
        before = found.get((s.of, s.test))
        found[s.of, s.test] = s if before is None else evolve(before, result=f"{before.result}; {s.result}")
    given = {(d.of, d.test): d for d in a.visit.paperwork.departures}
    return tuple(evolve(s, answer=given.get(key)) for key, s in found.items())


def beside(a: Assessment, of: str, *tests: str) -> str:
    """The departures entered for a thing, as they stand beside its result; without ``tests`` all of it."""
    mine = [d for d in a.visit.paperwork.departures if d.of == of and (not tests or d.test in tests)]
    return "; ".join(f"{called(d.test)}: {_small(reason_of(d))}" for d in mine)


def departures_said(a: Assessment) -> str:
    """The departures of the work in general, never *none* where results have some of their own."""
    general = a.visit.paperwork.report.departures
    if not any(d.kind == DEPARTS for d in a.visit.paperwork.departures):
        return general
    listed = "listed with their results on page 1"
    return listed if general.strip().lower() in ("", "none") else f"{general}; others are {listed}"


def bond_said(a: Assessment, b: BondJudged) -> str:
    """The verdict on a bond with the departures that were entered for it."""
    return "; ".join(x for x in (b.verdict, beside(a, b.bond.id)) if x)


def _small(text: str) -> str:
    return text[0].lower() + text[1:]


def _dangers(a: Assessment) -> Iterator[Shortfall]:
    for s in stops(a):
        yield Shortfall(DANGER, s.name, "Danger now", s.what.rstrip("."))


def _tests(a: Assessment, circuit: CircuitJudged | None) -> Iterator[Shortfall]:
    for t in all_tests(a, ORIGIN, a.origin):
        yield from _test(t, "Origin")
    for e in a.electrodes:
        for t in e.tests:
            yield from _test(t, f"Electrode {e.electrode.id}")
    for b in a.boards:
        if circuit is not None and circuit.circuit.board != b.board.id:
            continue
        for t in b.tests:
            yield from _test(t, b.board.name or b.board.id)
        for c in (whole(a, c) for c in b.circuits):
            if circuit is None or c.circuit.id == circuit.circuit.id:
                yield from _circuit(c)


def _test(t: TestJudged, where: str) -> Iterator[Shortfall]:
    """A row that fails, or is left open where a limit was asked for. What is absent is asked for as a test."""
    no_rule = t.outcome == NO_RULE and bool(t.judged) and t.test not in (*NO_LIMIT, *BESIDE)
    if t.absent or not (t.outcome == FAILS or undecided(t) or no_rule):
        return
    digits = ", ".join(f"{said(r.shown)} {r.shown.unit}" if r.shown else r.outcome for r in t.readings if not r.refused)
    at = f" at {t.point}" if t.point else ""
    name = called(t.test)
    yield Shortfall(t.of, t.test, f"{where}, {name}", f"{t.outcome}{at}" + (f" ({digits})" if digits else ""))


def _circuit(c: CircuitJudged) -> Iterator[Shortfall]:
    where = f"Circuit {c.circuit.id}" + (f", {c.circuit.name}" if c.circuit.name else "")
    for t in c.tests:
        yield from _test(t, where)
    if c.ring is not None and (c.ring.verdict == DISPROVED or (c.ring.verdict == NOT_SHOWN and _profile(c))):
        yield Shortfall(c.circuit.id, RING, f"{where}, ring", _named(c.ring.verdict, c.ring.named))
    cpc = c.cpc
    if cpc is not None and cpc.verdict != PROVED and (cpc.verdict != NOT_SHOWN or cpc.others):
        yield Shortfall(c.circuit.id, CPC, f"{where}, protective conductor", _named(cpc.verdict, cpc.named))


def _profile(c: CircuitJudged) -> bool:
    """Whether a ring was read socket by socket. One that was not lacks a reading, as its row says; that is no departure."""
    return any(t.readings and t.test in ("ring ln", "ring le") for t in c.tests)


def _bond(b: BondJudged) -> Iterator[Shortfall]:
    where = f"Bond to the {b.part.title}"
    if b.verdict != PROVED:
        why = f" ({b.limited})" if b.limited else ""
        yield Shortfall(b.bond.id, CONTINUITY, f"{where}, continuity", _named(b.verdict, b.named) + why)
    if b.size.judged.outcome in (FAILS, NOT_DECIDED):
        yield Shortfall(b.bond.id, SIZE, f"{where}, size", f"{b.size.judged.outcome} ({b.bond.csa_mm2:g} mm²)")
    if b.joint.outcome == FAILS:
        yield Shortfall(b.bond.id, JOINT, f"{where}, joint", b.joint.outcome)


def _unbonded(a: Assessment) -> Iterator[Shortfall]:
    bonded = {b.part for b in a.visit.site.bonds}
    for p in a.parts:
        if p.verdict == BOND and p.part.id not in bonded:
            yield Shortfall(p.part.id, "bond", f"{p.part.title}, main bond", "extraneous, and there is no bond")


def _named(verdict: str, named: str) -> str:
    return f"{verdict}: {named}" if named and named != "whole" else verdict
