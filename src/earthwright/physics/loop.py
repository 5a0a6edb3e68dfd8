"""Earth fault loops: ceiling, floor and limit of Zs, cold comparison, fault currents.

Magnitudes are added as plain numbers. The magnitude of a sum is never more than the sum of magnitudes, so a
ceiling made this way is a ceiling whatever the angles are.
"""

from __future__ import annotations

import math

from earthwright.physics.domain import OutOfDomain, band, number, positive, resistance, unbounded

COLD_FACTOR_UK = 0.8
"""Customary factor on a tabulated Zs for comparison with a reading at ambient temperature (UK practice)."""


def zs_ceiling_ohm(ze_ohm: float, r1r2_ohm: float, factor: float = 1.0) -> float:
    """Highest Zs the circuit can have if its dead-test values are right: Zs = Ze + F·(R1+R2).

    ze_ohm [Ω] at the origin or board; r1r2_ohm [Ω] at its own temperature; factor [1] > 0 to the
    temperature in question. Infinite values give infinity. Returns [Ω]. Raises OutOfDomain. Source: BS 7671
    411.4.4 with definition of Zs. Checked with 0.30 + 0.755 Ω (ring with a broken cpc).
    """
    return resistance("ze_ohm", ze_ohm) + positive("factor", factor) * resistance("r1r2_ohm", r1r2_ohm)


def zs_floor_ohm(source_line_ohm: float, r1_ohm: float, factor: float = 1.0) -> float:
    """Lowest Zs the circuit can have whatever metal helps the earth side: Zs >= Z_source+line + F·R1.

    source_line_ohm [Ω] of transformer and supply line, 0 if unknown; r1_ohm [Ω] of the circuit's line;
    factor [1] > 0. The line has no parallel path. Returns [Ω]. Raises OutOfDomain. Source: method of this
    project, loops. Checked against networks with any metal in parallel with the protective conductor.
    """
    return resistance("source_line_ohm", source_line_ohm) + positive("factor", factor) * resistance("r1_ohm", r1_ohm)


def zs_limit_ohm(u0_v: float, ia_a: float, c_min: float) -> float:
    """Highest Zs at which the device still gets its operating current: Zs = Cmin·U0/Ia.

    u0_v [V] > 0; ia_a [A] > 0 for the time required; c_min [1] > 0 (0.95 in BS 7671 since 2015, 1 before).
    Returns [Ω]. Raises OutOfDomain. Source: BS 7671 411.4.4, IEC 60364-4-41 411.4.4.
    Checked with published limits for types B, C and D.
    """
    return positive("c_min", c_min) * positive("u0_v", u0_v) / positive("ia_a", ia_a)


def cold_limit_ohm(zs_limit_ohm: float, factor: float = COLD_FACTOR_UK) -> float:
    """Limit for a reading taken cold, by a flat factor: Zs_cold = 0.8·Zs_limit.

    zs_limit_ohm [Ω] > 0; factor [1] > 0: 0.8, or 2/3 on U0/Ia. Returns [Ω]. Raises OutOfDomain.
    Source: UK on-site practice; IEC 60364-6 annex. Checked with published 1.37 Ω gives 1.10 Ω, and 0.958 Ω.
    """
    return positive("zs_limit_ohm", zs_limit_ohm) * positive("factor", factor)


def cold_limit_by_temperature_ohm(zs_limit_ohm: float, ze_ohm: float, factor: float) -> float:
    """Limit for a reading taken cold, when only the circuit warms: Zs_cold = Ze + (Zs_limit - Ze)/F.

    zs_limit_ohm [Ω] > 0; ze_ohm [Ω] >= 0, at most the limit; factor [1] >= 1 from the temperature of the
    test to that of full load. Returns [Ω]. Raises OutOfDomain, also when Ze alone exceeds the limit: no
    circuit can then comply. Source: rearranged zs_ceiling_ohm. Checked by warming the result again.
    """
    limit, ze = positive("zs_limit_ohm", zs_limit_ohm), resistance("ze_ohm", ze_ohm)
    if ze > limit:
        raise OutOfDomain(f"ze_ohm: expected at most the limit {zs_limit_ohm!r}, found {ze_ohm!r}")
    return ze + (limit - ze) / number("factor", factor, low=1.0)


def fault_current_a(u_v: float, z_ohm: float, c: float = 1.0) -> float:
    """Current of a fault of no impedance: I = c·U/Z.

    u_v [V] > 0 across the loop; z_ohm [Ω] > 0, infinite gives 0; c [1] > 0 voltage factor. Returns [A].
    Raises OutOfDomain; a loop shown as 0.00 has no current to state: use fault_current_band_a.
    Source: Ohm. Checked with published 240 V, 0.08 Ω: 3000 A; 230 V, 0.03 Ω: 7666 A; 230 V, 0.4 Ω:
    575 A; pandapower for a line to earth fault.
    """
    return positive("c", c) * positive("u_v", u_v) / number("z_ohm", z_ohm, low=0.0, above=True, infinite=True)


def fault_current_band_a(u_v: float, z_low_ohm: float, z_high_ohm: float, c: float = 1.0) -> tuple[float, float]:
    """Band of fault current from a band of the loop: c·U/Z_high … c·U/Z_low.

    u_v [V] > 0; z_low_ohm … z_high_ohm [Ω], high > 0; a low edge at or below zero leaves the current
    without upper bound. Returns (low, high) [A]. Raises OutOfDomain. Source: Ohm. Checked with limits.
    """
    low, high = band("loop", z_low_ohm, z_high_ohm)
    return fault_current_a(u_v, high, c), fault_current_a(u_v, low, c) if low > 0 else math.inf


def digit_step_band_a(u_v: float, z_ohm: float, step_ohm: float, c: float = 1.0) -> tuple[float, float]:
    """What one last digit of the display means to the current: the band for Z ± step/2.

    u_v [V] > 0; z_ohm [Ω] >= 0 as shown; step_ohm [Ω] > 0 the display's resolution. Returns (low, high)
    [A], high infinite when the digits allow zero. Raises OutOfDomain. Source: method of this project.
    Checked with 0.03 Ω at 230 V in steps of 0.01 Ω: 6.6 … 9.2 kA.
    """
    shown, half = number("z_ohm", z_ohm, low=0.0), positive("step_ohm", step_ohm) / 2
    return fault_current_band_a(u_v, shown - half, shown + half, c)


def three_phase_doubled_a(line_neutral_a: float) -> float:
    """Three-phase fault current from line to neutral by doubling: Ik3 = 2·I_LN.

    line_neutral_a [A] >= 0. Exact when line and neutral are alike, U/Z against U/(2·Z); otherwise at least
    the true value as long as the neutral's impedance is not more than the line's. Returns [A]. Raises
    OutOfDomain. Source: UK practice. Checked with a balanced star network.
    """
    return 2 * unbounded("line_neutral_a", line_neutral_a)


def three_phase_root3_a(single_a: float) -> float:
    """Three-phase fault current as √3 times a single-phase value: Ik3 = √3·I.

    single_a [A] >= 0. Measured line to neutral, this understates a network of equal lines and neutral by 13
    %, so three_phase_doubled_a is the cautious one. Returns [A]. Raises OutOfDomain. Source: a second
    convention in print. Checked with published 3000 A: 5190 A (printed with 1.73).
    """
    return math.sqrt(3) * unbounded("single_a", single_a)
