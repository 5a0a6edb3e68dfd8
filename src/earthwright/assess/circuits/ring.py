"""A ring final circuit: its end to end readings, both crossed profiles, and what they say about its wiring."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from attrs import evolve

from ...base.digits import Kind
from ...base.display import Display
from ...base.errors import Finding, NoRule
from ...base.quantity import Band, Quantity, combine
from ...evidence.bond import NOT_SHOWN, PROVED, Observed
from ...evidence.graph.lengths import WIRES, length_band, slack_m
from ...evidence.ring import RingFit, RingTest, SocketRead, fit_ring
from ...evidence.ring.model import Priors
from ...outcomes.circuits import RingJudged, SocketOnRing, TestJudged
from ...outcomes.verdict import FAILS, NO_RULE, NOT_DECIDED, Judged
from ...physics.conductor import band_ohm, implied_length_band_m
from ...rules.lookup import flat_cable_cpc, ring_agreement
from ...site.events import Reading
from ...site.installation import Circuit
from ...site.reading import Corrected
from ...site.tests import CROSSED, ENDS
from . import ring_doubt as stands
from . import words_dead as say
from . import words_ring
from .limits import Case, counting, hold_value, without_value, worst
from .runs import conductor_mohm_per_m
from .worst_reading import highest, moved


@lru_cache(maxsize=512)
def _fitted(test: RingTest, priors: Priors) -> RingFit:
    """A ring weighed; held by what was read, for most rings of a visit stay as they were."""
    return fit_ring(test, priors)


def ends_band(case: Case, circuit: Circuit) -> Band | None:
    """What R1+R2 of a ring should be by its own ends [Ω]; None for a radial and where the ends were not both read."""
    test = _test(case, circuit) if circuit.kind == "ring" else None
    return None if test is None else stands.of_the_ends(test)


def ring_rows(case: Case, circuit: Circuit) -> tuple[tuple[TestJudged, ...], RingJudged | None]:
    """The rows of a ring's tests, and what all of them together say; no judgement when nothing of it was read."""
    if not any(case.taken.of(circuit.id, test) for test in (*ENDS, *CROSSED)):
        return (), None
    read = {test: _standing(case, circuit, test) for test in ENDS}
    test = _test(case, circuit)
    fit = _fitted(test, Priors.of(case.visit.choices.assumptions)) if test is not None else None
    rows: list[TestJudged] = []
    for name in ENDS:
        readings = case.taken.of(circuit.id, name)
        if readings:
            void = without_value(case, circuit.id, name, "", readings)
            rows.append(void or _end_row(case, circuit, name, readings, read))
    sockets = _sockets(case, circuit)
    for profile, name in enumerate(CROSSED):
        for number, (point, _) in enumerate(sockets):
            readings = case.taken.by_point(circuit.id, name).get(point, ())
            if not readings:
                continue
            void = without_value(case, circuit.id, name, point, readings)
            bands = (fit.ln_expected, fit.le_expected)[profile] if fit is not None else ()
            rows.append(void or _socket_row(case, circuit, name, point, readings, bands[number] if bands else None))
    if test is None or fit is None or not any(t.corrected for t in rows):
        return tuple(rows), None
    return tuple(rows), _judged(case, circuit, test, fit, tuple(rows))


def _standing(case: Case, circuit: Circuit, test: str, point: str = "") -> Corrected | None:
    """The reading of a test that stands, corrected: open by good leads, else the highest; None when none counts."""
    counted = counting(case.taken.by_point(circuit.id, test).get(point, ()))
    corrected = case.taken.corrected(highest(case, counted)) if counted else None
    return corrected if corrected is not None and corrected.usable else None


def _sockets(case: Case, circuit: Circuit) -> tuple[tuple[str, float | None], ...]:
    """The sockets in their order from leg 1: those entered, then any that only a reading names."""
    known = dict(circuit.points)
    for test in CROSSED:
        for point in case.taken.by_point(circuit.id, test):
            if point not in known:
                known[point] = None
    return tuple(known.items())


def _observed(case: Case, corrected: Corrected | None) -> Observed | None:
    """A reading as evidence: its digits, limits of error, leads, and the checks made of them."""
    if corrected is None or corrected.reading.shown is None:
        return None
    shown, accuracy = corrected.reading.shown, corrected.accuracy
    step = float(shown.step) if shown.kind is Kind.VALUE else accuracy.step
    value = 0.0 if shown.kind is Kind.BELOW else max(0.0, shown.value)
    display = Display(accuracy.pct, accuracy.digits, max(step, accuracy.step), accuracy.top)
    good = corrected.trust.after_good is True
    return Observed("ring", value, display, corrected.offset, good, corrected.trust.apart)


def cpc_of(case: Case, circuit: Circuit) -> tuple[float | None, bool]:
    """Size of the cpc [mm²] and whether it was entered; else that of flat cable of today, as an assumption."""
    if circuit.cpc_mm2 is not None:
        return circuit.cpc_mm2, True
    if circuit.line_mm2 is None or case.limits.edition is None:
        return None, False
    try:
        return float(case.limits.ask(flat_cable_cpc, circuit.line_mm2).value), False
    except NoRule:
        return None, False


def _test(case: Case, circuit: Circuit) -> RingTest | None:
    """Everything read on a ring, for the weighing; None without sizes."""
    cpc_mm2, known = cpc_of(case, circuit)
    line = conductor_mohm_per_m(case, circuit, circuit.line_mm2)
    neutral = conductor_mohm_per_m(case, circuit, circuit.neutral_mm2 or circuit.line_mm2)
    cpc = conductor_mohm_per_m(case, circuit, cpc_mm2)
    if line is None or neutral is None or cpc is None:
        return None
    r1, rn, r2 = (_observed(case, _standing(case, circuit, test)) for test in ENDS)
    sockets = tuple(
        SocketRead(
            point,
            place,
            _observed(case, _standing(case, circuit, CROSSED[0], point)),
            _observed(case, _standing(case, circuit, CROSSED[1], point)),
        )
        for point, place in _sockets(case, circuit)
    )
    tolerance = None if circuit.length_m is None else slack_m(circuit.length_m, circuit.length_tol_m)
    return RingTest(
        line,
        neutral,
        cpc,
        r1,
        rn,
        r2,
        sockets,
        circuit.length_m,
        tolerance,
        known and circuit.cpc in WIRES,
        _counted(circuit),
    )


def _counted(circuit: Circuit) -> bool:
    """Whether the number of sockets was entered (``points = 9``), so that its points are all there are."""
    return bool(circuit.points) and [p for p, _ in circuit.points] == [str(i + 1) for i in range(len(circuit.points))]


def _end_row(
    case: Case, circuit: Circuit, test: str, readings: tuple[Reading, ...], read: dict[str, Corrected | None]
) -> TestJudged:
    """r1, rn or r2: against the length, and rn against r1 by the guidance figure."""
    counted = counting(readings)
    standing = highest(case, counted)
    corrected = case.taken.corrected(standing)
    csa = {"ring r1": circuit.line_mm2, "ring rn": circuit.neutral_mm2 or circuit.line_mm2}.get(
        test, cpc_of(case, circuit)[0]
    )
    r = conductor_mohm_per_m(case, circuit, csa)
    expected = end_to_end(case, circuit, r, csa)
    open_ = standing.shown is not None and standing.shown.kind is Kind.OVER
    inside = None
    if expected is not None and corrected.usable:
        inside = False if open_ else corrected.band is not None and corrected.band.touches(expected)
    judged: tuple[Judged, ...] = ()
    value = None
    if test == "ring rn":
        judged, value = _agreement(case, read)
    outcome = worst(judged)
    why = ""
    if not corrected.usable:
        outcome, why = NOT_DECIDED, f"The reading does not count: {corrected.refusal}"
    elif open_:
        good = corrected.trust.after_good is True
        outcome = FAILS if good else NOT_DECIDED
        why = "open end to end" + ("" if good else ", or a lead was off: the leads were not shorted afterwards")
    words = say.sentences(
        say.was_read(say.NAMES[test], counted),
        say.lies(expected, inside),
        f"{why}." if why else "",
        *(say.against(j) for j in judged),
    )
    sums = _end_sums(r, corrected, case.make) if r is not None else ()
    return TestJudged(
        circuit.id,
        test,
        "",
        readings,
        case.taken.state(standing),
        corrected,
        expected,
        expected.assumed if expected else (),
        inside,
        judged,
        outcome,
        reason=why,
        words=words,
        sums=sums,
        value=value,
    )


def end_to_end(case: Case, circuit: Circuit, r: float | None, csa: float | None) -> Band | None:
    """One conductor of a ring from end to end [Ω], of its length [m] and resistance [mΩ/m]; None if one is not known."""
    if r is None or circuit.length_m is None:
        return None
    slack = slack_m(circuit.length_m, circuit.length_tol_m)
    assumed = (
        f"{circuit.length_m:g} ± {slack:.2g} m of {csa:g} mm² at {r:.3g} mΩ/m, {case.visit.temp_c:g} °C",
        f"real conductors {case.make[0]:g} to {case.make[1]:g} of the largest resistance",
    )
    return Band(*band_ohm(*length_band(circuit.length_m, slack), r, case.make), "Ω", assumed)


def _agreement(case: Case, read: dict[str, Corrected | None]) -> tuple[tuple[Judged, ...], Quantity | None]:
    """r1 and rn agree within the guidance figure; the difference carries the doubt of both."""
    one, other = read["ring r1"], read["ring rn"]
    if one is None or other is None or one.quantity is None or other.quantity is None:
        return (), None
    try:
        limit = case.limits.ask(ring_agreement).as_limit("max", "difference of r1 and rn")
    except NoRule:
        return (), None
    difference = round(abs(one.quantity.value - other.quantity.value), 9)
    value = combine(difference, "Ω", ((1.0, one.quantity), (-1.0, other.quantity)))
    return (hold_value(case, value, limit),), value


def _end_sums(r: float, corrected: Corrected, make: tuple[float, float]) -> tuple[str, ...]:
    if corrected.band is None:
        return ()
    low, high = implied_length_band_m(corrected.band.low, corrected.band.high, r, *make)
    read = f"{corrected.band.low:.2f} to {corrected.band.high:.2f} Ω"
    return (
        f"Length that it stands for: {read} over {r:.3g} mΩ/m × {make[0]:g} to {make[1]:g} = {low:.0f} to {high:.0f} m",
    )


def _socket_row(
    case: Case, circuit: Circuit, test: str, point: str, readings: tuple[Reading, ...], expected: Band | None
) -> TestJudged:
    """One socket of a crossed profile, against what a whole ring with these ends shows there."""
    counted = counting(readings)
    standing = highest(case, counted)
    corrected, shown = case.taken.corrected(standing), standing.shown
    inside = None
    if expected is not None and corrected.usable and shown is not None:
        inside = shown.kind is not Kind.OVER and expected.low - 1e-9 <= shown.value <= expected.high + 1e-9
    words = ""
    if inside is False:
        words = say.sentences(say.was_read(say.NAMES[test], counted, point), say.lies(expected, inside))
    return TestJudged(
        circuit.id,
        test,
        point,
        readings,
        case.taken.state(standing),
        corrected,
        expected,
        ("a whole ring with the end to end readings as they are, 95 %, display and contact included",)
        if expected
        else (),
        inside,
        (),
        NO_RULE if corrected.usable else NOT_DECIDED,
        reason="" if corrected.usable else f"The reading does not count: {corrected.refusal}",
        words=words,
    )


def _judged(case: Case, circuit: Circuit, test: RingTest, fit: RingFit, rows: Sequence[TestJudged]) -> RingJudged:
    named = {(t.test, t.point): t for t in rows}
    sockets = tuple(
        SocketOnRing(
            s.point,
            s.place_m,
            None if s.ln is None else s.ln.shown,
            fit.ln_expected[i],
            None if s.le is None else s.le.shown,
            fit.le_expected[i],
        )
        for i, s in enumerate(test.sockets)
    )
    outside = tuple(
        s.point
        for s in test.sockets
        if any((t := named.get((profile, s.point))) is not None and t.inside is False for profile in CROSSED)
    )
    refused = sum(bool(r.refused) for row in rows for r in row.readings)
    if refused:
        fit = evolve(fit, verdict=NOT_SHOWN, named="", rivals=(), spurs=(), why=words_ring.REFUSED)
    elif fit.verdict == PROVED and any(moved(case, row.readings) for row in rows):
        fit = evolve(fit, verdict=NOT_SHOWN, named="", rivals=(), spurs=(), why=words_ring.MOVED)
    findings = _findings(case, circuit, test, fit)
    suspect = stands.suspicion(test, fit, rows, findings, outside)
    void = {t.test: t.corrected.refusal for t in rows if t.corrected is not None and not t.corrected.usable}
    words = words_ring.ring_words(circuit, test, fit, outside, void)
    if stands.as_recorded(test, fit, suspect):
        fit, words = evolve(fit, named=stands.AS_RECORDED), stands.recorded_words(test, fit)
        findings = (stands.not_read(f"circuit {circuit.id}, ring", circuit, test),)
    return RingJudged(
        fit.verdict,
        fit.named,
        fit.where_m,
        fit.between,
        fit.scores,
        fit.implied_m,
        sockets,
        words,
        words_ring.ring_sums(test, fit, case.make),
        findings,
        fit.ends_m,
        fit.via_m,
        tuple(s.point for s in fit.spurs),
        fit.rivals,
        suspect,
    )


def _findings(case: Case, circuit: Circuit, test: RingTest, fit: RingFit) -> tuple[Finding, ...]:
    where = f"circuit {circuit.id}, ring"
    found = []
    if fit.verdict != PROVED and (fit.named or fit.why or fit.rivals):
        finding = words_ring.fault_finding(where, circuit, test, fit)
        if finding is not None:
            found.append(finding)
    for spur in fit.spurs:
        found.append(
            Finding.of(
                "ring.spur",
                where,
                f"{spur.point} reads like a socket on a spur of about {say.metres(spur.length_m)}.",
                circuit.id,
                because="Spurs are lawful as far as the rules allow their load; a loop of cable round this one socket reads the same.",
                do="See that one cable leaves the ring there, and that the spur is on the plan.",
            )
        )
    unread = [s.point for s in test.sockets if s.ln is None or s.le is None]
    if unread and len(unread) < len(test.sockets):
        found.append(
            Finding.of(
                "ring.sockets",
                where,
                f"Not every socket was read on both profiles: {say.listed(unread)}.",
                circuit.id,
                f"{len(test.sockets)} sockets on both profiles",
                f"{len(test.sockets) - len(unread)}",
                "Read them too: a bridge shows only at the sockets inside it.",
            )
        )
    if circuit.length_m is not None and fit.implied_m is not None:
        slack = slack_m(circuit.length_m, test.length_tol_m or None)
        low, high = circuit.length_m - slack, circuit.length_m + slack
        if fit.implied_m.high < low or fit.implied_m.low > high:
            found.append(
                Finding.of(
                    "ring.length",
                    where,
                    "r1 and rn are for a different length from the one estimated.",
                    circuit.id,
                    f"{low:.0f} to {high:.0f} m",
                    say.metres(fit.implied_m),
                    "Pace the route again; a ring that reads short may be bridged.",
                    "The estimate may be off, another size may have been used on the way, or the ring is cut short by a bridge.",
                )
            )
    agree = stands.ratio_of(test, case.make)
    if agree is not None:
        found.append(stands.ratio_finding(where, circuit, agree))
    return tuple(found)
