"""The evidence sheet: for every verdict its digits, state, budget, band, rule and sum, as texts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..base.figure import span
from ..base.quantity import Band, Quantity
from ..outcomes.assessment import Assessment, BondJudged
from ..outcomes.circuits import CircuitJudged, CpcJudged, RingJudged, TestJudged
from ..outcomes.verdict import DECISIONS, FAILS, MEETS, NO_RULE, Judged, with_named
from ..report.rows import all_tests
from ..site.events import ORIGIN, Reading, State
from ..site.reading import Corrected
from ..site.source import taken_in
from ..site.tests import CROSSED, ENDS, TESTS, called
from .circuits import whole
from .digits import said
from .page import MODEL, constants_said

SEVERAL = ("insulation", *CROSSED)  # read several times of one thing
WORDS = tuple(t.name for t in TESTS if not t.unit)  # tests whose result is a word
Row = tuple[str, ...]  # circuit, test, what was read, band, rule, verdict


def evidence_page(a: Assessment) -> dict[str, object]:
    """Every verdict with its digits, band and rule in a line, in the order of the schedule; what does not meet is opened up."""
    found = [_group("Origin", [("", all_tests(a, ORIGIN, a.origin), ())])]
    for e in a.electrodes:
        name = e.electrode.where or e.electrode.id
        found.append(_group(f"Electrode: {name}", [("", all_tests(a, e.electrode.id, e.tests), ())]))
    for b in a.boards:
        own = ("board", all_tests(a, b.board.id, b.tests), ())
        found.append(_group(b.board.name or b.board.id, [own, *(_circuit(a, c) for c in b.circuits)]))
    return {
        "constants": f"{MODEL} {constants_said(a)}" if a.bonds else "",
        "bonds": [_bond(b) for b in a.bonds],
        "groups": [g for g in found if g["rows"]],
        "clauses": _clauses(a),
        "taken_in": taken_in(a.visit.events),
        "not_judged": [f"{n.entry}: {n.why}" for n in a.not_judged],
        "decision": f"{a.visit.choices.decision}: {DECISIONS[a.visit.choices.decision]}",
    }


def _circuit(a: Assessment, c: CircuitJudged) -> tuple[str, tuple[TestJudged, ...], tuple[dict[str, object], ...]]:
    tests = tuple(t for t in whole(a, c).tests if t.absent != "missing")
    more = [_ring(c.ring)] if c.ring is not None else []
    more += [_cpc(c.cpc)] if c.cpc is not None and c.cpc.evidence is not None else []
    return f"{c.circuit.id} {c.circuit.name}".strip(), tests, tuple(more)


def _group(
    title: str, things: Iterable[tuple[str, tuple[TestJudged, ...], tuple[dict[str, object], ...]]]
) -> dict[str, object]:
    """A board, the origin or an electrode: a row for each verdict, and what is behind those that do not simply meet."""
    rows: list[Row] = []
    opened: dict[str, list[str]] = {}
    for name, tests, more in things:
        mine = [
            *_rows(tests),
            *((str(x["name"]), "", "; ".join(_texts(x, "band")), "", str(x["verdict"])) for x in more),
        ]
        rows += [(name if i == 0 else "", *row) for i, row in enumerate(mine)]
        short = name.partition(" ")[0]
        for what, why in (*map(_behind, tests), *((str(x["name"]), _open(x)) for x in more)):
            if why:
                opened.setdefault(f"{what}: {why}", []).append(short)
    said = [f"{', '.join(n for n in names if n)}{': ' if any(names) else ''}{why}" for why, names in opened.items()]
    return {"title": title, "rows": [list(r) for r in rows], "opened": said}


def _rows(tests: Iterable[TestJudged]) -> Iterator[Row]:
    """A line for each test; readings of one kind share it, and so do words that are good and what was worked out and meets."""
    good: list[str] = []
    sums: list[str] = []
    shared: dict[str, list[TestJudged]] = {}
    for t in tests:
        if t.test in WORDS and t.word == "good" and t.outcome == MEETS:
            good.append(_name(t))
        elif not t.readings and not t.absent and t.outcome == MEETS:
            sums.append(" ".join(x for x in (_name(t), _read(t), f"({_limits(t)})" if _limits(t) else "") if x))
        else:
            kind = "ring ends" if t.test in ENDS else t.test if t.test in SEVERAL else f"{t.test} {t.point}"
            shared.setdefault(kind, []).append(t)
    for some in shared.values():
        yield from _line(some)
    if sums:
        yield "worked out", ", ".join(sums), "", "", MEETS
    if good:
        yield ", ".join(good), "good", "", "", MEETS


def _line(some: list[TestJudged]) -> Iterator[Row]:
    """Readings of one kind with one outcome in one line; each by itself where they differ."""
    outcomes = {(t.absent or t.outcome, t.inside is False) for t in some}
    ring = some[0].test in ENDS
    if ring:
        outcomes.discard((NO_RULE, False))
    if len(some) > 1 and len(outcomes) > 1:
        for t in some:
            yield from _line([t])
        return
    worst, outside = next(iter(outcomes), (NO_RULE, False))
    name = "ring r1, rn, r2" if ring and len(some) > 1 else _name(some[0])
    digits = [_read(t) for t in some]
    units = {r.shown.unit for t in some for r in t.readings if r.shown is not None}
    if some[0].test == "insulation" and len(units) == 1:
        digits = [d.replace(f" {next(iter(units))}", "") for d in digits]
        digits[-1] += f" {next(iter(units))}"
    read = ", ".join(digits) if ring else ", ".join(dict.fromkeys(digits))
    if some[0].test in ("ring ln", "ring le"):
        name, read = some[0].test, f"{len(digits)} points: {read}"
    band = _band(some[0].expected) if len(some) == 1 else ""
    limits = next((x for t in some if (x := _limits(t))), "")
    yield name, read, band, limits, worst + (", outside its band" if outside else "")


def _name(t: TestJudged) -> str:
    where = "" if t.of == ORIGIN or not t.point else f" at {t.point}"
    return f"{called(t.test)}{where}"


def _read(t: TestJudged) -> str:
    found = [
        f"{said(r.shown)} {r.shown.unit}{' ' + r.between if r.between else ''}"
        for r in t.readings
        if r.shown is not None
    ]
    found += [r.outcome for r in t.readings if r.outcome]
    if not found and t.value is not None:
        return f"{t.value.value:.4g} {t.value.unit}"
    return ", ".join(dict.fromkeys(found))


def _limits(t: TestJudged) -> str:
    """The limit that decided; the others stand in the record."""
    return "" if t.held_to is None else t.held_to.figure


def _clauses(a: Assessment) -> list[str]:
    """Each kind of test with the clauses its limits come from, said once."""
    found: dict[str, list[str]] = {}
    tests = [*a.origin, *(t for e in a.electrodes for t in e.tests), *(t for b in a.boards for t in b.tests)]
    tests += [t for c in a.circuits for t in c.tests]
    for t in tests:
        for j in t.judged:
            if j.limit is not None:
                clause = j.limit.clause + (" (from memory)" if j.limit.confidence == "memory" else "")
                found.setdefault(called(t.test), []).append(clause)
    return [f"{name} {', '.join(dict.fromkeys(clauses))}" for name, clauses in found.items()]


def _behind(t: TestJudged) -> tuple[str, str]:
    """Why a test does not simply meet its rule: reason, refused readings, sums; empty where it does."""
    refused = [f"{r.id} does not count: {'; '.join(f.what for f in r.refused)}" for r in t.readings if r.refused]
    if t.absent:
        return _name(t), "; ".join([f"{t.absent}: {t.reason}" if t.reason else t.absent, *refused])
    if t.outcome == FAILS or t.inside is False:
        return _name(t), "; ".join([*(_rule(j) for j in t.judged), *t.sums, *refused])
    whys = [j.why for j in t.judged if j.why and j.outcome != MEETS]
    return _name(t), "; ".join(dict.fromkeys([*whys, *refused]))


def _open(x: dict[str, object]) -> str:
    verdict = str(x["verdict"])
    return "" if verdict.startswith(("proved", "not shown")) else "; ".join([*_texts(x, "rule"), *_texts(x, "sum")])


def _texts(x: dict[str, object], key: str) -> list[str]:
    value = x[key]
    return [str(v) for v in value] if isinstance(value, list) else []


def _bond(b: BondJudged) -> dict[str, object]:
    readings = [_reading(r.reading, r.state, "" if r.used else r.why_not or "does not count") for r in b.readings]
    budget = [line for r in b.readings if r.used for line in _budget(r.reading.id, r.corrected)]
    bands = [f"{x.test}: {_band(x.shown)}" for x in b.expected if x.shown is not None]
    rules = [
        f"{what}: {_rule(j)}" for what, j in (("size", b.size.judged), ("joint", b.joint), ("continuity", b.continuity))
    ]
    return {
        "name": f"{b.part.title}, {b.bond.csa_mm2:g} mm² {b.bond.material}, {b.bond.length_m:g} ± {b.bond.length_tol_m:g} m",
        "verdict": with_named(b),
        "readings": readings,
        "budget": budget,
        "band": bands,
        "rule": rules,
        "sum": list(b.sum_in_words),
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
            f"{r.implied_m.low:.0f} to {r.implied_m.high:.0f} m long" if r.implied_m else "",
        )
        if x
    ]
    return {
        "name": "ring as a whole",
        "verdict": with_named(r),
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
        "verdict": with_named(c),
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
    return "" if band is None else span(band)


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
