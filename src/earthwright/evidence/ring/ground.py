"""What every hypothesis of one ring shares: tables of the readings, places of the sockets, spurs."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from functools import lru_cache

from attrs import frozen

from ..graph.lengths import slack_m
from .model import Priors, RingTest
from .tables import FREE, Table, read_table


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


@lru_cache(maxsize=64)
def spur_nodes(priors: Priors, sockets: int) -> tuple[tuple[float, float], ...]:
    """Lengths of a spur [m] and their chances, together the chance that a socket hangs on one."""
    low, high = priors.spur_m
    chance = min(0.4, priors.spurs / max(1, sockets))
    ratio = (high / low) ** (1.0 / 9.0)
    return tuple((low * ratio ** (i + 0.5), chance / 9.0) for i in range(9))


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
    no_spur: float
    shortest_m: float
    longest_m: float
    spur_metres: tuple[float, ...]

    def share_of_length(self, length_m: float) -> float:
        """What the estimate and the places leave of the weight of a length."""
        weight = 1.0
        if self.last_m > length_m * 1.05 + self.priors.place_tol_m:
            weight = self.priors.wrong_estimate
        estimate = self.test.length_m
        if estimate is not None:
            tolerance = slack_m(estimate, self.test.length_tol_m or None)
            if abs(length_m - estimate) > tolerance + 0.05 * estimate:
                weight *= self.priors.wrong_estimate
        return weight

    def socket(self, one: Table, two: Table, ln: float, le: float) -> float:
        """Chance of a socket's digits for the values at its place on the ring [Ω], on a spur or not."""
        return self.with_spur(one, two, ln, le, self.no_spur * one.at(ln) * two.at(le))

    def alone_with_spur(self, one: Table, ln: float, chance: float) -> float:
        """The same of line to neutral alone, whatever the other profile shows."""
        if not one.telling:
            return self.with_spur(one, FREE, ln, 0.0, chance)
        most, least = (one.most - ln) / self.ln_per_m, (one.least - ln) / self.ln_per_m
        if most < self.shortest_m or least > self.longest_m:
            return chance
        values, end, low, per, ln_per_m = one.values, len(one.values) - 1, one.low, one.per_ohm, self.ln_per_m
        for metres, weight in self.spurs[bisect_left(self.spur_metres, least) : bisect_right(self.spur_metres, most)]:
            i = int((ln + metres * ln_per_m - low) * per)
            chance += weight * values[i if i < end else end]
        return chance

    def with_spur(self, one: Table, two: Table, ln: float, le: float, chance: float) -> float:
        """The chance without a spur, and what spurs add to it."""
        # Only spurs from which both digits may come; what a misreading adds beyond them is beneath notice.
        ln_per_m, le_per_m = self.ln_per_m, self.le_per_m
        # The two bounds one after the other: most sockets are settled by the first.
        most = (one.most - ln) / ln_per_m
        least = (one.least - ln) / ln_per_m
        if most < self.shortest_m or least > self.longest_m:
            return chance
        if two is not FREE:
            most = min(most, (two.most - le) / le_per_m)
            least = max(least, (two.least - le) / le_per_m)
            if most < self.shortest_m or least > self.longest_m:
                return chance
        # Inside both windows the digits come from one cell of each table; asked for some ten thousand times a ring.
        first, last = bisect_left(self.spur_metres, least), bisect_right(self.spur_metres, most)
        if not (one.telling and two.telling):
            for metres, weight in self.spurs[first:last]:
                chance += weight * one.at(ln + metres * ln_per_m) * two.at(le + metres * le_per_m)
            return chance
        ones, twos, end_1, end_2 = one.values, two.values, len(one.values) - 1, len(two.values) - 1
        low_1, low_2, per_1, per_2 = one.low, two.low, one.per_ohm, two.per_ohm
        for metres, weight in self.spurs[first:last]:
            i = int((ln + metres * ln_per_m - low_1) * per_1)
            j = int((le + metres * le_per_m - low_2) * per_2)
            chance += weight * ones[i if i < end_1 else end_1] * twos[j if j < end_2 else end_2]
        return chance


def ground(test: RingTest, priors: Priors) -> Ground:
    """The tables and places of a ring's readings."""
    model, count = priors.readings, len(test.sockets)
    mean = (priors.make[0] + priors.make[1]) / 2.0
    ln_per_m = mean * (test.line_mohm_per_m + test.neutral_mohm_per_m) / 1000.0
    le_per_m = mean * (test.line_mohm_per_m + test.cpc_mohm_per_m) / 1000.0
    metres = all(s.place_m is not None for s in test.sockets) and count > 0
    # Where only the order is known, places scatter round even ones as those of so many points dropped on the ring.
    spread = priors.place_tol_m if metres else guessed_length(test, mean) * 0.5 / math.sqrt(count + 2.0)
    tilt_per_m = mean * abs(test.cpc_mohm_per_m - test.line_mohm_per_m) / 1000.0
    sockets = []
    for number, s in enumerate(test.sockets):
        sockets.append(
            Socket(
                s.place_m if metres else None,
                (number + 1.0) / (count + 1.0),
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
    spurs = spur_nodes(priors, count)
    ends = (1.0 - sum(w for _, w in spurs), spurs[0][0], spurs[-1][0])
    metres_of = tuple(m for m, _ in spurs)
    return Ground(test, priors, r1, rn, r2, tuple(sockets), last, spurs, ln_per_m, le_per_m, ratio, *ends, metres_of)


def guessed_length(test: RingTest, make: float) -> float:
    """A length to think with [m]: the estimate, else what r1 or rn stands for, else a usual one."""
    if test.length_m is not None:
        return test.length_m
    for end, r in ((test.r1, test.line_mohm_per_m), (test.rn, test.neutral_mohm_per_m)):
        if end is not None and math.isfinite(end.shown) and end.shown > 0.0:
            return 1000.0 * end.shown / (r * make)
    return 60.0
