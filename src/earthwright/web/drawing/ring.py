"""The profile of a ring: what was read at each socket, between the bands it should lie in."""

from __future__ import annotations

import math
from collections.abc import Callable

from ...base.quantity import Band
from ...outcomes.circuits import RingJudged, SocketOnRing
from ...paper import svg
from ..words import say
from .parts import label, sheet

WIDTH, HEIGHT = 420, 240
LEFT, RIGHT, TOP, BOTTOM = 46, 404, 34, 196


def ring_drawing(ring: RingJudged) -> str:
    """The ring as drawn from its sockets; discs are line to neutral, squares line to earth."""
    sockets = ring.sockets
    values = [v for s in sockets for v in (s.ln_ohm, s.le_ohm) if v is not None and math.isfinite(v)]
    bands = [b.high for s in sockets for b in (s.ln_expected, s.le_expected) if b is not None]
    top = max([*values, *bands, 0.1]) * 1.15
    places = [s.place_m for s in sockets]
    numbered = all(p is not None for p in places)
    last = max((p or 0.0 for p in places), default=1.0) if numbered else max(1.0, len(sockets) - 1.0)

    def x(i: int) -> float:
        at = places[i] if numbered else float(i)
        return LEFT + 12 + (RIGHT - LEFT - 24) * (at or 0.0) / (last or 1.0)

    def y(ohm: float) -> float:
        return TOP - 8 if math.isinf(ohm) else BOTTOM - (BOTTOM - TOP) * ohm / top  # over-range stands at the top

    pieces = [
        label(LEFT, 20, "●  " + say("draw.ring_ln"), size=12),
        label(LEFT + 120, 20, "■  " + say("draw.ring_le"), size=12),
        *_axis(top, y),
        *_bands([s.ln_expected for s in sockets], x, y),
        *_bands([s.le_expected for s in sockets], x, y),
    ]
    for i, s in enumerate(sockets):
        pieces += _socket(s, x(i), y)
    return sheet(WIDTH, HEIGHT, say("draw.ring_title"), words_of_ring(ring), pieces)


def _axis(top: float, y: Callable[[float], float]) -> list[str]:
    step = next(s for s in (0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 1000) if top / s <= 5)
    found = [svg.line(LEFT, TOP - 6, LEFT, BOTTOM, class_="edge"), svg.line(LEFT, BOTTOM, RIGHT, BOTTOM, class_="edge")]
    value = 0.0
    while value <= top:
        found += [
            svg.line(LEFT - 4, y(value), LEFT, y(value), class_="edge"),
            label(LEFT - 7, y(value) + 4, f"{value:g}", size=11, at="end"),
        ]
        value = round(value + step, 6)
    return [*found, label(6, TOP - 12, "Ω", size=12)]


def _bands(bands: list[Band | None], x: Callable[[int], float], y: Callable[[float], float]) -> list[str]:
    """The expected band as a washed strip from socket to socket."""
    known = [(i, b) for i, b in enumerate(bands) if b is not None]
    if not known:
        return []
    if len(known) == 1:
        i, b = known[0]
        return [svg.line(x(i), y(b.low), x(i), y(b.high), class_="softedge", stroke_width=6)]
    up = " ".join(f"{x(i):.1f},{y(b.high):.1f}" for i, b in known)
    down = " ".join(f"{x(i):.1f},{y(b.low):.1f}" for i, b in reversed(known))
    return [svg.tag("polygon", points=f"{up} {down}", class_="wash softedge", stroke_width=1)]


def _socket(s: SocketOnRing, x: float, y: Callable[[float], float]) -> list[str]:
    found = []
    if s.ln_ohm is not None:
        found.append(svg.tag("circle", cx=x, cy=y(s.ln_ohm), r=5, class_="ink"))
    if s.le_ohm is not None:
        found.append(svg.tag("rect", x=x - 5, y=y(s.le_ohm) - 5, width=10, height=10, class_="copper"))
    words = s.point if len(s.point) <= 9 else s.point[:8] + "…"
    return [
        *found,
        svg.text(
            x,
            BOTTOM + 14,
            words,
            class_="ink",
            font_size=10.5,
            text_anchor="end",
            transform=f"rotate(-38 {x:.1f} {BOTTOM + 14})",
        ),
    ]


def words_of_ring(ring: RingJudged) -> str:
    """The same profile in words."""
    said = []
    for s in ring.sockets:
        said.append(say("draw.ring_socket", point=s.point, ln=_digits(s.ln_ohm), le=_digits(s.le_ohm)))
    return " ".join(said)


def _digits(ohm: float | None) -> str:
    if ohm is None:
        return "–"
    return "over-range" if math.isinf(ohm) else f"{ohm:g} Ω"
