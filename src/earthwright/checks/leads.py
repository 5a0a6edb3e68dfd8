"""Lead sets: an offset that a whole series shares, digits below zero, leads that nobody tried."""

from __future__ import annotations

from collections.abc import Sequence

from ..digits import Kind
from ..errors import Finding, Severity
from ..events import CONDUCTOR, LeadCheck
from ..judged import BondJudged, ReadingJudged
from ..visit import Visit


def _conductors(bonds: Sequence[BondJudged]) -> list[tuple[BondJudged, ReadingJudged]]:
    return [
        (b, x)
        for b in bonds
        for x in b.readings
        if x.reading.test == CONDUCTOR and x.reading.shown is not None and x.reading.shown.kind is Kind.VALUE
    ]


def common_offset(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """Bonds of different length that all read too high by the same amount: the leads were not taken out.

    For each bond the surplus over its copper is a band; the bands of a lead set must have a point in common that is
    well above zero, with at least two bonds whose copper differs by less than their readings do from it.
    """
    found = []
    for lead_id in sorted({x.reading.leads for _, x in _conductors(bonds)}):
        rows = [(b, x) for b, x in _conductors(bonds) if x.reading.leads == lead_id]
        if len({b.bond.id for b, _ in rows}) < 2:
            continue
        lows, highs = [], []
        for _, x in rows:
            display_slack = (x.corrected.accuracy.digits + 0.5) * x.corrected.accuracy.step
            shown = x.reading.shown
            assert shown is not None  # _conductors keeps only readings with digits
            slack = display_slack + shown.value * x.corrected.accuracy.pct / 100.0
            lows.append(shown.value - slack - x.expected.copper.high)
            highs.append(shown.value + slack - x.expected.copper.low)
        low, high = max(lows), min(highs)
        if low > high or low <= 0.05:
            continue
        found.append(_offset_finding(visit, lead_id, rows, low, high))
    return found


def _offset_finding(
    visit: Visit, lead_id: str, rows: Sequence[tuple[BondJudged, ReadingJudged]], low: float, high: float
) -> Finding:
    shown = ", ".join(f"{b.part.title} {x.reading.shown.as_shown}" for b, x in rows if x.reading.shown)
    lengths = [b.implied for b, _ in rows if b.implied]
    known = [
        c.shown.value for c in visit.events if isinstance(c, LeadCheck) and c.leads == lead_id and c.kind == "shorted"
    ]
    leads = next((x for x in visit.leads if x.id == lead_id), None)
    stored = ""
    if leads and leads.lead_ohm is not None:
        left = leads.lead_ohm - (leads.null_ohm or 0.0)
        stored = (
            f" The set is {leads.lead_ohm:g} Ω and {leads.null_ohm or 0.0:g} Ω was nulled, which leaves {left:.2f} Ω."
        )
    elif known:
        stored = f" Shorted, the set showed {max(known):g} Ω."
    length = (
        f" Taken as copper they would be {min(b.low for b in lengths):.0f} to {max(b.high for b in lengths):.0f} m."
        if lengths
        else ""
    )
    return Finding(
        f"lead set {lead_id}",
        f"Bonds of different length share an offset of {max(low, 0.0):.2f} to {high:.2f} Ω.",
        Severity.WARNING,
        "leads.offset",
        lead_id,
        "readings that follow the lengths",
        shown,
        "Short the tips: not 0.00 means the null is not of this set. Null with exactly this set and take the series again; "
        "subtracting afterwards is a note, not a measurement.",
        "The leads were probably not taken out, or another set was nulled; no fault of the installation is needed to explain it."
        + stored
        + length,
    )


def negative(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """Digits below zero: more was nulled out than the leads have."""
    found = []
    for b in bonds:
        for x in b.readings:
            if x.reading.shown is not None and x.reading.shown.digits < 0:
                found.append(
                    Finding(
                        f"bond {b.bond.id}, reading {x.reading.id}",
                        "A resistance below zero: more was nulled out than these leads have.",
                        Severity.ERROR,
                        "leads.negative",
                        b.bond.id,
                        "0.00 Ω or above",
                        x.reading.shown.as_shown,
                        "Null again with the leads in use, and take the series again.",
                        "A longer set was probably nulled, or a null from another day was kept.",
                    )
                )
    return found


def unchecked(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """Lead sets whose readings have no shorted check before, or none after."""
    found = []
    used = {x.reading.leads: x for b in bonds for x in b.readings if x.reading.leads}
    for lead_id in sorted(used):
        mine = [x for b in bonds for x in b.readings if x.reading.leads == lead_id]
        before = all(x.corrected.trust.before is not None for x in mine)
        after = all(x.corrected.trust.after is not None for x in mine)
        if before and after:
            continue
        missing = "before and after" if not before and not after else "before" if not before else "after"
        found.append(
            Finding(
                f"lead set {lead_id}",
                f"No shorted check {missing} the readings taken with it.",
                Severity.NOTE,
                "leads.unchecked",
                lead_id,
                "tips together, 0.00 Ω, before and after the series",
                "no such step",
                "Short the tips and note what is shown; until then a lead that was off cannot be told from an open bond.",
            )
        )
    return found
