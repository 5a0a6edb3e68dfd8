"""A picture for each single sum: what is meant by its numbers, and where the result lies."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from ...paper import svg
from ..sum_form import Outcome
from ..words import say
from .parts import box, label, sheet, wire

WIDTH, HEIGHT = 420, 200


def sum_drawing(name: str, typed: Mapping[str, str], outcome: Outcome) -> str:
    """The picture of a sum, with what was put in and what came out."""
    draw = _PICTURES.get(name, _conductor)
    words = outcome.result or say("sums.picture")
    pieces = draw(typed)
    if outcome.result:
        lines = svg.wrap(outcome.result, 46, 2)
        pieces += [label(14, 176 + 17 * i, line, bold=True, size=14) for i, line in enumerate(lines)]
    return sheet(WIDTH, HEIGHT, say("sums.picture"), words, pieces)


def _given(typed: Mapping[str, str], *names: str, unit: str = "") -> str:
    value = next((typed[n] for n in names if typed.get(n)), "")
    return f"{value} {unit}".strip() if value else "?"


def _conductor(typed: Mapping[str, str]) -> list[str]:
    return [
        svg.tag("rect", x=40, y=70, width=330, height=26, rx=6, class_="copper"),
        svg.tag("circle", cx=370, cy=83, r=13, class_="box", stroke_width=2),
        wire("M 40 120 H 370"),
        wire("M 40 112 V 128 M 370 112 V 128"),
        label(
            205, 140, _given(typed, "length", "reading", unit="m" if typed.get("length") else "Ω"), at="middle", size=14
        ),
        label(370, 56, _given(typed, "csa", unit="mm²"), at="middle", size=14),
    ]


def _leads(typed: Mapping[str, str]) -> list[str]:
    return [
        box(40, 50, 110, 60, [say("draw.tester"), _given(typed, "reading", unit="Ω")]),
        wire("M 150 66 C 210 66 210 50 260 50", "lead"),
        wire("M 150 94 C 210 94 210 112 260 112", "lead"),
        label(190, 84, _given(typed, "lead", unit="Ω"), size=13),
        wire("M 260 50 V 112"),
        label(274, 86, "R = ?", size=14, bold=True),
    ]


def _parallel(typed: Mapping[str, str]) -> list[str]:
    values = [v for v in (typed.get("conductor"), typed.get("path")) if v] or typed.get("circuit", "").split()[:4]
    rows = values or ["?", "?"]
    found = [wire("M 60 40 V 150"), wire("M 360 40 V 150")]
    for i, value in enumerate(rows[:4]):
        y = 52 + i * (86 / max(1, len(rows[:4]) - 1) if len(rows) > 1 else 0)
        found += [
            wire(f"M 60 {y} H 360"),
            svg.tag("rect", x=160, y=y - 11, width=100, height=22, rx=4, class_="box", stroke_width=2),
            label(210, y + 5, value, at="middle", size=13),
        ]
    return found


def _loop(typed: Mapping[str, str]) -> list[str]:
    return [
        wire("M 60 60 H 350 M 60 130 H 350"),
        svg.tag("circle", cx=60, cy=95, r=24, class_="box", stroke_width=2),
        label(60, 100, _given(typed, "u0", unit="V") if typed.get("u0") else "U0", at="middle", size=13),
        wire("M 60 60 V 71 M 60 119 V 130"),
        box(130, 44, 84, 32, [_given(typed, "device", "type")]),
        label(232, 50, _given(typed, "rating", unit="A"), size=13),
        wire("M 350 60 L 342 88 L 356 96 L 346 130"),
        label(366, 100, "Zs", bold=True, size=15),
    ]


def _ring(typed: Mapping[str, str]) -> list[str]:
    return [
        box(30, 60, 70, 70, [say("draw.board")]),
        wire("M 100 76 H 330 a 20 20 0 0 1 20 20 a 20 20 0 0 1 -20 20 H 100"),
        label(200, 66, "r1 " + _given(typed, "r1", unit="Ω"), size=13),
        label(200, 140, "r2 " + _given(typed, "r2", unit="Ω"), size=13),
    ]


def _stake(typed: Mapping[str, str]) -> list[str]:
    return [
        wire("M 20 80 H 400", "faint"),
        wire("M 110 62 V 150"),
        label(122, 120, _given(typed, "length", "ra", "ma"), size=14),
        wire("M 110 62 H 240", "lead"),
        box(240, 44, 100, 36, ["RA"]),
    ]


def _size(typed: Mapping[str, str]) -> list[str]:
    found: list[str] = []
    for i, (name, unit) in enumerate(
        (("line", "mm²"), ("neutral", "mm²"), ("earthing", "mm²"), ("csa", "mm²"), ("current", "A"))
    ):
        if typed.get(name):
            x = 50 + 76 * len(found) // 3
            found += [
                svg.tag("circle", cx=x, cy=90, r=14 + 4 * (i % 2), class_="copper"),
                label(x, 128, f"{typed[name]} {unit}", at="middle", size=12),
                label(x, 60, name, at="middle", size=12),
            ]
    return found or [
        svg.tag("circle", cx=120, cy=90, r=30, class_="copper"),
        label(170, 96, "S = ?", size=16, bold=True),
    ]


_PICTURES: dict[str, Callable[[Mapping[str, str]], list[str]]] = {
    "leads": _leads, "closure": _parallel, "insulation": _parallel, "zs-limit": _loop, "disconnection": _loop,
    "fault-current": _loop, "allowed-time": _loop, "rcd": _loop, "lost-neutral": _loop, "ring": _ring, "electrode": _stake,
    "stakes": _stake, "tt-limit": _stake, "adiabatic": _size, "bond-size": _size, "earthing-conductor": _size, "supplementary": _parallel,
}  # fmt: skip
