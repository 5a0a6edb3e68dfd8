"""Whatever is entered, the live tests come to a verdict or say why not: no exception, no outcome of its own, no silence."""

from __future__ import annotations

import datetime as dt
import random
from typing import Any

import pytest
from attrs import evolve
from live_visit import clamp, isolated, judge, off, on, read, visit, volts

from earthwright.outcomes.verdict import FAILS, MEETS, NO_RULE, NOT_DECIDED
from earthwright.report.record import plain
from earthwright.site.events import BETWEEN, METHODS
from earthwright.site.installation import CPC_KINDS, SYSTEMS, USES, Board, Circuit, Device, Electrode, Supply

SHOWN = ("0.00", "0.01", "0.35", "1.04", "7.00", "299", "1999", "over-range", "<0.01", ">20.0")
STANDARDS = (
    "",
    "BS EN 60898",
    "BS EN 61009",
    "BS 3036",
    "BS 88-2",
    "BS 88-3",
    "BS 1361",
    "BS 3871",
    "BS 9999",
    "BS 4293",
)
CURVES = ((), ((87.0, 5.0), (200.0, 0.4), (350.0, 0.1)), ((100.0, 1.0),), ((100.0, 1.0), (100.0, 1.0)))
PLACES = ("", "", "bathroom", "farm", "722", "outdoors", "the moon")


def device(rng: random.Random) -> Device:
    return Device(
        rng.choice(STANDARDS),
        rng.choice(("", "B", "C", "D", "gG", "2", "Z")),
        rng.choice((None, 5.0, 6.0, 30.0, 32.0, 33.0, 63.0, 125.0)),
        rng.choice((None, 1.0, 6.0, 10.0)),
        rcd_type=rng.choice(("", "AC", "A")),
        rcd_ma=rng.choice((None, 10.0, 30.0, 100.0, 300.0)),
        rcd_delay=rng.choice(("", "S", "60 ms")),
        coil_ohm=rng.choice((None, None, 0.1)),
        curve=rng.choice(CURVES),
        let_through_a2s=rng.choice((None, None, 9000.0)),
    )


def circuit(rng: random.Random, name: str) -> Circuit:
    size = (None, 0.5, 1.0, 2.5, 3.3, 16.0, 240.0)
    return Circuit(
        name,
        rng.choice(("db1", "db2", "nowhere")),
        kind=rng.choice(("radial", "ring")),
        use=rng.choice(USES),
        phases=rng.choice((1, 3)),
        device=device(rng),
        line_mm2=rng.choice(size),
        neutral_mm2=rng.choice(size),
        cpc_mm2=rng.choice(size),
        cpc=rng.choice(CPC_KINDS),
        material=rng.choice(("copper", "aluminium", "steel")),
        cable=rng.choice(("", "70 °C thermoplastic, two-core", "90 °C thermosetting, two-core", "string")),
        conductor_c=rng.choice((20.0, 70.0, 90.0)),
        length_m=rng.choice((None, 0.0, 0.5, 30.0, 400.0)),
        length_tol_m=rng.choice((None, 0.0, 3.0)),
        design_a=rng.choice((None, 0.0, 16.0, 400.0)),
        power_factor=rng.choice((1.0, 0.8, 0.0)),
        points=rng.choice(((), (("a", 10.0), ("b", None)))),
        spurs=rng.choice((0, 2)),
        location=rng.choice(PLACES),
    )


def reading(rng: random.Random, things: list[str]) -> Any:
    test = rng.choice(
        ("ze", "zdb", "zs", "zs", "r1r2", "fault current", "rcd", "rcd button", "electrode", "supplementary")
    )
    of = {"ze": "origin", "zdb": rng.choice(("db1", "db2")), "electrode": "rod"}.get(test, rng.choice(things))
    if test == "fault current":
        of = rng.choice((*things, "origin", "db1", "db2"))
    more = {
        "method": rng.choice(METHODS.get(test, ("",))),
        "between": rng.choice(BETWEEN.get(test, ("",))),
        "point": rng.choice(("", "a", "b", "nearer", "middle", "farther", "12 m")),
    }
    kind = rng.random()
    if kind < 0.1:
        return read(test, of, absent=rng.choice(("LIM", "N/A", "not tested")), note="reason", **more)
    if test == "rcd button":
        return read(test, of, outcome=rng.choice(("good", "bad")))
    return read(test, of, rng.choice(SHOWN), **more)


def anything(seed: int) -> Any:
    rng = random.Random(seed)
    circuits = tuple(circuit(rng, f"c{n}") for n in range(rng.randint(0, 4)))
    names = [c.id for c in circuits] or ["c0"]
    events: list[Any] = [reading(rng, names) for _ in range(rng.randint(0, 14))]
    events += rng.choice(([], [off("earthing")], [off("earthing"), on("earthing")], [isolated()]))
    loads = ("", "7 kW heater on", "main switch off", "0 kW on")
    events += [
        volts(
            rng.choice(("L-N", "MET to true earth", "N-E")),
            rng.choice(("0", "1", "89", "141", "230")),
            rng.choice(loads),
        )
    ]
    events += [clamp(rng.choice(("earthing", "water")), rng.choice(("0.00", "0.50", "11.8")), rng.choice(loads))]
    rng.shuffle(events)
    boards = (
        Board(
            "db1", fed_by=rng.choice(("", "c0", "c1")), phases=rng.choice((1, 3)), rcd=rng.choice((None, device(rng)))
        ),
        Board("db2", fed_by=rng.choice(("", "c0", "c1", "c9"))),
    )
    supply = Supply(
        rng.choice((None, *SYSTEMS)),
        u0_v=rng.choice((230.0, 110.0, 40.0, 400.0)),
        phases=rng.choice((1, 3)),
        ze_ohm=rng.choice((None, 0.35)),
        ipf_ka=rng.choice((None, 16.0)),
        fuse_a=rng.choice((None, 60.0, 100.0)),
    )
    return visit(
        *events,
        supply=supply,
        boards=boards,
        circuits=circuits,
        electrodes=(Electrode("rod", soil_ohm_m=rng.choice((None, 100.0)), length_m=3.0, diameter_mm=16.0),),
        date=rng.choice((dt.date(1999, 1, 1), dt.date(2019, 5, 5), dt.date(2023, 1, 1), dt.date(2026, 11, 20))),
        decision=rng.choice(("simple", "guarded")),
    )


@pytest.mark.parametrize("seed", range(0, 600, 40))
def test_any_installation_comes_to_a_verdict_or_says_why_not(seed: int) -> None:
    for each in range(seed, seed + 40):
        judged = judge(anything(each))
        tests = [*judged.origin, *(t for e in judged.electrodes for t in e.tests)]
        for board in judged.boards:
            tests += [*board.tests, *(t for c in board.circuits for t in c.tests)]
        for row in tests:
            assert row.outcome in (MEETS, FAILS, NOT_DECIDED, NO_RULE), (each, row)
            assert "nan" not in row.words, (each, row.words)
            if row.absent == "missing":
                continue
            if row.outcome != MEETS:
                assert row.words or row.reason, (each, row)
            if row.outcome == MEETS and row.test not in ("rcd button", "polarity"):
                assert any(j.outcome == MEETS for j in row.judged), (each, row)
        plain(evolve(judged.alarms[0]) if judged.alarms else None)
