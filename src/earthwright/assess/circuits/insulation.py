"""Insulation resistance: each row against the least value at its test voltage, the board against its circuits."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import evolve, frozen

from ...base.digits import Kind
from ...base.errors import Finding, NoRule
from ...base.quantity import Band, Limit
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS, GUARDED, MEETS, NOT_DECIDED, SIMPLE, Judged, not_decided
from ...rules.lookup import insulation_enquire, insulation_minimum
from ...site.events import ALL_LOADS, ALL_SPDS, ORIGIN, Reading, State
from ...site.installation import Circuit
from ...site.reading import Corrected
from . import words_dead as say
from .limits import Case, counting, hold, no_rule_for, without_value
from .worst_reading import lowest

EARTHED = ("LN-E", "all-E")  # all live conductors together to earth
SAME_ROWS = 3  # so many equal lows point at what the rows have in common


@frozen
class Minimum:
    """The least value for a reading [MΩ] and what stands in the way of applying it; ``volts`` is what the rule asks for."""

    limit: Limit
    volts: float
    doubt: str = ""


def minimum_for(case: Case, thing: str, test_v: float | None, between: str) -> Minimum:
    """The least insulation resistance for a reading at a test voltage. Raises NoRule."""
    supply = case.visit.site.supply
    across = case.volts_of(thing) * (math.sqrt(3.0) if supply.phases == 3 else 1.0)
    circuit = "SELV or PELV" if across <= 50.0 else "up to 500 V" if across <= 500.0 else "above 500 V"
    rule = case.limits.ask(insulation_minimum, circuit)
    volts = float(rule.number("test_v"))
    limit = rule.as_limit("min", "least insulation resistance")
    if test_v is None:
        return Minimum(limit, volts, f"the test voltage is not stated; {volts:g} V is asked for")
    if test_v >= volts:
        return Minimum(limit, volts)
    if between in EARTHED:
        try:
            other = case.limits.ask(insulation_minimum, circuit, "equipment connected")
        except NoRule:
            other = None
        if other is not None and test_v >= float(other.number("test_v")):
            return Minimum(other.as_limit("min", "least insulation resistance, equipment connected"), volts)
    together = "" if between in EARTHED else ", and a lower voltage only with line and neutral together to earth"
    return Minimum(limit, volts, f"it was read at {test_v:g} V, while {volts:g} V is asked for{together}")


def groups_of(case: Case, thing: str) -> dict[tuple[str, str], tuple[Reading, ...]]:
    """The insulation entries of a thing by point and by what they were taken between."""
    found: dict[tuple[str, str], list[Reading]] = {}
    for reading in case.taken.of(thing, "insulation"):
        found.setdefault((reading.point, reading.between), []).append(reading)
    return {key: tuple(some) for key, some in found.items()}


def insulation_rows(case: Case, thing: str) -> tuple[TestJudged, ...]:
    """One row for each pair of conductors that was tested."""
    rows = []
    groups = groups_of(case, thing)
    extra_low = case.volts_of(thing) <= 50.0  # SELV has no earth to be tested against
    unread = "" if extra_low else _not_to_earth({between for _, between in groups})
    for (point, between), readings in groups.items():
        void = without_value(case, thing, "insulation", point, readings)
        row = void or _row(case, thing, point, between, readings)
        if unread and row.outcome == MEETS:
            said = f"{row.words} Not decided: {unread}."
            row = evolve(row, outcome=NOT_DECIDED, reason=unread, words=said)
        rows.append(row)
    return tuple(rows)


def _not_to_earth(read: set[str]) -> str:
    """What is missing where insulation was read and the line conductor was not held against earth; empty when it was."""
    if read <= {"L-N", "L-L", "N-E"}:
        return "nothing was read between the line conductor and earth"
    return ""


def deciding(case: Case, readings: Sequence[Reading]) -> Reading:
    """The reading that counts: the lowest at the voltage that the rules ask for, else the lowest of the last voltage."""
    counted = counting(readings)
    same = [r for r in counted if r.test_v == counted[-1].test_v]
    try:
        volts = minimum_for(case, counted[-1].of, None, counted[-1].between).volts
    except NoRule:
        return lowest(case, same)
    full = [r for r in counted if r.test_v is not None and r.test_v >= volts]
    return lowest(case, full or same)


def value_band(corrected: Corrected) -> Band | None:
    """What the true value may be [MΩ]; over-range is from the end of the range without bound."""
    if corrected.band is not None:
        return corrected.band
    shown = corrected.reading.shown
    if shown is None or shown.kind is not Kind.OVER:
        return None
    edge = float(shown.digits) or corrected.accuracy.top
    return Band(edge / (1.0 + corrected.accuracy.pct / 100.0), math.inf, "MΩ")


def _row(case: Case, thing: str, point: str, between: str, readings: tuple[Reading, ...]) -> TestJudged:
    counted = counting(readings)
    reading = deciding(case, readings)
    corrected = case.taken.corrected(reading)
    state = case.taken.state(reading)
    judged, doubt = _judge(case, corrected, reading)
    outcome, why = judged.outcome, doubt
    findings: list[Finding] = []
    shared = shared_low(case, thing, between, reading)
    if shared:
        outcome = NOT_DECIDED
        why = f"{say.listed(shared)} show the same, so it is the value of what they have in common, not of this circuit"
    elif outcome == FAILS:
        findings.append(_low(case, thing, point, between, reading, state, judged))
        in_circuit = _in_circuit(case, thing, between, reading, counted, state, judged)
        if in_circuit:
            outcome, why = NOT_DECIDED, in_circuit
    elif outcome == MEETS:
        findings += _enquire(case, thing, point, between, corrected)
    words = say.sentences(
        say.was_read(
            f"insulation {between}".strip() + _at_volts(reading),
            [r for r in counted if r.test_v == reading.test_v],
            point,
        ),
        _lower_voltage(reading, counted),
        say.against(judged),
        f"Not decided: {why}." if outcome == NOT_DECIDED and why else "",
        _state_words(case, thing, state),
    )
    return TestJudged(
        thing,
        "insulation",
        point,
        readings,
        state,
        corrected,
        None,
        (),
        None,
        (judged,),
        outcome,
        reason=why,
        words=words,
        sums=_sums(corrected, judged),
        findings=tuple(findings),
    )


def _judge(case: Case, corrected: Corrected, reading: Reading) -> tuple[Judged, str]:
    """A reading against its minimum, and what leaves it undecided; a low value fails at any voltage."""
    try:
        minimum = minimum_for(case, reading.of, reading.test_v, reading.between)
    except NoRule as error:
        return no_rule_for(error), ""
    judged = _hold(case, corrected, minimum.limit)
    if minimum.doubt and judged.outcome == MEETS:
        return not_decided(minimum.limit, minimum.doubt), minimum.doubt
    return judged, ""


def _hold(case: Case, corrected: Corrected, limit: Limit) -> Judged:
    """Against a minimum; an over-range reading whose range ends above it meets it."""
    shown = corrected.reading.shown
    if shown is None or shown.kind is not Kind.OVER:
        return hold(case, corrected, limit)
    edge = float(shown.digits) or corrected.accuracy.top
    simple = MEETS if edge >= limit.value else NOT_DECIDED
    least = edge / (1.0 + corrected.accuracy.pct / 100.0)
    guarded = MEETS if least >= limit.value else NOT_DECIDED
    decision = case.visit.choices.decision
    outcome = guarded if decision == GUARDED else simple
    why = f"its range ends at {edge:g} {limit.unit}" if outcome == NOT_DECIDED else ""
    return Judged(outcome, limit, decision or SIMPLE, simple, guarded, edge - limit.value if not why else None, why)


def _in_circuit(
    case: Case, thing: str, between: str, reading: Reading, counted: Sequence[Reading], state: State, judged: Judged
) -> str:
    """What is still in circuit and would read so low itself, and what to do; empty when nothing is known to be."""
    off = _unplugged(case, thing, state)
    again = "take it out and read again"
    better = _at_lower_voltage(reading, counted)
    limit = judged.limit.value if judged.limit is not None else 0.0
    if better is not None and _above(better, limit):
        return f"a surge protective device or electronics (a dimmer) in circuit would read so: {again}"
    if "surge protection" not in off and _surge_at(case, thing):
        return f"the surge protective device was not noted as out: {again}"
    if between in ("L-N", "L-L") and "loads" not in off:
        return "loads between live conductors (lamps, dimmers, electronics) were not noted as out: unplug them and read again"
    return ""


def _above(reading: Reading, limit: float) -> bool:
    shown = reading.shown
    return shown is not None and (shown.kind is Kind.OVER or shown.value >= limit)


def _surge_at(case: Case, thing: str) -> bool:
    """Whether surge protection is entered at this board, or at the boards of the origin."""
    boards = [b for b in case.visit.site.boards if b.id == thing or (thing == ORIGIN and not b.fed_by)]
    return any(b.spd_type not in ("", "none") or b.spd.lower() not in ("", "none", "no") for b in boards)


def _at_volts(reading: Reading) -> str:
    return f", {reading.test_v:g} V" if reading.test_v is not None else ""


def _lower_voltage(reading: Reading, counted: Sequence[Reading]) -> str:
    """What a reading at a lower voltage says beside the one that counts."""
    lower = _lower(reading, counted)
    if lower is None:
        return ""
    head = f"At {lower.test_v:g} V it read {say.digits(lower.shown)}"
    if _at_lower_voltage(reading, counted) is not None:
        return f"{head}, which electronics or a surge protective device would explain."
    return f"{head}, no better, so it is no electronic part that clamps."


def _lower(reading: Reading, counted: Sequence[Reading]) -> Reading | None:
    """The last reading at a lower voltage beside one with digits; None when there is none."""
    if reading.shown is None or reading.test_v is None or reading.shown.kind is not Kind.VALUE:
        return None
    lower = [r for r in counted if r.test_v is not None and r.test_v < reading.test_v and r.shown is not None]
    return lower[-1] if lower else None


def _at_lower_voltage(reading: Reading, counted: Sequence[Reading]) -> Reading | None:
    """That reading where it is so much better that something in circuit clamps at the higher voltage."""
    lower = _lower(reading, counted)
    if lower is None or lower.shown is None or reading.shown is None:
        return None
    return lower if lower.shown.kind is Kind.OVER or lower.shown.value > 2.0 * reading.shown.value else None


def _state_words(case: Case, thing: str, state: State) -> str:
    off = _unplugged(case, thing, state)
    return f"Recorded with {say.listed(off)} out." if off else "Nothing is recorded about loads and surge protection."


def _unplugged(case: Case, thing: str, state: State) -> list[str]:
    board = next((c.board for c in case.visit.site.circuits if c.id == thing), thing)
    off = []
    if state.off & {ALL_LOADS, f"{thing}:loads", f"{board}:loads"}:
        off.append("loads")
    if state.off & {ALL_SPDS, f"{board}:spd"}:
        off.append("surge protection")
    if f"{thing}:neutral" in state.off:
        off.append("its neutral")
    return off


def _low(case: Case, thing: str, point: str, between: str, reading: Reading, state: State, judged: Judged) -> Finding:
    limit = judged.limit
    off = _unplugged(case, thing, state)
    loads = "" if "loads" in off else "Loads that are still connected read low too. "
    spd = "" if "surge protection" in off else "A surge protective device reads low at this voltage. "
    return Finding.of(
        "insulation.low",
        _where(case, thing, point, between),
        "Insulation resistance is below the least value.",
        thing,
        f"at least {limit.value:g} {limit.unit}, {limit.source()}" if limit else "",
        say.digits(reading.shown),
        "Unplug the loads and read again; part the circuit in halves to find the place. It stays off until it is found.",
        f"{loads}{spd}Damp in an outdoor fitting and a nail in a cable do it.",
    )


def _where(case: Case, thing: str, point: str, between: str) -> str:
    kind = "circuit" if any(c.id == thing for c in case.visit.site.circuits) else "board"
    return f"{kind} {thing}, insulation {between}".rstrip() + (f", {point}" if point else "")


def _enquire(case: Case, thing: str, point: str, between: str, corrected: Corrected) -> list[Finding]:
    """A value that keeps the limit and is still so low that its cause is looked for."""
    try:
        rule = case.limits.ask(insulation_enquire)
    except NoRule:
        return []
    if corrected.quantity is None or not corrected.quantity.value < float(rule.value):
        return []
    return [
        Finding.of(
            "insulation.enquire",
            _where(case, thing, point, between),
            f"It keeps the limit, but below {float(rule.value):g} MΩ the cause is looked for.",
            thing,
            f"{float(rule.value):g} MΩ or more, {rule.document}; guidance, not a limit",
            say.digits(corrected.reading.shown),
            "Unplug what is connected and read again; compare with earlier records.",
            "Damp, age or a load that is still connected; it may be a fault in the making.",
        )
    ]


def _sums(corrected: Corrected, judged: Judged) -> tuple[str, ...]:
    if corrected.quantity is None:
        return ()
    lines = [f"Read: {corrected.quantity.value:g} MΩ, standard uncertainty {corrected.quantity.u:.2g} MΩ"]
    if judged.difference is not None:
        lines.append(f"Value less the least: {judged.difference:+.3g} MΩ")
    return tuple(lines)


def shared_low(case: Case, thing: str, between: str, reading: Reading) -> tuple[str, ...]:
    """The circuits of the board that show the same low value with their neutrals still joined; empty when too few."""
    circuit = case.index.circuits.get(thing)
    if circuit is None or reading.shown is None or reading.shown.kind is not Kind.VALUE:
        return ()
    try:
        if reading.shown.value >= minimum_for(case, thing, None, between).limit.value:
            return ()  # not low, so it shares nothing: most rows of most boards
    except NoRule:
        return ()
    mates = [c for c in case.visit.site.circuits if c.board == circuit.board]
    same = tuple(c.id for c in mates if _reads_as(case, c, between, reading))
    return same if len(same) >= SAME_ROWS else ()


def _reads_as(case: Case, circuit: Circuit, between: str, reading: Reading) -> bool:
    counted = counting(r for r in case.taken.of(circuit.id, "insulation") if r.between == between)
    if not counted or reading.shown is None:
        return False
    last = deciding(case, counted)
    if last.shown is None or last.shown.kind is not Kind.VALUE:
        return False
    if f"{circuit.id}:neutral" in case.taken.state(last).off:
        return False
    low = last.shown.value < minimum_for(case, circuit.id, None, between).limit.value
    return low and abs(last.shown.value - reading.shown.value) <= float(reading.shown.step) + 1e-9
