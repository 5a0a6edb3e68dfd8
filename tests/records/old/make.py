"""How the old files beside this one were made: ``python make.py VERSION FILE``, with the program of that version.

Made once for each released form of the journal and then kept as it is; it is never made again.
"""

from __future__ import annotations

import sys
from pathlib import Path

import earthwright.records.store as store_module
from earthwright.desk import Desk
from earthwright.records import migrate


def main(version: str, file: str) -> None:
    store_module.VERSION = version  # type: ignore[attr-defined]
    store_module.bring_up = lambda connection: migrate.bring_up(connection, version)  # type: ignore[attr-defined]
    desk = Desk(file)
    visits = Path(__file__).parents[2] / "visits"
    first = desk.take_in((visits / "01-masked.toml").read_bytes(), by="J. Example")
    second = desk.take_in((visits / "03-paint.toml").read_bytes(), by="A. Other")
    steps = [e for e in desk.read(second).entries if e.kind == "step" and "shown" in e.body]
    desk.correct(steps[0].id, {**steps[0].body, "note": "read again"}, "a remark was missing", "A. Other")
    desk.strike(steps[-1].id, "entered twice", "A. Other")
    desk.undo(second, "A. Other")
    desk.attach(second, b"\x89PNG not a real picture", "clamp on paint", "A. Other", media="image/png")
    desk.erase(first, "asked for by the client", "J. Example")
    print(desk.store.head(), desk.verify().whole)
    with desk.store.engine.connect() as connection:
        connection.connection.cursor().execute("PRAGMA journal_mode = DELETE")
    desk.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
