"""The earthing conductor that is fitted, against each rule that asks for its size.

Selected by the table or acquitted by the adiabatic equation (543.1); under PME never below a main bond (544.1.1); buried
never below what corrosion and knocks leave of it (table 54.1). What is not known leaves its own rule open, no other.
"""

from __future__ import annotations

import re

from attrs import evolve

from ...base.errors import NoRule
from ...base.quantity import Limit, exact
from ...outcomes.circuits import TestJudged
from ...outcomes.verdict import MEETS, NO_RULE, NOT_DECIDED, Judged, judge, not_decided
from ...physics.loop import fault_current_a
from ...rules import Edition, RuleValue
from ...rules.lookup import k_value
from ...rules.sizes import as_conductance, by_k, earthing_conductor_min, pme_least
from ...site.events import ORIGIN
from ...site.installation import BURIED, Device
from . import words_live as say
from .adiabatic import worst_fault
from .limits import Case, no_rule_for, settled, worst
from .loop import measured

TEST = "earthing conductor"
ADIABATIC = "adiabatic"
_STANDARD = re.compile(r"BS\s*(?:EN\s*|HD\s*)?\d+(?:-\d+)*")
_MAY_ACQUIT = "By the table alone; the adiabatic equation{cited} may acquit it: Ze, and standard and rating of the supply fuse, are needed"


def earthing_row(case: Case) -> TestJudged | None:
    """The earthing conductor of the supply; None where its size is not entered."""
    supply = case.visit.site.supply
    fitted = supply.earthing_csa_mm2
    if fitted is None:
        return None
    found = [j for rule in (_general, _pme, _buried) if (j := _asked(case, fitted, rule)) is not None]
    outcome = worst(found)
    if outcome == NO_RULE and any(j.outcome == MEETS for j in found):
        outcome = NOT_DECIDED
    what = f"{fitted:g} mm² of {supply.earthing_material}"
    words = say.sentences((f"Earthing conductor: {what}.", *(say.against(j) for j in found)))
    return TestJudged(ORIGIN, TEST, judged=tuple(found), outcome=outcome, words=words, value=exact(fitted, "mm²"))


def _asked(case: Case, fitted: float, rule: object) -> Judged | None:
    try:
        return rule(case, fitted)  # type: ignore[operator,no-any-return]
    except NoRule as error:
        return no_rule_for(error)


def _general(case: Case, fitted: float) -> Judged:
    """By the line conductors (table 54.7) or a size worked out; what fails the table may be acquitted by calculation."""
    supply = case.visit.site.supply
    by_sum = _adiabatic(case, fitted)
    if supply.earthing_needed_mm2 is not None:
        share = case.limits.ask(by_k, supply.earthing_material)
        limit = _table(
            case,
            settled(supply.earthing_needed_mm2 * share),
            case.limits.clause(ADIABATIC),
            "as worked out and entered",
        )
        limit = evolve(limit, rule=ADIABATIC)
        return judge(exact(fitted, "mm²"), limit)
    if supply.line_csa_mm2 is None:
        missing = "the cross-section of the line conductors (tails), or a size worked out, is not entered"
        return by_sum or not_decided(None, missing)
    share = case.limits.ask(by_k, supply.earthing_material)
    step = case.limits.ask(earthing_conductor_min, supply.line_csa_mm2)
    note = f"line conductors of {supply.line_csa_mm2:g} mm²"
    limit = _table(case, settled((step.value_mm2 or 0.0) * share), step.clause, note)
    held = judge(exact(fitted, "mm²"), limit)
    by = case.limits.clause(ADIABATIC)
    if held.outcome == MEETS or case.tt:
        return held if held.outcome == MEETS else not_decided(limit, _TT.format(by=by and f" by {by}"))
    return by_sum or evolve(held, why=_MAY_ACQUIT.format(cited=case.limits.cited(ADIABATIC)))


_TT = "the table is not kept, but the electrode limits the current: work it out{by}"


def _table(case: Case, value: float, clause: str, note: str) -> Limit:
    row = case.limits.ask(_row)
    return evolve(row.as_limit("min", TEST, "share"), value=value, unit="mm²", clause=clause, note=note)


def _row(edition: Edition) -> RuleValue:
    return edition.table("earthing.conductor").look(line_mm2=1)


def _adiabatic(case: Case, fitted: float) -> Judged | None:
    """S = √(I²·t)/k at the origin, I = U0/Ze; None where the current, the fuse or its time is not known."""
    supply = case.visit.site.supply
    ze, standard = measured(case, ORIGIN, "ze"), _STANDARD.search(supply.fuse)
    if case.tt or ze is None or ze.quantity is None or ze.quantity.value <= 0:
        return None
    if standard is None or supply.fuse_a is None:
        return None
    material = supply.earthing_material.removesuffix(" tinned")
    i_a = fault_current_a(case.u0_v, ze.quantity.value)
    device = Device(standard.group(), "gG" if "88" in standard.group() else "", supply.fuse_a)
    try:
        k = case.limits.ask(k_value, "separate", material, "70 °C thermoplastic")
        found = worst_fault(case, device, i_a, i_a, float(k.value), fitted)
    except NoRule:
        return None
    if found.at_most and found.csa_mm2 > fitted:
        return None  # the longest time it may take proves nothing against the conductor
    why = f"{i_a:.0f} A for {found.t_s:.2g} s ask for {found.csa_mm2:.3g} mm² ({found.how}; k = {k.value})"
    clause = case.limits.clause(ADIABATIC)
    limit = Limit(
        settled(found.csa_mm2), "mm²", "min", TEST, clause, k.document, k.applies_under, k.confidence, why, ADIABATIC
    )
    return evolve(judge(exact(fitted, "mm²"), limit), why=why)


def _pme(case: Case, fitted: float) -> Judged | None:
    """Under PME not below the main bond that table 54.8 asks for, in copper that conducts as well."""
    supply = case.visit.site.supply
    if not (supply.pme or (supply.pme is None and supply.system == "TN-C-S")):
        return None
    like = fitted / case.limits.ask(as_conductance, supply.earthing_material)
    least, most = case.limits.ask(pme_least, supply.neutral_csa_mm2)
    what = f"{TEST} under PME"
    held = judge(exact(settled(like), "mm²"), least.as_limit("min", what))
    if supply.earthing_material != "copper":
        held = evolve(held, why=f"{fitted:g} mm² of {supply.earthing_material} conducts like {like:.1f} mm² of copper")
    if held.outcome == MEETS and like < float(most.value):
        return not_decided(most.as_limit("min", what), "the size of the supply neutral is not entered")
    return held


def _buried(case: Case, fitted: float) -> Judged | None:
    """In soil: the least size by how it is protected (table 54.1)."""
    supply = case.visit.site.supply
    if not supply.earthing_buried:
        return None
    row = case.limits.ask(_in_soil, supply.earthing_material.removesuffix(" tinned"), supply.earthing_buried)
    return judge(exact(fitted, "mm²"), row.as_limit("min", f"{TEST} in soil"))


def _in_soil(edition: Edition, material: str, buried: str) -> RuleValue:
    corrosion = "not protected" if buried == BURIED[2] else "protected"
    mechanical = {BURIED[0]: "protected", BURIED[1]: "not protected", BURIED[2]: "any"}[buried]
    return edition.table("earthing.buried").look(material=material, corrosion=corrosion, mechanical=mechanical)
