"""The tests that a circuit needs and that nothing is entered for: listed as missing, never left out."""

from __future__ import annotations

from collections.abc import Iterable

from ...events import CALCULATED, CIRCUIT_TESTS
from ...installation import Circuit
from ...tested import TestJudged
from ...visit import Visit

ORDER = {name: place for place, name in enumerate((*CIRCUIT_TESTS, *CALCULATED))}


def complete(visit: Visit, circuit: Circuit, tests: Iterable[TestJudged]) -> tuple[TestJudged, ...]:
    """The tests in the order of the schedule."""
    return tuple(sorted(tests, key=lambda t: ORDER[t.test]))
