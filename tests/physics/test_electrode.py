"""Electrodes against printed examples, other authors' forms, and the potential of point sources."""

from __future__ import annotations

import math

import pytest
import trade_sums
from hypothesis import given
from hypothesis import strategies as st

from earthwright.physics import electrode
from earthwright.physics.conductor import parallel
from earthwright.physics.domain import OutOfDomain


def test_rod_as_published() -> None:
    assert electrode.rod_ohm(55, 3, 0.025) == pytest.approx(17.12, abs=0.02)  # the source prints with π = 3.14


def test_rod_must_be_longer_than_thick() -> None:
    assert electrode.rod_ohm(100, 0.0161, 0.016) > 0
    for length in (0.016, 0.0159):
        with pytest.raises(OutOfDomain, match="length_m: expected more than the diameter"):
            electrode.rod_ohm(100, length, 0.016)


def test_nine_rods_as_published() -> None:
    alpha = electrode.spacing_factor(55, 17.12, 10)
    assert alpha == pytest.approx(0.0511, abs=0.0001)
    assert electrode.rods_ohm(17.12, 9, alpha, 1) == pytest.approx(1.99, abs=0.02)


@given(st.floats(10, 1000), st.floats(5, 500), st.floats(3, 50))
def test_two_rods_are_two_sources_that_lift_each_other(rho: float, r_ohm: float, spacing: float) -> None:
    # half the current in each: V = (I/2)(R + rho/(2·π·s))
    exact = (r_ohm + rho / (2 * math.pi * spacing)) / 2
    found = electrode.rods_ohm(r_ohm, 2, electrode.spacing_factor(rho, r_ohm, spacing), 1)
    assert found == pytest.approx(min(exact, r_ohm))


def test_rods_far_apart_and_on_top_of_each_other() -> None:
    assert electrode.rods_ohm(60, 3, 0, 1.66) == pytest.approx(parallel(60, 60, 60))
    assert electrode.rods_ohm(60, 1, 0.3, 0) == 60
    # more crowding than the formula can mean: one rod alone is the worst it can be
    assert electrode.rods_ohm(60, 3, 1.2, 1.66) == pytest.approx(59.84)
    assert electrode.rods_ohm(60, 3, 1.3, 1.66) == 60


@pytest.mark.parametrize("count", [0, -1, 2.0, True, 1.5])
def test_rods_are_counted(count: int) -> None:
    with pytest.raises(OutOfDomain, match="count: expected a whole number of at least 1"):
        electrode.rods_ohm(60, count, 0.05, 1)


def test_round_conductor_is_dwights_buried_wire() -> None:
    # Dwight 1936, wire of length 2l, radius a, depth s/2: R = rho/(4πl)·(ln(4l/a) + ln(4l/s) - 2 + s/2l - …)
    rho, length, depth, diameter = 100.0, 200.0, 0.6, 0.008
    half, radius, twice = length / 2, diameter / 2, 2 * depth
    logarithms = math.log(4 * half / radius) + math.log(4 * half / twice)
    dwight = rho / (4 * math.pi * half) * (logarithms - 2 + twice / (2 * half))
    found = electrode.strip_ohm(rho, length, depth, diameter, electrode.Q_ROUND)
    assert found == pytest.approx(dwight, rel=0.002)


def test_strip_has_less_than_the_round_of_the_same_width_only_by_its_shape_term() -> None:
    strip = electrode.strip_ohm(100, 20, 0.6, 0.025)
    bar = electrode.strip_ohm(100, 20, 0.6, 0.025, electrode.Q_ROUND)
    assert strip - bar == pytest.approx(0.3 * 100 / (2 * math.pi * 20))


def test_strip_too_short_for_its_formula() -> None:
    # ln(2·L²/(w·h)) = 1 at L = √(e·w·h/2)
    edge = math.sqrt(math.e * 0.6 * 0.025 / 2)
    assert electrode.strip_ohm(100, edge * 1.0001, 0.6, 0.025) > 0
    for length in (edge * 0.9999, edge / 2):
        with pytest.raises(OutOfDomain, match="too short for the formula"):
            electrode.strip_ohm(100, length, 0.6, 0.025)


def test_plate_as_printed_and_as_a_disc() -> None:
    assert electrode.plate_ohm(100, 1.0) == pytest.approx(44.3, abs=0.1)
    # a disc of radius a on the ground: rho/(4·a)
    assert electrode.plate_ohm(100, math.pi * 0.25) == pytest.approx(100 / (4 * 0.5))


def test_place_of_the_potential_stake() -> None:
    assert trade_sums.potential_stake_m(120) == pytest.approx(74, abs=1)  # feet or metres alike
    assert pytest.approx(0.618, abs=0.0005) == trade_sums.POTENTIAL_STAKE


@given(st.floats(5, 200))
def test_at_0_618_two_point_sources_show_the_true_resistance(distance: float) -> None:
    # error of the shown value is proportional to 1/x - 1/(D - x) - 1/D ... with the sign of the return current
    x = trade_sums.potential_stake_m(distance)
    assert 1 / x - 1 / (distance - x) + 1 / distance == pytest.approx(0, abs=1e-9)


def test_three_stakes_agree_or_do_not() -> None:
    flat = electrode.fall_of_potential(70, 70, 70)
    assert (flat.mean_ohm, flat.deviation) == (70, 0)
    found = electrode.fall_of_potential(100, 95, 108)
    assert found.mean_ohm == pytest.approx(101)
    assert found.deviation == pytest.approx(7 / 101)
    assert electrode.fall_of_potential(100, 94, 100).deviation == pytest.approx(4 / 98)
    with pytest.raises(OutOfDomain, match="farther_ohm"):
        electrode.fall_of_potential(100, 95, 0)


def test_overlapping_resistance_areas_show_in_the_deviation() -> None:
    # hemisphere of radius 1 m in soil of 2π Ω·m: R = 1 Ω; stakes too close together spread the readings
    def shown(distance: float, x: float) -> float:
        return 1 - 1 / x - 1 / distance + 1 / (distance - x)

    def deviation(distance: float) -> float:
        at = 0.618 * distance
        return electrode.fall_of_potential(*(shown(distance, at * f) for f in (1, 0.9, 1.1))).deviation

    assert deviation(50) < 0.05 < deviation(5)


def test_rated_current_that_200_ohm_permit() -> None:
    assert trade_sums.idn_limit_a(200) == 0.25


def test_scenario_07_bad_electrode_flattered_by_the_water_pipe() -> None:
    assert parallel(1840, 39) == pytest.approx(38.2, abs=0.05)
    assert electrode.touch_product_v(1840, 0.03) == pytest.approx(55, abs=0.5)
    assert electrode.touch_product_v(1840, 0.1) == pytest.approx(184, abs=0.5)
    assert electrode.touch_product_v(38, 0.1) == pytest.approx(3.8)  # what the flattered reading would have said
