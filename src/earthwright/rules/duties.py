"""Whose law counts: rented homes and houses in multiple occupation, building control, the distributor. Dated, by country."""

from __future__ import annotations

import datetime as dt

from ..base.errors import NoRule
from .documents import rented_edition
from .load import RuleBook
from .model import Edition, RuleValue

DISTRIBUTOR = "Distributor notice"


def landlord_edition(book: RuleBook, country: str, on: dt.date, landlord: str) -> Edition:
    """The rules on rented homes for a ``private`` or a ``social`` landlord. Raises NoRule."""
    if landlord == "social" and book.knows(f"{country} social"):  # where social landlords have rules of their own
        return book.edition_for(f"{country} social", on)
    return rented_edition(book, country, on)


def hmo_edition(book: RuleBook, country: str, on: dt.date) -> Edition:
    """The rules on houses in multiple occupation of a country. Raises NoRule."""
    return book.edition_for(f"{country} HMO", on)


def instead_of(hmo: Edition) -> tuple[str, ...]:
    """The standards that do not count where the rules on houses in multiple occupation do."""
    return tuple(str(k) for k in hmo.table("duty.instead").keys_of("law")) if hmo.has("duty.instead") else ()


def starts(law: Edition, landlord: str, granted: dt.date | None) -> tuple[RuleValue, ...]:
    """From when the duties count for a tenancy: columns ``from``, ``first_check_by``; two rows where its day is not known.

    Empty where the law counts from its own first day. Raises NoRule where it does not cover such a landlord.
    """
    if not law.has("duty.start"):
        return ()
    rows = law.table("duty.start").where(landlord=landlord)
    if not rows:
        raise NoRule(f"{law.title}: the data hold nothing for {landlord} landlords")
    if granted is None:
        return rows
    wanted = "on or after" if granted >= rows[0].date("split") else "before"
    return tuple(r for r in rows if r.keys["granted"] == wanted)


def building_control(book: RuleBook, country: str, on: dt.date) -> Edition:
    """What building control of a country is told of: tables ``notice.work`` and ``notice.days``. Raises NoRule."""
    return book.edition_for(f"{country} building control", on)


def source_notice(book: RuleBook, on: dt.date, sources_a: float | None) -> tuple[RuleValue, ...]:
    """What the distributor is told of sources of so much current a phase together [A]; every scheme where it is not known.

    Raises NoRule.
    """
    rows = book.edition_for(DISTRIBUTOR, on).table("source.notice").all()
    if sources_a is None:
        return rows
    return tuple(r for r in rows if sources_a <= float(r.number("up_to_a")))[:1]
