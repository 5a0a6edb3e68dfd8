"""What a quantity may be at all, held against the ranges declared with tests and fields, and what must agree with what else is known.

Outside its range a value is impossible: it is kept as typed and nothing is judged by it. Outside the usual range it is
asked about and judged.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator, Sequence
from functools import cache

from attrs import frozen

from ..base.digits import Kind
from ..base.errors import Finding, Severity
from .events import ORIGIN, LeadCheck, Reading
from .fields import Field
from .installation import Circuit, Device
from .range import Range
from .tables import BY_NAME as TABLE_BY_NAME
from .tables import said_of
from .tests import BY_NAME
from .visit import Unread, Visit

FAMILY = "input.plausible"


TEST_V = Range(
    "An insulation test voltage",
    "V",
    25.0,
    5000.0,
    usual=(50.0, 1000.0),
    low="Give the voltage that was set, such as 500 V.",
    high="A nought too many: low-voltage circuits are tested with 250, 500 or 1000 V.",
)
TRIPS = ("", "x1", "x5", "250 mA")


@frozen
class Doubt:
    """One thing that cannot be, or is asked about: its finding, and what is not judged because of it."""

    finding: Finding
    unread: Unread | None = None


def of_reading(reading: Reading, system: str | None) -> Finding | None:
    """What makes a reading impossible, as an error that voids it; None when it may be."""
    shown = reading.shown
    if reading.test_v is not None and (said := TEST_V.says(reading.test_v)) and said[0]:
        return _finding(f"{reading.of}, {reading.test}: test_v", said, TEST_V, f"{reading.test_v:g} V", reading.of)
    found = BY_NAME[reading.test].possible if reading.test in BY_NAME else None
    if (
        found is None
        or shown is None
        or shown.kind is Kind.OVER
        or (reading.test == "rcd" and reading.method not in TRIPS)
    ):
        return None
    value = 0.0 if shown.kind is Kind.BELOW else shown.value
    if reading.test == "fault current" and value == 0.0 and reading.between in ("", "L-E") and system in (None, "TT"):
        return None  # through an electrode it may truly be less than half a digit
    said = found.says(value)
    return (
        _finding(f"{reading.of}, {reading.test}", said, found, shown.as_shown, reading.of) if said and said[0] else None
    )


def open_check(check: LeadCheck) -> Finding | None:
    """What is wrong with tips held apart that show a value."""
    if check.kind != "open" or check.shown.kind is Kind.OVER:
        return None
    said = (
        True,
        "Leads held apart show over-range and nothing else.",
        "The tips touched, or the function was another one.",
    )
    return _finding(f"lead set {check.leads}", said, Range("", "Ω"), check.shown.as_shown, check.leads, "over-range")


def doubts(visit: Visit) -> tuple[Doubt, ...]:
    """Every entry that is impossible, unusual or at odds with another, each with what is then not judged."""
    return (
        *_fields(visit),
        *_system(visit),
        *_delays(visit),
        *_fault_current(visit),
        *_voltages(visit),
        *_dates(visit),
        *_unusual(visit),
    )


def _finding(
    where: str,
    said: tuple[bool, str, str],
    range_: Range,
    found: str,
    entry: str,
    expected: str = "",
    because: str = "",
) -> Finding:
    severity = Severity.ERROR if said[0] else Severity.WARNING
    because = because or ("It is kept as typed; nothing is judged by it." if said[0] else "")
    return Finding(where, said[1], severity, FAMILY, entry, expected or range_.span, found, said[2], because)


@cache
def _bounded(kind: str) -> tuple[tuple[Field, Range], ...]:
    """The fields of a table that say what they can be."""
    return tuple((f, f.possible) for f in TABLE_BY_NAME[kind].fields if f.possible is not None)


def _fields(visit: Visit) -> Iterator[Doubt]:
    site = visit.site
    entries: list[tuple[str, str, object]] = [("supply", "supply", site.supply)]
    entries += [("leads", x.id, x) for x in visit.leads] + [("bond", b.id, b) for b in site.bonds]
    entries += [("circuit", c.id, c) for c in site.circuits]
    for kind, name, thing in entries:
        for f, range_ in _bounded(kind):
            key = f.key
            holder = thing.device if isinstance(thing, Circuit) and not hasattr(thing, f.name) else thing
            value = getattr(holder, f.name, None)
            said = range_.says(value) if isinstance(value, float) else None
            if said is None:
                continue
            where = key if kind == "supply" else f"{kind} {name}: {key}"
            finding = _finding(
                f"supply: {key}" if kind == "supply" else where, said, range_, f"{value:g} {range_.unit}", name
            )
            rest = f"{finding.where.removesuffix(key)}{said_of(kind, key)}, which cannot be {value:g} {range_.unit}"
            mine = _with_leads(visit, name) if kind == "leads" else ()
            yield Doubt(finding, Unread(name, key, rest, mine) if said[0] and (mine or kind != "leads") else None)


def _with_leads(visit: Visit, leads: str) -> tuple[int, ...]:
    return tuple(e.seq for e in visit.events if isinstance(e, Reading) and e.leads == leads)


def _system(visit: Visit) -> Iterator[Doubt]:
    """PME is a TN-C-S supply; a TN-S or TT system is none, though the street's network may be."""
    supply = visit.site.supply
    if not supply.pme or supply.system in (None, "TN-C-S"):
        return
    said = (
        True,
        f"A {supply.system} system is no PME supply: one of the two is wrong.",
        "See at the cut-out how the means of earthing is made, and correct system or pme. PME of the street alone is a note.",
    )
    finding = _finding(
        "supply: pme", said, Range("", ""), f"{supply.system} with pme = true", "supply", "TN-C-S with PME, or no PME"
    )
    yield Doubt(
        finding, Unread("supply", "pme", f"supply: system and pme, which contradict each other ({supply.system}, PME)")
    )
    if supply.system == "TT":
        yield Doubt(
            finding, Unread("supply", "system", "supply: system and pme, which contradict each other (TT, PME)")
        )


def _delays(visit: Visit) -> Iterator[Doubt]:
    """Time-delayed devices (type S) are not made for 30 mA and less (product standards of residual current devices)."""
    devices: list[tuple[str, str, Device]] = [(f"circuit {c.id}", c.id, c.device) for c in visit.site.circuits]
    devices += [(f"board {b.id}", b.id, b.rcd) for b in visit.site.boards if b.rcd is not None]
    for where, name, device in devices:
        if device.rcd_delay == "S" and device.rcd_ma is not None and device.rcd_ma <= 30.0:
            said = (
                True,
                "Type S is not made for 30 mA or less.",
                "Read the device again: its type, or its residual current.",
            )
            found = f"{device.rcd_ma:g} mA, S"
            finding = _finding(f"{where}: rcd_delay", said, Range("", ""), found, name, "above 30 mA, or no S")
            yield Doubt(
                finding, Unread(name, "rcd_delay", f"{where}: {said_of('', 'rcd_delay')}, which cannot be ({found})")
            )


_APART = 3.0  # two statements of one loop that differ by more are not of one loop


def _fault_current(visit: Visit) -> Iterator[Doubt]:
    """The fault current to earth and Ze are two faces of one loop: U0 = I · Z. In TN-C-S line to neutral is that loop too."""
    supply = visit.site.supply
    if (
        supply.ze_ohm
        and supply.ipf_ka
        and "enquiry" not in (supply.ze_how, supply.ipf_how)
        and supply.system == "TN-C-S"
    ):
        yield from _apart(visit, supply.ipf_ka, supply.ze_ohm, "supply: ipf_ka", (), ("ipf_ka", "ze_ohm"))
    last: dict[str, Reading] = {}
    for e in visit.events:
        if (
            isinstance(e, Reading)
            and e.of == ORIGIN
            and not e.refused
            and e.shown is not None
            and e.shown.kind is Kind.VALUE
        ):
            loops = ("L-E", "L-N", "") if supply.system == "TN-C-S" else ("L-E",)
            if e.test == "ze" or (e.test == "fault current" and e.between in loops):
                last[e.test] = e if e.test == "ze" else max((e, last.get(e.test, e)), key=lambda r: _value(r))
    if len(last) == 2:
        ze, current = last["ze"], last["fault current"]
        yield from _apart(visit, _value(current), _value(ze), "origin, fault current", (ze.seq, current.seq), ())


def _value(reading: Reading) -> float:
    assert reading.shown is not None  # only such readings are looked at
    return reading.shown.value


def _apart(visit: Visit, ka: float, ze: float, where: str, seqs: Sequence[int], keys: Iterable[str]) -> Iterator[Doubt]:
    expected = visit.site.supply.u0_v / ze / 1000.0 if ze else math.inf
    if not expected or expected / _APART <= ka <= expected * _APART or abs(ka - expected) < 0.05:
        return
    said = (
        True,
        f"{ka:g} kA and Ze {ze:g} Ω cannot both be: {visit.site.supply.u0_v:g} V through {ze:g} Ω is {expected:.2g} kA.",
        "Read both again at the same place; a no-trip range, a wrong unit or a lead allowance does this.",
    )
    finding = _finding(where, said, Range("", ""), f"{ka:g} kA", ORIGIN, f"about {expected:.2g} kA beside Ze {ze:g} Ω")
    what = f"Ze {ze:g} Ω and {ka:g} kA, which contradict each other"
    if seqs:
        yield Doubt(finding, Unread(ORIGIN, "", what, tuple(seqs)))
    for key in keys:
        yield Doubt(finding, Unread("supply", key, what))


def _voltages(visit: Visit) -> Iterator[Doubt]:
    """Between lines of a star there is √3 times the voltage to earth, of a split phase twice."""
    supply = visit.site.supply
    if supply.u_v is None or any(abs(supply.u_v / supply.u0_v / f - 1.0) < 0.06 for f in (math.sqrt(3.0), 2.0, 1.0)):
        return
    said = (
        False,
        "The voltages to earth and between lines do not belong together.",
        "Type the nominal voltages, such as 230 and 400.",
    )
    found = f"{supply.u0_v:g} V and {supply.u_v:g} V"
    yield Doubt(
        _finding("supply: u_v", said, Range("", "V"), found, "supply", f"about {supply.u0_v * math.sqrt(3.0):.0f} V")
    )


def _dates(visit: Visit) -> Iterator[Doubt]:
    """Days that cannot come before, or after, the day of the visit."""
    report, paper = visit.paperwork.report, visit.paperwork
    after = [("report: issued", report.issued), ("report: next_by", report.next_by)]
    after += [(f"sign {s.role}: at", _day(s.at)) for s in paper.signs]
    after += [(f"receipt {r.document}: at", _day(r.at)) for r in paper.receipts]
    for where, day in after:
        if day is not None and day < visit.date:
            said = (False, "This day lies before the visit.", "Correct this day, or the day of the visit.")
            yield Doubt(_finding(where, said, Range("", ""), day.isoformat(), "", f"{visit.date} or later"))
    if report.previous is not None and report.previous >= visit.date:
        said = (False, "The last inspection lies after this visit.", "Correct this day, or the day of the visit.")
        yield Doubt(
            _finding("report: previous", said, Range("", ""), report.previous.isoformat(), "", f"before {visit.date}")
        )


def _day(text: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text[:10])
    except ValueError:
        return None


def _unusual(visit: Visit) -> Iterator[Doubt]:
    """Insulation voltages that are possible and not those of low-voltage circuits: each voltage once."""
    seen: dict[float, str] = {}
    for e in visit.events:
        if isinstance(e, Reading) and e.test_v is not None and not e.refused:
            seen.setdefault(e.test_v, e.of)
    for volts, of in seen.items():
        if (said := TEST_V.says(volts)) and not said[0]:
            yield Doubt(_finding(f"{of}, insulation: test_v", said, TEST_V, f"{volts:g} V", of, "250, 500 or 1000 V"))


__all__ = ["FAMILY", "Doubt", "doubts", "of_reading", "open_check"]
