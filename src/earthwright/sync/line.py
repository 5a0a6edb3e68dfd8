"""What goes over the line: questions and answers as JSON of known shape, and nothing of another is taken."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from attrs import frozen

from ..base import limits
from ..records.canon import FORM, canonical, digest, envelope
from ..records.event import ID, KIND, StoredEvent
from ..records.personal import Apart
from ..records.trouble import Damaged, JournalError

HASH_DIGITS = 64
_APART = ("key", "visit", "field", "value", "salt")
_PLACE = {"no": int, "id": str, "visit": str, "seq": int, "kept_at": str, "prev": str, "hash": str}
_TEXTS = {"kind": str, "body": dict, "at": str}


class Refused(JournalError):
    """The office does not take a message. ``code``: a short word that a device knows what to do about, or empty."""

    def __init__(self, said: str, code: str = "") -> None:
        super().__init__(said)
        self.code = code


OF_VISIT = "visit "  # begins the code of a refusal that is about one visit: its id, then that of an entry, if of one


def of_visit(visit: str, entry: str = "") -> str:
    """The code of a refusal that is about one visit: all others may go on."""
    return f"{OF_VISIT}{visit} {entry}".rstrip()


def visit_in(code: str) -> tuple[str, str]:
    """The visit and the entry that a refusal is about; empty where it is about none."""
    if not code.startswith(OF_VISIT):
        return "", ""
    visit, _, entry = code.removeprefix(OF_VISIT).partition(" ")
    return (visit, entry if ID.fullmatch(entry) else "") if ID.fullmatch(visit) else ("", "")


class NoAnswer(JournalError):
    """Nobody answered, or the answer was cut short: nothing is lost, the same is asked again later."""


@frozen
class Ask:
    """One question to the office: the name behind ``/sync/``, and what is sent along."""

    name: str
    body: bytes = b""

    @classmethod
    def of(cls, name: str, **said: Any) -> Ask:
        """A question with values."""
        return cls(name, canonical(said, name).encode())


@frozen
class Sent:
    """An event as it stands in the journal that sends it; without its texts where the other is believed to have them."""

    row: StoredEvent
    full: bool

    @property
    def fits(self) -> bool:
        """Whether its hash is that of its texts."""
        return origin_hash(self.row) == self.row.hash


def origin_hash(row: StoredEvent) -> str:
    """The hash that an event has in the journal whose numbers it bears."""
    parts = {n: getattr(row, n) for n in ("no", "id", "visit", "seq", "kind", "body", "at", "kept_at", "prev")}
    return digest(envelope(**parts, by=row.who))


def as_json(row: StoredEvent, *, full: bool = True, **more: Any) -> dict[str, Any]:
    """An event as it is sent."""
    said = {k: getattr(row, k) for k in _PLACE}
    texts = {"kind": row.kind, "body": json.loads(row.body), "at": row.at, "by": json.loads(row.who)} if full else {}
    return {**said, **texts, **more}


def sent_of(value: object) -> Sent:
    """An event that was sent. Raises Damaged for what is none."""
    found = _object(value, "an entry")
    full = "body" in found
    wanted = {**_PLACE, **(_TEXTS if full else {})}
    wrong = [k for k, kind in wanted.items() if not isinstance(found.get(k), kind) or isinstance(found[k], bool)]
    if wrong or (full and not isinstance(found.get("by"), (str, dict))):
        raise Damaged(f"An entry that was sent has no {', '.join(wrong) or 'by'} of the right kind.")
    if not (ID.fullmatch(found["id"]) and ID.fullmatch(found["visit"]) and (not full or KIND.fullmatch(found["kind"]))):
        raise Damaged("The id, visit or kind of an entry that was sent is of no form that is kept.")
    if not (0 < found["no"] < 2**53 and 0 < found["seq"] < 2**31 and all(_is_hash(found[k]) for k in ("prev", "hash"))):
        raise Damaged("The place or the hash of an entry that was sent cannot be.")
    body, who = (canonical(found["body"]), canonical(found["by"])) if full else ("", "")
    row = StoredEvent(
        **{k: found[k] for k in _PLACE}, kind=found.get("kind", ""), body=body, at=found.get("at", ""), who=who
    )
    return Sent(row, full)


def apart_of(values: object) -> dict[str, Apart]:
    """Names and addresses that were sent, by their keys. Raises Damaged."""
    found = {}
    for value in _list(values, "names"):
        one = _object(value, "a name")
        if set(one) != set(_APART) or not all(isinstance(v, str) and len(v) < 5000 for v in one.values()):
            raise Damaged("A name that was sent is of no form that is kept.")
        found[one["key"]] = Apart(**one)
    return found


def parsed(body: bytes) -> dict[str, Any]:
    """The values of a message. Raises Damaged."""
    if limits.SENT.refuses(len(body)):
        raise Damaged(f"This message is too large: {limits.SENT.said(len(body))}.")
    try:
        return _object(json.loads(body.decode()), "a message")
    except (ValueError, RecursionError) as error:
        raise Damaged("This is no message of a device: it cannot be read.") from error


def text_in(said: Mapping[str, Any], key: str) -> str:
    """A short text of a message. Raises Damaged."""
    value = said.get(key)
    if not isinstance(value, str) or len(value) > 200:
        raise Damaged(f"The message has no {key}.")
    return value


def entries_in(said: Mapping[str, Any], key: str) -> list[object]:
    """A list of a message. Raises Damaged."""
    return _list(said.get(key), key)


def _object(value: object, what: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise Damaged(f"Expected {what}, found {type(value).__name__}.")
    return value


def _list(value: object, what: str) -> list[object]:
    if not isinstance(value, list) or limits.SENT_ENTRIES.refuses(len(value)):
        raise Damaged(f"Expected a list of {what}: {limits.SENT_ENTRIES.said()}.")
    return value


def _is_hash(value: str) -> bool:
    return len(value) == HASH_DIGITS and not set(value) - set("0123456789abcdef")


PROTOCOL = FORM  # of the messages: a journal of another form does not go together with this one
