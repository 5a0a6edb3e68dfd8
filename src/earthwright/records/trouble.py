"""What can go wrong with a journal. Each message says what was found, what was kept, and what to do."""

from __future__ import annotations

from ..base.errors import EarthwrightError


class JournalError(EarthwrightError):
    """The journal cannot do what was asked; nothing of it was kept unless the message says so."""


class NotKept(JournalError):
    """An entry was refused: it is not of a form that can be kept."""


class Conflict(JournalError):
    """The entry was changed by somebody else since it was looked at, or an id was used for something else."""


class Moved(Conflict):
    """Something was written to the visit between looking at it and writing: look again, then write."""


class NoSuch(JournalError):
    """There is no visit, event or file of that name."""


class Damaged(JournalError):
    """The file or database is not whole, or is no journal at all."""


class Full(JournalError):
    """There is no room to write."""


class Busy(JournalError):
    """Another program holds the journal for longer than can be waited for."""
