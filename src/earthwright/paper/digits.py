"""Digits and numbers as a schedule prints them: as shown on the display, without their unit."""

from __future__ import annotations

from ..base.digits import Kind, Shown


def said(shown: Shown) -> str:
    """The digits as shown; ``>`` for over-range, ``<`` for below what the display can tell."""
    if shown.kind is Kind.OVER:
        return f">{shown.digits}" if shown.digits else "over"
    return f"<{shown.digits}" if shown.kind is Kind.BELOW else str(shown.digits)


def number(value: float | None, unit: str = "") -> str:
    """A plain number with its unit; blank for none."""
    return "" if value is None else f"{value:g} {unit}".strip()
