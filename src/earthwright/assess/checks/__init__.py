"""Checks over a whole visit: one file a family, each a function from the visit and what was judged of it to findings.

A pattern is a question to the inspector, never an accusation; innocent explanations come first. Where a finding rests on
a probability, its model is stated and the number of things looked at is allowed for (see :mod:`.chance`).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence

from ...base.errors import Finding
from ...outcomes.assessment import BondJudged
from ...site.visit import Visit
from . import (
    arithmetic,
    clamp,
    columns,
    copper,
    drift,
    habits,
    instruments,
    intervals,
    joints,
    last_visit,
    leads,
    lent_earth,
    misfits,
    paths,
    repeats,
    siblings,
    states,
    strands,
    sums,
    times,
    units,
)
from .series import Series

Check = Callable[[Visit, Sequence[BondJudged]], list[Finding]]
SeriesCheck = Callable[[Series], list[Finding]]

# What is said of single bonds and their lead sets.
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
    strands.by_digits,
    sums.parallel,
    sums.joint_in_conductor,
)
# What only shows when the readings of the whole visit, or of two visits, are laid side by side.
SERIES: tuple[SeriesCheck, ...] = (
    lent_earth.earth,
    columns.offset,
    copper.below,
    drift.between_checks,
    repeats.spread,
    repeats.reversed_differs,
    misfits.swapped,
    misfits.factors,
    siblings.decade,
    units.slips,
    units.insulation,
    arithmetic.from_the_loop,
    arithmetic.exact_ratios,
    habits.runs,
    habits.last_digits,
    last_visit.from_last_visit,
    times.order,
    times.days,
    times.too_fast,
    instruments.period,
    instruments.disagree,
    intervals.next_inspection,
    states.ledger,
    states.isolation,
    states.not_closed,
    states.looks,
    states.electrodes,
)


def run(
    visit: Visit,
    bonds: Sequence[BondJudged],
    *,
    previous: Visit | None = None,
    today: dt.date | None = None,
) -> list[Finding]:
    """Every check, in the order of the lists.

    previous  the last visit to the same site, if it is at hand;  today  the day on which this is asked, if it is known
    """
    found = [finding for check in CHECKS for finding in check(visit, bonds)]
    series = Series(visit, tuple(bonds), previous, today)
    return found + [finding for check in SERIES for finding in check(series)]
