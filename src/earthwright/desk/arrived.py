"""Papers that a device or a file says were issued, looked through before they are kept: none says what its journal does not hold."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from attrs import frozen
from sqlalchemy import Connection

from ..records.canon import parsed
from ..records.event import ISSUE, Kept, StoredEvent
from ..records.replay import replay
from ..records.rows import arrivals_of, gone_of
from ..records.trouble import NoSuch, NotKept

if TYPE_CHECKING:
    from ..paper.verify import Verified
    from ..records.store import Store

WHAT_NOW = "Nothing of this visit is kept until the paper is taken out where it was issued; issue it anew there."


@frozen
class Paper:
    """A paper that was sent: what it was judged from, and what could not be compared, in words (empty: all was)."""

    found: Verified
    doubt: str


def read_paper(store: Store, body: Mapping[str, Any], today: dt.date) -> Paper | None:
    """The paper behind an issue; None when an erasure took it out. Raises NotKept for one that does not hold together."""
    hash_ = str(body.get("hash"))
    try:
        content = store.content(hash_)
    except NoSuch:
        with store.reading() as connection:
            if hash_ in gone_of(connection):
                return None
        content = b""
    return _looked_through(content, body, today)


def _looked_through(content: bytes, body: Mapping[str, Any], today: dt.date) -> Paper:
    """Its record is judged again from its readings, and the paper is printed again from that, as ``verify`` does."""
    try:
        from ..paper.answers import CANNOT, DIFFERS
        from ..paper.attachments import CannotRead
        from ..paper.verify import verify
    except ModuleNotFoundError as error:
        raise NotKept(f"To look into the paper that was issued needs the extra 'verify' ({error}).") from error

    if not content:
        short = str(body.get("hash"))[:12]
        raise NotKept(f"A paper was issued there and its file ({short}…) was not sent. {WHAT_NOW}")
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
    if not at or not _printed_from(row.visit, sorted(events[:at], key=lambda e: e.seq), paper):
        raise NotKept(_other_entries(paper))


def _printed_from(visit_id: str, events: Sequence[Kept], paper: Paper) -> bool:
    visit = replay(visit_id, events).book.visit
    inside = paper.found.assessment
    assert inside is not None  # without it nothing of it was judged again, which was refused
    return visit is not None and (visit.paperwork.content, visit.paperwork.given()) == (
        paper.found.content,
        inside.visit.paperwork.given(),
    )


def _other_entries(paper: Paper) -> str:
    return f"A {paper.found.document} was issued there from other entries or signatures than that journal holds. {WHAT_NOW}"


def papers_of_file(events: Sequence[Kept], here: int, files: Mapping[str, bytes]) -> tuple[str, ...]:
    """Hold the papers of a visit that comes as a file against the entries before them, but for those that are here already.

    Gives what could not be compared. Raises NotKept for a paper that does not hold together or is of other entries.
    """
    if sys.platform == "emscripten":  # a phone does not look into PDFs: an office does
        return ()
    out, doubts = {e.about for e in events}, []
    for row in (e for e in events[here:] if e.kind == ISSUE and e.id not in out):
        paper = _looked_through(files.get(str(row.body.get("hash")), b""), row.body, dt.date.today())
        if not any(_printed_from(row.visit, known, paper) for known in _may_have_known(events, row)):
            raise NotKept(_other_entries(paper))
        if paper.doubt:
            doubts.append(paper.doubt)
    return tuple(doubts)


def _may_have_known(events: Sequence[Kept], row: Kept) -> Iterator[list[Kept]]:
    """What stood before an entry; then less and less of the last that others wrote: a file has one order for all of them."""
    before = [e for e in events if e.seq < row.seq]
    for end in (row.seq, *(e.seq for e in reversed(before) if e.by != row.by)):
        known = [e for e in before if e.seq < end or e.by == row.by]
        ids = {e.id for e in known}
        if known and all(not e.about or e.about in ids for e in known):
            yield known


def issues_in(rows: Sequence[StoredEvent]) -> list[StoredEvent]:
    """The issues among entries that were sent, but for those that were taken out again among them."""
    out = {str(parsed(r.body).get("event")) for r in rows if r.kind == "strike"}
    return [r for r in rows if r.kind == ISSUE and r.id not in out]
