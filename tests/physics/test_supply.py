"""Lost neutral and diverted current: published examples, scenario 16, phasors."""

from __future__ import annotations

import cmath
import math

import pytest
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
    assert supply.diverted_share(math.inf, 12) == 1.0


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
    assert supply.neutral_current_a(32, 10, 5) == pytest.approx(24.9, abs=0.05)


@given(AMPERES, AMPERES, AMPERES)
def test_neutral_current_is_the_sum_of_phasors(i1: float, i2: float, i3: float) -> None:
    phasors = sum(cmath.rect(i, 2 * math.pi * place / 3) for place, i in enumerate((i1, i2, i3)))
    assert supply.neutral_current_a(i1, i2, i3) == pytest.approx(abs(phasors), abs=1e-9)


def test_one_load_on_three_phases_is_the_single_phase_case() -> None:
    found = supply.lost_star_point(230, 12, (7.56, math.inf, math.inf))
    single = supply.lost_neutral(230, 12, 7.56)
    assert found.met_v == pytest.approx(single.met_v)
    assert found.load_v[0] == pytest.approx(single.load_v)
    assert found.i_a == pytest.approx(single.i_a)


def test_equal_loads_leave_the_star_point_where_it_was() -> None:
    found = supply.lost_star_point(230, math.inf, (10, 10, 10))
    assert found.met_v == pytest.approx(0, abs=1e-12)
    assert found.load_v == pytest.approx((230, 230, 230))
    assert found.i_a == 0


def test_two_loads_without_any_earth_share_the_line_voltage() -> None:
    # a potential divider between two lines: 398.4 V split 1 : 3
    found = supply.lost_star_point(230, math.inf, (10, 30, math.inf))
    assert found.load_v[:2] == pytest.approx((230 * math.sqrt(3) / 4, 230 * math.sqrt(3) * 3 / 4))
    assert max(found.load_v) > 230


@given(OHMS, OHMS, OHMS, st.floats(0.1, 1000))
def test_star_point_balances_its_currents(r1: float, r2: float, r3: float, ra: float) -> None:
    found = supply.lost_star_point(230, ra, (r1, r2, r3))
    # power delivered by the three lines is burnt in loads and electrode
    burnt = math.fsum(v * v / r for v, r in zip(found.load_v, (r1, r2, r3), strict=True)) + found.met_v**2 / ra
    lines = [cmath.rect(230, 2 * math.pi * place / 3) for place in range(3)]
    admittance = 1 / r1 + 1 / r2 + 1 / r3 + 1 / ra
    met = sum(u / r for u, r in zip(lines, (r1, r2, r3), strict=True)) / admittance
    drawn = sum((u * ((u - met) / r).conjugate()).real for u, r in zip(lines, (r1, r2, r3), strict=True))
    assert burnt == pytest.approx(drawn)
    assert found.i_a == pytest.approx(found.met_v / ra)


def test_star_point_questions_without_answer() -> None:
    with pytest.raises(OutOfDomain, match="all infinite"):
        supply.lost_star_point(230, math.inf, (math.inf, math.inf, math.inf))
    with pytest.raises(OutOfDomain, match="loads_ohm: expected three, found 2"):
        supply.lost_star_point(230, 12, (10, 10))  # type: ignore[arg-type]
    with pytest.raises(OutOfDomain, match=r"loads_ohm\[1\]: expected more than 0"):
        supply.lost_star_point(230, 12, (10, 0, 10))
    assert supply.lost_star_point(230, 12, (math.inf, math.inf, math.inf)).met_v == 0


def test_scenario_17_current_that_does_not_follow_the_home() -> None:
    # 6.4 A before, 6.2 A with the main switch off; some 10 A of load were on
    assert supply.tracking(6.4, 6.2, 10, 0) == pytest.approx(0.02)


def test_tracking_takes_changes_and_not_values() -> None:
    assert supply.tracking(3, 1, 12, 4) == pytest.approx(0.25)
    assert supply.tracking(3, 1, 12, 4) == pytest.approx(supply.diverted_share(0.1, 0.3))


def test_a_load_or_path_of_no_resistance_is_refused_at_zero_only() -> None:
    assert supply.lost_neutral(230, 12, 0.5).i_a == pytest.approx(18.4)
    assert supply.lost_star_point(230, 1e-6, (10, 10, 20)).met_v == pytest.approx(0, abs=1e-4)
    assert supply.diverted_share(0.1, 0.1) == 0.5
    for call, name in (
        (lambda: supply.lost_neutral(230, 12, 0), "rl_ohm"),
        (lambda: supply.lost_star_point(230, 0, (10, 10, 10)), "ra_ohm"),
        (lambda: supply.diverted_share(0.0, 0.0), "path_ohm"),
    ):
        with pytest.raises(OutOfDomain, match=f"{name}: expected more than 0"):
            call()


def test_tracking_needs_a_change_of_load() -> None:
    assert supply.tracking(1, 2, math.nextafter(5, 6), 5) < 0
    with pytest.raises(OutOfDomain, match="load_on_a: expected more than 5"):
        supply.tracking(1, 1, 5, 5)


def test_share_of_a_path_beside_the_neutral() -> None:
    assert supply.diverted_share(0.1, 0.3) == pytest.approx(0.25)
    assert supply.diverted_share(0.0, 0.3) == 0
    assert supply.diverted_share(0.1, math.inf) == 0
    with pytest.raises(OutOfDomain, match="both infinite"):
        supply.diverted_share(math.inf, math.inf)
