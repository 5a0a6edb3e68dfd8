"""A test whose rule is not kept says so as a finding: its family and what to do are declared with the test."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from ...base.errors import Finding, Severity
from ...base.quantity import Limit
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS
from ...site.tests import BY_NAME, called
from . import words_live as say


def with_finding(row: TestJudged) -> TestJudged:
    """A row that fails, with the finding that its test declares, unless it has that already or its board says it for all."""
    if row.outcome != FAILS:
        return row
    test = BY_NAME[row.test]
    if not test.finding or test.wants or any(f.family == test.finding for f in row.findings):
        return row
    limits = [j.limit for j in row.judged if j.outcome == FAILS and j.limit is not None]
    shown = "" if row.corrected is None else str(row.corrected.reading.shown or "")
    if len({r.method for r in row.readings}) > 1:  # a device that did not trip at ×1 is not known by its time at ×½
        shown = "; ".join(
            f"{r.shown}{f' ({r.method})' if r.method else ''}" for r in row.readings if r.shown is not None
        )
    worked = say.figure(row.value.value, row.value.unit) if row.value is not None else ""
    finding = Finding(
        f"{row.of}, {called(row.test)}" + (f", {row.point}" if row.point else ""),
        (test.fails[:1].upper() + test.fails[1:] or "Its limit is not kept") + ".",
        Severity.WARNING,
        test.finding,
        row.of,
        asked(limits, several=len(row.judged) > 1),
        worked or shown,
        test.do,
    )
    return evolve(row, findings=(*row.findings, finding))


def asked(limits: Sequence[Limit], *, several: bool = False) -> str:
    """The limits that were not kept, each with what it is of where a row has several, then where they stand, once."""
    figures = [
        limit.what
        if limit.unit == "1"
        else f"{'at most' if limit.side == 'max' else 'at least'} {limit.value:.4g} {limit.unit}"
        + (f" ({limit.what})" if several else "")
        for limit in limits
    ]
    return ", ".join(dict.fromkeys((*figures, *(limit.source() for limit in limits))))
