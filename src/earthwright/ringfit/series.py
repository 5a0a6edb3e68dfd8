"""Weights of the rings that are one loop: whole, broken, with a poor joint, or with the legs not crossed.

All are told by what each conductor has in series at one place (nothing, a resistance, a break) and by how the legs were
joined. The unknowns: end to end resistance of line and cpc, the real resistance of copper within its make, the extra
resistance, and between which sockets the place lies. Summed on a grid inside the windows that the digits leave open.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from attrs import frozen

from .ground import Ground, Socket
from .nodes import cells_of, cpc_nodes, extra_nodes, line_nodes
from .tables import FREE, Table


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
    makes = _parts(g.priors.make, 1 if whole else 2 if fault.placed else 3)
    known = [(g.r1, fault.series[0]), (g.rn, fault.series[1]), (g.r2, fault.series[2])]
    opened = 1.0
    for end, series in known:
        if series == math.inf:
            opened *= end.at(math.inf)
    for line, line_weight in line_nodes(g, fault.series):
        if line_weight * opened <= state.cut:
            continue
        for cpc, cpc_weight in cpc_nodes(g, line, fault.series[2], 11 if whole else 6):
            if line_weight * cpc_weight * opened <= state.cut:
                continue
            for extras, extras_weight in _series(g, fault, line, cpc):
                weight = line_weight * cpc_weight * extras_weight * opened
                if weight > state.cut:
                    for make in makes:
                        state.add(line, cpc, extras, make, weight / len(makes), whole)
    return state.done()


def _parts(make: tuple[float, float], count: int) -> tuple[float, ...]:
    return tuple(middle for middle, _ in cells_of(make[0], make[1], count))


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


_Known = tuple[Socket, float, float, float, float, float]


class _Sum:
    """Adds up the nodes of one hypothesis."""

    def __init__(self, g: Ground, fault: Fault, best: float) -> None:
        self.g, self.fault = g, fault
        self.cut = best * 1e-7
        self.total = self.loose = self.most = self.metres = 0.0
        self.gaps = [0.0] * (len(g.sockets) + 1)
        self.best = (0.0, 0.0, 1.0)
        self.kept: dict[tuple[float, float, float, float], list[_Known]] = {}
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
        self.cut = max(self.cut, self.total * 1e-5)

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
        tilted = x != 0.0 or z != 0.0
        for s, place, ln, at_ln, ln_beyond, at_ln_beyond in self._line_neutral(line, neutral, x, y, length):
            one, two = s.ln, s.le_placed
            le = crossing(place, line, cpc, x, z, True)
            at_le = two.at(le)
            here = there = g.with_spur(one, two, ln, le, g.no_spur * at_ln * at_le)
            if tilted or ln_beyond != ln:
                if tilted:
                    le = crossing(place, line, cpc, -x, -z, True)
                    at_le = two.at(le)
                there = g.with_spur(one, two, ln_beyond, le, g.no_spur * at_ln_beyond * at_le)
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

    def _line_neutral(self, line: float, neutral: float, x: float, y: float, length: float) -> list[_Known]:
        """For each socket its place, and line to neutral before and beyond the place of the fault; kept for every cpc."""
        key = (line, x, y, length)
        known = self.kept.get(key)
        if known is None:
            known = []
            for s in self.g.sockets:
                place = s.at(length)
                ln = crossing(place, line, neutral, x, y, True)
                beyond = crossing(place, line, neutral, -x, -y, True)
                known.append((s, place, ln, s.ln.at(ln), beyond, s.ln.at(beyond)))
            self.kept[key] = known
        return known

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
    shares = [g.share_of_length(line * 1000.0 / (g.test.line_mohm_per_m * m)) for m in _parts(g.priors.make, 3)]
    return sum(shares) / 3.0
