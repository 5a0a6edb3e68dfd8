"""Where a ring stands that is not proved: what in its readings speaks against it, or that only proof is lacking.

The usual record of a ring is r1, rn, r2 and the highest R1+R2. It proves no ring whole, since a bridge or a leg that was
not crossed would show in the profile alone; but nothing in it is a defect either, and no code rests on it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from attrs import evolve

from ...base.errors import Finding, Severity
from ...base.figure import shown_span
from ...base.quantity import Band
from ...evidence.bond import DISPROVED, PROVED
from ...evidence.ring import RingFit, RingTest
from ...evidence.ring.model import LEADS, TOO_SHORT, UNEXPLAINED, WHOLE
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS
from ...physics.ring import quarter_ohm
from ...site.installation import Circuit
from ...site.reading import Corrected
from . import words_dead as say
from . import words_ring

AS_RECORDED = "consistent, profile not read"
UNLIKELY = -1.0  # log10 weight against the best from which a whole ring is doubted
SPUR_M = 16.0  # longest spur that is reckoned with [m]
CONTACT_OHM = 0.02  # contact at a socket and at the board [Ω]


def suspicion(
    test: RingTest, fit: RingFit, rows: Iterable[TestJudged], findings: Iterable[Finding], outside: Sequence[str]
) -> str:
    """What in the readings speaks against a whole ring, in words; empty where it is proved or only proof is lacking."""
    if fit.verdict == PROVED:
        return ""
    if fit.verdict == DISPROVED:
        return words_ring.named(fit.named) if fit.named else "the ring is not whole"
    if fit.named:
        return "the legs seem not to have been crossed"
    if fit.why in (UNEXPLAINED, TOO_SHORT, words_ring.MOVED):
        return fit.why
    scores = dict(fit.scores)
    if scores.get(WHOLE, 0.0) <= UNLIKELY:
        return f"{words_ring.named(fit.scores[0][0])} fits better"
    ends = (test.r1, test.rn, test.r2)
    if any(x is not None and math.isinf(x.shown) for x in ends):
        return "it read open end to end"
    loud = next((f for f in findings if f.severity is Severity.WARNING), None)
    if loud is not None:
        return loud.what.rstrip(".")
    if any(t.test == "ring rn" and t.outcome == FAILS for t in rows):
        return "r1 and rn differ by more than rings do"
    return f"sockets outside the band: {say.listed(outside)}" if outside and fit.why != LEADS else ""


def as_recorded(test: RingTest, fit: RingFit, suspect: str) -> bool:
    """Whether this is the usual record, and nothing in it speaks against a whole ring."""
    return (
        not suspect
        and fit.verdict != PROVED
        and fit.why != words_ring.REFUSED
        and None not in (test.r1, test.rn, test.r2)
        and all(s.ln is None and s.le is None for s in test.sockets)
    )


def recorded_words(test: RingTest, fit: RingFit) -> str:
    """The paragraph on a ring of which the usual record was made."""
    length = f" r1 and rn stand for {say.metres(fit.implied_m)} of cable." if fit.implied_m is not None else ""
    return (
        f"{words_ring.ends(test)} They agree with each other as those of a whole ring do.{length} Consistent with a whole ring; not "
        "proved, since no profile was read: a bridge, or legs that were not crossed, would show there alone. The cheapest reading "
        "that would: line to neutral and line to cpc crossed, at every socket."
    )


def not_read(where: str, circuit: Circuit, test: RingTest) -> Finding:
    """The note on a ring of which the usual record was made."""
    return Finding.of(
        "ring.not_read",
        where,
        "Consistent with a whole ring; its profile was not read, so a bridge is not ruled out.",
        circuit.id,
        found=words_ring.ends(test).rstrip("."),
        do="To settle it, read both crossed profiles at every socket.",
    )


def of_the_ends(test: RingTest) -> Band | None:
    """What R1+R2 of a whole ring is by its own ends: at the board ``r1·r2/(r1 + r2)``, in the middle ``(r1 + r2)/4``, on a
    spur more [Ω]; None without both ends."""
    if test.r1 is None or test.r2 is None or math.isinf(test.r1.shown) or math.isinf(test.r2.shown):
        return None
    (a, b), (c, d) = (x.display.window(x.shown) for x in (test.r1, test.r2))
    low = a * c / (a + c) if a + c > 0.0 else 0.0
    spur = SPUR_M * (test.line_mohm_per_m + test.cpc_mohm_per_m) / 1000.0
    said = (
        f"by r1 {test.r1.shown:.2f} and r2 {test.r2.shown:.2f} Ω: (r1 + r2)/4 in the middle of a whole ring, less near the board",
        f"a spur of up to {SPUR_M:g} m",
    )
    return Band(max(0.0, low), quarter_ohm(b, d) + spur + CONTACT_OHM, "Ω", said)


def by_the_ends(rows: Sequence[TestJudged], circuit: Circuit, band: Band | None) -> tuple[TestJudged, ...]:
    """The rows with R1+R2 of a ring held against its own ends where no length gives a band."""
    return tuple(_held(t, circuit, band) if band is not None and t.test == "r1r2" else t for t in rows)


def _held(row: TestJudged, circuit: Circuit, band: Band) -> TestJudged:
    if row.expected is not None or row.corrected is None or not row.corrected.usable or row.corrected.band is None:
        return row
    read = row.corrected.band
    inside = read.touches(band)
    words = say.sentences(row.words, say.lies(band, inside))
    findings = (
        row.findings if inside or read.high < band.low else (*row.findings, _high(row, circuit, band, row.corrected))
    )
    return evolve(row, expected=band, assumed=band.assumed, inside=inside, words=words, findings=findings)


def _high(row: TestJudged, circuit: Circuit, band: Band, corrected: Corrected) -> Finding:
    return Finding.of(
        "ring.quarter",
        f"circuit {circuit.id}, R1+R2{f', {row.point}' if row.point else ''}",
        "Higher than the ends of this ring and a spur explain.",
        circuit.id,
        shown_span(band),
        str(corrected.reading.shown),
        "Read r1, r2 and R1+R2 again with the legs crossed.",
        "Legs that were not crossed, a cpc that is broken on the way round, or r1 + r2 written down undivided read like this.",
    )


def ratio_of(test: RingTest, make: tuple[float, float]) -> tuple[float, float, float, float] | None:
    """r2/r1 as read, low and high, and as the sizes allow, when the two have nothing in common."""
    if (
        test.r1 is None
        or test.r2 is None
        or math.isinf(test.r1.shown)
        or math.isinf(test.r2.shown)
        or not test.cpc_known
    ):
        return None
    (a, b), (c, d) = test.r1.display.window(test.r1.shown), test.r2.display.window(test.r2.shown)
    nominal = test.cpc_mohm_per_m / test.line_mohm_per_m
    low, high = max(0.0, c) / max(b, 1e-9), d / max(a, 1e-9)
    if low <= nominal / make[0] and high >= nominal * make[0]:
        return None
    return low, high, nominal * make[0], nominal / make[0]


def ratio_finding(where: str, circuit: Circuit, ratio: tuple[float, float, float, float]) -> Finding:
    """r2/r1 that the sizes do not allow, with what would explain it."""
    low, high, least, most = ratio
    return Finding.of(
        "ring.ratio",
        where,
        f"r2 is {'less' if high < least else 'more'} of r1 than the sizes allow.",
        circuit.id,
        f"r2/r1 of {least:.2f} to {most:.2f}",
        f"r2/r1 of {low:.2f} to {high:.2f}",
        "Read both again; see which cable is there.",
        "Other metal beside the cpc, or a larger cpc than entered."
        if high < least
        else "A smaller cpc than entered, or a poor joint in it.",
    )
