"""Sentences about the protective conductor of a radial: what was shown, why, and what would show more."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from ...base.errors import Finding
from ...base.figure import shown_span
from ...base.quantity import Band
from ...evidence.bond import DISPROVED, OPEN, PROVED, Evidence, Model
from ...evidence.graph.lengths import WIRES
from ...outcomes.circuits import CpcJudged, TestJudged
from ...outcomes.verdict import MEETS
from ...report import words
from ...site.events import CONDUCTOR, PATH, TOGETHER
from ...site.installation import Circuit
from . import words_dead as say
from .cpc_readings import CpcReading
from .runs import TESTS


def conductor_words(
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
        return f"{_weighed(j, e)} Disproved: {said} of {circuit.id}{at}{sub_main} is not continuous.{through}"
    if j.verdict == DISPROVED:
        return (
            f"{_weighed(j, e)} Disproved: there is resistance on the way{f' over {say.listed(over)}' if over else ''}{at} that its "
            f"copper, {shown_span(run)}, does not have."
        )
    return say.sentences(
        *_not_shown(circuit, j, e, run, refused), f"Not shown: whether {name} is whole.", _ask(circuit, j, e, taken)
    )


def _weighed(j: CpcJudged, e: Evidence) -> str:
    """How much likelier the digits are under what it was disproved as."""
    if j.named == OPEN:
        return f"An open conductor would show these digits {words.times(e.whole_over_open)} as often as a whole one."
    return f"A conductor with extra resistance in it would show these digits {words.times(e.whole_over_impaired)} as often as a whole one."


def stands_words(later: str) -> str:
    """Why readings that came out well after a break do not take its place."""
    return (
        f"Read again since: {later}, with nothing noted as put right, so what was found stands. If it was put right, note the "
        "repair and read it again; if the reading was wrong, strike it and say why."
    )


def _not_shown(circuit: Circuit, j: CpcJudged, e: Evidence, run: Band, refused: bool) -> list[str]:
    if refused:
        return ["An entry could not be read, so no verdict is given."]
    found = []
    if j.others and j.other_ohm is not None:
        band = "of a resistance that is not known" if math.isinf(j.other_ohm.high) else shown_span(j.other_ohm)
        found.append(
            f"Besides this conductor {say.listed(j.others)} {'join' if len(j.others) > 1 else 'joins'} the point to earth, {band}."
        )
    if e.held_by_leads:
        found.append(words.held_by_leads(e))
    elif e.verdict == DISPROVED:
        found.append(
            "Resistance on the way would explain the digits better, but so would every error at the edge of its limits."
        )
    elif e.whole_over_open < e.model.decide:
        found.append(
            "An open protective conductor could have read the same"
            + (
                "."
                if e.whole_over_open <= 0.5
                else f": a whole one is only {words.times(e.whole_over_open)} likelier to, and a hundred times is asked for."
            )
        )
    elif e.whole_over_impaired < e.model.decide:
        hidden = run.high - run.low + e.model.extra_ohm[0]
        found.append(
            f"It is not open, but a poor joint of up to about {hidden:.1f} Ω could hide in what the length leaves open."
        )
    return found


def _ask(circuit: Circuit, j: CpcJudged, e: Evidence, taken: Sequence[CpcReading]) -> str:
    """The reading that would show more, other than those that were taken."""
    if e.held_by_leads:
        return words.SHORT_LEADS
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


def conductor_sums(j: CpcJudged, taken: Sequence[CpcReading], run: Band, model: Model) -> tuple[str, ...]:
    """What the verdict rests on, line by line."""
    e = j.evidence
    assert e is not None  # asked for where there is evidence
    lines = [f"Protective conductor, whole: {shown_span(run)} with its connections"]
    for t in taken:
        low, high = t.observed.offset
        lead = f", less {low:.3f} to {high:.3f} Ω of line or leads" if high else ""
        what = {TOGETHER: "with all that is connected", CONDUCTOR: "of the conductor alone", PATH: "of all but it"}
        lines.append(f"{t.reading.id}: {say.digits(t.reading.shown)} {what[t.observed.test]}{lead}")
    low, high = model.path_ohm
    lines += [
        f"Other metal at the point: none with chance {model.path_absent:g}, else {_figure(low)} to {_figure(high)} Ω (log-uniform)",
        f"Impaired: {model.extra_ohm[0]:g} to {model.extra_ohm[1]:g} Ω more (log-uniform)",
        f"Whole against open: log10 {e.whole_over_open:+.2f}; against impaired: {e.whole_over_impaired:+.2f}; "
        f"{model.decide:g} is asked for",
    ]
    return tuple(lines)


def _figure(ohm: float) -> str:
    """Three figures, never as a power of ten."""
    return f"{float(f'{ohm:.3g}'):g}"


def conductor_findings(circuit: Circuit, j: CpcJudged) -> tuple[Finding, ...]:
    """A conductor that other metal speaks for: no single row can say it."""
    if j.verdict != DISPROVED or not j.others:
        return ()
    return (
        Finding.of(
            "cpc.flattered",
            f"circuit {circuit.id}, protective conductor",
            f"Its protective conductor is {j.named}; other metal was read in its place (entered: {say.listed(j.others)}).",
            circuit.id,
            "a reading that only a whole protective conductor gives",
            _weighed(j, j.evidence) if j.evidence is not None else "",
            f"Follow the cable of {circuit.id} to the break, mend it, and read again with the other metal parted.",
            "The point is earthed as long as that metal stays; a plumber may part it tomorrow.",
        ),
    )


def branches(circuit: Circuit) -> str:
    """Of a cable with spurs: what was read at one end says nothing of the others."""
    return " Each end of it is shown by a reading there alone." if any(s.spur for s in circuit.stretches) else ""


def lacking(circuit: Circuit) -> str:
    """Why nothing can be expected of a protective conductor."""
    if circuit.cpc not in WIRES:
        return f"the resistance of a cpc that is {circuit.cpc} is not known"
    lacking = ["its cross-section"] if circuit.cpc_mm2 is None else []
    lacking += ["its length"] if circuit.length_m is None else []
    return (
        f"{' and '.join(lacking)} not entered"
        if lacking
        else "the resistance of a conductor like it is not in the data"
    )


def stands_for_run(
    own: tuple[float, float], loop: tuple[float, float] | None, others: tuple[float, float, float] | None
) -> str:
    """What R1+R2 of a circuit without a length stands for, and what that does and does not prove [m].

    own  by R1+R2;  loop  by Zs less the loop up to the board;  others  shortest, middle and longest of its neighbours
    """
    text = f" By R1+R2 it is {_span(own)} of such cable"
    if loop is not None:
        text += f", by Zs less the loop before it {_span(loop)}"
        apart = loop[0] > own[1] or own[0] > loop[1]
        text += ": the two are not of one run, so look for another way to earth or a point elsewhere" if apart else ""
    if others is not None:
        text += f"; its neighbours are {others[0]:.0f} to {others[2]:.0f} m, most about {others[1]:.0f} m"
    return (
        f"{text}. Is it that long? Digits instead of over-range show that something joins the point to earth; they do not show "
        "that it is this conductor, nor that it is whole. Enter its length as paced or planned, "
        "never this one: a poor joint on a shorter run reads the same."
    )


def _span(metres: tuple[float, float]) -> str:
    low, high = metres
    return f"{low:.0f} to {high:.0f} m" if not math.isinf(high) else f"{low:.0f} m or more"


def open_whatever_length(circuit: Circuit, point: str) -> str:
    """A conductor without a length that read over-range."""
    return (
        f"Disproved: the reading to {point or 'the furthest point'} is over-range and the leads were good afterwards, which no "
        f"length of a whole conductor reads. Follow the cable of {circuit.id} to the break."
    )


def flattered_loop(circuit: Circuit, cpc: CpcJudged | None, rows: Iterable[TestJudged]) -> tuple[Finding, ...]:
    """A loop that meets its limit although the protective conductor is not whole: the current came back another way."""
    good = [t for t in rows if t.test == "zs" and t.outcome == MEETS and t.readings]
    if cpc is None or cpc.verdict != DISPROVED or not good:
        return ()
    read = next((r.shown for r in reversed(good[-1].readings) if r.shown is not None), None)
    return (
        Finding.of(
            "zs.flattered",
            f"circuit {circuit.id}, Zs",
            f"Zs meets its limit, but not over the protective conductor: that is {cpc.named}.",
            circuit.id,
            "a loop over a whole protective conductor",
            say.digits(read),
            "Take the loop for no proof of the conductor. Mend it, read R1+R2 or R2 again, then Zs.",
            "The current of the loop test came back over other metal, or the conductor failed or was mended in between.",
        ),
    )
