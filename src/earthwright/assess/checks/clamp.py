"""Clamp currents: what they corroborate."""

from __future__ import annotations

from collections.abc import Sequence

from ...base.errors import Finding
from ...evidence.bond import DISPROVED, OPEN
from ...outcomes.assessment import BondJudged
from ...site.events import EARTHING, ClampCurrent
from ...site.visit import Visit


def tracks_nothing(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """A bond found open carries no current while another carries some: the two agree."""
    currents = [e for e in visit.events if isinstance(e, ClampCurrent)]
    found = []
    for b in bonds:
        mine = [e for e in currents if e.on == b.bond.id]
        others = [e for e in currents if e.on not in (b.bond.id, EARTHING) and e.shown.value > 0.05]
        if b.verdict == DISPROVED and b.named == OPEN and mine and others and all(e.shown.value < 0.05 for e in mine):
            found.append(
                Finding.of(
                    "clamp.agrees",
                    f"bond {b.bond.id}",
                    "It carries no current while another bond does, as it would if it were broken.",
                    b.bond.id,
                    found=f"{mine[-1].shown}; {others[-1].on} {others[-1].shown}",
                )
            )
    return found
