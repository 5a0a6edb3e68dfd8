"""The same digits on every machine.

What comes out of long sums of logarithms and exponentials differs in its last digits from one Python, processor or phone to
the next. It is rounded once, where it is judged, far below anything that is printed; then paper and record are the same
everywhere, and a paper that is printed again is the same paper. The rest follows from the four operations and square roots,
which are the same everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from attrs import evolve

from .quantity import Band

BITS = 6  # decimals of information: what is worth less than a millionth of a bit is worth nothing


def figure(value: float) -> float:
    """A chance, a logarithm or a length to nine digits."""
    return float(f"{value:.9g}") if math.isfinite(value) else value


def figures(values: Mapping[str, float]) -> dict[str, float]:
    """The same for each of several, by name."""
    return {name: figure(value) for name, value in values.items()}


def in_bits(value: float) -> float:
    """Information [bit]; a difference of two nearly equal sums, so that its decimals are rounded and not its digits."""
    return round(value, BITS) + 0.0  # no minus before a nought


def scores(values: Iterable[tuple[str, float]]) -> tuple[tuple[str, float], ...]:
    """The same for each of several, in their order."""
    return tuple((name, figure(value)) for name, value in values)


def edges(value: Band) -> Band:
    """A band with both edges so."""
    return evolve(value, low=figure(value.low), high=figure(value.high))


def band(value: Band | None) -> Band | None:
    """The same; None stays None."""
    return None if value is None else edges(value)


def bands(values: Iterable[Band | None]) -> tuple[Band | None, ...]:
    """The same for each of several."""
    return tuple(map(band, values))
