"""One judged visit as rows of the tables. Nothing goes in that names a person or a place, and no free text."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from typing import Any

from attrs import define, field

from ..base.digits import Kind
from ..desk.last_visit import same_place
from ..outcomes.assessment import Assessment
from ..outcomes.circuits import TestJudged
from ..outcomes.verdict import NO_RULE, Judged
from ..report.coding import edition_if_any
from ..report.duties import duties
from ..report.observations import overall, threads, unanswered
from ..report.stops import stops
from ..site.events import EARTHING, ORIGIN, Reading, State
from ..site.ledger import after
from ..site.reading import Instrument
from .keys import Keys
from .tables import BY_YEAR, LARGEST_MILLI, code

Rows = dict[str, list[tuple[Any, ...]]]
PREMISES = ("house", "flat", "bungalow", "maisonette", "dwelling", "shop", "office", "common parts", "garage", "other")
_STANDARD = re.compile(r"(BS|EN|IEC|BS EN|BS EN IEC)[ 0-9-]{1,16}(:\d{4})?")
_WORD = re.compile(r"[A-Za-z0-9.+ -]{1,8}")
LAST = dt.date.max  # every stage that is entered counts, whatever day it is


def milli(value: object) -> int | None:
    """Thousandths of a value; None for none, for an infinite one and for one that 32 bits do not hold."""
    try:
        found = round(value * 1000)  # type: ignore[operator]  # a Decimal, a float or an int; else caught
    except (TypeError, OverflowError, ValueError):
        return None
    return int(found) if abs(found) <= LARGEST_MILLI else None


@define
class Flat:
    """The rows of one visit while they are made, and the words whose codes stand in them."""

    a: Assessment
    keys: Keys
    visit: int
    year: int
    rows: Rows = field(factory=lambda: {t.name: [] for t in BY_YEAR})
    words: set[str] = field(factory=set)
    things: dict[tuple[str, str], int] = field(factory=dict)
    people: dict[int, str] = field(factory=dict)

    @property
    def common(self) -> tuple[int, int]:
        """What stands first in every row: the visit and its year."""
        return self.visit, self.year

    def put(self, table: str, *values: object) -> None:
        """One more row."""
        self.rows[table].append((*self.common, *values))

    def code(self, word: str) -> int:
        """The number of a word of ours."""
        self.words.add(word)
        return code(word)

    def maybe(self, word: str) -> int | None:
        """The same; None where there is no word."""
        return self.code(word) if word else None

    def typed(self, word: str, among: tuple[str, ...] | re.Pattern[str]) -> int | None:
        """The number of a word that somebody typed: only a usual one is kept, any other is ``other``."""
        word = " ".join(word.split())
        usual = word.lower() in among if isinstance(among, tuple) else among.fullmatch(word) is not None
        return self.maybe((word.lower() if isinstance(among, tuple) else word) if usual or not word else "other")

    def key(self, kind: str, name: str) -> int | None:
        """The number of a person, firm or instrument; the name goes to the list that stands apart."""
        found = self.keys.maybe(kind, name)
        if found is not None:
            self.people[found] = name.strip()
        return found

    def thing(self, of: str, *kinds: str) -> int | None:
        """The number of a thing by its id, among the kinds that are meant, else any kind."""
        for kind in kinds or ("circuit", "bond", "board", "electrode", "part", ORIGIN):
            if (found := self.things.get((kind, of))) is not None:
                return found
        return None


def flatten(a: Assessment, keys: Keys, visit: int, year: int) -> Flat:
    """A judged visit as rows, with the words behind their codes. ``year``: of the visit, where they stand."""
    flat = Flat(a, keys, visit, year)
    _things(flat)
    _visit(flat)
    _readings(flat)
    _tests(flat)
    _conductors(flat)
    for finding in a.findings:
        flat.put("finding", flat.thing(finding.entry), flat.code(finding.family), flat.code(finding.severity.value))
    _observations(flat)
    for due in duties(a).due:
        flat.put("duty", flat.code("danger" if due.now else due.what), due.last_day, due.now, due.memory)
    return flat


def _visit(flat: Flat) -> None:
    a, v = flat.a, flat.a.visit
    report, keys = v.paperwork.report, flat.keys
    whole = overall(a)
    place = same_place(v.site.place)
    age = None if report.age_years is None else round(report.age_years)
    flat.put(
        "visit",
        keys.of("home", place or f"of visit {flat.visit}"),  # erased or missing: a home of its own
        v.date, flat.code(v.kind), flat.code(edition_of(a)), flat.code(a.program),
        flat.key("person", v.inspector), flat.key("firm", v.firm),
        flat.maybe(v.site.supply.system or ""), v.site.supply.pme, age, flat.typed(report.premises, PREMISES),
        flat.maybe(whole.decided), flat.maybe(whole.proposed), report.next_by,
        len(stops(a)), len(a.still_off), sum(f.of_input for f in a.findings), len(v.events),
    )  # fmt: skip


def edition_of(a: Assessment) -> str:
    """Standard and edition of the wiring rules that a visit was judged by; ``no rule`` where none is known for its day."""
    edition = edition_if_any(a)
    return f"{edition.standard}:{edition.edition}" if edition else NO_RULE


def _things(flat: Flat) -> None:
    site = flat.a.visit.site
    parts = {p.id: p for p in site.parts}

    def put(kind: str, name: str, *values: object) -> None:
        number = flat.things.setdefault((kind, name), len(flat.things))
        flat.put("thing", number, flat.code(kind), *values, *[None] * (9 - len(values)))

    put(ORIGIN, ORIGIN)
    for board in site.boards:
        put("board", board.id)
    for c in site.circuits:
        d = c.device
        put(
            "circuit", c.id, flat.code(c.use), flat.things.get(("board", c.board)), milli(c.line_mm2), milli(c.cpc_mm2),
            milli(c.length_m), flat.typed(d.standard, _STANDARD), flat.typed(d.type, _WORD), milli(d.rating_a), milli(d.rcd_ma),
        )  # fmt: skip
    for p in site.parts:
        put("part", p.id, flat.code(p.kind))
    for b in site.bonds:
        kind = parts[b.part].kind if b.part in parts else "other"
        put("bond", b.id, flat.code(kind), None, milli(b.csa_mm2), None, milli(b.length_m))
    for e in site.electrodes:
        put("electrode", e.id, flat.code(e.kind))


def _readings(flat: Flat) -> None:
    visit, state = flat.a.visit, State()
    instruments = {i.id: i for i in visit.instruments}
    bonds = {b.id for b in visit.site.bonds}
    for event in visit.events:
        if not isinstance(event, Reading):
            state = after(state, event)
            continue
        shown, used = event.shown, instruments.get(event.instrument)
        key, lapsed = (None, None) if used is None else _instrument(flat, used)
        flat.put(
            "reading",
            event.seq, flat.thing(event.of), flat.code(event.test),
            None if shown is None else shown.text if len(shown.text) <= 24 else None,
            None if shown is None or shown.kind is Kind.OVER else milli(shown.digits),
            flat.code("none" if shown is None else shown.unit), flat.code("none" if shown is None else shown.kind.value),
            flat.typed(event.method, _WORD), flat.typed(event.between, _WORD),
            state.isolated, len({w.partition("@")[0] for w in state.off} & bonds), EARTHING in state.off,
            key, lapsed, flat.maybe(event.absent), bool(event.refused),
        )  # fmt: skip


def _instrument(flat: Flat, used: Instrument) -> tuple[int | None, bool | None]:
    """Its keyed number, and whether its check had lapsed on the day."""
    try:
        until = dt.date.fromisoformat(used.valid_until)
    except (TypeError, ValueError):
        until = None
    key = flat.key("instrument", used.serial or used.name)
    return key, None if until is None else until < flat.a.visit.date


def _tests(flat: Flat) -> None:
    a = flat.a
    edition, points = flat.code(edition_of(a)), Counter[tuple[int | None, str]]()
    every = list(a.tests)
    ze = next(
        (
            milli(t.corrected.quantity.value)
            for t in a.origin
            if t.test == "ze" and t.corrected and t.corrected.quantity
        ),
        None,
    )
    ze = milli(a.visit.site.supply.ze_ohm) if ze is None else ze
    ends = {t.of: m for t in every if t.test == "r1r2" and (m := _largest(t)) is not None}

    def put(
        thing: int | None,
        test: str,
        judged: tuple[Judged, ...],
        outcome: str,
        absent: str,
        loops: tuple[int | None, int | None],
    ) -> None:
        point = points[thing, test]
        points[thing, test] += 1
        for slot, j in enumerate(judged or (None,)):
            limit = j.limit if j else None
            value = None
            if limit is not None and j is not None and j.difference is not None:
                value = limit.value - j.difference if limit.side == "max" else limit.value + j.difference
            flat.put(
                "row", thing, flat.code(test), point, slot, flat.code(j.outcome if j else outcome), flat.code(outcome), flat.maybe(absent),
                milli(value), None if limit is None else milli(limit.value),
                None if limit is None else flat.code(limit.unit), None if limit is None else flat.code(limit.side),
                None if limit is None else flat.code(f"{limit.document}, {limit.clause}"),
                edition, limit is not None and limit.confidence == "memory", *loops,
            )  # fmt: skip

    for t in every:
        put(
            flat.thing(t.of),
            t.test,
            t.judged,
            t.outcome,
            t.absent,
            (ze, ends.get(t.of)) if t.test == "zs" else (None, None),
        )
    for b in a.bonds:
        number = flat.thing(b.bond.id, "bond")
        for test, judged in (("bond size", b.size.judged), ("bond joint", b.joint)):
            put(number, test, (judged,), judged.outcome, "", (None, None))


def _largest(t: TestJudged) -> int | None:
    """The largest R1+R2 read at any point of a circuit [thousandths of an ohm]."""
    read = [milli(r.shown.digits) for r in t.readings if r.shown is not None and r.shown.kind is Kind.VALUE]
    return max((m for m in read if m is not None), default=None)


def _conductors(flat: Flat) -> None:
    a = flat.a

    def put(thing: int | None, of: str, verdict: str, named: str, evidence: Any, readings: int, limited: bool) -> None:
        flat.put(
            "verdict", thing, flat.code(of), flat.code(verdict), flat.maybe(named),
            milli(evidence.whole_over_open) if evidence else None,
            milli(evidence.whole_over_impaired) if evidence else None, readings, limited,
        )  # fmt: skip

    for b in a.bonds:
        used = sum(r.used for r in b.readings)
        put(flat.thing(b.bond.id, "bond"), "bond", b.verdict, b.named, b.evidence, used, bool(b.limited))
    for board in a.boards:
        for c in board.circuits:
            number = flat.thing(c.circuit.id, "circuit")
            if c.cpc is not None:
                put(number, "cpc", c.cpc.verdict, c.cpc.named, c.cpc.evidence, len(c.cpc.used), False)
            if c.ring is not None:
                put(number, "ring", c.ring.verdict, c.ring.named, None, len(c.ring.sockets), False)


def _observations(flat: Flat) -> None:
    a, day = flat.a, flat.a.visit.date
    for t in threads(a, LAST):
        o = t.observation
        flat.put(
            "observation", flat.thing(o.about), flat.maybe(o.code), flat.maybe(t.proposed),
            flat.maybe(next((p.name for p in t.proposals), "")), flat.code(t.stage), o.found or day, t.since, t.counts,
        )  # fmt: skip
    for p in unanswered(a):
        flat.put(
            "observation", flat.thing(p.about), None, flat.code(p.code), flat.code(p.name),
            flat.code("proposed"), day, day, not p.put_right,
        )  # fmt: skip
