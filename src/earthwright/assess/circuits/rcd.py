"""Residual current devices: times by the edition's test, both half-cycles, and the button."""

from __future__ import annotations

import re
from collections.abc import Sequence

from attrs import evolve

from ...base.digits import Kind
from ...base.errors import Finding, NoRule
from ...base.quantity import Limit
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS, MEETS, NOT_DECIDED, Judged, no_rule, not_decided
from ...rules.lookup import RcdLimit, rcd_limits
from ...site.events import Reading
from ...site.installation import Device
from ...site.reading import Corrected
from . import words_live as say
from .limits import Case, counting, hold, settled, without_value, worst
from .worst_reading import worst_word

SLOW = 2.0 / 3.0  # beyond this share of its time a device without delay is named as slow; common practice, no source
OLDER = "half, one, five"
_MULTIPLE = re.compile(r"^[x×]?\s*(0\.5|½|1|5)\s*[x×]?$")
_FIXED_MA = re.compile(r"^([0-9]+(?:\.[0-9]+)?)\s*mA$", re.IGNORECASE)


def rcd_rows(case: Case, of: str, device: Device | None) -> tuple[TestJudged, ...]:
    """Times and button of the residual current device of a circuit or board; only rows for which something is entered."""
    rows = []
    readings = case.taken.of(of, "rcd")
    if readings:
        rows.append(without_value(case, of, "rcd", "", readings) or _times(case, of, device, readings))
    buttons = case.taken.of(of, "rcd button")
    if buttons:
        rows.append(_button(case, of, buttons))
    return tuple(rows)


def kind_of(device: Device) -> str | None:
    """The kind under which the times of a device are tabulated; None for a delay the tables do not know."""
    if "4293" in (device.rcd_standard or device.standard):
        return "BS 4293"
    return {"": "general", "S": "S"}.get(device.rcd_delay)


def multiple_of(reading: Reading, idn_ma: float) -> float | None:
    """Multiple of the rated residual current a reading was taken at; None when the method does not say."""
    method = reading.method.strip()
    found = _MULTIPLE.match(method)
    if found:
        return 0.5 if found.group(1) == "½" else float(found.group(1))
    fixed = _FIXED_MA.match(method)
    if fixed and float(fixed.group(1)) >= 5 * idn_ma:
        return 5.0
    return None


def _times(case: Case, of: str, device: Device | None, readings: tuple[Reading, ...]) -> TestJudged:
    found = counting(readings)
    corrected = {r.id: case.taken.corrected(r) for r in found}
    idn = device.rcd_ma if device is not None else None
    kind = kind_of(device) if device is not None else None
    assumed: tuple[str, ...] = ()
    judged: list[Judged] = []
    findings: list[Finding] = []
    tests: tuple[RcdLimit, ...] = ()
    beside: list[Judged] = []
    if not idn or device is None:
        judged.append(no_rule("no residual current device with its rated current is entered here"))
    elif kind is None:
        judged.append(no_rule(f"no times are tabulated for a delay '{device.rcd_delay}'"))
    else:
        try:
            tests, note = _tests(case, kind, idn)
        except NoRule as error:
            judged.append(no_rule(str(error)))
        else:
            assumed = (note,) if note else ()
            by_multiple, unsaid = _sorted_by_multiple(found, idn, tests)
            if unsaid:
                assumed = (*assumed, "the current was not said: taken as the rated one")
            judged += _judge_all(case, tests, by_multiple, corrected)
            beside = _beside(case, kind, idn, tests, by_multiple, corrected)
            findings += _not_placed(of, found, by_multiple) + _not_as_before(of, beside)
            findings += _slow(of, kind, judged)
    outcome = worst(judged)
    words = say.sentences(
        (
            say.was_read(f"Residual current device of {of}", found),
            f"{device.rcd_type or 'type not noted'}, {idn:g} mA." if device is not None and idn else "",
            *(f"{a}." for a in assumed),
            *(say.against(j) for j in judged),
            *_said_beside(beside),
            _other_half(found),
        )
    )
    sums = tuple(f"×{t.multiple:g} IΔn: {_asked(t)}; {t.rule.clause} ({t.rule.confidence})" for t in tests)
    last = found[-1]
    return TestJudged(
        of,
        "rcd",
        "",
        readings,
        case.taken.state(last),
        corrected[last.id],
        assumed=assumed,
        judged=(*judged, *beside),
        outcome=outcome,
        words=words,
        sums=sums,
        findings=tuple(findings),
    )


def _tests(case: Case, kind: str, idn_ma: float) -> tuple[tuple[RcdLimit, ...], str]:
    """The tests the edition asks for; for a kind its set does not know, the older set, said so."""
    try:
        return case.limits.ask(rcd_limits, kind, idn_ma, None), ""
    except NoRule:
        return case.limits.ask(rcd_limits, kind, idn_ma, OLDER), "times of the older set of tests"


def _asked(test: RcdLimit) -> str:
    if test.must == "hold":
        return f"stays closed for {test.min_ms:g} ms"
    return f"opens within {test.max_ms:g} ms" + (f", not before {test.min_ms:g} ms" if test.min_ms else "")


def _sorted_by_multiple(
    found: Sequence[Reading], idn_ma: float, tests: Sequence[RcdLimit]
) -> tuple[dict[float, list[Reading]], bool]:
    """Readings by multiple. Where the edition asks for one test only, a reading without a word is that test."""
    single = [t.multiple for t in tests] if len(tests) == 1 else []
    by_multiple: dict[float, list[Reading]] = {}
    unsaid = False
    for reading in found:
        multiple = multiple_of(reading, idn_ma)
        if multiple is None and not reading.method and single:
            multiple, unsaid = single[0], True
        if multiple is not None:
            by_multiple.setdefault(multiple, []).append(reading)
    return by_multiple, unsaid


def _judge_all(
    case: Case, tests: Sequence[RcdLimit], by_multiple: dict[float, list[Reading]], corrected: dict[str, Corrected]
) -> list[Judged]:
    judged: list[Judged] = []
    for test in tests:
        readings = by_multiple.get(test.multiple, [])
        limits = _limits(test)
        if not readings:
            judged.append(not_decided(limits[0], f"not tested at ×{test.multiple:g}"))
        for limit in limits:
            held = [_hold(case, test, corrected[r.id], limit) for r in readings]
            if held:
                judged.append(_worst_one(held))
    return judged


def _beside(
    case: Case,
    kind: str,
    idn_ma: float,
    tests: Sequence[RcdLimit],
    by_multiple: dict[float, list[Reading]],
    corrected: dict[str, Corrected],
) -> list[Judged]:
    """Tests made beside those the edition asks for, by the older set: shown, and no requirement."""
    asked = {t.multiple for t in tests}
    try:
        older = case.limits.ask(rcd_limits, kind, idn_ma, OLDER)
    except NoRule:
        return []
    more = [t for t in older if t.multiple not in asked and t.multiple in by_multiple]
    return _judge_all(case, more, by_multiple, corrected)


def _not_as_before(of: str, beside: Sequence[Judged]) -> list[Finding]:
    """A note on a test that is no requirement and did not keep the limit it once had; it gets no code."""
    return [
        Finding.of(
            "rcd.beside",
            f"residual current device of {of}",
            f"Not as once asked for, which is no requirement now: {j.limit.what}.",
            of,
            f"{j.limit.value:g} {j.limit.unit}, asked for before this edition",
            do="Note it; the time at the rated current decides. A device that opens at half of it trips for nothing.",
        )
        for j in beside
        if j.outcome == FAILS and j.limit is not None
    ]


def _slow(of: str, kind: str, judged: Sequence[Judged]) -> list[Finding]:
    """A note on a device without delay that keeps its time only just: sound ones take a fraction of it."""
    near = [
        j.limit
        for j in judged
        if j.outcome == MEETS
        and j.limit is not None
        and j.limit.side == "max"
        and j.difference is not None
        and j.difference < settled(j.limit.value * (1.0 - SLOW))
    ]
    if kind != "general" or not near:
        return []
    return [
        Finding.of(
            "rcd.slow",
            f"residual current device of {of}",
            "It keeps its time only just; a device without delay is usually much quicker (common practice, no source).",
            of,
            f"well below {near[0].value:g} {near[0].unit}",
            do="Work its button a few times and try it again; if it stays slow, renew it, or see whether it is a delayed one.",
        )
    ]


def _said_beside(beside: Sequence[Judged]) -> tuple[str, ...]:
    if not beside:
        return ()
    return ("Read beside it, and no requirement of this edition:", *(say.against(j) for j in beside))


def _limits(test: RcdLimit) -> tuple[Limit, ...]:
    what = f"at ×{test.multiple:g} IΔn"
    if test.must == "hold":
        return (test.rule.as_limit("min", f"{what} stays closed", "min_ms"),)
    found = (test.rule.as_limit("max", f"{what} opens within", "max_ms"),)
    return (*found, test.rule.as_limit("min", f"{what} opens not before", "min_ms")) if test.min_ms else found


def _hold(case: Case, test: RcdLimit, corrected: Corrected, limit: Limit) -> Judged:
    over = corrected.reading.shown is not None and corrected.reading.shown.kind is Kind.OVER
    if over and test.must == "hold":
        return Judged(MEETS, limit, simple=MEETS, guarded=MEETS, why="It stayed closed")
    if over and limit.side == "max":
        return Judged(FAILS, limit, simple=FAILS, guarded=FAILS, why="It did not open")
    judged = hold(case, corrected, limit)
    if test.must == "hold" and judged.outcome == FAILS:
        return evolve(judged, why="It opened at half of its rated current")
    return judged


def _worst_one(judged: Sequence[Judged]) -> Judged:
    outcome = worst(judged)
    same = [j for j in judged if j.outcome == outcome]
    return min(same, key=lambda j: float("-inf") if j.difference is None else j.difference)


def _not_placed(of: str, found: Sequence[Reading], by_multiple: dict[float, list[Reading]]) -> list[Finding]:
    placed = {r.id for some in by_multiple.values() for r in some}
    lost = [r for r in found if r.id not in placed]
    if not lost:
        return []
    return [
        Finding.of(
            "rcd.method",
            f"residual current device of {of}",
            "The test current is not said, so these times are not judged.",
            of,
            "x0.5, x1, x5 or a current in mA",
            ", ".join(r.method or "nothing" for r in lost),
            "Say at which multiple of the rated current each time was read.",
        )
    ]


def _other_half(found: Sequence[Reading]) -> str:
    halves = {r.between for r in found if r.between}
    return f"Only the half-cycle {halves.pop()} was read." if len(halves) == 1 else ""


def _button(case: Case, of: str, readings: tuple[Reading, ...]) -> TestJudged:
    last = worst_word(readings) or readings[-1]
    state = case.taken.state(last)
    if last.refused or last.absent or not last.outcome:
        absent, reason = last.absent, last.note or ("the entry could not be read" if last.refused else "")
        words = f"Test button: {absent or 'not tried'}{f', {reason}' if reason else ''}."
        return TestJudged(
            of, "rcd button", "", readings, state, outcome=NOT_DECIDED, absent=absent, reason=reason, words=words
        )
    good = last.outcome == "good"
    words = (
        "The test button opened it; that tries its mechanism, not its time."
        if good
        else "The test button did not open it."
    )
    return TestJudged(of, "rcd button", "", readings, state, outcome=MEETS if good else FAILS, words=words)
