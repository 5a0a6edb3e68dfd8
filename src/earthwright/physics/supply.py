"""The supply neutral: what its loss does to the main earthing terminal (MET), what currents give it away."""

from __future__ import annotations

import cmath
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


def neutral_current_a(i1_a: float, i2_a: float, i3_a: float) -> float:
    """Neutral current of a three-phase supply, loads of one power factor.

    I = √((I1 - (I2 + I3)/2)² + 3/4·(I2 - I3)²).
    i1_a, i2_a, i3_a [A] >= 0. Returns [A]. Raises OutOfDomain. Harmonics of order three add to it and are
    not in it. Source: BS 7671 annex A722 form. Checked with published 32, 10, 5 A: 24.9 A, and with
    phasors.
    """
    i1, i2, i3 = not_negative("i1_a", i1_a), not_negative("i2_a", i2_a), not_negative("i3_a", i3_a)
    return math.hypot(i1 - (i2 + i3) / 2, math.sqrt(3) / 2 * (i2 - i3))


@dataclass(frozen=True, slots=True)
class LostStarPoint:
    """Three-phase installation, supply neutral open: MET and load voltages [V], current to earth [A]."""

    met_v: float
    load_v: tuple[float, float, float]
    i_a: float


def lost_star_point(u0_v: float, ra_ohm: float, loads_ohm: tuple[float, float, float]) -> LostStarPoint:
    """Three-phase lost neutral: where the MET moves to and what the loads are left with.

    V = Σ(U_k/R_k)/(Σ 1/R_k + 1/RA); load k has |U_k - V|.
    u0_v [V] > 0; ra_ohm [Ω] > 0, infinite for none; loads_ohm [Ω] > 0 on the three lines, infinite for
    none, resistive. Returns LostStarPoint. Raises OutOfDomain; also when nothing at all joins the star
    point. Source: Millman. Checked with closed forms: one load is lost_neutral, equal loads
    give 0 V.
    """
    u0 = positive("u0_v", u0_v)
    ra = number("ra_ohm", ra_ohm, low=0.0, above=True, infinite=True)
    loads = [
        number(f"loads_ohm[{place}]", value, low=0.0, above=True, infinite=True)
        for place, value in enumerate(loads_ohm)
    ]
    if len(loads) != 3:
        raise OutOfDomain(f"loads_ohm: expected three, found {len(loads)}")
    lines = [cmath.rect(u0, 2 * math.pi * place / 3) for place in range(3)]
    whole = math.fsum(1 / value for value in (*loads, ra))
    if whole == 0:
        raise OutOfDomain("ra_ohm, loads_ohm: all infinite, the voltage of the MET is not determined")
    met = sum(u / r for u, r in zip(lines, loads, strict=True)) / whole
    one, two, three = (abs(u - met) for u in lines)
    return LostStarPoint(abs(met), (one, two, three), abs(met) / ra)


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


def diverted_share(neutral_ohm: float, path_ohm: float) -> float:
    """Share of the neutral current that a metal path beside the neutral takes: Rn/(Rn + Rp).

    neutral_ohm [Ω] >= 0, infinite when it is lost; path_ohm [Ω] > 0, infinite for none. Returns [1]. Raises
    OutOfDomain, also when both are infinite. Source: current divider. Checked with closed forms and limits.
    """
    neutral = resistance("neutral_ohm", neutral_ohm)
    path = number("path_ohm", path_ohm, low=0.0, above=True, infinite=True)
    if math.isinf(neutral):
        if math.isinf(path):
            raise OutOfDomain("neutral_ohm, path_ohm: both infinite, there is no current to share")
        return 1.0
    return neutral / (neutral + path)
