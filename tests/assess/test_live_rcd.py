"""Residual current devices: the edition's set of tests, both half-cycles, holding at half, delay, button."""

from __future__ import annotations

import datetime as dt

import pytest
from attrs import evolve
from live_visit import families, read, row, rows, visit

from earthwright.site.installation import Board, Circuit, Device

GENERAL = Device("BS EN 61009", "B", 32.0, rcd_type="A", rcd_ma=30.0)
BEFORE_A2 = dt.date(2021, 5, 3)


def circuit(device: Device = GENERAL) -> Circuit:
    return Circuit("c1", "db1", device=device)


def rcd(*events, device: Device = GENERAL, date: dt.date = dt.date(2026, 11, 20)):
    return row(visit(*events, circuits=(circuit(device),), date=date), "c1", "rcd")


def test_since_amendment_2_one_test_at_the_rated_current_is_enough() -> None:
    one = rcd(read("rcd", "c1", "24.0", method="x1"))
    assert one.outcome == "meets"
    assert len(one.judged) == 1
    assert one.judged[0].limit is not None
    assert one.judged[0].limit.confidence == "memory"
    assert "from memory" in one.words


def test_before_it_half_one_and_five_times_are_asked_for() -> None:
    one = rcd(read("rcd", "c1", "24.0", method="x1"), date=BEFORE_A2)
    assert one.outcome == "not decided"
    assert "not tested at ×0.5" in one.words
    assert "not tested at ×5" in one.words
    three = rcd(
        read("rcd", "c1", ">2000", method="x0.5"),
        read("rcd", "c1", "24.0", method="x1"),
        read("rcd", "c1", "18.0", method="x5"),
        date=BEFORE_A2,
    )
    assert three.outcome == "meets"


@pytest.mark.parametrize(
    ("method", "ms", "kept"), [("x5", "40.0", True), ("x5", "43.0", False), ("x0.5", "300", False)]
)
def test_tests_of_the_older_set_decide_only_while_they_were_asked_for(method: str, ms: str, kept: bool) -> None:
    """Since A2 one test at the rated current is asked for; x5 and x0.5 are shown and get no code."""
    more = read("rcd", "c1", ms, method=method)
    now = rcd(read("rcd", "c1", "24.0", method="x1"), more)
    assert now.outcome == "meets"
    assert "no requirement of this edition" in now.words
    assert families(now) == (set() if kept else {"rcd.beside"})
    alone = rcd(more)
    assert alone.outcome == "not decided"
    whole = (read("rcd", "c1", "24.0", method="x1"), more, read("rcd", "c1", "30.0", method="x5"))
    half = () if method == "x0.5" else (read("rcd", "c1", ">2000", method="x0.5"),)
    if method == "x5":
        whole = whole[:2]
    assert rcd(*whole, *half, date=BEFORE_A2).outcome == ("meets" if kept else "fails")


def test_the_worse_half_cycle_decides() -> None:
    two = rcd(
        read("rcd", "c1", "22.0", method="x1", between="0°"), read("rcd", "c1", "304", method="x1", between="180°")
    )
    assert two.outcome == "fails"
    good = rcd(
        read("rcd", "c1", "22.0", method="x1", between="0°"), read("rcd", "c1", "31.0", method="x1", between="180°")
    )
    assert good.outcome == "meets"
    assert good.judged[0].difference == pytest.approx(269.0)
    half = rcd(read("rcd", "c1", "22.0", method="x1", between="0°"))
    assert "Only the half-cycle 0° was read." in half.words


def test_no_trip_is_a_failure_at_the_rated_current_and_good_at_half() -> None:
    dead = rcd(read("rcd", "c1", ">2000", method="x1"))
    assert dead.outcome == "fails"
    assert dead.judged[0].why == "It did not open"
    early = rcd(read("rcd", "c1", "300", method="x0.5"), read("rcd", "c1", "24.0", method="x1"))
    assert early.outcome == "meets"
    assert any(j.why == "It opened at half of its rated current" for j in early.judged)


def test_a_time_without_a_word_is_the_single_test_and_said_so() -> None:
    one = rcd(read("rcd", "c1", "24.0"))
    assert one.outcome == "meets"
    assert "taken as the rated one" in one.words
    assert rcd(read("rcd", "c1", "24.0", method="x1")).assumed == ()
    older = rcd(read("rcd", "c1", "24.0"), date=BEFORE_A2)
    assert older.outcome == "not decided"
    assert "rcd.method" in families(older)


@pytest.mark.parametrize(("method", "multiple"), [("250 mA", "×5"), ("5x", "×5"), ("×1", "×1"), ("x½", "×0.5")])
def test_ways_to_say_the_test_current(method: str, multiple: str) -> None:
    found = rcd(read("rcd", "c1", "24.0", method=method))
    assert any(j.limit is not None and multiple in j.limit.what and j.difference is not None for j in found.judged)


def test_a_fixed_current_that_is_less_than_five_times_is_no_five_times_test() -> None:
    half = rcd(read("rcd", "c1", "24.0", method="140 mA"))
    assert half.outcome == "not decided"
    hundred = Device("BS EN 61008", rcd_type="A", rcd_ma=100.0)
    found = rcd(read("rcd", "c1", "24.0", method="250 mA"), device=hundred)
    assert found.outcome == "not decided"
    assert "rcd.method" in families(found)


def test_a_selective_device_opens_neither_too_late_nor_too_early() -> None:
    s = Device("BS EN 61008", rcd_type="A", rcd_ma=100.0, rcd_delay="S")
    assert rcd(read("rcd", "c1", "210", method="x1"), device=s).outcome == "meets"
    early = rcd(read("rcd", "c1", "100", method="x1"), device=s)
    assert early.outcome == "fails"
    assert "opens not before" in early.words


def test_an_older_standard_is_judged_by_its_own_times() -> None:
    old = Device("BS 4293", rcd_type="AC", rcd_ma=30.0)
    found = rcd(
        read("rcd", "c1", ">2000", method="x0.5"),
        read("rcd", "c1", "190", method="x1"),
        read("rcd", "c1", "30.0", method="x5"),
        device=old,
    )
    assert found.outcome == "meets"
    assert "Times of the older set of tests" in found.words


@pytest.mark.parametrize("device", [Device(), Device(rcd_ma=30.0, rcd_delay="60 ms")])
def test_without_times_for_it_there_is_no_rule(device: Device) -> None:
    found = rows(visit(read("rcd", "c1", "24.0", method="x1"), circuits=(circuit(device),)), "c1", "rcd")
    assert [t.outcome for t in found] == ["no rule"]
    assert found[0].judged[0].why


def test_without_an_edition_there_is_no_rule() -> None:
    assert rcd(read("rcd", "c1", "24.0", method="x1"), date=dt.date(1999, 1, 1)).outcome == "no rule"


def test_the_button_is_a_word_of_its_own() -> None:
    def button(**more):
        return row(visit(read("rcd button", "c1", **more), circuits=(circuit(),)), "c1", "rcd button")

    assert button(outcome="good").outcome == "meets"
    assert "not its time" in button(outcome="good").words
    assert button(outcome="bad").outcome == "fails"
    assert "rcd.button" in families(button(outcome="bad"))
    absent = button(absent="LIM", note="freezer on the circuit")
    assert (absent.outcome, absent.absent, absent.reason) == ("not decided", "LIM", "freezer on the circuit")


def test_a_board_has_its_own_device() -> None:
    board = Board("db1", rcd=Device("BS EN 61008", rcd_type="AC", rcd_ma=30.0))
    v = visit(read("rcd", "db1", "31.0", method="x1"), boards=(board,))
    found = row(v, "db1", "rcd")
    assert found.outcome == "meets"
    assert "AC, 30 mA" in found.words


def test_a_reason_for_no_reading_is_kept() -> None:
    found = rcd(read("rcd", "c1", absent="LIM", note="not to be switched off"))
    assert (found.absent, found.reason) == ("LIM", "not to be switched off")


def test_a_separate_device_is_tested_by_its_own_standard() -> None:
    apart = Device("BS EN 60898", "B", 32.0, rcd_type="AC", rcd_ma=30.0, rcd_standard="BS 4293", rcd_rating_a=63.0)
    assert rcd(read("rcd", "c1", "210", method="x1"), device=apart).outcome == "fails"
    modern = evolve(apart, rcd_standard="BS EN 61008")
    assert rcd(read("rcd", "c1", "210", method="x1"), device=modern).outcome == "meets"


def test_a_set_time_has_no_tabulated_times() -> None:
    """Neither those of a general device nor those of S are held against it."""
    found = rcd(read("rcd", "c1", "180", method="x1"), device=evolve(GENERAL, rcd_delay="150 ms"))
    assert found.outcome == "no rule"
    assert "no times are tabulated for a delay '150 ms'" in found.judged[0].why


def test_a_device_that_did_not_trip_is_told_by_that_and_not_by_its_time_at_half() -> None:
    one = rcd(read("rcd", "c1", ">2000", method="x1"), read("rcd", "c1", "12.0", method="x0.5"))
    assert one.outcome == "fails"
    slow = next(f for f in one.findings if f.family == "rcd.time")
    assert ">2000" in slow.found
    assert "12.0 ms (x0.5)" in slow.found
