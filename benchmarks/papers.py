"""How long the visit of a paper is looked for among very many issued papers, and what bringing a backup back costs.

    python benchmarks/papers.py [PAPERS]          the look-up of ``verify --journal``, by the index made at issue
    python benchmarks/papers.py restore FILE [VISITS …]   ``keep restore`` into PostgreSQL of the first visits of a journal

Prints, and asserts nothing.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent / "helpers"))
from cluster import Cluster

from earthwright.desk import Desk
from earthwright.desk.anchors import printed_from
from earthwright.records import Draft, Store
from earthwright.records.event import ISSUE

AT_ONCE = 5000
BOOK = '[visit]\nplace = "1 Sorrel Lane"\ndate = 2026-11-20\nkind = "periodic"\n[[step]]\ndo = "isolated"\n'


def fill(store: Store, first: int, count: int) -> None:
    """So many invented visits, each with its heading and one issued paper."""
    for begin in range(first, first + count, AT_ONCE):
        drafts = []
        for n in range(begin, min(begin + AT_ONCE, first + count)):
            visit, content = f"visit-{n:07d}", hashlib.sha256(str(n).encode()).hexdigest()
            issue = {"document": "condition report", "hash": content, "content": content}
            drafts.append(Draft(visit, "visit", {"date": "2026-11-20", "kind": "periodic"}, "J. Example"))
            drafts.append(Draft(visit, ISSUE, issue, "J. Example"))
        store.append(drafts)


def looked_up(papers: int) -> None:
    """The look-up, in a journal just opened each time."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.sqlite"
        desk = Desk(path)
        fill(desk.store, 0, papers // 2)
        visit = desk.take_in(BOOK, by="J. Example", visit_id="visit-asked")
        found = desk.record(visit)
        assert found is not None
        content, head = found.visit.paperwork.content, desk.store.head()
        desk.add(visit, ISSUE, {"document": "condition report", "hash": content, "content": content}, "J. Example")
        fill(desk.store, papers // 2, papers - papers // 2)
        desk.close()
        times = []
        for _ in range(5):
            began = time.perf_counter()
            desk = Desk(path)
            there = printed_from(desk, content, (), head)
            times.append(1e3 * (time.perf_counter() - began))
            desk.close()
            assert there is not None
            assert (there[0], there[2]) == (visit, ""), there
        size = path.stat().st_size / 1e6
        print(
            f"{papers} issued papers, {size:.0f} MB: found in {min(times):.1f} to {max(times):.1f} ms, opening the journal included"
        )


def brought_back(file: str, counts: list[int]) -> None:
    """``keep restore`` of the first visits of a journal."""
    source = Desk(file, create=False)
    visits = [v[0] for v in source.store.visits()]
    cluster = Cluster()
    try:
        for count in counts:
            with tempfile.TemporaryDirectory() as folder:
                part = Desk(Path(folder) / "part.sqlite")
                for visit in visits[:count]:
                    events = source.store.events(visit)
                    files = [source.content(str(e.body["hash"])) for e in events if e.kind in ("file", "photo")]
                    part.add_all([Draft(e.visit, e.kind, e.body, e.by, e.id, e.at) for e in events], contents=files)
                part.backup(Path(folder) / "backup.sqlite")
                part.close()
                desk = Desk(cluster.fresh())
                began, busy = time.perf_counter(), time.process_time()
                events = desk.restore(Path(folder) / "backup.sqlite")
                took, busy = time.perf_counter() - began, time.process_time() - busy
                print(
                    f"{count} visits, {events} events: {took:.1f} s, of it {busy:.1f} s of this process; "
                    f"{1e3 * took / events:.2f} ms an event; load {os.getloadavg()[0]:.0f}"
                )
                desk.close()
    finally:
        cluster.stop()


if __name__ == "__main__":
    if sys.argv[1:2] == ["restore"]:
        brought_back(sys.argv[2], [int(x) for x in sys.argv[3:]] or [500, 1000, 2000])
    else:
        looked_up(int(sys.argv[1]) if len(sys.argv) > 1 else 300_000)
