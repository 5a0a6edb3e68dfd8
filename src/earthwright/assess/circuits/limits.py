"""What the rules ask of the live tests of one visit: each question asked once, its answer kept with its clause."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import lru_cache
from typing import Concatenate, ParamSpec, TypeVar, cast

from attrs import evolve, frozen

from ...base.digits import Kind
from ...base.errors import NoRule
from ...base.quantity import Limit, Quantity
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import (
    FAILS,
    GUARDED,
    MEETS,
    NO_RULE,
    NOT_DECIDED,
    Judged,
    judge,
    judge_band,
    no_rule,
    not_decided,
)
from ...physics.adiabatic import OutsideCurve, current_for_time
from ...physics.conductor import factor_alpha, factor_beta, factor_flat
from ...physics.domain import OutOfDomain
from ...rules import Edition, RuleValue, Worked, cited, clause_of
from ...rules.lookup import FIXED, c_min, disconnection_time, max_zs, operating_current, temperature_law
from ...site import plausible
from ...site.events import Reading
from ...site.index import Index, index_of
from ...site.installation import Board, Circuit, Device
from ...site.reading import Corrected
from ...site.visit import Visit
from ..rulings import Rulings
from .readings import Taken

P = ParamSpec("P")
T = TypeVar("T")

WORST_FIRST = (FAILS, NOT_DECIDED, NO_RULE, MEETS)
# Uses of a circuit that tell whether it has socket-outlets; any other use leaves it open.
_SOCKETS = ("socket", "sockets", "socket-outlets")
_FIXED_USES = ("lighting", "fixed", "cooker", "shower", "heating", "charging point")
DISTRIBUTION = "distribution"
REDUCED_V = (55.0, 63.5)  # to earth, of a 110 V supply of one phase with its middle earthed, and of three phases


class Limits:
    """The answers of one edition, kept; a question without an answer raises NoRule every time it is asked."""

    def __init__(self, rulings: Rulings) -> None:
        self.edition = rulings.wiring
        self._why = rulings.why_none
        self._kept: dict[object, object] = {}

    @property
    def known(self) -> Edition:
        """The edition. Raises NoRule when there is none."""
        if self.edition is None:
            raise NoRule(self._why)
        return self.edition

    def clause(self, requirement: str) -> str:
        """The clause of a requirement; empty where the edition holds none, or there is no edition."""
        return clause_of(self.edition, requirement)

    def cited(self, requirement: str, *more: str) -> str:
        """The same in brackets, to stand behind a sentence; else nothing."""
        return cited(self.edition, requirement, *more)

    def also(self, limit: Limit, requirement: str, between: str = ", ") -> Limit:
        """A limit that rests on a requirement too, which is named first."""
        return evolve(limit, clause=between.join(x for x in (self.clause(requirement), limit.clause) if x))

    def ask(self, question: Callable[Concatenate[Edition, P], T], *args: P.args, **keys: P.kwargs) -> T:
        """``question(edition, …)``, asked once. Raises NoRule."""
        if self.edition is None:
            raise NoRule(self._why)
        key = (question.__name__, args, frozenset(keys.items()))
        found = self._kept.get(key, self)  # itself stands for no answer yet: an answer may be None
        if found is self:
            try:
                found = question(self.edition, *args, **keys)
            except NoRule as error:
                found = error
            self._kept[key] = found
        if isinstance(found, NoRule):
            raise NoRule(str(found))
        return cast("T", found)


@lru_cache(maxsize=2)
def _limits_of(rulings: Rulings) -> Limits:
    return Limits(rulings)


@frozen(eq=False)
class Case:
    """What every live test needs: the visit, its readings, its rules."""

    visit: Visit
    taken: Taken
    rulings: Rulings
    limits: Limits
    index: Index

    @property
    def earths(self) -> Mapping[str, str]:
        """Which electrode earths a board or a circuit in place of the site's own earth: id of the one to id of the other."""
        return self.index.earths

    @property
    def make(self) -> tuple[float, float]:
        """Real resistance of a conductor as a share of the most its size may have, as this visit assumes it."""
        return self.visit.choices.assumptions.make

    @classmethod
    def of(cls, visit: Visit, taken: Taken, rulings: Rulings) -> Case:
        """The case of a visit; the limits that were looked up are kept from call to call."""
        return cls(visit, taken, rulings, _limits_of(rulings), index_of(visit.site))

    @property
    def u0_v(self) -> float:
        """Nominal voltage line to earth [V]."""
        return self.visit.site.supply.u0_v

    def volts_of(self, thing: str) -> float:
        """The same of a circuit, a board or the origin by its id [V]."""
        own = self.index.circuits.get(thing)
        return self.volts(thing if own is None else own.board)

    @property
    def tt(self) -> bool:
        """Whether the installation is a TT system."""
        return self.visit.site.supply.system == "TT"

    def electrode(self, circuit: Circuit) -> str:
        """The electrode that earths a circuit in place of the site's own earth; empty where the site's earth does."""
        keys = (key for c in (circuit, *self.upstream(circuit)) for key in (c.id, c.board))
        return next((self.earths[key] for key in keys if key in self.earths), "")

    def tt_at(self, circuit: Circuit) -> bool:
        """Whether a circuit is part of a TT system: the site's, or one of its own."""
        return self.tt or bool(self.electrode(circuit))

    def volts(self, board_id: str) -> float:
        """Nominal voltage line to earth at a board [V]: its own, else that of what feeds it, else the supply's."""
        seen: list[str] = []
        while board_id not in seen:
            seen.append(board_id)
            board = self.board(board_id)
            if board is not None and board.u0_v is not None:
                return board.u0_v
            feeder = self.feeder(board_id)
            if feeder is None:
                break
            board_id = feeder.board
        return self.u0_v

    def board(self, board_id: str) -> Board | None:
        """The board of that id, None if it is not entered."""
        return self.index.boards.get(board_id)

    def feeder(self, board_id: str) -> Circuit | None:
        """The circuit that feeds a board; None at the origin or when it is not entered."""
        board = self.board(board_id)
        if board is None or not board.fed_by:
            return None
        return self.index.circuits.get(board.fed_by)

    def upstream(self, circuit: Circuit) -> tuple[Circuit, ...]:
        """The distribution circuits between the origin and a circuit's board, nearest first; stops at a loop in the tree."""
        found: list[Circuit] = []
        feeder = self.feeder(circuit.board)
        board_id = circuit.board
        while feeder is not None and feeder not in found and feeder.id != circuit.id:
            if self.volts(feeder.board) != self.volts(board_id):
                break  # a transformer: nothing before it is part of the loop, or protects behind it
            found.append(feeder)
            board_id = feeder.board
            feeder = self.feeder(feeder.board)
        return tuple(found)

    def rcds(self, circuit: Circuit) -> tuple[tuple[str, Device], ...]:
        """The residual current devices in front of a circuit, nearest first: whose id, and the device."""
        found: list[tuple[str, Device]] = []
        for own in (circuit, *self.upstream(circuit)):
            board = self.board(own.board)
            if own.device.rcd_ma:
                found.append((own.id, own.device))
            if board is not None and board.rcd is not None and board.rcd.rcd_ma:
                found.append((board.id, board.rcd))
        return tuple(found)

    def distribution(self, circuit: Circuit) -> bool:
        """Whether a circuit feeds a board."""
        return circuit.use == DISTRIBUTION or circuit.id in self.index.feeding


def sockets(circuit: Circuit) -> bool | None:
    """Whether a circuit has socket-outlets; None when its use does not tell."""
    if circuit.kind == "ring" or circuit.use in _SOCKETS:
        return True
    return False if circuit.use in (*_FIXED_USES, FIXED) else None


def time_limit(case: Case, circuit: Circuit) -> RuleValue:
    """Longest disconnection time of a circuit [s]. Raises NoRule, also when the earthing arrangement is not entered."""
    system, u0_v = case.visit.site.supply.system, case.volts(circuit.board)
    system = "TT" if case.electrode(circuit) else system
    if system is None:
        raise NoRule("the earthing arrangement of the supply is not entered")
    if u0_v in REDUCED_V:
        asks = (case.limits.clause(r) for r in ("reduced low voltage", "reduced low voltage table"))
        clause, table = (f", {x}" if x else "" for x in asks)
        raise NoRule(
            f"{u0_v:g} V to earth is reduced low voltage (110 V{clause}): its limits{table}{table and ','} are not in the data"
        )
    return case.limits.ask(
        disconnection_time,
        system=system,
        u0_v=u0_v,
        distribution=case.distribution(circuit),
        rated_a=circuit.device.rating_a,
        sockets=sockets(circuit),
    )


def loop_limit(case: Case, device: Device, time_s: float, u0_v: float) -> Worked:
    """Highest loop impedance for a device and a time [Ω]. Raises NoRule when device or rating are not entered or not known."""
    if not device.standard or device.rating_a is None:
        raise NoRule("standard and rating of the device are not entered")
    return case.limits.ask(max_zs, device.standard, device.type, device.rating_a, time_s, u0_v)


def trip_current(case: Case, device: Device, time_s: float) -> tuple[Limit, str]:
    """Ia of a device [A] as a limit that the fault current must reach, and how it was found.

    The points of a curve that was entered come first; outside them nothing is guessed. Raises NoRule.
    """
    what = f"current that opens the device within {time_s:g} s"
    if device.curve:
        try:
            ia_a = current_for_time(device.curve, time_s)
        except (OutsideCurve, OutOfDomain) as error:
            raise NoRule(f"the curve entered does not reach {time_s:g} s: {error}") from None
        how = f"Ia = {ia_a:.4g} A from the points of the curve entered"
        clause = case.limits.clause("disconnection")
        return Limit(ia_a, "A", "min", what, clause, "time-current curve as entered", "this visit", "read", how), how
    if not device.standard or device.rating_a is None:
        raise NoRule("standard and rating of the device are not entered")
    worked = case.limits.ask(operating_current, device.standard, device.type, device.rating_a, time_s)
    return worked.as_limit("min", what), worked.how


def lowest_voltage_factor(case: Case) -> RuleValue:
    """c_min [1]. Raises NoRule."""
    return case.limits.ask(c_min)


def warming(case: Case, circuit: Circuit) -> tuple[float, str]:
    """Factor from the temperature of the test to the conductor's working temperature [1], and the law in words.

    The law is that of the wiring rules; without an edition it is the trade's flat rule. Never below 1.
    """
    law = "flat"
    with suppress(NoRule):
        law = case.limits.ask(temperature_law, circuit.material).text("law")
    function = {"flat": factor_flat, "alpha": factor_alpha, "beta": factor_beta}.get(law, factor_flat)
    factor = max(1.0, function(circuit.conductor_c) / function(case.visit.temp_c))
    return factor, f"{law} law, {case.visit.temp_c:g} to {circuit.conductor_c:g} °C: F = {factor:.3f}"


def hold(case: Case, corrected: Corrected, limit: Limit) -> Judged:
    """A corrected reading against a limit; an over-range reading is more than any maximum and shows nothing of a minimum."""
    if not corrected.usable:
        return not_decided(limit, corrected.refusal)
    shown = corrected.reading.shown
    if shown is not None and shown.kind is Kind.OVER:
        if limit.side == "max" and corrected.accuracy.top >= limit.value:
            return Judged(FAILS, limit, simple=FAILS, guarded=FAILS, why="It showed over-range")
        return not_decided(limit, "it showed over-range")
    if corrected.quantity is not None:
        return judge(corrected.quantity, limit, case.visit.choices.decision)
    assert corrected.band is not None  # every reading that is not over-range has one
    return judge_band(corrected.band, limit)


def hold_value(case: Case, value: Quantity, limit: Limit) -> Judged:
    """A worked-out value against a limit by the visit's decision rule."""
    return judge(value, limit, case.visit.choices.decision)


def worst(judged: Iterable[Judged]) -> str:
    """The one outcome of several: fails before not decided before no rule before meets; no rule when there is none."""
    outcomes = {j.outcome for j in judged}
    return next((o for o in WORST_FIRST if o in outcomes), NO_RULE)


def unless(judged: Judged, value: float, at_least: float, why: str) -> Judged:
    """A failure that a known error could explain is not decided: ``value`` may truly be as low as ``at_least``."""
    if judged.outcome == FAILS and judged.limit is not None and at_least <= judged.limit.value < value:
        return evolve(judged, outcome=NOT_DECIDED, simple=FAILS, guarded=NOT_DECIDED, decision=GUARDED, why=why)
    return judged


def settled(value: float) -> float:
    """A sum without the noise of binary fractions, so that a value at its limit is at it."""
    return round(value, 9)


def no_rule_for(error: Exception) -> Judged:
    """The verdict *no rule* with what the look-up said."""
    return no_rule(str(error))


def counting(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """The readings that have digits and were not refused, in order."""
    return tuple(r for r in readings if r.shown is not None and not r.refused and not r.absent)


def why_refused(reading: Reading) -> str:
    """Why a refused reading is not judged, as part of a sentence: what it showed cannot be, or it could not be read."""
    cannot = next((f for f in reading.refused if f.family == plausible.FAMILY), None)
    if cannot is None:
        return "the entry could not be read"
    return f"{cannot.found} cannot be. {cannot.what} {cannot.do}".rstrip(".")


def misread(readings: Iterable[Reading]) -> int:
    """How many readings were refused and stand: one that cannot be does no longer once it was read again at its point."""
    listed = list(readings)
    if not any(r.refused for r in listed):
        return 0
    good = {r.point: r.seq for r in listed if not r.refused and not r.absent}
    return sum(
        not (all(f.family == plausible.FAMILY for f in r.refused) and good.get(r.point, 0) > r.seq)
        for r in listed
        if r.refused
    )


def without_value(case: Case, of: str, test: str, point: str, readings: tuple[Reading, ...]) -> TestJudged | None:
    """The row of a test for which nothing that counts was read: why not. None when there is something that counts."""
    if counting(readings) or not readings:
        return None
    last = readings[-1]
    state = case.taken.state(last)
    if last.refused:
        why = why_refused(last)
        return TestJudged(
            of, test, point, readings, state, outcome=NOT_DECIDED, reason=why, words=f"Not decided: {why}."
        )
    if last.absent:
        words = f"{last.absent}: {last.note or 'no reason given'}."
        return TestJudged(
            of, test, point, readings, state, outcome=NOT_DECIDED, absent=last.absent, reason=last.note, words=words
        )
    return TestJudged(of, test, point, readings, state, outcome=NOT_DECIDED, absent="missing", reason="no digits")
