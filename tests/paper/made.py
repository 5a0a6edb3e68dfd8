"""An invented job with circuits, made by hand: what the judging hands to the paper, without the judging."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from attrs import evolve

from earthwright.assess import assess
from earthwright.base.digits import Kind, Shown
from earthwright.base.quantity import Band, Limit
from earthwright.outcomes.assessment import Assessment
from earthwright.outcomes.circuits import BoardJudged, CircuitJudged, RingJudged, TestJudged
from earthwright.outcomes.verdict import Judged
from earthwright.site.events import Reading, State
from earthwright.site.inspection import INITIAL_ITEMS, PERIODIC_ITEMS
from earthwright.site.installation import Board, Circuit, Device
from earthwright.site.particulars import (
    AUTHORISED,
    BUILT,
    DESIGNED,
    TESTED,
    Danger,
    Inspected,
    Observation,
    Origin,
    Particulars,
    Sign,
    Stage,
)
from earthwright.site.reading import Accuracy, Corrected, LeadTrust
from earthwright.visitbook import read_text

DAY = dt.date(2026, 11, 20)
HOSTILE = '#eval("1") $x^2$ *b* <script>alert(1)</script> \\ "&\' =HYPERLINK() `raw` @ref <label> // /* [ ]'
BOOK = """
[visit]
place = "The Old Maltings, 3 Quillet Street, Ashgarth"
date = 2026-11-20
kind = "periodic"
inspector = "J. Example"
firm = "Example Electrical"
client = "Ashgarth Lettings (invented)"
extent = "the whole installation downstream of the supply terminals"
limitations = ["none"]

[supply]
system = "TN-C-S"
pme = true
neutral_at_most_mm2 = 35
earthing_mm2 = 16
fuse_a = 80
ze_ohm = 0.21
ze_how = "measurement"
ipf_ka = 1.10
ipf_how = "measurement"

[[instrument]]
id = "mft"
name = "multifunction tester"
serial = "000123"
valid_until = 2027-03-01

[[leads]]
id = "long"
allowed = "nulled"
null_ohm = 0.19

[[part]]
id = "water"
kind = "water"
name = "water service"

[[bond]]
part = "water"
csa_mm2 = 10
length_m = 16
length_tol_m = 1
label = true

[[step]]
isolated = "dead"

[[step]]
check = "shorted"
shown = 0.00
[[step]]
check = "open"
shown = "over-range"
[[step]]
off = "water"
[[step]]
read = "conductor"
bond = "water"
shown = [0.03, 0.03]
[[step]]
read = "path"
bond = "water"
shown = 3.40
[[step]]
on = "water"
[[step]]
read = "together"
bond = "water"
shown = 0.03
[[step]]
read = "joint"
bond = "water"
shown = 0.00
[[step]]
check = "shorted"
shown = 0.00
"""
NAMES = (
    "Sockets, ground floor",
    "Cooker",
    "Lights, first floor",
    "Immersion heater",
    "Sockets, kitchen",
    "Outside lights",
    "Smoke alarms",
)


def shown(text: str, unit: str) -> Shown:
    """A display of a value, or of over-range."""
    if text.startswith(">"):
        return Shown(text, Decimal(text[1:]), Decimal("0.01"), unit, Kind.OVER)
    digits = Decimal(text)
    return Shown(text, digits, Decimal(1).scaleb(int(digits.as_tuple().exponent)), unit)


def read_test(
    circuit: str,
    test: str,
    text: str,
    unit: str = "Ω",
    *,
    limit: float | None = None,
    outcome: str = "meets",
    between: str = "",
    method: str = "",
    seq: int = 1,
    volts: float | None = None,
) -> TestJudged:
    """One test with one reading, corrected and held against a limit."""
    s = shown(text, unit)
    r = Reading(
        seq=seq,
        id=f"r{seq}",
        test=test,
        of=circuit,
        shown=s,
        instrument="mft",
        leads="long",
        between=between,
        method=method,
        at="10:15",
        test_v=volts,
        point="far end" if test == "zs" else "",
    )
    judged = ()
    if limit is not None:
        rule = Limit(limit, unit, "max", test, "411.4.4", "BS 7671", "2018+A4", "read")
        judged = (Judged(outcome, rule, "simple", outcome, outcome, limit - s.value, ""),)
    band = Band(s.value * 0.9, s.value * 1.1, unit) if s.kind is Kind.VALUE else None
    accuracy = Accuracy(3.0, 2.0, 0.01, 99.99)
    corrected = Corrected(r, None, band, (0.0, 0.0), LeadTrust(None, None, None, None, False), accuracy)
    return TestJudged(
        circuit,
        test,
        r.point,
        (r,),
        State(frozenset(), isolated=True),
        corrected,
        band,
        ("copper at 20 °C",),
        True,
        judged,
        outcome,
        words=f"{test} {text} {unit}.",
        sums=(f"0.50 Ω × 1.2 = {text} {unit}",) if limit else (),
    )


def word_of(circuit: str, test: str, outcome: str, seq: int = 1) -> TestJudged:
    """One test whose outcome is a word."""
    r = Reading(seq=seq, id=f"r{seq}", test=test, of=circuit, outcome=outcome)
    return TestJudged(circuit, test, readings=(r,), outcome="meets" if outcome == "good" else "fails")


def circuit_judged(number: int, *, zs_fails: bool = False, note: str = "") -> CircuitJudged:
    """A circuit with everything a schedule asks for; every third is a ring."""
    ring = number % 3 == 0
    rating = 32.0 if ring else (6.0, 16.0)[number % 2]
    name = f"C{number}"
    circuit = Circuit(
        id=name,
        board="DB1",
        name=NAMES[number % len(NAMES)],
        kind="ring" if ring else "radial",
        use="sockets" if ring else "final",
        device=Device("BS EN 61009", "B", rating, 6.0, 1, "A", 30.0, afdd=number % 5 == 0),
        line_mm2=2.5,
        neutral_mm2=2.5,
        cpc_mm2=1.5,
        cable="flat twin with cpc, thermoplastic",
        method="C",
        length_m=30.0,
        points=(("far end", 30.0), ("near end", 4.0)),
        note=note,
    )
    limit = {32.0: 1.37, 16.0: 2.73, 6.0: 7.28}[rating]
    value = f"{limit + 0.2:.2f}" if zs_fails else f"{0.3 + number % 7 / 10:.2f}"
    seq = 100 * number
    tests = [
        read_test(name, "r1r2", f"{0.20 + number % 7 / 20:.2f}", seq=seq),
        read_test(name, "insulation", ">299", "MΩ", between="L-N", seq=seq + 1, volts=500.0),
        read_test(name, "insulation", f"{120 + number}.0", "MΩ", between="LN-E", seq=seq + 2, volts=500.0),
        word_of(name, "polarity", "good", seq + 3),
        read_test(name, "zs", value, limit=limit, outcome="fails" if zs_fails else "meets", seq=seq + 4),
        read_test(name, "rcd", "24.3", "ms", limit=300.0, method="x1", seq=seq + 5),
        word_of(name, "rcd button", "good", seq + 6),
    ]
    if circuit.device.afdd:
        tests.append(
            TestJudged(
                name,
                "functional",
                "AFDD button",
                (
                    Reading(
                        seq=seq + 7, id=f"r{seq + 7}", test="functional", of=name, outcome="good", point="AFDD button"
                    ),
                ),
                outcome="meets",
            )
        )
    judged = None
    if ring:
        tests[0:0] = [
            read_test(name, f"ring {x}", t, seq=seq + 8 + i)
            for i, (x, t) in enumerate((("r1", "0.42"), ("rn", "0.43"), ("r2", "0.70")))
        ]
        judged = RingJudged(
            "proved", "whole", None, (), (("whole", 0.0), ("break in line", -9.1)), None, (), "The ring is whole."
        )
    return CircuitJudged(circuit, tuple(tests), judged)


def board_judged(count: int, *, failing: int = 0) -> BoardJudged:
    """A board with so many circuits; the first ``failing`` of them have a Zs above its limit."""
    board = Board(
        "DB1", "Main board", "hall cupboard", "", 1, "100 A double-pole isolator", None, "type 2, indicator good"
    )
    tests = (
        read_test("DB1", "zdb", "0.21", seq=1),
        read_test("DB1", "fault current", "1.10", "kA", seq=2),
        word_of("DB1", "polarity", "good", 3),
    )
    return BoardJudged(board, tests, tuple(circuit_judged(i, zs_fails=i <= failing) for i in range(1, count + 1)))


def observations(count: int, failing: int) -> tuple[Observation, ...]:
    """Observations: one for each circuit that fails, the rest found by looking."""
    codes = ("C3", "C3", "FI", "C2")
    made = []
    for i in range(1, count + 1):
        about = f"C{i}" if i <= failing else ""
        made.append(
            Observation(
                str(i),
                f"Finding number {i}: what was seen, told in one or two plain sentences, with the reading beside it where there is one.",
                f"Main board, circuit C{i}",
                about,
                ("test.zs", "test.disconnection") if about else (),
                "C2" if about else codes[i % 4],
                clause="411.3.2",
            )
        )
    return tuple(made)


def report_of() -> Particulars:
    """Particulars with nothing left out."""
    return Particulars(
        number="2026-0117",
        issued=dt.date(2026, 11, 23),
        client_address="1 Chandler's Row, Ashgarth",
        occupier="The tenants",
        premises="domestic, rented",
        country="England",
        rented=True,
        purpose="required of a landlord every five years",
        agreed_with="the client, by letter of 12 November 2026",
        operational=("none",),
        sampling="every circuit; 20 % of accessories opened",
        age_years=24,
        alterations="kitchen, about 2015",
        records="report of 2021",
        previous=dt.date(2021, 11, 3),
        work="Replacement of the consumer unit",
        work_kind="board replaced",
        completed=dt.date(2026, 11, 19),
        departures="none",
        existing="none",
        vulnerable="none",
        overall="unsatisfactory",
        next_by=dt.date(2031, 11, 19),
        next_reason="rented home, moderate use, sound condition once the work is done",
        copies=("client", "tenants"),
        firm_address="Unit 4, Tannery Yard, Ashgarth",
        firm_phone="01632 960 123",
        firm_body="an invented scheme",
        firm_number="000-417",
        supervisor="P. Sample",
        general="Sound and tidy; the accessories in the kitchen are worn.",
        concealed="cables in walls and floors; the back of fitted units",
        alterations_years=11,
        previous_number="A-3",
    )


def origin_of() -> Origin:
    """Particulars at the origin with nothing left out."""
    return Origin(
        live="1-phase, 2-wire",
        current="AC",
        polarity="confirmed",
        demand_a=63,
        earthing="distributor",
        fuse_standard="BS 88-3",
        fuse_type="gG",
        switch_where="main board",
        switch_standard="BS EN 60947-3",
        switch_poles="2",
        switch_a=100,
        switch_v=230,
        switch_rcd="none",
        not_present=("gas", "oil", "steel", "lightning"),
        earthing_checked=True,
    )


def job(circuits: int = 6, findings: int = 3, failing: int = 1, *, signed: bool = True, text: str = BOOK) -> Assessment:
    """A whole job: judged bond, hand-made circuits, full paperwork, signed in every role."""
    book = read_text(text)
    assert book.visit is not None, [f.sentence() for f in book.findings]
    v = book.visit
    inspected = tuple(Inspected(i.id, "acceptable") for i in (*PERIODIC_ITEMS, *INITIAL_ITEMS))
    content = "c0ffee" * 10 + "abcd"
    signs = tuple(
        Sign(role, name, "2026-11-23T17:05", "electrician", "Example Electrical", content)
        for role, name in (
            (TESTED, "J. Example"),
            (AUTHORISED, "P. Sample"),
            (DESIGNED, "J. Example"),
            (BUILT, "J. Example"),
        )
    )
    papers = evolve(
        v.paperwork,
        report=report_of(),
        origin=origin_of(),
        inspected=inspected,
        observations=observations(findings, failing),
        signs=signs if signed else (),
        content=content,
    )
    board = board_judged(circuits, failing=failing)
    site = evolve(v.site, boards=(board.board,), circuits=tuple(c.circuit for c in board.circuits))
    a = assess(evolve(v, paperwork=papers))
    return evolve(a, visit=evolve(a.visit, site=site), boards=(board,))


def put_right(a: Assessment) -> Assessment:
    """The same job a fortnight later: everything that asked for work was done, and looked at after that."""
    done = (
        Stage("remedied", dt.date(2026, 12, 1), "P. Fitter, Example Electrical", "the fault found and mended"),
        Stage("confirmed", dt.date(2026, 12, 2), "J. Example", seen="looked at and tried"),
    )
    papers = a.visit.paperwork
    observations = tuple(evolve(o, stages=() if o.code == "C3" else done) for o in papers.observations)
    return evolve(a, visit=evolve(a.visit, paperwork=evolve(papers, observations=observations)))


def dangerous() -> Assessment:
    """A job with danger on the spot."""
    a = job(2, 0, 0)
    danger = Danger(
        what="The metal casing of the boiler is live (230 V to earth).",
        where="boiler cupboard, first floor",
        at="10:40",
        done="Circuit C2 switched off, locked off and labelled.",
        consent="given",
        told="the tenant",
        left_with="the tenant; copy to the client",
        must_not="Do not switch circuit C2 on. Do not touch the boiler until an electrician has repaired it.",
    )
    return evolve(a, visit=evolve(a.visit, paperwork=evolve(a.visit.paperwork, danger=danger)))
