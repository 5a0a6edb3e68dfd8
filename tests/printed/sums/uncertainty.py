"""Propagation of uncertainty, Student's t, degrees of freedom, and what a decision rule risks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist, fmean

import numpy as np

from earthwright.base.quantity import Influence, Limit, Quantity, combine, exact, rectangular, t_factor
from earthwright.outcomes.verdict import GUARDED, MEETS, SIMPLE, judge

from .common import Inputs, Route, Rules


def _causes(i: Inputs) -> tuple[Influence, ...]:
    return tuple(Influence(name, name, u, df) for name, u, df in i["causes"])


def _h1(i: Inputs) -> Quantity:
    """H.1 to first order: the contributions of the guide's table H.1, as one budget."""
    return Quantity(i["ls_nm"] + i["d_nm"], "nm", _causes(i))


def _h1_difference(i: Inputs) -> Quantity:
    return Quantity(i["d_nm"], "nm", _causes(i))


def impedance_inputs(i: Inputs) -> tuple[Quantity, Quantity, Quantity]:
    """Voltage, current and angle of H.2; a Cholesky factor of the covariance of their means makes shared causes."""
    readings = np.array([i["V_V"], np.array(i["I_mA"]) / 1000, i["phi_rad"]])
    factor = np.linalg.cholesky(np.cov(readings) / readings.shape[1])
    made = [
        Quantity(fmean(readings[n]), "1", tuple(Influence(f"cause {k}", "", float(factor[n, k])) for k in range(n + 1)))
        for n in range(3)
    ]
    return made[0], made[1], made[2]


def impedance(i: Inputs) -> tuple[Quantity, Quantity, Quantity]:
    """Resistance, reactance and impedance of H.2."""
    v, a, phi = impedance_inputs(i)
    z = v.value / a.value
    r, x = z * math.cos(phi.value), z * math.sin(phi.value)
    return (
        combine(r, "Ω", ((r / v.value, v), (-r / a.value, a), (-x, phi))),
        combine(x, "Ω", ((x / v.value, v), (-x / a.value, a), (r, phi))),
        combine(z, "Ω", ((z / v.value, v), (-z / a.value, a))),
    )


def correlation(a: Quantity, b: Quantity) -> float:
    """From the uncertainty of the sum of both, each scaled to 1: u² = 2 + 2r."""
    return (combine(0.0, "1", ((1 / a.u, a), (1 / b.u, b))).u ** 2 - 2) / 2


def _pairs(three: Sequence[Quantity]) -> list[float]:
    return [correlation(three[a], three[b]) for a, b in ((0, 1), (0, 2), (1, 2))]


def _h2_resistance(i: Inputs, _: Rules) -> list[float]:
    r = impedance(i)[0]
    return [r.value, r.u]


def _expansion(i: Inputs, _: Rules) -> list[float]:
    """(L1 − L0)/(L0·(T1 − T0))."""
    (l0, u_l0), (l1, u_l1), (t0, u_t0), (t1, u_t1) = (i[k] for k in ("L0", "L1", "T0", "T1"))
    alpha = (l1 - l0) / (l0 * (t1 - t0))
    slopes = {
        "L1": (1 / (l0 * (t1 - t0)), u_l1),
        "L0": (-l1 / (l0 * l0 * (t1 - t0)), u_l0),
        "T1": (-alpha / (t1 - t0), u_t1),
        "T0": (alpha / (t1 - t0), u_t0),
    }
    q = combine(alpha, "1/K", [(s, exact(0, "1").with_influence(k, k, u)) for k, (s, u) in slopes.items()])
    return [q.value, q.u]


def _resistor(i: Inputs, _: Rules) -> list[float]:
    """(RS + drift + temperature of RS)·parasitic·ratio − temperature of RX."""
    rs = exact(i["rs_ohm"], "Ω").with_influence("rs", "calibration of the standard", i["u_rs_ohm"])
    drift = rectangular(i["drift_ohm"], i["half_drift_ohm"], "Ω", "drift", "drift of the standard")
    warm = rectangular(0.0, i["half_temp_rs_ohm"], "Ω", "temp.rs", "temperature of the standard")
    standard = rs + drift + warm
    parasitic = Quantity(1.0, "1", (Influence("parasitic", "triangular", i["half_parasitic"] / math.sqrt(6)),))
    ratio = Quantity(i["ratio"], "1", (Influence("ratio", "observations", i["u_ratio"], i["df_ratio"]),))
    other = rectangular(0.0, i["half_temp_rx_ohm"], "Ω", "temp.rx", "temperature of the resistor")
    value = standard.value * parasitic.value * ratio.value - other.value
    parts = ((ratio.value, standard), (standard.value, parasitic), (standard.value, ratio), (-1.0, other))
    q = combine(value, "Ω", parts)
    return [q.value, q.u]


def _welch(i: Inputs, _: Rules) -> float:
    causes = tuple(Influence(str(n), "", u, df) for n, (u, df) in enumerate(zip(i["u"], i["df"], strict=True)))
    return Quantity(0.0, "1", causes).dof


def _four_normal(i: Inputs, _: Rules) -> float:
    total = exact(0.0, "1")
    for n in range(i["n"]):
        total += Quantity(0.0, "1", (Influence(str(n), "standard normal", 1.0),))
    return total.expanded(0.95)


def _accepted_at_the_limit(decision: str) -> float:
    """Share of readings that are accepted although the true value lies exactly at the limit."""
    limit, count = Limit(1.0, "Ω", "max", "loop", "1", "example", "1", "read"), 4000
    errors = (NormalDist().inv_cdf((n + 0.5) / count) for n in range(count))
    shown = (Quantity(1.0 + 0.01 * e, "Ω", (Influence("reading", "reading", 0.01),)) for e in errors)
    return sum(judge(q, limit, decision).outcome == MEETS for q in shown) / count


CHECKS: dict[str, tuple[Route, ...]] = {
    "gum-h1-u": (lambda i, _: _h1(i).u,),
    "gum-h1-df": (lambda i, _: math.floor(_h1(i).dof),),
    "gum-h1-u99": (lambda i, _: _h1(i).expanded(0.99), lambda i, _: t_factor(0.99, 16) * 32),
    "gum-h1-d": (lambda i, _: [_h1_difference(i).u, _h1_difference(i).dof],),
    "gum-h2-r": (_h2_resistance,),
    "gum-h2-corr": (lambda i, _: _pairs(impedance(i)),),
    "gum-h2-rin": (lambda i, _: _pairs(impedance_inputs(i)),),
    "gum-ws": (_welch,),
    "gum-t-": (lambda i, _: t_factor(i["p"], i["df"]),),
    "s1-normal": (_four_normal,),
    "tn1900-e13": (_expansion,),
    "ea402-s3": (_resistor,),
    "ilac-simple": (lambda i, _: _accepted_at_the_limit(SIMPLE),),
    "ilac-u": (lambda i, _: _accepted_at_the_limit(GUARDED),),
}
