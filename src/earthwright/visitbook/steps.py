"""The steps of a visit in the order they were done: what was taken off, checked, read, looked at, put back."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from attrs import evolve

from ..errors import Finding, Severity
from ..events import (
    BOND_TESTS,
    EARTHING,
    ClampCurrent,
    Event,
    Isolation,
    LeadCheck,
    Look,
    Off,
    On,
    Override,
    Reading,
    Volts,
)
from ..reading import ASSUMED
from ..visit import Visit
from .fields import Entry

if TYPE_CHECKING:
    from .read import Book

KINDS = ("read", "check", "clamp", "volts", "isolated", "look", "override")
STAGES = ("locked", "tester proved", "dead", "tester proved again", "restored")


class _Steps:
    """The events read so far; numbers them in order."""

    def __init__(self, book: Book, visit: Visit) -> None:
        self.book, self.visit = book, visit
        self.events: list[Event] = []
        self.ends = {b.id for b in visit.site.bonds} | {link.id for link in visit.site.links} | {EARTHING}
        self.readings = 0

    @property
    def seq(self) -> int:
        return len(self.events) + 1

    def default(self, entry: Entry, key: str, known: list[str]) -> str:
        """The name given; the only one there is when none was given."""
        name = entry.text(key)
        if not name:
            return known[0] if len(known) == 1 else ""
        if name not in known:
            entry.fault(key, f"'{name}' is not entered.", "one of: " + (", ".join(known) or "none entered"), name)
        return name

    def end(self, entry: Entry, key: str, name: str) -> None:
        """Report an end that is no bond, link or earthing conductor."""
        base = name.removesuffix("@part")
        if base not in self.ends and base in self.book.broken:
            entry.fault(
                key,
                f"The entry '{base}' is broken, so this step cannot be followed.",
                "an entry that can be read",
                name,
            )
        elif base not in self.ends:
            entry.fault(key, f"There is no conductor '{base}'.", "one of: " + ", ".join(sorted(self.ends)), name)


def read_steps(book: Book, visit: Visit) -> tuple[Event, ...]:
    """Every step as one or more events."""
    steps = _Steps(book, visit)
    for entry in book.entries("step"):
        _step(steps, entry)
    return tuple(steps.events)


def _step(steps: _Steps, entry: Entry) -> None:
    at, by, note = entry.time("at"), entry.text("by"), entry.text("note")
    common: dict[str, Any] = {"at": at, "by": by, "note": note, "line": entry.line}
    kinds = [k for k in KINDS if entry.has(k)]
    if len(kinds) > 1:
        entry.fault("", "One step does one thing.", "one of: " + ", ".join(KINDS), " and ".join(kinds))
    offs, ons = entry.names("off"), entry.names("on")
    if not kinds and not offs and not ons and not note:
        entry.fault(
            "",
            "This step says nothing.",
            "read, check, clamp, volts, isolated, look, off or on",
            "none of them",
        )
    why = entry.text("why")
    for name in offs:
        steps.end(entry, "off", name)
        steps.events.append(Off(seq=steps.seq, what=name, why=why, **common))
    for name in ons:
        steps.end(entry, "on", name)
        steps.events.append(On(seq=steps.seq, what=name, **common))
    if kinds:
        {
            "read": _read,
            "check": _check,
            "clamp": _clamp,
            "volts": _volts,
            "isolated": _isolated,
            "look": _look,
            "override": _override,
        }[kinds[0]](steps, entry, common)
    entry.close()


def _step_of(steps: _Steps, instrument: str, function: str) -> Decimal:
    for known in steps.visit.instruments:
        if known.id == instrument:
            return Decimal(str(known.limits(function).step))
    return Decimal(str(ASSUMED[function].step))


def _instrument(steps: _Steps, entry: Entry) -> str:
    return steps.default(entry, "instrument", [i.id for i in steps.visit.instruments])


def _leads(steps: _Steps, entry: Entry) -> str:
    return steps.default(entry, "leads", [x.id for x in steps.visit.leads])


def _read(steps: _Steps, entry: Entry, common: dict[str, Any]) -> None:
    before = len(steps.book.findings)
    test = entry.text("read", need=True, choices=BOND_TESTS)
    bond = entry.text("bond", need=True)
    if bond and bond not in {b.id for b in steps.visit.site.bonds}:
        if bond in steps.book.broken:
            entry.fault(
                "bond",
                f"The entry of bond '{bond}' is broken, so its reading is not judged.",
                "a bond that can be read",
                bond,
            )
        else:
            entry.fault(
                "bond",
                f"There is no bond '{bond}'.",
                ", ".join(b.id for b in steps.visit.site.bonds) or "a bond",
                bond,
            )
    instrument, leads = _instrument(steps, entry), _leads(steps, entry)
    point, method = entry.text("point"), entry.text("method")
    raw = entry.raw("shown")
    values = raw if isinstance(raw, list) else [raw]
    if not values:
        entry.fault("shown", "The list of digits is empty.", "the digits as shown", "[]")
        values = [None]
    step = _step_of(steps, instrument, "continuity")
    for value in values:
        steps.readings += 1
        shown = entry.digits("shown", value, "Ω", step)
        steps.events.append(
            Reading(
                seq=steps.seq,
                id=f"r{steps.readings}",
                test=test,
                of=bond,
                shown=shown,
                leads=leads,
                instrument=instrument,
                point=point,
                method=method,
                **common,
            )
        )
    if entry.broken:
        _refuse(steps, entry, len(values), tuple(steps.book.findings[before:]))


def _refuse(steps: _Steps, entry: Entry, count: int, said: tuple[Finding, ...]) -> None:
    """Mark the readings of a broken step as refused: kept as typed, never judged."""
    errors = tuple(f for f in said if f.severity is Severity.ERROR)
    for i in range(len(steps.events) - count, len(steps.events)):
        reading = steps.events[i]
        assert isinstance(reading, Reading)
        steps.events[i] = evolve(reading, refused=errors)


def _check(steps: _Steps, entry: Entry, common: dict[str, Any]) -> None:
    kind = entry.text("check", need=True, choices=("shorted", "open", "known"))
    instrument, leads = _instrument(steps, entry), _leads(steps, entry)
    nominal = entry.number("nominal_ohm", "Ω", need=kind == "known", above=0, most=1000)
    shown = entry.shown("shown", "Ω", step=_step_of(steps, instrument, "continuity"))
    if not leads:
        entry.fault("leads", "Which lead set was checked?", "the id of a lead set", "nothing")
    if entry.broken or shown is None:
        return
    steps.events.append(
        LeadCheck(
            seq=steps.seq,
            leads=leads,
            kind=kind,
            shown=shown,
            instrument=instrument,
            nominal_ohm=nominal,
            **common,
        )
    )


def _clamp(steps: _Steps, entry: Entry, common: dict[str, Any]) -> None:
    on = entry.text("clamp", need=True)
    if on:
        steps.end(entry, "clamp", on)
    shown = entry.shown("shown", "A", step=_step_of(steps, _instrument(steps, entry), "current"))
    load = entry.text("load")
    if not entry.broken and shown is not None:
        steps.events.append(ClampCurrent(seq=steps.seq, on=on, shown=shown, load=load, **common))


def _volts(steps: _Steps, entry: Entry, common: dict[str, Any]) -> None:
    between = entry.text("volts", need=True)
    shown = entry.shown("shown", "V", step=Decimal(1))
    load = entry.text("load")
    if not entry.broken and shown is not None:
        steps.events.append(Volts(seq=steps.seq, between=between, shown=shown, load=load, **common))


def _isolated(steps: _Steps, entry: Entry, common: dict[str, Any]) -> None:
    stage = entry.text("isolated", need=True, choices=STAGES)
    pairs = entry.text("pairs")
    if not entry.broken:
        steps.events.append(Isolation(seq=steps.seq, stage=stage, pairs=pairs, **common))


def _look(steps: _Steps, entry: Entry, common: dict[str, Any]) -> None:
    what, seen, holds = entry.text("look", need=True), entry.text("seen", need=True), entry.flag("holds")
    if not entry.broken:
        steps.events.append(Look(seq=steps.seq, what=what, seen=seen, holds=holds, **common))


def _override(steps: _Steps, entry: Entry, common: dict[str, Any]) -> None:
    gate, reason = entry.text("override", need=True), entry.text("reason", need=True)
    if not common["by"]:
        entry.fault("by", "An override is signed.", "the name of the person who decided", "nothing")
    if not entry.broken:
        steps.events.append(Override(seq=steps.seq, gate=gate, reason=reason, **common))
