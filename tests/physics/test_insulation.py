"""Insulation sums: published parallel sum, scenario 14, every subset."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earthwright.physics import insulation
from earthwright.physics.domain import OutOfDomain

# scenario 14: six circuits, two over-range above 299 MΩ, the third bad
KNOWN = (210.0, 180.0, 0.32, 299.0, 55.0, 299.0)
BANDS = [(r, math.inf if r == 299.0 else r) for r in KNOWN]
MEGOHMS = st.one_of(st.floats(0.01, 500), st.just(math.inf), st.just(0.0))


def test_four_of_4_megohm_as_published() -> None:
    assert insulation.board([4, 4, 4, 4]) == 1.0


def test_scenario_14_parallel_sum_explains_the_board() -> None:
    low, high = insulation.board_band(BANDS)
    assert (low, high) == pytest.approx((0.316, 0.318), abs=0.001)
    assert round(low, 2) == 0.32  # shown 0.31 on the board: one digit
    assert insulation.without_each(KNOWN)[2] > 1.0
    assert all(rest < 1.0 for place, rest in enumerate(insulation.without_each(KNOWN)) if place != 2)
    assert insulation.culprits(KNOWN, 1.0) == (2,)


def test_no_circuits_and_perfect_circuits() -> None:
    assert insulation.board([]) == math.inf
    assert insulation.board_band([]) == (math.inf, math.inf)
    assert insulation.without_each([5.0]) == (math.inf,)
    assert insulation.without_each([]) == ()


def test_minimum_just_below_at_and_just_above() -> None:
    assert insulation.culprits([2.0, 2.0], math.nextafter(1.0, 0)) == ()
    assert insulation.culprits([2.0, 2.0], 1.0) == ()
    assert insulation.culprits([2.0, 2.0], math.nextafter(1.0, 2)) == (0,)


def test_good_circuits_may_fail_together() -> None:
    # three of 2 MΩ: each passes alone, the board does not, one must be taken off
    assert insulation.culprits([2.0, 2.0, 2.0], 1.0) == (0,)


@given(st.lists(MEGOHMS, max_size=6), st.floats(0.1, 10))
def test_no_smaller_set_reaches_the_minimum(circuits: list[float], minimum: float) -> None:
    found = insulation.culprits(circuits, minimum)
    places = range(len(circuits))
    assert insulation.board([circuits[p] for p in places if p not in found]) >= minimum
    for smaller in combinations(places, max(len(found) - 1, 0)):
        if len(found):
            assert insulation.board([circuits[p] for p in places if p not in smaller]) < minimum
    assert list(found) == sorted(found, key=lambda p: circuits[p])


def test_bad_values_are_named() -> None:
    with pytest.raises(OutOfDomain, match=r"circuits\[1\]"):
        insulation.culprits([3.0, -1.0], 1.0)
    with pytest.raises(OutOfDomain, match="minimum"):
        insulation.culprits([3.0], 0.0)
    with pytest.raises(OutOfDomain, match=r"circuits\[0\]: expected low <= high"):
        insulation.board_band([(5, 3)])
