"""What a device may send and fetch where people sign in: what whoever it belongs to may do, and nothing in another's name."""

from __future__ import annotations

import datetime as dt
import json
from typing import TYPE_CHECKING, Any

from ..desk.visit_list import VisitLine
from ..records.event import FILE, PHOTO
from ..records.rows import apart_of, gone_of, kept, row_of
from ..records.trouble import NotKept
from ..sync.line import Refused, entries_in, of_visit, parsed, sent_of
from ..sync.line import apart_of as names_of

if TYPE_CHECKING:
    from ..desk.arrived import Paper
    from ..firm import Firm
    from ..firm.rights import Person
    from ..records.store import Store


def person_of(firm: Firm, person_id: str) -> Person:
    """Whose device it is. Raises Refused when nobody's any more."""
    from ..firm.rights import STAFF

    found = firm.people.of_id(person_id) if person_id else None
    if found is None or found.gone:
        raise Refused("Whose device this is has no account any more. Ask the office.")
    if found.role not in STAFF:
        raise Refused("Whose device this is does not work on visits. Ask the office.")
    return found


def seen_on(firm: Firm, person_id: str) -> list[VisitLine]:
    """The visits that may be fetched there."""
    return firm.seen_by(person_of(firm, person_id))


def look_into(firm: Firm, person_id: str, name: str, body: bytes) -> None:
    """Refuse a question that its person may not ask. A visit that is begun on a device is its person's."""
    person = person_of(firm, person_id)
    if name.startswith("file/"):
        if not body:
            _file(firm, person, name.removeprefix("file/"))
    elif name == "fetch":
        asked = parsed(body).get("visits")
        for visit in map(str, asked) if isinstance(asked, dict) else ():
            if not firm.sees(person, visit):
                said = f"Visit {visit[:8]} is another inspector's. Ask the office to give it to you."
                raise Refused(said, of_visit(visit))
    elif name == "send":
        _send(firm, person, parsed(body))


def _file(firm: Firm, person: Person, hash_: str) -> None:
    events = firm.desk.store.events(kinds=(PHOTO, FILE))
    if not any(e.body.get("hash") == hash_ and firm.sees(person, e.visit) for e in events):
        raise Refused("This file is of another inspector's visit.")


def _send(firm: Firm, person: Person, said: dict[str, Any]) -> None:
    from ..firm.rights import BEGIN, ENTER, may

    sent = [sent_of(e) for e in entries_in(said, "entries")]
    names = {key: one.value for key, one in names_of(said.get("names")).items()}
    for visit in dict.fromkeys(one.row.visit for one in sent):
        mine = [one for one in sent if one.row.visit == visit]
        there = firm.desk.holds(visit)
        here = {e.id for e in firm.desk.store.events(visit)} if there else set()
        new = [one.row for one in mine if one.full and one.row.id not in here]
        if not may(person, ENTER, own=True) and (new or not there):
            raise Refused("Who has your role enters nothing into a visit: it is read only.", of_visit(visit))
        if not there and not may(person, BEGIN):
            raise Refused("You do not begin visits. Ask the office.", of_visit(visit))
        if there and not (firm.enters(person, visit) if new else firm.sees(person, visit)):
            what = "is another inspector's, so nothing is entered into it from here. Ask the office to give it to you."
            raise Refused(f"Visit {visit[:8]} {what}", of_visit(visit))
        with firm.desk.store.reading() as connection:  # a name that is here already is not said anew by a message
            known, gone = {**names, **apart_of(connection, visit)}, gone_of(connection)
        brought = [kept(row, known, gone) for row in new]
        if other := next((e for e in brought if e.by not in ("", person.name)), None):
            raise Refused(
                f"An entry stands under another name than yours ({person.name}): {other.by[:60]}. Hand the visit over as a "
                "file, sign in at the office and bring it in there: then it stands under your name.",
                of_visit(visit),
            )
        why, entry = firm.not_theirs(person, visit, brought)
        if why:
            words = f"Visit {visit[:8]} holds {why}. Take it out on the device, then send again."
            raise Refused(words, of_visit(visit, entry))


def papers_in(store: Store, body: bytes, today: dt.date) -> dict[str, Paper]:
    """The papers that a message issues, by the id of the entry, each looked through. Raises Refused."""
    from ..desk.arrived import issues_in, read_paper

    sent = [one.row for e in entries_in(parsed(body), "entries") if (one := sent_of(e)).full]
    found = {}
    for row in issues_in(sent):
        with store.reading() as connection:
            if row_of(connection, row.id) is not None:
                continue
        try:
            paper = read_paper(store, json.loads(row.body), today)
        except NotKept as error:
            raise Refused(str(error), of_visit(row.visit, row.id)) from error
        if paper is not None:
            found[row.id] = paper
    return found


def begun_there(firm: Firm, person_id: str, body: bytes, before: set[str]) -> None:
    """Give whoever sent it a visit that was begun on the device."""
    person = person_of(firm, person_id)
    for visit in {str(e.get("visit")) for e in entries_in(parsed(body), "entries") if isinstance(e, dict)} - before:
        firm.give(visit, person, person)


def visits_in(firm: Firm, name: str, body: bytes) -> set[str]:
    """The visits that a message speaks of and that are here already."""
    if name != "send":
        return set()
    entries = entries_in(parsed(body), "entries")
    return {v for v in {str(e.get("visit")) for e in entries if isinstance(e, dict)} if firm.desk.holds(v)}
