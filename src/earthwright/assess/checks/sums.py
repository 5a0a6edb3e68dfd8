"""Readings of one bond that must hang together: the joint inside the conductor, the three that make a parallel sum."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...base.digits import Kind
from ...base.errors import Finding
from ...base.quantity import Band
from ...evidence.bond import in_parallel
from ...outcomes.assessment import BondJudged, ReadingJudged
from ...site.events import CONDUCTOR, JOINT, PATH, TOGETHER
from ...site.visit import Visit
from . import chance


def _counts(b: BondJudged, test: str) -> ReadingJudged | None:
    """The last reading of a kind that counts."""
    return next((x for x in reversed(b.readings) if x.reading.test == test and x.used), None)


def _band(x: ReadingJudged) -> Band | None:
    """What the true value may be by the limits of error; open for over-range."""
    if x.corrected.band is not None:
        return x.corrected.band
    over = x.reading.shown is not None and x.reading.shown.kind is Kind.OVER
    return Band(x.corrected.accuracy.top, math.inf, "Ω") if over else None


def parallel(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """``1/together = 1/conductor + 1/path``: no values inside the limits of error of all three fulfil it."""
    found, looked = [], []
    for b in bonds:
        three = [_counts(b, t) for t in (CONDUCTOR, PATH, TOGETHER)]
        bands = [None if x is None else _band(x) for x in three]
        c, p, t = bands
        if c is not None and p is not None and t is not None:
            looked.append((b, three, c, p, t))
    for b, three, c, p, t in looked:
        low, high = in_parallel(c.low, p.low), in_parallel(c.high, p.high)
        if t.low <= high + 1e-9 and low <= t.high + 1e-9:
            continue
        z = abs(b.closure.difference.value) / b.closure.difference.u if b.closure and b.closure.difference.u else 9.0
        likely = chance.corrected(chance.beyond(z), len(looked))
        shown = ", ".join(f"{x.reading.test} {x.reading.shown}" for x in three if x is not None)
        found.append(
            Finding.of(
                "sum.parallel",
                f"bond {b.bond.id}",
                "Conductor, path and together do not agree.",
                b.bond.id,
                f"together {low:.3f} to {high:.3f} Ω from the other two",
                shown,
                "Short the leads, see that the end was really off and really back, and take the three again in one go.",
                "A contact that moved, leads that were changed between the readings, or an end that was not quite off does this. "
                + chance.sentence("If nothing moved between them", likely, len(looked), "bonds"),
            )
        )
    return found


def joint_in_conductor(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """The conductor is read through its joint, so it cannot be lower than copper and joint together."""
    found, looked = [], []
    for b in bonds:
        joint, conductor = _counts(b, JOINT), _counts(b, CONDUCTOR)
        if joint is None or conductor is None:
            continue
        j, c = _band(joint), _band(conductor)
        if j is not None and c is not None:
            looked.append((b, joint, conductor, j, c))
    for b, joint, conductor, j, c in looked:
        copper = b.expected[0].copper.low
        floor = j.low + copper
        # Lower than the copper alone, and no lower than the joint: the joint has nothing to do with it.
        if c.high >= floor - 1e-9 or j.low <= c.high < copper:
            continue
        p = chance.corrected(0.0, len(looked))
        found.append(
            Finding.of(
                "joint.contradicts",
                f"bond {b.bond.id}",
                "The conductor reads less than the joint it is read through.",
                b.bond.id,
                f"a conductor of at least {floor:.3f} Ω",
                f"joint {joint.reading.shown}, conductor {conductor.reading.shown}",
                "Put the probe on bare metal of the part for both, not on the clamp, and read them again.",
                "The conductor was probably read to the clamp's body, which leaves the joint out; a joint that moves does it too. "
                + chance.sentence("If both went through the same contact", p, len(looked), "bonds"),
            )
        )
    return found
