"""Continuity of the conductors of a radial: R1+R2 and R2 against length, size and temperature, and against each other."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import evolve

from ...base.digits import Kind
from ...base.errors import Finding
from ...base.figure import shown_span
from ...base.quantity import Band
from ...evidence.graph.lengths import CONNECTIONS_OHM
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import FAILS, NO_RULE, NOT_DECIDED
from ...physics.conductor import band_ohm, implied_length_band_m, resistance_ratio
from ...rules.lookup import standard_sizes
from ...site.events import Reading, State
from ...site.installation import Circuit
from ...site.reading import Corrected
from ..earth import Earth
from . import words_dead as say
from .limits import Case, counting, without_value
from .parallel_metal import Should, broken_elsewhere, held, reads_alone, should_be, ways_ohm
from .runs import FREE_END, TESTS, Run, conductor_mohm_per_m, not_free, run_to
from .worst_reading import highest


def continuity_rows(case: Case, circuit: Circuit, earth: Earth) -> tuple[TestJudged, ...]:
    """One row for each point at which R1+R2 or R2 was read."""
    rows = []
    for test in TESTS:
        for point, readings in case.taken.by_point(circuit.id, test).items():
            void = without_value(case, circuit.id, test, point, readings)
            rows.append(void or _row(case, circuit, test, point, readings, earth))
    return tuple(rows)


def _row(
    case: Case, circuit: Circuit, test: str, point: str, readings: tuple[Reading, ...], earth: Earth
) -> TestJudged:
    counted = counting(readings)
    reading = _deciding(case, circuit, test, counted)
    corrected = case.taken.corrected(reading)
    state = case.taken.state(reading)
    run = run_to(case, circuit, test, point)
    should = should_be(case, circuit, reading, run, state, earth)
    open_ = reading.shown is not None and reading.shown.kind is Kind.OVER
    outcome, why = _outcome(corrected, open_ and not should.lifted)
    inside = _inside(corrected, should.band, open_)
    findings: list[Finding] = []
    if not_free(circuit, reading, state.off):
        outcome, why = NOT_DECIDED, "the free end says that its cpc was off, but no step took it off"
        findings.append(_not_off(circuit, reading, state))
    elif should.lifted and outcome == NO_RULE:
        why = "read with its protective conductor off, so it shows other metal only"
    elif outcome == FAILS:
        findings.append(_open(circuit, test, point))
    elif outcome == NO_RULE and run is not None and corrected.band is not None:
        outcome, why, said = _beside(case, circuit, reading, run, should, state, earth, corrected.band, inside)
        findings += said
    ratio = _ratio(case, circuit, point) if test == "r2" and not should.ways and not should.lifted else None
    if ratio is not None:
        findings.append(ratio)
    if reading.method == "calculated":
        outcome, why = NOT_DECIDED, "worked out from the loop, not measured: it proves no continuity"
    words = say.sentences(
        say.was_read(say.NAMES[test], counted, point),
        say.lies(should.band, inside),
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
        should.band,
        should.band.assumed if should.band else (),
        inside,
        (),
        outcome,
        reason=why,
        words=words,
        sums=_sums(case, circuit, run, corrected, should),
        findings=tuple(findings),
    )


def _beside(
    case: Case,
    circuit: Circuit,
    reading: Reading,
    run: Run,
    should: Should,
    state: State,
    earth: Earth,
    band: Band,
    inside: bool | None,
) -> tuple[str, str, tuple[Finding, ...]]:
    """A reading beside what its run should show: outcome, why, and what it may mean where it lies outside."""
    outcome, why = held(run, should, band, inside)
    if why:
        return outcome, why, ()
    if reading.shown is not None and reading.shown.digits <= 0 and band.high < run.least_ohm:
        return NOT_DECIDED, "a line of that length cannot read zero, so it proves nothing", ()
    if should.band is None:  # the way over a sub-main or metal of which nothing is known: nothing to hold it against
        return outcome, why, ()
    bare = evolve(run, band=should.band)
    elsewhere = broken_elsewhere(circuit, reading, run, should, state, earth, band)
    alone = should.alone if elsewhere and band.low > bare.band.high else None
    if alone is not None and band.touches(alone):
        said: tuple[Finding, ...] = (reads_alone(circuit, reading, bare.band, alone, elsewhere),)
    else:
        said = _against(case, circuit, reading, bare, band, should, elsewhere)
    if _by_other_metal(bare, band):
        return NOT_DECIDED, "lower than its copper, so it does not prove the protective conductor", said
    return outcome, why, said


def _deciding(case: Case, circuit: Circuit, test: str, counted: Sequence[Reading]) -> Reading:
    """The worst of the readings through the conductor; those of other metal only, or of a state not as said, do not count for it."""

    def through(r: Reading) -> bool:
        off = case.taken.state(r).off
        lifted = test == "r2" and r.between != FREE_END and f"{circuit.id}:cpc" in off
        return not lifted and not not_free(circuit, r, off)

    return highest(case, [r for r in counted if through(r)] or list(counted))


def _outcome(corrected: Corrected, open_: bool) -> tuple[str, str]:
    """There is no limit in ohms: an open conductor fails, what does not count is not decided, the rest has no rule."""
    if not corrected.usable:
        return NOT_DECIDED, corrected.refusal
    if not open_:
        return NO_RULE, ""
    if corrected.trust.after_good:
        return FAILS, "over-range, and the leads were good afterwards"
    return NOT_DECIDED, "over-range, but the leads were not shorted afterwards, so a lead may have been off"


def _inside(corrected: Corrected, expected: Band | None, open_: bool) -> bool | None:
    if expected is None or not corrected.usable:
        return None
    if open_:
        return False
    return None if corrected.band is None else corrected.band.touches(expected)


def _not_off(circuit: Circuit, reading: Reading, state: State) -> Finding:
    return Finding.of(
        "state.contradiction",
        f"circuit {circuit.id}, reading {reading.id}",
        "The state contradicts the reading: the free end says that its cpc was off, but no step took it off.",
        circuit.id,
        f"'off = \"{circuit.id}:cpc\"' in a step before it",
        f"off at that moment: {', '.join(sorted(state.off)) or 'nothing'}",
        "Write down what was off, or take the reading again.",
    )


def _open(circuit: Circuit, test: str, point: str) -> Finding:
    name = say.NAMES[test]
    return Finding.of(
        "continuity.open",
        f"circuit {circuit.id}, {name}{f', {point}' if point else ''}",
        f"{name} is open.",
        circuit.id,
        "a continuous conductor",
        "over-range, and the leads good afterwards",
        "Look at the terminals on the way, point by point from the board; do not energise the circuit without its earth.",
        "A conductor that is off at a terminal or a point not on this circuit reads the same.",
    )


def _by_other_metal(run: Run, band: Band) -> bool:
    """Whether it is lower than its own copper can be, and not so low that no conductor of that length reads it."""
    return run.least_ohm <= band.high < run.band.low


def _against(
    case: Case,
    circuit: Circuit,
    reading: Reading,
    run: Run,
    band: Band,
    should: Should,
    elsewhere: Sequence[tuple[str, str]],
) -> tuple[Finding, ...]:
    """What a reading outside its band may mean: other metal, a shorter or longer route, a smaller size, a poor joint."""
    where = f"circuit {circuit.id}, {say.NAMES[reading.test]}{f', {reading.point}' if reading.point else ''}"
    expected, shown = shown_span(run.band), str(reading.shown)
    if band.high < run.least_ohm:
        return ()  # the check of floors over the whole visit speaks of these
    if _by_other_metal(run, band):
        return (
            Finding.of(
                "continuity.parallel",
                where,
                "Lower than its own copper can be, so other metal carried part of the test current: it does not prove the "
                "protective conductor.",
                circuit.id,
                expected,
                shown,
                "Take the cpc off at the board or part the other metal, and read again with only the conductor in the path.",
                "A metal box, pipe or frame at the point joins it to earth by another way; the route may also be shorter or "
                "the size larger than entered. A broken cpc could read the same.",
            ),
        )
    if band.low > run.band.high:
        # Beside other metal a length or a size does not follow from the digits.
        own = _explanations(case, circuit, reading.test, run, band, should) if should.ways is None else []
        return (
            Finding.of(
                "continuity.high",
                where,
                "Higher than its copper and connections explain.",
                circuit.id,
                expected,
                shown,
                "Measure from point to point to see whether it comes at one place; look at that terminal.",
                say.best_first([*(said for _, said in elsewhere), *own]),
            ),
        )
    return ()


def _without(band: Band, before: Band | None) -> Band:
    """What is left of a reading for the circuit itself when it began at the MET."""
    if before is None:
        return band
    return Band(max(0.0, band.low - before.high), max(0.0, band.high - before.low), band.unit)


def _explanations(case: Case, circuit: Circuit, test: str, run: Run, band: Band, should: Should) -> list[str]:
    """What would make the digits, likeliest kind first, each with its figure."""
    found = [f"one poor joint of {band.low - run.band.high:.2f} to {band.high - run.band.low:.2f} Ω"]
    if circuit.stretches:  # neither one length nor one size follows from the digits
        return found
    band = _without(band, should.before)
    low, high = implied_length_band_m(band.low, band.high, run.r_mohm_per_m, *case.make)
    found.append(f"a route of {low:.0f} to {high:.0f} m instead of {run.length[0]:.0f} to {run.length[1]:.0f} m")
    line = conductor_mohm_per_m(case, circuit, circuit.line_mm2) if test == "r1r2" else 0.0
    edition = case.limits.edition
    sizes = standard_sizes(edition) if edition is not None and edition.has("sizes.standard") else ()
    if circuit.cpc_mm2 is not None and line is not None:
        for size in reversed(sizes):
            r = conductor_mohm_per_m(case, circuit, size) if 1.0 <= size < circuit.cpc_mm2 else None
            if r is None:
                continue
            least, most = band_ohm(*run.length, line + r, case.make, CONNECTIONS_OHM)
            if band.low <= most and least <= band.high:
                found.append(f"a cpc of {size:g} mm² instead of {circuit.cpc_mm2:g} mm²")
                break
    return found


def _ratio(case: Case, circuit: Circuit, point: str) -> Finding | None:
    """R2/R1 against the ratio of the sizes, where R1+R2 and R2 were both read at a point."""
    both, lifted = [], set()
    for test in TESTS:
        counted = counting(case.taken.by_point(circuit.id, test).get(point, ()))
        corrected = case.taken.corrected(counted[-1]) if counted else None
        if corrected is None or corrected.band is None or not corrected.usable:
            return None
        both.append(corrected.band)
        lifted.add(f"{circuit.id}:cpc" in case.taken.state(counted[-1]).off)
    if len(lifted) > 1:
        return None  # one with the cpc off and one with it on: other metal may have helped the one and not the other
    line = conductor_mohm_per_m(case, circuit, circuit.line_mm2)
    cpc = conductor_mohm_per_m(case, circuit, circuit.cpc_mm2)
    total, r2 = both
    if line is None or cpc is None:
        return None
    ratios = [resistance_ratio(line, cpc), *_ratios(case, circuit)]
    low, high = min(ratios) * case.make[0], max(ratios) / case.make[0]
    # Connections may all lie in the cpc: they raise R2 and leave R1 as it is.
    without = max(0.0, r2.low - CONNECTIONS_OHM)
    least = without / (total.high - r2.low) if total.high > r2.low else math.inf
    most = r2.high / (total.low - r2.high) if total.low > r2.high else math.inf
    if least <= high and most >= low:
        return None
    below = most < low
    return Finding.of(
        "continuity.ratio",
        f"circuit {circuit.id}, R2{f', {point}' if point else ''}",
        f"R2 is {'less' if below else 'more'} of R1 than the sizes allow.",
        circuit.id,
        f"R2/R1 of {low:.2f} to {high:.2f} for {circuit.line_mm2:g} and {circuit.cpc_mm2:g} mm²",
        f"R2/R1 of {least:.2f} to {'any' if math.isinf(most) else f'{most:.2f}'}",
        "Read both again at the same point with the same leads.",
        "Other metal may lie beside the cpc, or R2 was read to a point of another circuit."
        if below
        else "A poor joint in the cpc, a smaller cpc than entered, or a long lead not allowed for.",
    )


def _ratios(case: Case, circuit: Circuit) -> list[float]:
    """R2/R1 of each length of a cable that changes: that of the whole lies between them."""
    found = []
    for s in circuit.stretches:
        line = conductor_mohm_per_m(case, circuit, s.line_mm2)
        cpc = conductor_mohm_per_m(case, circuit, s.cpc_mm2 or circuit.cpc_mm2)
        found += [resistance_ratio(line, cpc)] if line is not None and cpc is not None else []
    return found


def _sums(case: Case, circuit: Circuit, run: Run | None, corrected: Corrected, should: Should) -> tuple[str, ...]:
    lines: list[str] = []
    if run is not None:
        low, high = run.length
        more = run.band.high - high * run.r_mohm_per_m / 1000.0
        lines += run.added_up
        lines += [
            f"Low: {low:g} m × {run.r_mohm_per_m:.3g} mΩ/m × {case.make[0]:g} = {run.band.low:.3f} Ω",
            f"High: {high:g} m × {run.r_mohm_per_m:.3g} mΩ/m + connections {more:.3g} Ω = {run.band.high:.3f} Ω",
        ]
    if should.ways is not None:
        lines.append(f"Beside it {say.listed(should.ways.said)}: {ways_ohm(should.ways.band)}")
        if should.band is not None:
            lines.append(f"Side by side: {shown_span(should.band)}")
    if should.before is not None:
        lines.append(f"From the MET to the board: {ways_ohm(should.before)}")
    if corrected.quantity is not None:
        lines.append(f"Read: {corrected.quantity.value:.3f} Ω, standard uncertainty {corrected.quantity.u:.4f} Ω")
    if (
        run is not None
        and corrected.band is not None
        and should.ways is None
        and not (should.lifted or circuit.stretches)
    ):
        own = _without(corrected.band, should.before)
        low, high = implied_length_band_m(own.low, own.high, run.r_mohm_per_m, *case.make)
        lines.append(f"Length that the reading stands for: {low:.0f} to {high:.0f} m")
    return tuple(lines)
