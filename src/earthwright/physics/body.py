"""Touch: when metal counts as extraneous, what voltage a fault puts within reach; limits are arguments."""

from __future__ import annotations

from earthwright.physics.domain import OutOfDomain, fraction, not_negative, number, positive, resistance


def extraneous_limit_ohm(u0_v: float, ib_a: float, body_ohm: float) -> float:
    """Resistance part to MET up to which a chosen current can flow through a person: U0/Ib - Z.

    u0_v [V] > 0; ib_a [A] > 0 the current chosen (0.01, 0.03 or 0.005); body_ohm [Ω] >= 0 of the person, 0
    to leave it out. Returns [Ω]. Raises OutOfDomain when the body alone already keeps the current below the
    threshold. Source: UK guidance. Checked with published 22 kΩ and 23 kΩ, and 6.67 kΩ and 45 kΩ.
    """
    whole, body = positive("u0_v", u0_v) / positive("ib_a", ib_a), not_negative("body_ohm", body_ohm)
    if body >= whole:
        raise OutOfDomain(f"body_ohm: expected less than U0/Ib = {whole:g} Ω, found {body_ohm!r}")
    return whole - body


def body_current_a(u0_v: float, part_ohm: float, body_ohm: float) -> float:
    """Current through a person between a live part and metal of that resistance to earth: I = U0/(R + Z).

    u0_v [V] > 0; part_ohm [Ω] >= 0, infinite gives 0; body_ohm [Ω] > 0. Returns [A]. Raises OutOfDomain.
    Source: Ohm. Checked by putting extraneous_limit_ohm back.
    """
    return positive("u0_v", u0_v) / (resistance("part_ohm", part_ohm) + positive("body_ohm", body_ohm))


def touch_voltage_v(u_v: float, m: float, c: float) -> float:
    """Prospective touch voltage of an earth fault by convention: Ut = c·U·m/(m + 1).

    u_v [V] > 0; m [1] >= 0 = R2/R1; c [1] 0 … 1 = (R1+R2)/Zs, conventionally 0.8. Returns [V]. Raises
    OutOfDomain. Source: IEC 61200-413 convention (from memory). Checked with published 92 V for m 1, c 0.8,
    230 V.
    """
    ratio = not_negative("m", m)
    return fraction("c", c) * positive("u_v", u_v) * ratio / (ratio + 1)


def fault_voltage_v(i_a: float, r_ohm: float) -> float:
    """Voltage along a protective or bonding conductor that carries a current: U = I·R.

    i_a [A] >= 0; r_ohm [Ω] >= 0, finite. Returns [V]. Raises OutOfDomain. Source: Ohm.
    Checked with published 5 m of 4 mm² at 30 A: 0.69 V, at 200 A: 4.6 V.
    """
    return not_negative("i_a", i_a) * not_negative("r_ohm", r_ohm)


def supplementary_limit_ohm(ia_a: float, ul_v: float = 50.0) -> float:
    """Highest resistance of supplementary bonding between parts: R = UL/Ia.

    ia_a [A] > 0: for a residual current device its IΔn, for an overcurrent device its 5 s current; ul_v [V]
    > 0. Returns [Ω]. Raises OutOfDomain. Source: BS 7671 415.2.2. Checked with published B32 (160 A):
    0.3125 Ω.
    """
    return positive("ul_v", ul_v) / positive("ia_a", ia_a)


def rb_re_limit(u0_v: float, ul_v: float = 50.0) -> float:
    """Highest ratio of neutral earthing to the earth contact of a line: RB/RE <= UL/(U0 - UL).

    u0_v [V] > ul_v [V] > 0. Returns [1]. Raises OutOfDomain. Source: IEC 60364-4-41 411.4.1 note (from
    memory). Checked with published 0.278 for 230 V.
    """
    ul = positive("ul_v", ul_v)
    return ul / (number("u0_v", u0_v, low=ul, above=True) - ul)
