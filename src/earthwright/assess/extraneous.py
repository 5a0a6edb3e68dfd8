"""Is this part extraneous at all? Insulation from part to MET in its state, against the customary thresholds."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import evolve

from ..base.digits import Kind
from ..base.errors import Finding, NoRule, Severity
from ..base.quantity import Band, Limit
from ..gates.support import joined_to_met
from ..outcomes.assessment import BOND, LEAVE, METAL_OHM, NOT_DECIDED, BondJudged, PartJudged, PartThreshold
from ..outcomes.verdict import GUARDED, Judged, judge, judge_band, no_rule, not_decided
from ..physics.body import body_current_a, extraneous_limit_ohm
from ..physics.domain import OutOfDomain
from ..rules.lookup import (
    extraneous_thresholds,
    operating_current,
    plastic_section,
    supplementary_resistance_max,
)
from ..rules.model import Edition, Worked, cited
from ..site.bond_chain import looped
from ..site.correction import Corrector
from ..site.events import CONDUCTOR, EARTHING, TOGETHER, Reading
from ..site.installation import Circuit, Part
from ..site.visit import Visit
from .bond_chain import looped_findings
from .circuits.readings import Taken
from .circuits.words_dead import listed
from .rulings import Rulings

# Disconnection time that belongs to supplementary bonding [s] (415.2.2).
SUPPLEMENTARY_S = 5.0


def judge_parts(
    visit: Visit,
    bonds: Sequence[BondJudged],
    rulings: Rulings,
    only: str | None = None,
    corrector: Corrector | None = None,
) -> tuple[PartJudged, ...]:
    """Every part of the site, or ``only`` one: *bond*, *leave* or *not decided*, with the rule and what is missing."""
    taken = Taken(visit, corrector)
    parts = (p for p in visit.site.parts if only in (None, p.id))
    judged = (_part(visit, part, bonds, taken, rulings) for part in parts)
    return tuple(evolve(p, findings=(*p.findings, *looped_findings(visit, p, rulings))) for p in judged)


def _part(visit: Visit, part: Part, bonds: Sequence[BondJudged], taken: Taken, rulings: Rulings) -> PartJudged:
    own = tuple(b for b in bonds if b.bond.part == part.id)
    readings = tuple(r for r in taken.of(part.id, "extraneous") if r.shown is not None and not r.refused)
    plain = PartJudged(part, NOT_DECIDED, "", readings, supplementary=_supplementary(visit, own, rulings))
    if rulings.wiring is None:
        plain = evolve(plain, rule=rulings.why_none, unknown=("No edition of the wiring rules covers the day",))
        return _finish(visit, plain, own, None)
    if not rulings.wiring.has("extraneous.thresholds"):
        none = f"{rulings.wiring.standard}:{rulings.wiring.edition} has no thresholds in the data"
        plain = evolve(plain, rule=none, unknown=("The edition in force has no thresholds in the data",))
        return _finish(visit, plain, own, None)
    if not readings:
        return _unread(visit, plain, own, rulings)
    # Damp and season move the value, so the lowest of the readings that count is the one that counts.
    counted = [(_band(taken, r), r) for r in readings]
    measured, reading = min(counted, key=lambda pair: pair[0].low)
    state = taken.state(reading)
    joined = joined_to_met(visit.site, part.id, state.off)
    thresholds = _thresholds(visit, rulings, reading, measured)
    chosen = next(t for t in thresholds if t.chosen)
    verdict, rule, unknown = _verdict(chosen, joined, EARTHING in state.off, measured)
    judged = PartJudged(
        part,
        verdict,
        rule,
        readings,
        state,
        measured,
        joined,
        thresholds,
        unknown,
        supplementary=plain.supplementary,
    )
    return _finish(visit, judged, own, rulings.wiring)


def _band(taken: Taken, reading: Reading) -> Band:
    """What the true value may be; above the range it is only known to be above it."""
    shown, accuracy = reading.shown, taken.accuracy(reading)
    assert shown is not None  # only readings with digits come here
    if shown.kind is Kind.OVER:
        edge = float(shown.digits) or accuracy.top
        return Band(edge * (1.0 - accuracy.pct / 100.0), math.inf, shown.unit)
    band = taken.corrected(reading).band
    assert band is not None
    return band


def _thresholds(visit: Visit, rulings: Rulings, reading: Reading, measured: Band) -> tuple[PartThreshold, ...]:
    assert rulings.wiring is not None
    wanted, u0 = visit.choices.extraneous_ma, visit.site.supply.u0_v
    found = []
    for row in extraneous_thresholds(rulings.wiring):
        ma, body = float(str(row.keys["body_ma"])), float(row.number("body_ohm"))
        limit = row.as_limit("min", f"part to MET, {ma:g} mA")
        how = f"{u0:g} V / {ma:g} mA less {body:g} Ω of the body is {extraneous_limit_ohm(u0, ma / 1000.0, body):.0f} Ω"
        found.append(PartThreshold(ma, body, limit, _is(visit, reading, measured, limit), ma == wanted, how))
    if not any(t.chosen for t in found):
        found.append(_own(visit, reading, measured, found[0]))
    return tuple(sorted(found, key=lambda t: -t.body_ma))


def _own(visit: Visit, reading: Reading, measured: Band, like: PartThreshold) -> PartThreshold:
    """A current that the firm chose for itself: the same sum, said to be its own choice."""
    ma, u0 = visit.choices.extraneous_ma, visit.site.supply.u0_v
    try:
        ohm = extraneous_limit_ohm(u0, ma / 1000.0, like.body_ohm)
    except OutOfDomain:
        ohm = 0.0
    source = like.limit
    what = f"part to MET, {ma:g} mA"
    note = "current chosen for this visit, not a customary one"
    limit = Limit(ohm, "Ω", "min", what, source.clause, source.document, source.edition, source.confidence, note)
    how = f"{u0:g} V / {ma:g} mA less {like.body_ohm:g} Ω of the body is {ohm:.0f} Ω"
    return PartThreshold(ma, like.body_ohm, limit, _is(visit, reading, measured, limit), True, how)


def _is(visit: Visit, reading: Reading, measured: Band, limit: Limit) -> bool | None:
    """Whether the part counts as extraneous: at or below the threshold, by the decision rule of the visit."""
    shown = reading.shown
    if shown is not None and shown.kind is Kind.VALUE and visit.choices.decision != GUARDED:
        return shown.value <= limit.value
    if measured.high <= limit.value:
        return True
    return False if measured.low > limit.value else None


def _verdict(
    chosen: PartThreshold, joined: tuple[str, ...], adrift: bool, measured: Band
) -> tuple[str, str, tuple[str, ...]]:
    limit = chosen.limit
    rule = f"{limit.value:.0f} Ω for {chosen.body_ma:g} mA ({limit.clause}, {limit.edition}; {chosen.how})"
    if chosen.extraneous is None:
        return NOT_DECIDED, rule, ("Read it with an instrument whose limits of error do not straddle the threshold",)
    if chosen.extraneous and joined:
        return NOT_DECIDED, rule, (f"Take {listed(joined)} off and read again: it joins the part to the MET",)
    if not chosen.extraneous and adrift:
        return (
            NOT_DECIDED,
            rule,
            ("Read again with the earthing conductor connected: without it the MET is not at earth",),
        )
    return (BOND if chosen.extraneous else LEAVE), rule, ()


def _unread(visit: Visit, judged: PartJudged, own: tuple[BondJudged, ...], rulings: Rulings) -> PartJudged:
    if "plastic" in judged.part.material.lower() or judged.part.material.upper() in (
        "PE",
        "MDPE",
        "HDPE",
        "PVC",
        "PEX",
    ):
        rule = f"an extraneous-conductive-part is conductive; plastic pipe is not{cited(rulings.wiring, 'definition of extraneous parts')}"
        return _finish(visit, evolve(judged, verdict=LEAVE, rule=rule), own, rulings.wiring)
    missing = "Read insulation from the part to the MET, with everything off that joins the two"
    judged = evolve(
        judged, rule=f"bonded if it is extraneous{cited(rulings.wiring, 'part.unsettled')}", unknown=(missing,)
    )
    return _finish(visit, judged, own, rulings.wiring)


# ---- what is said beside the verdict ----


def _finish(visit: Visit, judged: PartJudged, own: tuple[BondJudged, ...], wiring: Edition | None) -> PartJudged:
    judged = evolve(judged, warnings=tuple(_warnings(visit, judged, wiring)))
    judged = evolve(judged, findings=tuple(_findings(visit, judged, own)))
    return evolve(judged, words=_words(visit, judged))


def _pme(visit: Visit) -> bool:
    supply = visit.site.supply
    return bool(supply.pme) or (supply.pme is None and supply.system == "TN-C-S")


def _warnings(visit: Visit, judged: PartJudged, wiring: Edition | None) -> list[str]:
    said = []
    part = judged.part
    if _pme(visit) and judged.verdict != BOND:
        said.append(
            "PME: a bond on metal that floats would bring the voltage of the MET onto it if the supply neutral were lost; "
            "it is not bonded just in case."
        )
    if part.owner and judged.verdict == BOND:
        said.append(
            f"It belongs to the {part.owner}: clamp it only with their agreement, or bond on the consumer's side."
        )
    if part.plastic_section_m:
        said.append(_plastic(part, wiring))
    if judged.measured is not None and judged.measured.high < METAL_OHM:
        said.append(
            f"Under {METAL_OHM:g} Ω is metal rather than soil: a boiler's or a pump's protective conductor, or another bond, may "
            "still join it; find what does and read again without it."
        )
    return said


def _plastic(part: Part, wiring: Edition | None) -> str:
    """What a plastic section of that length does, from the water column in it."""
    length = part.plastic_section_m or 0.0
    rows = {} if wiring is None else {str(r.keys["what"]): r for r in plastic_section(wiring)}
    column = next((r for what, r in rows.items() if what.startswith("water column")), None)
    least = next((r for what, r in rows.items() if "least length" in what), None)
    if column is None or least is None:
        return f"{length:g} m of plastic in it."
    kohm = float(column.number("per_m_kohm")) * length
    enough = (
        ""
        if length >= float(least.value)
        else f", shorter than the {least.value} m that guidance asks of an insulating section"
    )
    return (
        f"{length:g} m of plastic{enough}: full of water about {kohm:.0f} kΩ in a 15 mm pipe. Metal behind it needs no main bond if it "
        "meets earth nowhere else; only a reading shows that."
    )


def _findings(visit: Visit, judged: PartJudged, own: tuple[BondJudged, ...]) -> list[Finding]:
    part, found = judged.part, []
    main = [b for b in own if not b.bond.supplementary]
    bonded = bool([b for b in visit.site.bonds if b.part == part.id and not b.supplementary]) or part.id in looped(
        visit.site
    )
    shown = ", ".join(str(r.shown) for r in judged.readings)

    def say(what: str, severity: Severity, family: str, do: str, because: str = "") -> None:
        found.append(Finding(f"part {part.id}", what, severity, family, part.id, judged.rule, shown, do, because))

    if judged.verdict == BOND and not bonded:
        say(
            f"The {part.title} is extraneous by the reading and has no main bond.",
            Severity.WARNING,
            "extraneous.unbonded",
            "Bond it at its entry, on the consumer's side, before any branch.",
            "A bond that is there may not have been entered; a boiler's protective conductor may have answered.",
        )
    if judged.verdict == LEAVE and (main or bonded):
        say(
            f"The {part.title} has a main bond and is not extraneous by the reading.",
            Severity.NOTE,
            "extraneous.needless",
            "Leave what is there, or remove it as a decision of the designer; do not add another.",
            "It may have been extraneous before a pipe was renewed in plastic; damp and season move the reading.",
        )
    # A part on a loop is read with the loop on: that reading is of the loop, which says so itself.
    if judged.readings and judged.verdict == NOT_DECIDED and part.id not in looped(visit.site):
        say(
            f"The reading does not decide whether the {part.title} is extraneous.",
            Severity.NOTE,
            "extraneous.state",
            "; ".join(judged.unknown or ("No edition of the rules covers the day",)) + ".",
        )
    answers = {t.extraneous for t in judged.thresholds}
    if judged.verdict in (BOND, LEAVE) and len(answers) > 1:
        say(
            f"Whether the {part.title} is extraneous depends on the threshold.",
            Severity.NOTE,
            "extraneous.depends",
            "Note the current that was chosen and why.",
            "; ".join(f"{t.body_ma:g} mA: {_answer(t)}" for t in judged.thresholds),
        )
    if not judged.readings and not bonded and judged.verdict == NOT_DECIDED:
        say(
            f"The {part.title} has no main bond, and nothing shows whether it needs one.",
            Severity.NOTE,
            "extraneous.unknown",
            "Measure from the part to the MET, or say what was seen of it.",
        )
    return found


def _answer(t: PartThreshold) -> str:
    return "not decided" if t.extraneous is None else "extraneous" if t.extraneous else "not extraneous"


def _words(visit: Visit, judged: PartJudged) -> str:
    part = judged.part
    parts = []
    if judged.readings:
        parts.append(f"{part.title} to the MET: {', '.join(str(r.shown) for r in judged.readings)}.")
    if judged.measured is not None and math.isfinite(judged.measured.high):
        body = judged.thresholds[0].body_ohm if judged.thresholds else 1000.0
        ma = 1000.0 * body_current_a(visit.site.supply.u0_v, judged.measured.low, body)
        parts.append(f"At {visit.site.supply.u0_v:g} V at most {ma:.2g} mA could flow through a person and it.")
    parts += [f"{t.body_ma:g} mA ({t.limit.value:.0f} Ω): {_answer(t)}." for t in judged.thresholds]
    parts.append({BOND: "Bond", LEAVE: "Leave", NOT_DECIDED: "Not decided"}[judged.verdict] + f": {judged.rule}.")
    if judged.unknown:
        parts.append(f"{'; '.join(judged.unknown)}.")
    return " ".join([*parts, *judged.warnings])


# ---- supplementary bonding ----


def _supplementary(visit: Visit, own: tuple[BondJudged, ...], rulings: Rulings) -> tuple[Judged, ...]:
    """Supplementary bonds of the part: R at most 50 V / Ia of every circuit of the location; the strictest counts."""
    bonds = [b for b in own if b.bond.supplementary]
    if not bonds:
        return ()
    if rulings.wiring is None:
        return tuple(no_rule(rulings.why_none) for _ in bonds)
    limits = []
    for circuit in _circuits_there(visit, bonds[0].part):
        try:
            limits.append(_limit(rulings, circuit))
        except NoRule:
            continue
    if not limits:
        return tuple(not_decided(None, "no circuit of the location with a device that the rules know") for _ in bonds)
    strictest = min(limits, key=lambda limit: limit.value)
    return tuple(_held(b, strictest, visit) for b in bonds)


def _circuits_there(visit: Visit, part: Part) -> list[Circuit]:
    """Circuits of the same place as the part; all of them when no place is given, which is the strict choice."""
    same = [c for c in visit.site.circuits if c.location and c.location == part.entry]
    return same or list(visit.site.circuits)


def _limit(rulings: Rulings, circuit: Circuit) -> Limit:
    device, wiring = circuit.device, rulings.wiring
    assert wiring is not None
    if device.rcd_ma is not None:
        found: Worked = supplementary_resistance_max(wiring, device.rcd_ma / 1000.0)
    elif device.rating_a is not None:
        ia = operating_current(wiring, device.standard, device.type, device.rating_a, SUPPLEMENTARY_S)
        found = supplementary_resistance_max(wiring, ia.value)
    else:
        raise NoRule(f"circuit {circuit.id}: no device")
    return found.as_limit("max", f"supplementary bonding, circuit {circuit.id}")


def _held(b: BondJudged, limit: Limit, visit: Visit) -> Judged:
    used = [x for x in b.readings if x.used and x.reading.test in (CONDUCTOR, TOGETHER)]
    if not used:
        return not_decided(limit, "no reading between the parts that counts")
    last = max(used, key=lambda x: x.reading.shown.value if x.reading.shown else 0.0).corrected  # the worst stands
    if last.quantity is not None:
        return judge(last.quantity, limit, visit.choices.decision)
    if last.band is not None:
        return judge_band(last.band, limit)
    return judge_band(Band(last.accuracy.top, math.inf, "Ω"), limit)
