"""How long a visit must be kept, and the one thing that may go before: personal data, by a signed erasure."""

from __future__ import annotations

import datetime as dt

from attrs import frozen
from sqlalchemy import select

from ..base.errors import NoRule
from ..records import schema
from ..records.event import ERASE, FILE, PHOTO, Draft, Kept
from ..records.replay import Replayed
from ..records.store import Store
from ..records.trouble import NoSuch, NotKept
from ..rules import RuleBook
from ..rules.documents import retention

# What goes unless other fields are named: the client and the home. Who inspected and who signed stay.
CLIENT = (
    "place",
    "client",
    "client_address",
    "premises",
    "occupier",
    "agreed_with",
    "copies",
    "told",
    "left_with",
    "client_strokes",
)


@frozen
class KeptUntil:
    """Until when a visit is kept at least.

    day  None when the rule or the date is not known;  why  the rule with its source, or what is missing
    """

    day: dt.date | None
    why: str


def kept_until(read: Replayed) -> KeptUntil:
    """Day until which the visit is kept at least: its date and the years of the rule of that date."""
    visit = read.book.visit
    if visit is None:
        return KeptUntil(None, "The date of the visit cannot be read, so it is kept.")
    try:
        edition = RuleBook.load().wiring_for(visit.rules_on, visit.choices.edition or None)
        rule = retention(edition)
    except NoRule as error:
        return KeptUntil(None, f"No rule says for how long ({error}), so it is kept.")
    year = visit.date.year + int(rule.value)
    leap_day = (visit.date.month, visit.date.day) == (2, 29)
    day = dt.date(year, 3, 1) if leap_day else visit.date.replace(year=year)
    return KeptUntil(
        day,
        f"{int(rule.value)} years at least: {rule.document}, {rule.place} ({rule.edition}{', from memory' if rule.confidence == 'memory' else ''})",
    )


@frozen
class Elsewhere:
    """Another visit that holds the same person: its id, and the fields in which the same words stand there."""

    visit: str
    fields: tuple[str, ...]


def same_person(store: Store, visit_id: str, fields: tuple[str, ...] = CLIENT) -> tuple[Elsewhere, ...]:
    """Other visits that hold the words of a visit's personal fields, earlier and later ones, in the order they were begun.

    Capitals, blanks and full stops do not count. To be asked before an erasure: afterwards nobody knows what to look for.
    What stands in free text, in photos and in files is not looked into.
    """
    c = schema.personal.c
    with store.reading() as connection:
        rows = list(connection.execute(select(c.visit, c.field, c.value).where(c.field.in_(fields))))
    ours = {_words(r.value) for r in rows if r.visit == visit_id} - {""}
    found: dict[str, set[str]] = {}
    for r in rows:
        if r.visit != visit_id and _words(r.value) in ours:
            found.setdefault(r.visit, set()).add(r.field)
    return tuple(Elsewhere(v, tuple(sorted(found[v]))) for v, *_ in store.visits() if v in found)


def _words(value: str) -> str:
    return " ".join(value.casefold().replace(".", " ").replace(",", " ").split())


def erase(
    store: Store, read: Replayed, reason: str, by: str, *, fields: tuple[str, ...] = CLIENT, files: bool = True
) -> Kept:
    """Take the client's personal data of a visit out, signed; everything else stays, and the chain is as whole as before.

    fields  which personal fields go;  files  photos and files of the visit too (the visit book as it was typed holds names)
    Raises NotKept without a name and a reason, NoSuch when nothing is left to erase.
    """
    if not by.strip() or not reason.strip():
        raise NotKept("An erasure is signed: give the name of whoever decided it, and the reason.")
    with store.reading() as connection:
        c, e = schema.personal.c, schema.event.c
        query = select(c.key).where(c.visit == read.visit_id, c.field.in_(fields)).order_by(c.key)
        keys = list(connection.execute(query).scalars())
        kept_files = set(connection.execute(select(schema.content.c.hash)).scalars()) if files else set()
        ours = {str(x.body.get("hash")) for x in read.events if x.kind in (PHOTO, FILE)} & kept_files
        if ours:
            query = select(e.body).where(e.kind.in_((PHOTO, FILE)), e.visit != read.visit_id)
            others = " ".join(connection.execute(query).scalars())
            ours = {hash_ for hash_ in ours if hash_ not in others}
    if not keys and not ours:
        raise NoSuch("There is nothing left to erase in this visit.")
    content = read.book.visit.paperwork.content if read.book.visit else ""
    body = {"reason": reason, "fields": list(fields), "keys": keys, "files": sorted(ours), "content": content}
    return store.erase(Draft(read.visit_id, ERASE, body, by), keys, sorted(ours))
