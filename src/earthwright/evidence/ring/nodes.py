"""Nodes of the unknowns of a ring: end to end resistances, ratio of cpc to line, resistance of a poor joint."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .ground import Ground
from .tables import Table

Pairs = list[tuple[float, float]]  # value and weight


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
                cells += cells_of(first, last, 11)
    nodes = []
    for value, width in cells:
        weight = width / value / log_range
        for t in sound:
            weight *= t.near(value, g.priors.core)
        nodes.append((value, weight))
    return _weighty(nodes)


def _weighty(nodes: Pairs) -> Pairs:
    """The nodes that can matter: those of less than a thousandth of the heaviest are left out."""
    least = 1e-3 * max((w for _, w in nodes), default=0.0)
    return [node for node in nodes if node[1] > least]


def _ratio_slack(g: Ground) -> float:
    """How far r2/r1 may be from that of the sizes, by natural logarithm: each conductor has its own make."""
    return math.log(g.priors.make[1] / g.priors.make[0])


def ratio_weight(g: Ground, ratio: float) -> float:
    """Prior density, by natural logarithm, of the real r2/r1 against that of the sizes."""
    slack = _ratio_slack(g)
    tail = 1.0 if not g.test.cpc_known else g.priors.ratio_tail
    off = abs(math.log(ratio / g.ratio))
    body = (1.0 - tail) / (2.0 * slack) if off <= slack else 0.0
    return body + (tail / (2.0 * _RATIO_RANGE) if off <= _RATIO_RANGE else 0.0)


_RATIO_RANGE = math.log(2.5)


def cpc_nodes(g: Ground, line_ohm: float, series: float | None, count: int) -> Pairs:
    """Nodes of the cpc's own end to end resistance [Ω], with the prior of its ratio and the chance of r2 when it is sound."""
    slack = _ratio_slack(g) if g.test.cpc_known else _RATIO_RANGE
    low, high = line_ohm * g.ratio * math.exp(-slack), line_ohm * g.ratio * math.exp(slack)
    if series != 0.0 or not g.r2.telling:
        count = count if g.test.cpc_known else 3 * count
        cells = cells_of(low, high, count)
        return [(v, w / v * ratio_weight(g, v / line_ohm) * (g.r2.at(v) if series == 0.0 else 1.0)) for v, w in cells]
    first, last = max(g.r2.low, 1e-3), g.r2.high
    inside = [(v, w / v * ratio_weight(g, v / line_ohm) * g.r2.at(v)) for v, w in cells_of(first, last, count)]
    # r2 may have been misread: the sizes say where the cpc lies then.
    spans = [(low, min(high, first)), (max(low, last), high)]
    outside = [cell for a, b in spans if b > a for cell in cells_of(a, b, 4)]
    misread = [(v, w / v * ratio_weight(g, v / line_ohm) * g.r2.floor) for v, w in outside]
    return [*_weighty(inside), *misread]


def cells_of(low: float, high: float, count: int) -> Pairs:
    """Middles of equal parts, with their width."""
    width = (high - low) / count
    return [(low + (i + 0.5) * width, width) for i in range(count)]


def extra_nodes(g: Ground, end: Table, own_ohm: float) -> Pairs:
    """Nodes of an added resistance [Ω] that makes an end to end reading what it is, with prior and chance of the digits."""
    low, high = g.priors.extra_ohm
    density = math.log(high / low)
    if not end.telling:
        ratio = (high / low) ** (1.0 / 8.0)
        return [(low * ratio ** (i + 0.5), end.at(own_ohm + low * ratio ** (i + 0.5)) / 8.0) for i in range(8)]
    first, last = max(end.low - own_ohm, low), min(end.high - own_ohm, high)
    if last <= first:
        return []
    return [(v, width / v / density * end.at(own_ohm + v)) for v, width in cells_of(first, last, 5)]
