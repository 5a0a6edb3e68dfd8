"""The readings of a visit by what they belong to, each with its state and correction; built once, for a works has thousands."""

from __future__ import annotations

from copy import copy
from functools import cached_property
from typing import NamedTuple

from ...base.errors import Finding, Severity
from ...site.correction import Corrector
from ...site.events import CIRCUIT_TESTS, Reading, Repair, State
from ...site.ledger import after
from ...site.reading import Accuracy, Corrected
from ...site.repairs import ended_by, repairs_of
from ...site.visit import Visit
from .upstream import ways_before


class _Sorted(NamedTuple):
    """What counts of each thing by test, what was off at each reading by its step, what was read before each repair."""

    by_thing: dict[str, dict[str, list[Reading]]]
    states: dict[int, State]
    found: dict[str, dict[Repair, list[Reading]]]


class Taken:
    """Look readings up by thing and test, correct them, and know what was off at that moment.

    ``findings`` collects what must be said about lead sets, once for each set and not for each reading.
    """

    def __init__(self, visit: Visit, corrector: Corrector | None = None) -> None:
        self._visit = visit
        self._corrector = corrector or Corrector(visit)
        self._told: set[int] = set()
        self._spoilt: dict[tuple[str, str], list[Finding]] = {}

    @cached_property
    def _sorted(self) -> _Sorted:
        """The readings by thing and test, sorted when the first is asked for: danger, for one, asks for none."""
        visit = self._visit
        by_thing: dict[str, dict[str, list[Reading]]] = {}
        states: dict[int, State] = {}
        found: dict[str, dict[Repair, list[Reading]]] = {}
        repairs, ways = repairs_of(visit.events), ways_before(visit.site) if repairs_of(visit.events) else {}
        state = State()
        for event in visit.events:
            if isinstance(event, Reading):
                if event.test not in CIRCUIT_TESTS:
                    continue
                states[event.seq] = state
                end = ended_by(repairs, event, ways.get(event.of, ())) if repairs else None
                if end is not None:
                    found.setdefault(event.of, {}).setdefault(end, []).append(event)
                    continue
                by_thing.setdefault(event.of, {}).setdefault(event.test, []).append(event)
            else:
                state = after(state, event)
        return _Sorted(by_thing, states, found)

    def of(self, thing: str, test: str) -> tuple[Reading, ...]:
        """Every entry for one test of one thing, in order: readings, refused ones, and words why there is none."""
        return tuple(self._sorted.by_thing.get(thing, {}).get(test, ()))

    def former(self, thing: str) -> tuple[tuple[Repair, Taken], ...]:
        """What was read of a thing before each repair that it was part of, in order, as if nothing had come after."""
        return tuple((repair, self._as_then(thing, some)) for repair, some in self._sorted.found.get(thing, {}).items())

    def _as_then(self, thing: str, some: list[Reading]) -> Taken:
        then = copy(self)
        tests: dict[str, list[Reading]] = {}
        for reading in some:
            tests.setdefault(reading.test, []).append(reading)
        then._sorted = self._sorted._replace(by_thing={**self._sorted.by_thing, thing: tests})
        return then

    def by_point(self, thing: str, test: str) -> dict[str, tuple[Reading, ...]]:
        """The same, parted by the point they were taken at."""
        parted: dict[str, list[Reading]] = {}
        for reading in self.of(thing, test):
            parted.setdefault(reading.point, []).append(reading)
        return {point: tuple(some) for point, some in parted.items()}

    def state(self, reading: Reading) -> State:
        """What was off when the reading was taken."""
        return self._sorted.states[reading.seq]

    def accuracy(self, reading: Reading) -> Accuracy:
        """Limits of error of the instrument on the function the test needs; assumed ones are marked so."""
        return self._corrector.accuracy(reading)

    def corrected(self, reading: Reading) -> Corrected:
        """The reading corrected for its leads, with its budget; worked out once. Raises ValueError when it has no digits."""
        corrected = self._corrector.corrected(reading)
        if reading.seq not in self._told:
            self._told.add(reading.seq)
            for finding in corrected.findings:
                known = self._spoilt.setdefault((self._corrector.leads(reading).id, finding.family), [])
                if finding not in known:
                    known.append(finding)
        return corrected

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What must be said about lead sets: one finding for each set and cause, with how many readings it concerns."""
        said = []
        for (leads, family), found in self._spoilt.items():
            first = found[0]
            many = f" {len(found)} readings of circuits are concerned." if len(found) > 1 else ""
            said.append(
                Finding(
                    f"lead set {leads}",
                    first.what + many,
                    max((f.severity for f in found), key=lambda s: -s.rank, default=Severity.NOTE),
                    family,
                    leads,
                    first.expected,
                    first.found,
                    first.do,
                    first.because,
                )
            )
        return tuple(said)
