"""What a device may send and fetch where people sign in: what whoever it belongs to may do, and nothing in another's name."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..desk.visit_list import VisitLine
from ..records.event import FILE, PHOTO
from ..records.rows import apart_of, gone_of, kept
from ..sync.line import Refused, entries_in, parsed, sent_of
from ..sync.line import apart_of as names_of

if TYPE_CHECKING:
    from ..firm import Firm
    from ..firm.rights import Person


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
        hidden = [v for v in asked if not firm.sees(person, str(v))] if isinstance(asked, dict) else []
        if hidden:
            raise Refused(f"Visit {str(hidden[0])[:8]} is another inspector's. Ask the office to give it to you.")
    elif name == "send":
        _send(firm, person, parsed(body))


def _file(firm: Firm, person: Person, hash_: str) -> None:
    events = firm.desk.store.events(kinds=(PHOTO, FILE))
    if not any(e.body.get("hash") == hash_ and firm.sees(person, e.visit) for e in events):
        raise Refused("This file is of another inspector's visit.")


def _send(firm: Firm, person: Person, said: dict[str, Any]) -> None:
    from ..firm.rights import BEGIN, may

    entries = [e for e in entries_in(said, "entries") if isinstance(e, dict)]
    names = {key: one.value for key, one in names_of(said.get("names")).items()}
    for visit in dict.fromkeys(str(e.get("visit")) for e in entries):
        mine = [e for e in entries if str(e.get("visit")) == visit]
        if not firm.desk.holds(visit):
            if not may(person, BEGIN):
                raise Refused("You do not begin visits. Ask the office.")
            continue
        new = [e for e in mine if "body" in e]
        if not (firm.enters(person, visit) if new else firm.sees(person, visit)):
            raise Refused(f"Visit {visit[:8]} is another inspector's, so nothing is entered into it from here.")
    sent = [one.row for e in entries if (one := sent_of(e)).full]
    for visit in dict.fromkeys(row.visit for row in sent):
        with firm.desk.store.reading() as connection:  # a name that is here already is not said anew by a message
            known, gone = {**names, **apart_of(connection, visit)}, gone_of(connection)
        brought = [kept(row, known, gone) for row in sent if row.visit == visit]
        if any(e.by not in ("", person.name) for e in brought):
            raise Refused(
                f"An entry stands under another name than yours ({person.name}). Enter the inspector's name as in your account."
            )
        here = {e.id for e in firm.desk.store.events(visit)}
        if why := firm.not_theirs(person, visit, [e for e in brought if e.id not in here]):
            raise Refused(f"Visit {visit[:8]} holds {why}. Take it out on the device, then send again.")


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
