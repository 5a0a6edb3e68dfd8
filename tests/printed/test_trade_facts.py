"""Facts of the trade that no document was found for: common practice, no source."""

from __future__ import annotations

import datetime as dt

import pytest
from sums.common import Rules

from earthwright.physics import adiabatic, conductor

RULES = Rules(dt.date(2026, 11, 20))


def test_10_mm2_is_0_00183_ohm_per_metre() -> None:
    """Common practice, no source."""
    assert conductor.resistance_ohm(1, RULES.r20("copper", 2, 10)) == pytest.approx(0.00183, abs=0.000005)


def test_25_m_of_10_mm2_is_about_0_046_ohm() -> None:
    """Common practice, no source."""
    assert conductor.resistance_ohm(25, RULES.r20("copper", 2, 10)) == pytest.approx(0.046, abs=0.0005)


def test_50_m_of_1_5_mm2_is_about_0_6_ohm() -> None:
    """Common practice, no source."""
    assert conductor.resistance_ohm(50, RULES.r20("copper", 2, 1.5)) == pytest.approx(0.6, abs=0.05)


def test_6_mm2_carries_about_1090_a_for_0_4_s() -> None:
    """Common practice, no source: k = 115."""
    assert adiabatic.withstand_i_a(6, 0.4, 115) == pytest.approx(1090, abs=5)
