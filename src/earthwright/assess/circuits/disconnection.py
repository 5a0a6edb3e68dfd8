"""Whether a device disconnects in time: the current it needs against the current a fault would give it."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from ...base.errors import NoRule
from ...base.quantity import Limit, Quantity, combine, exact
from ...outcomes.circuits import UNSOUND, TestJudged
from ...outcomes.verdict import FAILS, MEETS, Judged, not_decided
from ...physics.adiabatic import OutsideCurve, time_from_curve
from ...physics.domain import OutOfDomain
from ...physics.loop import fault_current_a
from ...site.installation import Circuit
from ...site.reading import Corrected
from . import words_live as say
from .limits import (
    Case,
    counting,
    hold_value,
    lowest_voltage_factor,
    no_rule_for,
    settled,
    time_limit,
    trip_current,
    worst,
)
from .loop import deciding, r1r2, source
from .loop_limits import Loop, by_residual_device, warmed


@frozen
class Zs:
    """The loop of a circuit, measured or added up, with how it is known.

    at_most  it may be lower;  least  then the loop that it is at the least
    """

    loop: Loop
    how: str
    at_most: bool = False
    least: Loop | None = None


def highest_zs(case: Case, circuit: Circuit) -> Zs | None:
    """The largest Zs that was read on a circuit; else Ze + R1+R2, when both are known. None when neither is."""
    upto = source(case, circuit.board)
    found = [
        c.quantity
        for point, readings in case.taken.by_point(circuit.id, "zs").items()
        if counting(readings) and (c := _of_point(case, circuit, point)) is not None and c.quantity is not None
    ]
    if found:
        top = max(found, key=lambda q: q.value)
        return Zs(warmed(case, circuit, top, upto), f"Zs {top.value:.2f} Ω as measured")
    run = r1r2(case, circuit, "")
    if upto is None or run is None:
        return None
    if upto.quantity is not None and run.quantity is not None:
        added = upto.quantity + run.quantity
        return Zs(warmed(case, circuit, added, upto), f"Zs {added.value:.2f} Ω added up: {upto.how}, {run.how}")
    # One of the two is only known as "at most", so the sum is too.
    most = exact(upto.band.high + run.band.high, "Ω")
    how = f"Zs at most {most.value:.2f} Ω added up: {upto.how}, {run.how}"
    # A declared Ze counts as declared, since the supply may come to it; of a cable its least would do as well.
    declared = upto.band.low == 0.0
    least = exact((upto.band.high if declared else upto.band.low) + run.band.low, "Ω")
    return Zs(warmed(case, circuit, most, upto), how, True, warmed(case, circuit, least, upto))


def _of_point(case: Case, circuit: Circuit, point: str) -> Corrected | None:
    corrected = case.taken.corrected(deciding(case.taken.by_point(circuit.id, "zs")[point]))
    return corrected if corrected.usable else None


def fault_current(u0_v: float, zs: Quantity, factor: float = 1.0) -> Quantity:
    """Current of a fault to earth of no impedance: I = c·U0/Zs [A], with the doubt of Zs."""
    i_a = settled(fault_current_a(u0_v, zs.value, factor))
    return combine(i_a, "A", ((-i_a / zs.value, zs),))


def disconnection_row(
    case: Case, circuit: Circuit, loops: Sequence[TestJudged] = (), rcd: TestJudged | None = None
) -> TestJudged | None:
    """The operating current of the circuit's device against the least fault current; None when there is no loop to use.

    I = c_min·U0/Zs(hot). Where the overcurrent device is too slow, a residual current device may disconnect instead, if its
    test shows that it does (411.4.204), unless no sound conductor explains the loop.
    loops  the judged rows of Zs;  rcd  the judged test of the residual current device nearest to the circuit
    """
    zs = highest_zs(case, circuit)
    if zs is None or (not circuit.device.standard and not circuit.device.curve):
        return None
    if zs.loop.hot.value <= 0 or (case.tt_at(circuit) and case.rcds(circuit)):
        return None
    try:
        time = time_limit(case, circuit)
        factor = lowest_voltage_factor(case)
        limit, how = trip_current(case, circuit.device, float(time.value))
    except NoRule as error:
        unruled = no_rule_for(error)
        return TestJudged(
            circuit.id, "disconnection", judged=(unruled,), outcome=unruled.outcome, words=say.against(unruled)
        )
    u0_v = case.volts(circuit.board)
    i = fault_current(u0_v, zs.loop.hot, float(factor.value))
    first = hold_value(case, i, limit)
    if first.outcome == FAILS and zs.at_most and not _fails_at_least(case, zs, limit, u0_v, float(factor.value)):
        first = not_decided(limit, "the loop is only known as a highest value, and a lower one would do; read Zs")
    judged: tuple[Judged, ...] = (first,)
    outcome, rests = worst(judged), tuple[str, ...]()
    sound = not any(j.limit is not None and j.limit.what == UNSOUND for row in loops for j in row.judged)
    instead = by_residual_device(case, circuit, zs.loop.cold, rcd) if outcome != MEETS and sound else None
    if instead is not None:
        residual, outcome, rests = instead
        judged = (*judged, residual)
    sums = (
        *zs.loop.sums,
        how,
        f"I = {factor.value} × {u0_v:g} V / {zs.loop.hot.value:.3f} Ω = {i.value:.4g} A",
        *_time_line(circuit, i.value),
    )
    words = say.sentences(
        (
            f"{zs.how}; warm, a fault draws {say.figure(i.value, 'A')}, and {time.value} s are allowed ({time.clause}).",
            *(say.against(j) for j in judged),
            *rests,
            f"By the curve: {_time_line(circuit, i.value)[0]}." if circuit.device.curve else "",
        )
    )
    return TestJudged(
        circuit.id,
        "disconnection",
        assumed=zs.loop.assumed,
        judged=judged,
        outcome=outcome,
        words=words,
        sums=sums,
        value=i,
    )


def _fails_at_least(case: Case, zs: Zs, limit: Limit, u0_v: float, factor: float) -> bool:
    """Whether even the least that the loop may be is too high."""
    if zs.least is None:
        return False
    return hold_value(case, fault_current(u0_v, zs.least.hot, factor), limit).outcome == FAILS


def _time_line(circuit: Circuit, i_a: float) -> tuple[str, ...]:
    """Time at a current from the points entered, or the refusal to guess beyond them."""
    if not circuit.device.curve:
        return ()
    try:
        return (f"{time_from_curve(circuit.device.curve, i_a):.2g} s at {i_a:.4g} A",)
    except (OutsideCurve, OutOfDomain) as error:
        return (f"no time is given: {error}",)
