"""What is known of a bond before any reading, and the nodes into which the quadrature cuts it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import combinations, pairwise

from attrs import frozen

from ..site.assumptions import USUAL, Assumptions
from ..site.reading import LEADS_OHM

Nodes = tuple[tuple[float, float], ...]  # (value, weight) pairs of a distribution
MOST_OHM = 100.0  # an impaired conductor has at most so much more; beyond it is as good as open [Ω]
_TINY = 1e-6  # below a micro-ohm no spread matters


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
    wrong_allowance, allowance_ohm   chance that what was allowed for the leads is wrong by some resistance up to this [Ω]
                    (nulled with other leads, null lost, lead changed), as long as the set was not shorted afterwards and good:
                    one unknown of the whole series. Above 1/10^decide, so that no number of readings proves anything against it
    gross, gross_digits          chance of a wrong row or gross misreading, spread evenly over so many digits
    decide          log10 of the Bayes factor from which a verdict is given
    enough_bits     below this worth nothing more is asked for
    """

    extra_ohm: tuple[float, float] = (USUAL.poor_joint_ohm, MOST_OHM)
    make: tuple[float, float] = USUAL.make
    joint_ohm: float = USUAL.joint_ohm
    path_absent: float = USUAL.no_other_path
    path_ohm: tuple[float, float] = (0.005, 1000.0)
    slip: float = USUAL.slip
    lead_off: float = USUAL.lead_off
    lead_off_checked: float = USUAL.lead_off_checked
    touch: float = USUAL.touch
    touch_checked: float = USUAL.touch_checked
    wrong_allowance: float = USUAL.wrong_allowance
    allowance_ohm: float = LEADS_OHM
    gross: float = USUAL.gross
    gross_digits: int = 200
    decide: float = USUAL.decide
    enough_bits: float = 0.05

    @classmethod
    def of(cls, a: Assumptions) -> Model:
        """The constants for a visit that assumes these."""
        errors = (a.slip, a.lead_off, a.lead_off_checked, a.touch, a.touch_checked, a.wrong_allowance)
        return cls(
            (a.poor_joint_ohm, MOST_OHM), a.make, a.joint_ohm, a.no_other_path, Model().path_ohm, *errors, LEADS_OHM,
            a.gross, decide=a.decide,
        )  # fmt: skip


@frozen
class Grain:
    """How finely the quadrature is cut. The defaults are those that were checked against the reference values.

    path, extra  cells of the path's and of the extra resistance's logarithm;  length  cells of a whole conductor's length;
    least, whole  cells of a whole conductor, at least and at most;  inside  least nodes inside a window of digits;
    finer  parts of a cell near one;  table  points at which the chance of the digits is worked out
    """

    path: int = 90
    extra: int = 24
    length: int = 32
    least: int = 60
    whole: int = 60
    inside: float = 12.0
    finer: int = 4
    table: int = 160


FINE = Grain()
# For the many conductors of circuits: a tenth of the work, within 0.1 of a power of ten of the fine one.
COARSE = Grain(path=24, extra=12, length=8, least=8, whole=10, inside=6.0, finer=2, table=40)


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
    each, for a window may be narrower than a cell. With no window yet, all of it may be decided.
    """
    start, width = math.log(low), (math.log(high) - math.log(low)) / count
    nodes: list[tuple[float, float]] = []
    for i in range(count):
        left = start + i * width
        bottom, top = math.exp(left), math.exp(left + width)
        met = [w_high - w_low for w_low, w_high in windows if bottom <= w_high and w_low <= top]
        parts = max(finer, math.ceil(inside * (top - bottom) / min(met))) if met else 1 if windows else finer
        nodes.extend((math.exp(left + (j + 0.5) * width / parts), 1.0 / count / parts) for j in range(parts))
    return tuple(nodes)


@lru_cache(maxsize=512)
def whole_nodes(copper: Copper, model: Model, grain: Grain = FINE) -> Nodes:
    """Nodes of a whole conductor ``L·r·m + j``: cells with their exact weight and mean, narrow towards both ends.

    Only the length is summed over midpoints; make and joint make a trapezoid whose distribution stands in closed form.
    A reading at the edge of what a whole conductor may show is decided by its tail, so the tail must be there.
    """
    r = copper.r_mohm_per_m / 1000.0
    starts = []
    for length in midpoints(copper.length_m - copper.length_tol_m, copper.length_m + copper.length_tol_m, grain.length):
        ends = length * r * model.make[0], length * r * model.make[1]
        starts.append((min(ends), max(_TINY, abs(ends[1] - ends[0]))))
    joint = max(_TINY, model.joint_ohm)
    low, high = min(a for a, _ in starts), max(a + w for a, w in starts) + joint
    if high - low < 4.0 * _TINY:
        return (((low + high) / 2.0 - _TINY, 1.0),)

    def upto(x: float) -> tuple[float, float]:
        """Chance of at most ``x``, and the integral of that chance up to ``x``."""
        chance = integral = 0.0
        for a, w in starts:
            square = cube = 0.0
            for corner, sign in ((a, 1.0), (a + w, -1.0), (a + joint, -1.0), (a + w + joint, 1.0)):
                if x > corner:
                    square += sign * (x - corner) ** 2
                    cube += sign * (x - corner) ** 3
            chance += square / (2.0 * w * joint)
            integral += cube / (6.0 * w * joint)
        return chance / len(starts), integral / len(starts)

    count = min(grain.whole, max(grain.least, math.ceil((high - low) / 0.0025)))
    edges = [low + (high - low) * (1.0 - math.cos(math.pi * i / count)) / 2.0 for i in range(count + 1)]
    return _cells(edges, upto)


def _cells(edges: Sequence[float], upto: Callable[[float], tuple[float, float]]) -> Nodes:
    """A node for each cell: its mean and its weight, from the distribution and its integral at the edges."""
    nodes = []
    known = [(x, *upto(x)) for x in edges]
    for (a, below_a, integral_a), (b, below_b, integral_b) in pairwise(known):
        weight = below_b - below_a
        if weight > 1e-15:
            mean = (b * below_b - a * below_a - (integral_b - integral_a)) / weight
            nodes.append((min(b, max(a, mean)), weight))
    return tuple(nodes)


def impaired_nodes(
    whole: Nodes, model: Model, windows: Sequence[tuple[float, float]] = (), grain: Grain = FINE
) -> Nodes:
    """Nodes of an impaired conductor: a whole one plus an extra resistance, log-uniform; exact weights and means.

    The spread of the whole conductor matters only where the extra is small; further up its mean stands for it. Cells
    are narrow inside the windows of the digits, and where the distribution begins, which is where such a reading is
    told from that of a whole conductor.
    """
    mean = math.fsum(c * w for c, w in whole)
    half = math.sqrt(math.fsum((c - mean) ** 2 * w for c, w in whole) * 1.5)
    least, most = model.extra_ohm
    span = math.log(most / least)
    first, last = whole[0][0] + least, mean + most
    far = mean + 2.0 * least + 20.0 * half
    single = ((mean, 1.0),)

    def upto(x: float) -> tuple[float, float]:
        chance = integral = 0.0
        for c, w in single if x > far else whole:
            extra = min(most, x - c)
            if extra > least:
                up = math.log(extra / least) / span
                # The integral of the chance up to x: x·F(x) less the mean of what lies below.
                chance += w * up
                integral += w * (up * (x - c) - (extra - least) / span)
        return chance, integral

    around = [(low, 8.0 * high) for low, high in windows]
    edges = [first]
    for i in range(grain.extra):
        bottom, top = (mean + least * math.exp(span * k / grain.extra) for k in (i, i + 1))
        parts = grain.finer if not windows or any(bottom <= b and a <= top for a, b in around) else 1
        edges += [bottom + (top - bottom) * k / parts for k in range(1, parts + 1)]
    edges += [first + (whole[-1][0] - whole[0][0]) * k / grain.inside for k in range(1, int(grain.inside) + 1)]
    for low, high in windows:
        low, high = max(low, first), min(high, last)
        if low < high:
            edges += [low + (high - low) * k / grain.inside for k in range(int(grain.inside) + 1)]
    return _cells(sorted({min(x, last) for x in edges if x >= first}), upto)


def overlaps(windows: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Where two windows share some ground, for two readings that hardly agree are decided there; slivers are left out."""
    found = []
    for (a, b), (c, d) in combinations(windows, 2):
        low, high = max(a, c), min(b, d)
        if high - low > min(b - a, d - c) / 40.0:
            found.append((low, high))
    return found


def midpoints(low: float, high: float, count: int) -> list[float]:
    """``count`` midpoints of equal parts of an interval."""
    return [low + (high - low) * (i + 0.5) / count for i in range(count)]
