"""Quantity, band, limit: construction, refusal, limiting cases."""

from __future__ import annotations

import math

import pytest
from scipy import stats

from earthwright.base.errors import UnitError
from earthwright.base.quantity import Band, Influence, Limit, Quantity, exact, rectangular, t_factor


def test_a_value_without_unit_cannot_be_made() -> None:
    with pytest.raises(UnitError):
        exact(1.0, "")
    with pytest.raises(UnitError):
        Band(0, 1, "")


def test_rectangular_is_half_width_over_root_three() -> None:
    """JCGM 100:2008 4.3.7."""
    q = rectangular(1.0, 0.3, "Ω", "k", "limit")
    assert q.u == pytest.approx(0.3 / math.sqrt(3), rel=1e-12)
    assert q.dof == math.inf
    assert q.expanded() == pytest.approx(1.959964 * q.u, rel=1e-6)


def test_exact_values_have_no_interval() -> None:
    q = exact(230.0, "V")
    assert (q.u, q.expanded()) == (0.0, 0.0)
    assert q.interval() == Band(230.0, 230.0, "V")


def test_adding_units_that_differ_is_refused() -> None:
    with pytest.raises(UnitError, match="Ω and V"):
        exact(1, "Ω") + exact(1, "V")
    with pytest.raises(UnitError):
        exact(1, "Ω") - exact(1, "V")


def test_difference_with_itself_has_no_doubt() -> None:
    q = rectangular(1.0, 0.3, "Ω", "k", "limit")
    assert (q - q).u == pytest.approx(0.0, abs=1e-15)
    assert (q + q).u == pytest.approx(2 * q.u)


def test_budget_is_weightiest_first() -> None:
    q = (
        exact(1, "Ω")
        .with_influence("a", "small", 0.1)
        .with_influence("b", "large", -0.5)
        .with_influence("a", "small", 0.1)
    )
    assert [c.key for c in q.budget()] == ["b", "a"]
    assert q.budget()[1].u == pytest.approx(0.2)


def test_welch_satterthwaite_with_one_cause_is_its_own() -> None:
    assert Quantity(0, "Ω", (Influence("a", "a", 0.2, 7),)).dof == pytest.approx(7)


@pytest.mark.parametrize("dof", [0.0, -3.0, math.nan])
def test_degrees_of_freedom_below_nothing_are_refused(dof: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        Influence("a", "a", 0.2, dof)


def test_a_stated_limit_adds_no_degrees_of_freedom() -> None:
    """JCGM 100:2008 G.4.2: a limit known exactly has infinitely many, so only the other cause counts."""
    q = Quantity(0, "Ω", (Influence("a", "a", 1.0, 4), Influence("b", "b", 1.0)))
    assert q.dof == pytest.approx(4 * 2**2)  # u⁴ is 4 and the only term is 1/4
    assert Quantity(0, "Ω", (Influence("a", "a", 0.0, 4),)).dof == math.inf


def test_a_sum_keeps_every_cause_once() -> None:
    a = exact(1, "Ω").with_influence("lead", "leads", 0.3).with_influence("x", "x", 0.4)
    b = exact(2, "Ω").with_influence("lead", "leads", 0.3).with_influence("y", "y", 0.4)
    assert {c.key for c in (a + b).influences} == {"lead", "x", "y"}
    assert (a + b).u == pytest.approx(math.hypot(0.6, 0.4, 0.4))
    assert (a - b).u == pytest.approx(math.hypot(0.4, 0.4))
    assert ((a + b).value, (a - b).value) == (3, -1)


@pytest.mark.parametrize(("p", "k"), [(0.6827, 1.0), (0.95, 1.96), (0.99, 2.576), (0.9973, 3.0)])
def test_interval_of_a_normal_quantity(p: float, k: float) -> None:
    """JCGM 100:2008 table G.2, last row: 1.000, 1.960, 2.576, 3.000."""
    q = exact(5.0, "Ω").with_influence("a", "a", 0.1)
    band = q.interval(p)
    assert (band.high - 5.0) / 0.1 == pytest.approx(k, abs=0.0005)
    assert (5.0 - band.low) / 0.1 == pytest.approx(k, abs=0.0005)
    assert band.unit == "Ω"


def test_band_edges_belong_to_it() -> None:
    band = Band(1.0, 2.0, "Ω")
    assert [band.holds(x) for x in (0.999, 1.0, 2.0, 2.001)] == [False, True, True, False]
    assert band.touches(Band(2.0, 3.0, "Ω"))
    assert not band.touches(Band(2.001, 3.0, "Ω"))
    with pytest.raises(ValueError, match="low to high"):
        Band(2.0, 1.0, "Ω")
    with pytest.raises(UnitError):
        band.touches(Band(1, 2, "V"))


def test_limit_says_where_it_is_from() -> None:
    limit = Limit(10, "mm²", "min", "bond", "544.1", "BS 7671", "2018", "memory")
    assert "memory" in limit.source()
    assert "memory" not in Limit(10, "mm²", "min", "bond", "544.1", "BS 7671", "2018", "read").source()
    with pytest.raises(ValueError, match="'max' or 'min'"):
        Limit(1, "Ω", "most", "x", "c", "d", "e", "read")
    with pytest.raises(ValueError, match="'read' or 'memory'"):
        Limit(1, "Ω", "max", "x", "c", "d", "e", "guess")


@pytest.mark.parametrize("p", [0.5, 0.6827, 0.9, 0.95, 0.99, 0.9973])
@pytest.mark.parametrize("dof", [0.5, 1, 2, 3.5, 5, 10, 25.6, 100, 5000, 999_999])
def test_t_factor_against_scipy(p: float, dof: float) -> None:
    assert t_factor(p, dof) == pytest.approx(stats.t.ppf(0.5 + p / 2, dof), rel=1e-7)


def test_t_factor_of_many_degrees_is_normal() -> None:
    assert t_factor(0.95, math.inf) == pytest.approx(1.959963984540054, rel=1e-12)
    assert t_factor(0.95, 1_000_001) == pytest.approx(stats.t.ppf(0.975, 1_000_001), rel=2e-6)
    for p, dof in ((0.0, 5), (1.0, 5), (0.95, 0)):
        with pytest.raises(ValueError):
            t_factor(p, dof)
