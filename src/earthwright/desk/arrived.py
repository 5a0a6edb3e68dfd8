"""Papers that a device says it issued, looked through before they are kept: none says what its journal does not hold."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from attrs import frozen
from sqlalchemy import Connection

from ..records.canon import parsed
from ..records.event import ISSUE, StoredEvent
from ..records.replay import replay
from ..records.rows import arrivals_of, gone_of
from ..records.trouble import NoSuch, NotKept

if TYPE_CHECKING:
    from ..paper.verify import Verified
    from ..records.store import Store

WHAT_NOW = "Nothing of this visit is kept until the paper is taken out on the device; issue it anew there."


@frozen
class Paper:
    """A paper that was sent: what it was judged from, and what could not be compared, in words (empty: all was)."""

    found: Verified
    doubt: str


def read_paper(store: Store, body: Mapping[str, Any], today: dt.date) -> Paper | None:
    """The paper behind an issue; None when an erasure took it out. Raises NotKept for one that does not hold together.

    Its record is judged again from its readings, and the paper is printed again from that, as ``verify`` does.
    """
    from ..paper.answers import CANNOT, DIFFERS
    from ..paper.attachments import CannotRead
    from ..paper.verify import verify

    hash_ = str(body.get("hash"))
    try:
        content = store.content(hash_)
    except NoSuch:
        with store.reading() as connection:
            if hash_ in gone_of(connection):
                return None
        raise NotKept(f"A paper was issued there and its file ({hash_[:12]}…) was not sent. {WHAT_NOW}") from None
    try:
        found = verify(content, today)
    except CannotRead as error:
        raise NotKept(f"What was issued there is no paper of ours: no record of it can be read. {WHAT_NOW}") from error
    said = [c.words for c in found.checks if c.outcome == DIFFERS]
    if (found.document, found.record) != (body.get("document"), body.get("record")):
        said.append("The paper is another one than the entry says, or of another record.")
    if found.draft:
        said.append("It is a draft.")
    if not found.content:
        said.append("The visit that it was printed from is not inside.")
    if said:
        raise NotKept(f"A {found.document} was issued there that does not hold together. {' '.join(said)} {WHAT_NOW}")
    return Paper(found, " ".join(c.words for c in found.checks if c.outcome == CANNOT))


def held_against(connection: Connection, device: str, row: StoredEvent, paper: Paper) -> None:
    """Hold a paper against what its device's journal held when it was issued. Raises NotKept."""
    events = arrivals_of(connection, row.visit).get(device, [])
    at = next((n for n, e in enumerate(events) if e.id == row.id), 0)
    visit = replay(row.visit, sorted(events[:at], key=lambda e: e.seq)).book.visit if at else None
    inside = paper.found.assessment
    assert inside is not None  # without it nothing of it was judged again, which was refused
    if visit is None or (visit.paperwork.content, visit.paperwork.given()) != (
        paper.found.content,
        inside.visit.paperwork.given(),
    ):
        raise NotKept(
            f"A {paper.found.document} was issued there from other entries or signatures than that journal holds. {WHAT_NOW}"
        )


def issues_in(rows: Sequence[StoredEvent]) -> list[StoredEvent]:
    """The issues among entries that were sent, but for those that were taken out again among them."""
    out = {str(parsed(r.body).get("event")) for r in rows if r.kind == "strike"}
    return [r for r in rows if r.kind == ISSUE and r.id not in out]
