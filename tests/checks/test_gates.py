"""Gates before a step, the ledger of disconnections, and closing a visit."""

from __future__ import annotations

import pytest
from attrs import evolve

from earthwright.assess import assess
from earthwright.assess.precautions import before
from earthwright.gates.shut import ALL_BACK, ALONE, CLAMP, CPC_FIRST, DANGER, END_OFF, ISOLATION, ONE, OWNER, Gate
from earthwright.gates.steps import can_close, closed, gates
from earthwright.outcomes.circuits import Alarm
from earthwright.site.events import Event, Isolation, Reading
from earthwright.site.installation import Link, Part
from earthwright.site.ledger import disconnections, missing_stages, newest_currents, state_at, state_now
from earthwright.site.visit import Choices, Visit

from .made import bond, check, circuit, clamp, isolated, look, off, on, override, read, visit

WATER = (bond("water", 10.0),)
BOTH = (bond("water", 10.0), bond("gas", 8.0))
READY = [clamp("water", "0.20"), *isolated(), clamp("water", "0.10")]


def step(event: Event, v: Visit) -> Event:
    return evolve(event, seq=len(v.events) + 1)


def ask(v: Visit, event: Event, alarms: tuple[Alarm, ...] = ()) -> dict[str, Gate]:
    return {gate.name: gate for gate in gates(v, step(event, v), alarms)}


def shut(v: Visit, event: Event, alarms: tuple[Alarm, ...] = ()) -> set[str]:
    return {gate.name for gate in closed(gates(v, step(event, v), alarms))}


def test_every_gate_is_open_when_all_was_done() -> None:
    v = visit(*READY, bonds=WATER)
    assert shut(v, off("water")) == set()
    assert set(ask(v, off("water"))) == {DANGER, OWNER, CLAMP, ISOLATION, ONE}


def test_nothing_done_closes_isolation_and_clamp_and_says_what_to_do() -> None:
    found = ask(visit(bonds=WATER), off("water"))
    assert {name for name, gate in found.items() if not gate.open} == {CLAMP, ISOLATION}
    assert "Put the clamp meter round it" in found[CLAMP].instead
    assert "prove the tester again" in found[ISOLATION].instead


@pytest.mark.parametrize(
    ("stages", "missing"),
    [
        (("locked", "tester proved", "dead", "tester proved again"), ()),
        (("tester proved", "dead", "tester proved again", "locked"), ()),
        (("locked", "dead"), ("tester proved", "tester proved again")),
        (("locked", "dead", "tester proved", "tester proved again"), ("dead",)),  # wrong order
        (
            ("locked", "tester proved", "dead", "tester proved again", "restored"),
            ("locked", "tester proved", "dead", "tester proved again"),
        ),
        ((), ("locked", "tester proved", "dead", "tester proved again")),
    ],
)
def test_stages_of_isolation_count_in_their_order(stages: tuple[str, ...], missing: tuple[str, ...]) -> None:
    v = visit(*(isolated(*stages) if stages else []))
    assert missing_stages(v.events) == missing


@pytest.mark.parametrize(("after", "open_"), [("0.99", True), ("1.00", True), ("1.01", False)])
def test_the_clamp_limit_is_tried_below_at_and_above(after: str, open_: bool) -> None:
    v = visit(clamp("water", "0.20"), *isolated(), clamp("water", after), bonds=WATER)
    assert ask(v, off("water"))[CLAMP].open is open_


def test_the_firm_chooses_the_limit() -> None:
    v = visit(*READY, bonds=WATER, choices=Choices(clamp_stop_a=0.05))
    assert not ask(v, off("water"))[CLAMP].open


def test_a_current_only_before_isolation_is_half_the_work() -> None:
    v = visit(clamp("water", "0.20"), *isolated(), bonds=WATER)
    gate = ask(v, off("water"))[CLAMP]
    assert not gate.open
    assert "again" in gate.instead


def test_a_load_in_words_counts_as_switched_off() -> None:
    for load in ("main switch off", "after isolation"):
        first, second = newest_currents((clamp("water", "0.30"), clamp("water", "0.20", load)), "water")
        assert (str(first.shown), str(second.shown)) == ("0.30 A", "0.20 A")  # type: ignore[union-attr]
    assert newest_currents((clamp("water", "0.30", "main switch on"),), "water")[1] is None


def test_scenario_17_offers_the_parallel_way() -> None:
    v = visit(clamp("gas", "6.4"), *isolated(), clamp("gas", "6.2", "main switch off"), bonds=BOTH)
    gate = ask(v, off("gas"))[CLAMP]
    assert not gate.open
    assert "6.2 A" in gate.why
    assert "run the new conductor first" in gate.instead
    assert "distributor" in gate.instead


def test_restoring_forgets_the_currents_of_before() -> None:
    v = visit(*READY, Isolation(seq=0, stage="restored"), bonds=WATER)
    assert shut(v, off("water")) == {CLAMP, ISOLATION}


def test_a_part_of_somebody_else() -> None:
    v = visit(*READY, bonds=WATER, parts=(Part("water", "water", owner="water company"),))
    gate = ask(v, off("water"))[OWNER]
    assert not gate.open
    assert "Ask the water company" in gate.instead


def test_one_at_a_time() -> None:
    ready = [*READY, clamp("gas", "0.10")]
    v = visit(*ready, off("water"), bonds=BOTH)
    assert ONE in shut(v, off("gas"))
    assert ONE not in shut(visit(*ready, off("water"), on("water"), bonds=BOTH), off("gas"))
    assert ONE in shut(v, off("earthing"))


def test_the_earthing_conductor_has_its_gates() -> None:
    v = visit(clamp("earthing", "3.0"), *isolated(), clamp("earthing", "2.5"), bonds=WATER)
    assert shut(v, off("earthing")) == {CLAMP}
    assert CLAMP not in shut(v, off("c1:neutral"))


ALARM = Alarm(
    "lost neutral", "The supply neutral may be open.", ("Call the distributor.",), ("bond current follows the load",)
)


def test_a_lost_neutral_closes_every_disconnection() -> None:
    v = visit(*READY, bonds=WATER)
    gate = ask(v, off("water"), (ALARM,))[DANGER]
    assert not gate.open
    assert gate.instead.startswith("Leave every connection as it is.")
    assert "Call the distributor." in gate.instead
    assert DANGER not in shut(v, off("water"), (evolve(ALARM, blocks=False),))


@pytest.mark.parametrize("what", ["restored", "zs"])
def test_nothing_is_energised_while_something_is_off(what: str) -> None:
    event: Event = Isolation(seq=0, stage="restored") if what == "restored" else read("zs", "c1", "0.40", leads="")
    c = (circuit("c1"),)
    assert shut(visit(*READY, off("water"), bonds=WATER, circuits=c), event) == {ALL_BACK}
    assert shut(visit(*READY, off("water"), on("water"), bonds=WATER, circuits=c), event) == set()
    assert shut(visit(off("c1:loads"), bonds=WATER, circuits=c), event) == set()


def test_readings_of_a_bond_need_its_state() -> None:
    connected, loose = visit(bonds=WATER), visit(off("water"), bonds=WATER)
    for test in ("conductor", "path", "clamp body"):
        assert shut(connected, read(test, "water", "0.03")) == {END_OFF}
        assert shut(loose, read(test, "water", "0.03")) == set()
    assert shut(connected, read("together", "water", "0.03")) == set()
    assert shut(loose, read("together", "water", "0.03")) == {END_OFF}
    assert shut(loose, read("joint", "water", "0.00")) == set()


def test_an_insulation_reading_of_a_part_needs_it_alone() -> None:
    reading = read("extraneous", "water", "30000", leads="")
    link = (Link("boiler", "water", "MET"),)
    assert shut(visit(*isolated(), bonds=WATER), reading) == {ALONE}
    assert shut(visit(*isolated(), off("water"), bonds=WATER), reading) == set()
    assert shut(visit(*isolated(), off("water"), bonds=WATER, links=link), reading) == {ALONE}
    assert shut(visit(off("water"), bonds=WATER), reading) == {ISOLATION}


def test_dead_tests_ask_for_isolation_and_live_ones_for_continuity_where_it_is_the_first_time() -> None:
    c = (circuit("c1"),)
    assert shut(visit(circuits=c), read("r1r2", "c1", "0.30")) == {ISOLATION}
    zs = read("zs", "c1", "0.40", leads="")
    assert shut(visit(circuits=c, kind="initial"), zs) == {CPC_FIRST}
    assert shut(visit(*isolated(), read("r1r2", "c1", "0.30"), circuits=c, kind="initial"), zs) == set()
    assert shut(visit(circuits=c, kind="periodic"), zs) == set()
    assert gates(visit(), check("shorted", "0.00")) == ()
    assert gates(visit(), off("c1:loads")) == ()


@pytest.mark.parametrize("kind", ["initial", "periodic"])
def test_a_protective_conductor_that_read_open_is_not_tested_live(kind: str) -> None:
    """Over-range is a reading, but none that shows continuity; a flattered R1+R2 beside it does not open the gate."""
    c = (circuit("c1"),)
    zs = read("zs", "c1", "0.40", leads="")
    free = [off("c1:cpc"), read("r2", "c1", "over-range", between="free end"), on("c1:cpc")]
    past = [off("c1:cpc"), read("r2", "c1", "over-range"), on("c1:cpc")]
    good = read("r1r2", "c1", "0.30")
    for said, held in (
        ([read("r1r2", "c1", "over-range")], {CPC_FIRST}),
        ([read("r1r2", "c1", "over-range"), good], set()),
        ([good, *free], {CPC_FIRST}),
        ([*free, good], {CPC_FIRST}),
        ([good, *free, read("r2", "c1", "0.20", between="free end")], set()),
        ([good, *past], set()),
    ):
        v = visit(*isolated(), *said, circuits=c, kind=kind)
        assert shut(v, zs) == held, said
        assert ask(v, zs)[ALL_BACK].open


# ---- passing a closed gate ----


def test_one_signed_reason_passes_one_step() -> None:
    v = visit(*READY, override(ISOLATION), bonds=BOTH)
    assert (
        shut(
            visit(clamp("water", "0.1"), clamp("water", "0.1", "main switch off"), override(ISOLATION), bonds=BOTH),
            off("water"),
        )
        == set()
    )
    again = visit(clamp("water", "0.1"), override(ISOLATION), off("water"), on("water"), bonds=BOTH)
    assert ISOLATION in shut(again, off("water"))
    assert ask(v, off("water"))[ISOLATION].overridden is None  # an open gate needs nobody's word


@pytest.mark.parametrize(
    ("gate", "passes"),
    [("clamp current", True), ("clamp current: water", True), ("clamp current: gas", False), ("isolation", False)],
)
def test_an_override_names_its_gate(gate: str, passes: bool) -> None:
    v = visit(*isolated(), clamp("water", "3.0"), override(gate), bonds=WATER)
    found = ask(v, off("water"))[CLAMP]
    assert not found.open
    assert found.passes is passes


@pytest.mark.parametrize(("reason", "by"), [("", "A. Inspector"), ("agreed", "")])
def test_an_override_without_reason_or_name_passes_nothing(reason: str, by: str) -> None:
    v = visit(*isolated(), clamp("water", "3.0"), override(CLAMP, reason, by), bonds=WATER)
    assert CLAMP in shut(v, off("water"))


def families(v: Visit) -> dict[str, str]:
    return {f.family: f.severity.value for f in assess(v).findings}


def test_what_was_passed_stands_in_the_findings() -> None:
    over = [clamp("water", "3.0"), *isolated(), clamp("water", "2.9")]
    tail = [on("water"), look("water")]
    # 2.9 A with the supply off comes from outside, which is danger now and speaks louder than the clamp's own gate.
    # It is danger until the bond is back and was found in its place; then it is what happened.
    for short in (tail[:0], tail[:1]):
        assert families(visit(*over, off("water"), *short, bonds=WATER))["gate.passed"] == "stop"
    assert families(visit(*over, off("water"), *tail, bonds=WATER))["gate.passed"] == "warning"
    stopped = [clamp("water", "3.0"), *isolated(), clamp("water", "0.1")]
    assert families(visit(*stopped, off("water"), *tail, bonds=WATER))["gate.passed"] == "warning"
    signed = families(visit(*over, override(CLAMP), override(DANGER), off("water"), *tail, bonds=WATER))
    assert "gate.passed" not in signed
    assert signed["gate.overridden"] == "note"
    assert (
        families(visit(*over, override(CLAMP, by=""), off("water"), *tail, bonds=WATER))["gate.overridden"] == "warning"
    )
    quiet = families(visit(*READY, off("water"), *tail, bonds=WATER))
    assert not {"gate.passed", "gate.overridden", "gate.not_noted"} & set(quiet)
    assert families(visit(off("water"), *tail, bonds=WATER))["gate.not_noted"] == "note"
    late = visit(*READY, off("water"), *tail, clamp("water", "3.0", "main switch off"), bonds=WATER)
    assert "gate.passed" not in families(late)  # nobody could know it when the bond was opened


def test_the_reason_is_printed_with_its_name() -> None:
    v = visit(override("owner: gas", "the transporter agreed by telephone", "A. Inspector"))
    (f,) = (f for f in assess(v).findings if f.family == "gate.overridden")
    assert "the transporter agreed by telephone (signed: A. Inspector)" in f.what


def test_the_gates_of_a_screen_know_the_alarms() -> None:
    v = visit(*READY, bonds=WATER)
    assert {g.name for g in before(v, step(off("water"), v))} == {DANGER, OWNER, CLAMP, ISOLATION, ONE}


# ---- the ledger ----


def test_the_ledger_has_a_line_for_every_disconnection() -> None:
    v = visit(
        off("water", why="to measure", by="A.", at="10:00"), on("water"), look("water"), off("water"), bonds=WATER
    )
    first, second = disconnections(v.events)
    assert (first.off.why, first.off.by, first.off.at) == ("to measure", "A.", "10:00")
    assert first.on is not None
    assert first.verified is v.events[2]
    assert (second.on, second.verified) == (None, None)
    assert state_now(v.events).off == {"water"}
    assert state_at(v.events, 2).off == frozenset()
    assert state_now(()).off == frozenset()


@pytest.mark.parametrize(
    ("shown", "verified"),
    [("0.02", True), ("0.03", False), ("0.04", False), ("over-range", False)],  # the path alone reads 0.03
)
def test_a_reading_verifies_only_when_it_is_lower_than_the_path(shown: str, verified: bool) -> None:
    v = visit(off("water"), read("path", "water", "0.03"), on("water"), read("together", "water", shown), bonds=WATER)
    assert can_close(v).may_close is verified


@pytest.mark.parametrize(
    ("what", "event", "verified"),
    [
        ("water", read("joint", "water", "0.00"), False), ("water@part", read("joint", "water", "0.00"), True),
        ("water", look("water"), True), ("water", look("water", False), False), ("water", look("water", None), False),
        ("water", look("gas"), False), ("water", read("together", "gas", "0.02"), False),
        ("earthing", read("zs", "c1", "0.50", leads=""), True), ("earthing", read("ze", "origin", "0.20", leads=""), False),
        ("c1:cpc", read("r1r2", "c1", "0.50"), True), ("c1:cpc", read("r1r2", "c2", "0.50"), False),
        ("c1:loads", look("water"), True),
        ("c1:neutral", Reading(seq=0, id="", test="polarity", of="c1", outcome="good"), True),
        ("c1:neutral", Reading(seq=0, id="", test="polarity", of="c1", outcome="bad"), False),
        ("c1:neutral", Reading(seq=0, id="", test="polarity", of="c2", outcome="good"), False),
    ],
)  # fmt: skip
def test_what_verifies_a_reconnection(what: str, event: Event, verified: bool) -> None:
    v = visit(off(what), on(what), event, bonds=BOTH, circuits=(circuit("c1"), circuit("c2")))
    assert can_close(v).may_close is verified


def test_closing_says_what_is_open() -> None:
    v = visit(off("water"), on("water"), off("gas"), bonds=BOTH)
    closing = can_close(v)
    assert [d.what for d in closing.off] == ["gas"]
    assert [d.what for d in closing.unverified] == ["water"]
    assert closing.why == "The visit is not closed: still off: gas; reconnected but not checked: water."
    assert can_close(visit()).why == "Nothing is off, and everything that was off has been checked."
