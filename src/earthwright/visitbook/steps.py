"""The steps of a visit in the order they were done: what was taken off, checked, read, looked at, put back."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from ..base.errors import Severity
from ..site.codes import VOLTAGES, voltage_between
from ..site.events import (
    BOND_TESTS,
    CIRCUIT_TESTS,
    ClampCurrent,
    Isolation,
    LeadCheck,
    Look,
    Off,
    On,
    Override,
    Reading,
    Repair,
    Volts,
)
from ..site.plausible import open_check
from ..site.step import CHECKS, DOES, STAGES
from .fields import Entry
from .readings import absence, read_many, read_one
from .spellings import absent_of
from .walk import Walk


def read_step(steps: Walk, entry: Entry) -> None:
    """One step of the visit as one or more events."""
    before, first = len(steps.book.findings), len(steps.events)
    at, clock, by, note = entry.time("at"), entry.text("clock"), entry.text("by"), entry.text("note")
    common: dict[str, Any] = {"at": at, "clock": clock, "by": by, "note": note, "line": entry.line}
    kinds = [k for k in DOES if entry.has(k)]
    if len(kinds) > 1:
        entry.fault("", "One step does one thing.", "one of: " + ", ".join(DOES), " and ".join(kinds))
    offs, ons = entry.names("off"), entry.names("on")
    if not kinds and not offs and not ons and not note:
        entry.fault(
            "",
            "This step says nothing.",
            "read, tests, check, clamp, volts, isolated, look, repair, off or on",
            "none of them",
        )
    why = entry.text("why")
    for name in offs:
        steps.take_off(Off(seq=steps.seq, what=steps.end(entry, "off", name), why=why, **common))
    for name in ons:
        for what in steps.back(entry, name):
            steps.put_back(On(seq=steps.seq, what=what, **common))
    if kinds:
        {
            "read": _read,
            "tests": _read_many,
            "check": _check,
            "clamp": _clamp,
            "volts": _volts,
            "isolated": _isolated,
            "look": _look,
            "repair": _repair,
            "override": _override,
        }[kinds[0]](steps, entry, common)
    entry.close()
    if entry.broken:
        steps.refuse(first, tuple(steps.book.findings[before:]))
        steps.rest_on(entry, first)
    steps.rest_on_tool(first)
    steps.doubt(entry, first)


def _read(steps: Walk, entry: Entry, common: dict[str, Any]) -> None:
    test = entry.text("read", need=True, choices=(*BOND_TESTS, *CIRCUIT_TESTS))
    common = {**common, "source": entry.text("source")}
    if test in CIRCUIT_TESTS:
        read_one(steps, entry, test, common)
    else:
        _read_bond(steps, entry, test, common)


def _read_many(steps: Walk, entry: Entry, common: dict[str, Any]) -> None:
    read_many(steps, entry, {**common, "source": entry.text("source")})


def _read_bond(steps: Walk, entry: Entry, test: str, common: dict[str, Any]) -> None:
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
    instrument, leads = steps.instrument(entry), steps.leads(entry)
    point, method = entry.text("point"), entry.text("method")
    raw = entry.raw("shown")
    if entry.has("absent") and entry.has("shown"):
        entry.fault("", "There is one reading or none, not both.", "shown, or absent", "shown and absent")
    values: list[object] = raw if isinstance(raw, list) else [entry.raw("absent") if entry.has("absent") else raw]
    if not values:
        entry.fault("shown", "The list of digits is empty.", "the digits as shown", "[]")
        values = [None]
    step = steps.step_of(instrument, "continuity")
    for value in values:
        shown, absent, note = None, "", common["note"]
        with entry.one_cell() as said:
            if entry.has("absent") or absent_of(value)[0]:
                absent, note = absence(entry, "absent" if entry.has("absent") else "shown", value)
            else:
                shown = entry.digits("shown", value, "Ω", step)
        steps.readings += 1
        steps.events.append(
            Reading(
                seq=steps.seq,
                id=f"r{steps.readings}",
                test=test,
                of=bond,
                shown=shown,
                absent=absent,
                refused=said(),
                leads=leads,
                instrument=instrument,
                point=point,
                method=method,
                **{**common, "note": note},
            )
        )


def _check(steps: Walk, entry: Entry, common: dict[str, Any]) -> None:
    kind = entry.text("check", need=True, choices=CHECKS)
    instrument, leads = steps.instrument(entry), steps.leads(entry)
    nominal = entry.number("nominal_ohm", "Ω", need=kind == "known", above=0, most=1000)
    shown = entry.shown("shown", "Ω", step=steps.step_of(instrument, "continuity"))
    if not leads:
        entry.fault("leads", "Which lead set was checked?", "the id of a lead set", "nothing")
    if shown is not None and not entry.broken:
        check = LeadCheck(
            seq=steps.seq, leads=leads, kind=kind, shown=shown, instrument=instrument, nominal_ohm=nominal, **common
        )
        cannot = open_check(check)
        if cannot is None:
            steps.events.append(check)
            return
        entry.fault("shown", cannot.what, cannot.expected, cannot.found, cannot.do)
    steps.lost_checks.append((steps.seq, leads, entry.title))


def _clamp(steps: Walk, entry: Entry, common: dict[str, Any]) -> None:
    on = entry.text("clamp", need=True)
    on = steps.end(entry, "clamp", on, clamp=True) if on else ""
    shown = entry.shown("shown", "A", step=steps.step_of(steps.instrument(entry), "current"))
    load = entry.text("load")
    if not entry.broken and shown is not None:
        steps.events.append(ClampCurrent(seq=steps.seq, on=on, shown=shown, load=load, **common))
    else:
        steps.dropped(entry, "clamp", on if on in steps.conductors else "")


def _volts(steps: Walk, entry: Entry, common: dict[str, Any]) -> None:
    between = entry.text("volts", need=True)
    if between and voltage_between(between) not in ("MET", *VOLTAGES):
        what = "Nothing is judged of this voltage: it is not known between what it was measured."
        entry.fault("volts", what, "one of: " + ", ".join(VOLTAGES), between[:80], severity=Severity.WARNING)
    shown = entry.shown("shown", "V", step=Decimal(1))
    load = entry.text("load")
    if not entry.broken and shown is not None:
        steps.events.append(Volts(seq=steps.seq, between=between, shown=shown, load=load, **common))
    else:
        steps.dropped(entry, "volts", between)


def _isolated(steps: Walk, entry: Entry, common: dict[str, Any]) -> None:
    stage = entry.text("isolated", need=True, choices=STAGES)
    pairs = entry.text("pairs")
    if not entry.broken:
        steps.events.append(Isolation(seq=steps.seq, stage=stage, pairs=pairs, **common))


def _look(steps: Walk, entry: Entry, common: dict[str, Any]) -> None:
    what, seen, holds = entry.text("look", need=True), entry.text("seen", need=True), entry.flag("holds")
    if not entry.broken:
        steps.events.append(Look(seq=steps.seq, what=what, seen=seen, holds=holds, **common))


def _repair(steps: Walk, entry: Entry, common: dict[str, Any]) -> None:
    what, remade = entry.text("repair", need=True), entry.text("remade", need=True)
    what = steps.remade(entry, what) if what else ""
    if not entry.broken:
        steps.events.append(Repair(seq=steps.seq, what=what, remade=remade, **common))


def _override(steps: Walk, entry: Entry, common: dict[str, Any]) -> None:
    gate, reason = entry.text("override", need=True), entry.text("reason", need=True)
    if not common["by"]:
        entry.fault("by", "An override is signed.", "the name of the person who decided", "nothing")
    if not entry.broken:
        steps.events.append(Override(seq=steps.seq, gate=gate, reason=reason, **common))
