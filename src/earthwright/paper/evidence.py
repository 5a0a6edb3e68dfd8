"""The evidence sheet: for every verdict its digits, state, budget, band, rule and sum, as texts."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..base.quantity import Band, Quantity
from ..outcomes.assessment import Assessment, BondJudged
from ..outcomes.circuits import CpcJudged, RingJudged, TestJudged
from ..outcomes.verdict import DECISIONS, Judged
from ..site.events import ORIGIN, Reading, State
from ..site.reading import Corrected
from .circuits import all_tests, whole
from .digits_said import said
from .page import MODEL, constants_said


def evidence_page(a: Assessment) -> dict[str, object]:
    """Every verdict with what it rests on, in the order of the schedule."""
    groups = [{"title": "Bonds", "verdicts": [_bond(b) for b in a.bonds]}]
    groups.append({"title": "Origin", "verdicts": [_test(t, _name(t)) for t in all_tests(a, ORIGIN, a.origin)]})
    for e in a.electrodes:
        name = e.electrode.where or e.electrode.id
        groups.append(
            {
                "title": f"Electrode: {name}",
                "verdicts": [_test(t, _name(t)) for t in all_tests(a, e.electrode.id, e.tests)],
            }
        )
    for b in a.boards:
        title = b.board.name or b.board.id
        groups.append({"title": title, "verdicts": [_test(t, _name(t)) for t in all_tests(a, b.board.id, b.tests)]})
        for c in b.circuits:
            name = f"{title}, circuit {c.circuit.id}" + (f": {c.circuit.name}" if c.circuit.name else "")
            verdicts = [_test(t, _name(t)) for t in whole(a, c).tests if t.absent != "missing"]
            if c.ring is not None:
                verdicts.append(_ring(c.ring))
            if c.cpc is not None and c.cpc.evidence is not None:
                verdicts.append(_cpc(c.cpc))
            groups.append({"title": name, "verdicts": verdicts})
    return {
        "constants": f"{MODEL} {constants_said(a)}" if a.bonds else "",
        "groups": [g for g in groups if g["verdicts"]],
        "not_judged": [f"{n.entry}: {n.why}" for n in a.not_judged],
        "decision": f"{a.visit.choices.decision}: {DECISIONS[a.visit.choices.decision]}",
    }


def _name(t: TestJudged) -> str:
    where = "" if t.of == ORIGIN or not t.point else f" at {t.point}"
    return f"{t.test}{where}"


def _bond(b: BondJudged) -> dict[str, object]:
    readings = [_reading(r.reading, r.state, "" if r.used else r.why_not or "does not count") for r in b.readings]
    budget = [line for r in b.readings if r.used for line in _budget(r.reading.id, r.corrected)]
    bands = [f"{x.test}: {_band(x.shown)}" for x in b.expected if x.shown is not None]
    rules = [
        f"{what}: {_rule(j)}" for what, j in (("size", b.size.judged), ("joint", b.joint), ("continuity", b.continuity))
    ]
    return {
        "name": f"{b.part.title}, {b.bond.csa_mm2:g} mm² {b.bond.material}, {b.bond.length_m:g} ± {b.bond.length_tol_m:g} m",
        "verdict": f"{b.verdict}: {b.named}" if b.named else b.verdict,
        "readings": readings,
        "budget": budget,
        "band": bands,
        "rule": rules,
        "sum": list(b.sum_in_words),
    }


def _test(t: TestJudged, name: str) -> dict[str, object]:
    readings = [_reading(r, t.state, "; ".join(f.what for f in r.refused)) for r in t.readings]
    budget = list(_budget("", t.corrected)) if t.corrected is not None else []
    if t.value is not None and not budget:
        budget = list(_lines("", t.value))
    bands = [_band(t.expected) + {True: ", inside", False: ", OUTSIDE", None: ""}[t.inside]] if t.expected else []
    bands += [f"assumed: {x}" for x in t.assumed]
    verdict = f"{t.absent}: {t.reason}" if t.absent else t.outcome
    return {
        "name": name,
        "verdict": verdict,
        "readings": readings,
        "budget": budget,
        "band": bands,
        "rule": [_rule(j) for j in t.judged],
        "sum": list(t.sums),
    }


def _ring(r: RingJudged) -> dict[str, object]:
    scores = ", ".join(f"{name} {score:+.1f}" for name, score in r.scores)
    where = f"{r.where_m.low:.1f} to {r.where_m.high:.1f} m along the ring" if r.where_m else ""
    between = " and ".join(r.between)
    band = [
        x
        for x in (
            where,
            f"between {between}" if between else "",
            f"implied length {_band(r.implied_m)}" if r.implied_m else "",
        )
        if x
    ]
    return {
        "name": "ring as a whole",
        "verdict": f"{r.verdict}: {r.named}" if r.named else r.verdict,
        "readings": [],
        "budget": [],
        "band": band,
        "rule": [f"log10 weight of each explanation against the best: {scores}"] if scores else [],
        "sum": list(r.sums),
    }


def _cpc(c: CpcJudged) -> dict[str, object]:
    beside = f"beside it {', '.join(c.others)}: {_band(c.other_ohm)}" if c.others else ""
    return {
        "name": "protective conductor" + (f" to {c.point}" if c.point else ""),
        "verdict": f"{c.verdict}: {c.named}" if c.named else c.verdict,
        "readings": [],
        "budget": [],
        "band": [beside] if beside else [],
        "rule": [],
        "sum": list(c.sums),
    }


def _reading(r: Reading, state: State | None, why_not: str) -> list[str]:
    shown = said(r.shown) + f" {r.shown.unit}" if r.shown is not None else r.outcome or r.absent or "not readable"
    how = ", ".join(x for x in (r.between, r.method, f"{r.test_v:g} V" if r.test_v else "", r.point) if x)
    tools = ", ".join(x for x in (r.instrument, f"leads {r.leads}" if r.leads else "") if x)
    return [r.id, r.test, shown, how, _state(state), " ".join(x for x in (r.at, r.by) if x), tools, why_not]


def _state(state: State | None) -> str:
    if state is None:
        return ""
    off = ", ".join(sorted(state.off))
    isolated = {True: "isolated", False: "supply on", None: "isolation not noted"}[state.isolated]
    return f"off: {off}; {isolated}" if off else f"all connected; {isolated}"


def _budget(name: str, c: Corrected) -> Iterator[str]:
    if c.quantity is None:
        if c.band is not None:
            yield f"{name} true value {_band(c.band)} by the limits of error".strip()
        return
    yield from _lines(name, c.quantity)


def _lines(name: str, q: Quantity) -> Iterator[str]:
    parts = ", ".join(f"{x.label} {abs(x.u):.2g}" for x in q.budget())
    dof = "" if q.dof > 1e6 else f", {q.dof:.0f} degrees of freedom"
    yield f"{name} {q.value:.4g} {q.unit}, standard uncertainty {q.u:.2g} {q.unit}{dof}: {parts}".strip()


def _band(band: Band | None) -> str:
    if band is None:
        return ""
    if math.isinf(band.high):
        return f"{band.low:.4g} {band.unit} or more"
    return f"{band.low:.4g} to {band.high:.4g} {band.unit}"


def _rule(j: Judged) -> str:
    if j.limit is None:
        return f"{j.outcome}: {j.why}" if j.why else j.outcome
    side = "at most" if j.limit.side == "max" else "at least"
    left = "" if j.difference is None else f", {j.difference:+.4g} {j.limit.unit} to spare"
    both = f" (simple: {j.simple}; guarded: {j.guarded})" if j.differ else ""
    why = f"; {j.why}" if j.why else ""
    return (
        f"{j.outcome}: {j.limit.what}, {side} {j.limit.value:.4g} {j.limit.unit}{left}{both}; {j.limit.source()}{why}"
    )
