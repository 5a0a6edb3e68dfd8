"""Instruments and lead sets in a visit book."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..site.reading import ASSUMED, Accuracy, Instrument, LeadSet
from ..site.visit import Unread
from .fields import Entry
from .site import keep, new_id
from .values import values

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
        said = values(entry, Instrument)
        dates = {k: said[k].isoformat() if said[k] else "" for k in ("checked", "valid_until")}
        own = new_id(entry, {i.id for i in found})
        instrument = Instrument(own, accuracy=tuple(accuracy), **{**said, **dates})
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
    accuracy = Accuracy(**values(entry, Accuracy, ASSUMED[function]))
    parent.take(entry)
    return accuracy


def read_leads(book: Book) -> tuple[LeadSet, ...]:
    """Lead sets and how they were allowed for."""
    found: list[LeadSet] = []
    for entry in book.entries("leads"):
        leads = LeadSet(new_id(entry, {x.id for x in found}), **values(entry, LeadSet))
        entry.close()
        keep(book, entry, leads.id, found, leads, ("id", "allowed", "null_ohm", "lead_ohm"))
    _note_lost(book, "leads")
    return tuple(found)
