"""Lost neutral and diverted current: published examples, scenario 16, phasors."""

from __future__ import annotations

import cmath
import math

import pytest
import trade_sums
from hypothesis import given
from hypothesis import strategies as st

from earthwright.physics import supply
from earthwright.physics.domain import OutOfDomain

AMPERES = st.floats(0, 100)
OHMS = st.floats(1, 1000)


def test_scenario_16_open_pen_with_a_7_kw_heater() -> None:
    load = supply.load_ohm(7000, 230)
    assert load == pytest.approx(7.56, abs=0.005)
    found = supply.lost_neutral(230, 12, load)
    assert found.met_v == pytest.approx(141, abs=0.5)
    assert found.i_a == pytest.approx(11.8, abs=0.05)
    assert found.load_v == pytest.approx(89, abs=0.5)
    # the bond follows the load: all of its change goes through the water pipe
    assert supply.tracking(11.8, 0.0, 11.8, 0.0) == 1.0


@pytest.mark.parametrize(("power_w", "ra_ohm", "printed"), [(7000, 5, 92), (3000, 12, 93)])
def test_other_loads_and_electrodes(power_w: float, ra_ohm: float, printed: float) -> None:
    assert supply.lost_neutral(230, ra_ohm, supply.load_ohm(power_w, 230)).met_v == pytest.approx(printed, abs=0.5)


def test_published_form_with_voltage_factor() -> None:
    assert supply.lost_neutral(230, 5, 23, 1.1).met_v == pytest.approx(45.2, abs=0.1)


def test_nothing_switched_on_and_nothing_earthed() -> None:
    assert supply.load_ohm(0, 230) == math.inf
    assert supply.lost_neutral(230, 12, math.inf) == supply.LostNeutral(0.0, 230.0, 0.0)
    assert supply.lost_neutral(230, math.inf, 7.56) == supply.LostNeutral(230.0, 0.0, 0.0)
    assert supply.lost_neutral(230, 0, 10) == supply.LostNeutral(0.0, 230.0, 23.0)
    with pytest.raises(OutOfDomain, match="both infinite"):
        supply.lost_neutral(230, math.inf, math.inf)


def test_maximum_neutral_current_as_published() -> None:
    assert trade_sums.neutral_current_a(32, 10, 5) == pytest.approx(24.9, abs=0.05)


@given(AMPERES, AMPERES, AMPERES)
def test_neutral_current_is_the_sum_of_phasors(i1: float, i2: float, i3: float) -> None:
    phasors = sum(cmath.rect(i, 2 * math.pi * place / 3) for place, i in enumerate((i1, i2, i3)))
    assert trade_sums.neutral_current_a(i1, i2, i3) == pytest.approx(abs(phasors), abs=1e-9)


def test_scenario_17_current_that_does_not_follow_the_home() -> None:
    # 6.4 A before, 6.2 A with the main switch off; some 10 A of load were on
    assert supply.tracking(6.4, 6.2, 10, 0) == pytest.approx(0.02)


def test_tracking_takes_changes_and_not_values() -> None:
    assert supply.tracking(3, 1, 12, 4) == pytest.approx(0.25)


def test_a_load_or_path_of_no_resistance_is_refused_at_zero_only() -> None:
    assert supply.lost_neutral(230, 12, 0.5).i_a == pytest.approx(18.4)
    with pytest.raises(OutOfDomain, match="rl_ohm: expected more than 0"):
        supply.lost_neutral(230, 12, 0)


def test_tracking_needs_a_change_of_load() -> None:
    assert supply.tracking(1, 2, math.nextafter(5, 6), 5) < 0
    with pytest.raises(OutOfDomain, match="load_on_a: expected more than 5"):
        supply.tracking(1, 1, 5, 5)
