"""First-order propagation against the GUM's examples and two reference packages."""

from __future__ import annotations

import math

import GTC
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import correlated_values, ufloat

from earthwright.base.quantity import Influence, Quantity, combine, exact, rectangular


def test_h1_difference_of_the_comparator() -> None:
    """JCGM 100:2008 H.1: u(d) = 9.7 nm with 25.6 degrees of freedom."""
    d = Quantity(
        215.0,
        "nm",
        (Influence("s", "repeat", 5.8, 24), Influence("d1", "random", 3.9, 5), Influence("d2", "systematic", 6.7, 8)),
    )
    assert d.u == pytest.approx(9.7, abs=0.05)
    assert d.dof == pytest.approx(25.6, abs=0.2)


V = [5.007, 4.994, 5.005, 4.990, 4.999]
I_MA = [19.663, 19.639, 19.640, 19.685, 19.678]
PHI = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]


def _h2() -> tuple[Quantity, Quantity, Quantity]:
    """The three inputs of H.2: their correlation becomes shared causes by a Cholesky factor of the covariance of the means."""
    data = np.array([V, np.array(I_MA) / 1000, PHI])
    factor = np.linalg.cholesky(np.cov(data) / 5)
    return tuple(  # type: ignore[return-value]
        Quantity(
            float(data[row].mean()),
            "1",
            tuple(Influence(f"cause {k}", "", float(factor[row, k])) for k in range(row + 1)),
        )
        for row in range(3)
    )


def test_h2_resistance_reactance_impedance() -> None:
    """JCGM 100:2008 H.2: R = 127.732, u = 0.071; X = 219.847, u = 0.295; Z = 254.260, u = 0.236 and their correlations."""
    v, i, phi = _h2()
    z = v.value / i.value
    r_value, x_value = z * math.cos(phi.value), z * math.sin(phi.value)
    r = combine(r_value, "Ω", ((r_value / v.value, v), (-r_value / i.value, i), (-x_value, phi)))
    x = combine(x_value, "Ω", ((x_value / v.value, v), (-x_value / i.value, i), (r_value, phi)))
    zq = combine(z, "Ω", ((z / v.value, v), (-z / i.value, i)))
    assert r.value == pytest.approx(127.732, abs=0.0005)
    assert r.u == pytest.approx(0.071, abs=0.0006)
    assert x.value == pytest.approx(219.847, abs=0.0005)
    assert x.u == pytest.approx(0.295, abs=0.0006)
    assert zq.value == pytest.approx(254.260, abs=0.0005)
    assert zq.u == pytest.approx(0.236, abs=0.0006)
    assert _correlation(r, x) == pytest.approx(-0.588, abs=0.006)
    assert _correlation(r, zq) == pytest.approx(-0.485, abs=0.006)
    assert _correlation(x, zq) == pytest.approx(0.993, abs=0.006)


def test_h2_correlation_of_the_inputs() -> None:
    """JCGM 100:2008 table H.2: r(V,I) = −0.36, r(V,φ) = 0.86, r(I,φ) = −0.65."""
    v, i, phi = _h2()
    assert _correlation(v, i) == pytest.approx(-0.36, abs=0.006)
    assert _correlation(v, phi) == pytest.approx(0.86, abs=0.006)
    assert _correlation(i, phi) == pytest.approx(-0.65, abs=0.006)


def _correlation(a: Quantity, b: Quantity) -> float:
    """From the uncertainty of the sum: u²(a+b) = u²(a) + u²(b) + 2 r u(a) u(b)."""
    total = combine(0.0, "1", ((1 / a.u, a), (1 / b.u, b))).u
    return (total**2 - 2) / 2


def test_thermal_expansion_of_nist_tn_1900_e13() -> None:
    """NIST TN 1900 E13: 1.7266e-5 per kelvin, u = 1.76e-6."""
    l0, l1, t0, t1 = 1.4999, 1.5021, 288.15, 373.10
    u = {"l0": 0.0001, "l1": 0.0002, "t0": 0.02, "t1": 0.05}
    dt_, dl = t1 - t0, l1 - l0
    alpha = dl / (l0 * dt_)
    parts = {
        "l1": 1 / (l0 * dt_),
        "l0": -l1 / (l0 * l0 * dt_),
        "t1": -alpha / dt_,
        "t0": alpha / dt_,
    }
    q = combine(alpha, "1/K", [(s, Quantity(0, "x", (Influence(k, k, u[k]),))) for k, s in parts.items()])
    assert q.value == pytest.approx(1.7266e-5, abs=0.5e-9)
    assert q.u == pytest.approx(1.76e-6, abs=0.5e-8)


def test_four_inputs_of_which_one_is_ten_times_larger() -> None:
    """JCGM 101:2008 9.2.4: propagation gives ±19.9 where the distributions give ±17.0; the wider is the cautious one."""
    q = exact(0.0, "1")
    for key, u in (("a", 1.0), ("b", 1.0), ("c", 1.0), ("d", 10.0)):
        q = q + rectangular(0.0, u * math.sqrt(3), "1", key, "rectangular")
    assert q.u == pytest.approx(10.1, abs=0.05)
    assert q.expanded(0.95) == pytest.approx(19.9, abs=0.05)


def test_logarithm_of_a_rectangular_value() -> None:
    """NPL DEM-ES-011 table 9.2, the column of propagation: −0.511, u = 0.481, upper end 0.432."""
    x = rectangular(0.6, 0.5, "1", "x", "from 0.1 to 1.1")
    q = combine(math.log(x.value), "1", ((1 / x.value, x),))
    assert q.value == pytest.approx(-0.511, abs=0.0005)
    assert q.u == pytest.approx(0.481, abs=0.0005)
    assert q.interval(0.95).high == pytest.approx(0.432, abs=0.0005)


def test_step_attenuator_of_nist_tn_1900_e11() -> None:
    """NIST TN 1900 E11: 30.043 dB, u = 0.0224 dB; the arcsine limits count with half-width/√2."""
    q = exact(30.0402, "dB").with_influence("reference", "reference", 0.0091, 3) + exact(0.003, "dB")
    for n, half in enumerate((0.00433, 0.0005196, 0.0005196)):
        q = q + rectangular(0.0, half, "dB", f"rectangular {n}", "rectangular")
    for n, u in enumerate((0.002, 0.002)):
        q = q.with_influence(f"normal {n}", "normal", u)
    for n, half in enumerate((0.02828, 0.00198, 0.0029698)):
        q = q.with_influence(f"arcsine {n}", "arcsine", half / math.sqrt(2))
    assert q.value == pytest.approx(30.043, abs=0.0005)
    assert q.u == pytest.approx(0.0224, abs=0.00005)


def test_quotient_and_product_with_degrees_of_freedom() -> None:
    """A course's X-ray example: 0.6967, u = 0.00494, 27.7 degrees of freedom (rounded on the way), ±0.0101 for 95 %."""
    x1 = Quantity(0.1820, "1", (Influence("x1", "x1", 0.00093, 9),))
    x2 = Quantity(0.1823, "1", (Influence("x2", "x2", 0.00058, 19),))
    yu = Quantity(0.6978, "1", (Influence("yu", "yu", 0.0026, 19),))
    y = x1.value / x2.value * yu.value
    q = combine(y, "1", ((y / x1.value, x1), (-y / x2.value, x2), (y / yu.value, yu)))
    assert q.value == pytest.approx(0.6967, abs=0.0001)
    assert q.u == pytest.approx(0.00494, abs=0.00001)
    assert q.dof == pytest.approx(27.7, abs=0.5)
    assert q.expanded(0.95) == pytest.approx(0.0101, abs=0.0001)


positive = st.floats(0.01, 100.0)
small = st.floats(1e-4, 0.5)


@given(positive, small, positive, small, positive, small)
def test_parallel_resistance_against_the_uncertainties_package(c, uc, p, up, t, ut) -> None:
    """difference = together − c·p/(c + p), inputs independent."""
    oracle = ufloat(t, ut) - (lambda x, y: x * y / (x + y))(ufloat(c, uc), ufloat(p, up))
    share_c, share_p = (p / (c + p)) ** 2, (c / (c + p)) ** 2
    q = [Quantity(v, "Ω", (Influence(k, k, u),)) for k, v, u in (("c", c, uc), ("p", p, up), ("t", t, ut))]
    ours = combine(t - c * p / (c + p), "Ω", ((1, q[2]), (-share_c, q[0]), (-share_p, q[1])))
    assert ours.u == pytest.approx(oracle.std_dev, rel=1e-9)
    assert ours.value == pytest.approx(oracle.nominal_value, rel=1e-9, abs=1e-12)


@given(small, st.integers(2, 60), small, st.integers(2, 60))
def test_degrees_of_freedom_against_gtc(u1, n1, u2, n2) -> None:
    oracle = GTC.ureal(1.0, u1, n1) + GTC.ureal(2.0, u2, n2)
    a, b = Quantity(1.0, "Ω", (Influence("a", "a", u1, n1),)), Quantity(2.0, "Ω", (Influence("b", "b", u2, n2),))
    ours = a + b
    assert ours.u == pytest.approx(GTC.uncertainty(oracle), rel=1e-9)
    assert ours.dof == pytest.approx(GTC.dof(oracle), rel=1e-9)


@given(positive, small, st.floats(-3, 3), st.floats(-3, 3))
def test_a_common_cause_is_one_cause_as_in_gtc(x, u, s1, s2) -> None:
    common = GTC.ureal(x, u)
    oracle = s1 * common + s2 * common
    q = Quantity(x, "Ω", (Influence("lead", "lead", u),))
    assert combine(0.0, "Ω", ((s1, q), (s2, q))).u == pytest.approx(GTC.uncertainty(oracle), rel=1e-9, abs=1e-15)


@given(st.lists(positive, min_size=3, max_size=3), st.lists(st.floats(-1, 1), min_size=9, max_size=9))
def test_correlated_inputs_against_the_uncertainties_package(values: list[float], spread: list[float]) -> None:
    """y = a·b/c: shared causes by a Cholesky factor, against a covariance matrix given to the package."""
    matrix = np.array(spread).reshape(3, 3)
    covariance = matrix @ matrix.T * 1e-4 + np.eye(3) * 1e-4
    a, b, c = correlated_values(values, covariance)
    oracle = a * b / c
    factor = np.linalg.cholesky(covariance)
    q = [
        Quantity(v, "1", tuple(Influence(str(k), "", float(factor[n, k])) for k in range(n + 1)))
        for n, v in enumerate(values)
    ]
    y = values[0] * values[1] / values[2]
    ours = combine(y, "1", ((y / values[0], q[0]), (y / values[1], q[1]), (-y / values[2], q[2])))
    assert ours.value == pytest.approx(oracle.nominal_value, rel=1e-9)
    assert ours.u == pytest.approx(oracle.std_dev, rel=1e-6, abs=1e-9 * abs(y))


@given(positive, small, st.integers(2, 60), st.floats(0.5, 0.999))
def test_expanded_uncertainty_against_gtc(x: float, u: float, dof: int, p: float) -> None:
    oracle = GTC.reporting.k_factor(dof, 100 * p) * u
    assert Quantity(x, "Ω", (Influence("a", "a", u, dof),)).expanded(p) == pytest.approx(oracle, rel=1e-6)
