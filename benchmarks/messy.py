#!/usr/bin/env python3
"""How loud the judging is over honest visits as busy people write them, and what it finds of faults planted in them.

    messy.py [SOUND [PLANTED]]     numbers of visits, 1000 and 480 unless given

1. Sound houses, messy entries: codes proposed (all of them false), findings of warning or above, and notes, a visit.
2. The same with one planted fault each, all families in turn: how often a code or a finding names it.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from invented.messy import FAULTS, messy

from earthwright.assess import assess
from earthwright.base.errors import Severity
from earthwright.outcomes.assessment import Assessment
from earthwright.report.observations import Proposed, propose
from earthwright.visitbook import read_text

CODES_AT_MOST, NOTES_AT_MOST = 0.02, 3.0


def judged(text: str) -> Assessment:
    """The visit of a text, judged."""
    book = read_text(text)
    if book.visit is None:
        sys.exit("\n".join(f.sentence() for f in book.findings))
    return assess(book.visit, found=book.findings, broken=book.broken)


def names(a: Assessment, proposals: tuple[Proposed, ...], pattern: str, code: bool) -> str:
    """How a fault was named: by a ``code``, a ``warning``, a ``note``, or ``missed``."""
    if any(p.code in ("C1", "C2", "FI") and re.search(pattern, p.what) for p in proposals):
        return "code"
    loud = {f.severity.value for f in a.findings if re.search(pattern, f.what) or re.search(pattern, f.where)}
    return "warning" if loud - {"note"} else "note" if loud else "missed"


def sound(count: int) -> tuple[float, float]:
    """Print the first table; codes and notes a visit."""
    codes: Counter[str] = Counter()
    loud: Counter[str] = Counter()
    notes: Counter[str] = Counter()
    for number in range(count):
        m = messy(number)
        assert m is not None  # without a fault every number has a visit
        a = judged(m.text())
        codes.update(f"{p.code} {p.name}" for p in propose(a))
        for f in a.findings:
            (notes if f.severity is Severity.NOTE else loud).update([f.family])
    print(f"{count} honest messy visits, a visit: codes {codes.total() / count:.3f}, warnings {loud.total() / count:.3f}, "
          f"notes {notes.total() / count:.2f}")  # fmt: skip
    for title, some in (("codes", codes), ("warnings", loud), ("notes", notes)):
        for name, n in some.most_common(12):
            print(f"  {title:9}{name:28}{n:7}{n / count:9.3f}")
    return codes.total() / count, notes.total() / count


def planted(count: int) -> None:
    """Print the second table."""
    caught: dict[str, Counter[str]] = {name: Counter() for name in FAULTS}
    number = 500_000
    while sum(c.total() for c in caught.values()) < count:
        name = list(FAULTS)[number % len(FAULTS)]
        m = messy(number, name)
        number += 1
        if m is not None:
            a = judged(m.text())
            caught[name][names(a, propose(a), *FAULTS[name][1:])] += 1
    print(f"\n{count} messy visits with one planted fault")
    print(f"  {'fault':24}{'visits':>7}{'code':>8}{'warning':>9}{'note':>7}{'missed':>8}")
    for name, c in caught.items():
        n = max(1, c.total())
        print(f"  {name:24}{c.total():7}" + "".join(
            f"{c[k] / n:{w}.0%}" for k, w in (("code", 8), ("warning", 9), ("note", 7), ("missed", 8))))  # fmt: skip


def main() -> None:
    """Print both tables; an error exit when sound visits are too loud."""
    if {"-h", "--help"} & set(sys.argv[1:]):
        sys.exit(print(__doc__))
    codes, notes = sound(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
    planted(int(sys.argv[2]) if len(sys.argv) > 2 else 480)
    if codes > CODES_AT_MOST or notes > NOTES_AT_MOST:
        sys.exit(f"More than {CODES_AT_MOST} codes or {NOTES_AT_MOST:g} notes a visit.")


if __name__ == "__main__":
    main()
