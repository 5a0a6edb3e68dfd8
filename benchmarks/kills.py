"""Kill the writers (SQLite) or the whole server (PostgreSQL) at random moments; nothing acknowledged may be lost.

    python benchmarks/kills.py [KILLS] [sqlite | postgresql] [SEED]

A kill ends processes, not the machine: it shows that no acknowledged event waits in a program's memory. That it is on
the disk rests on the database's flush at each commit (``synchronous = FULL``, ``fsync = on``).
"""

from __future__ import annotations

import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent / "helpers"))
from cluster import BINARIES, Cluster

from earthwright.records import Draft, JournalError, Store
from earthwright.records.canon import digest
from earthwright.records.verify import verify

WRITERS = 3


def write(url: str, pipe: int, seed: int) -> None:
    """Keep events for ever; tell each id only after it was acknowledged. Every tenth brings a file of 200 kB."""
    chance = random.Random(seed)
    store = Store(url)
    number = 0
    while True:
        number += 1
        draft = Draft(f"visit-{chance.randrange(5):04}", "step", {"note": "x" * chance.randrange(400)}, "A. Writer")
        contents = []
        if number % 10 == 0:
            contents = [chance.randbytes(200_000)]
            draft = Draft(draft.visit, "photo", {"hash": digest(contents[0]), "caption": "x"}, "A. Writer")
        kept = store.append([draft], contents)[0]
        os.write(pipe, f"{kept.id} {kept.hash}\n".encode())


def started(url: str, seed: int) -> tuple[list[int], int]:
    """Writers in processes of their own; their ids, and the pipe they tell through."""
    reading, writing = os.pipe()
    writers = []
    for number in range(WRITERS):
        pid = os.fork()
        if pid == 0:
            os.close(reading)
            try:
                write(url, writing, seed * WRITERS + number)
            except JournalError:
                os._exit(3)  # the server went away: what was not acknowledged does not count
            except BaseException:
                import traceback

                traceback.print_exc()
                os._exit(4)
        writers.append(pid)
    os.close(writing)
    return writers, reading


def one_kill(url: str, seed: int, kill: Callable[[list[int]], None]) -> dict[str, str]:
    """Let the writers write for a random while, kill, and give what had been acknowledged: id → hash."""
    writers, pipe = started(url, seed)
    told = os.read(pipe, 65536)  # wait for the first one
    time.sleep(random.Random(seed).uniform(0, 0.15))
    kill(writers)
    for pid in writers:
        _, status = os.waitpid(pid, 0)
        if os.WIFEXITED(status) and os.WEXITSTATUS(status) == 4:
            raise SystemExit("A writer failed in a way that no kill explains.")
    while more := os.read(pipe, 65536):
        told += more
    os.close(pipe)
    whole = told[: told.rfind(b"\n") + 1].decode()
    return dict(line.split() for line in whole.splitlines())


def end_writers(writers: list[int]) -> None:
    """SIGKILL to each writer."""
    for pid in writers:
        os.kill(pid, signal.SIGKILL)


def look(url: str, told: dict[str, str]) -> tuple[int, bool, int]:
    """Acknowledged events that are lost, whether the chain is whole, and how many events there are."""
    store = Store(url)
    there = {e.id: e.hash for e in store.events()}
    found = verify(store)
    store.close()
    for fault in found.faults:
        print(f"  {fault.sentence()}")
    return sum(there.get(id_) != hash_ for id_, hash_ in told.items()), found.whole, len(there)


def run(kills: int, kind: str, seed: int) -> int:
    """So many kills of one kind; how many events were lost, and one more for a broken chain."""
    folder = Path(tempfile.mkdtemp(prefix="ew-kills-"))
    server = Cluster() if kind == "postgresql" else None
    url = server.fresh() if server else str(folder / "journal.sqlite")
    Store(url).close()
    told: dict[str, str] = {}
    lost, whole, events = 0, True, 0
    try:
        for number in range(kills):
            if server:
                told |= one_kill(url, seed + number, lambda writers: server.kill())
                server.start()
            else:
                told |= one_kill(url, seed + number, end_writers)
            lost, good, events = look(url, told)
            whole = whole and good
            if lost or not good:
                print(
                    f"  after kill {number + 1} (seed {seed + number}): {lost} lost, chain {'whole' if good else 'broken'}"
                )
    finally:
        if server:
            server.stop()
        for path in folder.iterdir():
            path.unlink()
        folder.rmdir()
    state = "whole after every kill" if whole else "BROKEN"
    print(
        f"{kind}: {kills} kills, {len(told)} acknowledged, {events} kept, {lost} acknowledged events lost, chain {state}"
    )
    return lost + (not whole)


if __name__ == "__main__":
    if {"-h", "--help"} & set(sys.argv[1:]):
        sys.exit(print(__doc__))
    asked = sys.argv[1:]
    kills = int(asked[0]) if asked else 5
    kinds = [asked[1]] if len(asked) > 1 else ["sqlite", *(["postgresql"] if BINARIES else [])]
    seed = int(asked[2]) if len(asked) > 2 else 1
    sys.exit(1 if sum(run(kills, kind, seed) for kind in kinds) else 0)
