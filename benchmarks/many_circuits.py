"""A works of 200 circuits on 10 boards: time to read, to judge, to write as a table, to fill in; memory.

Run: python benchmarks/many_circuits.py. Prints medians and ratios and asserts nothing: a busy machine is no fault of the
program. The yardstick of reading is the standard library's TOML reader alone; the yardstick of judging is reading.
"""

from __future__ import annotations

import importlib.util
import resource
import statistics
import sys
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

from earthwright.assess import assess
from earthwright.schedule import as_csv, fill, read_sheet
from earthwright.visitbook import read_text

BOARDS, CIRCUITS, ROUNDS = 10, 20, 5


def works(boards: int, circuits: int) -> str:
    """The invented works that the tests use as well."""
    path = Path(__file__).parents[1] / "tests" / "visits" / "many.py"
    spec = importlib.util.spec_from_file_location("many", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return str(module.many(boards, circuits))


def median_ms(call: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Median processor time of a call in milliseconds, the first one left out."""
    call()
    times = []
    for _ in range(rounds):
        start = time.process_time()
        call()
        times.append(time.process_time() - start)
    return statistics.median(times) * 1000


def main() -> None:
    """Print the medians, the ratios and the memory."""
    text = works(BOARDS, CIRCUITS)
    book = read_text(text)
    visit = book.visit
    assert visit is not None
    toml_ms = median_ms(lambda: tomllib.loads(text))
    read_ms = median_ms(lambda: read_text(text))
    judge_ms = median_ms(lambda: assess(visit, found=book.findings, broken=book.broken))
    table = as_csv(visit)
    table_ms = median_ms(lambda: as_csv(visit))
    fill_ms = median_ms(lambda: fill(text, read_sheet(table.encode())))
    small = works(1, CIRCUITS)
    small_book = read_text(small)
    assert small_book.visit is not None
    small_visit = small_book.visit
    small_ms = median_ms(lambda: assess(small_visit))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    circuits, events = len(visit.site.circuits), len(visit.events)
    print(
        f"python {sys.version.split()[0]}; {circuits} circuits on {BOARDS} boards, {events} events, {len(text)} characters"
    )
    print(f"  TOML alone     {toml_ms:8.1f} ms")
    print(f"  read           {read_ms:8.1f} ms  ratio to TOML {read_ms / toml_ms:.1f}")
    print(f"  judge          {judge_ms:8.1f} ms  ratio to read {judge_ms / read_ms:.1f}  (aim: at most 500 ms)")
    print(f"  judge, 1 board {small_ms:8.1f} ms  ten boards take {judge_ms / small_ms:.1f} times as long")
    print(f"  as a table     {table_ms:8.1f} ms")
    print(f"  table filled   {fill_ms:8.1f} ms")
    print(f"  memory         {peak:8.0f} MB at the highest  (aim: at most 100 MB)")


if __name__ == "__main__":
    main()
