"""Rows that do not fit where they stand: two that fit when exchanged, and digits with the point in the wrong place."""

from __future__ import annotations

import math
from decimal import Decimal
from itertools import combinations

from attrs import evolve, frozen

from ...base.errors import Finding, Severity
from ...base.quantity import Band
from ...site.events import CONDUCTOR
from ...site.tests import CPC, ENDS
from . import chance
from .series import Series, SeriesReading, inside

# Where a value that is wrong for some other reason would fall: anywhere between these, by its logarithm.
_ANYWHERE = (0.01, 100.0)
_FACTORS = (10.0, 0.1, 1000.0, 0.001)
# Above this chance of fitting by accident a moved point is only worth a remark.
_TELLING = 0.1


@frozen
class Placed:
    """A row with the band it should lie in, and what that band rests on."""

    row: SeriesReading
    band: Band
    rests_on: str

    def fits(self, other: SeriesReading) -> bool:
        """Whether another row's digits would fit here."""
        return inside(other, self.band)

    @property
    def share(self) -> float:
        """Chance that a value which is wrong for some other reason fits here by accident."""
        edge = (self.row.accuracy.digits + 0.5) * self.row.accuracy.step + (self.row.lead[1] - self.row.lead[0]) / 2.0
        low = max(_ANYWHERE[0], self.band.low - edge)
        high = min(_ANYWHERE[1], max(low, self.band.high + edge))
        return max(0.001, math.log(high / low) / math.log(_ANYWHERE[1] / _ANYWHERE[0]))


def placed(series: Series) -> dict[str, list[Placed]]:
    """By test, the rows for which the site or another reading gives a band. Repeats that move are left out."""
    return series.once(_placed)


def _placed(series: Series) -> dict[str, list[Placed]]:
    found: dict[str, list[Placed]] = {}
    unsteady = _unsteady(series)
    for test in (CONDUCTOR, *ENDS, *CPC):
        for row in series.of_test(test):
            band = series.expected(row)
            if band is not None and row.reading.of not in unsteady and _counts(series, row):
                found.setdefault(test, []).append(Placed(row, band, "length and size"))
    for test in ("r1r2", "zs"):
        other = series.by_circuit("zs" if test == "r1r2" else "r1r2")
        banded = {p.row.reading.seq for p in found.get(test, ())}
        for circuit, row in series.by_circuit(test).items():
            start = None if row.circuit is None else series.loop_at(row.circuit)
            mate = other.get(circuit)
            if start is None or mate is None or row.reading.seq in banded:
                continue
            found.setdefault(f"{test} and loop", []).append(Placed(row, _by_loop(test, start, mate), "Zs and R1+R2"))
    return found


def _by_loop(test: str, start: SeriesReading, mate: SeriesReading) -> Band:
    """What Zs should be from R1+R2, or R1+R2 from Zs, with all limits of error [Ω]; other paths may lower Zs."""
    slack = start.slack + mate.slack + 0.05
    middle = mate.value + start.value if test == "zs" else mate.value - start.value
    return Band(max(0.0, middle - slack), max(0.0, middle + slack) + 0.02, "Ω")


def _counts(series: Series, row: SeriesReading) -> bool:
    judged = next((b for b in series.bonds if b.bond.id == row.reading.of), None)
    return judged is None or any(x.reading is row.reading and x.used for x in judged.readings)


def _unsteady(series: Series) -> set[str]:
    values: dict[str, list[float]] = {}
    for row in series.rows:
        if row.reading.test == CONDUCTOR:
            values.setdefault(row.reading.of, []).append(row.value)
    return {of for of, v in values.items() if max(v) - min(v) > 0.06}


def swapped(series: Series) -> list[Finding]:
    """Two rows of one test, each outside its band, both inside when exchanged."""
    found = []
    for test, some in placed(series).items():
        wrong = [p for p in some if not p.fits(p.row)]
        pairs = [(a, b) for a, b in combinations(wrong[:60], 2) if a.fits(b.row) and b.fits(a.row)]
        for a, b in pairs:
            if sum(a in pair or b in pair for pair in pairs) > 1:
                continue  # more than one exchange would do: not a telling pattern
            p = chance.corrected(a.share * b.share, math.comb(len(some), 2))
            found.append(
                Finding.of(
                    "rows.swapped",
                    f"{a.row.name} and {b.row.name}, {_said(test)}",
                    "Neither reading fits its own row, and both fit when they are exchanged.",
                    a.row.reading.of,
                    f"{a.row.name} {a.band.low:.2f} to {a.band.high:.2f}, {b.row.name} {b.band.low:.2f} to {b.band.high:.2f} Ω",
                    f"{a.row.name} {a.row.shown.as_shown}, {b.row.name} {b.row.shown.as_shown}",
                    "Read one of the two again, at a place you are sure of, and correct the rows or the labels.",
                    f"Two entries in each other's row, lengths entered in each other's row, or labels changed over at the board. "
                    f"Each is outside its band by {a.rests_on} with all errors allowed for. "
                    + chance.sentence(
                        "If the two were wrong for unrelated reasons", p, math.comb(len(some), 2), "pairs of rows"
                    ),
                )
            )
    return found


def _said(test: str) -> str:
    return test.removesuffix(" and loop")


def factors(series: Series) -> list[Finding]:
    """Digits that do not fit, and fit when the point is moved by one place or by three."""
    found = []
    in_pairs = _exchanged(series)
    for test, some in placed(series).items():
        for p in some:
            if p.fits(p.row) or p.row.reading.id in in_pairs:
                continue
            for factor in _FACTORS:
                moved = evolve(p.row, shown=evolve(p.row.shown, digits=p.row.shown.digits * Decimal(str(factor))))
                if moved.value < p.row.accuracy.step / 2.0 or not p.fits(moved):
                    continue
                found.append(_factor(test, p, factor, len(_FACTORS)))
                break
    # A Zs that is out of place puts the R1+R2 beside it out of place too: said once.
    return list({f.entry: f for f in reversed(found)}.values())[::-1]


def _exchanged(series: Series) -> set[str]:
    names: set[str] = set()
    for some in placed(series).values():
        wrong = [p for p in some if not p.fits(p.row)]
        for a, b in combinations(wrong[:60], 2):
            if a.fits(b.row) and b.fits(a.row):
                names |= {a.row.reading.id, b.row.reading.id}
    return names


def _factor(test: str, p: Placed, factor: float, tried: int) -> Finding:
    by_accident = min(1.0, p.share * tried)
    times = f"{factor:g} times" if factor > 1 else f"a {'tenth' if factor > 0.01 else 'thousandth'} of"
    return Finding(
        f"{p.row.name}, {_said(test)}",
        f"The digits do not fit, and {times} what was entered does.",
        Severity.WARNING if by_accident <= _TELLING else Severity.NOTE,
        "rows.factor",
        p.row.reading.of,
        f"{p.band.low:.2f} to {p.band.high:.2f} Ω by {p.rests_on}",
        p.row.shown.as_shown,
        "Look at the display or the notebook again, and read it once more; correct the entry only from a reading.",
        "A point in the wrong place or a unit that was read as another (mΩ, kΩ) does this; so does a real fault, by accident. "
        + (
            f"A value that is wrong for some other reason would fit so {chance.in_words(by_accident)} times, all {tried} factors "
            "tried allowed for."
            if by_accident < 0.5
            else "A value that is wrong for some other reason would fit as often as not."
        ),
    )
