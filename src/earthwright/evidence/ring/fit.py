"""Weigh every hypothesis about a ring and decide, by the same rule as for bonds, what the digits prove."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...base.quantity import Band
from ..bond import DISPROVED, NOT_SHOWN, PROVED, Observed, noise_shares
from ..graph.lengths import slack_m
from .bands import expected_bands, implied_length, spread_of
from .bridge import Bridged, weigh_bridge
from .coverage import BOARD, could_show
from .faults import FAULTS, SOUND, Fault, Kind, kind_of
from .ground import Ground, ground
from .model import (
    BRIDGE,
    LEADS,
    NOT_CROSSED,
    OPEN_OR_LINKED,
    TOO_SHORT,
    UNEXPLAINED,
    UNSEEN,
    WHOLE,
    Priors,
    RingFit,
    RingTest,
    SpurFound,
)
from .series import Weighed, crossing, weigh

INF = math.inf
_LOWEST = -6.0
_NOWHERE = 0.85  # a place that may be on so much of the ring is none


def _likely_first(test: RingTest) -> list[Fault]:
    """The faults in the order in which the end to end readings speak for them, so that the weightiest come early."""
    opened = [x is not None and math.isinf(x.shown) for x in (test.r1, test.rn, test.r2)]

    def against(fault: Fault) -> int:
        return sum((s == INF) != o for s, o in zip(fault.series, opened, strict=True))

    return sorted(FAULTS, key=against)


def fit_ring(test: RingTest, priors: Priors | None = None) -> RingFit:
    """Weigh the hypotheses *whole* (spurs allowed), *break*, *poor joint*, *bridge*, *legs not crossed*, *linked rings*.

    Proved: the log10 weight of *whole* is at least 2 above every other, and a bridge could have shown. Disproved: it is at least 2 below one; that one
    is named if it is as far above all the rest. Not shown: neither, or none of the hypotheses explains the digits.
    Legs that were not crossed are a fault of the test, so they are named and the ring stays *not shown*.
    Deterministic; standard library only. Checked with the stars of the tests (ring_stars) and with invented rings.
    """
    priors = priors or Priors()
    g = ground(test, priors)
    weighed: dict[str, Weighed] = {}
    best = 0.0
    sound = weigh(g, SOUND, best)
    if not _read(test):
        return _nothing(test, g, sound)
    best = sound.total
    for fault in _likely_first(test):
        weighed[fault.name] = weigh(g, fault, best)
        best = max(best, weighed[fault.name].total)
    bridged = weigh_bridge(g, best)
    lead_off = weighed[OPEN_OR_LINKED].total * _lead_off_throughout(test, priors)
    totals = {WHOLE: max(sound.total, lead_off), BRIDGE: bridged.total}
    totals |= {name: w.total for name, w in weighed.items()}
    logs = {name: math.log10(total) if total > 0.0 else -INF for name, total in totals.items()}
    top = max(logs.values())
    logs = {name: max(_LOWEST, value - top) for name, value in logs.items()}
    loose = math.log10(sound.loose) - top if sound.loose > 0.0 else -INF
    verdict, named, rivals, why = _decide(logs, loose, priors.readings.decide)
    implied = implied_length(test, priors)
    if verdict == PROVED and _too_short(test, g, implied):
        verdict, named, rivals, why = NOT_SHOWN, "", (WHOLE, BRIDGE), TOO_SHORT
    elif verdict == PROVED and not could_show(test):
        verdict, named, rivals, why = NOT_SHOWN, "", (WHOLE, BRIDGE), UNSEEN
    if verdict != NOT_SHOWN and _unchecked(test, verdict):
        # As for bonds: a wrong allowance, one unknown of the series, makes the digits as likely under any wiring.
        least = math.log10(priors.readings.wrong_allowance)
        logs = {name: max(value, least) for name, value in logs.items()}
        verdict, named, why = NOT_SHOWN, "", LEADS
    scores = tuple(sorted(((n, round(v, 3)) for n, v in logs.items()), key=lambda s: (-s[1], s[0])))
    where, between = _place(g, weighed.get(named))
    ends, via = _ends(g, bridged) if named == BRIDGE else ((), None)
    if ends:
        where = Band(ends[0].low, ends[1].high, "m")
        between = _nearest(g, ends)
    ln, le = expected_bands(test, priors)
    return RingFit(
        verdict,
        named,
        rivals,
        scores,
        where,
        between,
        ends,
        via,
        implied,
        _spurs(g, sound) if named in ("", WHOLE) and rivals[:1] == (WHOLE,) else (),
        ln,
        le,
        _assumed(test, g),
        why,
    )


def _too_short(test: RingTest, g: Ground, implied: Band | None) -> bool:
    """Whether r1 and rn stand for less cable than was estimated or its sockets span: a hidden bridge would do that."""
    if implied is None:
        return False
    if g.last_m > implied.high + g.priors.place_tol_m:
        return True
    if test.length_m is None:
        return False
    tolerance = slack_m(test.length_m, test.length_tol_m)
    return implied.high < test.length_m - tolerance


def _read(test: RingTest) -> list[Observed]:
    every = [test.r1, test.rn, test.r2, *(s.ln for s in test.sockets), *(s.le for s in test.sockets)]
    return [x for x in every if isinstance(x, Observed)]


def _unchecked(test: RingTest, verdict: str) -> bool:
    """Whether the verdict hangs on leads that nobody shorted after the readings; no null explains an over-range."""
    read = _read(test)
    opened = any(math.isinf(x.shown) for x in read)
    return (verdict == PROVED or not opened) and any(not x.shorted_after for x in read if not math.isinf(x.shown))


def _nothing(test: RingTest, g: Ground, sound: Weighed) -> RingFit:
    bands = tuple(None for _ in test.sockets)
    assumed = _assumed(test, g)
    return RingFit(NOT_SHOWN, "", (), (), None, (), (), None, None, (), bands, bands, assumed, "nothing was read")


def _lead_off_throughout(test: RingTest, priors: Priors) -> float:
    """Chance that one lead was off all the time, when everything read over-range; the ring may be sound then."""
    read = _read(test)
    if not all(math.isinf(x.shown) for x in read):
        return 0.0
    return noise_shares(priors.readings, all(x.shorted_after for x in read), False)[0]


def _decide(logs: dict[str, float], loose: float, least: float) -> tuple[str, str, tuple[str, ...], str]:
    """Verdict, name, those within the threshold of the best (best first), and why nothing is said if so."""
    order = sorted(logs, key=lambda name: (-logs[name], name))
    rivals = tuple(name for name in order if logs[order[0]] - logs[name] < least)
    if loose - logs[order[0]] >= 1.0:
        return NOT_SHOWN, "", rivals, UNEXPLAINED
    if rivals == (WHOLE,):
        return PROVED, WHOLE, rivals, ""
    if WHOLE in rivals:
        return NOT_SHOWN, "", rivals, "more than one wiring explains the digits"
    uncrossed = [kind_of(name) is Kind.LEGS_NOT_CROSSED for name in rivals]
    if any(uncrossed):
        same = all(uncrossed)
        return NOT_SHOWN, NOT_CROSSED if same else "", rivals, "the legs seem not to have been crossed"
    return DISPROVED, rivals[0] if len(rivals) == 1 else "", rivals, ""


def _place(g: Ground, weighed: Weighed | None) -> tuple[Band | None, tuple[str, ...]]:
    """95 % band of the place of a break or a poor joint, and the sockets on either side of the likeliest gap."""
    if weighed is None or weighed.total <= 0.0 or not g.sockets or sum(weighed.by_gap) <= 0.0:
        return None, ()
    length = weighed.length_m
    marks = [0.0, *(s.at(length) * length for s in g.sockets), length]
    low, high = spread_of(marks, weighed.by_gap, 0.95)
    if high - low > _NOWHERE * length:
        return None, ()  # the digits do not say where
    below, above = (_slack(g, x, length) for x in (low, high))
    names = [BOARD, *(s.point for s in g.test.sockets), BOARD]
    first = max(i for i, mark in enumerate(marks) if i == 0 or mark <= low)
    last = min(i for i, mark in enumerate(marks) if i == len(marks) - 1 or mark >= high)
    # The far end of the ring is known no better than its length is.
    end = length / g.priors.make[0] if last == len(marks) - 1 else length
    return Band(max(0.0, low - below), min(end, high + above), "m"), (names[first], names[last])


def _slack(g: Ground, place_m: float, length_m: float) -> float:
    """How far a socket may lie from where it is taken to be [m]; of an order alone, as points dropped on a ring scatter."""
    if g.last_m:
        return g.priors.place_tol_m + 0.5
    share = min(1.0, max(0.0, place_m / length_m)) if length_m else 0.5
    count = len(g.sockets)
    return length_m * max(0.25 / count, 1.6 * math.sqrt(share * (1.0 - share) / (count + 2.0)))


def _ends(g: Ground, bridged: Bridged) -> tuple[tuple[Band, Band], Band] | tuple[tuple[()], None]:
    if not bridged.samples:
        return (), None
    # A few hundred samples hold the far tails badly, so the bands are drawn to 1 and 99 %.
    bands = [_quantiles([(point[axis], w) for point, w in bridged.samples], 0.01) for axis in (0, 1, 2)]
    length = bridged.samples[0][0][3]
    widened = [Band(max(0.0, b.low - _slack(g, b.low, length)), b.high + _slack(g, b.high, length), "m") for b in bands]
    return (widened[0], widened[1]), bands[2]


def _quantiles(samples: Sequence[tuple[float, float]], tail: float = 0.025) -> Band:
    """Band between the quantiles ``tail`` and 1 − ``tail`` of weighted samples [m]."""
    ordered = sorted(samples)
    total = sum(w for _, w in ordered)
    low, high, run = ordered[0][0], ordered[-1][0], 0.0
    for value, weight in ordered:
        if run < tail * total:
            low = value
        run += weight
        if run >= (1.0 - tail) * total:
            high = value
            break
    return Band(low, max(low, high), "m")


def _nearest(g: Ground, ends: Sequence[Band]) -> tuple[str, ...]:
    """The sockets nearest to the two ends of a bridge."""
    reach = max((s.place_m or 0.0 for s in g.sockets), default=0.0)
    if not reach:
        return ()
    names = []
    for end in ends:
        middle = (end.low + end.high) / 2.0
        names.append(
            min(zip(g.sockets, g.test.sockets, strict=True), key=lambda s: abs((s[0].place_m or 0.0) - middle))[1].point
        )
    return tuple(names)


def _spurs(g: Ground, sound: Weighed) -> tuple[SpurFound, ...]:
    """Sockets that read like spurs of an otherwise whole ring, at its likeliest node."""
    line, cpc, make = sound.best
    if not line:
        return ()
    found = []
    length = line * 1000.0 / (g.test.line_mohm_per_m * make)
    neutral = line * g.test.neutral_mohm_per_m / g.test.line_mohm_per_m
    for s, read in zip(g.sockets, g.test.sockets, strict=True):
        place = s.at(length)
        ln = crossing(place, line, neutral, 0.0, 0.0, True)
        le = crossing(place, line, cpc, 0.0, 0.0, True)
        on_ring = g.no_spur * s.ln.at(ln) * s.le.at(le)
        each = [(m, w * s.ln.at(ln + m * g.ln_per_m) * s.le.at(le + m * g.le_per_m)) for m, w in g.spurs]
        on_spur = sum(w for _, w in each)
        # Misreadings weigh the same either way, so a socket far outside any spur stays unnamed.
        if on_spur > 0.0 and on_spur / (on_spur + on_ring) >= 0.95 and max(w for _, w in each) > 1e-5:
            half = math.sqrt(g.spurs[1][0] / g.spurs[0][0])  # each node stands for the lengths round it
            band = _quantiles(each)
            spur_m = Band(band.low / half, band.high * half, "m")
            found.append(SpurFound(read.point, on_spur / (on_spur + on_ring), spur_m))
    return tuple(found)


def _assumed(test: RingTest, g: Ground) -> tuple[str, ...]:
    p = g.priors
    said = [
        f"real conductors {p.make[0]:g} to {p.make[1]:g} of the largest resistance of their size",
        f"contact at each socket 0 to {p.contact_ohm:g} Ω",
        f"places known within ± {p.place_tol_m:g} m" if g.last_m else "only the order of the sockets is known",
    ]
    if test.length_m is None:
        said.append("no estimate of the length")
    if not test.cpc_known:
        said.append("size of the cpc not known")
    return tuple(said)
