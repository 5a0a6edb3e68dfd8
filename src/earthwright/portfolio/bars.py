"""Bars with their numbers, as SVG: for the pages and the printed report. The same figures stand as text beside them."""

from __future__ import annotations

from collections.abc import Sequence

from ..paper.svg import clean, line, tag, text

ROW, WIDE, NUMBER, LETTER = 22.0, 320.0, 46.0, 8.2  # LETTER: of a label, in the wider of the fonts that may stand in


def bars(values: Sequence[tuple[str, int]], of: str, *, ink: str = "currentColor", fill: str = "#8a4312") -> str:
    """A drawing of bars, one a row, each with its label before it and its number behind it. ``of``: what they count."""
    most = max((n for _, n in values), default=0) or 1
    label = 12 + LETTER * max((len(name) for name, _ in values), default=0)
    room = WIDE - label - NUMBER
    parts = [tag("title", clean(of)), tag("desc", clean("; ".join(f"{name}: {n}" for name, n in values)))]
    for i, (name, n) in enumerate(values):
        y = i * ROW
        parts.append(text(label - 8, y + 15, name, text_anchor="end", font_size=13, fill=ink))
        if n:
            parts.append(tag("rect", x=label, y=y + 4, width=max(1.0, room * n / most), height=ROW - 8, fill=fill))
        parts.append(text(label + room * n / most + 6, y + 15, f"{n:,}", font_size=13, fill=ink))
    high = len(values) * ROW
    parts.append(line(label, 0.0, label, high, stroke=ink, stroke_width=1))
    return tag(
        "svg", "".join(parts), xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {WIDE:g} {high:g}", role="img",
        font_family="Inter, system-ui, sans-serif", class_="bars",
    )  # fmt: skip
