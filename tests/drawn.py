"""The evidence for one bond by drawing, written apart: it knows the method's page and shares no code with the program.

Every cause is drawn from its own distribution with numpy: route, make, joint, extra resistance, path.
What the limits of error do to a reading is summed exactly for each draw. Rare draws that decide are drawn more often and
count for less. The draws are points of a lattice, shifted at random several times over: the spread between the shifts is
the standard error.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
HYPOTHESES = ("whole", "impaired", "open")
SLIP, GROSS, DIGITS, LEAD_OFF, TOUCH, CHECKED = 0.01, 0.002, 200, 0.015, 0.015, 0.0015
WRONG_ALLOWANCE, ALLOWANCE_OHM = 0.015, 2.0
SHIFTS, POINTS = 8, 3 << 14


@dataclass(frozen=True)
class Case:
    """One bond and its readings.

    readings  (conductor, path or together; digits; leads shorted afterwards and good; leads held apart)
    pct, digits, step, top  the display
    """

    r_mohm_per_m: float
    length_m: float
    tol_m: float
    readings: tuple[tuple[str, float, bool, bool], ...]
    pct: float = 3.0
    digits: float = 2.0
    step: float = 0.01
    top: float = 99.99


@dataclass(frozen=True)
class Drawn:
    """log10 of whole over open and over impaired, with their standard errors."""

    whole_open: float
    whole_impaired: float
    error_open: float
    error_impaired: float

    @property
    def verdict(self) -> str:
        """By the rule of the method: both at least 2, or one at most -2."""
        return self._at(0.0)

    @property
    def verdicts(self) -> set[str]:
        """Every verdict within two standard errors, or within the tolerance of 0.05 if that is more."""
        return {self._at(k) for k in (-1.0, 0.0, 1.0)}

    def _at(self, errors: float) -> str:
        least = min(
            self.whole_open + errors * max(0.05, 2.0 * self.error_open),
            self.whole_impaired + errors * max(0.05, 2.0 * self.error_impaired),
        )
        return "proved" if least >= 2.0 else "disproved" if least <= -2.0 else "not shown"


def _lattice(dimensions: int, points: int) -> Floats:
    """Kronecker points: multiples of the powers of the root of x^(d+1) = x + 1, modulo one."""
    root = 2.0
    for _ in range(60):  # the root, by repeating
        root = (1.0 + root) ** (1.0 / (dimensions + 1))
    steps = (1.0 / root) ** np.arange(1, dimensions + 1)
    return np.outer(np.arange(1, points + 1), steps) % 1.0


def _chance(case: Case, shown: float, true: Floats) -> Floats:
    """Chance of the digits for each draw: gain and digit error are rectangular, and what both do is summed exactly."""
    there = np.isfinite(true)
    value = np.where(there, true, 0.0)
    wide, narrow = np.maximum(value * case.pct / 100.0, 1e-9), max(case.digits * case.step, 1e-9)
    half = case.step / 2.0

    def below(edge: float) -> Floats:
        corners = ((1, wide + narrow), (-1, wide - narrow), (-1, narrow - wide), (1, -wide - narrow))
        squares = sum(sign * np.maximum(edge - value + corner, 0.0) ** 2 for sign, corner in corners)
        return np.asarray(np.clip(squares / (8.0 * wide * narrow), 0.0, 1.0))

    if math.isinf(shown):
        return np.asarray(np.where(there, 1.0 - below(case.top + half), 1.0))
    low = below(shown - half) if shown >= half else 0.0
    return np.asarray(np.where(there, below(shown + half) - low, 0.0))


def _parallel(c: Floats, p: Floats) -> Floats:
    with np.errstate(divide="ignore", over="ignore"):
        return np.asarray(1.0 / (1.0 / c + 1.0 / p))


def _readings(case: Case, some: Sequence[int], c: Floats, p: Floats) -> Floats:
    """Chance of some of the readings, human error in it, for each draw of conductor and path."""
    like = np.ones(len(c))
    both = _parallel(c, p)
    for k in some:
        test, shown, shorted, apart = case.readings[k]
        off, touch = CHECKED if shorted else LEAD_OFF, CHECKED if apart else TOUCH
        base = GROSS / DIGITS
        base += (1 - GROSS) * (off if math.isinf(shown) else touch if shown < case.step / 2 else 0.0)
        chance = _chance(case, shown, both)
        if test != "together":
            chance = SLIP * chance + (1 - SLIP) * _chance(case, shown, c if test == "conductor" else p)
        like *= base + (1 - GROSS) * (1 - off - touch) * chance
    return like


def _parted(u: Floats, low: float, high: float, near: Sequence[float]) -> tuple[Floats, Floats]:
    """Log-uniform values, drawn as often in each part between the cuts as in any other, and what each draw stands for."""
    cuts = sorted({low, high, *(x for v in near for x in (0.85 * v, 1.15 * v) if low < x < high)})
    edges = np.log(np.array(cuts))
    place = np.minimum((u * (len(cuts) - 1)).astype(int), len(cuts) - 2)
    width = edges[place + 1] - edges[place]
    value = np.exp(edges[place] + width * (u * (len(cuts) - 1) - place))
    return value, width * (len(cuts) - 1) / (edges[-1] - edges[0])


def _tilted(u: Floats) -> tuple[Floats, Floats]:
    """A third of the draws as they are, a third towards the upper ends and a third towards the lower, and their weights.

    Rectangular causes that all lie at one end are rare, and a reading at the edge is decided by just those.
    """
    third = np.arange(len(u)) % 3
    v = np.where((third == 0)[:, None], u, np.where((third == 1)[:, None], u ** (1 / 3), 1.0 - u ** (1 / 3)))
    density = (1.0 + np.prod(3.0 * v**2, axis=1) + np.prod(3.0 * (1.0 - v) ** 2, axis=1)) / 3.0
    return v, 1.0 / density


def _likelihoods(case: Case, some: Sequence[int], points: Floats, shift: Floats) -> list[float]:
    u = (points + shift) % 1.0
    low, high = case.length_m - case.tol_m, case.length_m + case.tol_m
    v, of_whole = _tilted(u[:, :3])
    whole = (low + (high - low) * v[:, 0]) * case.r_mohm_per_m / 1000.0 * (0.93 + 0.07 * v[:, 1]) + 0.01 * v[:, 2]
    near = [shown for _, shown, _, _ in case.readings if math.isfinite(shown)]
    extra, of_extra = _parted(u[:, 3], 0.05, 100.0, [*near, 0.06, case.top])
    path, of_path = _parted(u[:, 4], 0.005, 1000.0, [*near, case.top])
    alone = np.full(len(u), np.inf)

    def mean(c: Floats, weight: Floats) -> float:
        with_path, without = (_readings(case, some, c, p) for p in (path, alone))
        return float(np.mean(weight * (0.70 * of_path * with_path + 0.30 * without)))

    return [mean(whole, of_whole), mean(whole + extra, of_whole * of_extra), mean(alone, np.ones(len(u)))]


def _doubtful(case: Case, k: int) -> bool:
    """A reading that a wrong allowance for the leads may lie behind."""
    _, shown, shorted, _ = case.readings[k]
    most = (case.length_m + case.tol_m) * case.r_mohm_per_m / 1000.0 + 0.01
    least = (shown - (case.digits + 0.5) * case.step) / (1.0 + case.pct / 100.0)
    return not shorted and math.isfinite(shown) and least <= most + ALLOWANCE_OHM


def _mixed(case: Case, sure: Sequence[int], full: Floats, rest: Floats) -> tuple[float, float]:
    """log10 of whole over open and over impaired from the likelihoods of the three hypotheses."""
    if len(sure) < len(case.readings):
        # Whatever the bond, a wrong allowance makes digits that look like those of the bond which they fit best.
        most = max(f / r for f, r in zip(full, rest, strict=True) if r > 0.0)
        full = (1 - WRONG_ALLOWANCE) * full + WRONG_ALLOWANCE * rest * most
    return math.log10(full[0] / full[2]), math.log10(full[0] / full[1])


def drawn(case: Case, seed: int = 1, points: int = POINTS, shifts: int = SHIFTS) -> Drawn:
    """Both Bayes factors by drawing, with their standard errors: each shift left out in turn."""
    rng = np.random.default_rng(seed)
    every, sure = range(len(case.readings)), [k for k in range(len(case.readings)) if not _doubtful(case, k)]
    lattice = _lattice(5, points)
    full, rest = np.empty((shifts, 3)), np.ones((shifts, 3))
    for k in range(shifts):
        shift = rng.random(5)
        full[k] = _likelihoods(case, every, lattice, shift)
        if 0 < len(sure) < len(every):
            rest[k] = _likelihoods(case, sure, lattice, shift)
    found = _mixed(case, sure, full.mean(axis=0), rest.mean(axis=0))
    left_out = np.array(
        [
            _mixed(case, sure, np.delete(full, k, axis=0).mean(axis=0), np.delete(rest, k, axis=0).mean(axis=0))
            for k in range(shifts)
        ]
    )
    error = np.sqrt((shifts - 1) / shifts * ((left_out - left_out.mean(axis=0)) ** 2).sum(axis=0))
    return Drawn(found[0], found[1], float(error[0]), float(error[1]))
