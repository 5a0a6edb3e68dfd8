"""Weights of the rings that are one loop: whole, broken, with a poor joint, or with the legs not crossed.

All are told by what each conductor has in series at one place (nothing, a resistance, a break) and by how the legs were
joined. The unknowns: end to end resistance of line and cpc, the real resistance of copper within its make, the extra
resistance, and between which sockets the place lies. Summed on a grid inside the windows that the digits leave open.
"""

from __future__ import annotations

import math

from attrs import frozen

from .faults import Fault
from .ground import Ground
from .nodes import cells_of, cpc_nodes, extra_nodes, line_nodes
from .tables import FREE, Table


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
    negative on the arm to leg 1. The same as ring_stars.crossed_ohm of the tests on stars without stem.
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
    opened = 1.0
    for end, series in ((g.r1, fault.series[0]), (g.rn, fault.series[1]), (g.r2, fault.series[2])):
        if series == math.inf:
            opened *= end.at(math.inf)
    z_known = fault.series[2]
    for line, line_weight in line_nodes(g, fault.series):
        if line_weight * opened <= state.cut:
            continue
        cpcs = cpc_nodes(g, line, z_known, 11 if whole else 6)
        most = max((w for _, w in cpcs), default=0.0)
        for x, y, weight in _line_series(g, fault, line):
            for make in makes:
                length = line * 1000.0 / (g.test.line_mohm_per_m * make)
                share = _mean_share(g, line) if whole else g.share_of_length(length)
                here = line_weight * weight * opened * share / len(makes)
                # No cpc can make more of the sockets' digits than line and neutral leave.
                if here * most <= state.cut:
                    continue
                bound = state.start(line, x, y, length, state.cut / (here * most))
                if bound == 0.0:
                    continue
                for cpc, cpc_weight in cpcs:
                    if here * cpc_weight * bound <= state.cut:
                        continue
                    extras = extra_nodes(g, g.r2, cpc) if z_known is None else ((z_known, 1.0),)
                    for z, z_weight in extras:
                        state.add(cpc, z, make, here * cpc_weight * z_weight)
    return state.done()


def _parts(make: tuple[float, float], count: int) -> tuple[float, ...]:
    return tuple(middle for middle, _ in cells_of(make[0], make[1], count))


def _line_series(g: Ground, fault: Fault, line: float) -> list[tuple[float, float, float]]:
    """What line and neutral have in series [Ω], an unknown one spread over its nodes, with the weight of each."""
    x, y, _ = fault.series
    if x is None:
        return [(extra, 0.0, weight) for extra, weight in extra_nodes(g, g.r1, line)]
    if y is None:
        return [(0.0, extra, weight) for extra, weight in extra_nodes(g, g.rn, line)]
    return [(x, y, 1.0)]


# Tables of a socket, its place, line to neutral [Ω] and its chance before the place of the fault, the same beyond it.
_Known = tuple[Table, Table, float, float, float, float, float]


class _Sum:
    """Adds up the nodes of one hypothesis."""

    def __init__(self, g: Ground, fault: Fault, best: float) -> None:
        self.g, self.fault = g, fault
        self.cut = best * 1e-6
        self.total = self.loose = self.most = self.metres = 0.0
        self.gaps = [0.0] * (len(g.sockets) + 1)
        self.best = (0.0, 0.0, 1.0)
        self.neutral = g.test.neutral_mohm_per_m / g.test.line_mohm_per_m
        self.whole = not fault.placed and fault.ln_crossed and fault.le_crossed
        self.known: list[_Known] = []
        self.line = self.length = self.x = 0.0

    def start(self, line: float, x: float, y: float, length: float, least: float) -> float:
        """Work out line to neutral at every socket; the most that all their digits can be worth, 0 if not ``least``."""
        g, fault = self.g, self.fault
        self.line, self.length, self.x, self.known = line, length, x, []
        neutral, bound = line * self.neutral, 1.0
        wide = not (fault.ln_crossed and fault.le_crossed)
        for s in g.sockets:
            place = s.at(length)
            one = s.ln_wide if wide else s.ln
            two = s.le_wide if wide else s.le_placed if fault.placed else s.le
            ln = beyond = crossing(place, line, neutral, x, y, fault.ln_crossed)
            at_ln = at_beyond = one.at(ln)
            most = g.alone_with_spur(one, ln, g.no_spur * at_ln)
            if x or y:
                beyond = crossing(place, line, neutral, -x, -y, fault.ln_crossed)
                at_beyond = one.at(beyond)
                most = max(most, g.alone_with_spur(one, beyond, g.no_spur * at_beyond))
            if self.whole:  # the check for readings that follow nothing must not be cut short
                most = (1.0 - g.priors.loose) * most + g.priors.loose * _diffuse(g, s.ln)
            bound *= most
            self.known.append((one, two, place, ln, at_ln, beyond, at_beyond))
            if bound <= least:
                return 0.0
        return bound

    def add(self, cpc: float, z: float, make: float, weight: float) -> None:
        """One node: the chance of every socket's digits, times its weight."""
        if weight <= self.cut:
            return
        got = self._placed(cpc, z, weight) if self.fault.placed else self._plain(cpc, weight)
        self.total += got
        self.metres += got * self.length
        if got > self.most:
            self.most, self.best = got, (self.line, cpc, make)
        self.cut = max(self.cut, self.total * 1e-5)

    def _plain(self, cpc: float, weight: float) -> float:
        """A ring in which nothing is in series: whole, or with its legs not crossed."""
        g, line, crossed, loose = self.g, self.line, self.fault.le_crossed, weight
        for (one, two, place, ln, at_ln, _, _), s in zip(self.known, g.sockets, strict=True):
            le = crossing(place, line, cpc, 0.0, 0.0, crossed)
            chance = g.with_spur(one, two, ln, le, g.no_spur * at_ln * two.at(le))
            weight *= chance
            if self.whole:
                loose *= (1.0 - g.priors.loose) * chance + g.priors.loose * _diffuse(g, s.ln) * _diffuse(g, s.le)
            elif weight <= self.cut:
                return weight
        self.loose += loose if self.whole else 0.0
        return weight

    def _placed(self, cpc: float, z: float, weight: float) -> float:
        """A ring with something in series at one place: summed over the gaps between sockets that it may lie in."""
        g, line, x = self.g, self.line, self.x
        before, after, bound = [], [], weight
        tilted = x != 0.0 or z != 0.0
        for one, two, place, ln, at_ln, beyond, at_beyond in self.known:
            le = crossing(place, line, cpc, x, z, True)
            at_le = two.at(le)
            here = there = g.with_spur(one, two, ln, le, g.no_spur * at_ln * at_le)
            if tilted or beyond != ln:
                if tilted:
                    le = crossing(place, line, cpc, -x, -z, True)
                    at_le = two.at(le)
                there = g.with_spur(one, two, beyond, le, g.no_spur * at_beyond * at_le)
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
            end = self.known[gap][2] if gap < len(before) else 1.0
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
    shares = [g.share_of_length(line * 1000.0 / (g.test.line_mohm_per_m * m)) for m in _parts(g.priors.make, 3)]
    return sum(shares) / 3.0
