"""The tests that a circuit needs and that nothing is entered for: listed as missing, never left out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ...base.errors import Finding
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import NOT_DECIDED
from ...site.events import CALCULATED, CIRCUIT_TESTS
from ...site.index import index_of
from ...site.installation import Circuit
from ...site.needs import MISSING, Need, lacking, needs_of
from ...site.visit import Visit
from .words_dead import listed

ORDER = {name: place for place, name in enumerate((*CIRCUIT_TESTS, *CALCULATED))}
# Visits that test circuits; a bonding visit does not.
TESTING = ("initial", "periodic", "minor works")


def needed(visit: Visit, circuit: Circuit) -> tuple[Need, ...]:
    """The tests that a circuit needs."""
    return needs_of(circuit, feeds=circuit.id in index_of(visit.site).feeding)


def complete(visit: Visit, circuit: Circuit, tests: Iterable[TestJudged]) -> tuple[TestJudged, ...]:
    """The tests in the order of the schedule, with a row for each that is needed and has no entry."""
    rows = list(tests)
    if visit.kind in TESTING:
        rows += [_row(circuit, n) for n in lacking(needed(visit, circuit), rows) if not n.entered(rows)]
    return tuple(sorted(rows, key=lambda t: ORDER[t.test]))


def _row(circuit: Circuit, need: Need) -> TestJudged:
    return TestJudged(
        circuit.id,
        need.tests[0],
        outcome=NOT_DECIDED,
        absent=MISSING,
        reason=f"nothing is entered for {need.names}",
    )


def missing_finding(visit: Visit, circuit: Circuit, tests: Sequence[TestJudged]) -> tuple[Finding, ...]:
    """One finding that names the missing tests of a circuit; none when there are none."""
    names = [n.said for n in lacking(needed(visit, circuit), tests)] if visit.kind in TESTING else []
    if not names:
        return ()
    return (
        Finding.of(
            "tests.missing",
            f"circuit {circuit.id}",
            f"Missing: {listed(names)}.",
            circuit.id,
            "a reading, or LIM, N/A or 'not tested' with its reason",
            "nothing",
            "Test it, or enter why it was not tested.",
        ),
    )
