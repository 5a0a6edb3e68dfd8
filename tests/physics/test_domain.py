"""Numbers that may enter a sum, and those that may not."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest

from earthwright.base.errors import EarthwrightError
from earthwright.physics import domain


@pytest.mark.parametrize("wrong", [True, False, "1", None, Decimal("1"), math.nan, math.inf, -math.inf, 1 + 0j])
def test_number_refuses_what_is_no_finite_real_number(wrong: object) -> None:
    with pytest.raises(domain.OutOfDomain, match=r"length_m: expected a .*number, found"):
        domain.number("length_m", wrong)  # type: ignore[arg-type]


def test_out_of_domain_is_both_ours_and_a_value_error() -> None:
    assert issubclass(domain.OutOfDomain, EarthwrightError)
    assert issubclass(domain.OutOfDomain, ValueError)


def test_number_at_its_lower_edge() -> None:
    least = 2.0
    assert domain.number("x", math.nextafter(least, 3), low=least) > least
    assert domain.number("x", 2, low=least) == least
    with pytest.raises(domain.OutOfDomain, match=r"x: expected at least 2, found 1\.9"):
        domain.number("x", math.nextafter(least, 1), low=least)
    with pytest.raises(domain.OutOfDomain, match="x: expected more than 2, found 2"):
        domain.number("x", 2, low=least, above=True)


def test_positive_and_not_negative_part_at_zero() -> None:
    assert domain.not_negative("x", 0) == 0
    assert domain.not_negative("x", 5e-324) == 5e-324
    with pytest.raises(domain.OutOfDomain):
        domain.positive("x", 0)
    with pytest.raises(domain.OutOfDomain):
        domain.not_negative("x", -5e-324)


def test_infinity_only_where_it_means_open() -> None:
    assert domain.resistance("r", math.inf) == math.inf
    assert (domain.resistance("r", 0), domain.unbounded("i", 0)) == (0, 0)
    assert domain.unbounded("i", math.inf) == math.inf
    assert domain.number("r", math.inf, infinite=True) == math.inf
    for refused in (-1.0, -math.inf, math.nan):
        with pytest.raises(domain.OutOfDomain):
            domain.resistance("r", refused)


@pytest.mark.parametrize("inside", [0, 0.5, 1])
def test_fraction_inside(inside: float) -> None:
    assert domain.fraction("c", inside) == inside


@pytest.mark.parametrize("outside", [-5e-324, math.nextafter(1, 2), 2])
def test_fraction_outside(outside: float) -> None:
    with pytest.raises(domain.OutOfDomain, match="c: expected"):
        domain.fraction("c", outside)


def test_band_in_order_and_out_of_order() -> None:
    assert domain.band("reading", -1, 2) == (-1, 2)
    assert domain.band("reading", 2, 2) == (2, 2)
    assert domain.band("reading", 0, math.inf) == (0, math.inf)
    with pytest.raises(domain.OutOfDomain, match="reading: expected low <= high, found 2 and 1"):
        domain.band("reading", 2, 1)


def test_largest_number_just_below_at_and_just_above() -> None:
    most = domain.MOST
    for fits in (math.nextafter(most, 0), most, -most, int(most)):
        assert domain.number("x", fits) == fits
    for slip in (math.nextafter(most, math.inf), -math.nextafter(most, math.inf), 1e308):
        with pytest.raises(domain.OutOfDomain, match=r"x: expected a magnitude of at most 1e\+30, found -?1"):
            domain.number("x", slip)
    for slip in (10**31, -(10**31), 10**400, 10**5000):
        with pytest.raises(domain.OutOfDomain, match="found a whole number beyond it"):
            domain.number("x", slip)
    assert domain.resistance("x", math.inf) == math.inf


def test_smallest_divisor_just_below_at_and_just_above() -> None:
    least = domain.LEAST
    for fits in (least, math.nextafter(least, 1)):
        assert domain.positive("x", fits) == fits
    for slip in (math.nextafter(least, 0), 5e-324):
        with pytest.raises(domain.OutOfDomain, match=r"x: expected at least 1e-30, found"):
            domain.positive("x", slip)
    # a threshold below zero is no divisor's: just above it may be as near to zero as it likes
    assert domain.number("x", 5e-324, low=-1.0, above=True) == 5e-324
    assert domain.number("x", 5e-324, low=0.0) == 5e-324
