"""Whether a circuit's protective conductor survives the fault that its device lets through: S = √(I²·t)/k."""

from __future__ import annotations

import math
from contextlib import suppress

from attrs import evolve, frozen

from ...base.errors import Finding, NoRule
from ...base.quantity import Limit, exact
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS, MEETS, NOT_DECIDED, Judged, judge, not_decided
from ...physics.adiabatic import OutsideCurve, k2s2_a2s, least_csa_mm2, worst_on_curve
from ...physics.domain import OutOfDomain
from ...physics.loop import fault_current_a
from ...rules import Edition, RuleValue
from ...rules.devices import BREAKER, INSTANT_S, OLD_BREAKER
from ...rules.lookup import device_curve, device_family, k_value, operating_current
from ...site.installation import Circuit, Device
from ...site.stretch import Stretch
from . import words_live as say
from .disconnection import Zs, highest_zs
from .limits import WORST_FIRST, Case, no_rule_for, settled
from .limits import worst as worst_outcome
from .loop import source

# How k is tabulated for what the protective conductor is.
_USE = {
    "core": "core",
    "separate": "separate",
    "armour": "sheath or armour",
    "sheath": "sheath or armour",
    "conduit": "conduit or trunking",
    "trunking": "conduit or trunking",
}
_STEEL = ("armour", "conduit", "trunking")
_INSULATION = {70.0: "70 °C thermoplastic", 90.0: "90 °C thermosetting"}


@frozen
class Worst:
    """The fault that asks for the largest conductor: current [A], time [s], area [mm²], and where the time is from.

    at_most  the time is only a longest one, so an area above the conductor's proves nothing against it
    """

    i_a: float
    t_s: float
    csa_mm2: float
    how: str
    at_most: bool = False


def adiabatic_row(case: Case, circuit: Circuit) -> TestJudged | None:
    """The cpc of a circuit against the adiabatic equation, hot and cold; None without a loop, a device or a cpc.

    A size that is not entered leaves it not decided, aloud.
    """
    zs = highest_zs(case, circuit)
    if circuit.device == Device() or zs is None or zs.loop.cold.value <= 0:
        return None
    if not circuit.stretches:
        return _held(case, circuit, zs)
    # The far end's fault flows through all of them. What lies behind a fuse of its own is not weighed here.
    rows = [_of_stretch(case, circuit, s, zs) for s in circuit.stretches if s.fuse_a is None]
    found = [r for r in rows if r is not None]
    return min(found, key=lambda r: (WORST_FIRST.index(r.outcome), _to_spare(r))) if found else None


def _to_spare(row: TestJudged) -> float:
    """What a conductor has beyond what is needed [mm²]; the one with least decides."""
    differences = [j.difference for j in row.judged if j.difference is not None]
    return min(differences, default=0.0)


def _of_stretch(case: Case, circuit: Circuit, s: Stretch, zs: Zs) -> TestJudged | None:
    """One length of a cable that changes. The loudest current at the board meets only the first of them."""
    row = _held(case, circuit.like(s), zs, first=s is circuit.stretches[0])
    if row is None:
        return None
    if s.cables > 1 and row.outcome == FAILS:
        why = f"how a fault divides between {s.cables} cables side by side is not worked out, and one alone may not bear it"
        row = evolve(
            row,
            judged=tuple(evolve(j, outcome=NOT_DECIDED, why=why) for j in row.judged),
            outcome=NOT_DECIDED,
            findings=(),
        )
    return evolve(row, words=f"{s}: {row.words}")


def _held(case: Case, circuit: Circuit, zs: Zs, first: bool = True) -> TestJudged | None:
    """A protective conductor of one size against the fault that its circuit's device lets through."""
    if circuit.cpc not in _USE:
        return None
    if circuit.cpc_mm2 is None:
        judged = not_decided(None, "the size of the protective conductor is not entered")
        return TestJudged(circuit.id, "adiabatic", judged=(judged,), outcome=NOT_DECIDED, words=say.against(judged))
    try:
        k = k_of(case, circuit)
    except NoRule as error:
        judged = no_rule_for(error)
        return TestJudged(circuit.id, "adiabatic", judged=(judged,), outcome=judged.outcome, words=say.against(judged))
    return _row(case, circuit, zs, k, circuit.cpc_mm2, first)


def k_of(case: Case, circuit: Circuit) -> RuleValue:
    """k of the cpc [A·s^½/mm²] by what it is and how warm its cable may be. Raises NoRule."""
    use = _USE[circuit.cpc]
    material = "steel" if circuit.cpc in _STEEL else circuit.material
    known = case.limits.ask(_insulations)
    # What the cable's name says, else what its temperature says; the longest name first, since some tables tell
    # thermoplastic from thermosetting and others give the temperature only.
    said = [i for i in known if circuit.cable.startswith(i)]
    said = said or [i for i in known if _INSULATION.get(circuit.conductor_c, "").startswith(i)]
    for insulation in sorted(said, key=len, reverse=True):
        with suppress(NoRule):
            return case.limits.ask(k_value, use, material, insulation)
    what = circuit.cable or f"a cable of {circuit.conductor_c:g} °C"
    raise NoRule(f"no k is tabulated for {material} as {circuit.cpc} with {what}")


def _insulations(edition: Edition) -> tuple[str, ...]:
    return tuple(str(k) for k in edition.table("k.values").keys_of("insulation"))


def _row(case: Case, circuit: Circuit, zs: Zs, k: RuleValue, cpc_mm2: float, first: bool) -> TestJudged:
    kf = float(k.value)
    u0_v = case.volts(circuit.board)
    cold_a, hot_a = (fault_current_a(u0_v, q.value) for q in (zs.loop.cold, zs.loop.hot))
    ends = f"I = {u0_v:g} V / Zs: {cold_a:.4g} A cold, {hot_a:.4g} A warm"
    withstands = k2s2_a2s(cpc_mm2, kf)
    sums = [
        *zs.loop.sums,
        ends,
        f"k = {k.value} ({k.clause}{', ' + say.MEMORY if k.confidence == 'memory' else ''}); k²S² = {withstands:.0f} A²s",
    ]
    limit = _limit(k, cpc_mm2, case.limits.clause("adiabatic"))
    try:
        worst = worst_fault(case, circuit.device, hot_a, cold_a, kf, cpc_mm2)
    except NoRule as error:
        judged = not_decided(limit, str(error))
        words = say.sentences((f"{zs.how}; {ends}.", f"Protective conductor of {cpc_mm2:g} mm²: not decided: {error}."))
        return TestJudged(
            circuit.id,
            "adiabatic",
            assumed=zs.loop.assumed,
            judged=(judged,),
            outcome=NOT_DECIDED,
            words=words,
            sums=tuple(sums),
        )
    judged = judge(exact(settled(worst.csa_mm2), "mm²"), limit)
    judged = _shared_by_ring(circuit, judged, worst, limit)
    if judged.outcome == FAILS and worst.at_most:
        judged = not_decided(
            limit,
            f"{worst.t_s:g} s is the longest the device may take, not what it takes; its let-through energy must stay under "
            f"{withstands:.0f} A²s",
        )
    if judged.outcome == MEETS and zs.at_most:
        judged = not_decided(
            limit, "the loop is only known as a highest value, and a higher current may be the worse one"
        )
    sums.append(f"S = {worst.i_a:.4g} A × √{worst.t_s:.3g} s / {kf:g} = {worst.csa_mm2:.3g} mm²; {worst.how}")
    notes = _notes(case, circuit, kf, cpc_mm2, hot_a, cold_a, worst)
    near = near_end(case, circuit, kf, cpc_mm2) if first else None
    extra = [near[1]] if near is not None and near[1] is not None else []
    all_judged = (judged, *extra)
    findings: tuple[Finding, ...] = ()
    if judged.outcome == FAILS:
        findings = (_finding(case, circuit, worst, cpc_mm2, kf, cold_a, hot_a),)
    words = say.sentences(
        (
            f"{zs.how}; a fault draws {say.figure(cold_a, 'A')} cold and {say.figure(hot_a, 'A')} warm.",
            f"At {say.figure(worst.i_a, 'A')} the device takes {worst.t_s:.2g} s ({worst.how}): "
            f"{worst.csa_mm2:.3g} mm² are needed, {cpc_mm2:g} mm² are there.",
            say.against(judged),
            *notes,
            near[0] if near is not None else "",
            *(f.do for f in findings),
        )
    )
    return TestJudged(
        circuit.id,
        "adiabatic",
        assumed=(*zs.loop.assumed, "fault of negligible impedance at the far end"),
        judged=all_judged,
        outcome=worst_outcome(all_judged),
        words=words,
        sums=tuple(sums),
        findings=findings,
        value=exact(worst.csa_mm2, "mm²"),
    )


def _limit(k: RuleValue, cpc_mm2: float, clause: str) -> Limit:
    return Limit(
        cpc_mm2,
        "mm²",
        "max",
        "area the fault asks for, against the protective conductor fitted",
        clause,
        k.document,
        k.applies_under,
        k.confidence,
        f"k = {k.value}, {k.clause}",
    )


def worst_fault(case: Case, device: Device, hot_a: float, cold_a: float, k: float, cpc_mm2: float) -> Worst:
    """The worst of the currents between warm and cold conductors; for a fuse the lower one may be worse.

    The time is read from the curve entered, else from the published points, never outside them; a circuit-breaker that
    gets its operating current has opened within 0.1 s, which is then the time, the longest it may be.
    Raises NoRule with the reason when no time can be given.
    """
    if device.curve:
        points, how = device.curve, "time from the curve entered"
    else:
        family = _family(case, device)
        if family in (BREAKER, OLD_BREAKER):
            return _of_breaker(case, device, hot_a, cold_a, k)
        if device.rating_a is None:
            raise NoRule("the rating of the device is not entered")
        curve = case.limits.ask(device_curve, device.standard, device.type, device.rating_a)
        memory = f", {say.MEMORY}" if curve.confidence == "memory" else ""
        points, how = curve.points, f"time between published points of the slowest device{memory}"
    return _on_curve(points, hot_a, cold_a, k, cpc_mm2, how)


def _on_curve(
    points: tuple[tuple[float, float], ...], hot_a: float, cold_a: float, k: float, cpc_mm2: float, how: str
) -> Worst:
    """The worst between the two currents. Beyond the last point only this is known: it takes no longer than there.

    What the points themselves condemn stays condemned, whatever may lie beyond them.
    """
    last_a, last_s = points[-1]
    inside: Worst | None = None
    try:
        if hot_a <= last_a:
            found = worst_on_curve(points, hot_a, min(cold_a, last_a), k)
            inside = Worst(found.i_a, found.t_s, found.csa_mm2, how)
    except (OutsideCurve, OutOfDomain) as error:
        raise NoRule(f"no time can be read: {error}; the maker's curve is needed") from None
    if inside is not None and cold_a <= last_a:
        return inside
    said = f"no longer than at {last_a:.4g} A, the last point"
    beyond = Worst(cold_a, last_s, least_csa_mm2(cold_a, last_s, k), said, at_most=True)
    return inside if inside is not None and inside.csa_mm2 > min(cpc_mm2, beyond.csa_mm2) else beyond


def _family(case: Case, device: Device) -> str:
    if not device.standard:
        raise NoRule("the standard of the device is not entered")
    return case.limits.ask(device_family, device.standard)


def _of_breaker(case: Case, device: Device, hot_a: float, cold_a: float, k: float) -> Worst:
    if device.rating_a is None:
        raise NoRule("the rating of the device is not entered")
    ia = case.limits.ask(operating_current, device.standard, device.type, device.rating_a, INSTANT_S)
    if hot_a < ia.value:
        raise NoRule(
            f"at {hot_a:.4g} A the breaker does not open at once ({ia.value:g} A): a maker's curve is needed for the time"
        )
    csa = least_csa_mm2(cold_a, INSTANT_S, k)
    return Worst(cold_a, INSTANT_S, csa, f"opens at once from {ia.value:g} A, so within {INSTANT_S:g} s", at_most=True)


def _shared_by_ring(circuit: Circuit, judged: Judged, worst: Worst, limit: Limit) -> Judged:
    """On a ring without spurs the current divides between two legs; how, depends on the place of the fault."""
    if circuit.kind != "ring" or circuit.spurs or judged.outcome != FAILS or worst.csa_mm2 / 2 > limit.value:
        return judged
    return not_decided(limit, "on the ring the current divides between two legs, on a spur one conductor takes it all")


def _notes(
    case: Case, circuit: Circuit, k: float, cpc_mm2: float, hot_a: float, cold_a: float, worst: Worst
) -> tuple[str, ...]:
    notes = []
    if worst.i_a < cold_a - 1e-9:
        notes.append("The lower current is the worse one here: the fuse takes longer than the current falls.")
    if circuit.kind == "ring":
        notes.append("On a spur one conductor takes the whole current; on the ring itself it divides between two legs.")
    return tuple(notes)


def near_end(case: Case, circuit: Circuit, k: float, cpc_mm2: float) -> tuple[str, Judged | None] | None:
    """The other end: a fault at the board, where the current is largest and the device opens in less than 0.1 s.

    Decided by the maker's let-through energy, or where even 0.1 s would not matter; else it is said that it is not covered.
    None when the loop at the board is not known.
    """
    upto = source(case, circuit.board)
    if upto is None or upto.quantity is None or upto.quantity.value <= 0:
        return None
    i_a = fault_current_a(case.volts(circuit.board), upto.quantity.value)
    withstands = k2s2_a2s(cpc_mm2, k)
    if circuit.device.let_through_a2s is not None:
        limit = Limit(
            settled(withstands),
            "A²s",
            "max",
            "let-through energy at the board",
            case.limits.clause("adiabatic"),
            "maker's figure",
            "this visit",
            "read",
        )
        return f"At the board {say.figure(i_a, 'A')} flow.", judge(exact(circuit.device.let_through_a2s, "A²s"), limit)
    if i_a * i_a * INSTANT_S <= withstands and _opens_at_once(case, circuit.device, i_a):
        return f"At the board {say.figure(i_a, 'A')} flow, which the conductor bears for {INSTANT_S:g} s.", None
    return (
        f"At the board {say.figure(i_a, 'A')} flow and the device opens faster than published points tell: that end is not "
        f"covered without the maker's let-through energy, which must stay under {withstands:.0f} A²s.",
        None,
    )


def _opens_at_once(case: Case, device: Device, i_a: float) -> bool:
    try:
        return device.rating_a is not None and i_a >= (
            case.limits.ask(operating_current, device.standard, device.type, device.rating_a, INSTANT_S).value
        )
    except NoRule:
        return False


def proposal(case: Case, circuit: Circuit, proposed: Device, cold_a: float, hot_a: float, k: float) -> str:
    """The same fault with another device: what it would ask for, in one sentence."""
    assert circuit.cpc_mm2 is not None
    name = f"{proposed.standard} {proposed.type}{proposed.rating_a:g}"
    try:
        found = worst_fault(case, proposed, hot_a, cold_a, k, circuit.cpc_mm2)
    except NoRule as error:
        return f"With {name} instead: not decided, {error}."
    energy = found.i_a**2 * found.t_s
    enough = "enough" if found.csa_mm2 <= circuit.cpc_mm2 else "still not enough"
    return (
        f"With {name} instead, which opens at once at {say.figure(found.i_a, 'A')}: at most {energy:.0f} A²s against "
        f"{k2s2_a2s(circuit.cpc_mm2, k):.0f} A²s, {found.csa_mm2:.2g} mm² needed; {enough}."
    )


def _nearest_breaker(case: Case, circuit: Circuit) -> Device:
    """The usual replacement: a type B device with residual current protection, of the next rating the tables know."""
    assert circuit.device.rating_a is not None
    rating = next((float(r) for r in (6, 10, 16, 20, 32, 40, 50, 63) if r >= circuit.device.rating_a), 63.0)
    return Device("BS EN 61009", "B", rating, rcd_type="A", rcd_ma=30.0)


def _finding(
    case: Case, circuit: Circuit, worst: Worst, cpc_mm2: float, k: float, cold_a: float, hot_a: float
) -> Finding:
    remedy = ""
    if circuit.device.rating_a is not None and not math.isnan(circuit.device.rating_a):
        remedy = proposal(case, circuit, _nearest_breaker(case, circuit), cold_a, hot_a, k)
    return Finding.of(
        "adiabatic.cpc",
        f"circuit {circuit.id}",
        f"The protective conductor of {cpc_mm2:g} mm² does not bear the fault: {worst.csa_mm2:.3g} mm² are needed.",
        circuit.id,
        f"at most {cpc_mm2:g} mm²",
        f"{worst.csa_mm2:.3g} mm² at {say.figure(worst.i_a, 'A')} and {worst.t_s:.2g} s",
        remedy,
        "The sum takes a fault of no impedance and the device's longest time.",
    )
