"""The chance of a reading's digits as a table over true values, each divided by its peak, so that many may be multiplied."""

from __future__ import annotations

import math
from functools import lru_cache

from ..bond import Model, Observed, noise

_CELLS = 72


class Table:
    """Relative chance of one reading for a true value: ``values`` from ``low`` to ``high``, ``floor`` below, ``above`` beyond.

    peak  the chance that the rest is divided by, one for all tables of a reading;  over  whether it showed over-range
    """

    __slots__ = ("above", "floor", "high", "least", "low", "most", "over", "peak", "per_ohm", "telling", "values")

    def __init__(
        self,
        low: float,
        high: float,
        values: tuple[float, ...],
        floor: float,
        above: float,
        over: bool,
        peak: float = 0.0,
    ) -> None:
        self.peak = peak or max((*values, floor, above))
        self.low, self.high = low, high
        self.values = tuple(v / self.peak for v in values)
        self.floor, self.above = floor / self.peak, above / self.peak
        self.over = over
        self.telling = bool(values) and not over  # it holds digits, so its window bounds the true value
        self.per_ohm = len(values) / (high - low) if values else 0.0
        # Where the digits come from at all; readings without digits come from anywhere.
        self.least, self.most = (low, high) if values and not over else (-math.inf, math.inf)

    def at(self, true_ohm: float) -> float:
        """Relative chance of the digits for a true value [Ω], infinite when open."""
        if true_ohm >= self.high:
            return self.above
        if true_ohm < self.low:
            return self.floor
        return self.values[int((true_ohm - self.low) * self.per_ohm)]

    def near(self, true_ohm: float, share: float) -> float:
        """The mean of the chances from ``true·(1 − share)`` to ``true·(1 + share)``, by five points."""
        step = true_ohm * share / 2.5
        return sum(self.at(true_ohm + k * step) for k in (-2, -1, 0, 1, 2)) / 5.0


FREE = Table(math.inf, -math.inf, (), 0.0, 1.0, False)  # no reading: every true value will do


@lru_cache(maxsize=4096)
def table(observed: Observed, model: Model, contact_ohm: float, spread_ohm: float) -> Table:
    """The table of one reading.

    contact_ohm  contact resistance on top of the true value, rectangular from 0 [Ω]
    spread_ohm   further ± rectangular spread of the true value [Ω], from a place that is known only within a tolerance
    """
    base, scale = noise(observed, model)
    display = observed.display
    if math.isinf(observed.shown):
        edge = display.window(observed.shown)[0]
        return Table(edge, display.top, (base + scale / 2.0,), base, base + scale, True)
    low, high = display.window(observed.shown)
    # What leads and contact add is seen by the display, so the true value lies lower by as much.
    more = observed.offset[1] - observed.offset[0] + contact_ohm
    first, last = low - more - spread_ohm, high + spread_ohm
    width = max((last - first) / _CELLS, display.step / 4.0)
    count = max(1, math.ceil((last - first) / width))
    width = (last - first) / count
    plain = [display.chance(observed.shown, max(0.0, first + (i + 0.5) * width)) for i in range(count)]
    plain = _smear(plain, 0, round(more / width))
    side = round(spread_ohm / width)
    plain = _smear(plain, side, side)
    moved = observed.offset[0]
    # The same divisor whatever the spread: hypotheses that know the place better must be able to gain by it.
    peak = table(observed, model, contact_ohm, 0.0).peak if spread_ohm else 0.0
    return Table(first - moved, last - moved, tuple(base + scale * p for p in plain), base, base, False, peak)


def _smear(values: list[float], back: int, ahead: int) -> list[float]:
    """Each value replaced by the mean of itself, ``back`` before and ``ahead`` after it."""
    if back == ahead == 0:
        return values
    sums = [0.0]
    for value in values:
        sums.append(sums[-1] + value)
    count, parts = len(values), back + ahead + 1
    return [(sums[min(count, i + ahead + 1)] - sums[max(0, i - back)]) / parts for i in range(count)]


def read_table(observed: Observed | None, model: Model, contact_ohm: float = 0.0, spread_ohm: float = 0.0) -> Table:
    """The table of a reading, or the one that allows everything when there is none."""
    return FREE if observed is None else table(observed, model, contact_ohm, spread_ohm)
