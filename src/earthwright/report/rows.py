"""The rows of a thing: every judged test, and every reading that nothing was judged from. None is left out."""

from __future__ import annotations

from collections.abc import Iterable

from ..outcomes.assessment import Assessment
from ..outcomes.circuits import TestJudged
from ..site.events import CIRCUIT_TESTS, Reading


def all_tests(a: Assessment, of: str, tests: Iterable[TestJudged]) -> tuple[TestJudged, ...]:
    """The judged tests of a thing, and after them its readings that nothing was judged from: none is left out."""
    judged = tuple(tests)
    known = {r.id for t in judged for r in t.readings}
    loose: dict[tuple[str, str], list[Reading]] = {}
    for e in a.visit.events:
        if isinstance(e, Reading) and e.of == of and e.test in CIRCUIT_TESTS and e.id not in known:
            loose.setdefault((e.test, e.point), []).append(e)
    more = [
        TestJudged(
            of, test, point, tuple(found), absent=found[-1].absent, reason=found[-1].note if found[-1].absent else ""
        )
        for (test, point), found in loose.items()
    ]
    return (*judged, *more)
