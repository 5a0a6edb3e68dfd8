"""A circuit that is entered as having no protective conductor: what the rules ask, and what hangs on the fittings."""

from __future__ import annotations

from ...base.errors import Finding, NoRule
from ...outcomes.circuits import NO_METAL_THERE, TestJudged
from ...outcomes.verdict import FAILS, Judged
from ...rules import Edition, RuleValue
from ...site.installation import CLASSES, Circuit
from . import words_live as say
from .limits import Case, no_rule_for

TEST = "protective conductor"
EXTRA_LOW_V = 50.0


def no_cpc_row(case: Case, circuit: Circuit) -> TestJudged | None:
    """None where a protective conductor is entered, or none belongs: extra-low voltage, the feeder of a TT island."""
    if circuit.cpc != "none" or case.volts(circuit.board) <= EXTRA_LOW_V:
        return None
    if any(b.fed_by == circuit.id and b.id in case.earths for b in case.visit.site.boards):
        return None
    lighting = circuit.use == "lighting"
    try:
        rule = case.limits.ask(_rule, "lighting" if lighting else "other")
    except NoRule as error:
        judged = no_rule_for(error)
        return TestJudged(circuit.id, TEST, judged=(judged,), outcome=judged.outcome, words=say.against(judged))
    why = _why(circuit, lighting)
    spared = circuit.fittings == CLASSES[1] or (lighting and not circuit.fittings)
    judged = Judged(FAILS, None, simple=FAILS, guarded=FAILS, why=f"No protective conductor is entered: {why}")
    memory = f" ({say.MEMORY})" if rule.confidence == "memory" else ""
    return TestJudged(
        circuit.id,
        TEST,
        judged=(judged,),
        outcome=FAILS,
        reason=NO_METAL_THERE if spared else "",
        words=f"{rule.text('rule')} [{rule.clause}]{memory}. {judged.why}.",
        findings=(_finding(circuit, judged.why, rule),),
    )


def _rule(edition: Edition, use: str) -> RuleValue:
    return edition.table("cpc.required").look(use=use)


def _why(circuit: Circuit, lighting: bool) -> str:
    if circuit.fittings == CLASSES[0]:
        return "metal of a Class I fitting becomes live in a fault, and nothing disconnects it"
    if circuit.fittings == CLASSES[1]:
        return "all fittings are entered as Class II, which need none; a notice at the board keeps Class I ones away"
    if lighting:
        return "whether a fitting, switch plate or its screws are Class I is not entered; with metal that can be touched it is C2"
    return "what is connected may be Class I, whose metal becomes live in a fault"


def _finding(circuit: Circuit, why: str, rule: RuleValue) -> Finding:
    return Finding.of(
        "cpc.none",
        f"circuit {circuit.id}",
        f"{why}.",
        circuit.id,
        f"a protective conductor to each point [{rule.clause}]",
        "none",
        'Look at every fitting and switch plate and enter fittings = "class I" or "class II"; no Class I fitting without one.',
    )
