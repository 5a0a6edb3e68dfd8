#!/usr/bin/env python3
"""False alarms and power of everything that is said about a visit.

    false_alarms.py [SOUND [PLANTED]]     numbers of visits, 2000 and 2000 unless given

1. Sound visits (random houses, errors inside the instrument's limits, normal pipework): findings of warning or above.
2. Visits with one planted blunder each, all families in turn: how often it is named, as a warning, or at least as a note.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from invented.blunders import BLUNDERS, spoilt
from invented.houses import house

from earthwright.assess import assess
from earthwright.errors import Finding, Severity

AT_MOST = 0.02


def sound(count: int) -> tuple[Counter[str], Counter[str], int]:
    """Alarms and notes by family over sound visits, and the number of visits with an alarm."""
    alarms: Counter[str] = Counter()
    notes: Counter[str] = Counter()
    with_alarm = 0
    for number in range(count):
        found = assess(house(number).visit()).findings
        loud = [f for f in found if f.severity.rank <= Severity.WARNING.rank]
        alarms.update(f.family for f in loud)
        notes.update({f.family for f in found} - {f.family for f in loud})
        with_alarm += bool(loud)
    return alarms, notes, with_alarm


def named(found: tuple[Finding, ...], families: tuple[str, ...]) -> str:
    """How a blunder was named: ``warning``, ``note``, ``other`` (a warning of another family) or ``missed``."""
    mine = [f.severity.rank for f in found if f.family in families]
    if mine and min(mine) <= Severity.WARNING.rank:
        return "warning"
    if any(f.severity.rank <= Severity.WARNING.rank for f in found):
        return "other"
    return "note" if mine else "missed"


def planted(count: int) -> dict[str, Counter[str]]:
    """For each family, how its blunders were named."""
    found: dict[str, Counter[str]] = {family: Counter() for family in BLUNDERS}
    number, names = 0, list(BLUNDERS)
    while sum(c.total() for c in found.values()) < count:
        family = names[number % len(names)]
        visit = spoilt(family, 100_000 + number)
        number += 1
        if visit is None:
            continue
        judged = assess(visit.visit, previous=visit.previous, today=visit.today)
        found[family][named(judged.findings, BLUNDERS[family][1])] += 1
    return found


def main() -> None:
    """Print both tables."""
    sound_count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    planted_count = int(sys.argv[2]) if len(sys.argv) > 2 else 2000
    began = time.monotonic()
    alarms, notes, with_alarm = sound(sound_count)
    per_visit = alarms.total() / max(1, sound_count)
    print(f"{sound_count} sound visits: {alarms.total()} findings of warning or above, {per_visit:.4f} a visit "
          f"(at most {AT_MOST}), {with_alarm} visits with any")  # fmt: skip
    for family, n in alarms.most_common():
        print(f"  {family:24} {n:6}  {n / sound_count:.4f}")
    print("notes, visits with one:", ", ".join(f"{family} {n}" for family, n in notes.most_common()))
    print(f"\n{planted_count} visits with one planted blunder")
    print(f"  {'family':26}{'visits':>7}{'named':>8}{'as note':>9}{'other':>7}{'missed':>8}")
    for family, c in planted(planted_count).items():
        n = max(1, c.total())
        shares = [c[k] / n for k in ("warning", "note", "other", "missed")]
        print(f"  {family:26}{c.total():7}{shares[0]:8.0%}{shares[1]:9.0%}{shares[2]:7.0%}{shares[3]:8.0%}")
    print(f"\n{time.monotonic() - began:.0f} s")
    if per_visit > AT_MOST:
        sys.exit(f"More than {AT_MOST} a visit.")


if __name__ == "__main__":
    main()
