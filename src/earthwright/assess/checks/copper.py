"""Floors: digits that are lower than the copper itself can show, and zeros where copper forbids them."""

from __future__ import annotations

from ...base.errors import Finding
from ...base.quantity import Band
from ...site.events import CONDUCTOR
from . import chance
from .series import Series, SeriesReading

_MODEL = "With the length and size entered and every error at the edge of its limits"
# Tests in which no other metal can help: what is read is the conductor alone. R1+R2 has at least the line in it.
_ALONE = ("ring r1", "ring rn")


def below(series: Series) -> list[Finding]:
    """Conductors that read lower than their own copper allows, outside the limits of error."""
    found = []
    looked = [(row, band) for row in series.rows if (band := _copper(series, row)) is not None]
    for row, band in looked:
        if row.high >= band.low:
            continue
        zero = row.shown.digits <= 0
        if not zero and row.reading.test in _ALONE:
            continue  # a ring shorter than its estimate, or one bridged within itself: said with the ring
        found.append(_zero(row, band, len(looked)) if zero else _floor(row, band, len(looked)))
    return found


def _copper(series: Series, row: SeriesReading) -> Band | None:
    """The band of the conductor alone; None where other metal may answer too."""
    test = row.reading.test
    judged = next((b for b in series.bonds if b.bond.id == row.reading.of), None)
    if judged is not None:
        counts = any(x.reading is row.reading and x.used for x in judged.readings)
        return judged.expected[0].copper if test == CONDUCTOR and counts else None
    circuit = row.circuit
    if circuit is None or circuit.length_m is None or circuit.length_tol_m is None:
        return None  # an estimated length is no floor
    if test in _ALONE:
        return series.expected(row)
    if test == "r1r2" and circuit.line_mm2 is not None:
        line = series.per_m(circuit.material, circuit.line_mm2)
        if line is None:
            return None
        # Other metal may lie parallel to the cpc, never to the line; a ring's crossed legs are a quarter of it.
        share = 0.25 if circuit.kind == "ring" else 1.0
        metres = series.shortest(circuit) if circuit.stretches else max(0.0, circuit.length_m - circuit.length_tol_m)
        low = metres * line * share * series.visit.choices.assumptions.make_low
        return Band(low, max(low, 1e6), "Ω")
    return None


def _where(row: SeriesReading) -> str:
    return f"{'circuit' if row.circuit else 'bond'} {row.reading.of}, reading {row.reading.id}"


def _zero(row: SeriesReading, band: Band, looked: int) -> Finding:
    return _said(
        "copper.zero",
        row,
        band,
        looked,
        "Zero is shown where the copper alone is more than the display can miss.",
        "Hold the tips apart: over-range; together: 0.00; on a known resistor: its value. Then read again.",
        "The clips may have touched each other, a longer lead set may have been nulled, or the length may be entered too long.",
    )


def _floor(row: SeriesReading, band: Band, looked: int) -> Finding:
    return _said(
        "copper.floor",
        row,
        band,
        looked,
        "Lower than the copper alone can be, with nothing beside it that may help.",
        "See that the end is really off, that the tips shorted show 0.00, and measure the route again.",
        "The route may be shorter or the size larger than entered, the end may have stayed connected so that other metal "
        "answered, or too much was nulled.",
    )


def _said(family: str, row: SeriesReading, band: Band, looked: int, what: str, do: str, innocent: str) -> Finding:
    at_least, chances = (
        f"at least {band.low:.3f} Ω",
        chance.sentence(_MODEL, chance.corrected(0.0, looked), looked, "readings"),
    )
    return Finding.of(
        family, _where(row), what, row.reading.of, at_least, row.shown.as_shown, do, f"{innocent} {chances}"
    )
