"""When a bond is not consistent with its readings: what would explain the digits, best first."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import frozen

from ..base.display import Display
from ..base.quantity import Band


@frozen
class Explanation:
    """One thing that would make the reading what it was.

    fits   how well, from 0 to 1: share of the band that the digits allow
    """

    kind: str
    what: str
    fits: float


def explain_conductor(
    shown_ohm: float,
    display: Display,
    copper: Band,
    smaller: Sequence[tuple[float, Band]],
    *,
    together_ohm: float | None = None,
    joint_ohm: float | None = None,
    lead_ohm: float | None = None,
    leads_good_after: bool = False,
    moves_ohm: float = 0.0,
) -> tuple[Explanation, ...]:
    """Explanations of a *conductor* reading that a whole bond would not show, best first.

    shown_ohm   digits [Ω], infinite for over-range;  copper  band of the bond as entered [Ω]
    smaller     (csa [mm²], band [Ω]) of each smaller standard size over the same route
    together_ohm, joint_ohm  the other readings, if taken;  lead_ohm  what the lead set would add if it was not allowed for
    leads_good_after  the leads were shorted afterwards and showed what they should
    moves_ohm   how far its repeats lie apart, where that is more than honest repeats do [Ω]: no size makes a reading move
    """
    if math.isinf(shown_ohm):
        broken = Explanation("open", "the conductor is broken, or is not the one that was connected", 0.9)
        if leads_good_after:
            return (broken,)
        return broken, Explanation("lead", "a lead or clip was off: short the leads and look for 0.00", 0.5)
    low, high = _allowed(shown_ohm, display)
    found: list[Explanation] = []
    if low > copper.high:
        if moves_ohm:
            found.append(Explanation("contact", f"a contact that moves: its repeats lie {moves_ohm:.2f} Ω apart", 0.95))
        found += _above(low, high, copper, [] if moves_ohm else smaller, joint_ohm, lead_ohm)
    elif high < copper.low:
        if together_ohm is not None and abs(together_ohm - shown_ohm) <= display.step:
            found.append(Explanation("slip", "the end was not off: it reads the same as with all connected", 0.9))
        found.append(Explanation("parallel", "another conductor or pipe answered in parallel", 0.7))
        found.append(Explanation("null", "too much was nulled out", 0.5))
        found.append(Explanation("length", "the route is shorter than entered", 0.4))
    return tuple(sorted(found, key=lambda e: -e.fits))


def _above(
    low: float,
    high: float,
    copper: Band,
    smaller: Sequence[tuple[float, Band]],
    joint_ohm: float | None,
    lead_ohm: float | None,
) -> list[Explanation]:
    """What adds to the copper: a smaller size, a joint, leads."""
    fits = [(csa, _overlap(low, high, band)) for csa, band in smaller]
    found = [Explanation("size", f"{csa:g} mm² over the same route", overlap) for csa, overlap in fits if overlap]
    extra_low, extra_high = low - copper.high, high - copper.low
    if joint_ohm is None:
        found.append(Explanation("joint", f"one poor joint of {max(extra_low, 0.0):.2f} to {extra_high:.2f} Ω", 0.6))
    elif extra_low <= joint_ohm <= extra_high:
        found.append(Explanation("joint", f"the joint: it read {joint_ohm:g} Ω by itself", 1.0))
    if lead_ohm is not None and _overlap(low, high, Band(copper.low + lead_ohm, copper.high + lead_ohm, "Ω")):
        found.append(Explanation("leads", f"leads of {lead_ohm:g} Ω that were not allowed for", 0.8))
    return found


def _allowed(shown_ohm: float, display: Display) -> tuple[float, float]:
    low, high = display.window(shown_ohm)
    return max(0.0, low), high


def _overlap(low: float, high: float, band: Band) -> float:
    """Share of the allowed interval that a band covers."""
    common = min(high, band.high) - max(low, band.low)
    return max(0.0, min(1.0, common / (high - low))) if high > low else 0.0
