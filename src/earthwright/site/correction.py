"""The readings of a visit, each corrected in one way: by the instrument and the lead set it was taken with."""

from __future__ import annotations

from .events import BOND_TESTS, CIRCUIT_TESTS, LeadCheck, Reading
from .reading import Accuracy, Corrected, Instrument, LeadSet, correct
from .tests import CONTINUITY
from .visit import Visit

_NO_LEADS = LeadSet("", "nulled")  # for functions in which leads do not count


def function_of(reading: Reading) -> str:
    """The instrument's function that a reading needs; empty for a test that is read from no display."""
    if reading.test in BOND_TESTS:
        return CONTINUITY
    return CIRCUIT_TESTS[reading.test].function if reading.test in CIRCUIT_TESTS else ""


class Corrector:
    """Corrects each reading of a visit once."""

    def __init__(self, visit: Visit) -> None:
        self._shared_scale = visit.choices.shared_scale_error
        self._checks = [e for e in visit.events if isinstance(e, LeadCheck)]
        self._instruments = {i.id: i for i in visit.instruments}
        self._leads = {x.id: x for x in visit.leads}
        self._corrected: dict[int, Corrected] = {}

    def accuracy(self, reading: Reading) -> Accuracy:
        """Limits of error of the instrument on the function a reading needs; assumed ones are marked so."""
        return (self._instruments.get(reading.instrument) or Instrument("")).limits(function_of(reading))

    def leads(self, reading: Reading) -> LeadSet:
        """The lead set of a reading; of one that is not entered nothing is known."""
        if function_of(reading) != CONTINUITY:
            return _NO_LEADS
        return self._leads.get(reading.leads) or LeadSet(reading.leads or "not stated")

    def corrected(self, reading: Reading) -> Corrected:
        """The reading corrected for its leads, with its budget. Raises ValueError when it has no digits."""
        if reading.seq not in self._corrected:
            checks = self._checks if function_of(reading) == CONTINUITY else ()
            self._corrected[reading.seq] = correct(
                reading, self.leads(reading), self.accuracy(reading), checks, shared_scale=self._shared_scale
            )
        return self._corrected[reading.seq]
