"""Readings of checks over time as a drawing: a dot for shorted leads, a square for a known resistor, days along the bottom."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from html import escape

WIDE, HIGH, LEFT, TOP, BOTTOM = 420.0, 230.0, 58.0, 22.0, 36.0
MOST = 6  # lines above the lowest


def over_time(points: Sequence[tuple[dt.date, str, float]], unit: str, title: str) -> str:
    """The drawing. points: day, kind of check, value in ``unit``, at least one."""
    days, values = [p[0].toordinal() for p in points], [p[2] for p in points]
    first, last = min(days), max(max(days), min(days) + 1)
    low, high = min(0.0, *values), max(0.05, *values)
    high += 0.08 * (high - low)

    def x(day: int) -> float:
        return LEFT + (WIDE - LEFT - 24) * (day - first) / (last - first)

    def y(value: float) -> float:
        return TOP + (HIGH - TOP - BOTTOM) * (high - value) / (high - low)

    made = [f'<svg class="plot" viewBox="0 0 {WIDE:.0f} {HIGH:.0f}" role="img" aria-label="{escape(title)}">']
    step = next(s for e in range(-2, 9) for s in (10.0**e, 2 * 10.0**e, 5 * 10.0**e) if (high - low) / s <= MOST)
    for n in range(math.ceil(low / step), math.floor(high / step) + 1):
        value = n * step  # what a line is called is where it stands
        made.append(f'<path class="faint" d="M{LEFT:.0f} {y(value):.1f}H{WIDE - 16:.0f}"/>')
        made.append(
            f'<text class="ink" x="{LEFT - 6:.0f}" y="{y(value) + 4:.1f}" text-anchor="end" font-size="14">{value:.2f}</text>'
        )
    for day, anchor in ((first, "start"), (last, "end")) if first != last - 1 else ((first, "start"),):
        said = dt.date.fromordinal(day).isoformat()
        made.append(
            f'<text class="ink" x="{x(day):.1f}" y="{HIGH - 10:.0f}" text-anchor="{anchor}" font-size="14">{said}</text>'
        )
    made.append(f'<text class="ink" x="4" y="{TOP - 8:.0f}" font-size="14">{escape(unit)}</text>')
    for day, (_, kind, value) in zip(days, points, strict=True):
        at_x, at_y = x(day), y(value)
        if kind == "known":
            made.append(f'<rect class="copper" x="{at_x - 4:.1f}" y="{at_y - 4:.1f}" width="8" height="8"/>')
        else:
            made.append(f'<circle class="copper" cx="{at_x:.1f}" cy="{at_y:.1f}" r="4.5"/>')
    return "".join((*made, "</svg>"))
