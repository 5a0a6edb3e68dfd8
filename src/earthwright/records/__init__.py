"""The journal: what was entered, in the order it was entered, unaltered, and how a visit is read back from it."""

from .event import Draft, Kept
from .replay import EntryNow, Replayed, replay
from .store import Store
from .trouble import Busy, Conflict, Damaged, Full, JournalError, Moved, NoSuch, NotKept

__all__ = [
    "Busy",
    "Conflict",
    "Damaged",
    "Draft",
    "EntryNow",
    "Full",
    "JournalError",
    "Kept",
    "Moved",
    "NoSuch",
    "NotKept",
    "Replayed",
    "Store",
    "replay",
]
