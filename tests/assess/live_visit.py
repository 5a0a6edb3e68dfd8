"""Short ways to write an invented installation and what was read on it, for the tests of live tests."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any

from attrs import evolve

from earthwright.assess.circuits import InstallationJudged, judge_installation
from earthwright.assess.earth import Earth
from earthwright.assess.rulings import Rulings
from earthwright.base.digits import read_shown
from earthwright.outcomes.circuits import TestJudged
from earthwright.site.events import CIRCUIT_TESTS, ClampCurrent, Event, Isolation, Off, On, Reading, Volts
from earthwright.site.installation import Board, Circuit, Device, Electrode, Site, Supply
from earthwright.site.reading import Accuracy, Instrument, LeadSet
from earthwright.site.visit import Choices, Visit

B32 = Device("BS EN 60898", "B", 32.0, 6.0)
STEPS = {"Ω": "0.01", "MΩ": "0.01", "kA": "0.01", "ms": "0.1", "A": "0.01", "V": "1", "": "1"}
EXACT = Instrument(
    "exact",
    accuracy=tuple(
        (f, Accuracy(0.0, 0.0, s, 2000.0))
        for f, s in (("loop", 0.01), ("rcd", 0.1), ("electrode", 0.01), ("fault current", 0.01), ("continuity", 0.01))
    ),
)


def shown(digits: str, unit: str) -> Any:
    step = Decimal(STEPS[unit])
    if digits.replace(".", "").isdigit():  # a display as fine as the digits, so that any limit can be hit
        step = min(step, Decimal(1).scaleb(-len(digits.partition(".")[2])))
    found, said = read_shown(digits, unit, "test", step=step)
    assert found is not None
    assert not said
    return found


def read(test: str, of: str, digits: str = "", **more: Any) -> Reading:
    """A reading; its place in the order is given when the visit is put together."""
    unit = CIRCUIT_TESTS[test].unit
    return Reading(
        seq=0,
        id="",
        test=test,
        of=of,
        shown=shown(digits, unit) if digits else None,
        instrument="exact",
        leads="short",
        **more,
    )


def off(what: str) -> Off:
    return Off(seq=0, what=what)


def on(what: str) -> On:
    return On(seq=0, what=what)


def clamp(conductor: str, digits: str, load: str = "") -> ClampCurrent:
    return ClampCurrent(seq=0, on=conductor, shown=shown(digits, "A"), load=load)


def volts(between: str, digits: str, load: str = "") -> Volts:
    return Volts(seq=0, between=between, shown=shown(digits, "V"), load=load)


def isolated(stage: str = "dead") -> Isolation:
    return Isolation(seq=0, stage=stage)


def visit(
    *events: Event,
    supply: Supply | None = None,
    boards: tuple[Board, ...] = (Board("db1"),),
    circuits: tuple[Circuit, ...] = (),
    electrodes: tuple[Electrode, ...] = (),
    date: dt.date = dt.date(2026, 11, 20),
    instrument: Instrument = EXACT,
    **choices: Any,
) -> Visit:
    numbered = []
    for place, event in enumerate(events, start=1):
        changed = evolve(event, seq=place)
        if isinstance(changed, Reading):
            changed = evolve(changed, id=f"r{place}")
        numbered.append(changed)
    return Visit(
        Site(
            "invented",
            supply or Supply("TN-S"),
            boards=boards,
            circuits=circuits,
            electrodes=electrodes,
        ),
        date,
        instruments=(instrument,),
        leads=(LeadSet("short", "nulled", 0.05),),
        events=tuple(numbered),
        choices=Choices(**choices),
    )


def judge(v: Visit) -> InstallationJudged:
    rulings = Rulings(v)
    return judge_installation(v, rulings, Earth.of(v, rulings))


def rows(v: Visit, of: str, test: str) -> list[TestJudged]:
    """Every row of one test of one thing."""
    judged = judge(v)
    tests = [*judged.origin]
    for board in judged.boards:
        tests += board.tests
        for circuit in board.circuits:
            tests += circuit.tests
    for electrode in judged.electrodes:
        tests += electrode.tests
    return [t for t in tests if t.of == of and t.test == test and t.absent != "missing"]


def row(v: Visit, of: str, test: str) -> TestJudged:
    (only,) = rows(v, of, test)
    return only


def families(t: TestJudged) -> set[str]:
    return {f.family for f in t.findings}
