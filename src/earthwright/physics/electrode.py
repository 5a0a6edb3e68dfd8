"""Earth electrodes: what one should measure in a given soil, and what three stake positions agree on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from earthwright.physics.domain import OutOfDomain, number, positive, resistance

Q_STRIP, Q_ROUND = -1.0, -1.3
"""Shape terms of a buried strip and round conductor (BS 7430, from memory; Dwight: -1.307 for round)."""


def rod_ohm(rho_ohm_m: float, length_m: float, diameter_m: float) -> float:
    """A vertical rod: R = rho/(2·π·L)·(ln(8·L/d) - 1).

    rho_ohm_m [Ω·m] > 0; length_m [m] > 0 in the soil; diameter_m [m] > 0. Returns [Ω]. Raises OutOfDomain
    for a rod shorter than thick. Range: even soil, L much larger than d. Source: BS 7430 9.5.3, IEEE 142.
    Checked with published 55 Ω·m, 3 m, 25 mm: 17.12 Ω.
    """
    length, diameter = positive("length_m", length_m), positive("diameter_m", diameter_m)
    if length <= diameter:
        raise OutOfDomain(f"length_m: expected more than the diameter {diameter_m!r}, found {length_m!r}")
    return positive("rho_ohm_m", rho_ohm_m) / (2 * math.pi * length) * (math.log(8 * length / diameter) - 1)


def spacing_factor(rho_ohm_m: float, r_ohm: float, spacing_m: float) -> float:
    """How much rods disturb each other: a = rho/(2·π·R·s).

    rho_ohm_m [Ω·m] > 0; r_ohm [Ω] > 0 of one rod; spacing_m [m] > 0. Returns [1]. Raises OutOfDomain.
    Range: spacing not less than the rod's length. Source: BS 7430 9.5.4. Checked with published 0.0511.
    """
    return positive("rho_ohm_m", rho_ohm_m) / (
        2 * math.pi * positive("r_ohm", r_ohm) * positive("spacing_m", spacing_m)
    )


def rods_ohm(r_ohm: float, count: int, alpha: float, lambda_: float) -> float:
    """Equal rods joined together: R = R1/n·(1 + lambda·a), at most R1.

    r_ohm [Ω] > 0 of one rod; count [1] >= 1, a whole number; alpha [1] >= 0 from spacing_factor; lambda_
    [1] >= 0 for the arrangement (1 for two rods). Returns [Ω], cut at R1, since no further rod makes
    an electrode worse. Raises OutOfDomain. Source: BS 7430 9.5.4. Checked with published nine rods:
    1.99 Ω, and two point sources.
    """
    if isinstance(count, bool) or not isinstance(count, int) or count < 1:
        raise OutOfDomain(f"count: expected a whole number of at least 1, found {count!r}")
    one, joined = positive("r_ohm", r_ohm), number("count", count)
    crowding = number("alpha", alpha, low=0.0) * number("lambda_", lambda_, low=0.0)
    return min(one, one / joined * (1 + crowding))


def strip_ohm(rho_ohm_m: float, length_m: float, depth_m: float, width_m: float, q: float = Q_STRIP) -> float:
    """A buried strip or round conductor: R = rho/(2·π·L)·(ln(2·L²/(w·h)) + Q).

    rho_ohm_m [Ω·m] > 0; length_m [m] > 0; depth_m h [m] > 0; width_m w [m] > 0 of the strip or diameter; q
    [1] -1 strip, -1.3 round. Returns [Ω]. Raises OutOfDomain where the formula would not be positive.
    Range: straight, L much larger than h and w. Source: BS 7430 9.5.5 (from memory), form after Dwight
    1936. Checked with Dwight's expression for a buried horizontal wire.
    """
    length, across = (
        positive("length_m", length_m),
        positive("depth_m", depth_m) * positive("width_m", width_m),
    )
    shape = math.log(2 * length**2 / across) + number("q", q)
    if shape <= 0:
        raise OutOfDomain(f"length_m: {length_m!r} m is too short for the formula at this depth and width")
    return positive("rho_ohm_m", rho_ohm_m) / (2 * math.pi * length) * shape


def plate_ohm(rho_ohm_m: float, area_m2: float) -> float:
    """A plate: R = rho/4·√(π/A).

    rho_ohm_m [Ω·m] > 0; area_m2 [m²] > 0 of one face. Returns [Ω]. Raises OutOfDomain. Source: BS 7430 9.5.2.
    Checked with published 100 Ω·m, 1 m²: 44.3 Ω.
    """
    return positive("rho_ohm_m", rho_ohm_m) / 4 * math.sqrt(math.pi / positive("area_m2", area_m2))


@dataclass(frozen=True, slots=True)
class FallOfPotential:
    """Three readings, potential stake moved: mean [Ω] and the largest deviation from it as a fraction."""

    mean_ohm: float
    deviation: float


def fall_of_potential(middle_ohm: float, nearer_ohm: float, farther_ohm: float) -> FallOfPotential:
    """Mean of three stake positions and how far they disagree: R = Σ R_i/3, deviation = max|R_i - R|/R.

    middle_ohm, nearer_ohm, farther_ohm [Ω] > 0 with the potential stake at its place, nearer the electrode,
    and farther. Returns FallOfPotential. Raises OutOfDomain. How much deviation is too much is a rule.
    Source: UK practice, BS 7430. Checked with closed forms and with the two-source potential of a
    hemisphere.
    """
    three = (
        positive("middle_ohm", middle_ohm),
        positive("nearer_ohm", nearer_ohm),
        positive("farther_ohm", farther_ohm),
    )
    mean = math.fsum(three) / 3
    return FallOfPotential(mean, max(abs(one - mean) for one in three) / mean)


def touch_product_v(ra_ohm: float, idn_a: float) -> float:
    """Voltage that the rated residual current makes across the earthing: U = RA·IΔn.

    ra_ohm [Ω] >= 0, infinite allowed; idn_a [A] > 0. Returns [V], to be compared with 50 V. Raises
    OutOfDomain. Source: BS 7671 411.5.3. Checked with 1840 Ω at 30 mA (55 V) and 100 mA (184 V).
    """
    return resistance("ra_ohm", ra_ohm) * positive("idn_a", idn_a)
