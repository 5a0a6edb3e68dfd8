"""Rows that fit to the digit: R1+R2 equal to Zs − Ze row after row, and size ratios that are exact every time."""

from __future__ import annotations

from attrs import frozen

from ...base.errors import Finding
from ...site.installation import Circuit
from . import chance
from .series import Series, SeriesReading, severity_of

CALCULATED = "calculated"
# A loop reading is good to a few digits, and temperature, contacts and other paths come on top, so an honest row meets
# its sum to the digit at most one time in three. Meters that read perfectly would still differ by rounding.
SAME_DIGIT = 1.0 / 3.0
RAGGED = "Readings of three different things, each good to a few digits, meet to the digit one time in three at the most; if so"


def from_the_loop(series: Series) -> list[Finding]:
    """R1+R2 that is Zs less the loop impedance of the board, to the digit, on more rows than chance allows."""
    found = []
    zs, r1r2 = series.by_circuit("zs"), series.by_circuit("r1r2")
    boards: dict[tuple[str, str], list[tuple[Circuit, SeriesReading, SeriesReading, SeriesReading]]] = {}
    for circuit in series.visit.site.circuits:
        if circuit.id not in zs or circuit.id not in r1r2:
            continue
        rows = (zs[circuit.id], r1r2[circuit.id])
        if any(CALCULATED in r.reading.method for r in rows):
            continue
        for start in series.starts_of(circuit):
            boards.setdefault((circuit.board, start.reading.of), []).append((circuit, *rows, start))
    for (board, _), some in boards.items():
        exact = [c for c, z, r, start in some if abs(z.value - start.value - r.value) < r.accuracy.step / 2.0]
        p = chance.corrected(chance.at_least(len(exact), [SAME_DIGIT] * len(some)), len(boards))
        severity = severity_of(p)
        if severity is None:
            continue
        found.append(
            Finding(
                f"board {board}",
                f"On {len(exact)} of {len(some)} circuits R1+R2 is Zs less {some[0][3].shown.as_shown}, to the last digit.",
                severity,
                "rows.calculated",
                board,
                "rows that agree within the limits of error, and not to the digit",
                ", ".join(c.id for c in exact[:8]) + (" …" if len(exact) > 8 else ""),
                "Say which of the two was measured; enter the other with the method 'calculated', or read it.",
                "Working one out from the other is allowed in places, if it is said; a form may have filled a column in by itself. "
                + chance.sentence(RAGGED, p, len(boards), "boards"),
            )
        )
    return found


def exact_ratios(series: Series) -> list[Finding]:
    """R2 that is R1 times the ratio of the sizes, to the digit, on more rows than chance allows.

    A row may have been worked out from either of its two values, so both ways are tried and allowed for.
    """
    pairs = _pairs(series)
    if not pairs:
        return []
    # Real conductors differ by their make, each its own; the digits spread over both that and their error.
    apart = 1.0 - series.visit.choices.assumptions.make_low
    chances = [1.0 / max(3.0, apart * p.second / p.step) for p in pairs]
    forward = [p.circuit for p in pairs if abs(p.second - p.from_first) <= 0.5 * p.step + 1e-9]
    backward = [p.circuit for p in pairs if abs(p.first - p.from_second) <= 0.5 * p.step + 1e-9]
    exact = max(forward, backward, key=len)
    p = chance.corrected(chance.at_least(len(exact), chances), 2)
    severity = severity_of(p)
    if severity is None:
        return []
    return [
        Finding(
            "circuits",
            f"On {len(exact)} of {len(pairs)} circuits R2 is R1 times the ratio of the sizes, to the last digit.",
            severity,
            "rows.ratio",
            "",
            "ratios near that of the sizes, a few per cent to either side",
            ", ".join(c.id for c in exact[:8]) + (" …" if len(exact) > 8 else ""),
            "Say which of the two was measured; enter the other with the method 'calculated', or read it.",
            "One may have been worked out from the other to fill the row. "
            + chance.sentence("Conductors differ by a few per cent, each for itself; if so", p, 2, "ways"),
        )
    ]


@frozen
class _Pair:
    """Two entries of a circuit, and what each would be if it were worked out from the other by the ratio of the sizes."""

    circuit: Circuit
    first: float
    second: float
    from_first: float
    from_second: float
    step: float


def _pairs(series: Series) -> list[_Pair]:
    """Rings: r1 and r2 end to end. Radials: R1+R2 and R2. Sizes that are equal agree often enough and are left out."""
    found = []
    tests = {t: series.by_circuit(t) for t in ("ring r1", "ring r2", "r1r2", "r2")}
    for c in series.visit.site.circuits:
        if c.line_mm2 is None or c.cpc_mm2 is None or c.line_mm2 <= c.cpc_mm2 or c.stretches:
            continue
        ratio = c.line_mm2 / c.cpc_mm2
        for one, other in (("ring r1", "ring r2"), ("r1r2", "r2")):
            a, b = tests[one].get(c.id), tests[other].get(c.id)
            if a is None or b is None or CALCULATED in (a.reading.method, b.reading.method):
                continue
            share = ratio if one == "ring r1" else ratio / (1.0 + ratio)
            found.append(_Pair(c, a.value, b.value, a.value * share, b.value / share, b.accuracy.step))
    return found
