"""Instruments and lead sets in a visit book."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..site.reading import ASSUMED, Accuracy, Instrument, LeadSet
from ..site.visit import Unread
from .fields import Entry
from .site import keep, new_id

if TYPE_CHECKING:
    from .read import Book


def read_instruments(book: Book) -> tuple[Instrument, ...]:
    """Instruments with their limits of error by function."""
    found: list[Instrument] = []
    for entry in book.entries("instrument"):
        accuracy = []
        for function in ASSUMED:
            if entry.has(function):
                accuracy.append((function, _accuracy(entry, function)))
        checked, valid = entry.date("checked"), entry.date("valid_until")
        instrument = Instrument(
            id=new_id(entry, {i.id for i in found}),
            name=entry.text("name"),
            serial=entry.text("serial"),
            checked=checked.isoformat() if checked else "",
            valid_until=valid.isoformat() if valid else "",
            accuracy=tuple(accuracy),
        )
        entry.close()
        keep(book, entry, instrument.id, found, instrument, ("id", *ASSUMED))
    _note_lost(book, "instrument")
    return tuple(found)


def _note_lost(book: Book, kind: str) -> None:
    """Note the instruments or lead sets that could not be read: a reading that may be theirs is not judged."""
    for name in book.lost.get(kind, ()):
        book.unread.append(Unread(kind, name, f"{kind} {name}".strip() + ", whose entry could not be read"))


def _accuracy(parent: Entry, function: str) -> Accuracy:
    entry = parent.inner(function)
    assumed = ASSUMED[function]
    accuracy = Accuracy(
        pct=_given(entry.number("pct", "%", least=0, most=50), assumed.pct),
        digits=_given(entry.number("digits", "digits", least=0, most=100), assumed.digits),
        step=_given(entry.number("step", "unit of the reading", above=0, most=1000), assumed.step),
        top=_given(entry.number("top", "unit of the reading", above=0, most=1e9), assumed.top),
    )
    parent.take(entry)
    return accuracy


def _given(value: float | None, default: float) -> float:
    return default if value is None else value


def read_leads(book: Book) -> tuple[LeadSet, ...]:
    """Lead sets and how they were allowed for."""
    found: list[LeadSet] = []
    for entry in book.entries("leads"):
        leads = LeadSet(
            id=new_id(entry, {x.id for x in found}),
            allowed=entry.text("allowed", need=True, choices=("nulled", "subtracted", "none"), default="none"),
            null_ohm=entry.number("null_ohm", "Ω", least=0, most=1000),
            lead_ohm=entry.number("lead_ohm", "Ω", least=0, most=1000),
            note=entry.text("note"),
        )
        entry.close()
        keep(book, entry, leads.id, found, leads, ("id", "allowed", "null_ohm", "lead_ohm"))
    _note_lost(book, "leads")
    return tuple(found)
