"""Published values that no sum of ours gives, asked of the libraries our other tests take as references.

numpy draws the Monte Carlo samples of the evidence and display tests, scipy gives distributions, GTC first-order
propagation; here they have to give what is printed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
from GTC import get_correlation, type_a
from GTC import uncertainty as gtc_u
from GTC import value as gtc_value
from numpy.typing import NDArray
from scipy import integrate, stats

from .common import Inputs, Route, Rules

DRAWS = 4_000_000
Array = NDArray[np.float64]


def _half_95(sample: Array) -> float:
    """Half the width of the middle 95 %."""
    low, high = np.quantile(sample, (0.025, 0.975))
    return float(high - low) / 2


def _rectangular_sum(i: Inputs, _: Rules) -> float:
    rng = np.random.default_rng(101)
    scales = i.get("scale", [1.0] * i["n"])
    return _half_95(sum(s * rng.uniform(-math.sqrt(3), math.sqrt(3), DRAWS) for s in scales))


def _log_mean(i: Inputs, _: Rules) -> float:
    return float(stats.uniform(i["low"], i["high"] - i["low"]).expect(np.log))


def _polar(i: Inputs, _: Rules) -> list[float]:
    rng, r = np.random.default_rng(102), i["r"]
    one, two = rng.standard_normal(DRAWS), rng.standard_normal(DRAWS)
    re, im = i["re"] + 0.01 * one, 0.01 * (r * one + math.sqrt(1 - r * r) * two)
    size, angle = np.hypot(re, im), np.arctan2(im, re)
    return [float(size.mean()), float(size.std()), float(angle.mean()), float(angle.std())]


def _attenuator(i: Inputs, _: Rules) -> list[float]:
    rng, n = np.random.default_rng(1900), DRAWS // 4
    mean, u, df = i["reference"]
    total = mean + i["shift_dB"] + u * math.sqrt((df - 2) / df) * rng.standard_t(df, n)
    for half in i["rectangular"]:
        total += rng.uniform(-half, half, n)
    for sigma in i["normal"]:
        total += rng.normal(0, sigma, n)
    for half in i["arcsine"]:
        total += half * np.cos(rng.uniform(0, math.pi, n))
    low, high = np.quantile(total, (0.025, 0.975))
    return [float(total.mean()), float(total.std()), float(low), float(high)]


def _line(what: Callable[[Any], Any]) -> Route:
    def route(i: Inputs, _: Rules) -> Any:
        fit = type_a.line_fit([t - i["t0_C"] for t in i["t_C"]], i["b_C"])
        return what(fit)

    return route


def _scatter(fit: Any) -> float:
    return math.sqrt(fit.ssr / (fit.N - 2))


def _accepted_wrongly(prior: Any, u: float, low: float, high: float, accept_low: float, accept_high: float) -> float:
    """Share of items outside the limits whose reading lies inside the acceptance limits."""

    def outside(x: float) -> float:
        accepted = stats.norm.cdf(accept_high, x, u) - stats.norm.cdf(accept_low, x, u)
        return float(prior.pdf(x) * accepted)

    reach = 10 * u
    above = integrate.quad(outside, high, high + reach, epsabs=1e-13, limit=200)[0]
    below = integrate.quad(outside, low - reach, low, epsabs=1e-13, limit=200)[0] if math.isfinite(low) else 0.0
    return above + below


def _rejected_wrongly(prior: Any, u: float, low: float, high: float, accept_low: float, accept_high: float) -> float:
    def inside(x: float) -> float:
        accepted = stats.norm.cdf(accept_high, x, u) - stats.norm.cdf(accept_low, x, u)
        return float(prior.pdf(x) * (1 - accepted))

    return float(integrate.quad(inside, low, high, epsabs=1e-13, limit=200)[0])


def _bearings(i: Inputs, _: Rules) -> float:
    return _accepted_wrongly(stats.gamma(4, scale=1 / 4), i["u"], -math.inf, i["tu"], -math.inf, i["au"])


def _ratio(i: Inputs, _: Rules) -> float:
    sl = i["SL"]
    return _accepted_wrongly(stats.norm(), 1 / i["TUR"], -sl, sl, -sl, sl)


def _ratio_guarded(i: Inputs, _: Rules) -> list[float]:
    sl, edge = i["SL"], i["SL"] * i["GB"]
    sides = (stats.norm(), 1 / i["TUR"], -sl, sl, -edge, edge)
    return [_accepted_wrongly(*sides), _rejected_wrongly(*sides)]


def _in_tolerance(i: Inputs, _: Rules) -> list[float]:
    edges = [float(stats.norm.ppf((1 + p) / 2)) for p in i["itp"]]
    return [100 * _accepted_wrongly(stats.norm(), 1 / i["ratio"], -e, e, -e, e) for e in edges]


def _outside(i: Inputs, _: Rules) -> float:
    low, high = i["limits"]
    items = stats.norm(i["mu"], i["sd"])
    return float(items.cdf(low) + items.sf(high))


CHECKS: dict[str, tuple[Route, ...]] = {
    "s1-rect": (_rectangular_sum,),
    "s1-rect10": (_rectangular_sum,),
    "s1-log-mean": (_log_mean,),
    "s2-mag": (_polar,),
    "s2-mag-corr": (_polar,),
    "tn1900-e11": (_attenuator,),
    "gum-h3-y1": (_line(lambda f: [gtc_value(f.a_b[0]), gtc_u(f.a_b[0])]),),
    "gum-h3-y2": (_line(lambda f: [gtc_value(f.a_b[1]), gtc_u(f.a_b[1])]),),
    "gum-h3-r": (_line(lambda f: get_correlation(*f.a_b)),),
    "gum-h3-s": (_line(_scatter),),
    "106-prior": (lambda i, _: float(stats.gamma(i["shape"], scale=1 / i["rate"]).sf(i["tu"])),),
    "106-rc": (_bearings,),
    "106-burst": (lambda i, _: float(stats.norm.sf(i["tl"], i["y"], i["u"])),),
    "deaver-2-4": (_ratio,),
    "deaver-gb": (_ratio_guarded,),
    "rp19-ufar": (_in_tolerance,),
    "cpk-10": (_outside,),
}
