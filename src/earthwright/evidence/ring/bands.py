"""Bands that belong to a ring's readings: what a whole ring shows at each socket, and the length the ends stand for."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...base.display import Display
from ...base.quantity import Band
from ...physics.conductor import implied_length_band_m
from ..bond import Observed
from ..graph.lengths import slack_m
from .model import Priors, RingTest
from .series import crossing

_TWO = 1.96


def display_u(value_ohm: float, display: Display) -> float:
    """Standard uncertainty of a display at a value [Ω]: scale, digits and rounding, each rectangular."""
    parts = (value_ohm * display.pct / 100.0, display.digits * display.step, display.step / 2.0)
    return math.hypot(*parts) / math.sqrt(3.0)


def _end(observed: Observed | None) -> tuple[float, float] | None:
    """Value and standard uncertainty of an end to end reading, None when it has no digits."""
    if observed is None or math.isinf(observed.shown):
        return None
    low, high = observed.offset
    value = max(0.0, observed.shown - (low + high) / 2.0)
    return value, math.hypot(display_u(observed.shown, observed.display), (high - low) / math.sqrt(12.0))


def ends(test: RingTest, priors: Priors) -> tuple[tuple[float, float], tuple[float, float], tuple[float, float]] | None:
    """Value and standard uncertainty of r1, rn and r2 of a whole ring [Ω]; one that is open is taken from the others.

    From the line by the ratio of resistances; from the estimate of the length when no line or neutral was read; else None.
    """
    line, neutral, cpc = _end(test.r1), _end(test.rn), _end(test.r2)
    a, n, e = test.line_mohm_per_m, test.neutral_mohm_per_m, test.cpc_mohm_per_m
    make, half = (priors.make[0] + priors.make[1]) / 2.0, (priors.make[1] - priors.make[0]) / 2.0
    if line is None and neutral is not None:
        line = (neutral[0] * a / n, neutral[1] * a / n)
    if line is None and test.length_m is not None:
        value = test.length_m * a * make / 1000.0
        share = math.hypot(slack_m(test.length_m, test.length_tol_m or None) / test.length_m, half / make)
        line = (value, value * share / math.sqrt(3.0))
    if line is None:
        return None
    if neutral is None:
        neutral = (line[0] * n / a, line[1] * n / a)
    if cpc is None:
        value = line[0] * e / a
        cpc = (value, math.hypot(line[1] * e / a, value * half / make))
    return line, neutral, cpc


def expected_bands(test: RingTest, priors: Priors) -> tuple[tuple[Band | None, ...], tuple[Band | None, ...]]:
    """What a whole ring with these ends shows at every socket [Ω], line to neutral and line to cpc; 95 %, contact included.

    The display's own error at the socket is inside, so that digits may be compared with the band as they stand.
    """
    known = ends(test, priors)
    count = len(test.sockets)
    if known is None:
        return (None,) * count, (None,) * count
    line, neutral, cpc = known
    make = (priors.make[0] + priors.make[1]) / 2.0
    length = line[0] * 1000.0 / (test.line_mohm_per_m * make)
    # Places that do not fit the length are kept in proportion: a whole ring reads much the same all along.
    length = max(length, *(s.place_m or 0.0 for s in test.sockets)) if test.sockets else length
    found: tuple[list[Band | None], list[Band | None]] = ([], [])
    for number, s in enumerate(test.sockets):
        place = (number + 1.0) / (count + 1.0) if s.place_m is None else min(1.0, s.place_m / length) if length else 0.0
        for bands, second, read in ((found[0], neutral, s.ln), (found[1], cpc, s.le)):
            value = crossing(place, line[0], second[0], 0.0, 0.0, True) + priors.contact_ohm / 2.0
            display = read.display if read is not None else Display()
            lead = (read.offset[1] - read.offset[0]) / math.sqrt(12.0) if read is not None else 0.0
            own = math.hypot(display_u(value, display), priors.contact_ohm / math.sqrt(12.0), lead)
            u = math.hypot(line[1] / 4.0, second[1] / 4.0, own)
            middle = value + (sum(read.offset) / 2.0 if read is not None else 0.0)
            # Whole digits, outwards: a band that is printed must not contradict the digits beside it.
            low = math.floor((middle - _TWO * u) / display.step) * display.step
            high = math.ceil((middle + _TWO * u) / display.step) * display.step
            bands.append(Band(max(0.0, low), high, "Ω"))
    return tuple(found[0]), tuple(found[1])


def implied_length(test: RingTest, priors: Priors) -> Band | None:
    """Length of cable that r1 and rn stand for [m], from the part of their bands that both allow; None without digits."""
    bands = []
    for end, r in ((test.r1, test.line_mohm_per_m), (test.rn, test.neutral_mohm_per_m)):
        if end is None or math.isinf(end.shown):
            continue
        low, high = end.display.window(end.shown)
        low, high = max(0.0, low - end.offset[1]), max(0.0, high - end.offset[0])
        bands.append(implied_length_band_m(low, high, r, priors.make[0], priors.make[1]))
    if not bands:
        return None
    low, high = max(b[0] for b in bands), min(b[1] for b in bands)
    if low > high:
        low, high = min(b[0] for b in bands), max(b[1] for b in bands)
    return Band(low, high, "m")


def spread_of(marks: Sequence[float], weights: Sequence[float], share: float) -> tuple[float, float]:
    """Middle ``share`` of a weight spread evenly within each gap between marks [m]; one weight a gap."""
    total = sum(weights)
    tail = (1.0 - share) / 2.0
    found = []
    for wanted in (tail * total, (1.0 - tail) * total):
        run = 0.0
        for gap, weight in enumerate(weights):
            if run + weight >= wanted * (1.0 - 1e-12) and weight > 0.0:
                found.append(marks[gap] + (marks[gap + 1] - marks[gap]) * min(1.0, max(0.0, (wanted - run) / weight)))
                break
            run += weight
    return found[0], found[1]
