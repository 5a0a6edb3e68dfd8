"""What one event of the journal is. Frozen."""

from __future__ import annotations

import re
from typing import Any

from attrs import field, frozen

# Kinds that act on the journal itself; every other kind is a table of the visit book.
CORRECT, STRIKE, PHOTO, FILE, ISSUE, ERASE, FOLLOWS = "correct", "strike", "photo", "file", "issue", "erase", "follows"
OWN_KINDS = (CORRECT, STRIKE, PHOTO, FILE, ISSUE, ERASE, FOLLOWS)
ID = re.compile(r"[0-9A-Za-z][0-9A-Za-z._-]{7,63}")
KIND = re.compile(r"[a-z][a-z0-9_-]{0,39}")


@frozen
class Draft:
    """An event to be kept. ``id`` is made by whoever sends it, so that sending it again adds nothing.

    visit  id of the visit;  kind  table of the visit book, or one of :data:`OWN_KINDS`
    body   the entry, same keys as in the visit book;  by  who made it;  at  when, by the sender's clock (ISO 8601)
    """

    visit: str
    kind: str
    body: dict[str, Any]
    by: str = ""
    id: str = ""
    at: str = ""


@frozen
class StoredEvent:
    """One event as it stands in the database: texts that are hashed, names replaced by their keys."""

    no: int
    id: str
    visit: str
    seq: int
    kind: str
    body: str
    at: str
    kept_at: str
    who: str
    prev: str
    hash: str


@frozen
class Kept:
    """One event of the journal, with names and places put back where they have not been erased.

    no     place in the journal, from 1;  seq  place in its visit, from 1
    at     time of the sender's clock;  kept_at  time of the journal's clock [ISO 8601, UTC]
    prev, hash  SHA-256 of the event before and of this one
    new    False when this very event had been kept before
    device, seen  where several journals go together: which one made it (empty: the office's own), and up to which place of
           the visit it knew what the others had written; -1: all that stands before it
    """

    no: int
    id: str
    visit: str
    seq: int
    kind: str
    body: dict[str, Any]
    at: str
    kept_at: str
    by: str
    prev: str
    hash: str
    new: bool = field(default=True, eq=False)
    device: str = field(default="", eq=False)
    seen: int = field(default=-1, eq=False)

    def knew(self, other: Kept) -> bool:
        """Whether who made this one could know of another of the same visit."""
        return other.seq < self.seq and (self.seen < 0 or other.seq <= self.seen or other.device == self.device)

    @property
    def about(self) -> str:
        """Id of the event that this one corrects or strikes; empty for others."""
        return str(self.body.get("event", "")) if self.kind in (CORRECT, STRIKE) else ""
