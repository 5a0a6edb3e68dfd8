"""A corrected reading as evidence, the same for bonds, circuits and the whole network."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..base.digits import Kind
from ..base.display import Display
from ..evidence.bond import Observed
from ..site.reading import Accuracy, Corrected


def display_of(accuracy: Accuracy, corrected: Corrected) -> Display:
    """The display of an instrument as it was when it showed the digits of a reading."""
    shown = corrected.reading.shown
    step = float(shown.step) if shown and shown.kind is Kind.VALUE else accuracy.step
    return Display(accuracy.pct, accuracy.digits, max(step, accuracy.step), accuracy.top)


def observed_of(corrected: Corrected, test: str, more: Sequence[tuple[float, float]] = ()) -> Observed:
    """What a reading showed, with what its leads may have added.

    test  conductor, path or together;  more  what else lay in series with it and is no part of what is asked about [Ω]
    """
    shown, trust = corrected.reading.shown, corrected.trust
    assert shown is not None  # a reading without digits is no evidence
    offset = corrected.offset[0] + math.fsum(x[0] for x in more), corrected.offset[1] + math.fsum(x[1] for x in more)
    value = 0.0 if shown.kind is Kind.BELOW else max(0.0, shown.value)
    display = display_of(corrected.accuracy, corrected)
    return Observed(test, value, display, offset, trust.after_good is True, trust.apart)


def agree(one: Observed, other: Observed) -> bool:
    """Whether two readings lie no further apart than both their limits of error allow."""
    if one.shown == other.shown or math.isinf(one.shown) or math.isinf(other.shown):
        return one.shown == other.shown
    slack = 2.0 * one.display.digits * one.display.step + (one.shown + other.shown) * one.display.pct / 100.0
    return abs(one.shown - other.shown) <= slack
