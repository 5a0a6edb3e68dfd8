"""The same thing read twice: digits that spread, and a forward reading that differs from the reversed one."""

from __future__ import annotations

from collections.abc import Sequence

from ...base.errors import Finding
from ...site.events import CLAMP_BODY, PATH, TOGETHER
from ...site.tests import BY_LEADS
from . import chance
from .series import Series, SeriesReading, key_of

FORWARD, REVERSE = "forward", "reverse"
# Joint and conductor of a bond are looked at together, where a moving contact is named; loops with the loop. Insulation,
# soil and opening times move by themselves.
REPEATABLE = (PATH, TOGETHER, CLAMP_BODY, *BY_LEADS)
_MODEL = "If nothing moved and every error stayed inside its limits"


def spread(series: Series) -> list[Finding]:
    """Repeats in one go that lie further apart than the limits of error allow."""
    groups: dict[tuple[object, ...], list[SeriesReading]] = {}
    for row in series.rows:
        if row.reading.test in REPEATABLE:
            groups.setdefault(
                (*key_of(row.reading), row.reading.instrument, series.handled[row.reading.seq]), []
            ).append(row)
    looked = [rows for rows in groups.values() if len(rows) > 1]
    found = []
    for rows in looked:
        values = [r.value for r in rows]
        if max(values) - min(values) <= most_apart(rows) + 1e-9:
            continue
        p = chance.corrected(0.0, len(looked))
        found.append(
            Finding.of(
                "repeat.spread",
                f"{rows[0].name}, {rows[0].reading.test}",
                "Repeats of the same reading lie further apart than the instrument's limits of error.",
                rows[0].reading.of,
                f"within {most_apart(rows):.2g} {rows[0].shown.unit} of each other",
                ", ".join(r.shown.as_shown for r in rows),
                "Say what changed between them (state, point, leads, load), or hold the tips firmly and read again.",
                "A probe that was not held still, a load that switched, or a reading of another point does this. "
                + chance.sentence(_MODEL, p, len(looked), "repeated readings"),
            )
        )
    return found


def reversed_differs(series: Series) -> list[Finding]:
    """Forward and reversed readings of one thing that differ: a voltage of its own stands in the circuit."""
    groups: dict[tuple[object, ...], dict[str, SeriesReading]] = {}
    for row in series.rows:
        if row.reading.method in (FORWARD, REVERSE):
            groups.setdefault(key_of(row.reading)[:-1], {})[row.reading.method] = row
    both = [g for g in groups.values() if len(g) == 2]
    found = []
    for pair in both:
        one, other = pair[FORWARD], pair[REVERSE]
        if abs(one.value - other.value) <= most_apart((one, other)) + 1e-9:
            continue
        p = chance.corrected(0.0, len(both))
        found.append(
            Finding.of(
                "repeat.reversed",
                f"{one.name}, {one.reading.test}",
                "Forward and reversed readings differ: something besides resistance is in the circuit.",
                one.reading.of,
                f"within {most_apart((one, other)):.2g} {one.shown.unit} of each other",
                f"{one.shown.as_shown} forward, {other.shown.as_shown} reversed",
                "Look for current with the clamp meter and for a small direct voltage; the mean of the two is nearer the truth.",
                "Copper and steel in the damp make a small voltage of their own; current from a neighbour's neutral does it too. "
                + chance.sentence(_MODEL, p, len(both), "pairs"),
            )
        )
    return found


def most_apart(rows: Sequence[SeriesReading]) -> float:
    """How far apart honest readings of one resistance may lie: twice the digits, the rounding, and the scale on both."""
    accuracy = rows[0].accuracy
    step = max(accuracy.step, *(float(r.shown.step) for r in rows))
    mean = sum(abs(r.shown.value) for r in rows) / len(rows)
    return (2.0 * accuracy.digits + 1.0) * step + 2.0 * mean * accuracy.pct / 100.0
