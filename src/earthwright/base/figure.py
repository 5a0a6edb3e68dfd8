"""How a figure and a band are written, everywhere: on pages, on paper, in the terminal and in sentences."""

from __future__ import annotations

import math

from .quantity import Band


def figure(value: float) -> str:
    """Three significant digits, never as a power of ten where it is large: ``0.391``, ``22.4``, ``1234``."""
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.3g}"


def span(band: Band, decimals: int | None = None, unit: str = "") -> str:
    """A band in words with its unit: ``0.391 to 0.479 Ω``, ``299 MΩ or more``. ``decimals``: as many, in place of three digits."""
    unit = unit or band.unit
    low, high = (figure(x) if decimals is None else f"{x:.{decimals}f}" for x in (band.low, band.high))
    return f"{low} {unit} or more" if math.isinf(band.high) else f"{low} to {high} {unit}"


def shown_span(band: Band) -> str:
    """A band with the decimals that a display has at its size: ``0.39 to 0.48 Ω``, ``0.037 to 0.058 Ω``."""
    return span(band, None if math.isinf(band.high) else 0 if band.high >= 100 else 2 if band.high >= 0.1 else 3)
