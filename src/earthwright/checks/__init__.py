"""Checks over a whole visit: one file a family, each a function from visit and judged bonds to findings.

A pattern is a question to the inspector, never an accusation; innocent explanations come first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ..errors import Finding
from ..judged import BondJudged
from ..visit import Visit
from . import clamp, joints, leads, paths, strands

Check = Callable[[Visit, Sequence[BondJudged]], list[Finding]]

CHECKS: tuple[Check, ...] = (
    leads.common_offset,
    leads.negative,
    leads.unchecked,
    joints.unsteady,
    joints.poor,
    paths.parallel,
    paths.below_copper,
    paths.below_resolution,
    clamp.tracks_nothing,
    strands.against_size,
)


def run(visit: Visit, bonds: Sequence[BondJudged]) -> list[Finding]:
    """Every check, in the order of the list."""
    return [finding for check in CHECKS for finding in check(visit, bonds)]
