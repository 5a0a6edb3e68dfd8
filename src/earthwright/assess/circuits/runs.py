"""The conductors of a circuit up to a point: what R1+R2 and R2 should read of them alone."""

from __future__ import annotations

from collections.abc import Collection

from attrs import frozen

from ...base.quantity import Band
from ...evidence.graph.lengths import CONNECTIONS_OHM, length_to
from ...physics.conductor import band_ohm
from ...site.events import Reading
from ...site.installation import Circuit
from .limits import Case

TESTS = ("r1r2", "r2")
FREE_END = "free end"


@frozen
class Run:
    """The conductors of a circuit up to a point.

    band       what the reading should be [Ω];  least_ohm  what the line alone must have, 0 for R2
    r_mohm_per_m  largest resistance of all conductors in the reading together [mΩ/m];  length  low and high [m]
    cpc        the protective conductor of it by itself [Ω]
    """

    band: Band
    least_ohm: float
    r_mohm_per_m: float
    length: tuple[float, float]
    cpc: Band | None = None


def conductor_mohm_per_m(case: Case, circuit: Circuit, csa_mm2: float | None) -> float | None:
    """Largest resistance of a core of a circuit at the temperature of the visit [mΩ/m]; None when it is not known."""
    if csa_mm2 is None:
        return None
    return case.rulings.conductor(circuit.material, csa_mm2, case.visit.temp_c, f"circuit {circuit.id}", circuit.id)


def not_free(circuit: Circuit, reading: Reading, off: Collection[str]) -> bool:
    """Whether a reading says that it began at the conductor's free end, and no step took that end off."""
    return reading.test == "r2" and reading.between == FREE_END and f"{circuit.id}:cpc" not in off


def run_to(case: Case, circuit: Circuit, test: str, point: str) -> Run | None:
    """What R1+R2 or R2 should be at a point: ``L·(r1 + r2)·m`` to the same and connections; None if not enough is known."""
    line = conductor_mohm_per_m(case, circuit, circuit.line_mm2)
    cpc = conductor_mohm_per_m(case, circuit, circuit.cpc_mm2) if circuit.cpc in ("core", "separate") else None
    length = length_to(circuit, point)
    if cpc is None or length is None or (test == "r1r2" and line is None):
        return None
    r = cpc + (line or 0.0) if test == "r1r2" else cpc
    low, high, said = length
    # The long lead of R2 passes fewer connections than line and cpc together do.
    more = CONNECTIONS_OHM if test == "r1r2" else CONNECTIONS_OHM / 2.0
    sizes = f"{circuit.line_mm2:g} and {circuit.cpc_mm2:g}" if test == "r1r2" else f"{circuit.cpc_mm2:g}"
    band = Band(
        *band_ohm(low, high, r, case.make, more),
        "Ω",
        (
            said,
            f"{sizes} mm² {circuit.material}, together {r:.3g} mΩ/m at {case.visit.temp_c:g} °C",
            f"real conductors {case.make[0]:g} to {case.make[1]:g} of the largest resistance",
            f"connections 0 to {more:g} Ω",
        ),
    )
    least = band_ohm(low, high, line, case.make)[0] if test == "r1r2" and line is not None else 0.0
    own = Band(*band_ohm(low, high, cpc, case.make, more), "Ω")
    return Run(band, least, r, (low, high), own)
