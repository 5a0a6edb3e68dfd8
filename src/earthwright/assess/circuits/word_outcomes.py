"""Tests whose outcome is a word: polarity, phase sequence, functions. Recorded with their state, never assumed."""

from __future__ import annotations

from ...base.errors import Finding
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS, MEETS, NOT_DECIDED
from ...site import tests
from ...site.events import ORIGIN, Reading, State
from . import words_dead as say
from .limits import Case
from .worst_reading import worst_word

# The button of a residual current device is judged with the device.
TESTS = tuple(t.name for t in tests.TESTS if not t.unit and t.name != "rcd button")
# Polarity of the supply itself.
_REVERSED = (
    "Danger now: switch off at the main switch, keep people from metal and accessories, and tell the distributor at once.",
    "With the supply reversed every switch and single-pole device stands in the neutral, and what is off stays live.",
)


def recorded_rows(case: Case, thing: str) -> tuple[TestJudged, ...]:
    """One row for each point at which a word was recorded; a bad one stands until a repair is noted or it is struck."""
    rows = []
    for test in TESTS:
        for point, readings in case.taken.by_point(thing, test).items():
            rows.append(_row(case, thing, test, point, readings))
    return tuple(rows)


def _row(case: Case, thing: str, test: str, point: str, readings: tuple[Reading, ...]) -> TestJudged:
    last = worst_word(readings) or readings[-1]
    state = case.taken.state(last)
    name = say.NAMES[test] + (f" of {point}" if point and test == "functional" else f" at {point}" if point else "")
    if last.refused or last.absent or not last.outcome:
        why = (
            "the entry could not be read"
            if last.refused
            else last.note or ("" if last.absent else "no outcome entered")
        )
        absent = last.absent or ("" if last.refused else "missing")
        words = say.sentences(f"{name}: {last.absent or 'not shown'}{f', {why}' if why else ', no reason given'}.")
        return TestJudged(
            thing, test, point, readings, state, outcome=NOT_DECIDED, absent=absent, reason=why, words=words
        )
    good = last.outcome == "good"
    was = _later(last, readings)
    note = f" {last.note.rstrip('.')}." if last.note else ""
    words = say.sentences(f"{name}: {last.outcome}, recorded {_in_state(state)}.{was}{note}")
    return TestJudged(
        thing,
        test,
        point,
        readings,
        state,
        outcome=MEETS if good else FAILS,
        words=words,
        findings=() if good else (_finding(thing, test, point, last),),
    )


def _later(bad: Reading, readings: tuple[Reading, ...]) -> str:
    """What was recorded after a bad one, which does not take its place."""
    later = [r for r in readings if r.seq > bad.seq and r.outcome == "good" and not r.refused]
    return (
        f" Later {later[-1].outcome} ({later[-1].id}), with nothing noted as put right, so it stands." if later else ""
    )


def _in_state(state: State) -> str:
    if state.isolated is None:
        return "without a word on whether it was dead"
    return "dead" if state.isolated else "live"


def _finding(thing: str, test: str, point: str, reading: Reading) -> Finding:
    of = tests.BY_NAME[test]
    do, because = _REVERSED if (thing, test) == (ORIGIN, "polarity") else (of.do, of.because)
    return Finding.of(
        of.finding,
        f"{thing}, {test}" + (f", {point}" if point else ""),
        f"{say.NAMES[test].capitalize()} is not as it must be." if test != "functional" else "It does not work.",
        thing,
        "good",
        f"bad{f': {reading.note}' if reading.note else ''}",
        do,
        because,
    )
