"""One writer at a time: who writes to a store holds a lock that the system lets go of when the process ends, however it does."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from ..base.errors import EarthwrightError


@contextmanager
def alone(store: Path, private: Path, wait_s: float) -> Iterator[None]:
    """Hold a store by a file in ``private``. Raises EarthwrightError when somebody else holds it still after waiting [s]."""
    private.mkdir(mode=0o700, parents=True, exist_ok=True)
    with closing(sqlite3.connect(private / "lock", timeout=wait_s, isolation_level=None)) as held:  # for its lock alone
        try:
            held.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            raise EarthwrightError(
                f"Somebody else is writing to {store}. Nothing was changed; try again when that is done."
            ) from error
        yield
