"""Random sound visits: houses, their true resistances, and readings with every error inside the instrument's limits.

Half of the visits have errors spread evenly inside the limits, the other half have each error at one edge or the other.
Everything comes from one seeded generator, so a visit can be made again from its number.
"""

from __future__ import annotations

import datetime as dt
import math
import random
from decimal import ROUND_HALF_EVEN, Decimal

from attrs import define, evolve, field

from earthwright.base.digits import Kind, Shown
from earthwright.site.correction import function_of
from earthwright.site.events import (
    CIRCUIT_TESTS,
    CONDUCTOR,
    EARTHING,
    JOINT,
    ORIGIN,
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
from earthwright.site.installation import Board, Bond, Circuit, Device, Part, Site, Supply
from earthwright.site.reading import ASSUMED, Accuracy, Instrument, LeadSet
from earthwright.site.visit import Visit

# mΩ/m at 20 °C, class 2 (IEC 60228).
R = {1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83, 16.0: 1.15}
# use, kind, line, cpc, rating, shortest and longest length [m] for which it is sound behind a B device
KINDS = (
    ("lighting", "radial", 1.5, 1.0, 6.0, 15, 55),
    ("lighting", "radial", 1.0, 1.0, 6.0, 12, 45),
    ("sockets", "ring", 2.5, 1.5, 32.0, 40, 85),
    ("sockets", "radial", 2.5, 1.5, 20.0, 10, 35),
    ("cooker", "radial", 6.0, 2.5, 32.0, 6, 18),
    ("shower", "radial", 10.0, 4.0, 40.0, 6, 16),
)
DATE = dt.date(2026, 11, 20)
LEADS = LeadSet("long", "nulled", null_ohm=0.31)


@define
class House:
    """A site with its truth, and the events written so far."""

    rng: random.Random
    edge: bool
    site: Site = field(init=False, default=Site("invented"))
    true_ohm: dict[tuple[str, str], float] = field(factory=dict)
    events: list[Event] = field(factory=list)
    minute: int = 9 * 60
    count: int = 0

    def note(self, event: Event) -> None:
        """Add an event in its place in the order, a minute or two after the last."""
        self.minute += self.rng.choice((0, 1, 1, 2))
        at = f"{self.minute // 60:02d}:{self.minute % 60:02d}"
        self.events.append(evolve(event, seq=len(self.events) + 1, at=at))

    def error(self) -> float:
        """One error as a share of its limit."""
        return self.rng.choice((-1.0, 1.0)) if self.edge else self.rng.uniform(-1.0, 1.0)

    def shown(self, true: float, function: str, unit: str) -> Shown:
        """What the display shows for a true value."""
        a: Accuracy = ASSUMED[function]
        if math.isinf(true) or true > a.top:
            return Shown("over-range", Decimal(0), Decimal(str(a.step)), unit, Kind.OVER)
        value = max(0.0, true * (1.0 + self.error() * a.pct / 100.0) + self.error() * a.digits * a.step)
        if value > a.top:
            return Shown("over-range", Decimal(0), Decimal(str(a.step)), unit, Kind.OVER)
        return as_shown(value, a.step, unit)

    def read(self, test: str, of: str, true: float, function: str = "continuity", unit: str = "Ω", **more: str) -> None:
        """Note a reading of a true value."""
        self.count += 1
        leads = LEADS.id if function == "continuity" else ""
        shown = self.shown(true, function, unit)
        self.true_ohm[of, test] = true
        self.note(
            Reading(seq=0, id=f"r{self.count}", test=test, of=of, shown=shown, leads=leads, instrument="tester", **more)  # type: ignore[arg-type]
        )

    def visit(self) -> Visit:
        """The finished visit."""
        tester = Instrument("tester", "multifunction", "0001", "2026-03-01", "2027-03-01")
        return Visit(
            site=self.site,
            date=DATE,
            temp_c=20.0,
            instruments=(tester,),
            leads=(LEADS,),
            events=tuple(self.events),
        )


def as_shown(value: float, step: float, unit: str) -> Shown:
    """Digits of a display for a value."""
    one = Decimal(str(step))
    digits = (Decimal(repr(value)) / one).quantize(Decimal(1), ROUND_HALF_EVEN) * one
    return Shown(str(digits), digits, one, unit)


def house(number: int, *, bonds: bool = True, circuits: bool | None = None) -> House:
    """A sound house by its number; with circuits in three houses of five unless said otherwise."""
    rng = random.Random(number)
    h = House(rng, edge=number % 2 == 1)
    h.site = _site(rng, bonds, rng.random() < 0.6 if circuits is None else circuits)
    _measure_bonds(h)
    _measure_circuits(h)
    return h


def _site(rng: random.Random, bonds: bool, circuits: bool) -> Site:
    names = rng.sample(("gas", "water", "oil", "steel"), rng.randint(1, 4)) if bonds else []
    parts = tuple(Part(n, n, f"{n} pipe" if n != "steel" else "steel frame") for n in names)
    fitted = []
    for n in names:
        length = round(rng.uniform(2.0, 35.0), 1)
        fitted.append(Bond(n, n, rng.choice((10.0, 10.0, 10.0, 16.0)), length, round(max(0.5, 0.08 * length), 1)))
    system = rng.choice(("TN-C-S", "TN-C-S", "TN-S"))
    supply = Supply(
        system, system == "TN-C-S", neutral_csa_mm2=25.0, neutral_at_most=True, earthing_csa_mm2=16.0,
        earthing_needed_mm2=16.0, line_csa_mm2=25.0,
    )  # fmt: skip
    rows = []
    for i in range(rng.randint(4, 14) if circuits else 0):
        use, kind, line, cpc, rating, low, high = rng.choice(KINDS)
        length = round(rng.uniform(low, high))
        rcd = 30.0 if rng.random() < 0.7 else None
        device = Device(
            "BS EN 61009" if rcd else "BS EN 60898", "B", rating, 6.0, rcd_type="A" if rcd else "", rcd_ma=rcd
        )
        rows.append(
            Circuit(
                f"c{i + 1}",
                "db1",
                f"{use} {i + 1}",
                kind,
                use,
                device=device,
                line_mm2=line,
                neutral_mm2=line,
                cpc_mm2=cpc,
                length_m=float(length),
                length_tol_m=float(max(1, round(0.1 * length))),
            )
        )
    boards = (Board("db1", "consumer unit"),) if rows else ()
    return Site("invented", supply, parts, tuple(fitted), boards=boards, circuits=tuple(rows))


def _around(rng: random.Random, length: float, tolerance: float) -> float:
    return rng.uniform(length - tolerance, length + tolerance)


def _measure_bonds(h: House) -> None:
    rng = h.rng
    if not h.site.bonds:
        return
    for name in (*(b.id for b in h.site.bonds), EARTHING):
        h.note(
            ClampCurrent(seq=0, on=name, shown=h.shown(rng.uniform(0.0, 0.4), "current", "A"), load="main switch on")
        )
    for stage in ("locked", "tester proved", "dead", "tester proved again"):
        h.note(Isolation(seq=0, stage=stage))
    for b in h.site.bonds:
        h.note(
            ClampCurrent(seq=0, on=b.id, shown=h.shown(rng.uniform(0.0, 0.1), "current", "A"), load="main switch off")
        )
    check_leads(h, 0.0)
    for b in h.site.bonds:
        joint = rng.uniform(0.0, 0.01)
        c = _around(rng, b.length_m, b.length_tol_m) * R[b.csa_mm2] / 1000.0 * rng.uniform(0.93, 1.0) + joint
        p = math.inf if rng.random() < 0.3 else math.exp(rng.uniform(math.log(0.02), math.log(20.0)))
        h.read(JOINT, b.id, joint)
        if rng.random() < 0.3:
            h.read(JOINT, b.id, joint)
        h.note(Off(seq=0, what=b.id, why="to measure"))
        h.read(CONDUCTOR, b.id, c)
        h.read(PATH, b.id, p)
        h.note(On(seq=0, what=b.id))
        h.read(TOGETHER, b.id, c if math.isinf(p) else c * p / (c + p))
    check_leads(h, 0.0)


def check_leads(h: House, residue: float) -> None:
    """Leads shorted, then held apart."""
    h.note(
        LeadCheck(seq=0, leads=LEADS.id, kind="shorted", shown=h.shown(residue, "continuity", "Ω"), instrument="tester")
    )
    over = Shown("over-range", Decimal(0), Decimal("0.01"), "Ω", Kind.OVER)
    h.note(LeadCheck(seq=0, leads=LEADS.id, kind="open", shown=over, instrument="tester"))


def _measure_circuits(h: House) -> None:
    rng = h.rng
    if not h.site.circuits:
        return
    if not h.site.bonds:
        for stage in ("locked", "tester proved", "dead", "tester proved again"):
            h.note(Isolation(seq=0, stage=stage))
        check_leads(h, 0.0)
    # A loop near its declared limit would cross it by the error of one reading; that is a limit, not a false alarm.
    ze = rng.uniform(0.12, 0.28 if h.site.supply.pme else 0.6)
    ends: dict[str, tuple[float, float]] = {}
    for c in h.site.circuits:
        length = _around(rng, c.length_m or 0.0, c.length_tol_m or 0.0)
        line, cpc = (length * R[x or 0.0] / 1000.0 * rng.uniform(0.93, 1.0) for x in (c.line_mm2, c.cpc_mm2))
        more = rng.uniform(0.0, 0.03)
        if c.kind == "ring":
            neutral = length * R[c.line_mm2 or 0.0] / 1000.0 * rng.uniform(0.97, 1.0)
            line = length * R[c.line_mm2 or 0.0] / 1000.0 * rng.uniform(0.97, 1.0)
            for test, value in (("ring r1", line), ("ring rn", neutral), ("ring r2", cpc)):
                h.read(test, c.id, value)
            line, cpc = line / 4.0, cpc / 4.0
        ends[c.id] = (line, cpc + more)
        h.read("r1r2", c.id, line + cpc + more)
        if c.kind != "ring":
            h.read("r2", c.id, cpc + more)
        mohm = math.inf if rng.random() < 0.5 else math.exp(rng.uniform(math.log(20.0), math.log(280.0)))
        h.read("insulation", c.id, mohm, "insulation", "MΩ", between="LN-E", test_v=500.0)  # type: ignore[arg-type]
    check_leads(h, 0.0)
    h.note(Isolation(seq=0, stage="restored"))
    h.read("ze", ORIGIN, ze, "loop", method="two-lead")
    h.read("fault current", ORIGIN, 0.23 / ze, "fault current", "kA", between="L-E")
    for c in h.site.circuits:
        line, cpc = ends[c.id]
        # Metal in parallel with the cpc helps a little on most circuits and much on a few.
        helped = cpc * rng.choice((1.0, 1.0, rng.uniform(0.5, 1.0)))
        h.read("zs", c.id, ze + line + helped, "loop", method="two-lead")
        if c.device.rcd_ma:
            h.read("rcd", c.id, rng.uniform(14.0, 38.0), "rcd", "ms", method="x1")


def again(h: House) -> Visit:
    """The same house five years before: the same truth, read with errors of its own."""
    visit = h.visit()
    events: list[Event] = []
    for e in visit.events:
        if isinstance(e, Reading) and (e.of, e.test) in h.true_ohm:
            unit = CIRCUIT_TESTS[e.test].unit if e.test in CIRCUIT_TESTS else "Ω"
            events.append(evolve(e, shown=h.shown(h.true_ohm[e.of, e.test], function_of(e), unit)))
        else:
            events.append(e)
    return evolve(visit, date=dt.date(2021, 11, 18), events=tuple(events))
