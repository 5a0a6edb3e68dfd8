"""The display model: a trapezoid of two rectangular errors, rounded; against Monte Carlo and in its limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from earthwright.base import display as dp
from earthwright.base.display import Display


@pytest.mark.parametrize("true", [0.0, 0.003, 0.03, 0.5, 0.67, 3.0, 60.0, 97.5, 150.0])
def test_chance_of_each_digit_against_monte_carlo(true: float) -> None:
    """A million displays drawn from gain and digit error; the share of each digit within four standard deviations."""
    n, d = 1_000_000, Display()
    rng = np.random.default_rng(5)
    raw = true * rng.uniform(0.97, 1.03, n) + rng.uniform(-0.02, 0.02, n)
    digit = np.maximum(0, np.floor(raw / 0.01 + 0.5))
    over = digit > 9999
    for k in sorted({*np.unique(digit[~over])[:: max(1, len(np.unique(digit)) // 6)]}):
        p = d.chance(float(k) * 0.01, true)
        assert np.mean(digit[~over] == k) * np.mean(~over) == pytest.approx(p, abs=4 * math.sqrt(p / n + 1e-12) + 1e-5)
    assert np.mean(over) == pytest.approx(d.chance(math.inf, true), abs=0.002)


@pytest.mark.parametrize("limits", [(3.0, 2.0), (0.0, 5.0), (5.0, 0.0), (2.0, 20.0), (10.0, 1.0)])
@pytest.mark.parametrize("true", [0.01, 0.2, 4.0, 40.0])
def test_share_below_an_edge_against_monte_carlo(true: float, limits: tuple[float, float]) -> None:
    """The trapezoid at seven places across its width, each within four standard deviations of a million draws."""
    n, (pct, digits) = 1_000_000, limits
    d = Display(pct=pct, digits=digits)
    rng = np.random.default_rng(7)
    raw = true * (1 + rng.uniform(-pct, pct, n) / 100) + rng.uniform(-digits, digits, n) * d.step
    reach = true * pct / 100 + digits * d.step
    for share in (-1.01, -0.8, -0.3, 0.0, 0.4, 0.9, 1.01):
        edge = true + share * reach
        p = d.below(edge, true)
        assert np.mean(raw <= edge) == pytest.approx(p, abs=4 * math.sqrt(p * (1 - p) / n) + 1e-9)


@given(st.floats(0.001, 90), st.floats(0.1, 10), st.floats(0.1, 20), st.floats(-1, 1))
def test_share_below_is_symmetric_and_rises(true: float, pct: float, digits: float, share: float) -> None:
    d = Display(pct=pct, digits=digits)
    reach = true * pct / 100 + digits * d.step + d.step
    x = share * reach
    assert d.below(true + x, true) + d.below(true - x, true) == pytest.approx(1.0, abs=1e-9)
    assert d.below(true + x, true) <= d.below(true + x + 0.01 * reach, true) + 1e-12


@pytest.mark.parametrize("true", [0.0, 0.05, 0.8, 7.0, 60.0])
def test_a_group_has_the_chances_of_its_digits(true: float) -> None:
    """Collecting digits into groups loses none: each group is the sum of the single digits between its edges."""
    d, index = Display(), dp.grid_index(true)
    value = dp.grid_value(index)
    found = dict(dp.groups(d)[index])
    gathered: dict[int, float] = {}
    for k in range(10_000):
        p = d.chance(k * d.step, value)
        if p > 0:
            group = dp.group_of(d, k * d.step)
            gathered[group] = gathered.get(group, 0.0) + p
    assert set(gathered) <= set(found)
    for group, p in gathered.items():
        assert found[group] == pytest.approx(p, abs=1e-9)


@given(st.floats(0, 200), st.sampled_from([(3.0, 2.0), (0.0, 2.0), (2.0, 0.0), (5.0, 5.0)]))
def test_chances_of_all_digits_add_up(true: float, limits: tuple[float, float]) -> None:
    d = Display(pct=limits[0], digits=limits[1], step=0.1, top=99.9)
    total = math.fsum(d.chance(k * 0.1, true) for k in range(1000)) + d.chance(math.inf, true)
    assert total == pytest.approx(1.0, abs=1e-9)


def test_a_perfect_instrument_shows_the_rounded_value() -> None:
    d = Display(pct=0.0, digits=0.0)
    assert d.chance(0.03, 0.0349) == 1.0
    assert d.chance(0.03, 0.0351) == 0.0


def test_an_open_circuit_shows_over_range_only() -> None:
    d = Display()
    assert d.chance(math.inf, math.inf) == 1.0
    assert d.chance(0.05, math.inf) == 0.0
    assert d.below(1.0, math.inf) == 0.0


@pytest.mark.parametrize("shown", [0.0, 0.01, 0.05, 1.0, 50.0, math.inf])
def test_outside_its_window_a_digit_has_no_chance(shown: float) -> None:
    d = Display()
    low, high = d.window(shown)
    assert d.chance(shown, max(0.0, low) * 0.999) == pytest.approx(0.0, abs=1e-12) or low < 0
    if math.isfinite(high):
        assert d.chance(shown, high * 1.001) == pytest.approx(0.0, abs=1e-12)


def test_leads_left_in_widen_the_window_of_the_truth() -> None:
    d = Display()
    assert d.chance_with_offset(0.33, 0.03, (0.28, 0.32)) > 0.1
    assert d.chance_with_offset(0.33, 0.03, (0.0, 0.0)) == 0.0
    assert d.chance_with_offset(math.inf, math.inf, (0.1, 0.2)) == 1.0
    mean = np.mean([d.chance(0.33, 0.03 + x) for x in np.linspace(0.28, 0.32, 4001)])
    assert d.chance_with_offset(0.33, 0.03, (0.28, 0.32)) == pytest.approx(mean, abs=0.01)


def test_grid_covers_from_nothing_to_open() -> None:
    assert dp.grid_index(0.0) == 0
    assert dp.grid_value(0) == 0.0
    assert dp.grid_index(math.inf) == dp.OPEN
    assert dp.grid_value(dp.OPEN) == math.inf
    assert dp.grid_index(1e9) == dp.GRID_SIZE - 1
    for value in (0.001, 0.03, 1.0, 500.0):
        assert dp.grid_value(dp.grid_index(value)) == pytest.approx(value, rel=0.02)


@pytest.mark.parametrize("true", [0.0, 0.02, 0.3, 5.0, 97.0, 99.0, 300.0, math.inf])
def test_group_chances_add_up_and_hold_the_digits(true: float) -> None:
    d = Display()
    index = dp.grid_index(true)
    chances = dict(dp.groups(d)[index])
    assert math.fsum(chances.values()) == pytest.approx(1.0, abs=1e-9)
    if 0.005 < true < 90:
        exact = dp.grid_value(index)
        group = dp.group_of(d, round(exact / 0.01) * 0.01)
        assert chances[group] > 0.0


def test_groups_of_shown_values() -> None:
    d = Display()
    assert dp.group_of(d, 0.0) == 0
    assert dp.group_of(d, 0.07) == 7
    assert dp.group_of(d, 99.99) == len(dp.edges(d)) - 1
    assert dp.group_of(d, 500.0) == dp.OVER
    assert dp.group_of(d, math.inf) == dp.OVER
    assert list(dp.edges(d)) == sorted(dp.edges(d))


@pytest.mark.parametrize("shown", [0.0, 0.01, 0.03, 0.5, 20.0])
@pytest.mark.parametrize("offset", [(0.0, 0.0), (0.0, 0.05)])
def test_the_tabulated_chance_is_the_chance(shown: float, offset: tuple[float, float]) -> None:
    """Between its points too, and nothing outside of them."""
    d = Display()
    quick = dp.chances(d, shown, offset)
    low, high = d.window(shown)
    for i in range(1001):
        true = max(0.0, low - offset[1]) + (high - max(0.0, low - offset[1])) * i / 1000
        assert quick(true) == pytest.approx(d.chance_with_offset(shown, true, offset), abs=0.002)
    assert quick(high * 1.01 + 0.001) == 0.0
    if low > offset[1]:
        assert quick((low - offset[1]) * 0.98) == 0.0


def test_an_over_range_is_not_tabulated() -> None:
    d = Display()
    assert dp.chances(d, math.inf, (0.0, 0.0))(150.0) == 1.0
    assert dp.chances(d, math.inf, (0.0, 0.0))(1.0) == 0.0
