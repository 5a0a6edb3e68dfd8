"""Whether the protective conductor of a radial circuit is whole: the evidence of R1+R2 and R2, as of a bond.

The long lead of R2, or the line conductor of R1+R2, is a lead of known resistance; what it reads beyond that is the
protective conductor side by side with whatever else joins the point to earth. So a reading proves the conductor only as
far as an open one would have read something else.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from attrs import evolve, frozen

from ... import words
from ...digits import Kind
from ...earthnetwork import point_name
from ...earthnetwork.lengths import length_to
from ...earthnetwork.model import CPC
from ...errors import Finding, Severity
from ...events import CONDUCTOR, PATH, TOGETHER, Reading
from ...evidence import (
    COARSE,
    DISPROVED,
    NOT_SHOWN,
    OPEN,
    PROVED,
    BondEvidence,
    Copper,
    Evidence,
    Model,
    Observed,
    of_one_together,
)
from ...installation import MET, Circuit
from ...quantity import Band
from ...reading import Corrected
from ...tested import CpcJudged
from ..bond import display_of
from ..earth import Earth, Ways
from . import words_dead as say
from .limits import Case, counting
from .runs import CONNECTIONS_OHM, FREE_END, MAKE, TESTS, conductor_mohm_per_m, not_free

# Our assumptions, shown with every verdict. A poor joint of less than 0.15 Ω is not told from the tolerance of a length.
EXTRA_OHM = (0.15, 100.0)
# Chance that no other metal joins a point to earth, where none is entered: boilers and sub-boards stand on pipes and steel,
# a plastic socket in plaster on nothing. Of any other use the last one.
ALONE = {"heating": 0.5, "shower": 0.5, "distribution": 0.5, "fixed": 0.7, "cooker": 0.7, "charging point": 0.8}
ALONE_ELSE = 0.9
GONE = 0.20  # chance that metal that is entered is not there, or not joined: the bond on its way may be open as well
BEYOND_M = 1.0  # cable beyond the last named point that makes no difference [m]
FROM_MET = MET


@frozen
class CpcReading:
    """One reading as evidence on a protective conductor; ``ways`` is what else is known to join the point in its state.

    start   ``MET`` or the id of the board from whose earth bar it was taken
    before  of what was read, the way from the MET to the circuit's board [Ω]: where it lies in series it is left out like
            a lead, and ``observed`` allows for it
    chain   read from the MET, with other metal beside the circuit and its sub-mains together: these are one conductor
    plain   the reading as it was taken, with neither the way before nor a tail of the conductor allowed for
    """

    reading: Reading
    observed: Observed
    ways: Ways | None
    start: str
    before: tuple[float, float]
    chain: bool
    plain: Observed


def judge_cpc(case: Case, circuit: Circuit, earth: Earth) -> CpcJudged | None:
    """The protective conductor of a radial up to the furthest point read; None for rings and where there is none."""
    if circuit.kind == "ring" or circuit.cpc == "none":
        return None
    point = _furthest(case, circuit)
    if point is None:
        return CpcJudged(NOT_SHOWN, words="Not shown: no R1+R2 or R2 that counts.")
    cpc = conductor_mohm_per_m(case, circuit, circuit.cpc_mm2) if circuit.cpc in ("core", "separate") else None
    length = length_to(circuit, point)
    if cpc is None or length is None:
        return CpcJudged(NOT_SHOWN, point=point, words=f"Not shown: {_lacking(circuit)}.")
    names = same_end(circuit, point)
    read = [r for name in names for r in cpc_readings(case, circuit, name, length, earth)]
    taken = _of_one_state(sorted(read, key=lambda t: t.reading.seq))
    if not taken:
        return CpcJudged(NOT_SHOWN, point=point, words="Not shown: no reading that counts as evidence.")
    last = taken[-1]
    ways = last.ways
    model = _model(case, circuit, ways)
    tail = (0.0, 0.0) if ways is None else ways.tail
    feeders = _feeders(case, circuit) if last.chain else (0.0, 0.0)
    assert feeders is not None  # readings of a chain of which that is not known do not count
    # Where other metal comes in before the point, the conductor is asked about up to there; the rest is in series.
    low = max(0.0, length[0] + (feeders[0] - tail[0] / MAKE[0] * 1000.0) / cpc)
    high = max(low, length[1] + (feeders[1] - tail[1] * 1000.0) / cpc)
    copper = Copper(cpc, (low + high) / 2.0, (high - low) / 2.0)
    evidence = _weighed(copper, tuple(t.observed for t in taken), model)
    refused = any(r.refused for test in TESTS for r in case.taken.of(circuit.id, test))
    verdict, named = (NOT_SHOWN, "") if refused else (evidence.verdict, evidence.named)
    judged = CpcJudged(
        verdict,
        named,
        point,
        tuple(t.reading.id for t in taken),
        evidence,
        ways.said if ways is not None else (),
        ways.band if ways is not None else None,
    )
    run = Band(
        low * cpc * MAKE[0] / 1000.0 + tail[0] + last.before[0],
        high * cpc / 1000.0 + tail[1] + last.before[1] + CONNECTIONS_OHM / 2.0,
        "Ω",
    )
    over = tuple(f.id for f in case.upstream(circuit)) if last.start == MET else ()
    return evolve(
        judged,
        words=_words(circuit, judged, taken, run, refused, over),
        sums=_sums(judged, taken, run, model),
        findings=_findings(circuit, judged),
    )


def _lacking(circuit: Circuit) -> str:
    """Why nothing can be expected of a protective conductor."""
    if circuit.cpc not in ("core", "separate"):
        return f"the resistance of a cpc that is {circuit.cpc} is not known"
    lacking = ["its cross-section"] if circuit.cpc_mm2 is None else []
    lacking += ["its length"] if circuit.length_m is None else []
    return (
        f"{' and '.join(lacking)} not entered"
        if lacking
        else "the resistance of a conductor like it is not in the data"
    )


def _feeders(case: Case, circuit: Circuit) -> tuple[float, float] | None:
    """Largest resistance of the protective conductors of the sub-mains at their least and greatest length [mΩ]; None: not known."""
    low = high = 0.0
    for feeder in case.upstream(circuit):
        known = feeder.cpc in ("core", "separate")
        r = conductor_mohm_per_m(case, feeder, feeder.cpc_mm2) if known else None
        way = length_to(feeder, "")
        if r is None or way is None:
            return None
        low, high = low + way[0] * r, high + way[1] * r
    return low, high


@lru_cache(maxsize=2048)
def _weighed(copper: Copper, observed: tuple[Observed, ...], model: Model) -> Evidence:
    """Kept, because a screen judges again after every entry and most circuits stay as they were."""
    if len(observed) == 1 and observed[0].test == TOGETHER:
        return of_one_together(copper, observed[0], model, COARSE)
    return BondEvidence(copper, observed, model, COARSE).result()


def _furthest(case: Case, circuit: Circuit) -> str | None:
    """The furthest point at which something that counts was read."""
    points = [
        point
        for test in TESTS
        for point, readings in case.taken.by_point(circuit.id, test).items()
        if any(_usable(case, r) for r in counting(readings))
    ]
    order = {name: place for place, (name, _) in enumerate(circuit.points)}
    last = len(order)
    return max(points, key=lambda p: order.get(p, last), default=None)


def same_end(circuit: Circuit, point: str) -> tuple[str, ...]:
    """The names of a point: the last that has a name is the furthest as well, unless cable is known to lie beyond it."""
    last = circuit.points[-1][0] if circuit.points else ""
    end, there = length_to(circuit, ""), length_to(circuit, last)
    if circuit.kind == "ring" or not last or point not in ("", last) or end is None or there is None:
        return (point,)
    return (last, "") if end[1] - there[1] <= BEYOND_M else (point,)


def _usable(case: Case, reading: Reading) -> bool:
    return reading.method != "calculated" and case.taken.corrected(reading).usable


def _of_one_state(found: list[CpcReading]) -> list[CpcReading]:
    """The readings of the state of the network in which the last was taken: what else joins the point differs by state.

    The whole network weighs those of all states (see siteevidence).
    """
    if not found:
        return []
    last = found[-1]
    tail = last.ways.tail if last.ways is not None else (0.0, 0.0)

    def counts(one: CpcReading) -> bool:
        """The free conductor reads the same whatever hangs on the point."""
        free = one.observed.test == CONDUCTOR and not last.chain
        return one.ways == last.ways or (free and (one.ways.tail if one.ways else (0.0, 0.0)) == tail)

    return _distinct([t for t in found if counts(t)])


def cpc_readings(
    case: Case, circuit: Circuit, point: str, length: tuple[float, float, str], earth: Earth
) -> list[CpcReading]:
    """The readings of R1+R2 and R2 at a point that count, as evidence, in order."""
    line = conductor_mohm_per_m(case, circuit, circuit.line_mm2)
    found: list[CpcReading] = []
    for test in TESTS:
        for reading in counting(case.taken.by_point(circuit.id, test).get(point, ())):
            corrected = case.taken.corrected(reading)
            if not _usable(case, reading) or (test == "r1r2" and line is None):
                continue
            more = []
            if test == "r1r2" and line is not None:
                more.append((length[0] * line * MAKE[0] / 1e3, length[1] * line / 1e3 + CONNECTIONS_OHM / 2.0))
            upstream = case.upstream(circuit) if reading.between == FROM_MET else ()
            state = case.taken.state(reading)
            if not_free(circuit, reading, state.off):
                continue
            is_off = f"{circuit.id}:cpc" in state.off
            if upstream and not is_off:  # from the MET the sub-mains are part of the conductor
                gone = {e for f in upstream for p in earth.network.of(CPC, f.id) for e in p.off_by} & set(state.off)
                is_off = bool(gone)
            kind = (CONDUCTOR if test == "r1r2" or reading.between == FREE_END else PATH) if is_off else TOGETHER
            start = MET if reading.between == FROM_MET else circuit.board
            own = frozenset({circuit.id, *(c.id for c in upstream)})
            ways = earth.ways(start, point_name(circuit.id, point), own, state.off)
            chain, before = bool(upstream) and ways is not None, (0.0, 0.0)
            if chain and _feeders(case, circuit) is None:
                continue
            if upstream and not chain and kind == TOGETHER:
                way = earth.standing(state.off).band(MET, circuit.board)
                if way is None or math.isinf(way.high):
                    continue
                before = way.low, way.high
            tail = (0.0, 0.0) if ways is None else ways.tail
            seen = _observed(corrected, kind, [*more, before, tail])
            found.append(CpcReading(reading, seen, ways, start, before, chain, _observed(corrected, kind, more)))
    return sorted(found, key=lambda t: t.reading.seq)


def _observed(corrected: Corrected, kind: str, more: Sequence[tuple[float, float]]) -> Observed:
    shown = corrected.reading.shown
    assert shown is not None  # only readings that count come here
    offset = corrected.offset[0] + sum(x[0] for x in more), corrected.offset[1] + sum(x[1] for x in more)
    value = 0.0 if shown.kind is Kind.BELOW else max(0.0, shown.value)
    trust = corrected.trust
    return Observed(
        kind, value, display_of(corrected.accuracy, corrected), offset, trust.after_good is True, trust.apart
    )


def _distinct(taken: list[CpcReading]) -> list[CpcReading]:
    """Repeats of one kind that agree count once, the last of them: what spoiled the first may have spoiled the second."""
    kept: list[CpcReading] = []
    for one in taken:
        kept = [k for k in kept if not _repeats(k, one)]
        kept.append(one)
    return kept


def _repeats(one: CpcReading, other: CpcReading) -> bool:
    a, b = one.observed, other.observed
    if (a.test, a.offset, one.reading.test) != (b.test, b.offset, other.reading.test):
        return False
    slack = 2.0 * a.display.digits * a.display.step + (a.shown + b.shown) * a.display.pct / 100.0
    return a.shown == b.shown or abs(a.shown - b.shown) <= slack


def _model(case: Case, circuit: Circuit, ways: Ways | None) -> Model:
    """The constants of a bond, with what is known of the metal at the point in place of a pipe's."""
    model = Model(extra_ohm=EXTRA_OHM, joint_ohm=CONNECTIONS_OHM / 2.0)
    if ways is None:
        return evolve(model, path_absent=ALONE.get(circuit.use, ALONE_ELSE))
    low = max(0.002, (ways.band.low - ways.tail[0]) / 2.0)  # metal that is not entered may help it
    high = model.path_ohm[1] if math.isinf(ways.band.high) else max(2.0 * low, ways.band.high - ways.tail[1])
    return evolve(model, path_absent=GONE, path_ohm=(low, high))


def _words(
    circuit: Circuit, j: CpcJudged, taken: Sequence[CpcReading], run: Band, refused: bool, over: Sequence[str]
) -> str:
    """What was shown about the conductor, why, and what would show more; ``over``: sub-mains that were read with it."""
    e, at = j.evidence, f" to {j.point}" if j.point else " to its furthest point"
    assert e is not None  # words are asked for where there is evidence
    name = f"the protective conductor of {circuit.id}{at}"
    if j.verdict == PROVED:
        return (
            f"A whole protective conductor would show these digits {words.times(e.whole_over_open)} as often as an open "
            f"one and {words.times(e.whole_over_impaired)} as often as an impaired one. Proved: {name} is whole."
        )
    if j.verdict == DISPROVED and j.named == OPEN:
        line = all(t.reading.test == "r1r2" and math.isinf(t.observed.shown) for t in taken)
        said = "line or protective conductor" if line else "the protective conductor"
        sub_main = f", or that of {' or '.join(over)} before it," if over else ""
        # Not named as what it is: a bond among it may itself be open, and metal that nobody entered stand in for it.
        through = (
            f" Its earth comes only through other metal (entered: {say.listed(j.others)})."
            if j.others and not line
            else ""
        )
        return (
            f"An open conductor would show these digits {words.times(e.whole_over_open)} as often as a whole one. "
            f"Disproved: {said} of {circuit.id}{at}{sub_main} is not continuous.{through}"
        )
    if j.verdict == DISPROVED:
        return (
            f"A conductor with extra resistance in it would show these digits {words.times(e.whole_over_impaired)} as often "
            f"as a whole one. Disproved: there is resistance on the way{f' over {say.listed(over)}' if over else ''}{at} that its "
            f"copper, {say.span(run)}, does not have."
        )
    return say.sentences(
        *_not_shown(circuit, j, e, run, refused), f"Not shown: whether {name} is whole.", _ask(circuit, j, e, taken)
    )


def _not_shown(circuit: Circuit, j: CpcJudged, e: Evidence, run: Band, refused: bool) -> list[str]:
    if refused:
        return ["An entry could not be read, so no verdict is given."]
    found = []
    if j.others and j.other_ohm is not None:
        band = "of a resistance that is not known" if math.isinf(j.other_ohm.high) else say.span(j.other_ohm)
        found.append(
            f"Besides this conductor {say.listed(j.others)} {'join' if len(j.others) > 1 else 'joins'} the point to earth, {band}."
        )
    if e.whole_over_open < e.model.decide:
        found.append(
            "An open protective conductor could have read the same"
            + (
                "."
                if e.whole_over_open <= 0.5
                else f": a whole one is only {words.times(e.whole_over_open)} likelier to, and a hundred times is asked for."
            )
        )
    elif e.whole_over_impaired < e.model.decide:
        hidden = run.high - run.low + EXTRA_OHM[0]
        found.append(
            f"It is not open, but a poor joint of up to about {hidden:.1f} Ω could hide in what the length leaves open."
        )
    return found


def _ask(circuit: Circuit, j: CpcJudged, e: Evidence, taken: Sequence[CpcReading]) -> str:
    """The reading that would show more, other than those that were taken."""
    if e.whole_over_open >= e.model.decide:
        return "A length measured closer, or a reading from point to point, would tell."
    if j.others:
        return (
            f"Dead and proved dead, take the cpc of {circuit.id} off at its board and read from its free end to the point, "
            "or part the other metal there; put it back before anything is energised."
        )
    if {t.reading.test for t in taken} == set(TESTS):
        return (
            f"Short the leads. If that is done: dead and proved dead, take the cpc of {circuit.id} off at its board and read "
            "R2 from its free end; put it back before anything is energised."
        )
    return "Short the leads, and read R1+R2 and R2 at the furthest point."


def _sums(j: CpcJudged, taken: Sequence[CpcReading], run: Band, model: Model) -> tuple[str, ...]:
    e = j.evidence
    assert e is not None  # asked for where there is evidence
    lines = [f"Protective conductor, whole: {say.span(run)} with its connections"]
    for t in taken:
        low, high = t.observed.offset
        lead = f", less {low:.3f} to {high:.3f} Ω of line or leads" if high else ""
        what = {TOGETHER: "with all that is connected", CONDUCTOR: "of the conductor alone", PATH: "of all but it"}
        lines.append(f"{t.reading.id}: {say.digits(t.reading.shown)} {what[t.observed.test]}{lead}")
    low, high = model.path_ohm
    lines += [
        f"Other metal at the point: none with chance {model.path_absent:g}, else {low:.3g} to {high:.3g} Ω (log-uniform)",
        f"Impaired: {model.extra_ohm[0]:g} to {model.extra_ohm[1]:g} Ω more (log-uniform)",
        f"Whole against open: log10 {e.whole_over_open:+.2f}; against impaired: {e.whole_over_impaired:+.2f}; "
        f"{model.decide:g} is asked for",
    ]
    return tuple(lines)


def _findings(circuit: Circuit, j: CpcJudged) -> tuple[Finding, ...]:
    """A conductor that other metal speaks for: no single row can say it."""
    if j.verdict != DISPROVED or not j.others:
        return ()
    return (
        Finding(
            f"circuit {circuit.id}, protective conductor",
            f"Its protective conductor is {j.named}; other metal was read in its place (entered: {say.listed(j.others)}).",
            Severity.WARNING,
            "cpc.flattered",
            circuit.id,
            "a reading that only a whole protective conductor gives",
            j.words.split(" Disproved")[0],
            f"Follow the cable of {circuit.id} to the break, mend it, and read again with the other metal parted.",
            "The point is earthed as long as that metal stays; a plumber may part it tomorrow.",
        ),
    )
