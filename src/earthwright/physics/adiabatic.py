"""Heating of a conductor in a fault, no heat lost: area, current, time and k, each from the others.

Areas S are in mm², so k is in A·s^½/mm²; a cpc of 1.5 mm² is 1.5, never 1.5e-6.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from earthwright.base.errors import EarthwrightError
from earthwright.physics.domain import OutOfDomain, number, positive

Curve = Sequence[tuple[float, float]]
"""Points (current [A], time [s]) of a time-current curve: current rises, time falls from point to point."""


class OutsideCurve(EarthwrightError):
    """Outside the points of the curve. Nothing is extrapolated: the maker's curve must be read there."""


def least_csa_mm2(i_a: float, t_s: float, k: float) -> float:
    """Least area that survives the fault: S = √(I²·t)/k.

    i_a [A] > 0; t_s [s] > 0, the device's time at that current, up to 5 s; k [A·s^½/mm²] > 0. Returns [mm²].
    Raises OutOfDomain. Range: 0.1 … 5 s; below 0.1 s use let-through energy (survives_let_through).
    Source: BS 7671 543.1.3, IEC 60364-5-54 543.1.2. Checked with published 460 A, 0.1 s, k 115: 1.26 mm².
    """
    return positive("i_a", i_a) * math.sqrt(positive("t_s", t_s)) / positive("k", k)


def withstand_i_a(s_mm2: float, t_s: float, k: float) -> float:
    """Current that just brings the conductor to its limit: I = k·S/√t.

    s_mm2 [mm²] > 0; t_s [s] > 0; k [A·s^½/mm²] > 0. Returns [A]. Raises OutOfDomain. Source: as
    least_csa_mm2. Checked with k 115, 0.4 s, 6 mm²: about 1090 A (common practice, no source), and 95 mm²
    copper in 1 s: 13.6 kA.
    """
    return positive("k", k) * positive("s_mm2", s_mm2) / math.sqrt(positive("t_s", t_s))


def withstand_t_s(s_mm2: float, i_a: float, k: float) -> float:
    """Time for which the conductor bears the current: t = (k·S/I)².

    s_mm2 [mm²] > 0; i_a [A] > 0; k [A·s^½/mm²] > 0. Returns [s]. Raises OutOfDomain. Source: as
    least_csa_mm2. Checked by solving back for I.
    """
    return (positive("k", k) * positive("s_mm2", s_mm2) / positive("i_a", i_a)) ** 2


def required_k(s_mm2: float, i_a: float, t_s: float) -> float:
    """The k a conductor of that area would need: k = √(I²·t)/S.

    s_mm2 [mm²] > 0; i_a [A] > 0; t_s [s] > 0. Returns [A·s^½/mm²]. Raises OutOfDomain. Source: as
    least_csa_mm2. Checked by solving back for S.
    """
    return positive("i_a", i_a) * math.sqrt(positive("t_s", t_s)) / positive("s_mm2", s_mm2)


def k2s2_a2s(s_mm2: float, k: float) -> float:
    """Energy the conductor bears: k²·S² [A²s]. s_mm2 [mm²] > 0; k [A·s^½/mm²] > 0. Raises OutOfDomain.

    Source: BS 7671 434.5.2 and 543.1.3. Checked with k 115, 1.0 mm²: 13 225 A²s.
    """
    return (positive("k", k) * positive("s_mm2", s_mm2)) ** 2


def checked_curve(points: Curve) -> tuple[tuple[float, float], ...]:
    """The points as floats, if they are a curve.

    points: (current [A], time [s]) pairs > 0: at least two, current never falling, time never rising, no
    point twice. Raises OutOfDomain that lists every fault by point number, counted from 1. Source: method
    of this project.
    """
    faults: list[str] = []
    if len(points) < 2:
        faults.append(f"expected at least 2 points, found {len(points)}")
    clean: list[tuple[float, float]] = []
    for place, point in enumerate(points, start=1):
        try:
            clean.append((positive(f"point {place} current", point[0]), positive(f"point {place} time", point[1])))
        except OutOfDomain as fault:
            faults.append(str(fault))
    for place in range(2, len(clean) + 1) if len(clean) == len(points) else ():
        (i0, t0), (i1, t1) = clean[place - 2 : place]
        if i1 < i0 or t1 > t0 or (i1, t1) == (i0, t0):
            step = f"point {place}: expected more current or less time than {i0:g} A, {t0:g} s"
            faults.append(f"{step}, found {i1:g} A, {t1:g} s")
    if faults:
        raise OutOfDomain("curve: " + "; ".join(faults))
    return tuple(clean)


def _log_between(x: float, x0: float, y0: float, x1: float, y1: float) -> float:
    """y at x on the straight line through two points on log-log paper; x0 != x1."""
    if x in (x0, x1):  # a point of the curve is given back exactly
        return y0 if x == x0 else y1
    return y0 * math.pow(y1 / y0, math.log(x / x0) / math.log(x1 / x0))


def time_from_curve(points: Curve, i_a: float) -> float:
    """Operating time at a current, straight on log-log paper: t = t0·(t1/t0)^(ln(I/I0)/ln(I1/I0)).

    points: (A, s) pairs; i_a [A] > 0 within the points. Returns [s]; on a vertical step the longer time,
    which is the cautious one for heating. Raises OutsideCurve outside the points, OutOfDomain for a curve
    that is none. Source: method of this project; curves are printed on log-log paper. Checked with power
    laws, which it must meet exactly.
    """
    current, curve = positive("i_a", i_a), checked_curve(points)
    for (i0, t0), (i1, t1) in pairwise(curve):
        if i0 <= current <= i1:
            return t0 if i0 == i1 else _log_between(current, i0, t0, i1, t1)
    raise OutsideCurve(f"{current:g} A: the curve runs from {curve[0][0]:g} A to {curve[-1][0]:g} A")


def current_for_time(points: Curve, t_s: float) -> float:
    """Least current at which the curve operates within a time: the inverse of time_from_curve.

    points: (A, s) pairs; t_s [s] > 0 within the points. Returns [A]; on a level stretch its least current.
    Raises OutsideCurve outside the points, OutOfDomain for a curve that is none. Source and check as
    time_from_curve.
    """
    time, curve = positive("t_s", t_s), checked_curve(points)
    for (i0, t0), (i1, t1) in pairwise(curve):
        if t1 <= time <= t0:
            return i0 if t0 == t1 else _log_between(time, t0, i0, t1, i1)
    raise OutsideCurve(f"{time:g} s: the curve runs from {curve[-1][1]:g} s to {curve[0][1]:g} s")


@dataclass(frozen=True, slots=True)
class WorstFault:
    """The current in a range that asks for the largest conductor: area [mm²], current [A], time [s]."""

    csa_mm2: float
    i_a: float
    t_s: float


def worst_on_curve(points: Curve, i_low_a: float, i_high_a: float, k: float) -> WorstFault:
    """Largest S = √(I²·t(I))/k for I from i_low_a to i_high_a.

    points: (A, s) pairs; 0 < i_low_a <= i_high_a [A], both within the points; k [A·s^½/mm²] > 0. A fuse is
    often worse at the lower, hot-conductor current. On log-log paper I²t is monotone between points, so the
    ends of the range and the points inside it are enough. Raises OutsideCurve, OutOfDomain. Source: method
    of this project. Checked with a fine scan of the range.
    """
    low = positive("i_low_a", i_low_a)
    high = number("i_high_a", i_high_a, low=low)
    inside = [current for current, _ in checked_curve(points) if low < current < high]
    candidates = [(current, time_from_curve(points, current)) for current in (low, *inside, high)]
    csa, current, time = max((least_csa_mm2(i, t, k), i, t) for i, t in candidates)
    return WorstFault(csa, current, time)
