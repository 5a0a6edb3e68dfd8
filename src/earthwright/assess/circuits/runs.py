"""The conductors of a circuit up to a point: what R1+R2 and R2 should read of them alone."""

from __future__ import annotations

from collections.abc import Collection

from attrs import frozen

from ...base.quantity import Band
from ...evidence.graph.changes import CPC, LINE, alike_to
from ...evidence.graph.lengths import CONNECTIONS_OHM, WIRES
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
    cpc        the protective conductor of it by itself [Ω];  added_up  of a cable that changes, its lengths one by one
    """

    band: Band
    least_ohm: float
    r_mohm_per_m: float
    length: tuple[float, float]
    cpc: Band | None = None
    added_up: tuple[str, ...] = ()


def conductor_mohm_per_m(case: Case, circuit: Circuit, csa_mm2: float | None) -> float | None:
    """Largest resistance of a core of a circuit at the temperature of the visit [mΩ/m]; None when it is not known."""
    if csa_mm2 is None:
        return None
    return case.rulings.conductor(circuit.material, csa_mm2, case.visit.temp_c, f"circuit {circuit.id}", circuit.id)


def not_free(circuit: Circuit, reading: Reading, off: Collection[str]) -> bool:
    """Whether a reading says that it began at the conductor's free end, and no step took that end off."""
    return reading.test == "r2" and reading.between == FREE_END and f"{circuit.id}:cpc" not in off


def metres_to(case: Case, circuit: Circuit, point: str, core: str) -> tuple[float, float, str] | None:
    """Length to a point in metres of the circuit's own conductor; of a cable that changes, of its smallest."""
    return alike_to(circuit, point, core, lambda csa_mm2: conductor_mohm_per_m(case, circuit, csa_mm2))


def run_to(case: Case, circuit: Circuit, test: str, point: str) -> Run | None:
    """What R1+R2 or R2 should be at a point: ``L·(r1 + r2)·m`` to the same and connections; None if not enough is known.

    Of a cable that changes, ``Σ L·(r1 + r2)·m`` over its lengths.
    """
    line = conductor_mohm_per_m(case, circuit, circuit.line_mm2)
    cpc = conductor_mohm_per_m(case, circuit, circuit.cpc_mm2) if circuit.cpc in WIRES else None
    along, out = metres_to(case, circuit, point, CPC), metres_to(case, circuit, point, LINE)
    if cpc is None or along is None or (test == "r1r2" and (line is None or out is None)):
        return None
    loops = test == "r1r2" and line is not None and out is not None
    r = cpc + (line or 0.0) if loops else cpc
    low, high, said = along
    if loops and line is not None and out is not None:
        low, high = (along[0] * cpc + out[0] * line) / r, (along[1] * cpc + out[1] * line) / r
    # The long lead of R2 passes fewer connections than line and cpc together do.
    more = CONNECTIONS_OHM if loops else CONNECTIONS_OHM / 2.0
    sizes = f"{circuit.line_mm2:g} and {circuit.cpc_mm2:g}" if loops else f"{circuit.cpc_mm2:g}"
    changes = "; the lengths of cable added up as metres of the smallest" if circuit.stretches else ""
    band = Band(
        *band_ohm(low, high, r, case.make, more),
        "Ω",
        (
            said,
            f"{sizes} mm² {circuit.material}, together {r:.3g} mΩ/m at {case.visit.temp_c:g} °C{changes}",
            f"real conductors {case.make[0]:g} to {case.make[1]:g} of the largest resistance",
            f"connections 0 to {more:g} Ω",
        ),
    )
    least = band_ohm(*out[:2], line, case.make)[0] if loops and line is not None and out is not None else 0.0
    own = Band(*band_ohm(along[0], along[1], cpc, case.make, more), "Ω")
    return Run(band, least, r, (low, high), own, _added_up(case, circuit, test))


def _added_up(case: Case, circuit: Circuit, test: str) -> tuple[str, ...]:
    """One line for each length of a cable that changes: its metres, its resistance per length, and both multiplied."""
    lines = []
    for s in circuit.stretches:
        line = conductor_mohm_per_m(case, circuit, s.line_mm2) if test == "r1r2" else 0.0
        cpc = conductor_mohm_per_m(case, circuit, s.cpc_mm2 or circuit.cpc_mm2)
        if line is None or cpc is None:
            continue
        r = (line + cpc) / s.cables
        sum_ = "length not entered" if s.length_m is None else f"at most {s.length_m * r / 1000.0:.3f} Ω"
        lines.append(f"{s}: {r:.3g} mΩ/m, {sum_}")
    return tuple(lines)
