"""Which of several readings of one test counts: the worst that nothing explains, never simply the last.

Evidence of a fault stays until a repair is noted, which starts a new state, or until the entry is struck.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import combinations

from ...base.digits import Kind
from ...site.events import ALL_LOADS, ALL_SPDS, Reading
from ..reading import agree, observed_of
from .limits import Case, counting


def is_open(case: Case, reading: Reading) -> bool:
    """Whether a reading showed over-range and its leads were shorted afterwards and good."""
    if reading.shown is None or reading.shown.kind is not Kind.OVER:
        return False
    corrected = case.taken.corrected(reading)
    return corrected.usable and corrected.trust.after_good is True


def highest(case: Case, readings: Sequence[Reading]) -> Reading:
    """The reading that counts where more is worse: over-range by good leads, else the highest in range, else the last.

    An over-range whose leads were not tried is left for the others: the lead may have been off.
    """
    counted = counting(readings)
    usable = [r for r in counted if case.taken.corrected(r).usable and r.method != "calculated"] or list(counted)
    opened = [r for r in usable if is_open(case, r)]
    in_range = [r for r in usable if r.shown is not None and r.shown.kind is not Kind.OVER]
    if opened:
        return opened[0]
    return max(in_range, key=value_of, default=usable[-1])


def lowest(case: Case, readings: Sequence[Reading]) -> Reading:
    """The reading that counts where less is worse, as with insulation.

    What was low with a load or a surge device in circuit and good without it is explained by that: among readings of which
    one was taken with more unplugged or taken out than another, only the first counts.
    """
    off = {r.id: _taken_out(case.taken.state(r).off) for r in readings}
    kept = [r for r in readings if not any(off[r.id] < off[other.id] for other in readings)]
    return min(kept, key=value_of)


def moved(case: Case, readings: Sequence[Reading]) -> bool:
    """Whether a reading that counts was taken again at the same place and does not agree, limits of error allowed for."""
    counted = [
        (r, c)
        for r in counting(readings)
        if (c := case.taken.corrected(r)).usable and (is_open(case, r) or not _over(r))
    ]
    seen = [observed_of(c, r.test) for r, c in counted]
    return any(not agree(a, b) for a, b in combinations(seen, 2))


def _over(reading: Reading) -> bool:
    return reading.shown is not None and reading.shown.kind is Kind.OVER


def value_of(reading: Reading) -> float:
    """The digits; an over-range is more than any of them."""
    if reading.shown is None or reading.shown.kind is Kind.OVER:
        return math.inf
    return reading.shown.value


def worst_word(readings: Iterable[Reading]) -> Reading | None:
    """The reading of a test whose outcome is a word that counts: the first bad one, else the last; None when there is none."""
    said = [r for r in readings if r.outcome and not r.refused and not r.absent]
    return next((r for r in said if r.outcome != "good"), said[-1] if said else None)


def _taken_out(off: Iterable[str]) -> frozenset[str]:
    """Ends of circuits and boards, loads and surge devices; a bond that was off explains no insulation."""
    return frozenset(x for x in off if ":" in x or x in (ALL_LOADS, ALL_SPDS))
