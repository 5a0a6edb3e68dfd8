"""Which database, and how it is opened: every commit on the disk before it is acknowledged."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, NoSuchModuleError
from sqlalchemy.pool import StaticPool

from .trouble import JournalError

WAIT_S = 30


def engine_for(url: str | Path | URL) -> Engine:
    """The engine for a path or an address. Raises JournalError for an address that is not understood."""
    wanted = url if isinstance(url, URL) else str(url)
    try:
        path = isinstance(wanted, str) and "://" not in wanted
        made = URL.create("sqlite", database=str(wanted)) if path else make_url(wanted)
    except (ArgumentError, ValueError) as error:
        raise JournalError("This is neither a path nor the address of a database.") from error
    if made.drivername in ("postgresql", "postgres"):
        made = made.set(drivername="postgresql+psycopg")
    if made.get_backend_name() not in ("sqlite", "postgresql"):
        raise JournalError(f"A journal is kept in SQLite or PostgreSQL, not in {made.get_backend_name()}.")
    options: dict[str, Any] = {}
    if made.get_backend_name() == "sqlite" and made.database in (None, "", ":memory:"):
        options = {"poolclass": StaticPool, "connect_args": {"check_same_thread": False}}
    elif made.get_backend_name() == "sqlite" and only_to_be_read(Path(str(made.database))):
        address = _read_only(Path(str(made.database)))
        options = {"creator": lambda: sqlite3.connect(address, uri=True, timeout=WAIT_S)}
    try:
        engine = create_engine(made, **options)
    except (ModuleNotFoundError, NoSuchModuleError) as error:
        raise JournalError("For PostgreSQL install the extra 'office' (psycopg).") from error
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _prepare_reading if "creator" in options else _prepare)
        event.listen(engine, "begin", _begin)
    return engine


def only_to_be_read(file: Path) -> bool:
    """Whether a journal is there and may not be written: the file itself, or the folder its log would stand in."""
    return file.is_file() and not (os.access(file, os.W_OK) and os.access(file.parent, os.W_OK))


def _read_only(file: Path) -> str:
    """Address of a journal that is only looked at. Without a log beside it nothing can change while it is looked at."""
    log = file.with_name(file.name + "-wal")
    still = not log.is_file() or not log.stat().st_size
    return f"{file.absolute().as_uri()}?mode=ro{'&immutable=1' if still else ''}"


def _prepare_reading(dbapi: Any, _: Any) -> None:
    dbapi.isolation_level = None
    cursor = dbapi.cursor()
    cursor.execute("PRAGMA trusted_schema = OFF")
    cursor.close()


def _prepare(dbapi: Any, _: Any) -> None:
    """Every commit is on the disk before it is acknowledged; what is deleted is overwritten."""
    dbapi.isolation_level = None  # transactions are begun below, not guessed by the driver
    cursor = dbapi.cursor()
    for pragma in (
        f"busy_timeout = {WAIT_S * 1000}",
        "journal_mode = WAL",  # where the file system cannot, SQLite stays with its rollback journal
        "synchronous = FULL",
        "foreign_keys = ON",
        "secure_delete = ON",
        "trusted_schema = OFF",
    ):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
