"""Weights of the rings that are one loop: whole, broken, with a poor joint, or with the legs not crossed.

All are told by what each conductor has in series at one place (nothing, a resistance, a break) and by how the legs were
joined. The unknowns: end to end resistance of line and cpc, the real resistance of copper within its make, the extra
resistance, and between which sockets the place lies. Summed on a grid inside the windows that the digits leave open.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

from attrs import frozen

from .model import Priors, RingTest
from .tables import FREE, Table, read_table

Pairs = list[tuple[float, float]]  # value and weight


@frozen
class Fault:
    """One hypothesis: what line, neutral and cpc have in series at the place (0, infinite, or None: some resistance)."""

    name: str
    series: tuple[float | None, float | None, float | None] = (0.0, 0.0, 0.0)
    ln_crossed: bool = True
    le_crossed: bool = True

    @property
    def placed(self) -> bool:
        """Whether it has a place along the ring."""
        return self.series != (0.0, 0.0, 0.0)


@frozen
class Weighed:
    """Weight of a hypothesis on the common scale, and what it says when it is taken as true.

    total       sum of prior times chance;  by_gap  the same parted by the gap between sockets that the place lies in
    loose       the weight when a share of the readings follows nothing (of the whole ring only)
    best        line [Ω], cpc [Ω] end to end and share of the maximum resistance at the weightiest node
    length_m    mean length
    """

    name: str
    total: float = 0.0
    by_gap: tuple[float, ...] = ()
    loose: float = 0.0
    best: tuple[float, float, float] = (0.0, 0.0, 1.0)
    length_m: float = 0.0


@frozen
class Socket:
    """One socket as the sums need it: its place, as metres or as a share of the ring, and its tables."""

    place_m: float | None
    share: float
    ln: Table
    le: Table
    le_placed: Table
    ln_wide: Table
    le_wide: Table

    def at(self, length_m: float) -> float:
        """Place as a share of a ring of that length, 0 to 1."""
        return self.share if self.place_m is None else min(1.0, self.place_m / length_m)


@lru_cache(maxsize=8)
def spur_nodes(priors: Priors) -> tuple[tuple[float, float], ...]:
    """Lengths of a spur [m] and their chances, together the chance of a spur."""
    low, high = priors.spur_m
    ratio = (high / low) ** (1.0 / 9.0)
    return tuple((low * ratio ** (i + 0.5), priors.spur / 9.0) for i in range(9))


@frozen
class Ground:
    """What every hypothesis of one ring shares."""

    test: RingTest
    priors: Priors
    r1: Table
    rn: Table
    r2: Table
    sockets: tuple[Socket, ...]
    last_m: float
    spurs: tuple[tuple[float, float], ...]
    ln_per_m: float
    le_per_m: float
    ratio: float

    def share_of_length(self, length_m: float) -> float:
        """What the estimate and the places leave of the weight of a length."""
        weight = 1.0
        if self.last_m > length_m * 1.05 + self.priors.place_tol_m:
            weight = self.priors.wrong_estimate
        estimate = self.test.length_m
        if estimate is not None:
            tolerance = self.test.length_tol_m or 0.1 * estimate
            if abs(length_m - estimate) > tolerance + 0.05 * estimate:
                weight *= self.priors.wrong_estimate
        return weight

    def socket(self, one: Table, two: Table, ln: float, le: float) -> float:
        """Chance of a socket's digits for the values at its place on the ring [Ω], on a spur or not."""
        chance = (1.0 - self.priors.spur) * one.at(ln) * two.at(le)
        if ln == le == math.inf:
            return chance / (1.0 - self.priors.spur)
        ln_end, le_end = one.high, two.high
        for metres, weight in self.spurs:
            ln_here, le_here = ln + metres * self.ln_per_m, le + metres * self.le_per_m
            if ln_here >= ln_end and le_here >= le_end and one is not FREE and two is not FREE:
                break
            chance += weight * one.at(ln_here) * two.at(le_here)
        return chance


def ground(test: RingTest, priors: Priors) -> Ground:
    """The tables and places of a ring's readings."""
    model, count = priors.readings, len(test.sockets)
    mean = (priors.make[0] + priors.make[1]) / 2.0
    ln_per_m = mean * (test.line_mohm_per_m + test.neutral_mohm_per_m) / 1000.0
    le_per_m = mean * (test.line_mohm_per_m + test.cpc_mohm_per_m) / 1000.0
    metres = all(s.place_m is not None for s in test.sockets) and count > 0
    # Where only the order is known, a socket may be anywhere within its share of the ring.
    spread = priors.place_tol_m if metres else guessed_length(test, mean) / (2.0 * max(1, count))
    tilt_per_m = mean * abs(test.cpc_mohm_per_m - test.line_mohm_per_m) / 1000.0
    sockets = []
    for number, s in enumerate(test.sockets):
        sockets.append(
            Socket(
                s.place_m if metres else None,
                (number + 0.5) / count,
                read_table(s.ln, model, priors.contact_ohm),
                read_table(s.le, model, priors.contact_ohm),
                read_table(s.le, model, priors.contact_ohm, spread * tilt_per_m),
                read_table(s.ln, model, priors.contact_ohm, spread * ln_per_m),
                read_table(s.le, model, priors.contact_ohm, spread * le_per_m),
            )
        )
    r1, rn, r2 = (read_table(x, model) for x in (test.r1, test.rn, test.r2))
    last = max((s.place_m or 0.0 for s in test.sockets), default=0.0) if metres else 0.0
    ratio = test.cpc_mohm_per_m / test.line_mohm_per_m
    return Ground(test, priors, r1, rn, r2, tuple(sockets), last, spur_nodes(priors), ln_per_m, le_per_m, ratio)


def guessed_length(test: RingTest, make: float) -> float:
    """A length to think with [m]: the estimate, else what r1 or rn stands for, else a usual one."""
    if test.length_m is not None:
        return test.length_m
    for end, r in ((test.r1, test.line_mohm_per_m), (test.rn, test.neutral_mohm_per_m)):
        if end is not None and math.isfinite(end.shown) and end.shown > 0.0:
            return 1000.0 * end.shown / (r * make)
    return 60.0


def line_nodes(g: Ground, series: Sequence[float | None]) -> Pairs:
    """Nodes of the line's own end to end resistance [Ω] with their prior and the chance of r1 and rn of sound conductors."""
    sound = [t for t, s in ((g.r1, series[0]), (g.rn, series[1])) if s == 0.0]
    windows = [(t.low, t.high) for t in sound if t.telling]
    low_m, high_m = g.priors.length_m
    scale = g.test.line_mohm_per_m / 1000.0
    log_range = math.log(high_m / low_m)
    if not windows:
        ratio = (high_m / low_m) ** (1.0 / 36.0)
        middles = [low_m * scale * ratio ** (i + 0.5) for i in range(36)]
        cells = [(m, m * math.log(ratio)) for m in middles]
    else:
        low, high = max(w[0] for w in windows), min(w[1] for w in windows)
        spans = [(low, high)] if low < high else windows
        cells = []
        for first, last in spans:
            first, last = max(first * 0.98, scale), last * 1.02
            if last > first:
                width = (last - first) / 11.0
                cells += [(first + (i + 0.5) * width, width) for i in range(11)]
    nodes = []
    for value, width in cells:
        weight = width / value / log_range
        for t in sound:
            weight *= t.near(value, g.priors.core)
        nodes.append((value, weight))
    return nodes


def ratio_weight(g: Ground, ratio: float) -> float:
    """Prior density, by natural logarithm, of the real r2/r1 against that of the sizes."""
    tail = 1.0 if not g.test.cpc_known else g.priors.ratio_tail
    off = abs(math.log(ratio / g.ratio))
    body = (1.0 - tail) / (2.0 * _RATIO_SLACK) if off <= _RATIO_SLACK else 0.0
    return body + (tail / (2.0 * _RATIO_RANGE) if off <= _RATIO_RANGE else 0.0)


_RATIO_SLACK = math.log(1.0 / 0.93)  # each conductor has its own make
_RATIO_RANGE = math.log(2.5)


def cpc_nodes(g: Ground, line_ohm: float, series: float | None, count: int) -> Pairs:
    """Nodes of the cpc's own end to end resistance [Ω], with the prior of its ratio and the chance of r2 when it is sound."""
    if series == 0.0 and g.r2.telling:
        first, last = max(g.r2.low, 1e-3), g.r2.high
        width = (last - first) / count
        cells = [(first + (i + 0.5) * width, width) for i in range(count)]
        return [(v, w / v * ratio_weight(g, v / line_ohm) * g.r2.at(v)) for v, w in cells]
    slack = _RATIO_SLACK if g.test.cpc_known else _RATIO_RANGE
    count = count if g.test.cpc_known else 3 * count
    step = 2.0 * slack / count
    nodes = []
    for i in range(count):
        ratio = g.ratio * math.exp(-slack + (i + 0.5) * step)
        value = line_ohm * ratio
        nodes.append((value, step * ratio_weight(g, ratio) * (g.r2.at(value) if series == 0.0 else 1.0)))
    return nodes


def extra_nodes(g: Ground, end: Table, own_ohm: float) -> Pairs:
    """Nodes of an added resistance [Ω] that makes an end to end reading what it is, with prior and chance of the digits."""
    low, high = g.priors.extra_ohm
    density = math.log(high / low)
    if not end.telling:
        ratio = (high / low) ** (1.0 / 24.0)
        return [(low * ratio ** (i + 0.5), end.at(own_ohm + low * ratio ** (i + 0.5)) / 24.0) for i in range(24)]
    first, last = max(end.low - own_ohm, low), min(end.high - own_ohm, high)
    if last <= first:
        return []
    width = (last - first) / 7.0
    middles = [first + (i + 0.5) * width for i in range(7)]
    return [(v, width / v / density * end.at(own_ohm + v)) for v in middles]


def beside(x: float, y: float) -> float:
    """Two branches side by side, open ones allowed."""
    if x == math.inf or y == math.inf:
        return min(x, y)
    return x * y / (x + y) if x + y else 0.0


def crossing(place: float, first: float, second: float, at_first: float, at_second: float, crossed: bool) -> float:
    """Between two conductors at a place (share of the ring), with what each has in series beyond (+) or before (−) it [Ω].

    first, second  end to end of each [Ω];  at_first, at_second  series resistance, positive on the arm to leg 2,
    negative on the arm to leg 1. The same as physics.ring.crossed_ohm on stars without stem.
    """
    a1, a2 = first * place, first * (1.0 - place)
    b1, b2 = second * place, second * (1.0 - place)
    if at_first > 0:
        a2 += at_first
    else:
        a1 -= at_first
    if at_second > 0:
        b2 += at_second
    else:
        b1 -= at_second
    return beside(a1 + b2, a2 + b1) if crossed else beside(a1 + b1, a2 + b2)


def weigh(g: Ground, fault: Fault, best: float) -> Weighed:
    """Weight of one hypothesis; ``best`` is the weight reached so far, far below which nothing is worked out exactly."""
    state = _Sum(g, fault, best)
    whole = not fault.placed and fault.ln_crossed and fault.le_crossed
    makes = (0.965,) if whole else _thirds(g.priors.make)
    known = [(g.r1, fault.series[0]), (g.rn, fault.series[1]), (g.r2, fault.series[2])]
    opened = 1.0
    for end, series in known:
        if series == math.inf:
            opened *= end.at(math.inf)
    for line, line_weight in line_nodes(g, fault.series):
        if line_weight * opened <= state.cut:
            continue
        for cpc, cpc_weight in cpc_nodes(g, line, fault.series[2], 11 if whole else 7):
            if line_weight * cpc_weight * opened <= state.cut:
                continue
            for extras, extras_weight in _series(g, fault, line, cpc):
                weight = line_weight * cpc_weight * extras_weight * opened
                if weight > state.cut:
                    for make in makes:
                        state.add(line, cpc, extras, make, weight / len(makes), whole)
    return state.done()


def _thirds(make: tuple[float, float]) -> tuple[float, ...]:
    return tuple(make[0] + (make[1] - make[0]) * (i + 0.5) / 3.0 for i in range(3))


def _series(g: Ground, fault: Fault, line: float, cpc: float) -> Iterator[tuple[tuple[float, float, float], float]]:
    """Series resistances of the three conductors, the unknown one spread over its nodes."""
    known = tuple(0.0 if s is None else s for s in fault.series)
    if None not in fault.series:
        yield (known[0], known[1], known[2]), 1.0
        return
    which = fault.series.index(None)
    end, own = ((g.r1, line), (g.rn, line), (g.r2, cpc))[which]
    for extra, weight in extra_nodes(g, end, own):
        one = [0.0, 0.0, 0.0]
        one[which] = extra
        yield (one[0], one[1], one[2]), weight


class _Sum:
    """Adds up the nodes of one hypothesis."""

    def __init__(self, g: Ground, fault: Fault, best: float) -> None:
        self.g, self.fault = g, fault
        self.cut = best * 1e-7
        self.total = self.loose = self.most = self.metres = 0.0
        self.gaps = [0.0] * (len(g.sockets) + 1)
        self.best = (0.0, 0.0, 1.0)
        self.neutral = g.test.neutral_mohm_per_m / g.test.line_mohm_per_m
        self.wide = not (fault.ln_crossed and fault.le_crossed)

    def add(
        self, line: float, cpc: float, series: tuple[float, float, float], make: float, weight: float, whole: bool
    ) -> None:
        """One node: the chance of every socket's digits, times its weight."""
        g, fault = self.g, self.fault
        length = line * 1000.0 / (g.test.line_mohm_per_m * make)
        weight *= _mean_share(g, line) if whole else g.share_of_length(length)
        if weight <= self.cut:
            return
        neutral = line * self.neutral
        if not fault.placed:
            got = self._plain(line, neutral, cpc, length, weight, whole)
        else:
            got = self._placed(line, neutral, cpc, series, length, weight)
        self.total += got
        self.metres += got * length
        if got > self.most:
            self.most, self.best = got, (line, cpc, make)
        self.cut = max(self.cut, self.total * 1e-7)

    def _plain(self, line: float, neutral: float, cpc: float, length: float, weight: float, whole: bool) -> float:
        g, fault, loose = self.g, self.fault, weight
        for s in g.sockets:
            place = s.at(length)
            chance = g.socket(
                s.ln_wide if self.wide else s.ln,
                s.le_wide if self.wide else s.le,
                crossing(place, line, neutral, 0.0, 0.0, fault.ln_crossed),
                crossing(place, line, cpc, 0.0, 0.0, fault.le_crossed),
            )
            weight *= chance
            if whole:
                loose *= (1.0 - g.priors.loose) * chance + g.priors.loose * _diffuse(g, s.ln) * _diffuse(g, s.le)
            elif weight <= self.cut:
                return weight
        self.loose += loose if whole else 0.0
        return weight

    def _placed(
        self,
        line: float,
        neutral: float,
        cpc: float,
        series: tuple[float, float, float],
        length: float,
        weight: float,
    ) -> float:
        g, (x, y, z) = self.g, series
        before, after, bound = [], [], weight
        for s in g.sockets:
            place = s.at(length)
            one, two = s.ln, s.le_placed
            ln, le = crossing(place, line, neutral, x, y, True), crossing(place, line, cpc, x, z, True)
            here = g.socket(one, two, ln, le)
            ln, le = crossing(place, line, neutral, -x, -y, True), crossing(place, line, cpc, -x, -z, True)
            there = g.socket(one, two, ln, le)
            before.append(here)
            after.append(there)
            bound *= max(here, there)
            if bound <= self.cut:
                return 0.0
        # A socket before the place is seen from leg 1, one after it from leg 2.
        behind = [1.0]
        for chance in reversed(after):
            behind.append(behind[-1] * chance)
        behind.reverse()
        total, ahead, last = 0.0, 1.0, 0.0
        for gap in range(len(before) + 1):
            end = g.sockets[gap].at(length) if gap < len(before) else 1.0
            share = weight * max(1e-3, end - last) * ahead * behind[gap]
            self.gaps[gap] += share
            total += share
            if gap < len(before):
                ahead *= before[gap]
                last = end
        return total

    def done(self) -> Weighed:
        """The sums."""
        length = self.metres / self.total if self.total else 0.0
        return Weighed(self.fault.name, self.total, tuple(self.gaps), self.loose, self.best, length)


def _diffuse(g: Ground, t: Table) -> float:
    """Chance of the digits of a reading that follows nothing, on the table's scale."""
    if t is FREE:
        return 1.0
    return (0.1 if t.over else g.priors.diffuse) / t.peak


def _mean_share(g: Ground, line: float) -> float:
    shares = [g.share_of_length(line * 1000.0 / (g.test.line_mohm_per_m * m)) for m in _thirds(g.priors.make)]
    return sum(shares) / 3.0
