"""What digits do when nobody reads them: runs of equal values, and a last digit that is liked."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

from ...base.errors import Finding
from . import chance
from .series import Series, SeriesReading, inside, severity_of

# Two circuits alike in every way still meet to the digit one time in three at most: contacts, temperature, rounding.
SAME = 1.0 / 3.0
# Where the bands of two neighbours do not even touch, honest readings of both hardly ever show the same digits.
APART = 0.01
# Opening times of devices of one type scatter over milliseconds, and the display shows tenths.
SAME_MS = 0.1
# A digit is free when the value is so many digits large; below that the copper decides it.
FREE_FROM = 20
LIKED = 0.15  # share of one last digit that is still granted, where a tenth would be even
ENOUGH = 30


def runs(series: Series) -> list[Finding]:
    """The same digits on row after row of one column, on circuits that have no reason to be alike."""
    found = []
    columns = {t: _column(series, t) for t in ("zs", "r1r2", "rcd")}
    looked = sum(1 for rows in columns.values() if len(rows) > 2)
    for test, rows in columns.items():
        if len(rows) < 3:
            continue
        chances = [_same(series, a, b) for a, b in pairwise(rows)]
        start, length = _longest(rows)
        run = rows[start : start + length]
        p = chance.corrected(chance.run_of(length, chances), looked)
        severity = severity_of(p)
        if severity is None:
            continue
        found.append(
            Finding(
                f"{test}, {run[0].name} to {run[-1].name}",
                f"{length} rows in a row show {run[0].shown.as_shown}.",
                severity,
                "rows.run",
                run[0].reading.of,
                "readings that are ragged",
                f"{run[0].shown.as_shown}, {length} of {len(rows)} rows",
                "Read two or three of them again, with the far ones among them.",
                "One value may have been carried down a column, a device shared by several circuits entered for each of them, or "
                "the circuits may be built alike. "
                + chance.sentence(
                    "Neighbours meet to the digit one time in three at the most; if so", p, looked, "columns"
                ),
            )
        )
    return found


def _column(series: Series, test: str) -> list[SeriesReading]:
    """One value for each circuit in the order of the readings; a device that several circuits share stands for none."""
    rows = [r for r in series.by_circuit(test).values() if r.value > 0.0]
    if test == "rcd":
        rows = [r for r in rows if r.circuit is not None and r.circuit.device.rcd_ma is not None]
    return sorted(rows, key=lambda r: r.reading.seq)


def _same(series: Series, a: SeriesReading, b: SeriesReading) -> float:
    if a.reading.test == "rcd":
        return SAME_MS
    if a.reading.test == "zs":
        return _same_loop(series, a, b)
    band_a, band_b = series.expected(a), series.expected(b)
    if band_a is not None and band_b is not None and not (inside(a, band_b) and inside(b, band_a)):
        return APART
    return SAME


def _same_loop(series: Series, a: SeriesReading, b: SeriesReading) -> float:
    """Loops of two circuits whose R1+R2 lie further apart than all errors together are not alike."""
    r1r2 = series.by_circuit("r1r2")
    one, other = (r1r2.get(x.circuit.id if x.circuit else "") for x in (a, b))
    if one is None or other is None:
        return SAME
    return APART if abs(one.value - other.value) > one.slack + other.slack + a.slack + b.slack else SAME


def _longest(rows: list[SeriesReading]) -> tuple[int, int]:
    best, start = (0, 1), 0
    for i in range(1, len(rows) + 1):
        if i == len(rows) or rows[i].shown.digits != rows[start].shown.digits:
            if i - start > best[1]:
                best = (start, i - start)
            start = i
    return best


def last_digits(series: Series) -> list[Finding]:
    """One last digit far more often than a display shows it, over all readings of the visit large enough to be free."""
    digits = [
        int(abs(r.shown.digits) / r.shown.step) % 10
        for r in series.rows
        if float(r.shown.step) <= r.accuracy.step * 1.0001 and r.shown.value >= FREE_FROM * r.accuracy.step
    ]
    if len(digits) < ENOUGH:
        return []
    digit, count = Counter(digits).most_common(1)[0]
    p = chance.corrected(chance.at_least(count, [LIKED] * len(digits)), 10)
    severity = severity_of(p)
    if severity is None:
        return []
    return [
        Finding(
            "readings",
            f"{count} of {len(digits)} readings end in {digit}.",
            severity,
            "digits.liked",
            "",
            f"about {len(digits) / 10:.0f}",
            str(count),
            "Enter the digits as displayed, or say what they were rounded to.",
            "Values rounded in the notebook, or a display that counts in steps of two or five, do this. "
            + chance.sentence(
                "A last digit is free; granting one of them as much as 15 readings in 100", p, 10, "digits"
            ),
        )
    ]
