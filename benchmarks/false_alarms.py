#!/usr/bin/env python3
"""False alarms and power of everything that is said about a visit.

    false_alarms.py [SOUND [PLANTED]]     numbers of visits, 2000 and 2000 unless given

1. Sound visits (random houses, errors inside the instrument's limits, normal pipework, the last visit beside them): findings of warning or above.
2. Visits with one planted blunder each, all families in turn: how often it is named, as a warning, or at least as a note.
"""

from __future__ import annotations

import os
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from invented.blunders import BLUNDERS, spoilt
from invented.houses import DATE, again, house

from earthwright.assess import assess, bond
from earthwright.base.errors import Finding, Severity
from earthwright.evidence.worth import Worth

AT_MOST = 0.02
# What a further reading would be worth takes half the time and says nothing about findings.
bond.worth = lambda _bond, _evidence, test, _display, **_: Worth(test, 0.0, 0.0, 0.0)  # type: ignore[attr-defined]


def one_sound(number: int) -> tuple[list[str], list[str]]:
    """Families of the alarms of one sound visit, each as often as it speaks, and of its notes."""
    h = house(number)
    found = assess(h.visit(), previous=again(h), today=DATE).findings
    loud = [f.family for f in found if f.severity.rank <= Severity.WARNING.rank]
    return loud, sorted({f.family for f in found} - set(loud))


def named(found: tuple[Finding, ...], families: tuple[str, ...]) -> str:
    """How a blunder was named: ``warning``, ``note``, ``other`` (a warning of another family) or ``missed``."""
    mine = [f.severity.rank for f in found if f.family in families]
    if mine and min(mine) <= Severity.WARNING.rank:
        return "warning"
    if any(f.severity.rank <= Severity.WARNING.rank for f in found):
        return "other"
    return "note" if mine else "missed"


def one_planted(number: int) -> tuple[str, str]:
    """A blunder of the next family in turn and how it was named; empty when the house had no place for it."""
    family = list(BLUNDERS)[number % len(BLUNDERS)]
    visit = spoilt(family, 100_000 + number)
    if visit is None:
        return family, ""
    judged = assess(visit.visit, previous=visit.previous, today=visit.today)
    return family, named(judged.findings, BLUNDERS[family][1])


def main() -> None:
    """Print both tables."""
    if {"-h", "--help"} & set(sys.argv[1:]):
        sys.exit(print(__doc__))
    sound_count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    planted_count = int(sys.argv[2]) if len(sys.argv) > 2 else 2000
    began = time.monotonic()
    alarms: Counter[str] = Counter()
    notes: Counter[str] = Counter()
    caught: dict[str, Counter[str]] = {family: Counter() for family in BLUNDERS}
    with_alarm = 0
    with ProcessPoolExecutor(max(1, (os.cpu_count() or 2) // 2)) as pool:
        for loud, quiet in pool.map(one_sound, range(sound_count), chunksize=20):
            alarms.update(loud)
            notes.update(quiet)
            with_alarm += bool(loud)
        per_visit = alarms.total() / max(1, sound_count)
        print(f"{sound_count} sound visits: {alarms.total()} findings of warning or above, {per_visit:.4f} a visit "
              f"(at most {AT_MOST}), {with_alarm} visits with any", flush=True)  # fmt: skip
        for family, n in alarms.most_common():
            print(f"  {family:24} {n:6}  {n / sound_count:.4f}")
        print("notes, visits with one:", ", ".join(f"{family} {n}" for family, n in notes.most_common()), flush=True)
        # Some houses have no place for the blunder of their turn, so a few more are made and the first ones taken.
        for family, how in pool.map(one_planted, range(planted_count * 3 // 2), chunksize=20):
            if how and sum(c.total() for c in caught.values()) < planted_count:
                caught[family][how] += 1
    print(f"\n{sum(c.total() for c in caught.values())} visits with one planted blunder")
    print(f"  {'family':26}{'visits':>7}{'named':>8}{'as note':>9}{'other':>7}{'missed':>8}")
    for family, c in caught.items():
        n = max(1, c.total())
        shares = [c[k] / n for k in ("warning", "note", "other", "missed")]
        print(f"  {family:26}{c.total():7}{shares[0]:8.0%}{shares[1]:9.0%}{shares[2]:7.0%}{shares[3]:8.0%}")
    print(f"\n{time.monotonic() - began:.0f} s")
    if per_visit > AT_MOST:
        sys.exit(f"More than {AT_MOST} a visit.")


if __name__ == "__main__":
    main()
