"""A loop against its limits: warmed, against the overcurrent device, else against the residual current device in front.

The customary share of 0.8 is shown beside the sum with the temperature and decides nothing. Where a residual current
device has to disconnect, its test must show that it does; and no device makes a loop good that no conductor explains.
"""

from __future__ import annotations

from typing import NamedTuple

from attrs import evolve, frozen

from ...base.errors import Finding, NoRule
from ...base.quantity import Band, Limit, Quantity, combine
from ...outcomes.circuits import CUSTOMARY, UNSOUND, TestJudged
from ...outcomes.verdict import FAILS, MEETS, NOT_DECIDED, Judged
from ...physics.loop import cold_limit_by_temperature_ohm, cold_limit_ohm
from ...rules import clause_of
from ...rules.lookup import ra_max, ra_stable, zs_cold_factor
from ...site.installation import Circuit
from ...site.reading import Corrected
from . import words_live as say
from .limits import Case, hold, hold_value, loop_limit, no_rule_for, settled, time_limit, unless, warming, worst
from .loop import Source

# A loop of sound conductors may read above Ze + R1+R2 by warm metal and a poor contact, not by this much: twice the sum,
# or the sum and 1 Ω. Common practice, no source.
TIMES_SUM, ABOVE_SUM_OHM = 2.0, 1.0
# Without R1+R2: what the conductors of a circuit may add to the loop before it [Ω]; 300 m of 1.0 mm² twin is 11 Ω.
CONDUCTORS_OHM = 10.0


class LoopJudged(NamedTuple):
    """The limits of a loop, the outcome, sentences and findings."""

    judged: tuple[Judged, ...]
    outcome: str
    said: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


WORKING = "Zs at working temperature"


@frozen
class Loop:
    """Zs of a circuit as its limits need it.

    cold, hot  as measured, and warmed to the conductors' working temperature [Ω];  sums  how the second came from the first
    """

    cold: Quantity
    hot: Quantity
    sums: tuple[str, ...]
    assumed: tuple[str, ...]
    ze_ohm: float


def warmed(case: Case, circuit: Circuit, cold: Quantity, upto: Source | None) -> Loop:
    """Zs at working temperature: Ze + F·(Zs − Ze); without a known Ze all of it is warmed, the cautious way."""
    factor, law = warming(case, circuit)
    ze = upto.quantity.value if upto is not None and upto.quantity is not None else 0.0
    assumed: tuple[str, ...] = ()
    if ze == 0.0:
        assumed = ("the whole loop warms, since the part before the board was not measured",)
    sums: tuple[str, ...]
    if cold.value <= ze:
        hot = cold
        sums = (f"Zs is not above {ze:.2f} Ω before the board: metal in parallel, nothing to warm",)
    else:
        # Ze enters with 1 − F, which is small; its doubt is left out beside that of Zs.
        hot = combine(settled(ze + factor * (cold.value - ze)), "Ω", ((factor, cold),))
        sums = (law, f"Zs hot = {ze:.2f} + {factor:.3f} × ({cold.value:.2f} − {ze:.2f}) = {hot.value:.3f} Ω")
    return Loop(cold, hot, sums, assumed, ze)


def first_limit(case: Case, circuit: Circuit) -> Limit:
    """The limit that a loop without digits is held against: the residual device's in a TT system, else the design limit."""
    rcds = case.rcds(circuit)
    if case.tt_at(circuit) and rcds:
        return _residual_limit(case, rcds[0][1].rcd_ma or 0.0, tt=True)
    worked = loop_limit(case, circuit.device, float(time_limit(case, circuit).value), case.volts(circuit.board))
    return worked.as_limit("max", WORKING)


def _residual_limit(case: Case, idn_ma: float, *, tt: bool) -> Limit:
    limit = case.limits.ask(ra_max, idn_ma).as_limit("max", f"loop with a residual current device of {idn_ma:g} mA")
    return limit if tt else case.limits.also(limit, "residual current device in TN", "; ")


def judge_loop(
    case: Case,
    circuit: Circuit,
    corrected: Corrected,
    loop: Loop,
    coil: float,
    rcd: TestJudged | None,
    expected: Band | None,
) -> LoopJudged:
    """A measured loop of a circuit, at its points (Zs) or at the board it feeds (Zdb).

    rcd  the judged test of the residual current device nearest to it;  expected  Ze + R1+R2, where they are known
    """
    rcds = case.rcds(circuit)
    if case.tt_at(circuit) and rcds:
        return _judge_tt(case, circuit, corrected, loop, rcd)
    overcurrent = _overcurrent(case, circuit, corrected, loop, coil)
    outcome = worst(overcurrent[:2])  # the customary share decides nothing
    if outcome == MEETS:
        return LoopJudged(overcurrent, outcome, _custom_said(overcurrent))
    unsound = unsound_loop(case, circuit, corrected, loop, expected)
    if unsound is not None:
        return LoopJudged((*overcurrent, unsound), FAILS)
    if not rcds or case.visit.site.supply.system == "TN-C":
        return LoopJudged(overcurrent, outcome)
    return _by_residual(case, circuit, corrected, overcurrent, outcome, rcd)


def _custom_said(judged: tuple[Judged, ...]) -> tuple[str, ...]:
    if judged[-1].outcome != FAILS:
        return ()
    return ("The customary share is not kept; the sum with the temperature is, and that decides.",)


def unsound_loop(
    case: Case, circuit: Circuit, corrected: Corrected, loop: Loop, expected: Band | None
) -> Judged | None:
    """A failure where no sound protective conductor explains a loop so high; None where one may, or an electrode is there."""
    band = corrected.band
    loose = {e.id for e in case.visit.site.electrodes} - set(case.earths.values())
    if band is None or case.tt_at(circuit) or loose:
        return None
    if expected is not None and expected.high < float("inf"):
        high, how = expected.high, f"Ze and R1+R2 are at most {expected.high:.2f} Ω"
        most = max(TIMES_SUM * high, high + ABOVE_SUM_OHM)
    else:
        most = loop.ze_ohm + CONDUCTORS_OHM
        how = f"{loop.ze_ohm:.2f} Ω before the board and at most {CONDUCTORS_OHM:g} Ω of conductors"
    if band.low <= most:
        return None
    edition = case.limits.edition
    limit = Limit(
        settled(most),
        "Ω",
        "max",
        UNSOUND,
        clause_of(edition, "sound protective conductor"),
        "common practice, no source",
        f"{edition.standard}:{edition.edition}" if edition else "no edition",
        "memory",
        how,
    )
    why = "No sound protective conductor explains it: the fault returns through soil, or metal that happens to be there"
    return Judged(FAILS, limit, simple=FAILS, guarded=FAILS, difference=most - loop.cold.value, why=why)


def _overcurrent(case: Case, circuit: Circuit, corrected: Corrected, loop: Loop, coil: float) -> tuple[Judged, ...]:
    """Design limit with the warmed value; then the value as read cold, by temperature and by the customary factor."""
    try:
        time = time_limit(case, circuit)
        worked = loop_limit(case, circuit.device, float(time.value), case.volts(circuit.board))
        share = case.limits.ask(zs_cold_factor)
    except NoRule as error:
        return (no_rule_for(error),)
    design = worked.as_limit("max", f"{WORKING}, {time.value} s")
    factor, law = warming(case, circuit)
    ze = min(loop.ze_ohm, design.value)
    by_temperature = evolve(
        design,
        value=settled(cold_limit_by_temperature_ohm(design.value, ze, factor)),
        what="Zs measured cold, by temperature",
        note=f"{ze:.2f} + ({design.value:g} − {ze:.2f}) / F; {law}",
    )
    custom = evolve(
        share.as_limit("max", CUSTOMARY),
        value=settled(cold_limit_ohm(design.value, float(share.value))),
        unit="Ω",
        note=f"{share.value} × {design.value:g} Ω; customary, not a requirement",
        confidence="memory" if "memory" in (design.confidence, share.confidence) else "read",
    )
    why = f"a no-trip reading may stand up to {coil:g} Ω too high: read it two-lead, or add Ze and R1+R2"
    cold = loop.cold.value
    outcomes = [
        (_usable(case, corrected, loop.hot, design), loop.hot.value),
        (hold(case, corrected, by_temperature), cold),
        (hold(case, corrected, custom), cold),
    ]
    return tuple(unless(j, value, value - coil, why) for j, value in outcomes)


def _usable(case: Case, corrected: Corrected, value: Quantity, limit: Limit) -> Judged:
    return hold_value(case, value, limit) if corrected.usable else hold(case, corrected, limit)


def _judge_tt(case: Case, circuit: Circuit, corrected: Corrected, loop: Loop, rcd: TestJudged | None) -> LoopJudged:
    """In a TT system the nearest residual current device decides, and its own test; the others in front are shown."""
    judged, others = [], []
    for name, device in case.rcds(circuit):
        try:
            limit = _residual_limit(case, device.rcd_ma or 0.0, tt=True)
        except NoRule as error:
            judged.append(no_rule_for(error))
            continue
        if not judged:
            judged.append(hold(case, corrected, limit))
        else:
            held = hold(case, corrected, limit)
            others.append(f"In front of it {name}: {say.against(held)}")
    unstable = _unstable(case, circuit, loop)
    others += [f.what for f in unstable]
    outcome = worst(judged)
    if outcome != MEETS:
        return LoopJudged(tuple(judged), outcome, tuple(others), unstable)
    outcome, why = by_its_test(rcd)
    return LoopJudged(tuple(judged), outcome, (*others, *why), unstable)


def _unstable(case: Case, circuit: Circuit, loop: Loop) -> tuple[Finding, ...]:
    """A loop through an electrode so high that the electrode may not be stable; a note, not a limit."""
    try:
        row = case.limits.ask(ra_stable)
    except NoRule:
        return ()
    if loop.cold.value <= float(row.value):
        return ()
    return (
        Finding.of(
            "loops.unstable",
            f"circuit {circuit.id}",
            f"Above {row.value} Ω an electrode may not be stable ({row.clause}); it changes with the season.",
            circuit.id,
            f"at most {row.value} Ω",
            f"{loop.cold.value:.4g} Ω",
            "Measure the electrode alone; drive it deeper or add rods.",
        ),
    )


def by_residual_device(
    case: Case, circuit: Circuit, value: Quantity, rcd: TestJudged | None
) -> tuple[Judged, str, tuple[str, ...]] | None:
    """A loop that the nearest residual current device has to disconnect: held against it, the outcome and why.

    None where there is no such device, or it may not be relied on (TN-C).
    """
    rcds = case.rcds(circuit)
    if not rcds or case.visit.site.supply.system == "TN-C":
        return None
    name, device = rcds[0]
    try:
        held = hold_value(case, value, _residual_limit(case, device.rcd_ma or 0.0, tt=case.tt_at(circuit)))
    except NoRule:
        return None
    if held.outcome != MEETS:
        return None
    outcome, why = by_its_test(rcd)
    return held, outcome, (f"The residual current device ({name}, {device.rcd_ma:g} mA) has to disconnect.", *why)


def by_its_test(rcd: TestJudged | None) -> tuple[str, tuple[str, ...]]:
    """What a loop that rests on a residual current device comes to: the device's own test must show that it trips."""
    if rcd is None:
        return NOT_DECIDED, ("Not decided by it: its test is not there.",)
    if rcd.outcome == MEETS:
        return MEETS, ()
    if rcd.outcome == FAILS:
        return FAILS, ("It does not count: its test does not show that it trips.",)
    return NOT_DECIDED, ("Not decided by it: its test decides nothing.",)


def _by_residual(
    case: Case,
    circuit: Circuit,
    corrected: Corrected,
    overcurrent: tuple[Judged, ...],
    outcome: str,
    rcd: TestJudged | None,
) -> LoopJudged:
    """Zs too high for the overcurrent device: a residual current device may disconnect instead, if its test shows that it does."""
    name, device = case.rcds(circuit)[0]
    try:
        limit = _residual_limit(case, device.rcd_ma or 0.0, tt=case.tt_at(circuit))
    except NoRule as error:
        return LoopJudged((*overcurrent, no_rule_for(error)), outcome)
    residual = hold(case, corrected, limit)
    judged = (*overcurrent, residual)
    if residual.outcome != MEETS:
        return LoopJudged(judged, outcome)
    finding = Finding.of(
        "loops.by_rcd",
        f"circuit {circuit.id}",
        f"Disconnection rests on the residual current device alone ({name}, {device.rcd_ma:g} mA): "
        "the loop is not shown to be low enough for the overcurrent device.",
        circuit.id,
        do="Record it so, and keep the device's test with it.",
    )
    outcome, why = by_its_test(rcd)
    return LoopJudged(judged, outcome, why, (finding,))
