"""One circuit's R1+R2 against its neighbours': a decade away is a point in the wrong place, or something at a terminal.

Where no length is entered, the lengths that the other readings stand for are what there is to compare with.
"""

from __future__ import annotations

import math
from statistics import median

from ...base.errors import Finding
from .series import Series, SeriesReading

LEAST = 4  # circuits with a length of their own, so that one odd among them is odd
DECADE = 8.0  # further than this from the median of the others [times]
LONGEST_M = 120.0  # a run in an ordinary building that needs no question [m]
SHORTEST_M = 2.0  # a run too short for a circuit [m]


def decade(series: Series) -> list[Finding]:
    """Circuits without a length whose R1+R2 stands for a run about ten times, or a tenth of, its neighbours'."""
    metres = {
        of: (row, m) for of, row in series.by_circuit("r1r2").items() if (m := _stands_for(series, row)) is not None
    }
    if len(metres) < LEAST:
        return []
    found = []
    for of, (row, m) in metres.items():
        circuit = row.circuit
        if circuit is None or circuit.length_m is not None:
            continue
        others = median(x for other, (_, x) in metres.items() if other != of)
        if others <= 0.0:
            continue
        away = m / others
        long, short = away >= DECADE and m > LONGEST_M, away <= 1.0 / DECADE and m < SHORTEST_M
        if long or short:
            found.append(_finding(row, m, others, len(metres) - 1))
    return found


def _stands_for(series: Series, row: SeriesReading) -> float | None:
    """The run that R1+R2 stands for by its sizes [m]; a ring's is four times as long."""
    c = row.circuit
    if c is None or c.line_mm2 is None or c.cpc_mm2 is None or c.cpc != "core" or c.stretches:
        return None
    line, cpc = series.per_m(c.material, c.line_mm2), series.per_m(c.material, c.cpc_mm2)
    if line is None or cpc is None or not math.isfinite(row.value):
        return None
    return max(0.0, row.value) / (line + cpc) * (4.0 if c.kind == "ring" else 1.0)


def _finding(row: SeriesReading, m: float, others: float, count: int) -> Finding:
    return Finding.of(
        "rows.sibling",
        f"circuit {row.reading.of}, R1+R2",
        f"It stands for a run of about {m:.3g} m; its {count} neighbours' stand for about {others:.2g} m.",
        row.reading.of,
        "a run like those beside it, or its length entered",
        row.shown.as_shown,
        "Look at the display or the notebook again, and read it once more; enter the length if the run really is so.",
        "A point in the wrong place does this, or another size than entered; else a poor joint on the way, or the leads that touched.",
    )
