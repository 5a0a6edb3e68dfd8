"""Weight of a ring within a ring: a cable that joins two of its points, all three conductors.

Five unknowns: both ends, how far the bridge lifts the middle between them, and the end to end resistances of line and
cpc. The likeliest place is found from the readings' surplus over a whole ring, then refined; the weight is summed over
points of a Halton sequence, once over all that is allowed and once, weighted, round the likeliest place.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from statistics import NormalDist

from attrs import frozen

from .ground import Ground, guessed_length
from .nodes import cpc_nodes, line_nodes, ratio_weight
from .series import crossing

_MANY, _AROUND = 160, 240
Point = tuple[float, float, float, float, float]  # from [m], to [m], lift [m], line [Ω], cpc [Ω]


@frozen
class Bridged:
    """Weight on the common scale; samples (from, to, cable [m], length [m]) with their weights, the weightiest first."""

    total: float = 0.0
    samples: tuple[tuple[tuple[float, float, float, float], float], ...] = ()


@lru_cache(maxsize=4)
def halton(count: int) -> tuple[Point, ...]:
    """The first points of the Halton sequence in five dimensions, each 0 to 1."""
    return tuple(
        (_radical(i, 2), _radical(i, 3), _radical(i, 5), _radical(i, 7), _radical(i, 11)) for i in range(20, count + 20)
    )


def _radical(number: int, base: int) -> float:
    result, share = 0.0, 1.0
    while number:
        share /= base
        number, digit = divmod(number, base)
        result += share * digit
    return result


@lru_cache(maxsize=2)
def _normal(count: int) -> tuple[Point, ...]:
    law = NormalDist()
    drawn = [[law.inv_cdf(min(max(u, 1e-4), 1.0 - 1e-4)) for u in point] for point in halton(count)]
    return tuple((a, b, c, d, e) for a, b, c, d, e in drawn)


def seen_at(x_m: float, start_m: float, end_m: float, via_m: float) -> tuple[float, float]:
    """Where a socket of a bridged ring seems to lie along the cable that is left, and the metres it is lifted by [m].

    The first arm and the stem of ring_stars.bridged in the tests; checked against it.
    """
    span = end_m - start_m
    around = span + via_m
    if x_m <= start_m:
        return x_m, 0.0
    if x_m >= end_m:
        return x_m - span + span * via_m / around, 0.0
    return start_m + (x_m - start_m) * via_m / around, (x_m - start_m) * (end_m - x_m) / around


class _Bridge:
    """The sums for one ring."""

    def __init__(self, g: Ground, cut: float) -> None:
        self.g, self.cut = g, cut
        lines = line_nodes(g, (0.0, 0.0, 0.0))
        self.line_total = sum(w for _, w in lines)
        self.line, self.line_sd = _moments(lines)
        cpcs = cpc_nodes(g, self.line, 0.0, 11) if self.line else []
        self.cpc_total = sum(w for _, w in cpcs)
        self.cpc, self.cpc_sd = _moments(cpcs)
        self.make = (g.priors.make[0] + g.priors.make[1]) / 2.0
        self.neutral = g.test.neutral_mohm_per_m / g.test.line_mohm_per_m
        count = len(g.sockets)
        if g.last_m:
            self.reach = g.last_m * (1.0 + 1.0 / max(1, count))
        else:  # without an estimate: longer than r1 stands for, since a bridge shortens what is read
            self.reach = g.test.length_m or 1.3 * guessed_length(g.test, self.make)
        self.least_m = g.priors.bump_ohm / g.ln_per_m
        self.places = [s.place_m if s.place_m is not None else s.share * self.reach for s in g.sockets]
        self.allowed = self._allowed()

    def length_of(self, line: float, start: float, end: float, via: float) -> float:
        """True length of the ring whose line reads so much end to end with the bridge in place [m]."""
        span = end - start
        return line * 1000.0 / (self.g.test.line_mohm_per_m * self.make) + span - span * via / (span + via)

    def fits(self, start: float, end: float, lift: float) -> float:
        """Cable of the bridge [m]; 0 when such a bridge is not among those told apart."""
        span = end - start
        if start < 0.0 or end > self.reach or span <= 0.0 or lift < self.least_m:
            return 0.0
        via = span * span / (4.0 * lift) - span
        low, high = self.g.priors.via_m
        if not low <= via <= high:
            return 0.0
        least = self.least_m * (span + via)
        lifted = sum(1 for x in self.places if start < x < end and (x - start) * (end - x) >= least)
        return via if lifted >= self.g.priors.inside else 0.0

    def density(self, start: float, end: float, lift: float, via: float) -> float:
        """Prior density in from, to and lift, before the share of what is allowed."""
        span, (low, high) = end - start, self.g.priors.via_m
        return 2.0 / self.reach**2 / (via * math.log(high / low)) * span * span / (4.0 * lift * lift)

    def chance(self, start: float, end: float, via: float, line: float, cpc: float, least: float) -> float:
        """Chance of the sockets' digits; 0 when it falls below ``least``."""
        g, span = self.g, end - start
        both = span * via / (span + via)
        seen = line * 1000.0 / (g.test.line_mohm_per_m * self.make)
        weight = g.share_of_length(seen + span - both)
        neutral = line * self.neutral
        for s, x in zip(g.sockets, self.places, strict=True):
            along, lift = seen_at(x, start, end, via)
            place = min(1.0, max(0.0, along / seen))
            weight *= g.socket(
                s.ln_wide if lift else s.ln,  # outside the bridge the place hardly matters
                s.le_wide if lift else s.le,
                crossing(place, line, neutral, 0.0, 0.0, True) + lift * g.ln_per_m,
                crossing(place, line, cpc, 0.0, 0.0, True) + lift * g.le_per_m,
            )
            if weight <= least:
                return 0.0
        return weight

    def ends_weight(self, line: float, cpc: float) -> float:
        """Prior density of line and cpc end to end, times the chance of r1, rn and r2."""
        g = self.g
        if line <= 0.0 or cpc <= 0.0:
            return 0.0
        low, high = g.priors.length_m
        core = g.priors.core
        chance = g.r1.near(line, core) * g.rn.near(line, core) * g.r2.at(cpc)
        return chance / (line * math.log(high / low)) * ratio_weight(g, cpc / line) / cpc

    def _drawn(self) -> list[tuple[float, float, float, float]]:
        """Points of the prior: from, to, lift, cable [m]."""
        low, high = self.g.priors.via_m
        drawn = []
        for u, v, w, _, _ in halton(_MANY * 3):
            end = self.reach * math.sqrt(u)
            start, via = end * v, low * (high / low) ** w
            span = end - start
            drawn.append((start, end, span * span / 4.0 / (span + via), via))
        return drawn

    def _allowed(self) -> float:
        points = self._drawn()
        self.prior_points = [p for p in points if self.fits(p[0], p[1], p[2])]
        return max(len(self.prior_points), 1) / len(points)

    def broad(self) -> Bridged:
        """Weight summed over the whole prior, line and cpc at their likeliest."""
        points = self.prior_points[:_MANY]
        scale = self.line_total * self.cpc_total
        if not points or not scale:
            return Bridged()
        least = self.cut / scale
        samples = []
        for start, end, _, via in points:
            chance = self.chance(start, end, via, self.line, self.cpc, least)
            if chance > 0.0:
                length = self.length_of(self.line, start, end, via)
                samples.append(((start, end, via, length), scale * chance / len(points)))
        return Bridged(sum(w for _, w in samples), tuple(samples))

    def _surplus(self) -> list[tuple[float, float, float]]:
        """For each socket read: place [m], metres of cable that it reads above a whole ring, and their weight [1/m²]."""
        found = []
        g = self.g
        for s, read, x in zip(g.sockets, g.test.sockets, self.places, strict=True):
            place = s.at(max(self.reach, 1.0))
            above = weight = 0.0
            for observed, per_m, second in (
                (read.ln, g.ln_per_m, self.line * self.neutral),
                (read.le, g.le_per_m, self.cpc),
            ):
                if observed is None or math.isinf(observed.shown):
                    continue
                d = observed.display
                u = math.hypot(observed.shown * d.pct / 100.0, d.digits * d.step, d.step / 2.0) / math.sqrt(3.0)
                here = crossing(place, self.line, second, 0.0, 0.0, True)
                w = (per_m / u) ** 2
                above += w * (observed.shown - here) / per_m
                weight += w
            if weight:
                found.append((x, above / weight, weight))
        return found

    def none_lifted(self) -> bool:
        """Whether every socket was read and fewer than a bridge must lift can have been lifted by so much."""
        surplus = self._surplus()
        if len(surplus) < len(self.places):
            return False
        return sum(1 for _, b, w in surplus if b + 3.0 / math.sqrt(w) >= self.least_m) < self.g.priors.inside

    def starts(self) -> list[tuple[float, float, float]]:
        """The likeliest bridges (from, to, lift [m]) by least squares, spurs and misreadings outside allowed for."""
        surplus = self._surplus()
        marks = sorted({0.0, self.reach, *(x for x, _, _ in surplus)})
        marks = sorted({*marks, *((a + b) / 2.0 for a, b in pairwise(marks))})
        scored = []
        for i, start in enumerate(marks):
            for end in marks[i + 1 :]:
                one = self._score(surplus, start, end)
                if one is not None:
                    scored.append(one)
        scored.sort()
        tried = [self._tried(surplus, start, end) for _, start, end, _ in scored[:16]]
        tried.sort()
        chosen: list[tuple[float, float, float]] = []
        for _, start, end, lift in tried:
            if all(abs(start - a) + abs(end - b) > 0.15 * self.reach for a, b, _ in chosen):
                chosen.append((start, end, lift))
        return chosen[:3]

    def _score(
        self, surplus: Sequence[tuple[float, float, float]], start: float, end: float
    ) -> tuple[float, float, float, float] | None:
        """Cost, ends and lift of the bridge between two points whose cable fits the surplus best."""
        inside = [(x, b, w) for x, b, w in surplus if start < x < end]
        if len(inside) < self.g.priors.inside:
            return None
        shape = [((x - start) * (end - x), b, w) for x, b, w in inside]
        span, (low, high) = end - start, self.g.priors.via_m
        inverse = sum(w * h * b for h, b, w in shape) / sum(w * h * h for h, _, w in shape)
        inverse = min(max(inverse, 1.0 / (span + high)), 1.0 / (span + low))
        lift = span * span * inverse / 4.0
        return None if lift < self.least_m else (self._cost(surplus, start, end, inverse), start, end, lift)

    def _cost(self, surplus: Sequence[tuple[float, float, float]], start: float, end: float, inverse: float) -> float:
        """Squared misfit; what stands above may be a spur, what else is far off a misreading."""
        cost, longest = 0.0, self.g.longest_m * 1.2
        for x, b, w in surplus:
            off = b - (x - start) * (end - x) * inverse if start < x < end else b
            cost += min(w * off * off, 8.0 if 0.0 < off < longest else 30.0)
        return cost

    def _tried(
        self, surplus: Sequence[tuple[float, float, float]], start: float, end: float
    ) -> tuple[float, float, float, float]:
        """The cable between two points that costs least, out of a few lengths."""
        span = end - start
        options = [1.0 / (span + via) for via in (1.2, 2.5, 5.0, 9.0, 16.0, 30.0)]
        options = [o for o in options if span * span * o / 4.0 >= self.least_m] or [4.0 * self.least_m / span / span]
        cost, inverse = min((self._cost(surplus, start, end, o), o) for o in options)
        return cost, start, end, span * span * inverse / 4.0

    def climb(self, start: float, end: float, lift: float) -> tuple[float, tuple[float, float, float]]:
        """The likeliest bridge near a given one, line and cpc at their likeliest."""

        def value(p: float, q: float, h: float) -> float:
            via = self.fits(p, q, h)
            return self.density(p, q, h, via) * self.chance(p, q, via, self.line, self.cpc, 0.0) if via else 0.0

        best, here = value(start, end, lift), (start, end, lift)
        step = max(1.0, self.reach / 24.0)
        for _ in range(5):
            p, q, h = here
            for near in (
                (p - step, q, h), (p + step, q, h), (p, q - step, h), (p, q + step, h), (p - step, q + step, h),
                (p + step, q - step, h), (p + step, q + step, h), (p - step, q - step, h),
                (p, q, h * (1.0 + step / 20.0)), (p, q, h / (1.0 + step / 20.0)),
            ):  # fmt: skip
                got = value(*near)
                if got > best:
                    best, here = got, near
            step *= 0.55
        return best, here

    def around(self, here: tuple[float, float, float]) -> Bridged:
        """Weight summed round the likeliest bridge: twice, the second time with what the first has learnt."""
        p, q, h = here
        gap = self.reach / max(1, len(self.places))
        middle = [p, q, h, self.line, self.cpc]
        spread = [0.5 * gap, 0.5 * gap, 0.2 * h, 0.7 * self.line_sd, 0.7 * self.cpc_sd]
        total = 0.0
        samples: list[tuple[Point, float]] = []
        for count in (_AROUND, _AROUND + 60, _AROUND + 60):
            total, samples = self._sampled(middle, spread, count)
            if total <= 0.0:
                break
            for axis in range(5):
                mean = sum(point[axis] * w for point, w in samples) / total
                spread_here = math.sqrt(sum((point[axis] - mean) ** 2 * w for point, w in samples) / total)
                middle[axis], spread[axis] = mean, max(1.3 * spread_here, 0.2 * spread[axis])
        found = []
        for (start, end, lift, line, _), weight in samples:
            via = self.fits(start, end, lift)
            found.append(((start, end, via, self.length_of(line, start, end, via)), weight))
        found.sort(key=lambda one: -one[1])
        return Bridged(total, tuple(found))

    def _sampled(
        self, middle: Sequence[float], spread: Sequence[float], count: int
    ) -> tuple[float, list[tuple[Point, float]]]:
        norm = (2.0 * math.pi) ** 2.5 * math.prod(spread)
        samples: list[tuple[Point, float]] = []
        most = 0.0
        for z in _normal(count):
            start, end, lift, line, cpc = (m + s * d for m, s, d in zip(middle, spread, z, strict=True))
            via = self.fits(start, end, lift)
            if not via:
                continue
            prior = self.ends_weight(line, cpc) * self.density(start, end, lift, via) / self.allowed
            drawn = math.exp(-0.5 * sum(d * d for d in z)) / norm
            factor = prior / drawn / count
            if factor <= 0.0:
                continue
            weight = factor * self.chance(start, end, via, line, cpc, max(self.cut / count, most * 1e-4) / factor)
            if weight > 0.0:
                most = max(most, weight)
                samples.append(((start, end, lift, line, cpc), weight))
        return sum(w for _, w in samples), samples


def _moments(nodes: Sequence[tuple[float, float]]) -> tuple[float, float]:
    total = sum(w for _, w in nodes)
    if total <= 0.0:
        return 0.0, 0.0
    mean = sum(v * w for v, w in nodes) / total
    return mean, math.sqrt(sum((v - mean) ** 2 * w for v, w in nodes) / total)


def weigh_bridge(g: Ground, best: float) -> Bridged:
    """Weight of a bridge; ``best`` is the weight that another hypothesis has reached."""
    if len(g.sockets) < g.priors.inside:
        return Bridged()
    b = _Bridge(g, best * 1e-6)
    if b.line <= 0.0 or b.cpc <= 0.0 or b.line_total * b.cpc_total <= best * 1e-6:
        return Bridged()
    if b.none_lifted():
        return Bridged()
    found = [b.broad()]
    # Ten times what a peak as wide as the sockets are apart would hold.
    room = 10.0 * (b.reach / len(g.sockets)) ** 2 * 2.0
    tops = sorted((b.climb(*start) for start in b.starts()), reverse=True)
    for value, here in tops:
        if value > tops[0][0] * 1e-2 and value * b.line_total * b.cpc_total * room > best * 1e-4:
            found.append(b.around(here))
    samples = sorted((one for part in found for one in part.samples), key=lambda one: -one[1])
    return Bridged(max(part.total for part in found), tuple(samples))
