"""Overload: the rated current of a device against what its cable may carry; rings by 433.1.204; tails and the supply fuse."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress

from attrs import evolve, field, frozen

from ...base.errors import Finding, NoRule, Severity
from ...base.quantity import Limit, exact
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS, MEETS, Judged, no_rule, not_decided
from ...report.words import judged_words
from ...rules import RuleValue
from ...rules.lookup import (
    Capacity,
    ambient_factor,
    carrying_capacity,
    device_family,
    grouping_factor,
    insulation_factor,
    overload_ring,
    overload_share,
)
from ...site.codes import METHODS
from ...site.events import ORIGIN
from ...site.installation import Circuit
from ...site.visit import NEW_WORK
from . import words_live as say
from .limits import WORST_FIRST, Case, Limits, hold_value, settled

TEST = "overload"
FLAT, SINGLE, MULTI = "flat with cpc, 70 °C", "single-core, 70 °C", "multicore, 70 °C"
ARMOURED, ARMOURED_90 = "armoured, 70 °C", "armoured, 90 °C"
# The kinds of cable that a code of wiring, or else the protective conductor, leaves possible.
_BY_WIRING = {"A": (FLAT, MULTI), **dict.fromkeys("BCDE", (SINGLE,)), "F": (ARMOURED,), "G": (ARMOURED_90,)}
_BY_CPC = {"conduit": (SINGLE,), "trunking": (SINGLE,), "sheath": (), "armour": (ARMOURED,)}
_ANY = (FLAT, SINGLE, MULTI, ARMOURED)
HOT_C = 90.0
# Equipment whose own current is known, so that its circuit may do without protection against overload.
_OWN_LOAD = ("cooker", "shower", "heating", "charging point", "fixed")
_ADJUSTABLE = "BS EN 60947-2"
ALONE = "taken as one circuit alone at 30 °C, outside thermal insulation, where nothing else is entered"


@frozen
class Carries:
    """What the line conductor may carry, at least and at most [A], by the tables and factors named."""

    least_a: float
    most_a: float
    rests_on: tuple[RuleValue, ...]
    how: str

    limits: Limits = field(eq=False, repr=False)

    def times(self, cables: int) -> Carries:
        """What several alike carry side by side."""
        how = f"{self.how}; {cables} cables side by side, taken to share the current equally"
        return evolve(self, least_a=self.least_a * cables, most_a=self.most_a * cables, how=how)

    def limit(self, value: float, what: str) -> Limit:
        """A current [A] as the most that a device may be rated at."""
        limit = evolve(self.rests_on[0].as_limit("max", what), value=settled(value), note=self.how)
        return self.limits.also(limit, "overload")


def overload_row(case: Case, circuit: Circuit) -> TestJudged | None:
    """The device of a circuit against its cable; None where neither device nor cable is entered."""
    d = circuit.device
    if d.rating_a is None and circuit.line_mm2 is None:
        return None
    if d.rating_a is None or circuit.line_mm2 is None:
        lacks = "the rated current of its device" if d.rating_a is None else "the size of its line conductor"
        return _row(circuit.id, not_decided(None, f"{lacks} is not entered"))
    if circuit.stretches:
        return _along(case, circuit)
    return _row(circuit.id, *_held(case, circuit))


def _held(case: Case, circuit: Circuit, cables: int = 1) -> tuple[Judged, tuple[str, ...]]:
    """The device against a cable of one size, or against several side by side."""
    assert circuit.line_mm2 is not None  # asked before
    try:
        carries, need_a, how = _carries(case, circuit, circuit.line_mm2), *_need(case, circuit)
        if cables > 1:
            carries = carries.times(cables)
        judged = (_ring if circuit.kind == "ring" else _radial)(case, circuit, carries, need_a)
    except NoRule as error:
        return no_rule(str(error)), ()
    return judged, (carries.how, how, ALONE)


def _along(case: Case, circuit: Circuit) -> TestJudged:
    """Each length of a cable that changes, with the device at its head or the fuse at its beginning; the worst comes first."""
    held = [(s, *_held(case, circuit.like(s), s.cables)) for s in circuit.stretches]
    held.sort(key=lambda x: WORST_FIRST.index(x[1].outcome))
    words = [f"{s}: {say.against(j) if j.limit is not None else judged_words(j)}" for s, j, _ in held]
    sums = [f"{s}: {line}" for s, _, lines in held for line in lines if line and line != ALONE]
    judged = tuple(j for _, j, _ in held)
    return TestJudged(
        circuit.id, TEST, judged=judged, outcome=judged[0].outcome, words=say.sentences(words), sums=(*sums, ALONE)
    )


def _row(of: str, judged: Judged, sums: tuple[str, ...] = ()) -> TestJudged:
    words = say.sentences((say.against(judged) if judged.limit is not None else f"overload: {judged_words(judged)}",))
    return TestJudged(of, TEST, judged=(judged,), outcome=judged.outcome, words=words, sums=tuple(filter(None, sums)))


# ---- what the cable may carry ----


def _kinds(case: Case, circuit: Circuit) -> tuple[str, ...]:
    """The kinds of cable a circuit may be made of. Raises NoRule where none of them is in the data."""
    if circuit.material not in ("copper", "copper tinned"):
        raise NoRule(f"capacities of {circuit.material} are not in the data")
    if circuit.wiring:
        kinds = _BY_WIRING.get(circuit.wiring, ())
    elif circuit.conductor_c >= HOT_C:
        kinds = (ARMOURED_90,) if circuit.cpc == "armour" else ()
    else:
        kinds = _BY_CPC.get(circuit.cpc, _ANY)
    if not kinds:
        where = case.limits.clause("capacities")
        raise NoRule(
            f"capacities of this kind of cable are not in the data: look them up {where and f'in {where} or '}at its maker"
        )
    return kinds


def reference_of(circuit: Circuit) -> str:
    """The code of the reference method, wherever it was entered; empty when it was not."""
    return circuit.reference or (circuit.method if circuit.method in METHODS else "")


def _carries(case: Case, circuit: Circuit, line_mm2: float) -> Carries:
    found: Capacity = case.limits.ask(
        carrying_capacity,
        _kinds(case, circuit),
        loaded=3 if circuit.phases == 3 else 2,
        csa_mm2=line_mm2,
        method=reference_of(circuit),
    )
    factors = tuple(_factors(case, circuit))
    share = 1.0
    for f in factors:
        share *= float(f.value)
    least, most = float(found.least.value) * share, float(found.most.value) * share
    tables = dict.fromkeys(
        f"{r.value} A ({r.clause}, method {r.keys['method']}, {say.MEMORY})" for r in (found.least, found.most)
    )
    times = "".join(f" × {f.value} ({f.clause})" for f in factors)
    how = f"{' to '.join(tables)}{times}" + (f" = {say.figure(least, 'A')}" if times and least == most else "")
    return Carries(least, most, (found.least, found.most, *factors), how, case.limits)


def _factors(case: Case, circuit: Circuit) -> Iterator[RuleValue]:
    """Factors for bunching, warm air and thermal insulation, as far as they were entered."""
    if circuit.grouped > 1:
        yield case.limits.ask(grouping_factor, circuit.grouped)
    if circuit.ambient_c is not None:
        if reference_of(circuit) == "D":
            raise NoRule("factors for the temperature of the ground are not in the data")
        hot = circuit.wiring == "G" or circuit.conductor_c >= HOT_C
        yield case.limits.ask(ambient_factor, HOT_C if hot else 70.0, circuit.ambient_c)
    if circuit.in_insulation_mm is not None:
        yield case.limits.ask(insulation_factor, circuit.in_insulation_mm)


def _need(case: Case, circuit: Circuit) -> tuple[float, str]:
    """What the cable has to carry for its device [A]: its rated current, more for a semi-enclosed fuse."""
    d = circuit.device
    assert d.rating_a is not None  # asked before
    row = None
    with suppress(NoRule):  # a device of an unknown standard is no rewirable fuse
        row = case.limits.ask(overload_share, device_family(case.limits.known, d.standard))
    if row is None:
        return d.rating_a, ""
    need = settled(d.rating_a / float(row.value))
    return need, f"{d.rating_a:g} A / {row.value} = {say.figure(need, 'A')} ({row.clause}, {say.MEMORY})"


# ---- what is held against what ----


def _radial(case: Case, circuit: Circuit, carries: Carries, need_a: float) -> Judged:
    what = "overload: the device against what the cable carries"
    least, most = carries.limit(carries.least_a, what), carries.limit(carries.most_a, what)
    if need_a <= least.value:
        return _judged(MEETS, least, need_a)
    if need_a <= most.value:
        return not_decided(least, _wanted(circuit))
    return _above(case, circuit, most, least, need_a)


def _above(case: Case, circuit: Circuit, most: Limit, least: Limit, need_a: float) -> Judged:
    """A device above what the cable carries: good enough only where the load itself keeps the current down (433.3.1)."""
    if _ADJUSTABLE.replace(" ", "") in circuit.device.standard.replace(" ", ""):
        return not_decided(most, "whether its release is set below its rated current is not entered")
    if circuit.use == "final":
        return not_decided(most, "what the circuit serves is not entered")
    if circuit.use not in _OWN_LOAD:
        return _judged(FAILS, most, need_a)
    by_load = case.limits.cited("overload by load")
    if circuit.design_a is None:
        return not_decided(
            most, f"the design current of its load, which may keep the current down{by_load}, is not entered"
        )
    if circuit.design_a <= least.value:
        return evolve(_judged(MEETS, least, circuit.design_a), why=f"The load itself keeps the current down{by_load}")
    if circuit.design_a <= most.value:
        return not_decided(least, _wanted(circuit))
    return evolve(_judged(FAILS, most, circuit.design_a), why="The design current itself is above it")


def _judged(outcome: str, limit: Limit, value_a: float) -> Judged:
    why = f"{value_a:g} A is above it" if outcome == FAILS else ""
    left = settled(limit.value - value_a)
    return Judged(outcome, limit, simple=outcome, guarded=outcome, difference=left, why=why)


def _wanted(circuit: Circuit) -> str:
    if not reference_of(circuit):
        wanted = "the reference method is" if circuit.wiring else "the reference method and the kind of wiring are"
        return f"{wanted} not entered"
    return "its size lies between two of the table" if circuit.wiring else "the kind of wiring is not entered"


def _ring(case: Case, circuit: Circuit, carries: Carries, need_a: float) -> Judged:
    """A ring: as a radial where one leg carries it all, else by 433.1.204."""
    what = "overload: the device of a ring"
    if need_a <= carries.least_a:
        return _judged(MEETS, carries.limit(carries.least_a, what), need_a)
    rule = case.limits.ask(overload_ring)
    device, size = (
        rule.as_limit("max", what, "device_to_a"),
        rule.as_limit("min", "overload: the line of a ring", "least_mm2"),
    )
    leg = rule.as_limit("min", "overload: what the cable of a ring carries", "least_a")
    rating, line_mm2 = circuit.device.rating_a or 0.0, circuit.line_mm2 or 0.0
    if rating > device.value:
        return _judged(FAILS, device, rating)
    if line_mm2 < size.value:
        return evolve(
            _judged(FAILS, size, line_mm2), difference=line_mm2 - size.value, why=f"{line_mm2:g} mm² is below it"
        )
    if carries.least_a >= leg.value:
        return hold_value(case, exact(settled(carries.least_a), "A"), leg)
    if carries.most_a < leg.value:
        return hold_value(case, exact(settled(carries.most_a), "A"), leg)
    return not_decided(leg, _wanted(circuit))


# ---- tails ----


def tails_row(case: Case) -> TestJudged | None:
    """The tails against the supply fuse; None where either is not entered. They are taken as clipped direct (method C)."""
    supply = case.visit.site.supply
    if supply.line_csa_mm2 is None or supply.fuse_a is None:
        return None
    loaded = 3 if supply.phases == 3 else 2
    try:
        found = case.limits.ask(carrying_capacity, (SINGLE,), loaded=loaded, csa_mm2=supply.line_csa_mm2, method="C")
    except NoRule as error:
        return _row(ORIGIN, no_rule(str(error)))
    limit = found.least.as_limit("max", "overload: the supply fuse against what the tails carry")
    limit = case.limits.also(limit, "overload")
    judged = _judged(MEETS if supply.fuse_a <= limit.value else FAILS, limit, supply.fuse_a)
    row = _row(
        ORIGIN, judged, (f"tails of {supply.line_csa_mm2:g} mm², single-core, taken as clipped direct (method C)",)
    )
    return evolve(row, findings=(_tails_finding(case, limit, supply.fuse_a),)) if row.outcome == FAILS else row


def _tails_finding(case: Case, limit: Limit, fuse_a: float) -> Finding:
    return Finding(
        "origin, tails",
        "The tails may carry less than the supply fuse lets pass.",
        Severity.WARNING if case.visit.kind in NEW_WORK else Severity.NOTE,
        "overload.tails",
        ORIGIN,
        f"a fuse of at most {limit.value:g} A, {limit.source()}",
        f"{fuse_a:g} A",
        "Look for heat at their ends, and at what the main switch and the devices below it let flow"
        f"{case.limits.cited('overload by load')}; else larger tails, or a smaller fuse by the distributor.",
    )
