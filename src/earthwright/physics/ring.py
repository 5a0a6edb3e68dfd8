"""The rule of the trade for a whole ring."""

from __future__ import annotations

from earthwright.physics.domain import resistance


def quarter_ohm(r_first_ohm: float, r_second_ohm: float) -> float:
    """Rule of the trade for a whole ring of equal conductors: (r1 + rn)/4 at every socket.

    r_first_ohm, r_second_ohm [Ω] >= 0 end to end. Returns [Ω]. Raises OutOfDomain. With unequal conductors
    it is the highest value, at the middle of the ring, and the R1+R2 of the circuit. Source: UK practice.
    Checked with published 0.4 and 0.4 Ω: 0.2 Ω.
    """
    return (resistance("r_first_ohm", r_first_ohm) + resistance("r_second_ohm", r_second_ohm)) / 4
