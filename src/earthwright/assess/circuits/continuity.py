"""Continuity of the conductors of a radial: R1+R2 and R2 against length, size and temperature, and against each other."""

from __future__ import annotations

import math

from attrs import frozen

from ...digits import Kind
from ...errors import Finding, Severity
from ...events import Reading
from ...installation import Circuit
from ...physics.conductor import implied_length_band_m, resistance_ratio
from ...quantity import Band
from ...reading import Corrected
from ...rules.lookup import standard_sizes
from ...tested import TestJudged
from ...verdict import FAILS, NO_RULE, NOT_DECIDED
from . import words_dead as say
from .limits import Case, counting, without_value

MAKE = (0.93, 1.0)
# What connections along a circuit may add beyond the conductors themselves [Ω]: terminals, probes, a few accessories.
CONNECTIONS_OHM = 0.05
TESTS = ("r1r2", "r2")


@frozen
class Run:
    """The conductors of a circuit up to a point.

    band       what the reading should be [Ω];  least_ohm  what the line alone must have, 0 for R2
    r_mohm_per_m  largest resistance of all conductors in the reading together [mΩ/m];  length  low and high [m]
    """

    band: Band
    least_ohm: float
    r_mohm_per_m: float
    length: tuple[float, float]


def continuity_rows(case: Case, circuit: Circuit) -> tuple[TestJudged, ...]:
    """One row for each point at which R1+R2 or R2 was read."""
    rows = []
    for test in TESTS:
        for point, readings in case.taken.by_point(circuit.id, test).items():
            void = without_value(case, circuit.id, test, point, readings)
            rows.append(void or _row(case, circuit, test, point, readings))
    return tuple(rows)


def conductor_mohm_per_m(case: Case, circuit: Circuit, csa_mm2: float | None) -> float | None:
    """Largest resistance of a core of a circuit at the temperature of the visit [mΩ/m]; None when it is not known."""
    if csa_mm2 is None:
        return None
    return case.rulings.conductor(circuit.material, csa_mm2, case.visit.temp_c, f"circuit {circuit.id}", circuit.id)


def length_to(circuit: Circuit, point: str) -> tuple[float, float, str] | None:
    """Shortest and longest length to a point [m] and what was assumed; None when nothing is entered.

    A point without a place may lie anywhere on the cable; without a point the furthest is meant.
    """
    whole, tolerance = circuit.length_m, circuit.length_tol_m
    if circuit.kind == "ring":
        return _on_ring(circuit, point)
    place = dict(circuit.points).get(point) if point else None
    if place is not None:
        share = tolerance / whole if tolerance is not None and whole else 0.1
        slack = max(1.0, share * place)
        return max(0.0, place - slack), place + slack, f"{point} at {place:g} ± {slack:.2g} m"
    if whole is None:
        return None
    slack = 0.1 * whole if tolerance is None else tolerance
    said = f"{whole:g} ± {slack:.2g} m" + ("" if tolerance is not None else ", tolerance not stated, a tenth taken")
    if point and len(circuit.points) > 1 and point != circuit.points[-1][0]:
        return 0.0, whole + slack, f"{point} anywhere within {whole + slack:g} m"
    return max(0.0, whole - slack), whole + slack, f"{said} to the furthest point"


# Cable to a socket that hangs on a spur; only its order of size matters for the upper edge of a ring's R1+R2.
SPUR_M = 12.0


def _on_ring(circuit: Circuit, point: str) -> tuple[float, float, str] | None:
    """Length of single cable that a place on a ring is like: both ways side by side, a quarter of the ring at most."""
    if circuit.length_m is None:
        return None
    slack = 0.1 * circuit.length_m if circuit.length_tol_m is None else circuit.length_tol_m
    low = 0.0 if point else (circuit.length_m - slack) / 4.0
    high = (circuit.length_m + slack) / 4.0 + (SPUR_M if circuit.spurs else 0.0)
    spur = f" and a spur of up to {SPUR_M:g} m" if circuit.spurs else ""
    return max(0.0, low), high, f"a ring of {circuit.length_m:g} ± {slack:.2g} m, a quarter of it at most{spur}"


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
        low * r * MAKE[0] / 1000.0,
        high * r / 1000.0 + more,
        "Ω",
        (
            said,
            f"{sizes} mm² {circuit.material}, together {r:.3g} mΩ/m at {case.visit.temp_c:g} °C",
            f"real conductors {MAKE[0]:g} to {MAKE[1]:g} of the largest resistance",
            f"connections 0 to {more:g} Ω",
        ),
    )
    least = low * line * MAKE[0] / 1000.0 if test == "r1r2" and line is not None else 0.0
    return Run(band, least, r, (low, high))


def _row(case: Case, circuit: Circuit, test: str, point: str, readings: tuple[Reading, ...]) -> TestJudged:
    counted = counting(readings)
    reading = counted[-1]
    corrected = case.taken.corrected(reading)
    state = case.taken.state(reading)
    run = run_to(case, circuit, test, point)
    open_ = reading.shown is not None and reading.shown.kind is Kind.OVER
    outcome, why = _outcome(corrected, open_)
    inside = _inside(corrected, run, open_)
    findings: list[Finding] = []
    calculated = reading.method == "calculated"
    if outcome == FAILS:
        findings.append(_open(circuit, test, point))
    elif outcome == NO_RULE and run is not None and corrected.band is not None:
        said = _against(case, circuit, test, point, run, corrected.band, str(reading.shown))
        findings += said
        if any(f.family == "continuity.parallel" for f in said):
            outcome, why = NOT_DECIDED, "lower than its copper, so it does not prove the protective conductor"
    ratio = _ratio(case, circuit, point) if test == "r2" else None
    if ratio is not None:
        findings.append(ratio)
    if calculated:
        outcome, why = NOT_DECIDED, "worked out from the loop, not measured: it proves no continuity"
    words = say.sentences(
        say.was_read(say.NAMES[test], counted, point),
        say.lies(run.band if run else None, inside),
        say.unknown_band(circuit) if run is None else "",
        say.continuity(outcome, why),
        *(f.what for f in findings),
    )
    return TestJudged(
        circuit.id,
        test,
        point,
        readings,
        state,
        corrected,
        run.band if run else None,
        run.band.assumed if run else (),
        inside,
        (),
        outcome,
        reason=why,
        words=words,
        sums=_sums(run, corrected),
        findings=tuple(findings),
    )


def _outcome(corrected: Corrected, open_: bool) -> tuple[str, str]:
    """There is no limit in ohms: an open conductor fails, what does not count is not decided, the rest has no rule."""
    if not corrected.usable:
        why = next((f.what for f in corrected.findings if f.severity is Severity.ERROR), "the reading does not count")
        return NOT_DECIDED, why.rstrip(".")
    if not open_:
        return NO_RULE, ""
    if corrected.trust.after_good:
        return FAILS, "over-range, and the leads were good afterwards"
    return NOT_DECIDED, "over-range, but the leads were not shorted afterwards, so a lead may have been off"


def _inside(corrected: Corrected, run: Run | None, open_: bool) -> bool | None:
    if run is None or not corrected.usable:
        return None
    if open_:
        return False
    return None if corrected.band is None else corrected.band.touches(run.band)


def _open(circuit: Circuit, test: str, point: str) -> Finding:
    name = say.NAMES[test]
    return Finding(
        f"circuit {circuit.id}, {name}{f', {point}' if point else ''}",
        f"{name} is open.",
        Severity.WARNING,
        "continuity.open",
        circuit.id,
        "a continuous conductor",
        "over-range, and the leads good afterwards",
        "Look at the terminals on the way, point by point from the board; do not energise the circuit without its earth.",
        "A conductor that is off at a terminal or a point not on this circuit reads the same.",
    )


def _against(
    case: Case, circuit: Circuit, test: str, point: str, run: Run, band: Band, shown: str
) -> tuple[Finding, ...]:
    """What a reading outside its band may mean: other metal, a shorter or longer route, a smaller size, a poor joint."""
    name = say.NAMES[test]
    where = f"circuit {circuit.id}, {name}{f', {point}' if point else ''}"
    expected = say.span(run.band)
    if band.high < run.least_ohm:
        return ()  # the check of floors over the whole visit speaks of these
    if band.high < run.band.low:
        return (
            Finding(
                where,
                "Lower than its own copper can be, so other metal carried part of the test current: it does not prove the "
                "protective conductor.",
                Severity.WARNING,
                "continuity.parallel",
                circuit.id,
                expected,
                shown,
                "Take the cpc off at the board or part the other metal, and read again with only the conductor in the path.",
                "A metal box, pipe or frame at the point joins it to earth by another way; the route may also be shorter or "
                "the size larger than entered. A broken cpc could read the same.",
            ),
        )
    if band.low > run.band.high:
        return (
            Finding(
                where,
                "Higher than its copper and connections explain.",
                Severity.WARNING,
                "continuity.high",
                circuit.id,
                expected,
                shown,
                "Measure from point to point to see whether it comes at one place; look at that terminal.",
                say.best_first(_explanations(case, circuit, test, run, band)),
            ),
        )
    return ()


def _explanations(case: Case, circuit: Circuit, test: str, run: Run, band: Band) -> list[str]:
    """What would make the digits, likeliest kind first, each with its figure."""
    found = [f"one poor joint of {band.low - run.band.high:.2f} to {band.high - run.band.low:.2f} Ω"]
    low, high = implied_length_band_m(band.low, band.high, run.r_mohm_per_m, *MAKE)
    found.append(f"a route of {low:.0f} to {high:.0f} m instead of {run.length[0]:.0f} to {run.length[1]:.0f} m")
    line = conductor_mohm_per_m(case, circuit, circuit.line_mm2) if test == "r1r2" else 0.0
    edition = case.limits.edition
    sizes = standard_sizes(edition) if edition is not None and edition.has("sizes.standard") else ()
    if circuit.cpc_mm2 is not None and line is not None:
        for size in reversed(sizes):
            r = conductor_mohm_per_m(case, circuit, size) if 1.0 <= size < circuit.cpc_mm2 else None
            if r is None:
                continue
            least = run.length[0] * (line + r) * MAKE[0] / 1000.0
            most = run.length[1] * (line + r) / 1000.0 + CONNECTIONS_OHM
            if band.low <= most and least <= band.high:
                found.append(f"a cpc of {size:g} mm² instead of {circuit.cpc_mm2:g} mm²")
                break
    return found


def _ratio(case: Case, circuit: Circuit, point: str) -> Finding | None:
    """R2/R1 against the ratio of the sizes, where R1+R2 and R2 were both read at a point."""
    both = []
    for test in TESTS:
        counted = counting(case.taken.by_point(circuit.id, test).get(point, ()))
        corrected = case.taken.corrected(counted[-1]) if counted else None
        if corrected is None or corrected.band is None or not corrected.usable:
            return None
        both.append(corrected.band)
    line = conductor_mohm_per_m(case, circuit, circuit.line_mm2)
    cpc = conductor_mohm_per_m(case, circuit, circuit.cpc_mm2)
    total, r2 = both
    if line is None or cpc is None:
        return None
    nominal = resistance_ratio(line, cpc)
    low, high = nominal * MAKE[0], nominal / MAKE[0]
    # Connections may all lie in the cpc: they raise R2 and leave R1 as it is.
    without = max(0.0, r2.low - CONNECTIONS_OHM)
    least = without / (total.high - r2.low) if total.high > r2.low else math.inf
    most = r2.high / (total.low - r2.high) if total.low > r2.high else math.inf
    if least <= high and most >= low:
        return None
    below = most < low
    return Finding(
        f"circuit {circuit.id}, R2{f', {point}' if point else ''}",
        f"R2 is {'less' if below else 'more'} of R1 than the sizes allow.",
        Severity.WARNING,
        "continuity.ratio",
        circuit.id,
        f"R2/R1 of {low:.2f} to {high:.2f} for {circuit.line_mm2:g} and {circuit.cpc_mm2:g} mm²",
        f"R2/R1 of {least:.2f} to {'any' if math.isinf(most) else f'{most:.2f}'}",
        "Read both again at the same point with the same leads.",
        "Other metal may lie beside the cpc, or R2 was read to a point of another circuit."
        if below
        else "A poor joint in the cpc, a smaller cpc than entered, or a long lead not allowed for.",
    )


def _sums(run: Run | None, corrected: Corrected) -> tuple[str, ...]:
    lines = []
    if run is not None:
        low, high = run.length
        more = run.band.high - high * run.r_mohm_per_m / 1000.0
        lines += [
            f"Low: {low:g} m × {run.r_mohm_per_m:.3g} mΩ/m × {MAKE[0]:g} = {run.band.low:.3f} Ω",
            f"High: {high:g} m × {run.r_mohm_per_m:.3g} mΩ/m + connections {more:.3g} Ω = {run.band.high:.3f} Ω",
        ]
    if corrected.quantity is not None:
        lines.append(f"Read: {corrected.quantity.value:.3f} Ω, standard uncertainty {corrected.quantity.u:.4f} Ω")
    if run is not None and corrected.band is not None:
        low, high = implied_length_band_m(corrected.band.low, corrected.band.high, run.r_mohm_per_m, *MAKE)
        lines.append(f"Length that the reading stands for: {low:.0f} to {high:.0f} m")
    return tuple(lines)
