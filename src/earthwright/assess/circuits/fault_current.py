"""Prospective fault current: the larger path, three phases by rule, what one digit of the loop means, breaking capacity."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import evolve, frozen

from ...base.digits import Kind
from ...base.errors import Finding, NoRule
from ...base.figure import span
from ...base.quantity import Band, Limit, Quantity, combine
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS, NOT_DECIDED, Judged, judge_band, no_rule, not_decided
from ...physics.loop import digit_step_band_a, three_phase_doubled_a, three_phase_root3_a
from ...rules.devices import BREAKER
from ...rules.lookup import breaking_capacities, combined_rating, declared_supply, device_family, nominal_voltage
from ...site.events import ORIGIN, Reading
from ...site.installation import Device
from ...site.reading import Instrument
from . import words_live as say
from .limits import Case, counting, hold_value, without_value, worst
from .loop import source

LINES = ("L-L", "L-L-L")
LITTLE_LOOP_KA = 4.0  # from here on 230 V drives it through less than 0.06 ohm; common practice, no source


@frozen
class Path:
    """One fault current as read: its value with the doubt of one digit of the loop, its band, and the digits in words."""

    reading: Reading
    value: Quantity | None
    band: Band
    how: str


def fault_current_row(
    case: Case, of: str, board_id: str, phases: int, devices: Sequence[tuple[str, Device]]
) -> TestJudged | None:
    """Fault current at a place against the breaking capacity of the devices there; None when nothing was entered for it.

    devices  (id, device) that must break it
    """
    readings = case.taken.of(of, "fault current")
    empty = without_value(case, of, "fault current", "", readings)
    if empty is not None or not readings:
        return empty
    paths = [_path(case, r) for r in counting(readings)]
    value, band, sums, which = _prospective(case, paths, phases)
    expected, inside, findings = _agrees(case, of, board_id, paths)
    findings += _too_much(case, of, value.value if value is not None else band.low, band)
    judged = _against_devices(case, value, band, phases, devices)
    last = paths[-1].reading
    words = say.sentences(
        (
            say.was_read(f"Fault current at {of}", counting(readings)),
            f"{which}: {span(Band(band.low, band.high, 'kA'))}, since one digit of the loop is not finer.",
            *(f.what for f in findings),
            *(say.against(j) for j in judged),
        )
    )
    top = next(p for p in paths if p.reading is _deciding(paths).reading)
    return TestJudged(
        of,
        "fault current",
        "",
        readings,
        case.taken.state(last),
        case.taken.corrected(top.reading),
        expected,
        inside=inside,
        judged=judged,
        outcome=worst(judged),
        words=words,
        sums=(*(p.how for p in paths), *sums),
        findings=findings,
        value=value,
    )


def _voltage(case: Case, thing: str, between: str) -> float:
    own = case.volts_of(thing)
    if between not in LINES:
        return own
    if own != case.u0_v:
        return math.sqrt(3) * own if between == "L-L" else own
    try:
        lines = float(case.limits.ask(nominal_voltage, "lines").value)
    except NoRule:
        lines = math.sqrt(3) * case.u0_v
    return lines if between == "L-L" else lines / math.sqrt(3)


def _path(case: Case, reading: Reading) -> Path:
    """A fault current with what one digit of the loop it was worked out from means. Over-range has no upper edge."""
    corrected = case.taken.corrected(reading)
    shown = reading.shown
    assert shown is not None
    instrument = next((i for i in case.visit.instruments if i.id == reading.instrument), Instrument(""))
    u_v, step = _voltage(case, reading.of, reading.between), instrument.limits("loop").step
    if shown.kind is Kind.OVER:
        low = float(shown.digits) if shown.digits else corrected.accuracy.top
        return Path(reading, None, Band(low, math.inf, "kA"), f"{reading.between}: over-range, {low:g} kA or more")
    if shown.value <= 0:
        # A display of 0.00 kA is below half a digit, never nothing.
        high = corrected.band.high if corrected.band else float(shown.step)
        return Path(reading, corrected.quantity, Band(0.0, high, "kA"), f"{reading.between}: under {high:.3g} kA")
    z = u_v / (1000 * shown.value)
    low_a, high_a = digit_step_band_a(u_v, z, step)
    own = corrected.band or Band(shown.value, shown.value, "kA")
    band = Band(min(low_a / 1000, own.low), max(high_a / 1000, own.high), "kA")
    how = (
        f"{reading.between or 'path not said'}: {u_v:.0f} V / {shown.value:g} kA = {z:.3f} Ω; one digit of {step:g} Ω means "
        f"{span(Band(low_a / 1000, high_a / 1000, 'kA'))}"
    )
    value = corrected.quantity
    if value is not None and math.isfinite(high_a):
        half = max(high_a / 1000 - shown.value, shown.value - low_a / 1000)
        value = value.with_influence(f"{reading.id}.loop digit", "one digit of the loop", half / math.sqrt(3))
    elif value is not None:
        value = None
    return Path(reading, value, band, how)


def _deciding(paths: Sequence[Path]) -> Path:
    return max(paths, key=lambda p: (p.band.high, p.band.low))


def _to_three_phase(between: str) -> float:
    """Factor from a reading to the three-phase current: 2 from line to neutral by rule, 2/√3 between lines, else as read."""
    if between == "L-N":
        return three_phase_doubled_a(1.0)
    return 2.0 / math.sqrt(3.0) if between == "L-L" else 1.0


def _prospective(case: Case, paths: Sequence[Path], phases: int) -> tuple[Quantity | None, Band, tuple[str, ...], str]:
    """The prospective current: the larger path, for three phases by rule."""
    factors = [_to_three_phase(p.reading.between) if phases == 3 else 1.0 for p in paths]
    top, factor = max(zip(paths, factors, strict=True), key=lambda x: (x[0].band.high * x[1], x[0].band.low * x[1]))
    value = None if top.value is None else combine(factor * top.value.value, "kA", ((factor, top.value),))
    band = Band(factor * top.band.low, factor * top.band.high, "kA")
    if factor == 1.0:
        return value, band, (), "Prospective fault current"
    base = top.value.value if top.value else top.band.low
    if top.reading.between == "L-L":
        sums = (f"Three-phase from two lines: 2/√3 × {base:.3g} kA = {factor * base:.3g} kA",)
        return value, band, sums, "Prospective, three-phase from line to line"
    root = three_phase_root3_a(1000 * base) / 1000
    sums = (
        f"Three-phase by rule: 2 × {base:.3g} kA = {factor * base:.3g} kA; √3 times would be {root:.3g} kA and is the less "
        f"cautious of the two; between two lines √3/2 of the three-phase current flows, {factor * base * math.sqrt(3) / 2:.3g} kA",
    )
    return value, band, sums, "Prospective, three-phase by doubling"


def _agrees(
    case: Case, of: str, board_id: str, paths: Sequence[Path]
) -> tuple[Band | None, bool | None, tuple[Finding, ...]]:
    """The current to earth against the loop to earth that was read at the same place."""
    loop = source(case, board_id) if of in (ORIGIN, board_id) else None
    to_earth = [p for p in paths if p.reading.between == "L-E"]
    if loop is None or loop.quantity is None or not to_earth:
        return None, None, ()
    try:
        nominal = case.limits.ask(nominal_voltage)
        low_v, high_v = float(nominal.number("low")), float(nominal.number("high"))
    except NoRule:
        low_v, high_v = case.u0_v, case.u0_v
    if (own := case.volts(board_id)) != case.u0_v:  # behind a transformer: its own voltage, give or take a tenth
        low_v, high_v = 0.9 * own, 1.1 * own
    high = high_v / loop.band.low / 1000 if loop.band.low > 0 else math.inf
    expected = Band(low_v / loop.band.high / 1000, high, "kA", (loop.how,))
    inside = to_earth[-1].band.touches(expected)
    if inside:
        return expected, True, ()
    finding = Finding.of(
        "fault.agree",
        f"fault current at {of}",
        "The fault current to earth and the loop to earth do not belong together.",
        of,
        span(expected),
        str(to_earth[-1].reading.shown),
        "Check path, unit and row, and read both again.",
        "One may have been read with the earthing conductor off and the other with all connected.",
    )
    return expected, False, (finding,)


def _too_much(case: Case, of: str, ka: float, band: Band) -> tuple[Finding, ...]:
    """More than distributors declare is a display near zero ohms, not a supply."""
    declared = case.visit.site.supply.ipf_ka
    try:
        declared = declared or float(
            case.limits.ask(declared_supply, case.visit.site.supply.system or "").number("ipf_ka")
        )
    except NoRule:
        if declared is None:
            return ()
    if ka <= declared:
        return ()
    return (
        Finding.of(
            "fault.distrust",
            f"fault current at {of}",
            f"More than the {declared:g} kA that is declared or usual"
            + (": a loop of so few hundredths of an ohm is hardly read at all." if ka >= LITTLE_LOOP_KA else "."),
            of,
            f"at most {declared:g} kA",
            span(band),
            "Ask the distributor for the highest value"
            + (", and read it with an instrument for low loops." if ka >= LITTLE_LOOP_KA else "."),
        ),
    )


def _against_devices(
    case: Case, value: Quantity | None, band: Band, phases: int, devices: Sequence[tuple[str, Device]]
) -> tuple[Judged, ...]:
    if not devices:
        return (no_rule("no device with a breaking capacity is entered here"),)
    known = [(d.breaking_ka, name) for name, d in devices if d.breaking_ka is not None]
    judged: list[Judged] = []
    if known:
        least = min(ka for ka, _ in known)
        names = ", ".join(name for ka, name in known if ka == least)
        limit = _limit(case, least, f"breaking capacity of {names}")
        modern = all(_is_breaker(case, d) for _, d in devices if d.breaking_ka == least)
        judged.append(_held(case, value, band, limit, phases == 1 and modern))
    unknown = [(name, d) for name, d in devices if d.breaking_ka is None]
    if unknown:
        judged.append(_unmarked(case, band, unknown))
    return tuple(judged)


def _limit(case: Case, ka: float, what: str, confidence: str = "read") -> Limit:
    edition = case.limits.edition
    applies = f"{edition.standard}:{edition.edition}" if edition else "no edition"
    return Limit(
        ka, "kA", "max", what, case.limits.clause("breaking capacity"), "as marked on the device", applies, confidence
    )


def _is_breaker(case: Case, device: Device) -> bool:
    try:
        return case.limits.ask(device_family, device.standard) == BREAKER
    except NoRule:
        return False


def _held(case: Case, value: Quantity | None, band: Band, limit: Limit, assembly: bool) -> Judged:
    """Against the device's own mark; above it a claim for a whole assembly may help, which has to be looked for."""
    judged = judge_band(band, limit) if value is None else hold_value(case, value, limit)
    if judged.outcome != FAILS or not assembly:
        return judged
    try:
        combined = case.limits.ask(combined_rating)
    except NoRule:
        return judged
    fuse_a, most = case.visit.site.supply.fuse_a, float(combined.value)
    if fuse_a is None or fuse_a > float(combined.number("fuse_a")) or band.low > most:
        return judged
    why = (
        f"more than the device's own mark; behind a service fuse of at most {combined.number('fuse_a')} A makers claim "
        f"{most:g} kA for the whole assembly ({combined.clause}): look for that claim on the board"
    )
    return evolve(judged, outcome=NOT_DECIDED, guarded=NOT_DECIDED, why=why)


def _unmarked(case: Case, band: Band, unknown: Sequence[tuple[str, Device]]) -> Judged:
    """Devices whose mark was not noted: decided only when the least mark of their standard is enough."""
    least, names = math.inf, []
    for name, device in unknown:
        try:
            marks = case.limits.ask(breaking_capacities, device.standard)
        except NoRule:
            marks = ()
        least = min(least, min((float(m.value) for m in marks), default=0.0))
        names.append(name)
    what = f"breaking capacity of {', '.join(names)}, mark not noted"
    if least <= 0:
        return not_decided(None, f"the {what}")
    limit = _limit(case, least, f"least {what}")
    if band.high <= least:
        return judge_band(band, limit)
    return not_decided(limit, f"the {what}; devices of that standard start at {least:g} kA")
