"""Lead sets: an offset that a whole series shares, digits below zero, leads that nobody tried."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...base.digits import Kind
from ...base.errors import Finding
from ...outcomes.assessment import BondJudged, ReadingJudged
from ...site.correction import function_of
from ...site.events import CONDUCTOR, LeadCheck, Reading
from ...site.tests import CONTINUITY
from ...site.visit import Visit
from . import chance


def _conductors(bonds: Sequence[BondJudged]) -> list[tuple[BondJudged, ReadingJudged]]:
    return [
        (b, x)
        for b in bonds
        for x in b.readings
        if x.reading.test == CONDUCTOR and x.reading.shown is not None and x.reading.shown.kind is Kind.VALUE
    ]


def common_offset(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """Bonds of different length that all read too high, or all too low, by the same amount: the null is of other leads.

    For each bond the surplus over its copper is a band; the bands of a lead set must have a point in common that is
    clearly not zero, over at least two bonds.
    """
    found = []
    sets = sorted({x.reading.leads for _, x in _conductors(bonds)})
    for lead_id in sets:
        rows = [(b, x) for b, x in _conductors(bonds) if x.reading.leads == lead_id]
        if len({b.bond.id for b, _ in rows}) < 2:
            continue
        bands = [_surplus(x) for _, x in rows]
        low, high = max(b[0] for b in bands), min(b[1] for b in bands)
        if low > high:
            continue
        if low > 0.05:
            found.append(_offset_finding(visit, lead_id, rows, low, high, len(sets)))
        elif high < 0.0:
            found.append(_too_much_nulled(lead_id, rows, low, high, len(sets)))
    return found


def _surplus(x: ReadingJudged) -> tuple[float, float]:
    """What a reading shows beyond its copper, with all limits of error [Ω]; a zero may hide any amount below it."""
    shown = x.reading.shown
    assert shown is not None  # _conductors keeps only readings with digits
    accuracy = x.corrected.accuracy
    slack = (accuracy.digits + 0.5) * accuracy.step + abs(shown.value) * accuracy.pct / 100.0
    lead_low, lead_high = x.corrected.offset if _subtracted(x) else (0.0, 0.0)
    low = shown.value - slack - lead_high - x.expected.copper.high
    return (-math.inf if shown.digits == 0 else low), shown.value + slack - lead_low - x.expected.copper.low


def _subtracted(x: ReadingJudged) -> bool:
    """Whether the digits still hold the leads, which the person takes out; leads that nobody took out stay the surplus."""
    return x.corrected.offset[0] > 0.0


def _by_chance(rows: Sequence[tuple[BondJudged, ReadingJudged]], low: float, high: float, sets: int) -> float:
    """Chance that separate faults would agree so: the extra resistances of the others all fall where the first one lies.

    Each extra resistance log-uniform over the range that the evidence model gives it.
    """
    least, most = rows[0][0].evidence.model.extra_ohm
    share = math.log(max(high, least) / max(low, least)) / math.log(most / least)
    bonds = len({b.bond.id for b, _ in rows})
    return chance.corrected(min(1.0, share) ** (bonds - 1), sets)


def _too_much_nulled(
    lead_id: str, rows: Sequence[tuple[BondJudged, ReadingJudged]], low: float, high: float, sets: int
) -> Finding:
    shown = ", ".join(f"{b.part.title} {x.reading.shown.as_shown}" for b, x in rows if x.reading.shown)
    by = f"{-high:.2f} Ω or more" if math.isinf(low) else f"{-high:.2f} to {-low:.2f} Ω"
    p = chance.corrected(0.0, sets)
    return Finding.of(
        "leads.too_much_nulled",
        f"lead set {lead_id}",
        f"Bonds of different length all read less than their copper, by {by}.",
        lead_id,
        "readings that follow the lengths",
        shown,
        "Short the tips of the set in use: below zero or 0.00 with more nulled than it has. Null again and take the series again.",
        "A longer set was probably nulled, or a null from another day was kept. "
        + chance.sentence("With this set's own null and every error inside its limits", p, sets, "lead sets"),
    )


def _offset_finding(
    visit: Visit, lead_id: str, rows: Sequence[tuple[BondJudged, ReadingJudged]], low: float, high: float, sets: int
) -> Finding:
    shown = ", ".join(f"{b.part.title} {x.reading.shown.as_shown}" for b, x in rows if x.reading.shown)
    by_chance = _by_chance(rows, low, high, sets)
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
    return Finding.of(
        "leads.offset",
        f"lead set {lead_id}",
        f"Bonds of different length share an offset of {max(low, 0.0):.2f} to {high:.2f} Ω.",
        lead_id,
        "readings that follow the lengths",
        shown,
        "Short the tips: not 0.00 means the null is not of this set. Null with exactly this set and take the series again; "
        "subtracting afterwards is a note, not a measurement.",
        "The leads were probably not taken out, or another set was nulled; no fault of the installation is needed to explain it."
        + stored
        + length
        + " "
        + chance.sentence("If each bond had a fault of its own", by_chance, sets, "lead sets"),
    )


def negative(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """Digits below zero: more was nulled out than the leads have."""
    found = []
    for b in bonds:
        for x in b.readings:
            if x.reading.shown is not None and x.reading.shown.digits < 0:
                found.append(
                    Finding.of(
                        "leads.negative",
                        f"bond {b.bond.id}, reading {x.reading.id}",
                        "A resistance below zero: more was nulled out than these leads have.",
                        b.bond.id,
                        "0.00 Ω or above",
                        x.reading.shown.as_shown,
                        "Null again with the leads in use, and take the series again.",
                        "A longer set was probably nulled, or a null from another day was kept.",
                    )
                )
    return found


def unchecked(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """Lead sets with which continuity was read, and that were not shorted before the readings, or not after them."""
    found = []
    shorted = [e for e in visit.events if isinstance(e, LeadCheck) and e.kind == "shorted"]
    read = [e for e in visit.events if isinstance(e, Reading) and e.leads and e.shown is not None and _continuity(e)]
    for lead_id in sorted({e.leads for e in read}):
        mine = [e.seq for e in read if e.leads == lead_id]
        tried = [c.seq for c in shorted if c.leads == lead_id]
        before, after = min(tried, default=math.inf) < min(mine), max(tried, default=0) > max(mine)
        if before and after:
            continue
        missing = "before and after" if not before and not after else "before" if not before else "after"
        found.append(
            Finding.of(
                "leads.unchecked",
                f"lead set {lead_id}",
                f"No shorted check {missing} the readings taken with it.",
                lead_id,
                "tips together, 0.00 Ω, before and after the series",
                "no such step",
                "Short the tips and note what is shown; until then a lead that was off cannot be told from an open conductor"
                + (
                    "."
                    if after
                    else ", nor the null of another set from a poor joint, so nothing read with it is proved."
                ),
            )
        )
    return found


def _continuity(reading: Reading) -> bool:
    return function_of(reading) == CONTINUITY
