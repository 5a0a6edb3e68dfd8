"""Does a reading show that what was found is put right? It has to speak of the fault, in a way that the fault would have shown in.

A loop that only a residual current device makes good would read as well over soil, so it shows no conductor to be whole; a
reading somewhere else says nothing of the place that failed; and nothing measured before the work speaks of the work.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import frozen

from ..base.days import day
from ..evidence.bond import DISPROVED, PROVED
from ..outcomes.assessment import Assessment, BondFound, BondJudged
from ..outcomes.circuits import CUSTOMARY, CircuitJudged, Found, TestJudged
from ..outcomes.verdict import FAILS, MEETS
from ..site.events import CIRCUIT_TESTS, JOINT, Reading
from ..site.particulars import CODES, OVERTAKEN, REMEDIED, Observation, Stage
from ..site.tests import BY_NAME, CPC, LOOPS_READ, called
from ..site.visit import day_of
from .coding import Proposed

LOOPS = (*LOOPS_READ, "disconnection")
# Read between more than two conductors at once, and what that covers.
_COVERS = {"LN-E": ("L-E", "N-E"), "all-E": ("L-E", "N-E", "LN-E")}
_BY_RCD_ONLY = (
    "such a loop is good only by the residual current device, so it does not show that the conductor is whole: read R1+R2 or "
    "R2, or a Zs that the overcurrent device would clear"
)
_NO_PROOF = (
    "the protective conductor is not proved yet: read R1+R2 or R2 at the furthest point, and short the leads after that"
)
_BY_EYE = "no reading shows that: say what was seen"


@frozen
class _Shown:
    """What shows that one fault is gone: ids of the readings; ``why`` there is none yet, empty where there is."""

    by: frozenset[str] = frozenset()
    why: str = ""


def left_open(a: Assessment, f: Found) -> str:
    """Why a fault of a circuit, board, electrode or the origin is not shown to be gone since it was put right; empty if it is."""
    open_ = (_shown(a, f.of, name, rows).why for name, rows in _faults_of((f,)).items())
    return "; ".join(dict.fromkeys(filter(None, open_)))


def bond_left_open(b: BondJudged, f: BondFound) -> str:
    """The same for a bond."""
    return "; ".join(filter(None, (_bond_shown(b, name).why for name in _faults_of_bond(f))))


def does_not_confirm(a: Assessment, o: Observation, s: Stage, proposals: Iterable[Proposed]) -> str:
    """Why a stage does not close an observation; empty if a reading confirms that it is put right, or a look does, or a reason is given.

    proposals  those that the observation answers
    """
    found_on = o.found or a.visit.date
    if s.on < found_on:
        return f"The entry of {day(s.on)} is earlier than the day it was found, {day(found_on)}."
    if not (s.reading or s.seen or (s.stage == OVERTAKEN and s.what)):
        return (
            f"The entry of {day(s.on)} does not say by what."
            if s.stage != OVERTAKEN
            else f"The entry of {day(s.on)} does not say why it no longer applies."
        )
    if not s.reading:
        return ""
    found = next(((r, of) for r, of in _every(a) if r.id == s.reading), None)
    if found is None:
        return f"Reading {s.reading} was not judged, so it confirms nothing."
    reading, things = found
    if o.about and o.about not in things:
        return f"Reading {s.reading} belongs to {things[0]}, not to {o.about}."
    why = _too_early(a, o, s, reading) or _not_of_it(a, o, s, things, tuple(proposals))
    return f"Reading {s.reading} does not confirm it: {why}." if why else ""


def _too_early(a: Assessment, o: Observation, s: Stage, reading: Reading) -> str:
    """A reading of a day before the work, or after its own confirmation. One without a day is of the visit, or of the step before it."""
    taken = day_of(a.visit, reading)
    done = max((x.on for x in o.stages if x.stage == REMEDIED and x.on <= s.on), default=None)
    if done is not None and taken < done:
        return f"it was read on {day(taken)}, before the work of {day(done)}; a later one says its day (at = a day and time)"
    return f"it was read on {day(taken)}, after {day(s.on)}" if taken > s.on else ""


def _not_of_it(
    a: Assessment, o: Observation, s: Stage, things: tuple[str, ...], proposals: tuple[Proposed, ...]
) -> str:
    """What of the fault the reading leaves open."""
    bond = next((b for b in a.bonds if b.bond.id in things), None)
    faults = _faults_of(f for f in a.found if f.of in things)
    names = [*o.answers, *(p.name for p in proposals if not p.put_right and _as_urgent(p, o))]
    names += [name for f in (bond.found if bond else ()) for name in _faults_of_bond(f)]
    faults |= {name: () for name in names if name not in faults and ".put-right" not in name}
    if not faults:
        return "" if s.seen else "what it would have to show cannot be told from the readings: say what was seen too"
    shown = {
        name: _bond_shown(bond, name) if bond is not None else _shown(a, things[0], name, rows)
        for name, rows in faults.items()
    }
    open_ = [x.why for x in shown.values() if x.why and not (x.why == _BY_EYE and s.seen)]
    if open_:
        return "; ".join(dict.fromkeys(open_))
    measured = [x for x in shown.values() if x.by]
    if measured and not any(s.reading in x.by for x in measured):
        return "it says nothing of what was found"
    return ""


# ---- one fault ----


def _faults_of(found: Iterable[Found]) -> dict[str, tuple[TestJudged, ...]]:
    """What was wrong before something was put right, by the name of its proposal, with the rows that failed then."""
    faults: dict[str, tuple[TestJudged, ...]] = {}
    for f in found:
        for t in f.tests:
            if t.outcome == FAILS:
                faults[f"test.{t.test}"] = (*faults.get(f"test.{t.test}", ()), t)
        if f.cpc is not None and f.cpc.verdict == DISPROVED:
            faults.setdefault("cpc.disproved", ())
        if f.ring is not None and f.ring.verdict == DISPROVED:
            faults.setdefault("ring", ())
    return faults


def _faults_of_bond(f: BondFound) -> list[str]:
    broken = ["bond.disproved"] if f.verdict == DISPROVED else []
    return [*broken, *(["bond.joint"] if f.joint.outcome == FAILS else [])]


def _as_urgent(p: Proposed, o: Observation) -> bool:
    """Whether what still stands is of this observation, not of a lesser matter about the same thing."""
    return p.name in o.answers or o.code not in CODES or CODES.index(p.code) <= CODES.index(o.code)


def _shown(a: Assessment, of: str, name: str, then: tuple[TestJudged, ...]) -> _Shown:
    """What shows that a fault of a circuit, board, electrode or the origin is gone."""
    kind, test = name.partition(".")[0], name.removeprefix("test.")
    circuit = next((c for c in a.circuits if c.circuit.id == of), None)
    if kind == "cpc" or test in CPC:
        return _conductor(circuit)
    if name == "ring" or test.startswith("ring "):
        return _ring(circuit)
    if test in LOOPS:
        return _loop(a, of, then, circuit)
    if test not in CIRCUIT_TESTS:
        return _Shown(why=_BY_EYE)
    return _again(_rows(a, of, test), then, test)


def _conductor(c: CircuitJudged | None) -> _Shown:
    if c is not None and c.ring is not None:
        return _ring(c)
    proved = c is not None and c.cpc is not None and c.cpc.verdict == PROVED
    return _Shown(frozenset(c.cpc.used)) if proved and c and c.cpc else _Shown(why=_NO_PROOF)


def _ring(c: CircuitJudged | None) -> _Shown:
    if c is None or c.ring is None or c.ring.verdict != PROVED:
        return _Shown(why="the ring is not proved yet: read it again from end to end and crossed")
    return _Shown(frozenset(r.id for t in c.tests if t.test.startswith("ring ") for r in t.readings))


def _loop(a: Assessment, of: str, then: tuple[TestJudged, ...], circuit: CircuitJudged | None) -> _Shown:
    """A loop too high: the conductor is proved, or the loop at the same points is one that its own device clears."""
    conductor = _conductor(circuit)
    tests = dict.fromkeys(t.test for t in then) or LOOPS_READ
    rows = [t for test in tests for t in _rows(a, of, test)]
    again = _again(rows, then, "Zs")
    if not again.why and not all(_by_its_device(t) for t in rows):
        again = _Shown(why=_BY_RCD_ONLY)
    by = conductor.by | again.by
    return _Shown(by) if by else again


def _by_its_device(t: TestJudged) -> bool:
    """Whether a loop keeps every limit that is one; in TT that of the residual current device, which there is the device."""
    return all(j.outcome == MEETS for j in t.judged if j.limit is None or j.limit.what != CUSTOMARY)


def _again(rows: Iterable[TestJudged], then: Iterable[TestJudged], test: str) -> _Shown:
    """A test that was made again where and how it failed, and meets its rule in every row."""
    now = [t for t in rows if t.readings]
    name = BY_NAME[test].called if test in BY_NAME else test
    if not now:
        return _Shown(why=f"{name} was not read again")
    bad = next((t for t in now if t.outcome != MEETS), None)
    if bad is not None:
        return _Shown(why=f"{name}{_at(bad)}: {bad.outcome}")
    for t in then:
        same = [x for x in now if x.point == t.point or not t.point]
        if not same:
            return _Shown(why=f"it failed{_at(t)} and was not read there again")
        if not all(any(_as(r, x) for s in same for x in s.readings) for r in t.readings):
            return _Shown(why=f"{name} was not read again in the same way ({_way(t)})")
    return _Shown(frozenset(r.id for t in now for r in t.readings))


def _at(t: TestJudged) -> str:
    return f" at {t.point}" if t.point else ""


def _as(then: Reading, now: Reading) -> bool:
    """Whether a reading was taken between the same conductors, and of a residual current device at the same current."""
    between = then.between in ("", now.between, *_COVERS.get(now.between, ())) or not now.between
    return between and (then.test != "rcd" or then.method == now.method)


def _way(t: TestJudged) -> str:
    return ", ".join(dict.fromkeys(" ".join(filter(None, (r.between, r.method))) or "as found" for r in t.readings))


def _bond_shown(b: BondJudged, name: str) -> _Shown:
    if name == "bond.joint":
        ids = frozenset(r.reading.id for r in b.readings if r.used and r.reading.test == JOINT)
        return _Shown(ids) if b.joint.outcome == MEETS and ids else _Shown(why=f"the joint: {b.joint.outcome}")
    if name not in ("bond.disproved", "bond.not-shown", "part.unbonded"):
        return _Shown(why=_BY_EYE)
    if b.verdict != PROVED:
        return _Shown(why=f"the bond is {b.verdict}")
    return _Shown(frozenset(r.reading.id for r in b.readings if r.used))


# ---- what was read ----


def readings(a: Assessment, about: str = "") -> dict[str, str]:
    """Every reading that was judged, of everything or of one thing, by its id: test, digits as shown or outcome, point, a day of its own."""
    return {r.id: _said(a, r) for r, of in _every(a) if not about or about in of}


def _said(a: Assessment, r: Reading) -> str:
    digits = r.shown.as_shown if r.shown else r.outcome
    taken = day_of(a.visit, r)
    own = day(taken) if taken != a.visit.date else ""
    return ", ".join(x for x in (f"{called(r.test)} {digits}", r.point, own) if x)


def _every(a: Assessment) -> Iterator[tuple[Reading, tuple[str, ...]]]:
    """Each reading that was judged, with the names of what it is of."""
    yield from ((r.reading, (b.bond.id, b.part.id)) for b in a.bonds for r in b.readings)
    yield from ((r, (t.of,)) for t in a.tests for r in t.readings)


def _rows(a: Assessment, of: str, test: str) -> list[TestJudged]:
    return [t for t in a.tests if t.of == of and t.test == test]
