"""The sentences: what was read, what it should have been, what that shows, by which rule, and what to do.

Every sentence is made from the judged values; none belongs to a particular case.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from ..base.digits import Kind
from ..base.figure import span
from ..base.quantity import Band
from ..evidence.bond import DISPROVED, OPEN, PROVED, Evidence
from ..outcomes.assessment import BondFound, BondJudged, ReadingJudged
from ..outcomes.verdict import FAILS, MEETS, NO_RULE, NOT_DECIDED, Judged
from ..site.events import CLAMP_BODY, CONDUCTOR, JOINT, PATH, TOGETHER
from ..site.repairs import put_right

# How each reading is taken, before its digits.
HOW = {
    CONDUCTOR: "Conductor alone, MET end off",
    CLAMP_BODY: "Conductor to the clamp's body only, joint left out",
    PATH: "Path without the bond, MET to the {part}",
    TOGETHER: "All connected, MET to the {part}",
    JOINT: "Across the joint",
}
# What each reading is called in a list.
NAMES = {
    CONDUCTOR: "conductor, one end off",
    PATH: "path without the bond",
    TOGETHER: "together, all connected",
    JOINT: "joint",
    CLAMP_BODY: "conductor to the clamp's body",
}
CAUTION_LINE = "The tool advises; the inspector judges and signs. Local codes, the instrument's instructions and competent, registered or licensed persons decide."
SHORT_LEADS = "Short the tips of the leads, just as used and not nulled again, and note what is shown: that lets the readings count."
CAUTIONS_OFF = (
    "Isolate and lock off the supply; prove the tester, prove dead, prove the tester again.",
    "Clamp meter on the bond again after isolating: a neighbour's current does not stop with your switch. If it carries current, leave it connected.",
    "Take off one end of one bond at a time, and put it back before anything is energised.",
)


def ohm(value: float, step: float = 0.01) -> str:
    """A resistance rounded as the instrument shows it; below half a digit as an inequality."""
    if math.isinf(value):
        return "over-range"
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    if abs(value) < step / 2:
        return f"under {step / 2:.{decimals + 1}f} Ω"
    return f"{value:.{decimals}f} Ω"


def digits_of(band: Band, step: float) -> str:
    """Digits that a display may show, as a range or a single value."""
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    low, high = f"{band.low:.{decimals}f}", f"{band.high:.{decimals}f}"
    return f"{low} Ω" if low == high else f"{low} to {high} Ω"


def times(log10_factor: float) -> str:
    """A Bayes factor as a person would say it."""
    factor = 10.0 ** min(abs(log10_factor), 9.0)
    if factor >= 1e6:
        return "more than a million times"
    if factor >= 10:
        places = 10 ** (int(math.log10(factor)) - 1)
        return f"about {round(factor / places) * places:,} times".replace(",", " ")
    return f"about {factor:.1f} times"


def bond_words(b: BondJudged) -> str:
    """The paragraph for one bond: state, digits, band, what that shows, rule, what to do."""
    parts = [
        *_history(b),
        *_read(b),
        *_should_be(b),
        *_shows(b),
        *_hangs_together(b),
        _joint(b),
        _size(b),
        *(f"{j.why}." for j in b.place if j.outcome == FAILS and j.why),
        _explained(b),
        _do(b),
    ]
    return " ".join(p for p in parts if p)


def _history(b: BondJudged) -> list[str]:
    """What was found and put right before what the rest of the paragraph speaks of."""
    if not b.found:
        return []
    said = [f"Found: {f.words} P{put_right(f.repair)[1:]}." for f in b.found]
    return [*said, "Left:" if b.readings else "Left: not shown, since nothing was measured on it after that."]


def found_words(f: BondFound, title: str) -> str:
    """What was read of a bond before it was put right, and what it showed."""
    read = _digits_read(f.readings, title, (CONDUCTOR, CLAMP_BODY, PATH, TOGETHER, JOINT))
    if not read:
        return "nothing was measured."
    joint = " The joint did not meet its guidance." if f.joint.outcome == FAILS else ""
    return f"{_lower(' '.join(read))} It was {verdict_said(f.verdict, f.named)}.{joint}"


def bond_put_right(b: BondJudged) -> list[tuple[BondFound, str, tuple[str, ...]]]:
    """For each fault that was found before something was put right: what it was, and the reasons, for the record."""
    said: list[tuple[BondFound, str, tuple[str, ...]]] = []
    for f in b.found:
        if f.verdict != DISPROVED and f.joint.outcome != FAILS:
            continue
        as_found = (f.named or "impaired") if f.verdict == DISPROVED else "with a poor joint"
        what = f"The bond to the {b.part.title} was found {as_found}"
        left = f"Left: {b.verdict}." if b.readings else "It was not read again yet."
        said.append((f, what, (f.words, f"P{put_right(f.repair)[1:]}.", left)))
    return said


def verdict_said(verdict: str, named: str) -> str:
    """A verdict with what it was disproved as."""
    return f"{verdict}: {named}" if named else verdict


def _digits_read(readings: Iterable[ReadingJudged], title: str, tests: Iterable[str]) -> list[str]:
    """Each kind of reading that counts with its digits, a sentence each."""
    sentences = []
    for test in tests:
        shown = [r.reading.shown for r in readings if r.reading.test == test and r.used and r.reading.shown]
        if not shown:
            continue
        text = ", then ".join(s.as_shown if s.kind is Kind.VALUE else str(s) for s in dict.fromkeys(shown))
        sentences.append(f"{HOW[test].format(part=title)}: {text}.")
    return sentences


def held_words(b: BondJudged, why: str) -> str:
    """The paragraph for a bond whose verdict is held back: what was read, why nothing is judged by it, joint and size."""
    return " ".join(p for p in (*_read(b), f"Not shown: {why}.", _joint(b), _size(b)) if p)


def _read(b: BondJudged) -> list[str]:
    if not b.readings and b.limited:
        return [f"The bond to the {b.part.title} was not measured, {b.limited.rstrip('.')}."]
    if not b.readings:
        return [] if b.found else [f"Nothing has been measured on the bond to the {b.part.title} yet."]
    sentences = _digits_read(b.readings, b.part.title, (CONDUCTOR, CLAMP_BODY, PATH, TOGETHER))
    void = [r for r in b.readings if not r.used and r.why_not]
    if void:
        reasons = "; ".join(dict.fromkeys(_lower(r.why_not.rstrip(".")) for r in void))
        count = "One reading does" if len(void) == 1 else f"{len(void)} readings do"
        sentences.append(f"{count} not count: {reasons}.")
    return sentences


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _should_be(b: BondJudged) -> list[str]:
    copper = b.expected[0].copper
    text = f"{b.bond.length_m:g} ± {b.bond.length_tol_m:g} m of {b.bond.csa_mm2:g} mm² is {span(copper, 3)} with a good joint"
    if copper.high < 0.02 and any(r.reading.test == CONDUCTOR for r in b.readings):
        return [text + ", less than the display can tell, so the digits say nothing about the length."]
    return [text + "."]


def _shows(b: BondJudged) -> list[str]:
    e = b.evidence
    used = {r.reading.test: r for r in b.readings if r.used}
    if b.verdict == PROVED:
        first = (
            f"A whole conductor would show these digits {times(e.whole_over_open)} as often as an open one and "
            f"{times(e.whole_over_impaired)} as often as an impaired one. Proved: whole from the MET to the {b.part.title}."
        )
        return [first, *_masked(b, used)]
    if b.verdict == DISPROVED:
        if b.named == OPEN:
            same = _path_is_together(used)
            return [
                f"An open conductor would show these digits {times(e.whole_over_open)} as often as a whole one. "
                f"Disproved: the bond to the {b.part.title} is not continuous."
                + (" The path alone reads the same as all together, so the bond adds nothing." if same else "")
            ]
        return [
            f"A conductor with extra resistance in it would show these digits {times(e.whole_over_impaired)} as often as a whole one. "
            f"Disproved: there is resistance in the run or its joint that {b.bond.length_m:g} m of copper does not have."
        ]
    sentences = _masked(b, used)
    if not used:
        return [] if b.found and not b.readings else [*sentences, "Not shown: no reading that counts."]
    if b.contradicted:
        return [*sentences, b.contradicted, f"Not shown: whether the bond to the {b.part.title} is whole."]
    conductor = used.get(CONDUCTOR)
    if e.held_by_leads:
        sentences.append(held_by_leads(e))
    elif conductor and conductor.reading.shown and conductor.reading.shown.kind is Kind.OVER:
        sentences.append(
            "An open conductor shows this, and so does a lead that was off; the leads were not shorted afterwards to tell them apart."
        )
    elif set(used) & {CONDUCTOR, PATH, TOGETHER}:
        if e.whole_over_open < 2:
            sentences.append(_could_have_read(e.whole_over_open))
        elif e.whole_over_impaired < 2:
            sentences.append("A poor joint or a damaged run could have read the same.")
    sentences.append(f"Not shown: whether the bond to the {b.part.title} is whole.")
    return sentences


def held_by_leads(e: Evidence) -> str:
    """Why readings that would do by themselves do not: what was allowed for the leads is only believed."""
    other = "a poor joint" if e.if_checked is not None and e.if_checked.verdict == PROVED else "a whole conductor"
    return (
        "The digits would settle it, but the leads were not shorted afterwards: with the null of another set, or a null that "
        f"was lost, {other} could have read the same."
    )


def _could_have_read(log10_factor: float) -> str:
    if log10_factor <= 0.5:
        return "A cut bond could have read the same."
    return f"A cut bond could have read the same: a whole one is only {times(log10_factor)} likelier to, and a hundred times is asked for."


def _masked(b: BondJudged, used: dict[str, ReadingJudged]) -> list[str]:
    """Say so when the digits are lower than copper allows: other metal answered."""
    together = used.get(TOGETHER)
    if together is None or together.reading.shown is None or together.reading.shown.kind is not Kind.VALUE:
        return []
    copper = together.expected.copper
    step = float(together.reading.shown.step)
    if together.reading.shown.value + step >= copper.low:
        return []  # one digit of the display explains it
    path = used.get(PATH)
    who = "The path explains it" if path is not None else "so other metal carried part of the test current"
    if path is not None and path.reading.shown is not None and path.reading.shown.kind is Kind.OVER:
        who = "No path was there to explain it: check size, length, the null and whether the rows were exchanged"
    head = (
        f"{together.reading.shown.as_shown} is below the {ohm(copper.low, step / 10)} that the copper alone must have"
    )
    return [f"{head}. {who}." if PATH in used else f"{head}, {who}."]


def _path_is_together(used: dict[str, ReadingJudged]) -> bool:
    path, together = used.get(PATH), used.get(TOGETHER)
    if path is None or together is None or path.reading.shown is None or together.reading.shown is None:
        return False
    return abs(path.reading.shown.value - together.reading.shown.value) <= float(together.reading.shown.step)


def _hangs_together(b: BondJudged) -> list[str]:
    if b.closure is None:
        return []
    difference, predicted = b.closure.difference, b.closure.predicted
    if b.closure.closes:
        return [
            f"The three readings agree: conductor and path together make {predicted:.3f} Ω, and {ohm(predicted + difference.value)} was read."
        ]
    return [
        f"The three readings do not agree: conductor and path together make {predicted:.3f} Ω, but "
        f"{ohm(predicted + difference.value)} was read. The null, a lead or a joint has moved between them: take all three again."
    ]


def _joint(b: BondJudged) -> str:
    if b.joint.outcome == NO_RULE and not b.joint.why:
        return ""
    return f"Joint: {judged_words(b.joint)}"


def _size(b: BondJudged) -> str:
    j = b.size.judged
    if j.outcome == MEETS and b.size.needed_mm2 is not None and j.limit is not None:
        return (
            f"Size: {b.bond.csa_mm2:g} mm² meets the {b.size.needed_mm2:g} mm² of {j.limit.clause} ({j.limit.edition})."
        )
    return f"Size: {judged_words(j)}"


def judged_words(j: Judged) -> str:
    """A comparison with its limit in one sentence."""
    memory = " (value from memory, check it)" if j.limit and j.limit.confidence == "memory" else ""
    by = (f"{j.limit.value:g} {j.limit.unit}", j.limit.clause, j.limit.edition) if j.limit else ()
    limit = ", ".join(filter(None, by)) + memory
    if j.outcome == MEETS:
        return f"meets {limit}{'. ' + j.why if j.why else ''}."
    if j.outcome == FAILS:
        return f"does not meet {limit}{'. ' + j.why if j.why else ''}."
    if j.outcome == NOT_DECIDED:
        return f"not decided: {j.why}."
    return f"no rule: {j.why}."


def _explained(b: BondJudged) -> str:
    if b.verdict != DISPROVED or not b.explanations:
        return ""
    best = [x.what for x in b.explanations[:3]]
    return "What would explain the digits, best first: " + "; ".join(best) + "."


def _do(b: BondJudged) -> str:
    return b.next.do if b.next is not None else nothing_more(b)


def nothing_more(b: BondJudged) -> str:
    """What is said of a bond for which no reading is asked any more."""
    wrong = any(j.outcome == FAILS for j in b.place)
    return "Its readings want nothing more; its clamp does." if wrong else "Nothing more is needed here."


def worked_sum(b: BondJudged, r_mohm_per_m: float, temp_c: float) -> tuple[str, ...]:
    """The sum behind the band and the check of the three readings, line by line."""
    copper = b.expected[0].copper
    low, high = max(0.0, b.bond.length_m - b.bond.length_tol_m), b.bond.length_m + b.bond.length_tol_m
    lines = [
        f"Copper, low: {low:g} m × {r_mohm_per_m:.3g} mΩ/m × {b.evidence.model.make[0]:g} = {copper.low:.4f} Ω ({temp_c:g} °C)",
        f"Copper, high: {high:g} m × {r_mohm_per_m:.3g} mΩ/m + joint {b.evidence.model.joint_ohm:g} Ω = {copper.high:.4f} Ω",
    ]
    for r in b.readings:
        if r.corrected.quantity is not None:
            q = r.corrected.quantity
            lines.append(f"{NAMES[r.reading.test].capitalize()}: {q.value:.3f} Ω, standard uncertainty {q.u:.4f} Ω")
    if b.closure is not None:
        d = b.closure.difference
        lines.append(
            f"Together from the other two: {b.closure.predicted:.4f} Ω; measured minus that: {d.value:+.4f} ± {d.expanded():.4f} Ω (95 %)"
        )
    if b.implied is not None:
        lines.append(f"Length that the conductor reading stands for: {b.implied.low:.0f} to {b.implied.high:.0f} m")
    lines.append(
        f"Whole against open: log10 {b.evidence.whole_over_open:+.2f}; against impaired: {b.evidence.whole_over_impaired:+.2f}; "
        f"{b.evidence.model.decide:g} is asked for"
    )
    return tuple(lines)
