"""The 400 V example of IEC TR 60909-4: its network by complex nodal sums (numpy), its currents by our formulas.

Impedances as in the example: feeder 10 kA at 20 kV, R/X 0.1; transformers 630 kVA and 400 kVA, 20/0.41 kV, 4 %, with the
correction factor of IEC 60909-0; cables L1 to L3, overhead line L4. Zero sequence as stated there, transformers Dyn.
"""

from __future__ import annotations

import math

import numpy as np
import trade_sums

from earthwright.physics import loop

from .common import Inputs, Route, Rules

C_MAX, C_FEEDER = 1.05, 1.1
T1, F1, T2, F2, IC, F3 = "T1", "F1", "T2", "F2", "IC", "F3"
PLACES = (F1, T2, F2, IC, F3)

# name, from, to, in parallel, length [km], then R' and X' [Ω/km]: positive, zero sequence
CABLES = (
    ("L1", F1, F2, 2, 0.010, 0.077, 0.079, 0.2849, 0.14299),
    ("L2", T2, F2, 2, 0.004, 0.208, 0.068, 0.87984, 0.08228),
    ("L3", F2, IC, 1, 0.020, 0.271, 0.087, 0.813, 0.38802),
    ("L4", IC, F3, 1, 0.050, 0.3704, 0.297, 0.7408, 0.891),
)
# place on the low voltage side, rating [MVA], then short-circuit voltage and its resistive part [%]: positive, zero
TRANSFORMERS = ((F1, 0.63, 4.0, 1.03174603, 3.81363225, 1.03174603), (T2, 0.40, 4.0, 1.15, 3.81692839, 1.15))


def _of_percent(uk: float, ukr: float, rating_mva: float) -> complex:
    base = 0.41**2 / rating_mva
    return complex(ukr, math.sqrt(uk**2 - ukr**2)) / 100 * base


def _feeder() -> complex:
    size = C_FEEDER * 20**2 / (math.sqrt(3) * 20 * 10) * (0.41 / 20) ** 2
    x = size / math.hypot(1, 0.1)
    return complex(0.1 * x, x)


def _seen_from(place: str, zero: bool) -> complex:
    """Impedance between a place and the reference of one sequence [Ω]."""
    names = [*PLACES] if zero else [*PLACES, "HV"]
    y = np.zeros((len(names), len(names)), dtype=complex)

    def join(a: str, b: str | None, z: complex) -> None:
        i = names.index(a)
        y[i, i] += 1 / z
        if b is not None:
            j = names.index(b)
            y[j, j] += 1 / z
            y[i, j] -= 1 / z
            y[j, i] -= 1 / z

    for _, a, b, count, km, r, x, r0, x0 in CABLES:
        join(a, b, (complex(r0, x0) if zero else complex(r, x)) * km / count)
    for at, rating, uk, ukr, uk0, ukr0 in TRANSFORMERS:
        relative_x = math.sqrt(uk**2 - ukr**2) / 100
        correction = 0.95 * C_MAX / (1 + 0.6 * relative_x)
        own = _of_percent(uk0, ukr0, rating) if zero else _of_percent(uk, ukr, rating)
        # In zero sequence a transformer with a delta winding ends at the reference; else it goes on to the feeder.
        join(at, None if zero else "HV", correction * own)
    if not zero:
        join("HV", None, _feeder())
    place_at = names.index(place)
    return complex(np.linalg.inv(y)[place_at, place_at])


def _three_phase(i: Inputs, _: Rules) -> float:
    z = _seen_from(i["location"], zero=False)
    return trade_sums.three_phase_a(i["un_V"], abs(z), i["c"]) / 1000


def _to_earth(i: Inputs, _: Rules) -> float:
    """The loop of a fault to earth is (2·Z1 + Z0)/3."""
    whole = (2 * _seen_from(i["location"], zero=False) + _seen_from(i["location"], zero=True)) / 3
    return loop.fault_current_a(i["un_V"] / math.sqrt(3), abs(whole), i["c"]) / 1000


CHECKS: dict[str, tuple[Route, ...]] = {
    **{f"iec60909-{place}-3ph": (_three_phase,) for place in ("f1", "f2", "f3")},
    **{f"iec60909-{place}-1ph": (_to_earth,) for place in ("f1", "f2", "f3")},
}
