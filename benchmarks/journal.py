"""Rates of the journal as ratios to plain inserts of the same rows, one commit each.

    python benchmarks/journal.py [EVENTS] [WRITERS] [sqlite | postgresql]

The plain insert goes through the driver alone: the same columns and sizes, no chain, no indexes but the key, no
triggers. Both flush at each commit.
"""

from __future__ import annotations

import multiprocessing
import os
import sqlite3
import sys
import tempfile
import time
import uuid
from contextlib import closing
from pathlib import Path

import psycopg

sys.path.insert(0, str(Path(__file__).parent / "helpers"))
from cluster import BINARIES, Cluster

from earthwright.desk import Desk
from earthwright.records import Draft, Store
from earthwright.records.verify import verify

BODY = {"read": "together", "bond": "water", "shown": "0.02", "leads": "long"}
PLAIN = ("note", "0" * 36, "visit-0001", 1, "step", "x" * 70, "0" * 27, "0" * 27, "0" * 110, "0" * 64, "0" * 64)


def chained(url: str, events: int, seed: int, go: object) -> None:
    """One writer of the journal: each event acknowledged before the next."""
    store = Store(url)
    go.wait()  # type: ignore[attr-defined]
    for _ in range(events):
        store.append([Draft(f"visit-{seed:04}", "step", BODY, "J. Example")])


def plain_sqlite(path: str, events: int, seed: int, go: object) -> None:
    """One writer of plain rows into SQLite."""
    with closing(sqlite3.connect(path, timeout=60, isolation_level=None)) as connection:
        connection.execute("PRAGMA synchronous = FULL")
        go.wait()  # type: ignore[attr-defined]
        for _ in range(events):
            connection.execute("INSERT INTO plain VALUES (?,?,?,?,?,?,?,?,?,?,?)", (uuid.uuid4().hex, *PLAIN[1:]))


def plain_postgresql(dsn: str, events: int, seed: int, go: object) -> None:
    """One writer of plain rows into PostgreSQL."""
    with psycopg.connect(dsn, autocommit=True) as connection:
        go.wait()  # type: ignore[attr-defined]
        for _ in range(events):
            connection.execute(
                "INSERT INTO plain VALUES (%s,%s,%s,%s,%s,%s,%s,%s,%s,%s,%s)", (uuid.uuid4().hex, *PLAIN[1:])
            )


def timed(work: object, where: str, events: int, writers: int) -> float:
    """Events a second of so many writers at once."""
    context = multiprocessing.get_context("fork")
    go = context.Event()
    started = [context.Process(target=work, args=(where, events, n, go)) for n in range(writers)]
    for one in started:
        one.start()
    time.sleep(1.0)  # until all have opened
    began = time.monotonic()
    go.set()
    for one in started:
        one.join()
        assert one.exitcode == 0
    return events * writers / (time.monotonic() - began)


COLUMNS = "k TEXT PRIMARY KEY, id TEXT, visit TEXT, seq INTEGER, kind TEXT, body TEXT, at TEXT, kept TEXT, who TEXT, prev TEXT, hash TEXT"


def run(kind: str, events: int, writers: int) -> None:
    """Time one database and check the chain that came out."""
    folder = Path(tempfile.mkdtemp(prefix="ew-rate-"))
    server = Cluster() if kind == "postgresql" else None
    try:
        url = server.fresh() if server else str(folder / "journal.sqlite")
        Store(url).close()
        if server:
            dsn = f"host={server.folder} user=keeper dbname=postgres"
            with psycopg.connect(dsn, autocommit=True) as connection:
                connection.execute(f"CREATE TABLE plain ({COLUMNS})")
            plain = timed(plain_postgresql, dsn, events, writers)
        else:
            path = str(folder / "plain.sqlite")
            with closing(sqlite3.connect(path)) as connection:
                connection.execute("PRAGMA journal_mode = WAL")
                connection.execute(f"CREATE TABLE plain ({COLUMNS})")
            plain = timed(plain_sqlite, path, events, writers)
        ours = timed(chained, url, events, writers)
        store = Store(url)
        began = time.monotonic()
        found = verify(store)
        took = time.monotonic() - began
        seqs = {v[1] for v in store.visits()}
        store.close()
        good = found.whole and found.events == events * writers and seqs == {events}
        print(
            f"{kind}, {writers} writers × {events} events, one commit each: plain {plain:.0f}/s, journal {ours:.0f}/s,"
        )
        print(f"  ratio {ours / plain:.2f}; one chain of {found.events} events {'unbroken' if good else 'BROKEN'},")
        print(f"  checked at {found.events / took:.0f} events/s")
        assert good
    finally:
        if server:
            server.stop()
        for left in folder.iterdir():
            left.unlink()
        folder.rmdir()


def desk(circuits: int = 60) -> None:
    """One entry and its verdict at the desk, for a visit of so many circuits."""
    with tempfile.TemporaryDirectory() as folder:
        one = Desk(Path(folder) / "j.sqlite")
        visit = one.start("An invented works", date="2026-11-20", kind="periodic", by="J. Example")
        one.add(visit, "board", {"id": "db1"})
        for n in range(circuits):
            device = {"standard": "BS EN 60898", "type": "B", "rating_a": "32"}
            one.add(visit, "circuit", {"id": f"c{n}", "board": "db1", "line_mm2": "2.5", "cpc_mm2": "1.5",
                                       "length_m": "20", "device": device})  # fmt: skip
        times: dict[str, list[float]] = {"add": [], "read": [], "assess": []}
        for n in range(30):
            began = time.perf_counter()
            one.add(visit, "step", {"read": "zs", "of": f"c{n}", "shown": "0.62"}, "J. Example")
            added = time.perf_counter()
            one.read(visit)
            read = time.perf_counter()
            one.assess(visit)
            for name, took in zip(times, (added - began, read - added, time.perf_counter() - read), strict=True):
                times[name].append(took)
        said = ", ".join(f"{name} {sorted(t)[len(t) // 2] * 1000:.1f} ms" for name, t in times.items())
        print(f"desk, {circuits} circuits: {said} (medians of {len(times['add'])})")
        one.close()


if __name__ == "__main__":
    if {"-h", "--help"} & set(sys.argv[1:]):
        sys.exit(print(__doc__))
    asked = sys.argv[1:]
    events = int(asked[0]) if asked else 200
    writers = int(asked[1]) if len(asked) > 1 else 4
    for kind in [asked[2]] if len(asked) > 2 else ["sqlite", *(["postgresql"] if BINARIES else [])]:
        run(kind, events, writers)
    desk()
    os._exit(0)
