"""Bonds whose digits stand at the edges of what a whole one may show: where a quadrature that cuts a tail goes wrong."""

from __future__ import annotations

import math
import random

from drawn import Case

OVER = math.inf
SIZES = (4.61, 3.08, 1.83, 1.15, 0.727)  # 4, 6, 10, 16 and 25 mm² copper [mΩ/m], IEC 60228 at 20 °C
ROUTES = ((2.0, 0.2), (5.0, 0.5), (9.0, 1.0), (14.0, 1.0), (14.0, 0.3), (24.0, 2.0), (40.0, 4.0), (60.0, 5.0))
# ±(% of reading + digits), one digit, range
DISPLAYS = (
    (3.0, 2.0, 0.01, 99.99),
    (3.0, 2.0, 0.01, 99.99),
    (2.0, 2.0, 0.01, 19.99),
    (2.0, 5.0, 0.001, 9.999),
    (1.5, 3.0, 0.01, 99.99),
    (5.0, 1.0, 0.01, 199.9),
)
WAYS = ("c", "cc", "t", "tt", "p c", "p t", "p c t", "c t", "p cc", "p tt")
# The case that was found in use: 14 m of 10 mm², nothing else known, 0.05 then 0.06 Ω, the leads shorted afterwards.
FOUND = Case(1.83, 14.0, 1.0, (("conductor", 0.05, True, False), ("conductor", 0.06, True, False)))


def edge_cases(count: int, seed: int = 20261128) -> list[Case]:
    """So many cases, the same ones every time, the known one first."""
    draw = random.Random(seed)
    return [FOUND, *(_one(draw, k) for k in range(count - 1))]


def _one(draw: random.Random, number: int) -> Case:
    r = draw.choice(SIZES)
    length, tol = draw.choice(ROUTES)
    pct, digits, step, top = draw.choice(DISPLAYS)
    low = (length - tol) * r / 1000.0 * 0.93
    high = (length + tol) * r / 1000.0 + 0.01
    path = OVER if draw.random() < 0.4 else draw.choice((0.5, 1.0, 2.0, 5.0, 30.0)) * high
    checked, apart = draw.random() < 0.75, draw.random() < 0.5

    def edge(true_low: float, true_high: float) -> float:
        """Digits about the lower or the upper edge of a band, or beyond it by a poor joint's worth."""
        slack = digits * step
        spot = draw.random()
        if spot < 0.4:
            at = true_high * (1.0 + pct / 100.0) + slack
        elif spot < 0.7:
            at = true_low * (1.0 - pct / 100.0) - slack
        elif spot < 0.9:
            at = true_high + draw.uniform(0.03, 0.12)
        else:
            at = draw.choice((top - 2 * step, top, top * 0.97, 1.5, 0.4))
        shown = max(0.0, round(at / step) + draw.choice((-2, -1, 0, 1))) * step
        return OVER if shown > top or (spot >= 0.9 and draw.random() < 0.3) else round(shown, 3)

    readings = []
    for kind in WAYS[number % len(WAYS)].replace(" ", ""):
        if kind == "p":
            test, shown = "path", OVER if math.isinf(path) else round(round(path / step) * step, 3)
            shown = OVER if shown > top else shown
        else:
            test = {"c": "conductor", "t": "together"}[kind]
            both = [x if math.isinf(path) or kind == "c" else x * path / (x + path) for x in (low, high)]
            shown = edge(both[0], both[1])
        readings.append((test, shown, checked, apart))
    return Case(r, length, tol, tuple(readings), pct, digits, step, top)
