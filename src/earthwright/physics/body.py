"""Touch: when metal counts as extraneous, what voltage a fault puts within reach; limits are arguments."""

from __future__ import annotations

from earthwright.physics.domain import OutOfDomain, not_negative, positive, resistance


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
