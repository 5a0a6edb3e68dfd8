"""Units that were read as another: milliseconds and seconds, kiloamperes and amperes, values no display reaches."""

from __future__ import annotations

from ...base.errors import Finding
from .series import Series, SeriesReading

# No residual current device opens within 2 ms of an alternating residual current: that is a tenth of a cycle.
FASTEST_MS = 2.0
# Above this a low-voltage service would need a loop of a few milliohms.
LARGEST_KA = 100.0
SMALLEST_KA = 0.005
TRIPS = ("", "x1", "x5", "250 mA")


def slips(series: Series) -> list[Finding]:
    """Values that the unit of their column cannot hold."""
    found = []
    for row in series.rows:
        test, value = row.reading.test, row.value
        if test == "rcd" and 0.0 < value < FASTEST_MS and row.reading.method in TRIPS:
            found.append(_finding(row, "No residual current device opens so fast.", "several ms at least", "seconds"))
        elif test == "fault current" and value > LARGEST_KA:
            found.append(_finding(row, "No low-voltage service has such a fault current.", "at most 100 kA", "amperes"))
        elif test == "fault current" and 0.0 < value < SMALLEST_KA:
            found.append(_finding(row, "No service has so little fault current.", "at least 0.005 kA", "megaamperes"))
        elif row.accuracy.stated and value > row.accuracy.top * (1.0 + 1e-9):
            top = f"at most {row.accuracy.top:g} {row.shown.unit}"
            found.append(_finding(row, "The instrument's range ends below this.", top, "a smaller unit"))
    return found


def _finding(row: SeriesReading, what: str, expected: str, other: str) -> Finding:
    return Finding.of(
        "units.slip",
        f"{row.name}, {row.reading.test}",
        what,
        row.reading.of,
        expected,
        row.shown.as_shown,
        f"Look at the unit on the display: the digits may be {other}. Enter them with that unit.",
        "The unit on the display changes by itself with the range, and a column has only one. No honest reading shows this.",
    )


def insulation(series: Series) -> list[Finding]:
    """An insulation value a thousand times below its neighbours: a fault, or kΩ and MΩ exchanged."""
    rows = series.of_test("insulation")
    found = []
    for row in rows:
        others = [r.value for r in rows if r is not row]
        near = [v for v in others if 300.0 <= v / row.value <= 3000.0] if row.value > 0.0 else []
        if row.value >= 1.0 or len(near) < 3 or len(near) < len(others) / 2.0:
            continue
        found.append(
            Finding.of(
                "units.insulation",
                f"{row.name}, insulation",
                "About a thousandth of what the other circuits show.",
                row.reading.of,
                f"{min(near):g} to {max(near):g} MΩ elsewhere",
                row.shown.as_shown,
                "See whether the display showed kΩ, MΩ or GΩ, and read it again; then look for the fault.",
                "A unit read as another looks like this, and so does one circuit with a fault.",
            )
        )
    return found
