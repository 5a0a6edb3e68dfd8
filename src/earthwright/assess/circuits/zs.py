"""Zs of a circuit against its limits, and whether its device disconnects in time."""

from __future__ import annotations

from attrs import evolve, frozen

from ...errors import Finding, NoRule, Severity
from ...events import Reading
from ...installation import Circuit
from ...physics.loop import cold_limit_by_temperature_ohm, cold_limit_ohm
from ...quantity import Band, Limit, Quantity, combine
from ...reading import Corrected
from ...rules.lookup import ra_max, zs_cold_factor
from ...tested import TestJudged
from ...verdict import FAILS, MEETS, NO_RULE, NOT_DECIDED, Judged
from . import words_live as say
from .limits import (
    Case,
    counting,
    hold,
    hold_value,
    loop_limit,
    no_rule_for,
    settled,
    time_limit,
    unless,
    warming,
    without_value,
    worst,
)
from .loop import Source, deciding, line_floor, no_trip, r1r2, source, uplift


@frozen
class Loop:
    """Zs of a circuit as its limits need it.

    cold, hot  as measured, and warmed to the conductors' working temperature [Ω];  sums  how the second came from the first
    """

    cold: Quantity
    hot: Quantity
    sums: tuple[str, ...]
    assumed: tuple[str, ...]
    ze_ohm: float


def warmed(case: Case, circuit: Circuit, cold: Quantity, upto: Source | None) -> Loop:
    """Zs at working temperature: Ze + F·(Zs − Ze); without a known Ze all of it is warmed, the cautious way."""
    factor, law = warming(case, circuit)
    ze = upto.quantity.value if upto is not None and upto.quantity is not None else 0.0
    assumed: tuple[str, ...] = ()
    if ze == 0.0:
        assumed = ("the whole loop warms, since the part before the board was not measured",)
    sums: tuple[str, ...]
    if cold.value <= ze:
        hot = cold
        sums = (f"Zs is not above {ze:.2f} Ω before the board: metal in parallel, nothing to warm",)
    else:
        # Ze enters with 1 − F, which is small; its doubt is left out beside that of Zs.
        hot = combine(settled(ze + factor * (cold.value - ze)), "Ω", ((factor, cold),))
        sums = (law, f"Zs hot = {ze:.2f} + {factor:.3f} × ({cold.value:.2f} − {ze:.2f}) = {hot.value:.3f} Ω")
    return Loop(cold, hot, sums, assumed, ze)


def zs_rows(case: Case, circuit: Circuit, rcd: TestJudged | None) -> tuple[TestJudged, ...]:
    """One row for each point at which Zs was read; ``rcd`` is the judged test of the circuit's residual current device."""
    rows = []
    for point, readings in case.taken.by_point(circuit.id, "zs").items():
        rows.append(without_value(case, circuit.id, "zs", point, readings) or _zs(case, circuit, point, readings, rcd))
    return tuple(rows)


def _zs(case: Case, circuit: Circuit, point: str, readings: tuple[Reading, ...], rcd: TestJudged | None) -> TestJudged:
    reading = deciding(readings)
    corrected = case.taken.corrected(reading)
    upto, run = source(case, circuit.board), r1r2(case, circuit, point)
    floor, basis = line_floor(case, circuit, point)
    coil = uplift(case, circuit, reading)
    expected, assumed, sums = _expected(upto, run, floor, basis, coil)
    inside = _inside(corrected, expected)
    findings = list(_plausible(circuit, point, corrected, expected, floor, coil))
    judged: tuple[Judged, ...]
    if corrected.quantity is None:
        judged, outcome, more = _without_digits(case, circuit, corrected)
        extra: tuple[str, ...] = ()
    else:
        loop = warmed(case, circuit, corrected.quantity, upto)
        extra, assumed = loop.sums, (*assumed, *loop.assumed)
        judged, outcome, more, said = _judge(case, circuit, corrected, loop, coil, rcd)
        findings += said
    findings += _repeats(case, circuit, point, readings, reading)
    words = say.sentences(
        (
            say.was_read(f"Zs of {circuit.id}", counting(readings)),
            say.lies(expected, inside),
            *(f.what for f in findings),
            *more,
            *(say.against(j) for j in judged),
        )
    )
    return TestJudged(
        circuit.id,
        "zs",
        point,
        readings,
        case.taken.state(reading),
        corrected,
        expected,
        assumed,
        inside,
        judged,
        outcome,
        words=words,
        sums=(*sums, *extra),
        findings=tuple(findings),
    )


def _expected(
    upto: Source | None, run: Source | None, floor: float, basis: tuple[str, ...], coil: float
) -> tuple[Band | None, tuple[str, ...], tuple[str, ...]]:
    """The band Zs must lie in: from the floor of the line to Ze + R1+R2; without those only the floor is known."""
    sums = [f"Floor: {'; '.join(basis)}: {floor:.3f} Ω"] if basis else []
    if upto is None or run is None:
        if floor <= 0:
            return None, ("neither the loop before the board nor R1+R2 is known",), tuple(sums)
        return Band(floor, float("inf"), "Ω", basis), (*basis, "no ceiling: Ze or R1+R2 is not known"), tuple(sums)
    ceiling = upto.band.high + run.band.high + coil
    sums.append(
        f"Ceiling: {upto.band.high:.3f} Ω ({upto.how}) + {run.band.high:.3f} Ω ({run.how})"
        + (f" + {coil:g} Ω (coil of the device, no-trip)" if coil else "")
        + f" = {ceiling:.3f} Ω"
    )
    return Band(min(floor, ceiling), ceiling, "Ω", basis), (upto.how, run.how, *basis), tuple(sums)


def _inside(corrected: Corrected, expected: Band | None) -> bool | None:
    if expected is None or not corrected.usable:
        return None
    if corrected.band is None:
        return False
    return expected.low <= corrected.band.high and corrected.band.low <= expected.high


def _plausible(
    circuit: Circuit, point: str, corrected: Corrected, expected: Band | None, floor: float, coil: float
) -> tuple[Finding, ...]:
    where = f"circuit {circuit.id}" + (f", {point}" if point else "")
    band, shown = corrected.band, str(corrected.reading.shown)
    if band is None or expected is None:
        return ()
    if band.high < floor:
        return (
            Finding(
                where,
                f"Zs is below what the line alone must have ({floor:.2f} Ω), and the line has no parallel path.",
                Severity.WARNING,
                "loops.floor",
                circuit.id,
                f"at least {floor:.2f} Ω",
                shown,
                "Check point, circuit and display, and read it again at the furthest point.",
                "The point may be nearer than entered, the length too long, or the reading another circuit's; where R1 is taken "
                "out of R1+R2, a poor joint in the protective conductor makes it too large.",
            ),
        )
    if band.low > expected.high:
        return (
            Finding(
                where,
                f"Zs is more than Ze and R1+R2 together allow ({expected.high:.2f} Ω).",
                Severity.WARNING,
                "loops.ceiling",
                circuit.id,
                f"at most {expected.high:.2f} Ω",
                shown,
                "Look for a loose connection under load current, and read R1+R2 and Zs at the same point again.",
                "The reading may be from a further point, of warm conductors, or raised by a device's coil."
                if not coil
                else "The coil was allowed for; a further point or warm conductors may be meant.",
            ),
        )
    return ()


def _without_digits(
    case: Case, circuit: Circuit, corrected: Corrected
) -> tuple[tuple[Judged, ...], str, tuple[str, ...]]:
    """Over-range, or below resolution: held as an inequality against the design limit."""
    try:
        limit = _first_limit(case, circuit)
    except NoRule as error:
        return (no_rule_for(error),), NO_RULE, ()
    judged = (hold(case, corrected, limit),)
    return (
        judged,
        worst(judged),
        ("No loop to earth of a size that a device could use.",) if judged[0].outcome == FAILS else (),
    )


def _first_limit(case: Case, circuit: Circuit) -> Limit:
    rcds = case.rcds(circuit)
    if case.tt and rcds:
        return _residual_limit(case, rcds[0][1].rcd_ma or 0.0)
    worked = loop_limit(case, circuit.device, float(time_limit(case, circuit).value))
    return worked.as_limit("max", "Zs at working temperature")


def _residual_limit(case: Case, idn_ma: float) -> Limit:
    worked = case.limits.ask(ra_max, idn_ma)
    return worked.as_limit("max", f"loop with a residual current device of {idn_ma:g} mA")


def _judge(
    case: Case, circuit: Circuit, corrected: Corrected, loop: Loop, coil: float, rcd: TestJudged | None
) -> tuple[tuple[Judged, ...], str, tuple[str, ...], tuple[Finding, ...]]:
    """The limits of a measured Zs, the outcome of the row, sentences, and findings."""
    rcds = case.rcds(circuit)
    if case.tt and rcds:
        return _judge_tt(case, circuit, corrected)
    overcurrent = _overcurrent(case, circuit, corrected, loop, coil)
    outcome = worst(overcurrent)
    if outcome == MEETS or not rcds or case.visit.site.supply.system == "TN-C":
        return overcurrent, outcome, (), ()
    return _by_residual(case, circuit, corrected, overcurrent, outcome, rcd)


def _overcurrent(case: Case, circuit: Circuit, corrected: Corrected, loop: Loop, coil: float) -> tuple[Judged, ...]:
    """Design limit with the warmed value; then the value as read cold, by temperature and by the customary factor."""
    try:
        time = time_limit(case, circuit)
        worked = loop_limit(case, circuit.device, float(time.value))
        share = case.limits.ask(zs_cold_factor)
    except NoRule as error:
        return (no_rule_for(error),)
    design = worked.as_limit("max", f"Zs at working temperature, {time.value} s")
    factor, law = warming(case, circuit)
    ze = min(loop.ze_ohm, design.value)
    by_temperature = evolve(
        design,
        value=settled(cold_limit_by_temperature_ohm(design.value, ze, factor)),
        what="Zs measured cold, by temperature",
        note=f"{ze:.2f} + ({design.value:g} − {ze:.2f}) / F; {law}",
    )
    custom = evolve(
        share.as_limit("max", "Zs measured cold, customary share"),
        value=settled(cold_limit_ohm(design.value, float(share.value))),
        unit="Ω",
        note=f"{share.value} × {design.value:g} Ω; customary, not a requirement",
        confidence="memory" if "memory" in (design.confidence, share.confidence) else "read",
    )
    why = f"a no-trip reading may stand up to {coil:g} Ω too high: read it two-lead, or add Ze and R1+R2"
    cold = loop.cold.value
    outcomes = [
        (_usable(case, corrected, loop.hot, design), loop.hot.value),
        (hold(case, corrected, by_temperature), cold),
        (hold(case, corrected, custom), cold),
    ]
    return tuple(unless(j, value, value - coil, why) for j, value in outcomes)


def _usable(case: Case, corrected: Corrected, value: Quantity, limit: Limit) -> Judged:
    return hold_value(case, value, limit) if corrected.usable else hold(case, corrected, limit)


def _judge_tt(
    case: Case, circuit: Circuit, corrected: Corrected
) -> tuple[tuple[Judged, ...], str, tuple[str, ...], tuple[Finding, ...]]:
    """In a TT system the nearest residual current device decides for a circuit; the others in front of it are shown."""
    judged, others = [], []
    for name, device in case.rcds(circuit):
        try:
            limit = _residual_limit(case, device.rcd_ma or 0.0)
        except NoRule as error:
            judged.append(no_rule_for(error))
            continue
        if not judged:
            judged.append(hold(case, corrected, limit))
        else:
            held = hold(case, corrected, limit)
            others.append(f"In front of it {name}: {say.against(held)}")
    return tuple(judged), worst(judged), tuple(others), ()


def _by_residual(
    case: Case,
    circuit: Circuit,
    corrected: Corrected,
    overcurrent: tuple[Judged, ...],
    outcome: str,
    rcd: TestJudged | None,
) -> tuple[tuple[Judged, ...], str, tuple[str, ...], tuple[Finding, ...]]:
    """Zs too high for the overcurrent device: a residual current device may disconnect instead, if its test shows that it does."""
    name, device = case.rcds(circuit)[0]
    try:
        limit = _residual_limit(case, device.rcd_ma or 0.0)
    except NoRule as error:
        return (*overcurrent, no_rule_for(error)), outcome, (), ()
    residual = hold(case, corrected, limit)
    judged = (*overcurrent, residual)
    if residual.outcome != MEETS:
        return judged, outcome, (), ()
    finding = Finding(
        f"circuit {circuit.id}",
        f"Disconnection rests on the residual current device alone ({name}, {device.rcd_ma:g} mA): "
        "the loop is not shown to be low enough for the overcurrent device.",
        Severity.NOTE,
        "loops.by_rcd",
        circuit.id,
        do="Record it so, and keep the device's test with it.",
    )
    if rcd is not None and rcd.outcome == MEETS:
        return judged, MEETS, (), (finding,)
    why = (
        "its test does not show that it trips" if rcd is not None and rcd.outcome == FAILS else "its test is not there"
    )
    if rcd is not None and rcd.outcome == FAILS:
        return judged, FAILS, (f"It does not count: {why}.",), (finding,)
    return judged, NOT_DECIDED, (f"Not decided by it: {why}.",), (finding,)


def _repeats(
    case: Case, circuit: Circuit, point: str, readings: tuple[Reading, ...], chosen: Reading
) -> tuple[Finding, ...]:
    """Repeats by the same method that disagree by more than the limits of error: something moves."""
    last = case.taken.corrected(chosen)
    for other in counting(readings):
        if other is chosen or (no_trip(other), other.between) != (no_trip(chosen), chosen.between):
            continue
        before = case.taken.corrected(other)
        if before.band is None or last.band is None or before.band.touches(last.band):
            continue
        return (
            Finding(
                f"circuit {circuit.id}" + (f", {point}" if point else ""),
                "Two readings of Zs at this point do not agree; the last one is judged.",
                Severity.WARNING,
                "loops.repeats",
                circuit.id,
                str(other.shown),
                str(chosen.shown),
                "Say what was done between them; if nothing was, look for a loose connection.",
                "A repair or another point between them would explain it.",
            ),
        )
    return ()
