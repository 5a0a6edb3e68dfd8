"""What was found of circuits, boards, electrodes and the origin before something was put right, and what is left of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from attrs import evolve

from ...base.errors import Finding
from ...evidence.bond import DISPROVED
from ...outcomes.circuits import CpcJudged, Found, RingJudged, TestJudged
from ...outcomes.verdict import FAILS, NOT_DECIDED
from ...site.events import ORIGIN
from ...site.repairs import put_right
from .readings import Taken
from .words_dead import NAMES

Rows = tuple[tuple[TestJudged, ...], RingJudged | None, CpcJudged | None]


def found_of(thing: str, taken: Taken, judge: Callable[[Taken], Rows], left: Rows) -> tuple[Found, ...]:
    """The states of a thing before each repair it was part of.

    judge  its rows, ring and protective conductor by the readings of a state;  left  the same as they are now
    """
    found = []
    for repair, then in taken.former(thing):
        tests, ring, cpc = judge(then)
        tests = tuple(t for t in tests if t.readings)
        faults = tuple(_faults(tests, ring, cpc))
        said = "; ".join(faults) or f"nothing wrong in {_read(tests)}"
        now = _left({t.test for t in tests}, *left)
        words = f"Found: {said}. P{put_right(repair)[1:]}. Left: {now}."
        found.append(Found(thing, repair, tests, ring, cpc if cpc and cpc.used else None, faults, words))
    return tuple(found)


def _faults(tests: Iterable[TestJudged], ring: RingJudged | None, cpc: CpcJudged | None) -> Iterable[str]:
    for t in tests:
        if t.outcome == FAILS:
            yield f"{_name(t)} {_digits(t)}: {FAILS}"
    if ring is not None and ring.verdict == DISPROVED:
        yield f"the ring disproved{f': {ring.named}' if ring.named else ''}"
    if cpc is not None and cpc.verdict == DISPROVED:
        yield f"the protective conductor disproved: {cpc.named}"


def _left(tests: set[str], rows: Sequence[TestJudged], ring: RingJudged | None, cpc: CpcJudged | None) -> str:
    """What the tests that were read before show now; a test that was not made again shows nothing."""
    now = {t.test: t for t in rows if t.readings}
    said = [f"{_name(now[test])} {_digits(now[test])}: {now[test].outcome}" for test in sorted(tests & set(now))]
    said += [f"the ring {ring.verdict}"] if ring is not None else []
    said += [f"the protective conductor {cpc.verdict}"] if cpc is not None and cpc.used else []
    missing = sorted(tests - set(now))
    said += [f"not shown, since not read again: {', '.join(NAMES.get(m, m) for m in missing)}"] if missing else []
    return "; ".join(said)


def _read(tests: Iterable[TestJudged]) -> str:
    return ", ".join(dict.fromkeys(_name(t) for t in tests)) or "what was read"


def _name(t: TestJudged) -> str:
    return NAMES.get(t.test, t.test) + (f" at {t.point}" if t.point else "")


def _digits(t: TestJudged) -> str:
    return ", then ".join(str(r.shown) if r.shown is not None else r.outcome or r.absent for r in t.readings)


def read_again(rows: tuple[TestJudged, ...], found: Iterable[Found]) -> tuple[TestJudged, ...]:
    """The rows, a test that is missing since the repair saying so."""
    before = {t.test: f.repair for f in found for t in f.tests}
    return tuple(
        evolve(t, reason=f"it was read before it was put right, and not since: {put_right(before[t.test])}")
        if t.outcome == NOT_DECIDED and t.absent == "missing" and t.test in before
        else t
        for t in rows
    )


def found_finding(found: Found) -> Finding:
    """What was found and put right, so that it is printed wherever findings are."""
    where = "origin" if found.of == ORIGIN else found.of
    return Finding.of("repair.found", f"{where}, put right", found.words, found.of)
