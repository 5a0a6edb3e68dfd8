"""What a database complains of, in words a person can act on."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from json import JSONDecodeError

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from .trouble import Busy, Damaged, Full, JournalError

_SAID = (
    ("disk is full", Full, "There is no room left. Nothing of this entry was kept; what was kept before is whole. Make room and enter it again."),
    ("no space left", Full, "There is no room left. Nothing of this entry was kept; what was kept before is whole. Make room and enter it again."),
    ("disk i/o error", Full, "The disk cannot be written or read. Nothing of this entry was kept. Check the disk, then: earthwright keep check."),
    ("locked", Busy, "Another program has been writing for a long time. Nothing of this entry was kept; try again."),
    ("malformed", Damaged, "The file is damaged. It was not changed. Keep a copy of it, then restore the last backup."),
    ("not a database", Damaged, "This file is no journal, or its beginning is damaged. It was not changed."),
    ("unable to open", JournalError, "The file cannot be opened. Does the folder exist, and may you write there?"),
    ("readonly", JournalError, "The journal may not be written here: it can be read and listed only. Nothing of this entry was kept."),
    ("append-only", JournalError, "The journal is append-only: what is kept is never changed. Correct it by a new entry."),
    ("signed erasure", JournalError, "Personal data and files go only by a signed erasure."),
    ("does not follow", JournalError, "The event does not follow the last one of the chain; nothing was kept."),
    ("who acted is your login", JournalError, "An entry is kept under your own login, not under another name. Nothing was kept."),
    ("permission denied", JournalError, "Your login may not do this: it may look, or look and enter. Nothing was changed. Ask whoever keeps the database."),
    ("connection", JournalError, "The database server does not answer. Try again when it is there; an entry sent twice under one id counts once."),
)  # fmt: skip


@contextlib.contextmanager
def in_words(name: str) -> Iterator[None]:
    """Turn the database's own errors into ours, with the journal's name and without any password."""
    name = name.removeprefix("sqlite:///")  # a file is called by its path
    try:
        yield
    except (DBAPIError, sqlite3.Error) as error:
        raise _in_words(name, getattr(error, "orig", None) or error) from error
    except (UnicodeDecodeError, JSONDecodeError, RecursionError) as error:  # flipped bits in a text or in the schema
        raise _in_words(name, RuntimeError("malformed")) from error
    except SQLAlchemyError as error:
        raise JournalError(f"{name}: the database cannot be used: {str(error).splitlines()[0]}") from error
    except Exception as error:
        if type(error).__module__.split(".")[0] != "psycopg":  # psycopg itself is an extra, not to be imported here
            raise
        raise _in_words(name, error) from error


def _in_words(name: str, error: BaseException) -> JournalError:
    said = str(error)
    for mark, kind, words in _SAID:
        if mark in said.lower():
            return kind(f"{name}: {words}")
    return JournalError(f"{name}: the database refused: {(said.splitlines() or ['no reason given'])[0]}")
