"""What the series checks look at: the visit, what was judged, the visit before it, and its readings as rows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import cached_property
from typing import TypeVar, cast

from attrs import define, frozen

from ...base.digits import Kind, Shown
from ...base.errors import Finding, NoRule, Severity
from ...base.quantity import Band
from ...evidence.graph import Standing, earth_network, point_name
from ...evidence.graph.changes import CPC as CPC_MM2
from ...evidence.graph.changes import LINE, alike_to
from ...evidence.graph.lengths import CONNECTIONS_OHM, length_band
from ...evidence.graph.model import CPC
from ...outcomes.assessment import BondJudged
from ...physics.conductor import band_ohm, factor_of
from ...rules import Edition, RuleBook
from ...rules.lookup import conductor_mohm_per_m
from ...site.correction import Corrector, function_of
from ...site.events import BOND_TESTS, ORIGIN, Look, Off, On, Reading
from ...site.installation import MET, Circuit
from ...site.reading import Accuracy, added_by
from ...site.visit import Visit
from .chance import ALARM, REMARK

T = TypeVar("T")
_HANDLED = (Off, On, Look)


@frozen
class SeriesReading:
    """One reading with digits: its instrument's limits of error, what its leads add, and the circuit it belongs to.

    lead  what the leads add to the display, low and high [unit of the reading]; nothing when they were nulled
    """

    reading: Reading
    shown: Shown
    accuracy: Accuracy
    circuit: Circuit | None
    lead: tuple[float, float] = (0.0, 0.0)

    @property
    def value(self) -> float:
        """The digits less what the leads add."""
        return self.shown.value - (self.lead[0] + self.lead[1]) / 2.0

    @property
    def name(self) -> str:
        """What to call the row in a sentence."""
        place = f" {self.reading.point}" if self.reading.point else ""
        return f"{self.reading.of}{place}"

    @property
    def _edge(self) -> float:
        return (self.accuracy.digits + 0.5) * max(self.accuracy.step, float(self.shown.step))

    @property
    def low(self) -> float:
        """Least true value behind the digits, with every error at the edge of its limits."""
        return (self.shown.value - self._edge) / (1.0 + self.accuracy.pct / 100.0) - self.lead[1]

    @property
    def high(self) -> float:
        """Largest true value behind the digits."""
        return (self.shown.value + self._edge) / (1.0 - self.accuracy.pct / 100.0) - self.lead[0]

    @property
    def slack(self) -> float:
        """How far the true value may lie from :attr:`value` [unit of the reading]."""
        return max(self.high - self.value, self.value - self.low)


@define(slots=False)
class Series:
    """Everything a check may look at; rows are worked out once.

    previous  the last visit to the same site, None when there is none at hand
    today     the day on which the check is made, None when nobody said; a date after it cannot be
    """

    visit: Visit
    bonds: tuple[BondJudged, ...] = ()
    previous: Visit | None = None
    today: dt.date | None = None

    @cached_property
    def rows(self) -> tuple[SeriesReading, ...]:
        """Every reading with digits that a display showed, in order; over-range and refused ones are left out."""
        return rows_of(self.visit)

    @cached_property
    def wiring(self) -> Edition | None:
        """The edition of the wiring rules of the visit; None where there is none."""
        with suppress(NoRule):
            return RuleBook.load().wiring_for(self.visit.rules_on, self.visit.choices.edition)
        return None

    @cached_property
    def handled(self) -> dict[int, int]:
        """For each reading's place in the order, how often something was taken off, put back or looked at before it."""
        count, found = 0, {}
        for event in self.visit.events:
            count += isinstance(event, _HANDLED)
            if isinstance(event, Reading):
                found[event.seq] = count
        return found

    def once(self, work: Callable[[Series], T]) -> T:
        """What several checks work out of the series alone, worked out by the first of them."""
        if work not in self._done:
            self._done[work] = work(self)
        return cast("T", self._done[work])

    @cached_property
    def _done(self) -> dict[object, object]:
        return {}

    def of_test(self, test: str) -> tuple[SeriesReading, ...]:
        """The rows of one test, the last reading of each thing and point."""
        return self._by_test.get(test, ())

    @cached_property
    def _by_test(self) -> dict[str, tuple[SeriesReading, ...]]:
        parted: dict[str, list[SeriesReading]] = {}
        for row in self.rows:
            parted.setdefault(row.reading.test, []).append(row)
        return {test: latest(rows) for test, rows in parted.items()}

    def by_circuit(self, test: str) -> dict[str, SeriesReading]:
        """For each circuit, the highest value of a test: what its schedule row holds."""
        if test not in self._highest:
            found: dict[str, SeriesReading] = {}
            for row in self.of_test(test):
                if row.circuit is not None and (row.circuit.id not in found or row.value > found[row.circuit.id].value):
                    found[row.circuit.id] = row
            self._highest[test] = found
        return self._highest[test]

    @cached_property
    def _highest(self) -> dict[str, dict[str, SeriesReading]]:
        return {}

    @cached_property
    def _starts(self) -> dict[str, SeriesReading]:
        """The loop read at each board, and at the origin."""
        found = {row.reading.of: row for row in self.of_test("zdb")}
        origin = self.of_test("ze")
        if origin:
            found[ORIGIN] = origin[-1]
        return found

    @cached_property
    def _fed(self) -> set[str]:
        """Boards that another circuit feeds: without a reading of their own they start from nothing that is known."""
        return {b.id for b in self.visit.site.boards if b.fed_by}

    def loop_at(self, circuit: Circuit) -> SeriesReading | None:
        """The loop impedance that a circuit starts from: of its board if it was read, else of the origin."""
        if circuit.board in self._starts:
            return self._starts[circuit.board]
        return None if circuit.board in self._fed else self._starts.get(ORIGIN)

    def starts_of(self, circuit: Circuit) -> tuple[SeriesReading, ...]:
        """What somebody may have added R1+R2 to: the loop of its board, and Ze even where the board has a Zdb of its own."""
        some = (self.loop_at(circuit), self._starts.get(ORIGIN))
        return tuple({id(row): row for row in some if row is not None}.values())

    @cached_property
    def _bands(self) -> dict[str, BondJudged]:
        return {b.bond.id: b for b in self.bonds}

    def per_m(self, material: str, csa_mm2: float, iec_class: int = 2) -> float | None:
        """Largest resistance of a conductor at the visit's temperature [Ω/m]; None when it is not in the data."""
        key = (material, csa_mm2, iec_class)
        if key not in self._per_m:
            try:
                row = conductor_mohm_per_m(RuleBook.load(), self.visit.date, material, iec_class, csa_mm2)
                self._per_m[key] = float(row.value) * factor_of(material, self.visit.temp_c) / 1000.0
            except NoRule:
                self._per_m[key] = None
        return self._per_m[key]

    @cached_property
    def _per_m(self) -> dict[tuple[str, float, int], float | None]:
        return {}

    def expected(self, row: SeriesReading) -> Band | None:
        """Band of true values that the site gives for a continuity reading [Ω]; None when it does not say enough."""
        test = row.reading.test
        bond = self._bands.get(row.reading.of)
        if bond is not None and test in BOND_TESTS:
            return next((e.band for e in bond.expected if e.test == test), None)
        if row.circuit is None or not self._by_itself(row.reading, row.circuit):
            return None
        return self._of_circuit(row.circuit, test, row.reading.point)

    def _by_itself(self, reading: Reading, circuit: Circuit) -> bool:
        """Whether the circuit's own conductors alone say what R1+R2 or R2 should be: no sub-main, no known metal, nothing off."""
        if reading.test not in ("r1r2", "r2"):
            return True
        if reading.between == MET and circuit.board in self._fed:
            return False
        if circuit.id in self._lifted.get(reading.seq, ()):
            return reading.test == "r1r2" or reading.between == "free end"
        network = self._standing
        place = point_name(circuit.id, reading.point)
        if network is None or not network.network.has(place):
            return True
        pieces = network.between(circuit.board, place) or ()
        return all(p.kind == CPC and p.of == circuit.id for p in pieces)

    @cached_property
    def _standing(self) -> Standing | None:
        """The earth network with all connected; without known metal no question needs it."""
        return Standing(earth_network(self.visit.site)) if self.visit.site.links else None

    @cached_property
    def _lifted(self) -> dict[int, frozenset[str]]:
        """Circuits whose cpc was off, for each reading's place in the order at which any was."""
        off: frozenset[str] = frozenset()
        found = {}
        for event in self.visit.events:
            if isinstance(event, Off) and event.what.endswith(":cpc"):
                off |= {event.what.removesuffix(":cpc")}
            elif isinstance(event, On):
                off -= {event.what.removesuffix(":cpc")}
            elif off and isinstance(event, Reading):
                found[event.seq] = off
        return found

    def shortest(self, c: Circuit) -> float:
        """The least length of a circuit to its end, in metres of its own line conductor; 0 where it is not known."""
        way = alike_to(c, "", LINE, lambda csa_mm2: self.per_m(c.material, csa_mm2))
        return way[0] if way is not None else 0.0

    def _of_circuit(self, c: Circuit, test: str, point: str) -> Band | None:
        if c.length_m is None:
            return None
        line = None if c.line_mm2 is None else self.per_m(c.material, c.line_mm2)
        neutral = None if c.neutral_mm2 is None else self.per_m(c.material, c.neutral_mm2)
        cpc = None if c.cpc_mm2 is None or c.cpc != "core" else self.per_m(c.material, c.cpc_mm2)
        both = None if line is None or cpc is None else line + cpc
        quarter = 0.25 if c.kind == "ring" else 1.0
        # A radial is measured one way; a ring's ends are the whole ring, its crossed legs a quarter of both.
        share = {
            "ring r1": (line, 1.0),
            "ring rn": (neutral, 1.0),
            "ring r2": (cpc, 1.0),
            "r2": (cpc, quarter),
            "r1r2": (both, quarter),
        }
        per_m, part = share.get(test, (None, 0.0))
        if per_m is None:
            return None
        make = self.visit.choices.assumptions.make
        if part == 1.0 and test in ("r1r2", "r2") and (point or c.stretches):
            low = high = 0.0
            for core, own in ((LINE, line if test == "r1r2" else None), (CPC_MM2, cpc)):
                metres = alike_to(c, point, core, lambda csa_mm2: self.per_m(c.material, csa_mm2))
                if own is not None and metres is None:
                    return None
                low, high = (x + m * (own or 0.0) for x, m in zip((low, high), (metres or (0.0, 0.0))[:2], strict=True))
            return Band(*band_ohm(low, high, 1000.0, make, CONNECTIONS_OHM), "Ω")
        length = length_band(c.length_m, c.length_tol_m)
        return Band(*band_ohm(*length, 1000.0 * per_m * part, make, CONNECTIONS_OHM), "Ω")


def rows_of(visit: Visit) -> tuple[SeriesReading, ...]:
    """The readings of a visit with digits, in order."""
    circuits = {c.id: c for c in visit.site.circuits}
    corrector = Corrector(visit)
    found = []
    for event in visit.events:
        if not isinstance(event, Reading) or event.refused or event.shown is None or event.shown.kind is not Kind.VALUE:
            continue
        if function_of(event):
            accuracy = corrector.accuracy(event)
            lead = added_by(corrector.leads(event), accuracy)
            found.append(SeriesReading(event, event.shown, accuracy, circuits.get(event.of), lead))
    return tuple(found)


def latest(rows: Iterable[SeriesReading]) -> tuple[SeriesReading, ...]:
    """The last reading of each thing, test, point, pair of conductors and method."""
    return tuple({key_of(r.reading): r for r in rows}.values())


def key_of(reading: Reading) -> tuple[object, ...]:
    """What makes two readings the same measurement; the method comes last."""
    return reading.of, reading.test, reading.point, reading.between, reading.test_v, reading.method


def inside(row: SeriesReading, band: Band) -> bool:
    """Whether the digits may show a true value in the band, limits of error and rounding included."""
    return row.high >= band.low - 1e-9 and row.low <= band.high + 1e-9


def severity_of(p: float) -> Severity | None:
    """How loudly a corrected probability speaks; None when nothing is said."""
    return Severity.WARNING if p <= ALARM else Severity.NOTE if p <= REMARK else None


__all__ = ["Finding", "Series", "SeriesReading", "inside", "key_of", "latest", "rows_of", "severity_of"]
