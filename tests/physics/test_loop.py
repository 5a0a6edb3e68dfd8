"""Loop sums against printed limits, worked examples and scenarios 08 and 10."""

from __future__ import annotations

import math

import pytest
import trade_sums
from hypothesis import given
from hypothesis import strategies as st

from earthwright.physics import loop
from earthwright.physics.domain import OutOfDomain
from earthwright.physics.network import Edge, Network, two_point

OHMS = st.floats(0, 10, allow_subnormal=False)  # the digits of the smallest numbers are too few to compare


@pytest.mark.parametrize(
    ("ia_a", "printed"),
    [(50, 4.37), (160, 1.37), (200, 1.09), (315, 0.69), (60, 3.64), (630, 0.35), (120, 1.82), (1260, 0.17)],
)
def test_limit_of_zs_as_printed(ia_a: float, printed: float) -> None:
    # B10 (read), B32, B40, B63, C6, C63, D6, D63 (from memory), 230 V, Cmin 0.95
    assert loop.zs_limit_ohm(230, ia_a, 0.95) == pytest.approx(printed, abs=0.006)


def test_limit_of_older_editions_without_cmin() -> None:
    assert loop.zs_limit_ohm(230, 50, 1.0) == 4.6


def test_cold_comparison_by_flat_factor() -> None:
    assert loop.cold_limit_ohm(1.37) == pytest.approx(1.10, abs=0.005)
    assert loop.cold_limit_ohm(7.67) == pytest.approx(6.13, abs=0.01)
    two_thirds = loop.cold_limit_ohm(loop.zs_limit_ohm(230, 160, 1.0), 2 / 3)
    assert two_thirds == pytest.approx(0.958, abs=0.001)
    # scenario 10: 0.98 Ω is below the table's 1.09 and above the cold value
    assert loop.cold_limit_ohm(1.09) == pytest.approx(0.87, abs=0.005)
    assert loop.cold_limit_ohm(1.09) < 0.98 < 1.09


@given(OHMS, st.floats(0.001, 10), st.floats(1, 1.5))
def test_cold_limit_by_temperature_is_the_limit_when_warm_again(ze: float, above: float, factor: float) -> None:
    limit = ze + above
    cold = loop.cold_limit_by_temperature_ohm(limit, ze, factor)
    assert ze < cold <= limit * (1 + 1e-12)
    assert ze + factor * (cold - ze) == pytest.approx(limit)


def test_cold_limit_at_and_above_what_ze_alone_takes() -> None:
    assert loop.cold_limit_by_temperature_ohm(1.37, 1.37, 1.2) == 1.37
    assert loop.cold_limit_by_temperature_ohm(1.37, math.nextafter(1.37, 0), 1.2) <= 1.37
    with pytest.raises(OutOfDomain, match="ze_ohm: expected at most the limit"):
        loop.cold_limit_by_temperature_ohm(1.37, math.nextafter(1.37, 2), 1.2)
    with pytest.raises(OutOfDomain, match="factor: expected at least 1"):
        loop.cold_limit_by_temperature_ohm(1.37, 0.3, 0.99)


def test_scenario_08_worst_socket_passes_by_a_hair() -> None:
    zs = loop.zs_ceiling_ohm(0.30, 0.755)
    assert zs == pytest.approx(1.05, abs=0.006)
    assert zs < 1.09


def test_ceiling_warm_and_open() -> None:
    assert loop.zs_ceiling_ohm(0.35, 0.5, 1.2) == pytest.approx(0.95)
    assert loop.zs_ceiling_ohm(0.35, math.inf) == math.inf
    assert loop.zs_ceiling_ohm(math.inf, 0.5) == math.inf


@given(OHMS, OHMS, OHMS, OHMS)
def test_ceiling_of_magnitudes_is_a_ceiling_for_any_angle(r1: float, x1: float, r2: float, x2: float) -> None:
    true = abs(complex(r1, x1) + complex(r2, x2))
    assert loop.zs_ceiling_ohm(trade_sums.magnitude_ohm(r1, x1), trade_sums.magnitude_ohm(r2, x2)) >= true * (1 - 1e-12)


@given(st.floats(0.01, 1), st.floats(0.01, 1), st.floats(0.01, 1), st.floats(1e-6, 1e6))
def test_no_metal_beside_the_earth_side_gets_below_the_floor(source: float, r1: float, r2: float, metal: float) -> None:
    net = Network(
        [
            Edge("source and line", "n", "board", source),
            Edge("r1", "board", "fault", r1),
            Edge("r2", "fault", "met", r2),
            Edge("metal", "fault", "met", metal),
            Edge("means of earthing", "met", "n", 0.2),
        ]
    )
    # the loop is the source edge in series with what lies beyond it
    zs = source + two_point(net, "n", "board", frozenset({"source and line"})).r_ohm
    floor = loop.zs_floor_ohm(source, r1)
    assert floor <= zs * (1 + 1e-12)
    assert floor == pytest.approx(source + r1)
    assert loop.zs_floor_ohm(source, r1, 1.2) == pytest.approx(source + 1.2 * r1)


@pytest.mark.parametrize(
    ("u_v", "z_ohm", "printed", "tolerance"),
    [
        (240, 0.08, 3000, 0.5),
        (230, 0.03, 7666, 1),
        (230, 0.4, 575, 0.5),
        (230, 0.35, 657, 0.5),
        (230, 0.98, 235, 0.5),
    ],
)
def test_fault_current_as_published(u_v: float, z_ohm: float, printed: float, tolerance: float) -> None:
    assert loop.fault_current_a(u_v, z_ohm) == pytest.approx(printed, abs=tolerance)


def test_fault_current_at_the_ends() -> None:
    assert loop.fault_current_a(230, math.inf) == 0
    assert loop.fault_current_a(230, 0.5, 1.1) == pytest.approx(506)
    with pytest.raises(OutOfDomain, match="z_ohm: expected more than 0"):
        loop.fault_current_a(230, 0.0)


def test_one_last_digit_of_a_low_loop() -> None:
    low, high = loop.digit_step_band_a(230, 0.03, 0.01)
    assert (low / 1000, high / 1000) == pytest.approx((6.6, 9.2), abs=0.05)
    assert loop.digit_step_band_a(230, 0.01, 0.01)[1] == pytest.approx(46000)
    # 0.01 Ω is 23 kA; the digit below it has no upper bound
    assert loop.fault_current_a(230, 0.01) == pytest.approx(23000)
    assert loop.digit_step_band_a(230, 0.0, 0.01) == pytest.approx((46000, math.inf))


def test_band_of_current_with_the_loop_at_or_below_zero() -> None:
    assert loop.fault_current_band_a(230, 0.1, 0.2) == pytest.approx((1150, 2300))
    assert loop.fault_current_band_a(230, 0.0, 0.2) == (1150, math.inf)
    assert loop.fault_current_band_a(230, -0.1, math.inf) == (0, math.inf)
    assert loop.fault_current_band_a(230, 1e-9, 0.2)[1] == pytest.approx(2.3e11)
    with pytest.raises(OutOfDomain, match="loop: expected low <= high"):
        loop.fault_current_band_a(230, 0.2, 0.1)


def test_three_phase_conventions_as_published() -> None:
    assert loop.three_phase_doubled_a(3000) == 6000
    assert loop.three_phase_root3_a(3000) == pytest.approx(5190, abs=10)  # printed with 1.73 for √3
    assert loop.three_phase_root3_a(3000) == pytest.approx(3000 * math.sqrt(3))


@given(st.floats(0.01, 1), st.floats(0, 1.5))
def test_doubling_is_cautious_until_the_neutral_is_the_poorer(z_line: float, neutral_share: float) -> None:
    line_neutral = loop.fault_current_a(230, z_line * (1 + neutral_share))
    three = trade_sums.three_phase_a(230 * math.sqrt(3), z_line)
    doubled = loop.three_phase_doubled_a(line_neutral)
    if neutral_share <= 1:
        assert doubled >= three * (1 - 1e-12)
    else:
        assert doubled < three


def test_line_to_line_is_root_3_over_2_of_three_phase() -> None:
    z = 0.04
    assert trade_sums.line_to_line_a(400, z) == pytest.approx(5000)
    assert trade_sums.line_to_line_a(400, z) / trade_sums.three_phase_a(400, z) == pytest.approx(math.sqrt(3) / 2)
    assert trade_sums.line_to_line_a(400, z, 1.05) == pytest.approx(5250)


@pytest.mark.parametrize(("r_ohm", "x_ohm", "z_ohm"), [(3, 4, 5), (3, -4, 5), (0, 0, 0), (0.5, 0, 0.5)])
def test_magnitude(r_ohm: float, x_ohm: float, z_ohm: float) -> None:
    assert trade_sums.magnitude_ohm(r_ohm, x_ohm) == z_ohm


# A 10 kV feed of 250 MVA (R/X 0.1), a 400 kVA Dyn transformer (uk 4 %, uR 1.15 %), 100 m of 0.320 + j0.082 Ω/km whose
# zero-sequence impedance is four times that; voltage factor 1.05. The expected currents were computed apart with pandapower
# 3.5.6 (IEC 60909, lv_tol_percent=6): three-phase, line to line and line to earth, at the busbar and at the cable's end.
PANDAPOWER_KA = {"busbar": (14.882902, 12.888971, 15.096626), "end": (5.556024, 4.811658, 3.209427)}


def feeder_ohm(place: str) -> tuple[complex, complex]:
    """Positive- and zero-sequence impedance at 400 V from the data above, by hand."""
    x_grid = 1.1 * 10e3**2 / 250e6 / math.sqrt(1 + 0.1**2)
    grid = complex(0.1 * x_grid, x_grid) * (0.4 / 10) ** 2
    rated = 400**2 / 400e3
    r_t, z_t = 0.0115 * rated, 0.04 * rated
    x_t = math.sqrt(z_t**2 - r_t**2)
    transformer = complex(r_t, x_t) * 0.95 * 1.05 / (1 + 0.6 * x_t / rated)
    cable = 0.0 if place == "busbar" else complex(0.0320, 0.0082)
    return grid + transformer + cable, transformer + 4 * cable


@pytest.mark.parametrize("place", ["busbar", "end"])
def test_fault_currents_of_a_feeder_behind_a_transformer(place: str) -> None:
    three, two, one = PANDAPOWER_KA[place]
    positive, zero = feeder_ohm(place)
    line = trade_sums.magnitude_ohm(positive.real, positive.imag)
    assert trade_sums.three_phase_a(400, line, 1.05) / 1000 == pytest.approx(three, rel=1e-6)
    assert trade_sums.line_to_line_a(400, line, 1.05) / 1000 == pytest.approx(two, rel=1e-6)
    around = (2 * positive + zero) / 3
    earth_loop = trade_sums.magnitude_ohm(around.real, around.imag)
    assert loop.fault_current_a(400 / math.sqrt(3), earth_loop, 1.05) / 1000 == pytest.approx(one, rel=1e-6)
