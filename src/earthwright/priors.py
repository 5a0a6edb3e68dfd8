"""What is known of a bond before any reading, and the nodes into which the quadrature cuts it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import frozen

Nodes = tuple[tuple[float, float], ...]  # (value, weight) pairs of a distribution
MAKE = (0.93, 1.0)  # real conductors as a share of the largest resistance of their size
JOINT_OHM = 0.01  # a good joint, at most [Ω]


@frozen
class Model:
    """The constants of the evidence model. Defaults are named, printed, and kept with every record.

    extra_ohm       range of the extra resistance of an impaired bond, log-uniform [Ω]
    make            real resistance of a conductor as a share of the maximum of IEC 60228, rectangular
    joint_ohm       resistance of a good joint, rectangular from 0 [Ω]
    path_absent     chance that no other metal joins MET and part;  path_ohm  else log-uniform [Ω]
    slip            chance that a reading "with one end off" was in truth taken with all connected
    lead_off, lead_off_checked   chance that a lead was off; the same once the leads were shorted afterwards and good
    touch, touch_checked         chance that the clips touched; the same once the leads were held apart
    gross, gross_digits          chance of a wrong row or gross misreading, spread evenly over so many digits
    decide          log10 of the Bayes factor from which a verdict is given
    enough_bits     below this worth nothing more is asked for
    """

    extra_ohm: tuple[float, float] = (0.05, 100.0)
    make: tuple[float, float] = MAKE
    joint_ohm: float = JOINT_OHM
    path_absent: float = 0.30
    path_ohm: tuple[float, float] = (0.005, 1000.0)
    slip: float = 0.01
    lead_off: float = 0.015
    lead_off_checked: float = 0.0015
    touch: float = 0.015
    touch_checked: float = 0.0015
    gross: float = 0.002
    gross_digits: int = 200
    decide: float = 2.0
    enough_bits: float = 0.05


@frozen
class Grain:
    """How finely the quadrature is cut. The defaults are those that were checked against the reference values.

    path, extra  cells of the path's and of the extra resistance's logarithm;  length, make, joint  cells of a whole
    conductor's causes;  whole  most cells they are collected in;  inside  least nodes inside a window of digits;  table  points at
    which the chance of the digits is worked out
    """

    path: int = 112
    extra: int = 48
    length: int = 16
    make: int = 4
    joint: int = 4
    whole: int = 60
    inside: float = 10.0
    table: int = 160


FINE = Grain()
# For the many conductors of circuits: a tenth of the work, within 0.1 of a power of ten of the fine one.
COARSE = Grain(path=24, extra=12, length=8, make=2, joint=2, whole=10, inside=6.0, table=40)


@frozen
class Copper:
    """What is known of the conductor before any reading: r at its temperature [mΩ/m], route and tolerance [m]."""

    r_mohm_per_m: float
    length_m: float
    length_tol_m: float


def path_nodes(model: Model, windows: Sequence[tuple[float, float]] = (), grain: Grain = FINE) -> Nodes:
    """Nodes of the path: log-uniform, finer inside the windows, and open at the end. Ascending, as the search needs."""
    nodes = log_uniform(*model.path_ohm, grain.path, windows, inside=grain.inside)
    return (*((v, w * (1.0 - model.path_absent)) for v, w in nodes), (math.inf, model.path_absent))


def log_uniform(
    low: float,
    high: float,
    count: int,
    windows: Sequence[tuple[float, float]],
    finer: int = 2,
    *,
    inside: float = FINE.inside,
) -> Nodes:
    """Midpoints of a log-uniform distribution in ``count`` cells; a cell that meets a window is split ``finer`` times.

    The digits are decided inside the windows, so that is where the quadrature needs its nodes: at least ``inside`` in
    each, for a window may be narrower than a cell.
    """
    start, width = math.log(low), (math.log(high) - math.log(low)) / count
    nodes: list[tuple[float, float]] = []
    for i in range(count):
        left = start + i * width
        bottom, top = math.exp(left), math.exp(left + width)
        met = [w_high - w_low for w_low, w_high in windows if bottom <= w_high and w_low <= top]
        parts = max(finer, math.ceil(inside * (top - bottom) / min(met))) if met else 1
        nodes.extend((math.exp(left + (j + 0.5) * width / parts), 1.0 / count / parts) for j in range(parts))
    return tuple(nodes)


def whole_nodes(copper: Copper, model: Model, grain: Grain = FINE) -> Nodes:
    """Nodes of a whole conductor ``L·r·m + j``: midpoints of the three rectangular causes, collected on a fine grid."""
    r = copper.r_mohm_per_m / 1000.0
    low = (copper.length_m - copper.length_tol_m) * r * model.make[0]
    high = (copper.length_m + copper.length_tol_m) * r * model.make[1] + model.joint_ohm
    count = min(grain.whole, max(10, math.ceil((high - low) / 0.0025)))
    width = (high - low) / count or 1.0
    sums = [[0.0, 0.0] for _ in range(count + 1)]
    for length in midpoints(copper.length_m - copper.length_tol_m, copper.length_m + copper.length_tol_m, grain.length):
        for make in midpoints(*model.make, grain.make):
            for joint in midpoints(0.0, model.joint_ohm, grain.joint):
                c = length * r * make + joint
                cell = sums[int((c - low) / width)]
                cell[0] += 1.0
                cell[1] += c
    total = float(grain.length * grain.make * grain.joint)
    return tuple((s / n, n / total) for n, s in sums if n)


def impaired_nodes(
    whole: Nodes, model: Model, windows: Sequence[tuple[float, float]] = (), grain: Grain = FINE
) -> Nodes:
    """Nodes of an impaired conductor: a whole one plus an extra resistance, log-uniform.

    The spread of the whole conductor matters only where the extra is small; there three points keep its mean and spread.
    """
    mean = math.fsum(c * w for c, w in whole)
    half = math.sqrt(math.fsum((c - mean) ** 2 * w for c, w in whole) * 1.5)
    shifted = [(low - mean - half, high - mean + half) for low, high in windows]
    nodes: list[tuple[float, float]] = []
    for extra, weight in log_uniform(*model.extra_ohm, grain.extra, shifted, 4, inside=grain.inside):
        if extra > 20.0 * half:
            nodes.append((mean + extra, weight))
        else:
            nodes.extend((mean + d + extra, weight / 3.0) for d in (-half, 0.0, half))
    return tuple(sorted(nodes))


def midpoints(low: float, high: float, count: int) -> list[float]:
    """``count`` midpoints of equal parts of an interval."""
    return [low + (high - low) * (i + 0.5) / count for i in range(count)]
