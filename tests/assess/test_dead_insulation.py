"""Insulation resistance: minima by voltage, test voltages, boards and their circuits; every limit below, at and above."""

from __future__ import annotations

from typing import Any

import pytest
from live_visit import families, judge, off, on, read, row, rows, visit

from earthwright.outcomes.circuits import TestJudged
from earthwright.site.installation import Board, Circuit, Supply

C1 = (Circuit("c1", "db1"),)


def one(digits: str, between: str = "LN-E", test_v: float | None = 500.0, **more: Any) -> TestJudged:
    v = visit(read("insulation", "c1", digits, between=between, test_v=test_v), circuits=C1, **more)
    return row(v, "c1", "insulation")


@pytest.mark.parametrize(("digits", "outcome"), [("0.99", "fails"), ("1.00", "meets"), ("1.01", "meets")])
def test_one_megohm_at_500_v(digits: str, outcome: str) -> None:
    t = one(digits)
    assert t.outcome == outcome
    assert ("insulation.low" in families(t)) is (outcome == "fails")


@pytest.mark.parametrize(("digits", "outcome"), [("0.49", "fails"), ("0.50", "meets"), ("0.51", "meets")])
def test_half_a_megohm_for_extra_low_voltage_at_250_v(digits: str, outcome: str) -> None:
    assert one(digits, test_v=250.0, supply=Supply("TN-S", u0_v=50.0)).outcome == outcome


@pytest.mark.parametrize(("u0_v", "at_250_v"), [(49.0, "meets"), (50.0, "meets"), (51.0, "fails")])
def test_the_edge_of_extra_low_voltage(u0_v: float, at_250_v: str) -> None:
    assert one("0.60", test_v=250.0, supply=Supply("TN-S", u0_v=u0_v)).outcome == at_250_v


@pytest.mark.parametrize(("u0_v", "at_500_v"), [(499.0, "meets"), (500.0, "meets"), (501.0, "not decided")])
def test_above_500_v_the_test_voltage_is_1000_v(u0_v: float, at_500_v: str) -> None:
    assert one("5.0", supply=Supply("TN-S", u0_v=u0_v)).outcome == at_500_v
    assert one("5.0", test_v=1000.0, supply=Supply("TN-S", u0_v=u0_v)).outcome == "meets"


def test_three_phases_are_judged_by_the_voltage_between_lines() -> None:
    assert one("5.0", supply=Supply("TN-S", u0_v=230.0, phases=3)).outcome == "meets"
    assert one("5.0", supply=Supply("TN-S", u0_v=400.0, phases=3)).outcome == "not decided"


@pytest.mark.parametrize(
    ("test_v", "between", "outcome"),
    [
        (499.0, "L-N", "not decided"),
        (500.0, "L-N", "meets"),
        (501.0, "L-N", "meets"),
        (249.0, "LN-E", "not decided"),
        (250.0, "LN-E", "meets"),
        (251.0, "LN-E", "meets"),
        (250.0, "L-E", "not decided"),
        (None, "LN-E", "not decided"),
    ],
)
def test_the_test_voltage_decides_which_rule_applies(test_v: float | None, between: str, outcome: str) -> None:
    earth = read("insulation", "c1", "210", between="LN-E", test_v=500.0) if between == "L-N" else None
    tested = [read("insulation", "c1", "5.0", between=between, test_v=test_v), *([earth] if earth else [])]
    assert rows(visit(*tested, circuits=C1), "c1", "insulation")[0].outcome == outcome


@pytest.mark.parametrize(
    ("between", "outcome"),
    [
        (("L-N",), "not decided"),
        (("N-E",), "not decided"),
        (("L-N", "N-E"), "not decided"),
        (("L-E",), "meets"),
        (("LN-E",), "meets"),
        (("all-E",), "meets"),
        (("L-N", "LN-E"), "meets"),
    ],
)
def test_without_live_to_earth_nothing_is_kept(between: tuple[str, ...], outcome: str) -> None:
    tested = [read("insulation", "c1", "200", between=b, test_v=500.0) for b in between]
    found = rows(visit(*tested, circuits=C1), "c1", "insulation")
    assert {t.outcome for t in found} == {outcome}
    assert all(("between the line conductor and earth" in t.words) is (outcome != "meets") for t in found)


@pytest.mark.parametrize(
    ("lower", "outcome"), [("0.60", "fails"), ("0.90", "fails"), ("1.00", "not decided"), (">299", "not decided")]
)
def test_a_low_value_that_a_lower_voltage_lifts_is_retested(lower: str, outcome: str) -> None:
    """0.38 MΩ at 500 V: a surge device or a dimmer clamps if 250 V shows 1 MΩ or more; else it is the insulation."""
    tested = (
        read("insulation", "c1", "0.38", between="LN-E", test_v=500.0),
        read("insulation", "c1", lower, between="LN-E", test_v=250.0),
    )
    found = row(visit(*tested, circuits=C1), "c1", "insulation")
    assert found.outcome == outcome
    assert ("take it out and read again" in found.words) is (outcome != "fails")


@pytest.mark.parametrize(
    ("spd", "out", "outcome"),
    [("2", False, "not decided"), ("2", True, "fails"), ("none", False, "fails"), ("", False, "fails")],
)
def test_a_surge_device_that_was_not_taken_out_explains_a_low_board(spd: str, out: bool, outcome: str) -> None:
    low = read("insulation", "db1", "0.38", between="LN-E", test_v=500.0)
    steps = (off("db1:spd"), low, on("db1:spd")) if out else (low,)
    found = row(visit(*steps, boards=(Board("db1", spd_type=spd),), circuits=C1), "db1", "insulation")
    assert found.outcome == outcome
    over = read("insulation", "db1", "1.00", between="LN-E", test_v=500.0)
    assert row(visit(over, boards=(Board("db1", spd_type=spd),), circuits=C1), "db1", "insulation").outcome == "meets"


@pytest.mark.parametrize(("out", "outcome"), [(False, "not decided"), (True, "fails")])
def test_loads_between_line_and_neutral_are_unplugged_before_it_is_coded(out: bool, outcome: str) -> None:
    low = read("insulation", "c1", "0.02", between="L-N", test_v=500.0)
    earth = read("insulation", "c1", "200", between="LN-E", test_v=500.0)
    steps = (off("c1:loads"), low, earth) if out else (low, earth)
    assert rows(visit(*steps, circuits=C1), "c1", "insulation")[0].outcome == outcome


def test_with_equipment_connected_the_limit_is_from_memory_and_says_so() -> None:
    t = one("5.0", test_v=250.0)
    (j,) = t.judged
    assert j.limit is not None
    assert j.limit.confidence == "memory"
    assert "from memory" in t.words


@pytest.mark.parametrize("test_v", [250.0, None])
def test_a_low_value_fails_at_any_voltage(test_v: float | None) -> None:
    assert one("0.30", "L-E", test_v).outcome == "fails"


@pytest.mark.parametrize(("digits", "said"), [("1.99", True), ("2.00", False), ("2.01", False), ("0.99", False)])
def test_between_one_and_two_the_cause_is_looked_for(digits: str, said: bool) -> None:
    assert ("insulation.enquire" in families(one(digits))) is said


@pytest.mark.parametrize(("digits", "outcome"), [(">299", "meets"), (">1.00", "meets"), (">0.99", "not decided")])
def test_over_range_is_an_inequality(digits: str, outcome: str) -> None:
    t = one(digits)
    assert t.outcome == outcome
    assert digits in t.words


def test_below_resolution_fails_and_is_never_zero() -> None:
    t = one("<0.01")
    assert t.outcome == "fails"
    assert t.corrected is not None
    assert t.corrected.quantity is None


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        ((), "Nothing is recorded about loads"),
        (("c1:loads",), "with loads out"),
        (("db1:spd",), "with surge protection out"),
        (("loads", "spd"), "with loads and surge protection out"),
    ],
)
def test_what_was_out_is_said(ends: tuple[str, ...], said: str) -> None:
    v = visit(*map(off, ends), read("insulation", "c1", "210", between="LN-E", test_v=500.0), circuits=C1)
    assert said in row(v, "c1", "insulation").words


def test_a_low_value_with_loads_in_names_them_first() -> None:
    (f,) = one("0.40").findings
    assert f.because.startswith("Loads that are still connected")
    v = visit(off("loads"), off("spd"), read("insulation", "c1", "0.40", between="LN-E", test_v=500.0), circuits=C1)
    (f,) = row(v, "c1", "insulation").findings
    assert "Loads that are still connected" not in f.because


def test_each_pair_of_conductors_has_its_row() -> None:
    pairs = ("L-N", "L-E", "N-E")
    v = visit(*(read("insulation", "c1", "210", between=b, test_v=500.0) for b in pairs), circuits=C1)
    assert [t.readings[0].between for t in rows(v, "c1", "insulation")] == list(pairs)


# ---- the board ----


def board(whole: str, *each: str, read_of: int | None = None) -> Any:
    circuits = tuple(Circuit(f"c{i + 1}", "db1") for i in range(len(each)))
    events = [read("insulation", "db1", whole, between="LN-E", test_v=500.0)]
    for i, digits in enumerate(each[:read_of]):
        events += [off(f"c{i + 1}:neutral"), read("insulation", f"c{i + 1}", digits, between="LN-E", test_v=500.0)]  # type: ignore[list-item]
    return judge(visit(*events, circuits=circuits, boards=(Board("db1"),)))


def said(judged: Any) -> set[str]:
    return {f.family for f in judged.findings}


def test_four_of_four_megohms_are_one() -> None:
    """The published parallel sum: four circuits of 4 MΩ read 1 MΩ together."""
    judged = board("1.00", "4.00", "4.00", "4.00", "4.00")
    (t,) = judged.boards[0].tests
    assert t.inside is True
    assert t.expected is not None
    assert t.expected.holds(1.0)
    assert "insulation.sum" not in said(judged)


@pytest.mark.parametrize(("whole", "found"), [("0.31", False), ("0.60", True), ("0.10", True)])
def test_a_board_that_its_circuits_do_not_explain(whole: str, found: bool) -> None:
    assert ("insulation.sum" in said(board(whole, "210", "0.32", ">299"))) is found


def test_circuits_that_were_not_read_may_leak_as_much_as_they_like() -> None:
    judged = board("0.10", "210", "180", "0.32", read_of=2)
    (t,) = judged.boards[0].tests
    assert t.expected is not None
    assert t.expected.low == 0.0
    assert "insulation.sum" not in said(judged)


def test_two_guilty_circuits_are_both_named() -> None:
    judged = board("0.24", "0.50", "0.48", "210")
    (f,) = (f for f in judged.findings if f.family == "insulation.guilty")
    assert "c2 and c1" in f.what


@pytest.mark.parametrize(("rows_alike", "found"), [(2, False), (3, True), (4, True)])
def test_so_many_equal_lows_are_one_value_of_all(rows_alike: int, found: bool) -> None:
    circuits = tuple(Circuit(f"c{i}", "db1") for i in range(5))
    events = [
        read("insulation", f"c{i}", "0.31" if i < rows_alike else "210", between="LN-E", test_v=500.0) for i in range(5)
    ]
    judged = judge(visit(*events, circuits=circuits))
    assert ("insulation.identical" in said(judged)) is found
    outcomes = [t.outcome for c in judged.boards[0].circuits for t in c.tests if t.test == "insulation"]
    assert outcomes.count("not decided") == (rows_alike if found else 0)


def test_equal_values_that_are_good_or_read_alone_are_left_alone() -> None:
    circuits = tuple(Circuit(f"c{i}", "db1") for i in range(4))
    good = [read("insulation", c.id, ">299", between="LN-E", test_v=500.0) for c in circuits]
    assert "insulation.identical" not in said(judge(visit(*good, circuits=circuits)))
    alone: list[Any] = []
    for c in circuits:
        alone += [off(f"{c.id}:neutral"), read("insulation", c.id, "0.31", between="LN-E", test_v=500.0)]
    assert "insulation.identical" not in said(judge(visit(*alone, circuits=circuits)))


@pytest.mark.parametrize(("breakers", "found"), [(2, False), (3, True), (6, True)])
def test_whichever_breaker_is_off_the_board_reads_the_same(breakers: int, found: bool) -> None:
    circuits = tuple(Circuit(f"c{i}", "db1") for i in range(6))
    events: list[Any] = []
    for c in circuits[:breakers]:
        events += [
            off(f"{c.id}:device"),
            read("insulation", "db1", "0.31", between="LN-E", test_v=500.0),
            on(f"{c.id}:device"),
        ]
    assert ("insulation.identical" in said(judge(visit(*events, circuits=circuits)))) is found


def test_a_board_that_improves_as_a_breaker_goes_off_is_not_identical() -> None:
    circuits = tuple(Circuit(f"c{i}", "db1") for i in range(3))
    events: list[Any] = []
    for c, digits in zip(circuits, ("0.31", "0.31", "210"), strict=True):
        events += [
            off(f"{c.id}:device"),
            read("insulation", "db1", digits, between="LN-E", test_v=500.0),
            on(f"{c.id}:device"),
        ]
    assert "insulation.identical" not in said(judge(visit(*events, circuits=circuits)))
