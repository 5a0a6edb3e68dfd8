"""How long documents take: a condition report of 60 circuits and 14 observations, as a ratio to the first one and to a page.

Run: ./run bench documents
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "paper"))

import made

from earthwright.paper.documents import make_document, missing_fields

CIRCUITS, OBSERVATIONS, FAILING, ROUNDS = 60, 14, 5, 5


def seconds(work: Callable[[], object], clock: Callable[[], float] = time.process_time) -> float:
    """Median of a few rounds [s]; of the processor unless another clock is given, so that a busy machine does not count."""
    taken = []
    for _ in range(ROUNDS):
        began = clock()
        work()
        taken.append(clock() - began)
    return statistics.median(taken)


def main() -> None:
    """Print what each document takes and how large it is."""
    jobs = [
        made.job(CIRCUITS, OBSERVATIONS, FAILING, text=made.BOOK.replace("Quillet", f"Quillet {i}"))
        for i in range(2 * ROUNDS + 1)
    ]
    began = time.process_time()
    first = make_document(jobs[-1], "condition report", book=made.BOOK)
    cold = time.process_time() - began
    again = iter(jobs[:-1])
    warm = seconds(lambda: make_document(next(again), "condition report", book=made.BOOK))
    wall = seconds(lambda: make_document(next(again), "condition report", book=made.BOOK), time.perf_counter)
    letter = seconds(lambda: make_document(jobs[0], "letter", book=made.BOOK))
    same = make_document(jobs[-1], "condition report", book=made.BOOK) == first
    asked = seconds(lambda: missing_fields(jobs[0], "condition report"))
    print(f"Condition report, {CIRCUITS} circuits, {OBSERVATIONS} observations, new data each time")
    print(
        f"  warm {warm:.2f} s of the processor, {wall:.2f} s by the clock (at most 1 s wanted); first one {cold / warm:.1f} times that; a letter {letter / warm:.2f} times"
    )
    print(f"  what is missing is asked in {asked / warm:.2f} of it")
    print(
        f"  {len(first) / 1e6:.2f} MB with the record inside (at most 1 MB wanted); same bytes twice: {'yes' if same else 'NO'}"
    )
    sheet = make_document(jobs[0], "evidence sheet", book=made.BOOK)
    print(f"Evidence sheet of the same: {len(sheet) / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
