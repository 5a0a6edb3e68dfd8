"""A value against a limit, just below, at, and just above, by both decision rules."""

from __future__ import annotations

import pytest

from earthwright.base.errors import UnitError
from earthwright.base.quantity import Band, Limit, exact, rectangular
from earthwright.outcomes.verdict import judge, judge_band, no_rule, not_decided

MOST = Limit(0.05, "Ω", "max", "joint", "x", "d", "e", "read")
LEAST = Limit(10.0, "mm²", "min", "bond", "x", "d", "e", "read")


@pytest.mark.parametrize(("value", "outcome"), [(0.0499, "meets"), (0.05, "meets"), (0.0501, "fails")])
def test_a_maximum_below_at_and_above(value: float, outcome: str) -> None:
    j = judge(exact(value, "Ω"), MOST)
    assert (j.outcome, j.simple, j.guarded) == (outcome,) * 3
    assert j.difference == pytest.approx(0.05 - value)
    assert not j.differ


@pytest.mark.parametrize(("value", "outcome"), [(9.99, "fails"), (10.0, "meets"), (10.01, "meets")])
def test_a_minimum_below_at_and_above(value: float, outcome: str) -> None:
    j = judge(exact(value, "mm²"), LEAST)
    assert j.outcome == outcome
    assert j.difference == pytest.approx(value - 10.0)


def test_guarded_needs_the_whole_interval_on_one_side() -> None:
    close = rectangular(0.045, 0.02, "Ω", "k", "limit")
    simple, guarded = judge(close, MOST), judge(close, MOST, "guarded")
    assert (simple.outcome, guarded.outcome) == ("meets", "not decided")
    assert simple.differ
    far = rectangular(0.01, 0.02, "Ω", "k", "limit")
    assert judge(far, MOST, "guarded").outcome == "meets"
    high = rectangular(0.2, 0.02, "Ω", "k", "limit")
    assert judge(high, MOST, "guarded").outcome == "fails"


def test_inequalities_are_held_against_a_limit_as_bands() -> None:
    assert judge_band(Band(0.0, 0.025, "Ω"), MOST).outcome == "meets"
    assert judge_band(Band(0.06, 0.07, "Ω"), MOST).outcome == "fails"
    assert judge_band(Band(0.04, 0.06, "Ω"), MOST).outcome == "not decided"


def test_what_cannot_be_compared_is_refused() -> None:
    with pytest.raises(UnitError):
        judge(exact(1, "V"), MOST)
    with pytest.raises(ValueError, match="decision rule"):
        judge(exact(0.01, "Ω"), MOST, "hopeful")


def test_no_rule_and_not_decided_keep_their_reason() -> None:
    assert (no_rule("before the first").outcome, no_rule("x").why) == ("no rule", "x")
    assert not_decided(MOST, "no reading").limit is MOST
