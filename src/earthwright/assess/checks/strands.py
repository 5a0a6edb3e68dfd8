"""Strand counts against the cross-section entered."""

from __future__ import annotations

import re
from collections.abc import Sequence

from ...base.digits import Kind
from ...base.errors import Finding
from ...evidence.bond import PROVED
from ...outcomes.assessment import BondJudged, ReadingJudged
from ...physics.conductor import strand_csa_mm2
from ...site.events import CONDUCTOR, PATH, TOGETHER
from ...site.visit import Visit

_SIZES = (4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0)  # conductors that a bond may be taken for [mm²]
_STEADY_OHM = 0.015  # readings further apart than this move, and say nothing of a size [Ω]
_SEEN = re.compile(r"^\s*([0-9]{1,3})\s*/\s*([0-9]+(?:\.[0-9]+)?)\s*(?:mm)?\s*$")


def against_size(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """What was seen of the strands gives a cross-section; it should be the one entered, within 12 %."""
    found = []
    for b in bonds:
        seen = _SEEN.match(b.bond.strands)
        if seen is None or int(seen.group(1)) == 0 or float(seen.group(2)) == 0:
            continue
        csa = strand_csa_mm2(int(seen.group(1)), float(seen.group(2)))
        # Nominal areas are rounded: 7/1.35 is 10.02 mm², 7/1.04 is 5.95 mm², 7/0.85 is 3.97 mm².
        if abs(csa - b.bond.csa_mm2) > 0.12 * b.bond.csa_mm2:
            found.append(
                Finding.of(
                    "size.strands",
                    f"bond {b.bond.id}",
                    f"The strands seen do not make {b.bond.csa_mm2:g} mm².",
                    b.bond.id,
                    f"{b.bond.csa_mm2:g} mm²",
                    f"{b.bond.strands}, which is {csa:.1f} mm²",
                    "Look again at strands and diameter; the size decides both the rule and the expected reading.",
                )
            )
    return found


def by_digits(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """A bond that is whole, whose readings are all too high for its size and all fit the next smaller one."""
    found = []
    for b in bonds:
        values = _alone(b.readings)
        smaller = max((s for s in _SIZES if s < b.bond.csa_mm2), default=None)
        if b.verdict != PROVED or smaller is None or len(values) < 2 or max(values) - min(values) > _STEADY_OHM:
            continue
        copper, more = b.expected[0].copper, b.bond.csa_mm2 / smaller
        margin = 0.0 if len(values) > 2 else _STEADY_OHM  # two readings alone have to say it more clearly
        if min(values) > copper.high + margin and max(values) <= copper.high * more + _STEADY_OHM:
            found.append(
                Finding.of(
                    "size.digits",
                    f"bond {b.bond.id}",
                    f"All {len(values)} readings are high for {b.bond.csa_mm2:g} mm² and fit {smaller:g} mm².",
                    b.bond.id,
                    f"{copper.low:.3f} to {copper.high:.3f} Ω",
                    ", ".join(f"{v:.2f}" for v in values) + " Ω",
                    "Count and measure the strands, or read the marking: the size decides which rule is met.",
                    "Digits alone do not settle it: the run may be longer than entered.",
                )
            )
    return found


def _alone(readings: Sequence[ReadingJudged]) -> list[float]:
    """What was read through the bond alone [Ω]: with one end off, and with all connected where nothing else joins the part."""
    free = any(
        x.reading.test == PATH and x.used and x.reading.shown and x.reading.shown.kind is Kind.OVER for x in readings
    )
    tests = (CONDUCTOR, TOGETHER) if free else (CONDUCTOR,)
    return [
        x.corrected.quantity.value
        for x in readings
        if x.reading.test in tests and x.used and x.corrected.quantity is not None
    ]
