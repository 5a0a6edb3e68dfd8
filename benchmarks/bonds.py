"""One bond with three readings, the demo visit, its PDF and the whole command: medians, peak memory, ratios to a yardstick.

Run: python benchmarks/bonds.py. Prints and asserts nothing: a busy machine is no fault of the program. The yardstick is
one million additions in a loop of the same run, so that ratios can be compared between machines.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from earthwright.assess import assess, bond
from earthwright.desk.demo import visit_text
from earthwright.paper.pdf import bonding_record
from earthwright.visitbook import read_text

ROUNDS = 15
DEMO = Path(__file__).parents[1] / "src" / "earthwright" / "desk" / "demo" / "visit.toml"
CONTROL = Path(__file__).parents[1] / "tests" / "visits" / "00-control.toml"


def median_ms(do: Callable[[], object], rounds: int = ROUNDS, clock: Callable[[], float] = time.process_time) -> float:
    """Median time of a call [ms] after one that is not counted; processor time unless another clock is given."""
    do()
    times = []
    for _ in range(rounds):
        began = clock()
        do()
        times.append((clock() - began) * 1000)
    return statistics.median(times)


def _yardstick() -> int:
    total = 0
    for number in range(1_000_000):
        total += number
    return total


def _read(text: str) -> object:
    bond.weighed.cache_clear()  # the same bond is not to be weighed once and then looked up
    book = read_text(text)
    assert book.visit is not None
    return assess(book.visit)


def _command(*arguments: str) -> None:
    subprocess.run([sys.executable, "-m", "earthwright", *arguments], check=False, capture_output=True)


def _peak_mb(*arguments: str) -> float:
    """Peak memory of a command [MB], asked by a small process, since a child begins with the size of its parent."""
    ask = (
        "import resource, subprocess, sys\n"
        "subprocess.run([sys.executable, '-m', 'earthwright', *sys.argv[1:]], capture_output=True)\n"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)"
    )
    done = subprocess.run([sys.executable, "-c", ask, *arguments], capture_output=True, text=True, check=True)
    return float(done.stdout)


def main() -> None:
    """Prints the table."""
    peak = _peak_mb("judge", str(DEMO))
    one, demo = CONTROL.read_text(encoding="utf-8"), visit_text()
    judged = assess(read_text(demo).visit)  # type: ignore[arg-type]
    yard = median_ms(_yardstick, 5)
    rows = [
        ("one bond, three readings and a joint, judged", median_ms(lambda: _read(one)), 20),
        ("demo visit of three bonds, read and judged", median_ms(lambda: _read(demo)), 60),
        ("bonding record as PDF, warm", median_ms(lambda: bonding_record(judged), 5), 600),
        ("whole judge process", median_ms(lambda: _command("judge", str(DEMO)), 5, time.perf_counter), 400),
    ]
    print(f"yardstick, a million additions: {yard:.1f} ms")
    print(f"{'':48} {'median':>9} {'yardsticks':>11} {'wished':>9}")
    for name, took, wished in rows:
        print(f"{name:48} {took:6.1f} ms {took / yard:11.2f} {wished:6} ms")
    print(f"peak memory of the judge process: {peak:.0f} MB (wished: 60 MB)")


if __name__ == "__main__":
    main()
