"""Judge one bond: its readings in their states, the evidence, its joint, its size, and what to do next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from attrs import evolve

from ..base.digits import Kind
from ..base.display import Display
from ..base.errors import Finding
from ..base.quantity import Band
from ..evidence.bond import DISPROVED, NOT_SHOWN, PROVED, BondEvidence, Copper, Evidence, Model, Observed
from ..evidence.expected import Closure, Expectation, close, copper_band, expect
from ..evidence.explain import Explanation, explain_conductor
from ..evidence.worth import Worth, worth
from ..outcomes.assessment import BondJudged, ReadingJudged
from ..outcomes.circuits import Alarm
from ..outcomes.verdict import FAILS, Judged, judge, judge_band, no_rule, not_decided
from ..physics.conductor import implied_length_band_m
from ..report import words
from ..site.correction import Corrector
from ..site.events import (
    BOND_TESTS,
    CIRCUIT_TESTS,
    CLAMP_BODY,
    CONDUCTOR,
    JOINT,
    PATH,
    TOGETHER,
    ClampCurrent,
    Reading,
    State,
)
from ..site.installation import Bond
from ..site.ledger import readings, state_at
from ..site.reading import UNCHECKED
from ..site.repairs import ended_by, repairs_of
from ..site.visit import Visit
from .clamp_place import place_findings, place_judged
from .earth import Earth
from .next import next_at
from .reading import agree, display_of, observed_of
from .rulings import Rulings
from .states import cannot_prove, contradiction_words, former, read_well_after, speaks_of_break, without_repeated

ASKABLE = (CONDUCTOR, PATH, TOGETHER)


def judge_bond(
    visit: Visit,
    bond: Bond,
    r: float,
    rulings: Rulings,
    model: Model,
    alarms: Sequence[Alarm],
    earth: Earth,
    corrector: Corrector,
    *,
    ahead: bool = True,
) -> BondJudged:
    """Everything about one bond of a visit; ``r`` is its largest resistance at the visit's temperature [mΩ/m].

    alarms  danger that was found: one that blocks takes the place of every next step
    earth, corrector  the earth network of the visit, and its readings corrected
    ahead  say too what a further reading could show and what to do next
    """
    copper = copper_band(bond, r, model.make, model.joint_ohm)
    known = Copper(r, bond.length_m, bond.length_tol_m)
    everything = [
        _one(visit, bond, x, corrector, copper, earth, model)
        for x in readings(visit.events, of=bond.id)
        if x.test in BOND_TESTS and x.shown
    ]
    repairs = repairs_of(visit.events, bond.id)
    ended = {x.reading.id: ended_by(repairs, x.reading) for x in everything}
    taken = [x for x in everything if ended[x.reading.id] is None]
    evidence, could_show = weighed(known, tuple(_observed(taken)), model, display := _display(everything), ahead)
    found = tuple(
        former(
            repair,
            visit.site.part(bond.part).title,
            was,
            weighed(known, tuple(_observed(was)), model, display, False)[0],
            _joint(was, rulings, visit),
        )
        for repair in repairs
        for was in [[x for x in everything if ended[x.reading.id] is repair]]
    )
    refused = [
        # A test whose name could not be read may have been one of this bond.
        e
        for e in visit.events
        if isinstance(e, Reading) and e.of == bond.id and e.test not in CIRCUIT_TESTS and e.refused
    ]
    verdict, named = (evidence.verdict, evidence.named) if not refused else (NOT_SHOWN, "")
    speaking = speaks_of_break(taken)
    contradicted = contradiction_words(speaking) if verdict != DISPROVED and read_well_after(taken, speaking) else ""
    if speaking:
        could_show = cannot_prove(could_show)
        verdict = NOT_SHOWN if verdict == PROVED else verdict
    used = {x.reading.test: x for x in taken if x.used}
    explanations = _explanations(visit, bond, taken, verdict, copper, rulings, model)
    judged = BondJudged(
        bond=bond,
        part=visit.site.part(bond.part),
        readings=tuple(taken),
        expected=tuple(expect(t, copper, earth.path(bond, ()), display, model.joint_ohm) for t in BOND_TESTS),
        evidence=evidence,
        verdict=verdict,
        named=named,
        closure=_closure(used),
        implied=_implied(used.get(CONDUCTOR), r, model),
        size=rulings.size(bond),
        joint=_joint(taken, rulings, visit),
        continuity=_continuity(used.get(CONDUCTOR), rulings, visit, copper),
        explanations=explanations,
        could_show=could_show,
        next=None
        if not ahead
        else next_at(
            visit,
            bond,
            verdict,
            evidence,
            could_show,
            taken,
            bool(refused),
            alarms,
            bool(contradicted),
            explanations,
        ),
        clamp=clamp_text(visit, bond.id),
        place=(place := place_judged(rulings.wiring, bond, visit.site.part(bond.part))),
        findings=(
            *_findings(bond, everything, refused),
            *place_findings(bond, visit.site.part(bond.part), place, rulings.wiring),
        ),
        limited=_limited(visit, bond, taken),
        found=found,
        contradicted=contradicted,
    )
    return evolve(judged, words=words.bond_words(judged), sum_in_words=words.worked_sum(judged, r, visit.temp_c))


def _limited(visit: Visit, bond: Bond, taken: Sequence[ReadingJudged]) -> str:
    """Why the bond was not measured, as it was last said; empty once a reading counts."""
    said = [x for x in readings(visit.events, of=bond.id) if x.test in BOND_TESTS and x.absent]
    if not said or any(x.used for x in taken):
        return ""
    return ": ".join(x for x in (said[-1].absent, said[-1].note) if x)


def _one(
    visit: Visit, bond: Bond, reading: Reading, corrector: Corrector, copper: Band, earth: Earth, model: Model
) -> ReadingJudged:
    """One reading: corrected, with the band it should have fallen in, and whether it counts."""
    corrected = corrector.corrected(reading)
    state = state_at(visit.events, reading.seq)
    expected = expect(
        reading.test,
        copper,
        earth.path(bond, state.off),
        display_of(corrected.accuracy, corrected),
        model.joint_ohm,
    )
    wrong_state = _contradiction(bond, reading, state)
    why_not = wrong_state or corrected.refusal
    return ReadingJudged(
        reading,
        state,
        corrected,
        expected,
        _inside(reading, expected),
        corrected.usable and not wrong_state,
        why_not,
    )


def _contradiction(bond: Bond, reading: Reading, state: State) -> str:
    """What the ledger says against the reading's own word; empty when they agree."""
    off = bond.id in state.off or f"{bond.id}@part" in state.off
    if reading.test in (CONDUCTOR, PATH, CLAMP_BODY) and not off:
        return f"{reading.test} says that one end was off, but no step took it off"
    if reading.test == TOGETHER and off:
        return "together says that all was connected, but the bond was still off"
    return ""


def _inside(reading: Reading, expected: Expectation) -> bool | None:
    if expected.shown is None or reading.shown is None:
        return None
    if reading.shown.kind is Kind.OVER:
        return False
    return expected.shown.low - 1e-9 <= reading.shown.value <= expected.shown.high + 1e-9


def _display(taken: Sequence[ReadingJudged]) -> Display:
    return display_of(taken[-1].corrected.accuracy, taken[-1].corrected) if taken else Display()


def _observed(taken: Sequence[ReadingJudged]) -> list[Observed]:
    """The readings as evidence. Repeats that agree count once: what spoiled the first may have spoiled the second."""
    found: list[Observed] = []
    for x in taken:
        if not x.used or x.reading.test not in ASKABLE or x.reading.shown is None:
            continue
        one = observed_of(x.corrected, x.reading.test)
        same = [o for o in found if o.test == one.test and agree(o, one)]
        for o in same:
            found.remove(o)
        found.append(one)
    return found


@lru_cache(maxsize=512)
def weighed(
    copper: Copper, observed: tuple[Observed, ...], model: Model, display: Display, ahead: bool = True
) -> tuple[Evidence, tuple[Worth, ...]]:
    """The evidence, and ``ahead`` what a further reading of each kind could show; held, for most of a visit stays as it was.

    A shorted check before and after, and the leads held apart, are part of a reading done as it should be.
    """
    bond = BondEvidence(copper, observed, model)
    evidence = bond.result()
    worths = (
        worth(
            bond,
            evidence,
            test,
            display,
            shorted_after=True,
            held_apart=True,
            repeated=None if evidence.verdict == PROVED else without_repeated(copper, observed, model, test, display),
        )
        for test in (ASKABLE if ahead else ())
    )
    return evidence, tuple(worths)


def _closure(used: dict[str, ReadingJudged]) -> Closure | None:
    conductor, path, together = (used.get(t) for t in ASKABLE)
    if conductor is None or path is None or together is None:
        return None
    c, p, t = (x.corrected.quantity for x in (conductor, path, together))
    path_open = path.reading.shown is not None and path.reading.shown.kind is Kind.OVER
    if c is None or t is None or (p is None and not path_open):
        return None
    return close(c, None if path_open else p, t)


def _implied(conductor: ReadingJudged | None, r_mohm_per_m: float, model: Model) -> Band | None:
    """Length of this conductor that the reading stands for, as a band [m]."""
    if conductor is None or conductor.corrected.band is None:
        return None
    band = conductor.corrected.band
    low, high = implied_length_band_m(band.low, band.high, r_mohm_per_m, model.make[0], model.make[1])
    return Band(low, high, "m")


def _joint(taken: Sequence[ReadingJudged], rulings: Rulings, visit: Visit) -> Judged:
    """The joint held against its guidance: the worst of the repeats decides."""
    own = [x for x in taken if x.reading.test == JOINT and x.used]
    limit = rulings.joint()
    if limit is None:
        return no_rule(rulings.why_no_joint)
    if not own:
        return not_decided(limit, "no joint reading that counts")
    outcomes = []
    for x in own:
        if x.corrected.quantity is not None:
            outcomes.append((x.corrected.quantity.value, judge(x.corrected.quantity, limit, visit.choices.decision)))
        elif x.corrected.band is not None:
            outcomes.append((x.corrected.band.high, judge_band(x.corrected.band, limit)))
        else:
            outcomes.append(
                (float("inf"), Judged(FAILS, limit, simple=FAILS, guarded=FAILS, why="It showed over-range"))
            )
    worst = max(outcomes, key=lambda pair: pair[0])[1]
    values = [x.reading.shown.value for x in own if x.reading.shown]
    moved = max(values) - min(values)
    # What moved by more than the limit did so whatever was allowed for the leads.
    if own[-1].corrected.unchecked and not math.isinf(max(values)) and moved <= limit.value:
        worst = not_decided(limit, UNCHECKED)
    if len(values) > 1 and moved > 2.0 * own[0].corrected.accuracy.step + 1e-9:
        return evolve(
            worst,
            why=f"It moved from {min(values):g} to {max(values):g} Ω while it was held, which a tight joint does not",
        )
    return worst


def _continuity(conductor: ReadingJudged | None, rulings: Rulings, visit: Visit, copper: Band) -> Judged:
    """The guidance figure for the whole run, where there is one; never a limit of the standard."""
    limit = rulings.continuity(copper.high)
    if rulings.why_none:
        return no_rule(rulings.why_none)
    if limit is None:
        return not_decided(None, "guidance gives no figure where more than 0.1 Ω is expected")
    if conductor is None or conductor.corrected.quantity is None:
        return not_decided(limit, "no conductor reading with digits that counts")
    if conductor.corrected.unchecked:
        return not_decided(limit, UNCHECKED)
    return judge(conductor.corrected.quantity, limit, visit.choices.decision)


def _explanations(
    visit: Visit,
    bond: Bond,
    taken: Sequence[ReadingJudged],
    verdict: str,
    copper: Band,
    rulings: Rulings,
    model: Model,
) -> tuple[Explanation, ...]:
    conductor = next((x for x in reversed(taken) if x.reading.test == CONDUCTOR and x.used), None)
    if verdict != DISPROVED or conductor is None or conductor.reading.shown is None:
        return ()
    value = {x.reading.test: x.reading.shown.value for x in taken if x.used and x.reading.shown}
    smaller = []
    for csa in rulings.smaller_sizes(bond):
        thinner = evolve(bond, csa_mm2=csa)
        r = rulings.mohm_per_m(thinner, visit.temp_c)
        if r is not None:
            smaller.append((csa, copper_band(thinner, r, model.make, model.joint_ohm)))
    leads = next((x for x in visit.leads if x.id == conductor.reading.leads), None)
    return explain_conductor(
        conductor.reading.shown.value,
        display_of(conductor.corrected.accuracy, conductor.corrected),
        copper,
        smaller,
        together_ohm=value.get(TOGETHER),
        joint_ohm=value.get(JOINT),
        lead_ohm=leads.lead_ohm if leads and leads.allowed != "subtracted" else None,
        leads_good_after=conductor.corrected.trust.after_good is True,
        moves_ohm=_moves(taken, conductor),
    )


def _moves(taken: Sequence[ReadingJudged], conductor: ReadingJudged) -> float:
    """How far the repeats of the conductor lie apart, where limits of error do not account for it, else 0 [Ω]."""
    read = [x.reading.shown for x in taken if x.reading.test == CONDUCTOR and x.used and x.reading.shown]
    values = [s.value for s in read if s.kind is Kind.VALUE]
    if len(values) < 2:
        return 0.0
    a = conductor.corrected.accuracy
    spread = max(values) - min(values)
    honest = (2.0 * a.digits + 1.0) * a.step + 2.0 * sum(values) / len(values) * a.pct / 100.0
    return spread if spread > honest + 1e-9 else 0.0


def _findings(bond: Bond, taken: Sequence[ReadingJudged], refused: Sequence[Reading]) -> list[Finding]:
    found = [f for x in taken for f in x.corrected.findings]
    for x in taken:
        if _contradiction(bond, x.reading, x.state):
            found.append(
                Finding.of(
                    "state.contradiction",
                    f"bond {bond.id}, reading {x.reading.id}",
                    f"The state contradicts the reading: {x.why_not}.",
                    bond.id,
                    "an 'off' step before it" if x.reading.test != TOGETHER else "an 'on' step before it",
                    f"off at that moment: {', '.join(sorted(x.state.off)) or 'nothing'}",
                    "Write down what was off, or take the reading again.",
                )
            )
    if refused:
        found.append(
            Finding.of(
                "input.refused",
                f"bond {bond.id}",
                f"{len(refused)} of its readings could not be read, so no verdict is given on it.",
                bond.id,
                do="Correct the entry; what it says may matter.",
            )
        )
    return found


def clamp_text(visit: Visit, what: str) -> str:
    """The clamp currents in one conductor, in order, with the load, as text."""
    return "; ".join(
        f"{e.shown} {e.load}".strip() for e in visit.events if isinstance(e, ClampCurrent) and e.on == what
    )
