"""Change single bytes of a 1,000-event journal file and ask the check whether it sees them.

    python benchmarks/flips.py [ROWS] [ELSEWHERE] [PART PARTS] [SEED]

ROWS       how many bytes of event rows, drawn at random; ``all`` for every one (split with PART of PARTS). With ``all``
           the check's own step is first asked about the changed event and its neighbours alone, with what it would
           remember of the events before; the whole check is asked wherever that step sees nothing
ELSEWHERE  how many bytes anywhere in the file: found, refused, or without any effect on what the journal says
"""

from __future__ import annotations

import random
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

from earthwright.records import Draft, JournalError, Store
from earthwright.records.canon import NOTHING_BEFORE
from earthwright.records.event import StoredEvent
from earthwright.records.verify import _event, _Seen, verify

EVENTS = 1000


def made(path: Path) -> None:
    """A journal of 1,000 events, all in one file."""
    store = Store(path)
    for number in range(EVENTS):
        body = {"read": "together", "bond": "water", "shown": f"0.{number % 100:02}"}
        store.append([Draft(f"visit-{number % 20:04}", "step", body, "J. Example")])
    store.close()


def spans(path: Path) -> list[tuple[int, int]]:
    """Where in the file each event row stands, with its record header before it."""
    raw = path.read_bytes()
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT id, visit, hash FROM event ORDER BY no").fetchall()
    found = []
    for id_, visit, hash_ in rows:
        begin = raw.index(f"{id_}{visit}".encode())
        end = raw.index(hash_.encode(), begin) + len(hash_)
        assert 0 < end - begin < 1500
        found.append(
            (begin - 14, end)
        )  # the header: its length and one type for each of the eleven columns, and before
    return found


def seen(store: Store) -> bool:
    """Whether the check, or the opening of the file, finds something wrong."""
    try:
        return not verify(store, first=True).whole
    except JournalError:
        return True


def step_sees(path: Path, no: int, events: list[StoredEvent]) -> bool:
    """Whether the check finds something at an event or the ones beside it, coming from the sound events before."""
    first = max(no - 1, 1)
    seen = _Seen()
    for row in events[: first - 1]:
        seen.seqs[row.visit] = row.seq
    count, last = first - 1, events[first - 2].hash if first > 1 else NOTHING_BEFORE
    try:
        with closing(sqlite3.connect(path)) as connection:
            connection.text_factory = lambda b: b.decode("utf-8", "surrogateescape")
            for found in connection.execute("SELECT * FROM event WHERE no >= ? ORDER BY no LIMIT 3", (first,)):
                last = _event(StoredEvent(*found), count, last, seen)
                count += 1
    except sqlite3.Error:
        return True
    return bool(seen.faults) or count != min(first + 2, len(events))


def dump(path: Path) -> list[object]:
    """Everything that the journal says."""
    with closing(sqlite3.connect(path)) as connection:
        tables = ("event", "personal", "content", "erased", "alembic_version")
        return [connection.execute(f"SELECT * FROM {t}").fetchall() for t in tables]


def main(rows: str, elsewhere: int, part: int, parts: int, seed: int) -> int:
    """Flip, look, put back; how many changes of an event were not found."""
    chance = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.sqlite"
        made(path)
        event_of = {p: no for no, (begin, end) in enumerate(spans(path), 1) for p in range(begin, end)}
        places = sorted(event_of)
        with closing(sqlite3.connect(path)) as connection:
            events = [StoredEvent(*r) for r in connection.execute("SELECT * FROM event ORDER BY no")]
        total = len(places)
        places = places[part::parts] if rows == "all" else sorted(chance.sample(places, min(int(rows), total)))
        before, missed, idle, harmless = dump(path), 0, 0, 0
        store = Store(path)
        began = time.monotonic()
        with store.reading() as holding, path.open("r+b", buffering=0) as file:
            holding.exec_driver_sql("SELECT 1 FROM event").first()  # the file stays open, as it is in use
            size = path.stat().st_size
            for number, place in enumerate([*places, *(chance.randrange(size) for _ in range(elsewhere))]):
                file.seek(place)
                was = file.read(1)
                file.seek(place)
                file.write(bytes([was[0] ^ chance.randrange(1, 256)]))
                found = (rows == "all" and step_sees(path, event_of.get(place, 1), events)) or seen(store)
                if not found and dump(path) != before:
                    missed += 1
                    print(f"  not found, and it changes what the journal says: byte {place} of the file", flush=True)
                elif not found and number < len(places):
                    idle += 1
                elif not found:
                    harmless += 1
                file.seek(place)
                file.write(was)
        store.close()
    took = time.monotonic() - began
    print(f"{EVENTS} events, {total} bytes in their rows: {len(places)} changed one at a time, {missed} not found,")
    print(f"  {idle} in a row's header without any effect on what it says ({took:.0f} s)")
    print(
        f"{elsewhere} bytes anywhere: {elsewhere - harmless} found, {harmless} without any effect on what the journal says"
    )
    return missed


if __name__ == "__main__":
    if {"-h", "--help"} & set(sys.argv[1:]):
        sys.exit(print(__doc__))
    asked = sys.argv[1:]
    sys.exit(1 if main(
        asked[0] if asked else "300",
        int(asked[1]) if len(asked) > 1 else 100,
        int(asked[2]) if len(asked) > 3 else 0,
        int(asked[3]) if len(asked) > 3 else 1,
        int(asked[4]) if len(asked) > 4 else 1,
    ) else 0)  # fmt: skip
