"""The live tests of origin, boards and circuits, and the electrodes: each row with its band, limits, words and sums."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from ...base.errors import Finding, NoRule
from ...base.quantity import Band, Limit
from ...outcomes.circuits import ABOVE_USUAL, Alarm, ElectrodeJudged, TestJudged
from ...outcomes.verdict import FAILS, MEETS, NO_RULE, NOT_DECIDED, Judged
from ...rules.lookup import declared_supply
from ...site.events import EARTHING, ORIGIN, Reading
from ...site.installation import Board, Circuit, Device
from ...site.reading import Corrected
from ...site.visit import Visit
from ..rulings import Rulings
from . import alarm
from . import words_live as say
from .adiabatic import adiabatic_row
from .board_particulars import origin_rows, particulars_rows
from .disconnection import disconnection_row
from .drop import drop_row
from .earthing import earthing_row
from .electrode import electrode_judged, residual_limits
from .fault_current import fault_current_row
from .limits import DISTRIBUTION, Case, counting, hold, misread, no_rule_for, without_value, worst
from .loop import Source, deciding, r1r2, source, uplift
from .loop_limits import LoopJudged, first_limit, judge_loop, warmed
from .no_cpc import no_cpc_row
from .not_kept import asked, with_finding
from .rcd import rcd_rows
from .readings import Taken
from .special import special_row, supplementary_rows
from .zs import zs_rows

# Above so many times what is declared the earth of a TN supply is hardly metal any more. Common practice, no source.
TIMES_DECLARED = 5.0


def origin_tests(visit: Visit, taken: Taken, rulings: Rulings) -> tuple[TestJudged, ...]:
    """Ze and prospective fault current at the origin."""
    case = Case.of(visit, taken, rulings)
    readings = taken.of(ORIGIN, "ze")
    rows = [without_value(case, ORIGIN, "ze", "", readings) or _ze(case, readings)] if readings else []
    at_origin = [b for b in visit.site.boards if not b.fed_by]
    devices = tuple(d for b in at_origin for d in _devices(visit, b.id))
    current = fault_current_row(case, ORIGIN, at_origin[0].id if at_origin else "", visit.site.supply.phases, devices)
    worked = (current, earthing_row(case))
    return _told((*rows, *(r for r in worked if r is not None), *origin_rows(case)))


def board_tests(visit: Visit, board: Board, taken: Taken, rulings: Rulings) -> tuple[TestJudged, ...]:
    """Zdb and prospective fault current of a board, and its residual current device."""
    case = Case.of(visit, taken, rulings)
    readings = taken.of(board.id, "zdb")
    rows = [without_value(case, board.id, "zdb", "", readings) or _zdb(case, board, readings)] if readings else []
    current = fault_current_row(case, board.id, board.id, board.phases, _devices(visit, board.id))
    if current is not None:
        rows.append(current)
    return _told((*rows, *rcd_rows(case, board.id, board.rcd)))


def live_tests(
    visit: Visit, circuit: Circuit, dead: Sequence[TestJudged], taken: Taken, rulings: Rulings
) -> tuple[TestJudged, ...]:
    """Loop, disconnection and residual current device of a circuit; ``dead`` are its dead tests, already judged."""
    case = Case.of(visit, taken, rulings)
    residual = rcd_rows(case, circuit.id, circuit.device if circuit.device.rcd_ma else None)
    nearest = _nearest_test(case, circuit, residual)
    loops = zs_rows(case, circuit, nearest)
    rows = [*loops]
    current = fault_current_row(case, circuit.id, circuit.board, circuit.phases, ((circuit.id, circuit.device),))
    calculated = (
        current,
        disconnection_row(case, circuit, loops, nearest),
        adiabatic_row(case, circuit),
        drop_row(case, circuit),
        special_row(case, circuit),
        no_cpc_row(case, circuit),
    )
    rows += [*residual, *supplementary_rows(case, circuit), *(r for r in calculated if r is not None)]
    rows += particulars_rows(case, circuit)
    return _told(rows)


def _nearest_test(case: Case, circuit: Circuit, own: Sequence[TestJudged]) -> TestJudged | None:
    """The judged times of the residual current device nearest to a circuit: its own, or that of a board before it."""
    nearest = next(iter(case.rcds(circuit)), None)
    if nearest is None:
        return None
    name, device = nearest
    rows = own if own and name == circuit.id else rcd_rows(case, name, device)
    return next((r for r in rows if r.test == "rcd"), None)


def electrodes(visit: Visit, taken: Taken, rulings: Rulings) -> tuple[ElectrodeJudged, ...]:
    """The earth electrodes."""
    case = Case.of(visit, taken, rulings)
    judged = (electrode_judged(case, e) for e in visit.site.electrodes)
    return tuple(evolve(e, tests=_told(e.tests)) for e in judged)


def alarms(visit: Visit, taken: Taken, rulings: Rulings) -> tuple[Alarm, ...]:
    """Danger that is there now."""
    return alarm.alarms(Case.of(visit, taken, rulings))


def _told(rows: Sequence[TestJudged]) -> tuple[TestJudged, ...]:
    """A row that does not keep its limit says so as a finding too; one with an entry that could not be read never meets it."""
    return tuple(with_finding(_with_refused(row)) for row in rows)


def _with_refused(row: TestJudged) -> TestJudged:
    refused = misread(row.readings)
    if not refused or row.outcome != MEETS:
        return row
    why = f"{refused} of its entries could not be read, so no verdict is given"
    return evolve(row, outcome=NOT_DECIDED, reason=why, words=f"{row.words} Not decided: {why}.")


def _devices(visit: Visit, board_id: str) -> tuple[tuple[str, Device], ...]:
    """The devices of a board that have to break what flows there."""
    return tuple((c.id, c.device) for c in visit.site.circuits if c.board == board_id and c.device != Device())


def _ze(case: Case, readings: tuple[Reading, ...]) -> TestJudged:
    """Ze against what is declared for the system; whether the earthing conductor was off decides what it is the loop of."""
    reading = deciding(readings)
    corrected = case.taken.corrected(reading)
    state = case.taken.state(reading)
    alone = EARTHING in state.off
    judged: list[Judged] = []
    supply = case.visit.site.supply
    if supply.ze_ohm is not None:
        judged.append(hold(case, corrected, _declared(case, supply.ze_ohm, supply.ze_how or "as entered")))
    judged += _usual(case, corrected)
    parallel = (
        ""
        if alone
        else "The earthing conductor was not off: bonded metal helped, so the supply's own earth may be worse than this."
    )
    words = say.sentences((say.was_read("Ze", counting(readings)), parallel, *(say.against(j) for j in judged)))
    assumed = () if alone else ("read with everything connected",)
    outcome = worst(judged)
    high: tuple[Finding, ...] = ()
    if outcome == FAILS and not case.tt and not _no_earth(corrected, judged):
        outcome, high = NOT_DECIDED, (_ze_high(corrected, judged),)
    if outcome == MEETS and not alone:  # metal in parallel can only make it look better
        outcome = NOT_DECIDED
    return TestJudged(
        ORIGIN,
        "ze",
        "",
        readings,
        state,
        corrected,
        assumed=assumed,
        judged=tuple(judged),
        outcome=outcome,
        reason=ABOVE_USUAL if high else "",
        words=words,
        findings=(*high, *(() if alone else (_ze_in_parallel(reading),))),
    )


def _no_earth(corrected: Corrected, judged: Sequence[Judged]) -> bool:
    """Whether Ze is so high that no earth of metal is there; what is merely above a declared value is no limit kept or not."""
    limits = [j.limit.value for j in judged if j.limit is not None]
    return corrected.band is None or corrected.band.low > TIMES_DECLARED * max(limits, default=0.0)


def _ze_high(corrected: Corrected, judged: Sequence[Judged]) -> Finding:
    return Finding.of(
        "ze.limit",
        "origin, Ze",
        "Ze is above what is declared or usual for the supply. That is no limit of the rules; each circuit's own loop decides.",
        ORIGIN,
        asked([j.limit for j in judged if j.outcome == FAILS and j.limit is not None]),
        str(corrected.reading.shown),
        "Tell the distributor, who answers for the supply's earth, and ask which Ze they declare.",
        "A loose earth connection at the cut-out or a corroded sheath would explain it.",
    )


def _ze_in_parallel(reading: Reading) -> Finding:
    return Finding.of(
        "ze.parallel",
        "origin, ze",
        "Ze was read while bonded metal was connected, so it does not show the supply's own earth.",
        ORIGIN,
        "an 'off' step for the earthing conductor before it",
        "nothing noted as off" if reading.shown is None else f"{reading.shown}, with the earthing conductor connected",
        "With the supply isolated and locked off, take the earthing conductor off, read Ze, put it back before anything "
        "is energised. If that was done, add the steps.",
        "Pipes and steel in parallel make it read better than it is.",
    )


def _usual(case: Case, corrected: Corrected) -> list[Judged]:
    """Against what distributors usually declare; in a TT system, whose earth is the consumer's own, against each RCD."""
    system = case.visit.site.supply.system
    if case.tt:
        return [hold(case, corrected, limit) for limit in residual_limits(case)]
    try:
        row = case.limits.ask(declared_supply, system or "")
    except NoRule as error:
        return [no_rule_for(error)]
    return [hold(case, corrected, row.as_limit("max", f"Ze usually declared for {system}", "ze_ohm"))]


def _declared(case: Case, ohm: float, how: str) -> Limit:
    edition = case.limits.edition
    applies = f"{edition.standard}:{edition.edition}" if edition else "no edition"
    return Limit(
        ohm,
        "Ω",
        "max",
        f"Ze as stated ({how})",
        case.limits.clause("ze.declared"),
        "the supply's particulars",
        applies,
        "read",
    )


def _zdb(case: Case, board: Board, readings: tuple[Reading, ...]) -> TestJudged:
    """Zdb against what lies before it, and against the limit of the circuit that feeds the board."""
    reading = deciding(readings)
    corrected = case.taken.corrected(reading)
    feeder = case.feeder(board.id)
    expected: Band | None = None
    assumed: tuple[str, ...] = ()
    found = LoopJudged((), NO_RULE)
    sums: tuple[str, ...] = ()
    if feeder is not None:
        before, run = source(case, feeder.board), r1r2(case, feeder, "")
        if before is not None and run is not None:
            expected = Band(0.0, before.band.high + run.band.high, "Ω")
            assumed = (before.how, run.how)
            sums = (f"Ceiling: {before.band.high:.3f} Ω ({before.how}) + {run.band.high:.3f} Ω ({run.how})",)
        # On its own electrode the board is a TT origin: its own devices decide, not those of the circuit that feeds it.
        of = Circuit(board.id, board.id, use=DISTRIBUTION) if board.id in case.earths and not case.tt else feeder
        found, more = _fed(case, of, corrected, before, expected)
        sums = (*sums, *more)
    inside = None if expected is None or corrected.band is None else corrected.band.touches(expected)
    words = say.sentences(
        (
            say.was_read(f"Zdb of {board.id}", counting(readings)),
            say.lies(expected, inside),
            *found.said,
            *(say.against(j) for j in found.judged),
            "" if found.judged else "No circuit that feeds it is entered, so no limit applies here.",
        )
    )
    return TestJudged(
        board.id,
        "zdb",
        "",
        readings,
        case.taken.state(reading),
        corrected,
        expected,
        assumed,
        inside,
        found.judged,
        found.outcome,
        words=words,
        sums=sums,
        findings=found.findings,
    )


def _fed(
    case: Case, feeder: Circuit, corrected: Corrected, before: Source | None, expected: Band | None
) -> tuple[LoopJudged, tuple[str, ...]]:
    """Zdb as the loop of the circuit that feeds the board, warmed like any other."""
    if corrected.quantity is None:
        try:
            judged = (hold(case, corrected, first_limit(case, feeder)),)
        except NoRule as error:
            judged = (no_rule_for(error),)
        return LoopJudged(judged, worst(judged)), ()
    loop = warmed(case, feeder, corrected.quantity, before)
    coil = uplift(case, feeder, corrected.reading)
    rcd = _nearest_test(case, feeder, ())
    return judge_loop(case, feeder, corrected, loop, coil, rcd, expected), loop.sums
