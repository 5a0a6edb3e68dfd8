"""Resistance of conductors: by length, at temperature, in pairs, in parallel; the length it implies."""

from __future__ import annotations

import math

from earthwright.physics.domain import OutOfDomain, band, not_negative, number, positive, resistance, unbounded

ALPHA_COPPER_PER_K = 0.00393
"""Temperature coefficient of annealed copper at 20 degC (IEC 60028; wire makers' tables)."""
BETA_COPPER_C = 234.5
"""Reciprocal coefficient at 0 degC of copper (IEC 60949, table of materials)."""
BETA_ALUMINIUM_C = 228.0
"""Reciprocal coefficient at 0 degC of aluminium (IEC 60949, table of materials)."""
FLAT_PER_K = 0.004
"""The trade's flat coefficient at 20 degC for copper and aluminium (IEC 60228 annex; UK on-site practice)."""
REFERENCE_C = 20.0
"""Temperature of conductor tables (IEC 60228)."""


def resistance_ohm(length_m: float, r_mohm_per_m: float, factor: float = 1.0) -> float:
    """Resistance of a length of conductor: R = L · r · F / 1000.

    length_m [m] >= 0; r_mohm_per_m [mΩ/m] > 0 at 20 °C; factor [1] > 0, temperature and make together.
    Returns [Ω]. Raises OutOfDomain. Source: IEC 60228 gives r; the product is definition.
    Checked with published examples (22 m of 2.5 mm² is 0.163 Ω; 50 m of 1.5/1.0 mm² is 1.51 Ω).
    """
    length, r = not_negative("length_m", length_m), positive("r_mohm_per_m", r_mohm_per_m)
    return length * r * positive("factor", factor) / 1000


def band_ohm(
    low_m: float, high_m: float, r_mohm_per_m: float, make: tuple[float, float], more_ohm: float = 0.0
) -> tuple[float, float]:
    """Band of a conductor between two lengths: L_low · r · m_low / 1000 … L_high · r · m_high / 1000 + connections.

    low_m, high_m [m]; r_mohm_per_m [mΩ/m] the table maximum at the temperature of the test; make [1] share of it that
    real cable has; more_ohm [Ω] what joints and connections may add; an infinite length gives infinity. Returns (low,
    high) [Ω]. Raises OutOfDomain. Source: method of this project, conductors. Checked with 24 ± 2 m of 10 mm².
    """
    r = positive("r_mohm_per_m", r_mohm_per_m) / 1000.0
    low, high = unbounded("low_m", low_m), unbounded("high_m", high_m)
    more = not_negative("more_ohm", more_ohm)
    return low * r * positive("make", make[0]), high * r * positive("make", make[1]) + more


def factor_of(material: str, temp_c: float) -> float:
    """Temperature factor on a 20 °C resistance by the law of the material: aluminium by its β, all else as copper.

    temp_c [°C]. Returns [1]. Raises OutOfDomain as the laws do. Source: see factor_beta and factor_alpha.
    """
    return factor_beta(temp_c, BETA_ALUMINIUM_C) if material == "aluminium" else factor_alpha(temp_c)


def _law(name: str, factor: float, temp_c: float) -> float:
    if factor <= 0:
        raise OutOfDomain(f"temp_c: {temp_c!r} degC is too cold for the {name} law")
    return factor


def factor_alpha(temp_c: float, alpha_per_k: float = ALPHA_COPPER_PER_K) -> float:
    """Temperature factor on a 20 °C resistance by coefficient: F = 1 + alpha·(θ - 20).

    temp_c [°C]; alpha_per_k [1/K] > 0, 0.00393 for copper. Returns [1]. Raises OutOfDomain if F would not
    be positive. Range: about -50 … 200 °C. Source: IEC 60028. Checked with closed form at 20 and 70 °C.
    """
    factor = 1 + positive("alpha_per_k", alpha_per_k) * (number("temp_c", temp_c) - REFERENCE_C)
    return _law("alpha", factor, temp_c)


def factor_beta(temp_c: float, beta_c: float = BETA_COPPER_C) -> float:
    """Temperature factor on a 20 °C resistance by reciprocal coefficient: F = (β + θ)/(β + 20).

    temp_c [°C]; beta_c [°C] > 0, 234.5 for copper, 228 for aluminium. Returns [1]. Raises OutOfDomain if F
    would not be positive. Range: about -50 … 250 °C. Source: IEC 60949; the denominators are 254.5 and 248.
    Checked with published resistances at 45, 60, 75 and 90 °C.
    """
    beta = positive("beta_c", beta_c)
    return _law("beta", (beta + number("temp_c", temp_c)) / (beta + REFERENCE_C), temp_c)


def factor_flat(temp_c: float) -> float:
    """Temperature factor on a 20 °C resistance by the trade's flat rule: F = 1 + 0.004·(θ - 20).

    temp_c [°C]. Returns [1]: 1.20 at 70 °C, 1.28 at 90 °C, 0.94 at 5 °C. Raises OutOfDomain if F would not
    be positive. Source: UK on-site practice (values from memory). Checked with the published multipliers.
    """
    return _law("flat", 1 + FLAT_PER_K * (number("temp_c", temp_c) - REFERENCE_C), temp_c)


def implied_length_m(r_ohm: float, r_mohm_per_m: float, factor: float = 1.0) -> float:
    """Length that would have this resistance: L = 1000·R/(r·F).

    r_ohm [Ω] >= 0, infinity gives infinity; r_mohm_per_m [mΩ/m] > 0; factor [1] > 0. Returns [m]. Raises
    OutOfDomain. Source: inverse of resistance_ohm. Checked with published 0.163 Ω of 2.5 mm² is 22 m.
    """
    per_m = positive("r_mohm_per_m", r_mohm_per_m) * positive("factor", factor)
    return 1000 * resistance("r_ohm", r_ohm) / per_m


def implied_length_band_m(
    r_low_ohm: float,
    r_high_ohm: float,
    r_mohm_per_m: float,
    make_low: float,
    make_high: float = 1.0,
    factor: float = 1.0,
) -> tuple[float, float]:
    """Band of lengths that a band of readings allows: 1000·R_low/(r·m_high·F) … 1000·R_high/(r·m_low·F).

    r_low_ohm, r_high_ohm [Ω], a low edge below zero counts as zero, the high one may be infinite;
    r_mohm_per_m [mΩ/m] the table maximum; make_low … make_high [1] how much better than the maximum real
    cable may be; factor [1]. Returns (low, high) [m]. Raises OutOfDomain. Source: method of this project,
    conductors. Checked with 0.00 ± 0.02 Ω of 16 mm² (0 … 17 m with make 1) and 0.01 Ω of 10 mm² (5.5 m).
    """
    low, high = band("reading", r_low_ohm, r_high_ohm)
    best, worst = band("make", positive("make_low", make_low), positive("make_high", make_high))
    return (
        implied_length_m(max(low, 0.0), r_mohm_per_m, factor * worst),
        implied_length_m(high, r_mohm_per_m, factor * best),
    )


def size_ratio(line_mm2: float, cpc_mm2: float) -> float:
    """R2/R1 expected from areas alone: S_line/S_cpc, 1.67 for 2.5/1.5 mm².

    line_mm2, cpc_mm2 [mm²] > 0. Returns [1]. Raises OutOfDomain. Source: trade practice for ring finals.
    Note: table resistances give 12.1/7.41 = 1.63 for the same cable; state which was used. Checked with
    published 1.67.
    """
    return positive("line_mm2", line_mm2) / positive("cpc_mm2", cpc_mm2)


def resistance_ratio(line_mohm_per_m: float, cpc_mohm_per_m: float) -> float:
    """R2/R1 expected from table resistances: r_cpc/r_line, 1.63 for 2.5/1.5 mm².

    line_mohm_per_m, cpc_mohm_per_m [mΩ/m] > 0. Returns [1]. Raises OutOfDomain. Source: IEC 60228 values.
    Checked with 12.1/7.41.
    """
    return positive("cpc_mohm_per_m", cpc_mohm_per_m) / positive("line_mohm_per_m", line_mohm_per_m)


def split_r1r2(r1r2: float, ratio: float) -> tuple[float, float]:
    """R1 and R2 from their sum: R1 = (R1+R2)/(1 + ratio), R2 = the rest, with ratio = R2/R1.

    r1r2 [Ω] >= 0, infinity makes both infinite; ratio [1] > 0 from size_ratio or resistance_ratio. Returns
    (R1, R2) [Ω]. Raises OutOfDomain. Source: trade practice, 2.67 for 2.5/1.5 mm² by area. An open sum does
    not tell which is open. Checked with published 0.85 Ω gives R1 0.32 Ω and 11.49 Ω gives 4.30 Ω.
    """
    total = resistance("r1r2", r1r2)
    r1 = total / (1 + positive("ratio", ratio))
    return r1, r1 * ratio


def split_by_area(r1r2: float, line_mm2: float, cpc_mm2: float) -> tuple[float, float]:
    """R1 and R2 from their sum by conductor areas; see split_r1r2 and size_ratio."""
    return split_r1r2(r1r2, size_ratio(line_mm2, cpc_mm2))


def parallel(*values: float) -> float:
    """Resistances side by side: R = 1/Σ(1/R_i).

    values [any one unit of resistance] >= 0; an infinite one is open and adds nothing, a zero one shorts all.
    Returns the same unit; infinity when nothing conducts or no value is given. Raises OutOfDomain.
    Source: Kirchhoff. Checked with published four of 4 MΩ is 1 MΩ, and limits.
    """
    checked = [resistance(f"values[{place}]", value) for place, value in enumerate(values)]
    least = min(checked, default=math.inf)
    if least == 0 or math.isinf(least):
        return least
    # scaled by the smallest so that neither very small nor very large values overflow
    return least / math.fsum(least / value for value in checked)


def strand_csa_mm2(strands: int, diameter_mm: float) -> float:
    """Area of a stranded conductor from what can be seen: S = n·π·d²/4.

    strands [1] >= 1; diameter_mm [mm] > 0 of one strand. Returns [mm²]. Raises OutOfDomain. Source: geometry.
    Checked with 7/1.35 is 10 mm², 7/1.04 is 6 mm², 7/0.85 is 4 mm², 7/1.70 is 16 mm² (nominal).
    """
    return number("strands", strands, low=1) * math.pi * positive("diameter_mm", diameter_mm) ** 2 / 4
