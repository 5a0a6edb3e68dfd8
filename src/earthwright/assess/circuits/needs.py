"""The tests that a circuit needs and that nothing is entered for: listed as missing, never left out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ...base.errors import Finding, Severity
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import NOT_DECIDED
from ...site.events import CALCULATED, CIRCUIT_TESTS
from ...site.index import index_of
from ...site.installation import Circuit
from ...site.visit import Visit
from .words_dead import NAMES, listed

ORDER = {name: place for place, name in enumerate((*CIRCUIT_TESTS, *CALCULATED))}
# Visits that test circuits; a bonding visit does not.
TESTING = ("initial", "periodic", "minor works")
MISSING = "missing"


def needed(visit: Visit, circuit: Circuit) -> tuple[tuple[str, ...], ...]:
    """The tests that a circuit needs; of several in one entry any one will do."""
    found: list[tuple[str, ...]] = []
    if circuit.kind == "ring":
        # The usual record of a ring is its ends and the highest R1+R2; a profile shows more, and takes the place of R1+R2.
        found += [("ring r1",), ("ring rn",), ("ring r2",), ("ring ln", "r1r2"), ("ring le", "r1r2")]
    elif circuit.cpc != "none":
        found.append(("r1r2", "r2"))
    found += [("insulation",), ("polarity",)]
    if circuit.phases == 3:
        found.append(("phase sequence",))
    if circuit.cpc != "none" and circuit.id not in index_of(visit.site).feeding:
        found.append(("zs",))
    if circuit.device.rcd_ma:
        found += [("rcd",), ("rcd button",)]
    return tuple(found)


def complete(visit: Visit, circuit: Circuit, tests: Iterable[TestJudged]) -> tuple[TestJudged, ...]:
    """The tests in the order of the schedule, with a row for each that is needed and has no entry."""
    rows = list(tests)
    if visit.kind in TESTING:
        entered = {t.test for t in rows}
        rows += [_row(circuit, some) for some in needed(visit, circuit) if not entered & set(some)]
    return tuple(sorted(rows, key=lambda t: ORDER[t.test]))


def _row(circuit: Circuit, some: Sequence[str]) -> TestJudged:
    names = " or ".join(NAMES.get(test, test) for test in some)
    return TestJudged(
        circuit.id,
        some[0],
        outcome=NOT_DECIDED,
        absent=MISSING,
        reason=f"nothing is entered for {names}",
    )


def missing_finding(circuit: Circuit, tests: Iterable[TestJudged]) -> tuple[Finding, ...]:
    """One finding that names the missing tests of a circuit; none when there are none."""
    names = [NAMES.get(t.test, t.test) for t in tests if t.absent == MISSING]
    if not names:
        return ()
    return (
        Finding(
            f"circuit {circuit.id}",
            f"Missing: {listed(names)}.",
            Severity.NOTE,
            "tests.missing",
            circuit.id,
            "a reading, or LIM, N/A or 'not tested' with its reason",
            "nothing",
            "Test it, or enter why it was not tested.",
        ),
    )
