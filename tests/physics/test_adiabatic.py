"""Adiabatic sums against printed k, worked examples, and curves that are exact on log-log paper."""

from __future__ import annotations

import math

import pytest
import trade_sums
from hypothesis import given
from hypothesis import strategies as st

from earthwright.base.errors import EarthwrightError
from earthwright.physics import adiabatic
from earthwright.physics.adiabatic import OutsideCurve
from earthwright.physics.domain import OutOfDomain

# IEC 60949 / IEC 60364-5-54 annex A (from memory): beta [degC], Qc [J/(K mm³)], rho20 [ohm mm]
MATERIAL = {
    "copper": (234.5, 3.45e-3, 17.241e-6),
    "aluminium": (228, 2.5e-3, 28.264e-6),
    "steel": (202, 3.8e-3, 138e-6),
    "lead": (230, 1.45e-3, 214e-6),
}
# scenario 10: points given for a 30 A rewirable fuse
FUSE = [(87, 5), (200, 0.4), (350, 0.1)]


def test_least_area_as_published() -> None:
    assert adiabatic.least_csa_mm2(460, 0.1, 115) == pytest.approx(1.26, abs=0.006)


@pytest.mark.parametrize(("t_s", "printed", "half_digit"), [(1, (572, 858, 1430), 0.5), (5, (256, 384, 640), 0.5)])
def test_current_that_4_6_and_10_mm2_withstand(t_s: float, printed: tuple[float, ...], half_digit: float) -> None:
    found = [adiabatic.withstand_i_a(s, t_s, 143) for s in (4, 6, 10)]
    assert found == pytest.approx(printed, abs=half_digit)


def test_6_mm2_in_a_cable_for_0_4_s() -> None:
    # common practice, no source: about 1090 A
    assert adiabatic.withstand_i_a(6, 0.4, 115) == pytest.approx(1090, abs=5)


def test_iec_60949_example_of_95_mm2() -> None:
    k = trade_sums.material_k(*MATERIAL["copper"], 90, 250)
    assert adiabatic.withstand_i_a(95, 1, k) / 1000 == pytest.approx(13.6, abs=0.05)


@given(st.floats(1, 1e5), st.floats(0.1, 5), st.floats(20, 250))
def test_any_one_of_four_from_the_other_three(i_a: float, t_s: float, k: float) -> None:
    s_mm2 = adiabatic.least_csa_mm2(i_a, t_s, k)
    assert adiabatic.withstand_i_a(s_mm2, t_s, k) == pytest.approx(i_a)
    assert adiabatic.withstand_t_s(s_mm2, i_a, k) == pytest.approx(t_s)
    assert adiabatic.required_k(s_mm2, i_a, t_s) == pytest.approx(k)


@pytest.mark.parametrize(
    ("material", "printed", "tolerance"),
    [("copper", 225.669, 0.001), ("aluminium", 148, 0.5), ("steel", 78, 0.5)],
)
def test_material_constant_as_printed(material: str, printed: float, tolerance: float) -> None:
    assert trade_sums.material_constant(*MATERIAL[material]) == pytest.approx(printed, abs=tolerance)


@pytest.mark.parametrize(
    ("material", "initial_c", "final_c", "printed", "tolerance"),
    [
        ("copper", 30, 160, 143, 0.6),
        ("copper", 30, 250, 176, 0.6),
        ("copper", 70, 160, 115, 0.6),
        ("copper", 90, 250, 143, 0.6),
        ("copper", 60, 200, 141, 0.6),
        ("copper", 70, 140, 103, 0.6),
        ("copper", 30, 500, 228, 0.8),
        ("aluminium", 30, 160, 95, 0.6),
        ("aluminium", 60, 200, 93, 0.6),
        ("steel", 60, 200, 51, 0.6),
        ("steel", 80, 200, 46, 0.6),
        ("lead", 60, 200, 26, 0.6),
    ],
)
def test_k_as_printed(material: str, initial_c: float, final_c: float, printed: float, tolerance: float) -> None:
    assert trade_sums.material_k(*MATERIAL[material], initial_c, final_c) == pytest.approx(printed, abs=tolerance)


def test_k_needs_a_rise_of_temperature() -> None:
    assert trade_sums.material_k(*MATERIAL["copper"], 160, math.nextafter(160, 161)) > 0
    with pytest.raises(OutOfDomain, match="final_c: expected more than 160"):
        trade_sums.material_k(*MATERIAL["copper"], 160, 160)
    with pytest.raises(OutOfDomain, match=r"initial_c: expected more than -234\.5"):
        trade_sums.material_k(*MATERIAL["copper"], -234.5, 160)


def test_energy_of_1_mm2() -> None:
    bears = adiabatic.k2s2_a2s(1.0, 115)
    assert bears == 13225  # scenario 10, exact
    assert adiabatic.k2s2_a2s(1.5, 115) == pytest.approx(29756.25)


def test_time_is_exact_at_the_points_and_on_a_power_law() -> None:
    for i_a, t_s in FUSE:
        assert adiabatic.time_from_curve(FUSE, i_a) == t_s
        assert adiabatic.current_for_time(FUSE, t_s) == i_a
    law = [(i, 1e6 * i**-3) for i in (10.0, 37.0, 900.0)]
    for i_a in (10.0, 11.0, 36.0, 38.0, 500.0, 900.0):
        assert adiabatic.time_from_curve(law, i_a) == pytest.approx(1e6 * i_a**-3)
        assert adiabatic.current_for_time(law, 1e6 * i_a**-3) == pytest.approx(i_a)


def test_nothing_is_extrapolated() -> None:
    for i_a in (math.nextafter(87, 0), math.nextafter(350, 999), 1.0, 1e6):
        with pytest.raises(OutsideCurve, match="A: the curve runs from 87 A to 350 A"):
            adiabatic.time_from_curve(FUSE, i_a)
    for t_s in (math.nextafter(5, 6), math.nextafter(0.1, 0)):
        with pytest.raises(OutsideCurve, match=r"s: the curve runs from 0\.1 s to 5 s"):
            adiabatic.current_for_time(FUSE, t_s)
    assert issubclass(OutsideCurve, EarthwrightError)


def test_steps_and_level_stretches_are_read_on_the_cautious_side() -> None:
    breaker = [(40, 60), (160, 8), (160, 0.01), (6000, 0.01)]
    assert adiabatic.time_from_curve(breaker, 160) == 8  # longer time heats more
    assert adiabatic.time_from_curve(breaker, math.nextafter(160, 161)) == pytest.approx(0.01)
    assert adiabatic.current_for_time(breaker, 0.4) == pytest.approx(160)
    assert adiabatic.current_for_time(breaker, 0.01) == pytest.approx(160)
    assert adiabatic.time_from_curve([(160, 8), (160, 0.01), (170, 0.01)], 160) == 8
    assert adiabatic.current_for_time([(160, 0.01), (6000, 0.01)], 0.01) == 160


@pytest.mark.parametrize(
    ("points", "message"),
    [
        ([], "expected at least 2 points, found 0"),
        ([(87, 5)], "expected at least 2 points, found 1"),
        ([(87, 5), (60, 4)], "point 2: expected more current or less time than 87 A, 5 s, found 60 A, 4 s"),
        ([(87, 5), (200, 6)], "point 2: expected more current or less time"),
        ([(87, 5), (87, 5)], "point 2: expected more current or less time"),
        ([(87, 5), (200, 0)], "point 2 time: expected more than 0, found 0"),
        ([(True, 5), (200, 1)], "point 1 current: expected a number, found True"),
        ([(-1, 5), (200, math.nan)], "point 1 current: .*; point 2 time: "),
    ],
)
def test_a_curve_that_is_none_is_refused_with_every_fault(points: list[tuple[float, float]], message: str) -> None:
    with pytest.raises(OutOfDomain, match=f"curve: .*{message}"):
        adiabatic.time_from_curve(points, 100)


def test_scenario_10_cpc_too_small_for_the_fault_energy() -> None:
    fault_a = 230 / 0.98
    assert fault_a == pytest.approx(235, abs=0.5)
    t_s = adiabatic.time_from_curve(FUSE, 235)
    assert t_s == pytest.approx(0.27, abs=0.005)
    assert adiabatic.least_csa_mm2(235, t_s, 115) == pytest.approx(1.06, abs=0.005)
    # warm conductors: less current, more time, more area
    assert adiabatic.least_csa_mm2(200, 0.4, 115) == pytest.approx(1.10, abs=0.005)


def test_worst_current_in_a_range_of_a_fuse_is_the_lowest() -> None:
    worst = adiabatic.worst_on_curve(FUSE, 200, 235, 115)
    assert (worst.i_a, worst.t_s) == (200, 0.4)
    assert worst.csa_mm2 == pytest.approx(1.10, abs=0.005)


def test_worst_current_may_be_a_point_inside_the_range() -> None:
    humped = [(100, 1), (200, 0.9), (400, 0.01)]
    assert adiabatic.worst_on_curve(humped, 100, 400, 115).i_a == 200
    assert adiabatic.worst_on_curve(humped, 150, 150, 115).i_a == 150


@given(st.floats(100, 400), st.floats(100, 400))
def test_worst_current_against_a_fine_scan(one: float, other: float) -> None:
    humped = [(100, 1), (200, 0.9), (300, 0.2), (400, 0.01)]
    low, high = min(one, other), max(one, other)
    scan = [low + (high - low) * step / 400 for step in range(401)]
    scanned = max(
        adiabatic.least_csa_mm2(i, adiabatic.time_from_curve(humped, i), 115) for i in scan if low <= i <= high
    )
    assert adiabatic.worst_on_curve(humped, low, high, 115).csa_mm2 >= scanned * (1 - 1e-12)


def test_worst_current_needs_a_range_inside_the_curve() -> None:
    with pytest.raises(OutsideCurve):
        adiabatic.worst_on_curve(FUSE, 80, 235, 115)
    with pytest.raises(OutOfDomain, match="i_high_a: expected at least 235"):
        adiabatic.worst_on_curve(FUSE, 235, 200, 115)
