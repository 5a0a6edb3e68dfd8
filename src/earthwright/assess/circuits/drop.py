"""Voltage drop of a circuit from the origin to its furthest point, by tabulated or by the conductor's own resistance."""

from __future__ import annotations

import math

from attrs import frozen

from ...base.errors import NoRule
from ...base.quantity import rectangular
from ...evidence.graph.changes import LINE, alike_to
from ...evidence.graph.lengths import length_band
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS, MEETS, no_rule, not_decided
from ...physics.conductor import factor_flat
from ...physics.voltdrop import SINGLE_PHASE, THREE_PHASE, drop_percent, drop_v, mv_per_a_m
from ...rules.lookup import cable_voltage_drop, voltage_drop_limit
from ...site.installation import Circuit
from . import words_live as say
from .limits import Case, hold_value, no_rule_for

RATING = "the design current is not entered: the device's rating is taken"
NOT_COVERED = "reduced neutrals and cables in parallel are not covered: the neutral is taken to be as large as the line"


@frozen
class Drop:
    """The drop along one circuit [V] of its own voltage, as a share of it [%], low and high by its length, and the sum."""

    low_pct: float
    high_pct: float
    how: str
    assumed: tuple[str, ...]


def drop_row(case: Case, circuit: Circuit) -> TestJudged | None:
    """Voltage drop against its limit; None when size or length are not entered. A reduced neutral is *no rule*, aloud."""
    if _reduced(circuit) and circuit.length_m is not None and not case.distribution(circuit):
        judged = no_rule(NOT_COVERED)
        return TestJudged(
            circuit.id, "voltage drop", judged=(judged,), outcome=judged.outcome, words=say.against(judged)
        )
    own = own_drop(case, circuit)
    if own is None or case.distribution(circuit):
        return None
    low, high, sums, assumed = own.low_pct, own.high_pct, [own.how], list(own.assumed)
    missing = ""
    for feeder in case.upstream(circuit):
        before = own_drop(case, feeder)
        if before is None:
            missing = f"the drop of {feeder.id}, which feeds the board, is not known"
            continue
        low, high = low + before.low_pct, high + before.high_pct
        sums.append(f"{feeder.id}: {before.how}")
        assumed += [f"{feeder.id}: {a}" for a in before.assumed]
    try:
        limit = case.limits.ask(
            voltage_drop_limit, "lighting" if circuit.use == "lighting" else "other", "public", circuit.length_m or 0.0
        ).as_limit(
            "max", f"voltage drop for {'lighting' if circuit.use == 'lighting' else 'other uses'}, public supply"
        )
    except NoRule as error:
        judged = no_rule_for(error)
        words = say.sentences((f"Voltage drop of {circuit.id}: {low:.2g} to {high:.2g} %.", say.against(judged)))
        return TestJudged(
            circuit.id, "voltage drop", judged=(judged,), outcome=judged.outcome, words=words, sums=tuple(sums)
        )
    value = rectangular((low + high) / 2, (high - low) / 2, "%", f"{circuit.id}.drop", "length and make of the cable")
    judged = hold_value(case, value, limit)
    if missing and judged.outcome == MEETS:
        judged = not_decided(limit, missing)
    if judged.outcome == FAILS and any(RATING in a for a in assumed):
        judged = not_decided(limit, f"{RATING}, and with so much the limit is not kept")
    words = say.sentences(
        (f"Voltage drop of {circuit.id}: {low:.2g} to {high:.2g} %.", say.against(judged), f"{NOT_COVERED}.")
    )
    return TestJudged(
        circuit.id,
        "voltage drop",
        assumed=(*assumed, NOT_COVERED),
        judged=(judged,),
        outcome=judged.outcome,
        words=words,
        sums=tuple(sums),
        value=value,
    )


def _reduced(circuit: Circuit) -> bool:
    """Whether the neutral is smaller than the line."""
    return bool(circuit.neutral_mm2 and circuit.line_mm2 and circuit.neutral_mm2 < circuit.line_mm2)


def own_drop(case: Case, circuit: Circuit) -> Drop | None:
    """Drop along one circuit with all its load at the far end (a ring: half way round)."""
    if circuit.line_mm2 is None or circuit.length_m is None or _reduced(circuit):
        return None
    assumed: list[str] = []
    i_a = circuit.design_a
    if i_a is None:
        i_a = circuit.device.rating_a
        assumed.append(RATING)
    if i_a is None:
        return None
    made = _mv(case, circuit, circuit.line_mm2)
    if made is None:
        return None
    low_mv, high_mv, source = made
    if high_mv <= 0:  # a power factor of 0 where no reactance is known
        return None
    share = 0.25 if circuit.kind == "ring" else 1.0
    if circuit.kind == "ring":
        assumed.append("all load half way round the ring, which is a quarter of its length for one conductor")
    u_v = case.volts(circuit.board) * (math.sqrt(3) if circuit.phases == 3 else 1.0)
    lengths = tuple(m * share for m in length_band(circuit.length_m, circuit.length_tol_m))
    if circuit.stretches:
        way = alike_to(circuit, "", LINE, lambda mm2: made[1] if (made := _mv(case, circuit, mm2)) else None)
        if way is None:
            return None
        lengths = way[:2]
        assumed.append(f"{circuit.runs}, added up as metres of {circuit.line_mm2:g} mm², all load at the far end")
    low, high = (drop_v(mv, i_a, m) for mv, m in zip((low_mv, high_mv), lengths, strict=True))
    how = (
        f"{high_mv:.3g} mV/(A·m) ({source}) × {i_a:g} A × {lengths[1]:g} m / 1000 = {high:.3g} V, "
        f"{drop_percent(high, u_v):.2f} % of {u_v:.0f} V"
    )
    return Drop(drop_percent(low, u_v), drop_percent(high, u_v), how, tuple(assumed))


def _mv(case: Case, circuit: Circuit, line_mm2: float) -> tuple[float, float, str] | None:
    """mV/(A·m) low and high, and where it is from: the table of the cable named, else the conductor's own resistance."""
    cos = circuit.power_factor
    if circuit.cable:
        try:
            row = case.limits.ask(cable_voltage_drop, circuit.cable, line_mm2)
        except NoRule:
            pass
        else:
            r, x = float(row.number("r")), float(row.number("x"))
            mv = r * cos + x * math.sqrt(1 - cos * cos)
            memory = f", {say.MEMORY}" if row.confidence == "memory" else ""
            return mv, mv, f"{row.clause}, cos φ {cos:g}{memory}"
    r20 = case.rulings.conductor(circuit.material, line_mm2, 20.0, f"circuit {circuit.id}", circuit.id)
    if r20 is None:
        return None
    count = THREE_PHASE if circuit.phases == 3 else SINGLE_PHASE
    high = mv_per_a_m(r20, factor_flat(circuit.conductor_c), 0.0, cos, count)
    return (
        high * case.make[0],
        high,
        f"largest resistance at {circuit.conductor_c:g} °C, cos φ {cos:g}, reactance left out",
    )
