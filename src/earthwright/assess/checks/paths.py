"""Parallel paths: metal that helps the bond, or speaks in its place, and readings too small for the display."""

from __future__ import annotations

from collections.abc import Sequence

from ...base.digits import Kind
from ...base.errors import Finding
from ...evidence.bond import PROVED
from ...outcomes.assessment import BondJudged, ReadingJudged
from ...site.events import CONDUCTOR, PATH, TOGETHER
from ...site.visit import Visit


def parallel(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """A path was measured beside a bond that is not proved: information, not a fault. Of a proved one its paragraph says it."""
    found = []
    for b in bonds:
        checked = b.evidence.if_checked
        if b.verdict == PROVED or (checked is not None and checked.verdict == PROVED):
            continue
        for x in b.readings:
            shown = x.reading.shown
            if x.reading.test == PATH and x.used and shown is not None and shown.kind is Kind.VALUE:
                found.append(
                    Finding.of(
                        "path.parallel",
                        f"bond {b.bond.id}",
                        f"A parallel path is present, about {_less_leads(x)}.",
                        b.bond.id,
                        because="Other metal joins the part to the MET; it may go when pipework is renewed.",
                    )
                )
                break
    return found


def below_copper(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """Together is lower than the copper alone can be, and nothing yet shows the conductor itself."""
    found = []
    for b in bonds:
        if b.verdict == PROVED or any(x.reading.test == CONDUCTOR and x.used for x in b.readings):
            continue
        for x in b.readings:
            shown = x.reading.shown
            if x.reading.test != TOGETHER or not x.used or shown is None or shown.kind is not Kind.VALUE:
                continue
            copper = x.expected.copper
            value = shown.value if x.corrected.quantity is None else x.corrected.quantity.value
            if value >= copper.low:
                continue
            found.append(
                Finding.of(
                    "path.below_copper",
                    f"bond {b.bond.id}, reading {x.reading.id}",
                    f"Below the floor for {b.bond.length_m:g} m of {b.bond.csa_mm2:g} mm²: a parallel path answered.",
                    b.bond.id,
                    f"{copper.low:.3f} to {copper.high:.3f} Ω from the copper alone",
                    _less_leads(x),
                    "Take one end off, when the clamp meter allows it, and measure the conductor by itself.",
                    "Pipework usually helps like this; the reading then says nothing about the conductor.",
                )
            )
            break
    return found


def _less_leads(x: ReadingJudged) -> str:
    """The digits as shown; where the leads are subtracted, what is left of them."""
    shown, quantity = x.reading.shown, x.corrected.quantity
    assert shown is not None  # only readings with digits come here
    if quantity is None or x.corrected.offset == (0.0, 0.0):
        return shown.as_shown
    return f"{max(0.0, quantity.value):.2f} {shown.unit} ({shown.as_shown} less the leads)"


def below_resolution(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """The whole expected band lies inside the digit error, so length and size cannot be checked by resistance."""
    found = []
    for b in bonds:
        for x in b.readings:
            slack = (x.corrected.accuracy.digits + 0.5) * x.corrected.accuracy.step
            if x.reading.test == CONDUCTOR and x.used and x.expected.copper.high < slack:
                found.append(
                    Finding.of(
                        "resolution.below",
                        f"bond {b.bond.id}",
                        "Below the instrument's resolution: the length cannot be checked.",
                        b.bond.id,
                        f"{x.expected.copper.low:.4f} to {x.expected.copper.high:.4f} Ω",
                        str(x.reading.shown),
                        "Trace the run by eye, and check that the instrument reads: leads apart, then across a known resistor.",
                    )
                )
                break
    return found
