"""Joints: resistance that does not belong there, and digits that wander while they are held."""

from __future__ import annotations

from collections.abc import Sequence

from ...base.errors import Finding, Severity
from ...outcomes.assessment import BondJudged, ReadingJudged
from ...outcomes.verdict import FAILS
from ...site.events import CONDUCTOR, JOINT, Look, Off, On
from ...site.visit import Visit
from .repeats import FORWARD, REVERSE


def unsteady(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """Repeats of one reading that differ: a warning beyond the limits of error, a note from two digits on.

    Readings between which something was taken off, put back or looked at are no repeats of each other.
    """
    found = []
    for b in bonds:
        for test in (JOINT, CONDUCTOR):
            some = [
                x
                for x in b.readings
                if x.reading.test == test and x.used and x.reading.method not in (FORWARD, REVERSE)
            ]
            for rows in _in_one_go(visit, some):
                finding = _moves(b, test, rows)
                if finding is not None:
                    found.append(finding)
    return found


def _in_one_go(visit: Visit, rows: Sequence[ReadingJudged]) -> list[list[ReadingJudged]]:
    parted: dict[int, list[ReadingJudged]] = {}
    for x in rows:
        handled = sum(1 for e in visit.events if isinstance(e, Off | On | Look) and e.seq < x.reading.seq)
        parted.setdefault(handled, []).append(x)
    return list(parted.values())


def _moves(b: BondJudged, test: str, rows: Sequence[ReadingJudged]) -> Finding | None:
    values = [x.reading.shown.value for x in rows if x.reading.shown]
    if len(values) < 2 or float("inf") in values:
        return None
    accuracy = rows[0].corrected.accuracy
    spread = max(values) - min(values)
    scale = sum(values) / len(values) * accuracy.pct / 100.0
    usual = 2.0 * accuracy.step + scale
    most = (2.0 * accuracy.digits + 1.0) * accuracy.step + 2.0 * scale
    if spread <= usual + 1e-9:
        return None
    beyond = spread > most + 1e-9
    return Finding(
        f"bond {b.bond.id}, {test}",
        "Repeats of the same reading do not agree: a contact moves."
        if beyond
        else "Repeats of the same reading differ by more than two digits.",
        Severity.WARNING if beyond else Severity.NOTE,
        "joint.unsteady",
        b.bond.id,
        f"within {usual:.2g} Ω of each other",
        ", ".join(f"{v:g} Ω" for v in values),
        "Press the probes on bare metal and repeat; if it still wanders, isolate and remake the joint.",
        "Grease, paint or a loose lock nut does this; so does a probe tip that was not held still. "
        + (
            f"The limits of error alone allow {most:.2g} Ω between two readings."
            if beyond
            else f"The limits of error of two readings allow it ({most:.2g} Ω), a steady hand usually does better."
        ),
    )


def poor(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """A joint above the guidance figure."""
    found = []
    for b in bonds:
        if b.joint.outcome != FAILS or b.joint.limit is None:
            continue
        values = [x.reading.shown for x in b.readings if x.reading.test == JOINT and x.used and x.reading.shown]
        found.append(
            Finding.of(
                "joint.poor",
                f"bond {b.bond.id}, joint",
                f"The joint to the {b.part.title} is above {b.joint.limit.value:g} {b.joint.limit.unit}.",
                b.bond.id,
                f"at most {b.joint.limit.value:g} {b.joint.limit.unit} ({b.joint.limit.clause})",
                ", ".join(v.as_shown for v in values),
                "Isolate; strip to bright metal, refit, lock, and measure joint and conductor again.",
                "Paint, oxide or a clamp that is not tight; what the readings with all connected say is other metal speaking.",
            )
        )
    return found
