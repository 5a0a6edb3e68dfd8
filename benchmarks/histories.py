"""Two phones and an office, random histories: ``python benchmarks/histories.py [HOW MANY] [FIRST SEED] [sqlite|postgresql]``.

Each history: 40 things that somebody does (entries, corrections, strikes, photos, runs of questions cut before or after one
arrived, the phone's program ended), clocks that are hours or weeks wrong. At the end all three journals must hold the same
events in the same order and lead to the same findings; what was acknowledged must be there; every conflict must be named.
With ``postgresql`` the office's journal is in a throw-away server of that.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from helpers.cluster import Cluster
from sync.simulated import World, clashes, plain


def main(many: int = 200, first: int = 1000, database: str = "sqlite") -> int:
    """Run them; the exit code is how many failed."""
    cluster = Cluster() if database == "postgresql" else None
    try:
        return _all(many, first, cluster)
    finally:
        if cluster is not None:
            cluster.stop()


def _all(many: int, first: int, cluster: Cluster | None) -> int:
    began, said, bad = time.monotonic(), Counter[str](), 0
    for seed in range(first, first + many):
        with tempfile.TemporaryDirectory() as folder:
            world = World(Path(folder), random.Random(seed), cluster.fresh() if cluster else "")
            for _ in range(40):
                world.act()
            world.settle()
            office, *phones = world.everywhere()
            ids = [e.id for e in office.events]
            named = {e.id for e in office.entries if e.rivals}
            faults = [
                name
                for name, good in {
                    "lost": not set(world.told) - set(ids),
                    "twice": len(set(ids)) == len(ids),
                    "events": all([plain(e) for e in p.events] == [plain(e) for e in office.events] for p in phones),
                    "findings": all(p.book.findings == office.book.findings for p in phones),
                    "conflicts": named == clashes(office.events),
                    "chain": all(d.verify().whole for d in (world.office, *world.phones)),
                }.items()
                if not good
            ]
            said.update(
                {"events": len(ids), "cuts": world.cuts, "conflicts": len(named), "acknowledged": len(world.told)}
            )
            said["readings with something off elsewhere"] += sum(bool(e.mixed) for e in office.entries)
            said["clocks wrong"] += sum(a != 0 for a in world.ahead_s)
            if faults:
                bad += 1
                print(f"seed {seed}: {', '.join(faults)}", flush=True)
            world.close()
    where = "PostgreSQL" if cluster else "SQLite"
    print(
        f"{many} histories from seed {first}, office in {where}, {bad} failed, {time.monotonic() - began:.0f} s; "
        + ", ".join(f"{k} {v}" for k, v in said.items())
    )
    return bad


if __name__ == "__main__":
    sys.exit(min(main(*map(int, sys.argv[1:3]), *sys.argv[3:]), 1))
