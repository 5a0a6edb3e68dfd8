"""Joints: resistance that does not belong there, and digits that wander while they are held."""

from __future__ import annotations

from collections.abc import Sequence

from ..errors import Finding, Severity
from ..events import CONDUCTOR, JOINT
from ..judged import BondJudged
from ..verdict import FAILS
from ..visit import Visit


def unsteady(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """Repeats of one reading that differ by more than two digits: a contact that moves."""
    found = []
    for b in bonds:
        for test in (JOINT, CONDUCTOR):
            rows = [x for x in b.readings if x.reading.test == test and x.used and x.reading.shown]
            values = [x.reading.shown.value for x in rows if x.reading.shown]
            if len(values) < 2 or float("inf") in values:
                continue
            step = rows[0].corrected.accuracy.step
            spread = max(values) - min(values)
            scale = sum(values) / len(values) * rows[0].corrected.accuracy.pct / 100.0
            if spread <= 2.0 * step + scale + 1e-9:
                continue
            found.append(
                Finding(
                    f"bond {b.bond.id}, {test}",
                    "Repeats of the same reading do not agree: a contact moves.",
                    Severity.WARNING,
                    "joint.unsteady",
                    b.bond.id,
                    f"within {2 * step:g} Ω of each other",
                    ", ".join(f"{v:g} Ω" for v in values),
                    "Press the probes on bare metal and repeat; if it still wanders, isolate and remake the joint.",
                    "Grease, paint or a loose lock nut does this; so does a probe tip that was not held still.",
                )
            )
    return found


def poor(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """A joint above the guidance figure."""
    found = []
    for b in bonds:
        if b.joint.outcome != FAILS or b.joint.limit is None:
            continue
        values = [x.reading.shown for x in b.readings if x.reading.test == JOINT and x.used and x.reading.shown]
        found.append(
            Finding(
                f"bond {b.bond.id}, joint",
                f"The joint to the {b.part.title} is above {b.joint.limit.value:g} {b.joint.limit.unit}.",
                Severity.WARNING,
                "joint.poor",
                b.bond.id,
                f"at most {b.joint.limit.value:g} {b.joint.limit.unit} ({b.joint.limit.clause})",
                ", ".join(v.as_shown for v in values),
                "Isolate; strip to bright metal, refit, lock, and measure joint and conductor again.",
                "Paint, oxide or a clamp that is not tight; what the readings with all connected say is other metal speaking.",
            )
        )
    return found
