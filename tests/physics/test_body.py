"""Touch sums against published thresholds and examples."""

from __future__ import annotations

import math

import pytest
import trade_sums
from hypothesis import given
from hypothesis import strategies as st

from earthwright.physics import body
from earthwright.physics.domain import OutOfDomain


@pytest.mark.parametrize(
    ("ib_a", "body_ohm", "printed", "half_digit"),
    [(0.01, 1000, 22000, 0.5), (0.01, 0, 23000, 0.5), (0.03, 1000, 6670, 5), (0.005, 1000, 45000, 0.5)],
)
def test_when_metal_counts_as_extraneous(ib_a: float, body_ohm: float, printed: float, half_digit: float) -> None:
    assert body.extraneous_limit_ohm(230, ib_a, body_ohm) == pytest.approx(printed, abs=half_digit)


def test_the_body_alone_may_be_enough() -> None:
    assert body.extraneous_limit_ohm(230, 0.23, 999.9) == pytest.approx(0.1)
    for body_ohm in (1000, 1000.1):
        with pytest.raises(OutOfDomain, match=r"body_ohm: expected less than U0/Ib = 1000 Ω"):
            body.extraneous_limit_ohm(230, 0.23, body_ohm)


@given(st.floats(0.001, 0.1), st.floats(100, 2000))
def test_at_the_limit_exactly_the_chosen_current_flows(ib_a: float, body_ohm: float) -> None:
    limit = body.extraneous_limit_ohm(230, ib_a, body_ohm)
    assert body.body_current_a(230, limit, body_ohm) == pytest.approx(ib_a)
    assert body.body_current_a(230, limit + 1, body_ohm) < ib_a


def test_no_current_through_an_isolated_part() -> None:
    assert body.body_current_a(230, math.inf, 1000) == 0
    assert body.body_current_a(230, 0, 1000) == 0.23


def test_touch_voltage_by_convention() -> None:
    assert trade_sums.touch_voltage_v(230, 1, 0.8) == pytest.approx(92)
    assert trade_sums.touch_voltage_v(230, 0, 0.8) == 0
    assert trade_sums.touch_voltage_v(230, 1, 1) == 115
    with pytest.raises(OutOfDomain, match="c: expected 0 … 1"):
        trade_sums.touch_voltage_v(230, 1, math.nextafter(1, 2))


@pytest.mark.parametrize(("i_a", "printed"), [(30, 0.69), (200, 4.6)])
def test_voltage_along_5_m_of_4_mm2(i_a: float, printed: float) -> None:
    assert trade_sums.fault_voltage_v(i_a, 0.023) == pytest.approx(printed, abs=0.01)


def test_supplementary_bonding_behind_a_b32_and_a_30_ma_device() -> None:
    assert trade_sums.supplementary_limit_ohm(160) == 0.3125
    assert trade_sums.supplementary_limit_ohm(0.03) == pytest.approx(1667, abs=0.5)


def test_ratio_of_neutral_earth_to_line_contact() -> None:
    assert trade_sums.rb_re_limit(230) == pytest.approx(0.278, abs=0.0005)
    assert trade_sums.rb_re_limit(math.nextafter(50, 51)) > 1e12
    with pytest.raises(OutOfDomain, match="u0_v: expected more than 50"):
        trade_sums.rb_re_limit(50)
