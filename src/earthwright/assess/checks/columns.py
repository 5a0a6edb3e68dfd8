"""A column of R1+R2 or R2 that is too high by the same amount throughout: one question about the leads, not one a circuit."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ...base.errors import Finding, Severity
from ...site.events import Reading
from ...site.reading import LEADS_OHM
from ...site.visit import Visit
from . import chance
from .series import Series, SeriesReading

FAMILY = "leads.column"
LEAST = 3  # circuits of different copper that must share the offset
_OHM = 0.05  # less is not told from lengths and connections [Ω]
_ANYWHERE = (_OHM, 100.0)  # where the extra resistance of a fault of its own would lie, log-uniform [Ω]


def offset(series: Series) -> list[Finding]:
    """For each lead set and test, whether all its circuits read high by amounts that have a value in common."""
    found = []
    columns: dict[tuple[str, str], list[tuple[SeriesReading, float, float]]] = {}
    for test in ("r1r2", "r2"):
        for row in series.of_test(test):
            band = series.expected(row)
            if band is not None and row.circuit is not None:
                surplus = row.low - band.high, row.high - band.low
                columns.setdefault((row.reading.leads, test), []).append((row, *surplus))
    for (leads, test), rows in columns.items():
        low, high = max(a for _, a, _ in rows), min(b for _, _, b in rows)
        circuits = {row.reading.of for row, _, _ in rows}
        if len(circuits) >= LEAST and _OHM < low <= high and low <= LEADS_OHM:
            found.append(_finding(leads, test, [r for r, _, _ in rows], low, high, len(circuits), len(columns)))
    return found


def _finding(
    leads: str, test: str, rows: Sequence[SeriesReading], low: float, high: float, circuits: int, columns: int
) -> Finding:
    share = math.log(high / low) / math.log(_ANYWHERE[1] / _ANYWHERE[0])
    p = chance.corrected(min(1.0, share) ** (circuits - 1), columns)
    name = {"r1r2": "R1+R2", "r2": "R2"}[test]
    return Finding(
        f"lead set {leads}, {name}",
        f"All {circuits} circuits read {name} high by the same {low:.2f} to {high:.2f} Ω.",
        Severity.WARNING,
        FAMILY,
        leads,
        "readings that follow the lengths",
        ", ".join(f"{row.name} {row.shown.as_shown}" for row in rows[:8]),
        "Short the tips: not 0.00 means the null is not of this set. Null with exactly this set and read the column again.",
        "The leads were probably not taken out, or another set was nulled; no fault of the circuits is needed to explain it. "
        + chance.sentence("If each circuit had a fault of its own", p, columns, "columns"),
    )


def said_once(visit: Visit, findings: Sequence[Finding]) -> list[Finding]:
    """Without *higher than its copper* for each circuit of a column that shares one offset."""
    sets = {f.entry for f in findings if f.family == FAMILY}
    mine = {e.of for e in visit.events if isinstance(e, Reading) and e.leads in sets}
    return [f for f in findings if f.family != "continuity.high" or f.entry not in mine]
