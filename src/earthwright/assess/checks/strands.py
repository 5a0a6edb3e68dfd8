"""Strand counts against the cross-section entered."""

from __future__ import annotations

import re
from collections.abc import Sequence

from ...base.errors import Finding, Severity
from ...outcomes.assessment import BondJudged
from ...physics.conductor import strand_csa_mm2
from ...site.visit import Visit

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
                Finding(
                    f"bond {b.bond.id}",
                    f"The strands seen do not make {b.bond.csa_mm2:g} mm².",
                    Severity.WARNING,
                    "size.strands",
                    b.bond.id,
                    f"{b.bond.csa_mm2:g} mm²",
                    f"{b.bond.strands}, which is {csa:.1f} mm²",
                    "Look again at strands and diameter; the size decides both the rule and the expected reading.",
                )
            )
    return found
