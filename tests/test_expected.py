"""Bands, known paths, closure, explanations: closed forms and limiting cases."""

from __future__ import annotations

import math

import pytest

from earthwright.base.display import Display
from earthwright.base.quantity import Band, exact, rectangular
from earthwright.evidence.expected import close, copper_band, expect, on_display
from earthwright.evidence.explain import explain_conductor
from earthwright.site.installation import Bond

BOND = Bond("water", "water", 10, 24, 2)
COPPER = copper_band(BOND, 1.83, (0.93, 1.0), 0.01)


def test_24_m_of_10_mm2() -> None:
    """22 m · 1.83 · 0.93 = 0.0374 Ω to 26 m · 1.83 + 0.01 = 0.0576 Ω."""
    assert COPPER.low == pytest.approx(0.03744, abs=0.00001)
    assert COPPER.high == pytest.approx(0.05758, abs=0.00001)


def test_what_each_test_should_show() -> None:
    d = Display()
    assert expect("conductor", COPPER, None, d, 0.01).band == COPPER
    together = expect("together", COPPER, None, d, 0.01).band
    assert together is not None
    assert (together.low, together.high) == (0.0, COPPER.high)
    with_path = expect("together", COPPER, Band(0.1, 0.1, "Ω"), d, 0.01).band
    assert with_path is not None
    assert with_path.high == pytest.approx(COPPER.high * 0.1 / (COPPER.high + 0.1))
    assert expect("path", COPPER, None, d, 0.01).band is None
    assert expect("path", COPPER, Band(0.1, 0.2, "Ω"), d, 0.01).band == Band(0.0, 0.2, "Ω")
    assert expect("joint", COPPER, None, d, 0.01).band == Band(0.0, 0.01, "Ω")
    body = expect("clamp body", COPPER, None, d, 0.01).band
    assert body is not None
    assert body.high == pytest.approx(COPPER.high - 0.01)
    with pytest.raises(ValueError, match="no expectation"):
        expect("polarity", COPPER, None, d, 0.01)


def test_digits_for_a_band_include_limits_of_error_and_rounding() -> None:
    """0.0374 · 0.97 − 0.02 = 0.0163 → 0.02; 0.0576 · 1.03 + 0.02 = 0.0793 → 0.08."""
    shown = on_display(COPPER, Display())
    assert (shown.low, shown.high) == (pytest.approx(0.02), pytest.approx(0.08))
    assert on_display(Band(0.0, 0.01, "Ω"), Display()).low == 0.0


def test_three_readings_that_hang_together() -> None:
    """Visit 01: 1/(1/0.05 + 1/0.03) = 0.01875 Ω; 0.02 Ω was read."""
    quantities = [rectangular(v, 0.03 * v + 0.025, "Ω", str(v), "limit") for v in (0.05, 0.03, 0.02)]
    c = close(*quantities)
    assert c.predicted == pytest.approx(0.01875)
    assert c.closes
    off = close(quantities[0], quantities[1], rectangular(0.10, 0.028, "Ω", "t", "limit"))
    assert not off.closes


def test_without_a_path_together_is_the_conductor() -> None:
    c = close(exact(0.05, "Ω"), None, exact(0.05, "Ω"))
    assert c.predicted == 0.05
    assert c.closes
    assert close(exact(0.0, "Ω"), exact(0.0, "Ω"), exact(0.0, "Ω")).predicted == 0.0


def test_closure_uncertainty_is_the_first_order_one() -> None:
    """∂t/∂c = (p/(c+p))², ∂t/∂p = (c/(c+p))²."""
    c, p, t = (rectangular(v, h, "Ω", str(v), "x") for v, h in ((0.05, 0.01), (0.1, 0.02), (0.033, 0.01)))
    share = 0.1 / 0.15
    u = math.sqrt(t.u**2 + (share**2 * c.u) ** 2 + ((1 - share) ** 2 * p.u) ** 2)
    assert close(c, p, t).difference.u == pytest.approx(u, rel=1e-12)


def kinds(shown: float, **more: object) -> list[str]:
    smaller = [(4.0, copper_band(BOND, 4.61, (0.93, 1), 0.01)), (2.5, copper_band(BOND, 7.41, (0.93, 1), 0.01))]
    return [e.kind for e in explain_conductor(shown, Display(), COPPER, smaller, **more)]  # type: ignore[arg-type]


def test_a_smaller_size_explains_a_higher_reading() -> None:
    """24 m of 4 mm² is 0.094 to 0.130 Ω."""
    assert kinds(0.11)[0] == "size"
    assert "joint" in kinds(0.11)


def test_a_joint_that_was_measured_explains_itself() -> None:
    assert kinds(0.43, joint_ohm=0.41)[0] == "joint"
    assert "joint" not in kinds(0.43, joint_ohm=0.00)
    assert kinds(0.83, lead_ohm=0.78)[0] == "leads"


def test_too_low_a_conductor_reading() -> None:
    assert kinds(0.0, together_ohm=0.0)[0] == "slip"
    assert kinds(0.0) == ["parallel", "null", "length"]


def test_open_names_the_lead_unless_it_was_shorted_after() -> None:
    assert kinds(math.inf) == ["open", "lead"]
    assert kinds(math.inf, leads_good_after=True) == ["open"]
    assert kinds(0.05) == []
