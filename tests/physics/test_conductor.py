"""Conductor sums against printed tables, worked examples and closed forms."""

from __future__ import annotations

import math

import pytest
import trade_sums

from earthwright.physics import conductor
from earthwright.physics.domain import OutOfDomain

# IEC 60228 class 2, plain copper, maximum at 20 degC [mΩ/m], as reproduced by cable makers
CU = {1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4: 4.61, 6: 3.08, 10: 1.83, 16: 1.15, 25: 0.727}


@pytest.mark.parametrize(
    ("length_m", "csa_mm2", "printed", "half_digit"),
    [
        (22, 2.5, 0.163, 0.0005),  # published worked example
        (22, 1.5, 0.266, 0.0005),  # published worked example
        (25, 10, 0.046, 0.0005),  # common practice, no source
        (50, 1.5, 0.6, 0.05),  # common practice, no source
        (1, 10, 0.00183, 0.000005),  # common practice, no source
        (16, 10, 0.03, 0.005),  # scenario 00: control
        (24, 10, 0.044, 0.0005),  # scenario 01: masked by a parallel path
        (18, 10, 0.033, 0.0005),  # scenario 02: broken bond
        (11, 10, 0.020, 0.0005),  # scenario 03: clamp on paint
        (2.1, 16, 0.0024, 0.00005),  # scenario 15: below the resolution
    ],
)
def test_resistance_of_a_length(length_m: float, csa_mm2: float, printed: float, half_digit: float) -> None:
    assert conductor.resistance_ohm(length_m, CU[csa_mm2]) == pytest.approx(printed, abs=half_digit)


def test_resistance_of_a_long_flexible_lead() -> None:
    # scenario 05: 40 m of 1.0 mm² class 5 flex, 19.5 mΩ/m
    assert conductor.resistance_ohm(40, 19.5) == pytest.approx(0.78, abs=0.005)


@pytest.mark.parametrize(
    ("temp_c", "printed"),
    [
        (5, 1.064),
        (10, 1.042),
        (25, 0.98),
        (30, 0.962),
        (40, 0.926),
        (50, 0.893),
        (60, 0.862),
        (70, 0.833),
        (80, 0.806),
        (100, 0.758),
    ],
)
def test_factor_to_20_as_printed_in_iec_60228(temp_c: float, printed: float) -> None:
    assert trade_sums.factor_to_20_flat(temp_c) == pytest.approx(printed, abs=0.0006)
    assert trade_sums.factor_to_20_flat(temp_c) == pytest.approx(250 / (230 + temp_c), rel=1e-12)


@pytest.mark.parametrize(
    ("temp_c", "printed"), [(70, 1.20), (85, 1.26), (90, 1.28), (5, 0.94), (10, 0.96), (15, 0.98), (25, 1.02)]
)
def test_flat_factor_of_the_trade(temp_c: float, printed: float) -> None:
    # on-site multipliers, from memory
    assert conductor.factor_flat(temp_c) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("r20", "beta_c", "temp_c", "printed"),
    [
        (7.41, conductor.BETA_COPPER_C, 45, 8.14),
        (7.41, conductor.BETA_COPPER_C, 60, 8.57),
        (7.41, conductor.BETA_COPPER_C, 75, 9.01),
        (1.83, conductor.BETA_COPPER_C, 75, 2.23),
        (1.91, 228.0, 75, 2.33),
        (1.91, 228.0, 90, 2.45),
    ],
)
def test_reciprocal_law_as_printed(r20: float, beta_c: float, temp_c: float, printed: float) -> None:
    assert r20 * conductor.factor_beta(temp_c, beta_c) == pytest.approx(printed, abs=0.006)


def test_three_laws_are_one_at_20_and_differ_at_70() -> None:
    laws = (conductor.factor_alpha, conductor.factor_beta, conductor.factor_flat)
    assert {law(20) for law in laws} == {1.0}
    assert [law(70) for law in laws] == pytest.approx([1.1965, 304.5 / 254.5, 1.2], rel=1e-12)


def test_copper_laws_agree_because_their_coefficients_do() -> None:
    # 1/254.5 = 0.003929, printed as 0.00393
    assert conductor.factor_alpha(70) == pytest.approx(conductor.factor_beta(70), abs=0.0001)


def test_laws_end_where_their_factor_would_vanish() -> None:
    assert conductor.factor_flat(-229.9) > 0
    for law, cold in (
        (conductor.factor_flat, -230),
        (conductor.factor_beta, -234.5),
        (conductor.factor_alpha, -250),
    ):
        with pytest.raises(OutOfDomain, match=r"temp_c: .* is too cold"):
            law(cold)
    with pytest.raises(OutOfDomain, match="too cold for the flat law"):
        trade_sums.factor_to_20_flat(-300)


@pytest.mark.parametrize(
    ("r_ohm", "csa_mm2", "printed", "tolerance"),
    [
        (0.163, 2.5, 22.0, 0.07),
        (0.05, 6, 16, 1),
        (0.05, 10, 27, 1),
        (0.05, 16, 43, 1),
        (0.01, 10, 5.5, 0.05),
        (0.01, 6, 3.2, 0.05),
        (0.01, 16, 8.7, 0.05),
        (0.01, 1.5, 0.83, 0.005),
    ],
)
def test_implied_length(r_ohm: float, csa_mm2: float, printed: float, tolerance: float) -> None:
    assert conductor.implied_length_m(r_ohm, CU[csa_mm2]) == pytest.approx(printed, abs=tolerance)


def test_implied_length_of_an_open_reading_is_unbounded() -> None:
    assert conductor.implied_length_m(math.inf, 1.83) == math.inf
    assert conductor.implied_length_band_m(0.0, math.inf, 1.83, 0.93) == (0.0, math.inf)


def test_scenario_15_length_cannot_be_told_below_the_resolution() -> None:
    low, high = conductor.implied_length_band_m(-0.02, 0.02, CU[16], make_low=1.0)
    assert low == 0.0
    assert high == pytest.approx(17, abs=0.5)


def test_scenario_05_common_offset_implies_absurd_lengths() -> None:
    # three bonds of 9 to 31 m that read 0.77 to 0.81 Ω
    assert conductor.implied_length_m(0.77, CU[10]) == pytest.approx(420, abs=5)
    assert conductor.implied_length_m(0.81, CU[10]) == pytest.approx(440, abs=5)


def test_implied_length_band_widens_by_make_and_shrinks_when_warm() -> None:
    low, high = conductor.implied_length_band_m(0.03, 0.05, 2.0, 0.93)
    assert (low, high) == pytest.approx((15.0, 25.0 / 0.93))
    assert conductor.implied_length_band_m(0.03, 0.05, 2.0, 0.95, 0.98) == pytest.approx((15 / 0.98, 25 / 0.95))
    warm = conductor.implied_length_band_m(0.03, 0.05, 2.0, 0.93, 1.0, factor=1.2)
    assert warm == pytest.approx((low / 1.2, high / 1.2))


def test_implied_length_band_refuses_edges_in_the_wrong_order() -> None:
    with pytest.raises(OutOfDomain, match="reading: expected low <= high"):
        conductor.implied_length_band_m(0.05, 0.03, 1.83, 0.93)
    with pytest.raises(OutOfDomain, match="make: expected low <= high"):
        conductor.implied_length_band_m(0.03, 0.05, 1.83, 1.0, 0.93)


@pytest.mark.parametrize(
    ("line", "cpc", "printed", "half_digit"),
    [
        (1.5, 1.0, 30.2, 0.05),
        (2.5, 1.5, 19.51, 0.005),
        (4, 1.5, 16.71, 0.005),
        (6, 2.5, 10.49, 0.005),
        (10, 4, 6.44, 0.005),
        (16, 16, 2.3, 0.005),
        (25, 25, 1.454, 0.0005),
    ],
)
def test_r1r2_per_metre(line: float, cpc: float, printed: float, half_digit: float) -> None:
    assert 1000 * trade_sums.r1r2_ohm(1, CU[line], CU[cpc]) == pytest.approx(printed, abs=half_digit)


@pytest.mark.parametrize(("line", "cpc", "printed"), [(1.5, 1.0, 1.51), (4, 1.5, 0.84), (6, 2.5, 0.52), (10, 4, 0.32)])
def test_r1r2_of_50_m(line: float, cpc: float, printed: float) -> None:
    assert trade_sums.r1r2_ohm(50, CU[line], CU[cpc]) == pytest.approx(printed, abs=0.006)


def test_r1r2_of_22_m_and_when_warm() -> None:
    assert trade_sums.r1r2_ohm(22, CU[2.5], CU[1.5]) == pytest.approx(0.429, abs=0.0005)
    assert trade_sums.r1r2_ohm(22, CU[2.5], CU[1.5], 1.2) == pytest.approx(0.515, abs=0.0005)


def test_two_ratios_for_the_same_cable() -> None:
    assert conductor.size_ratio(2.5, 1.5) == pytest.approx(1.67, abs=0.005)
    assert conductor.resistance_ratio(CU[2.5], CU[1.5]) == pytest.approx(1.633, abs=0.0005)


def test_split_of_a_sum_as_published() -> None:
    r1, r2 = conductor.split_by_area(0.85, 2.5, 1.5)
    assert r1 == pytest.approx(0.32, abs=0.005)
    assert r1 + r2 == pytest.approx(0.85)
    assert conductor.split_by_area(11.49, 2.5, 1.5)[0] == pytest.approx(4.30, abs=0.02)


def test_split_of_an_open_sum_does_not_say_which_is_open() -> None:
    assert conductor.split_by_area(math.inf, 2.5, 1.5) == (math.inf, math.inf)


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ((), math.inf),
        ((math.inf,), math.inf),
        ((math.inf, math.inf), math.inf),
        ((5.0,), 5.0),
        ((5.0, math.inf), 5.0),
        ((0.0, math.inf), 0.0),
        ((0.0, 3.0), 0.0),
        ((4, 4, 4, 4), 1.0),
        ((6, 3, 2), 1.0),
        ((1e30, 1e30), 5e29),
        ((1e-320, 1e-320), 5e-321),
        ((1e-30, 1e30), 1e-30),
    ],
)
def test_parallel_and_its_limits(values: tuple[float, ...], expected: float) -> None:
    assert conductor.parallel(*values) == pytest.approx(expected, rel=1e-9)


def test_parallel_names_the_bad_value() -> None:
    with pytest.raises(OutOfDomain, match=r"values\[1\]: expected at least 0, found -3"):
        conductor.parallel(2, -3)


def test_scenario_00_and_01_closure_of_three_readings() -> None:
    assert conductor.parallel(0.03, 0.11) == pytest.approx(0.024, abs=0.0005)
    assert conductor.parallel(0.05, 0.03) == pytest.approx(0.019, abs=0.0005)


@pytest.mark.parametrize(
    ("strands", "diameter_mm", "nominal"), [(7, 0.85, 4), (7, 1.04, 6), (7, 1.35, 10), (7, 1.70, 16)]
)
def test_strands_seen_give_the_nominal_size(strands: int, diameter_mm: float, nominal: float) -> None:
    # stranding from memory; the nominal size is that of the sales name, not a measurement
    assert conductor.strand_csa_mm2(strands, diameter_mm) == pytest.approx(nominal, rel=0.011)


def test_no_strand_is_no_conductor() -> None:
    assert conductor.strand_csa_mm2(1, 2) == pytest.approx(math.pi)
    with pytest.raises(OutOfDomain, match="strands: expected at least 1, found 0"):
        conductor.strand_csa_mm2(0, 1.35)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf, True, "3"])
def test_lengths_that_are_none(bad: float) -> None:
    with pytest.raises(OutOfDomain, match="length_m"):
        conductor.resistance_ohm(bad, 1.83)
