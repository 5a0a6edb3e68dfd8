"""Small visits for the checks: one instrument, one nulled lead set, rows written as short as in a notebook."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any

from attrs import evolve

from earthwright.assess import assess
from earthwright.base.digits import Shown, read_shown
from earthwright.base.errors import Finding, Severity
from earthwright.site.events import (
    CIRCUIT_TESTS,
    ClampCurrent,
    Event,
    Isolation,
    LeadCheck,
    Look,
    Off,
    On,
    Override,
    Reading,
)
from earthwright.site.installation import Board, Bond, Circuit, Device, Link, Part, Site, Supply
from earthwright.site.reading import Instrument, LeadSet
from earthwright.site.visit import Choices, Visit

DATE = dt.date(2026, 11, 20)
STEPS = {"Ω": "0.01", "MΩ": "0.01", "ms": "0.1", "kA": "0.01", "A": "0.01"}
STAGES = ("locked", "tester proved", "dead", "tester proved again")


def digits(text: str, unit: str = "Ω") -> Shown:
    """Digits as typed, which must be readable."""
    shown, _ = read_shown(text, unit, "test", step=Decimal(STEPS[unit]))
    assert shown is not None
    return shown


def bond(name: str, length: float, tolerance: float = 0.5, **more: Any) -> Bond:
    """A bond of 10 mm² to the part of the same name."""
    return Bond(name, name, more.pop("csa_mm2", 10.0), length, tolerance, **more)


def circuit(name: str, **more: Any) -> Circuit:
    """A radial of 2.5/1.5 mm² behind B20."""
    given = {
        "device": Device("BS EN 61009", "B", 20.0, 6.0, rcd_type="A", rcd_ma=30.0),
        "line_mm2": 2.5,
        "cpc_mm2": 1.5,
    }
    return Circuit(name, "db1", **{**given, **more})


def read(test: str, of: str, shown: str, **more: Any) -> Reading:
    """A reading with the unit of its test."""
    unit = CIRCUIT_TESTS[test].unit if test in CIRCUIT_TESTS else "Ω"
    more = {"leads": "long", "instrument": "tester", **more}
    return Reading(seq=0, id="", test=test, of=of, shown=digits(shown, unit), **more)


def check(kind: str, shown: str, **more: Any) -> LeadCheck:
    """A check of the leads."""
    return LeadCheck(seq=0, leads="long", kind=kind, shown=digits(shown), instrument="tester", **more)


def clamp(on: str, shown: str, load: str = "", **more: Any) -> ClampCurrent:
    """A clamp current."""
    return ClampCurrent(seq=0, on=on, shown=digits(shown, "A"), load=load, **more)


def off(what: str, **more: Any) -> Off:
    """Something taken off."""
    return Off(seq=0, what=what, **more)


def on(what: str, **more: Any) -> On:
    """Something put back."""
    return On(seq=0, what=what, **more)


def look(what: str, holds: bool | None = True, **more: Any) -> Look:
    """A look."""
    return Look(seq=0, what=what, seen="looked", holds=holds, **more)


def isolated(*stages: str) -> list[Isolation]:
    """Stages of isolation, all four unless said otherwise."""
    return [Isolation(seq=0, stage=s) for s in (stages or STAGES)]


def override(gate: str, reason: str = "agreed", by: str = "A. Inspector") -> Override:
    """A signed reason."""
    return Override(seq=0, gate=gate, reason=reason, by=by)


def visit(
    *events: Event,
    bonds: tuple[Bond, ...] = (),
    circuits: tuple[Circuit, ...] = (),
    links: tuple[Link, ...] = (),
    parts: tuple[Part, ...] = (),
    allowed: str = "nulled",
    lead_ohm: float | None = None,
    **more: Any,
) -> Visit:
    """A visit with these events in this order."""
    numbered: list[Event] = []
    for i, event in enumerate(events, 1):
        numbered.append(evolve(event, seq=i, **({"id": f"r{i}"} if isinstance(event, Reading) else {})))
    known = {p.id for p in parts}
    site = Site(
        "made",
        more.pop("supply", Supply("TN-C-S", True, neutral_csa_mm2=25.0, line_csa_mm2=25.0)),
        (*parts, *(Part(b.part, "water") for b in bonds if b.part not in known)),
        bonds,
        links,
        boards=(Board("db1"),) if circuits else (),
        circuits=circuits,
    )
    given = {
        "instruments": (Instrument("tester"),),
        "leads": (LeadSet("long", allowed, lead_ohm=lead_ohm),),
        "choices": Choices(),
        "date": DATE,
    }
    return Visit(site, events=tuple(numbered), **{**given, **more})


def found(v: Visit, family: str, **more: Any) -> list[Finding]:
    """The findings of one family."""
    return [f for f in assess(v, **more).findings if f.family == family]


def severities(v: Visit, family: str, **more: Any) -> list[str]:
    """How loudly one family speaks."""
    return [f.severity.value for f in found(v, family, **more)]


def alarms(v: Visit, **more: Any) -> set[str]:
    """Families that speak at warning or above."""
    return {f.family for f in assess(v, **more).findings if f.severity.rank <= Severity.WARNING.rank}
