"""One blunder of each family, planted in a sound visit. Each takes a finished visit and gives the spoilt one back."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Callable
from decimal import Decimal

from attrs import evolve, frozen

from earthwright.base.digits import Kind
from earthwright.site.events import (
    CONDUCTOR,
    JOINT,
    PATH,
    TOGETHER,
    ClampCurrent,
    Event,
    Isolation,
    LeadCheck,
    Off,
    On,
    Reading,
)
from earthwright.site.visit import Visit

from .houses import House, as_shown, house


@frozen
class Planted:
    """A spoilt visit, and what goes with it when it is judged."""

    visit: Visit
    previous: Visit | None = None
    today: dt.date | None = None


Blunder = Callable[[House, random.Random], "Planted | None"]


def change(visit: Visit, what: Callable[[Event], Event | None]) -> Visit:
    """The visit with every event passed through a function; None takes it out."""
    events = [e for e in map(what, visit.events) if e is not None]
    return evolve(visit, events=tuple(evolve(e, seq=i + 1) for i, e in enumerate(events)))


def valued(visit: Visit, *tests: str) -> list[Reading]:
    """Readings of these tests with digits."""
    return [
        e for e in visit.events
        if isinstance(e, Reading) and e.test in tests and e.shown is not None and e.shown.kind is Kind.VALUE
    ]  # fmt: skip


def with_value(reading: Reading, value: float) -> Reading:
    """The reading with other digits."""
    assert reading.shown is not None
    return evolve(reading, shown=as_shown(max(0.0, value), float(reading.shown.step), reading.shown.unit))


def replaced(visit: Visit, new: dict[str, Reading]) -> Visit:
    """The visit with some readings replaced, by id."""
    return change(visit, lambda e: new.get(e.id, e) if isinstance(e, Reading) else e)


def _one(rng: random.Random, visit: Visit, *tests: str) -> Reading | None:
    some = valued(visit, *tests)
    return rng.choice(some) if some else None


def _shift(by: Callable[[float], float], *, unchecked: bool = True) -> Blunder:
    def plant(h: House, rng: random.Random) -> Planted | None:
        visit = h.visit()
        bonds = valued(visit, CONDUCTOR)
        if len(bonds) < 2:
            return None
        amount = by(rng.random())
        tests = (CONDUCTOR, TOGETHER, JOINT, PATH)
        new = {r.id: with_value(r, r.shown.value + amount) for r in valued(visit, *tests) if r.shown}
        spoilt = replaced(visit, new)
        if unchecked:
            spoilt = change(spoilt, lambda e: None if isinstance(e, LeadCheck) else e)
        return Planted(spoilt)

    return plant


def _zero(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    reading = _one(rng, visit, CONDUCTOR, "ring r1", "r1r2")
    return None if reading is None else Planted(replaced(visit, {reading.id: with_value(reading, 0.0)}))


def _slip(h: House, rng: random.Random) -> Planted | None:
    """The end was not off: pipework answered with the bond."""
    visit = h.visit()
    reading = _one(rng, visit, CONDUCTOR)
    if reading is None:
        return None
    c, p = h.true_ohm[reading.of, CONDUCTOR], h.true_ohm[reading.of, PATH]
    if p > 2.0 * c:
        return None  # the path hardly helps, so the slip changes nothing
    return Planted(replaced(visit, {reading.id: evolve(reading, shown=h.shown(c * p / (c + p), "continuity", "Ω"))}))


def _drift(h: House, rng: random.Random) -> Planted | None:
    visit = evolve(h.visit(), leads=(evolve(h.visit().leads[0], allowed="subtracted", null_ohm=None, lead_ohm=0.6),))
    shorted = [e for e in visit.events if isinstance(e, LeadCheck) and e.kind == "shorted"]
    if len(shorted) < 2:
        return None
    values = {e.seq: 0.6 for e in shorted}
    values[shorted[-1].seq] = 0.6 + rng.uniform(0.05, 0.3)
    lead = 0.6

    def spoil(e: Event) -> Event:
        if isinstance(e, LeadCheck) and e.seq in values:
            return evolve(e, shown=h.shown(values[e.seq], "continuity", "Ω"))
        if isinstance(e, Reading) and e.leads and e.shown and e.shown.kind is Kind.VALUE:
            return with_value(e, e.shown.value + lead)
        return e

    return Planted(change(visit, spoil))


def _repeat(test: str, *, method: bool = False, least: float = 0.05) -> Blunder:
    """The same reading a second time, further off than it should be."""

    def plant(h: House, rng: random.Random) -> Planted | None:
        visit = h.visit()
        reading = _one(rng, visit, test)
        if reading is None or reading.shown is None:
            return None
        off = rng.uniform(least, 0.5)
        other = evolve(with_value(reading, reading.shown.value + off), id=f"{reading.id}b")
        if method:
            reading, other = evolve(reading, method="forward"), evolve(other, method="reverse")
        events: list[Event] = []
        for e in visit.events:
            events += [reading, other] if isinstance(e, Reading) and e.id == reading.id else [e]
        return Planted(change(evolve(visit, events=tuple(events)), lambda e: e))

    return plant


def _poor_joint(h: House, rng: random.Random) -> Planted | None:
    """A poor joint; the conductor is read to the clamp's body and entered as read to the pipe."""
    visit = h.visit()
    joints = valued(visit, JOINT)
    if not joints:
        return None
    of, r = rng.choice(joints).of, rng.uniform(0.06, 0.6)
    return Planted(
        replaced(visit, {x.id: evolve(x, shown=h.shown(r, "continuity", "Ω")) for x in joints if x.of == of})
    )


def _unclosed(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    reading = _one(rng, visit, TOGETHER)
    if reading is None or reading.shown is None:
        return None
    return Planted(replaced(visit, {reading.id: with_value(reading, reading.shown.value + rng.uniform(0.03, 0.3))}))


def _calculated(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    ze = valued(visit, "ze")
    zs = {r.of: r.shown.value for r in valued(visit, "zs") if r.shown}
    if not ze or ze[0].shown is None:
        return None
    start = ze[0].shown.value
    return Planted(
        replaced(visit, {r.id: with_value(r, zs[r.of] - start) for r in valued(visit, "r1r2") if r.of in zs})
    )


def _ratio(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    circuits = {c.id: c for c in visit.site.circuits}
    first = {(r.of, r.test): r.shown.value for r in valued(visit, "ring r1", "r1r2") if r.shown}
    new = {}
    for r in valued(visit, "ring r2", "r2"):
        c = circuits[r.of]
        ratio = (c.line_mm2 or 1.0) / (c.cpc_mm2 or 1.0)
        r1 = first[r.of, "ring r1"] if r.test == "ring r2" else first[r.of, "r1r2"] / (1.0 + ratio)
        new[r.id] = with_value(r, r1 * ratio)
    return Planted(replaced(visit, new)) if new else None


def _swap(test: str) -> Blunder:
    def plant(h: House, rng: random.Random) -> Planted | None:
        visit = h.visit()
        some = valued(visit, test)
        if len(some) < 2:
            return None
        a, b = rng.sample(some, 2)
        return Planted(replaced(visit, {a.id: evolve(a, shown=b.shown), b.id: evolve(b, shown=a.shown)}))

    return plant


def _factor(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    reading = _one(rng, visit, CONDUCTOR, "r1r2", "r2", "zs", "ring r1")
    if reading is None or reading.shown is None or not reading.shown.digits:
        return None
    factor = rng.choice((Decimal(10), Decimal("0.1"), Decimal(1000)))
    return Planted(
        replaced(
            visit, {reading.id: evolve(reading, shown=evolve(reading.shown, digits=reading.shown.digits * factor))}
        )
    )


def _unit(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    reading = _one(rng, visit, "rcd", "fault current")
    if reading is None or reading.shown is None:
        return None
    factor = Decimal("0.001") if reading.test == "rcd" else Decimal(1000)
    return Planted(
        replaced(
            visit, {reading.id: evolve(reading, shown=evolve(reading.shown, digits=reading.shown.digits * factor))}
        )
    )


def _rounded(h: House, rng: random.Random) -> Planted | None:
    """Every value rounded to a digit that is liked."""
    visit = h.visit()
    liked, step = rng.choice((0, 5)), Decimal(10)
    new = {}
    for r in valued(visit, *{e.test for e in visit.events if isinstance(e, Reading)}):
        assert r.shown is not None
        digits = (r.shown.digits / r.shown.step / step).to_integral_value() * step + liked
        new[r.id] = evolve(r, shown=evolve(r.shown, digits=digits * r.shown.step))
    return Planted(replaced(visit, new))


def _same(test: str) -> Blunder:
    def plant(h: House, rng: random.Random) -> Planted | None:
        visit = h.visit()
        some = valued(visit, test)
        if len(some) < 3:
            return None
        return Planted(replaced(visit, {r.id: evolve(r, shown=some[0].shown) for r in some}))

    return plant


def _copied(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    return Planted(visit, previous=evolve(visit, date=dt.date(2021, 11, 18)))


def _order(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    place = rng.randrange(len(visit.events) // 2, len(visit.events))
    early = visit.events[place]
    minutes = int(early.at[:2]) * 60 + int(early.at[3:]) - rng.randint(5, 120)
    return Planted(
        change(visit, lambda e: evolve(e, at=f"{minutes // 60:02d}:{minutes % 60:02d}") if e is early else e)
    )


def _pace(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    return Planted(change(visit, lambda e: evolve(e, at="10:15") if isinstance(e, Reading) else evolve(e, at="")))


def _future(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    return Planted(visit, today=visit.date - dt.timedelta(days=rng.randint(1, 400)))


def _lapsed(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    tester = evolve(visit.instruments[0], valid_until="2026-11-01")
    return Planted(evolve(visit, instruments=(tester,)))


def _drop(which: type, *, last: bool = False) -> Blunder:
    def plant(h: House, rng: random.Random) -> Planted | None:
        visit = h.visit()
        some = [e for e in visit.events if isinstance(e, which)]
        if not some:
            return None
        gone = some[-1] if last else rng.choice(some)
        return Planted(change(visit, lambda e: None if e is gone else e))

    return plant


def _current(h: House, rng: random.Random) -> Planted | None:
    visit = h.visit()
    some = [e for e in visit.events if isinstance(e, ClampCurrent) and any(b.id == e.on for b in visit.site.bonds)]
    if not some:
        return None
    one = rng.choice(some)
    return Planted(
        change(visit, lambda e: evolve(e, shown=h.shown(rng.uniform(1.5, 12.0), "current", "A")) if e is one else e)
    )


def _early(h: House, rng: random.Random) -> Planted | None:
    """The supply is restored before the last bond is back."""
    visit = h.visit()
    backs = [e for e in visit.events if isinstance(e, On)]
    if not backs:
        return None
    restored = Isolation(seq=0, stage="restored", at=backs[-1].at)
    events: list[Event] = []
    for e in visit.events:
        events += [restored, e] if e is backs[-1] else [e]
    return Planted(change(evolve(visit, events=tuple(events)), lambda e: e))


# family → the blunder, and the families that may name it (any of them counts as caught)
BLUNDERS: dict[str, tuple[Blunder, tuple[str, ...]]] = {
    "leads.offset": (_shift(lambda u: 0.1 + 0.7 * u), ("leads.offset",)),
    "leads.too_much_nulled": (_shift(lambda u: -0.1 - 0.3 * u), ("leads.too_much_nulled", "leads.negative")),
    "leads.drift": (_drift, ("leads.drift", "leads.suspect")),
    "copper.zero": (_zero, ("copper.zero",)),
    "copper.floor": (_slip, ("copper.floor", "copper.zero", "sum.parallel")),
    "repeat.spread": (_repeat("r1r2"), ("repeat.spread", "r1r2.repeats")),
    "repeat.reversed": (_repeat("r1r2", method=True), ("repeat.reversed",)),
    "joint.unsteady": (_repeat(JOINT, least=0.05), ("joint.unsteady",)),
    "joint.contradicts": (_poor_joint, ("joint.contradicts", "joint.poor")),
    "sum.parallel": (_unclosed, ("sum.parallel",)),
    "rows.calculated": (_calculated, ("rows.calculated",)),
    "rows.ratio": (_ratio, ("rows.ratio",)),
    "rows.swapped (bonds)": (_swap(CONDUCTOR), ("rows.swapped",)),
    "rows.swapped (R1+R2)": (_swap("r1r2"), ("rows.swapped",)),
    "rows.swapped (Zs)": (_swap("zs"), ("rows.swapped", "loops.ceiling", "loops.floor")),
    "rows.factor": (_factor, ("rows.factor", "copper.floor", "loops.ceiling", "loops.floor")),
    "units.slip": (_unit, ("units.slip",)),
    "digits.liked": (_rounded, ("digits.liked",)),
    "rows.run (Zs)": (_same("zs"), ("rows.run",)),
    "rows.run (rcd)": (_same("rcd"), ("rows.run",)),
    "rows.carried_over": (_copied, ("rows.carried_over",)),
    "times.order": (_order, ("times.order",)),
    "times.pace": (_pace, ("times.pace",)),
    "times.date": (_future, ("times.date",)),
    "instrument.period": (_lapsed, ("instrument.period",)),
    "ledger.never_off": (_drop(Off), ("ledger.never_off", "state.contradiction")),
    "ledger.off": (_drop(On, last=True), ("ledger.off", "ledger.live")),
    "ledger.live": (_early, ("ledger.live",)),
    "gate.passed": (_current, ("gate.passed",)),
}
NEEDS_BONDS = ("leads.", "copper.floor", "joint.", "sum.", "rows.swapped (bonds)", "ledger.", "gate.")


def spoilt(family: str, number: int) -> Planted | None:
    """A house with this blunder in it; None when the house has no place for it."""
    plant, _ = BLUNDERS[family]
    needs_bonds = family.startswith(NEEDS_BONDS)
    return plant(
        house(number, bonds=needs_bonds or number % 3 > 0, circuits=not needs_bonds), random.Random(-1 - number)
    )


__all__ = ["BLUNDERS", "Planted", "spoilt"]
