"""What a cell of readings says: digits, a word, or why there is none, each with its point; written and read back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from attrs import frozen

from ..base.digits import Kind, Shown
from ..site.events import Reading
from ..visitbook.spellings import absent_of
from .columns import Reads

BAR, AT, BECAUSE = " | ", " @ ", ": "


@frozen
class Value:
    """One value of a test: its digits as text, a word, or why there is none; where; and the reason if it has its own."""

    text: str
    point: str = ""
    absent: str = ""
    reason: str = ""


def shown_text(shown: Shown) -> str:
    """The display as a cell holds it: as typed when that is plain digits, else in the unit of its column."""
    if shown.kind is Kind.OVER:
        return f">{_plain(shown.digits)}" if shown.digits else "over-range"
    if shown.kind is Kind.BELOW:
        return f"<{_plain(shown.digits)}"
    typed = shown.text.strip()
    return typed if typed.isascii() and typed.replace(".", "", 1).isdigit() else _plain(shown.digits)


def _plain(number: Decimal) -> str:
    return format(number.normalize(), "f")


def value_of(reading: Reading) -> Value:
    """What a reading says."""
    if reading.absent:
        return Value("", reading.point, reading.absent, reading.note)
    return Value(shown_text(reading.shown) if reading.shown is not None else reading.outcome, reading.point)


def reads_of(reading: Reading) -> Reads:
    """The column that a reading belongs to."""
    return Reads(reading.test, reading.between, reading.method, reading.test_v or 0.0)


def standing(readings: Iterable[Reading]) -> dict[Reads, list[Value]]:
    """The values by column, in order. Why there was no reading is dropped once there is one at the same point."""
    found: dict[Reads, list[Value]] = {}
    for reading in readings:
        values = found.setdefault(reads_of(reading), [])
        value = value_of(reading)
        values[:] = [v for v in values if not (v.absent and v.point == value.point)]
        if not value.absent or not any(v.point == value.point for v in values):
            values.append(value)
    return found


def cell_of(values: Sequence[Value], reason: str) -> str:
    """The values as one cell; ``reason`` stands in the row's own column and is not repeated."""
    return BAR.join(_one(v, reason) for v in values)


def _one(value: Value, reason: str) -> str:
    text = value.absent or value.text
    if value.absent and value.reason and value.reason != reason:
        # The marks that part values may not stand in a reason.
        own = " ".join(value.reason.replace("|", "/").replace("@", "at").split())
        text += f"{BECAUSE}{own}"
    return f"{text}{AT}{value.point}" if value.point else text


def values_of(cell: str) -> list[Value]:
    """The values that a cell lists; nothing is judged here."""
    found = []
    for part in cell.split("|"):
        text, _, point = part.partition("@")
        absent, reason = absent_of(text)
        if absent:
            found.append(Value("", point.strip(), absent, reason))
        else:
            found.append(Value(text.strip(), point.strip()))
    return found
