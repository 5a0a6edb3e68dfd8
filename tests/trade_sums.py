"""Sums of the trade that the product does not do: what published values are held against, and ways of their own for other tests."""

from __future__ import annotations

import math

from earthwright.physics.conductor import factor_flat, resistance_ohm
from earthwright.physics.domain import fraction, not_negative, number, positive
from earthwright.physics.loop import fault_current_a


def material_constant(beta_c: float, qc_j_per_k_mm3: float, rho20_ohm_mm: float) -> float:
    """Adiabatic constant of a material: K = √(Qc·(β + 20)/rho20).

    beta_c [°C] > 0; qc_j_per_k_mm3 [J/(K·mm³)] > 0; rho20_ohm_mm [Ω·mm] > 0. Returns [A·s^½/mm²]. Raises
    OutOfDomain. Source: IEC 60949, IEC 60364-5-54 annex A. Checked with published 225.669 (copper), 148
    (aluminium), 78 (steel).
    """
    beta, heat = positive("beta_c", beta_c), positive("qc_j_per_k_mm3", qc_j_per_k_mm3)
    return math.sqrt(heat * (beta + 20) / positive("rho20_ohm_mm", rho20_ohm_mm))


def material_k(beta_c: float, qc_j_per_k_mm3: float, rho20_ohm_mm: float, initial_c: float, final_c: float) -> float:
    """k from material constants and temperatures: k = K·√ln((β + θf)/(β + θi)).

    beta_c [°C], qc_j_per_k_mm3 [J/(K·mm³)], rho20_ohm_mm [Ω·mm] as material_constant; initial_c < final_c
    [°C], both above -β. Returns [A·s^½/mm²]. Raises OutOfDomain. Source: IEC 60364-5-54 annex A, BS 7671
    tables 54.2 to 54.6. Checked with published k for copper, aluminium, steel and lead.
    """
    start = number("initial_c", initial_c, low=-positive("beta_c", beta_c), above=True)
    rise = number("final_c", final_c, low=start, above=True) - start
    # ln((beta + final)/(beta + initial)) without loss for a small rise
    logarithm = math.log1p(rise / (beta_c + start))
    return material_constant(beta_c, qc_j_per_k_mm3, rho20_ohm_mm) * math.sqrt(logarithm)


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


def factor_to_20_flat(temp_c: float) -> float:
    """Factor that brings a resistance measured at θ to 20 °C by the flat rule: kt = 1/(1 + 0.004·(θ - 20)).

    temp_c [°C]. Returns [1]. Raises OutOfDomain as factor_flat. Source: IEC 60228 annex, kt = 250/(230 + θ).
    Checked with the printed kt for 5 … 100 °C.
    """
    return 1 / factor_flat(temp_c)


def r1r2_ohm(length_m: float, line_mohm_per_m: float, cpc_mohm_per_m: float, factor: float = 1.0) -> float:
    """Line and protective conductor in series over one route: R1+R2 = L·(r_line + r_cpc)·F/1000.

    length_m [m] >= 0; line_mohm_per_m, cpc_mohm_per_m [mΩ/m] > 0 at 20 °C; factor [1]. Returns [Ω]. Raises
    OutOfDomain. Source: definition. Checked with the published R1+R2 per metre table and 50 m examples.
    """
    r1 = resistance_ohm(length_m, line_mohm_per_m, factor)
    return r1 + resistance_ohm(length_m, cpc_mohm_per_m, factor)


POTENTIAL_STAKE = (math.sqrt(5) - 1) / 2
"""Place of the potential stake as a fraction of the way to the current stake (hemisphere in even soil)."""


def potential_stake_m(current_stake_m: float) -> float:
    """Where the potential stake belongs: 0.618 of the way to the current stake.

    current_stake_m [m] > 0 from the electrode. Returns [m]. Raises OutOfDomain. Source: hemisphere in even
    soil, IEEE 81. Checked with published 120 ft: 74 ft, and with the potential of two point sources.
    """
    return POTENTIAL_STAKE * positive("current_stake_m", current_stake_m)


def idn_limit_a(ra_ohm: float, ul_v: float = 50.0) -> float:
    """Highest rated residual current that an electrode permits: IΔn = UL/RA.

    ra_ohm [Ω] > 0; ul_v [V] > 0. Returns [A]. Raises OutOfDomain. Source: BS 7671 411.5.3.
    Checked with published 200 Ω: 250 mA.
    """
    return positive("ul_v", ul_v) / positive("ra_ohm", ra_ohm)


def three_phase_a(u_line_v: float, z_line_ohm: float, c: float = 1.0) -> float:
    """Three-phase fault current from the impedance of one line: Ik3 = c·U/(√3·Z).

    u_line_v [V] > 0 line to line; z_line_ohm [Ω] > 0 of source and one line; c [1] > 0. Returns [A]. Raises
    OutOfDomain. Source: IEC 60909-0. Checked with pandapower on a feeder behind a transformer.
    """
    return fault_current_a(positive("u_line_v", u_line_v) / math.sqrt(3), z_line_ohm, c)


def line_to_line_a(u_line_v: float, z_line_ohm: float, c: float = 1.0) -> float:
    """Fault current between two lines: Ik2 = c·U/(2·Z), √3/2 of the three-phase current.

    u_line_v [V] > 0 line to line; z_line_ohm [Ω] > 0 of source and one line; c [1] > 0. Returns [A]. Raises
    OutOfDomain. Source: IEC 60909-0. Checked with pandapower on a feeder behind a transformer.
    """
    return fault_current_a(u_line_v, 2 * positive("z_line_ohm", z_line_ohm), c)


def magnitude_ohm(r_ohm: float, x_ohm: float) -> float:
    """Magnitude of an impedance: Z = √(R² + X²).

    r_ohm [Ω] >= 0; x_ohm [Ω] either sign. Returns [Ω]. Raises OutOfDomain. Source: definition.
    Checked with 3, 4 and 5.
    """
    return math.hypot(number("r_ohm", r_ohm, low=0.0), number("x_ohm", x_ohm))


def neutral_current_a(i1_a: float, i2_a: float, i3_a: float) -> float:
    """Neutral current of a three-phase supply, loads of one power factor.

    I = √((I1 - (I2 + I3)/2)² + 3/4·(I2 - I3)²).
    i1_a, i2_a, i3_a [A] >= 0. Returns [A]. Raises OutOfDomain. Harmonics of order three add to it and are
    not in it. Source: BS 7671 annex A722 form. Checked with published 32, 10, 5 A: 24.9 A, and with
    phasors.
    """
    i1, i2, i3 = not_negative("i1_a", i1_a), not_negative("i2_a", i2_a), not_negative("i3_a", i3_a)
    return math.hypot(i1 - (i2 + i3) / 2, math.sqrt(3) / 2 * (i2 - i3))
