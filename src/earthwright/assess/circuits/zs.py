"""Zs of a circuit at each point it was read: what it must lie between, and its limits."""

from __future__ import annotations

from ...base.errors import Finding, NoRule
from ...base.quantity import Band
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS, MEETS, NO_RULE, NOT_DECIDED, Judged
from ...physics.loop import zs_ceiling_ohm
from ...site.events import Reading
from ...site.installation import Circuit
from ...site.reading import Corrected
from . import words_live as say
from .limits import Case, counting, hold, no_rule_for, without_value, worst
from .loop import Source, deciding, line_floor, no_trip, r1r2, source, uplift
from .loop_limits import first_limit, judge_loop, warmed


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
        judged, outcome, more, said = judge_loop(case, circuit, corrected, loop, coil, rcd, expected)
        findings += said
    findings += [*_repeats(case, circuit, point, readings, reading), *_lines(circuit, point, readings)]
    if outcome == MEETS and _forbidden(corrected, expected, line_floor(case, circuit, point, firm=True)[0]):
        outcome, more = (
            NOT_DECIDED,
            (*more, "Not decided: a reading that this circuit's own line forbids says nothing of it."),
        )
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
    ceiling = zs_ceiling_ohm(upto.band.high, run.band.high) + coil
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


def _forbidden(corrected: Corrected, expected: Band | None, floor: float) -> bool:
    """Whether it lies below what the line of its own circuit alone must have."""
    return expected is not None and corrected.band is not None and corrected.band.high < floor


def _plausible(
    circuit: Circuit, point: str, corrected: Corrected, expected: Band | None, floor: float, coil: float
) -> tuple[Finding, ...]:
    where = f"circuit {circuit.id}" + (f", {point}" if point else "")
    band, shown = corrected.band, str(corrected.reading.shown)
    if band is None or expected is None:
        return ()
    if _forbidden(corrected, expected, floor):
        return (
            Finding.of(
                "loops.floor",
                where,
                f"Zs is below what the line alone must have ({floor:.2f} Ω), and the line has no parallel path.",
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
            Finding.of(
                "loops.ceiling",
                where,
                f"Zs is more than Ze and R1+R2 together allow ({expected.high:.2f} Ω).",
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
        limit = first_limit(case, circuit)
    except NoRule as error:
        return (no_rule_for(error),), NO_RULE, ()
    judged = (hold(case, corrected, limit),)
    return (
        judged,
        worst(judged),
        ("No loop to earth of a size that a device could use.",) if judged[0].outcome == FAILS else (),
    )


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
            Finding.of(
                "loops.repeats",
                f"circuit {circuit.id}" + (f", {point}" if point else ""),
                "Two readings of Zs at this point do not agree; the higher one is judged.",
                circuit.id,
                str(other.shown),
                str(chosen.shown),
                "If something was put right between them, enter the repair; else look for a loose connection.",
                "A repair or another point between them would explain it.",
            ),
        )
    return ()


def _lines(circuit: Circuit, point: str, readings: tuple[Reading, ...]) -> tuple[Finding, ...]:
    """The lines of a three-phase circuit that were not read, once any was named."""
    read = {r.between for r in counting(readings)}
    unread = [line for line in ("L1", "L2", "L3") if f"{line}-E" not in read]
    if circuit.phases != 3 or not 0 < len(unread) < 3:
        return ()
    return (
        Finding.of(
            "loops.lines",
            f"circuit {circuit.id}" + (f", {point}" if point else ""),
            f"Zs was not read from {' and '.join(unread)} to earth.",
            circuit.id,
            "a reading of each line",
            ", ".join(sorted(x for x in read if x)),
            "Read the others too: a poor joint in one line shows in no other.",
        ),
    )
