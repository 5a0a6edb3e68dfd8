"""The supply neutral: what its loss does to the main earthing terminal (MET), what currents give it away."""

from __future__ import annotations

import math
from dataclasses import dataclass

from earthwright.physics.domain import OutOfDomain, not_negative, number, positive, resistance


def load_ohm(power_w: float, u0_v: float) -> float:
    """Resistance of a load from its rating: R = U0²/P.

    power_w [W] >= 0, none gives infinity; u0_v [V] > 0 rated voltage. Returns [Ω]. Raises OutOfDomain.
    Source: Joule. Checked with 7 kW at 230 V: 7.56 Ω.
    """
    power, u0 = not_negative("power_w", power_w), positive("u0_v", u0_v)
    return u0 * u0 / power if power else math.inf


@dataclass(frozen=True, slots=True)
class LostNeutral:
    """State of a single-phase installation whose supply neutral is open.

    met_v   [V] between MET and true earth
    load_v  [V] left for the load, line to neutral at the board
    i_a     [A] through load, bonds and electrode
    """

    met_v: float
    load_v: float
    i_a: float


def lost_neutral(u0_v: float, ra_ohm: float, rl_ohm: float, c_max: float = 1.0) -> LostNeutral:
    """Neutral open upstream of its joint with the MET; the return is the electrode and bonded metal.

    I = c·U0/(RA + RL), V(MET) = I·RA, load voltage = I·RL. u0_v [V] > 0; ra_ohm [Ω] >= 0 of everything that
    earths the MET, infinite for none; rl_ohm [Ω] > 0 of the load switched on, infinite for none; c_max [1]
    > 0 voltage factor. With no load the MET stays at earth; with no electrode it takes the full voltage;
    with neither nothing tells, so OutOfDomain. One installation alone on the break: neighbours' loads count
    into rl_ohm. Raises OutOfDomain. Source: published design guide formula, UP = Ibn·RA. Checked with 45.2
    V (23 Ω, 5 Ω, 1.1) and 141 V, 11.8 A, 89 V.
    """
    u0 = positive("u0_v", u0_v) * positive("c_max", c_max)
    ra, rl = resistance("ra_ohm", ra_ohm), number("rl_ohm", rl_ohm, low=0.0, above=True, infinite=True)
    if math.isinf(ra) and math.isinf(rl):
        raise OutOfDomain("ra_ohm, rl_ohm: both infinite, the voltage of the MET is not determined")
    if math.isinf(ra):
        return LostNeutral(u0, 0.0, 0.0)
    i = u0 / (ra + rl)
    met = i * ra
    return LostNeutral(met, u0 - met, i)


def tracking(bond_on_a: float, bond_off_a: float, load_on_a: float, load_off_a: float) -> float:
    """Fraction of a change of the home's own load that appears in a bond.

    (I_bond,on - I_bond,off)/(I_on - I_off).
    bond_on_a, bond_off_a [A] >= 0 by clamp; load_on_a > load_off_a >= 0 [A]. Returns [1]: near 0 for
    current that comes from elsewhere, the share of a sound network's parallel path, near 1 when the bond is
    the only return. Raises OutOfDomain. Clamp readings have no sign, so a current that turns round shows
    too small a change. Source: method of this project. Checked with 11.8 A in the bond for 11.8 A of load.
    """
    change = number("load_on_a", load_on_a, low=not_negative("load_off_a", load_off_a), above=True) - load_off_a
    return (not_negative("bond_on_a", bond_on_a) - not_negative("bond_off_a", bond_off_a)) / change
