"""Prospective fault current: the larger path, three phases by rule, one digit of the loop, breaking capacity."""

from __future__ import annotations

import math

import pytest
from attrs import evolve
from live_visit import B32, families, off, read, row, visit

from earthwright.site.installation import Board, Circuit, Device, Supply

C1 = Circuit("c1", "db1", device=B32)


def current(*events, phases: int = 1, circuits=(C1,), **supply):
    v = visit(
        *events,
        supply=Supply(supply.pop("system", "TN-S"), phases=phases, **supply),
        boards=(Board("db1", phases=phases),),
        circuits=circuits,
    )
    return row(v, "db1", "fault current")


def test_the_larger_of_both_paths_counts() -> None:
    found = current(
        read("fault current", "db1", "1.20", between="L-N"), read("fault current", "db1", "1.85", between="L-E")
    )
    assert found.value is not None
    assert found.value.value == pytest.approx(1.85)
    assert found.outcome == "meets"


def test_one_digit_of_a_small_loop_means_a_wide_band() -> None:
    """0.03 Ω at 230 V in steps of 0.01 Ω: 6.6 to 9.2 kA."""
    found = current(read("fault current", "db1", "7.67", between="L-N"))
    line = next(s for s in found.sums if s.startswith("L-N"))
    assert "6.57 to 9.2 kA" in line
    assert found.value is not None
    # half the band, rectangular, is most of the doubt
    assert found.value.u == pytest.approx((9.2 - 7.67) / math.sqrt(3), rel=0.02)
    assert found.outcome == "fails"


def test_within_one_digit_of_the_capacity_the_two_decision_rules_differ() -> None:
    found = current(read("fault current", "db1", "5.75", between="L-N"))
    assert found.judged[0].simple == "meets"
    assert found.judged[0].guarded == "not decided"
    assert "on either side" in found.words


def test_three_phases_by_doubling_with_the_other_rule_beside_it() -> None:
    found = current(read("fault current", "db1", "3.00", between="L-N"), phases=3)
    assert found.value is not None
    assert found.value.value == pytest.approx(6.0)
    text = " ".join(found.sums)
    assert "2 × 3 kA = 6 kA" in text
    assert "√3 times would be 5.2 kA" in text
    assert found.outcome == "meets"


def test_three_phases_read_directly_are_not_doubled() -> None:
    all_three = current(read("fault current", "db1", "5.00", between="L-L-L"), phases=3)
    assert all_three.value is not None
    assert all_three.value.value == pytest.approx(5.0)
    two = current(read("fault current", "db1", "4.33", between="L-L"), phases=3)
    assert two.value is not None
    assert two.value.value == pytest.approx(5.0, abs=0.005)


def test_above_the_mark_a_claim_for_the_assembly_is_named_as_the_makers() -> None:
    found = current(read("fault current", "db1", "8.50", between="L-N"), fuse_a=100.0)
    assert found.outcome == "not decided"
    assert "makers claim 16 kA" in found.judged[0].why
    assert current(read("fault current", "db1", "8.50", between="L-N"), fuse_a=None).outcome == "fails"
    assert current(read("fault current", "db1", "8.50", between="L-N"), fuse_a=125.0).outcome == "fails"
    rewirable = evolve(C1, device=Device("BS 3036", "", 30.0, 2.0))
    old = current(read("fault current", "db1", "8.50", between="L-N"), circuits=(rewirable,), fuse_a=100.0)
    assert old.outcome == "fails"


def test_an_unknown_standard_has_no_claim_for_an_assembly() -> None:
    strange = evolve(C1, device=Device("BS 9999", "B", 32.0, 6.0))
    assert (
        current(read("fault current", "db1", "8.50", between="L-N"), circuits=(strange,), fuse_a=100.0).outcome
        == "fails"
    )


def test_a_loop_that_the_digits_allow_to_be_zero_has_no_value() -> None:
    found = current(read("fault current", "db1", "46.0", between="L-N"))
    assert found.value is None
    assert "or more" in found.words
    assert found.outcome == "fails"


def test_a_mark_that_was_not_noted_is_asked_for_unless_the_least_one_is_enough() -> None:
    unmarked = evolve(C1, device=evolve(B32, breaking_ka=None))
    low = current(read("fault current", "db1", "1.20", between="L-N"), circuits=(unmarked,))
    assert low.outcome == "meets"
    more = current(read("fault current", "db1", "2.20", between="L-N"), circuits=(unmarked,))
    assert more.outcome == "not decided"
    assert "mark not noted" in more.words
    strange = evolve(C1, device=Device("BS 9999", "", 30.0))
    assert current(read("fault current", "db1", "1.20", between="L-N"), circuits=(strange,)).outcome == "not decided"
    none = current(read("fault current", "db1", "1.20", between="L-N"), circuits=())
    assert none.outcome == "no rule"


def test_over_range_has_no_upper_edge_and_meets_nothing() -> None:
    found = current(read("fault current", "db1", ">20.0", between="L-N"))
    assert found.value is None
    assert found.outcome == "fails"
    assert "fault.distrust" in families(found)


def test_0_00_is_below_a_digit_and_not_nothing() -> None:
    found = current(read("fault current", "db1", "0.00", between="L-N"))
    assert found.outcome == "meets"
    assert "0 to 0.005 kA" in found.words


def test_more_than_is_declared_is_distrusted() -> None:
    found = current(read("fault current", "db1", "23.0", between="L-N"))
    assert "fault.distrust" in families(found)
    assert "fault.distrust" not in families(current(read("fault current", "db1", "6.00", between="L-N")))
    own = current(read("fault current", "db1", "6.00", between="L-N"), ipf_ka=3.0)
    assert "fault.distrust" in families(own)


def test_the_current_to_earth_belongs_to_the_loop_that_was_read() -> None:
    ze = (off("earthing"), read("ze", "origin", "0.20"))
    fits = row(
        visit(*ze, read("fault current", "origin", "1.15", between="L-E"), circuits=(C1,)), "origin", "fault current"
    )
    assert fits.inside is True
    other = row(
        visit(*ze, read("fault current", "origin", "2.30", between="L-E"), circuits=(C1,)), "origin", "fault current"
    )
    assert other.inside is False
    assert "fault.agree" in families(other)


def test_a_reason_for_no_reading_is_kept() -> None:
    found = current(read("fault current", "db1", absent="LIM", note="no access"))
    assert found.absent == "LIM"
