"""Two phones and an office, random histories: ``python benchmarks/histories.py [HOW MANY] [FIRST SEED]``.

Each history: 40 things that somebody does (entries, corrections, strikes, photos, runs of questions cut before or after one
arrived, the phone's program ended), clocks that are hours or weeks wrong. At the end all three journals must hold the same
events in the same order and lead to the same findings; what was acknowledged must be there; every conflict must be named.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from sync.simulated import World, clashes, plain


def main(many: int = 200, first: int = 1000) -> int:
    """Run them; the exit code is how many failed."""
    began, said, bad = time.monotonic(), Counter[str](), 0
    for seed in range(first, first + many):
        with tempfile.TemporaryDirectory() as folder:
            world = World(Path(folder), random.Random(seed))
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
    print(
        f"{many} histories, {bad} failed, {time.monotonic() - began:.0f} s; "
        + ", ".join(f"{k} {v}" for k, v in said.items())
    )
    return bad


if __name__ == "__main__":
    sys.exit(min(main(*map(int, sys.argv[1:])), 1))
