"""The drawing for a test of a circuit, the origin or an electrode."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from ...paper import svg
from ...site.tests import (
    AT_BOARD,
    AT_PART,
    BY_NAME,
    EARTHING_OFF,
    FAR_END,
    FAR_END_JOINED,
    FROM_MET,
    LOADS_OFF,
    RING_CROSSED,
    RING_ENDS,
    STAKES,
    Procedure,
)
from ..words import connect_of, say
from .parts import box, label, meter, probe, sheet, wire

WIDTH, HEIGHT = 420, 250
LINES = {"L": 62, "N": 92, "E": 122}
_LETTERS = {"line": "L", "neutral": "N", "cpc": "E"}


@lru_cache(maxsize=256)
def circuit_drawing(test: str, point: str = "", between: str = "") -> str:
    """How to connect a test of a circuit, the origin or an electrode."""
    of = BY_NAME[test]
    pieces = _DRAWN[of.drawing](of, point, between)
    if of.live:
        pieces.append(label(406, 20, say("draw.live"), kind="bad", bold=True, at="end", size=13))
    return sheet(WIDTH, HEIGHT, say("draw.title"), connect_of(test), pieces)


def _cable(to: float = 300) -> list[str]:
    found = [box(14, 40, 84, 106, [say("draw.board")])]
    for letter, y in LINES.items():
        found += [wire(f"M 98 {y} H {to}"), label(104, y - 5, letter, bold=True, size=13)]
    return found


def _far_end(of: Procedure, point: str, _: str) -> list[str]:
    line, earth = LINES["L"], LINES["E"]
    found = [*_cable(), box(300, 40, 106, 106, svg.wrap(point or say("draw.point"), 13, 3))]
    if of.drawing == FAR_END_JOINED:
        found.append(wire(f"M 112 {line} C 134 {line + 10} 134 {earth - 10} 112 {earth}", "lead"))
        found.append(label(140, 112, say("draw.joined"), size=13))
    if of.drawing == FROM_MET:
        found += [wire("M 40 146 C 40 210 90 216 150 216", "lead"), probe(40, 146, "A")]
    else:
        found += [wire(f"M 290 {line} C 250 150 200 170 190 190", "lead"), probe(290, line, "A")]
    found += [wire(f"M 290 {earth} C 290 180 280 200 262 214", "lead"), probe(290, earth, "B")]
    return [*found, meter(150, 190, of.unit, say("draw.tester"))]


def _at_board(of: Procedure, _: str, between: str) -> list[str]:
    pair = {"L-N": ("L", "N"), "N-E": ("N", "E"), "L-L": ("L", "L")}.get(between, ("L", "E"))
    found = _cable(300)
    if of.drawing == LOADS_OFF:
        found += [box(300, 40, 106, 106, [say("draw.loads_off")])]
        if between in ("LN-E", "all-E"):
            found.append(wire("M 112 62 C 130 70 130 84 112 92", "lead"))
    else:
        found += [box(300, 40, 106, 106, [say("draw.supply")])]
    if of.drawing == EARTHING_OFF:
        found.append(label(120, 170, say("draw.earthing_off"), kind="bad", bold=True, size=13))
    a, b = LINES[pair[0]], LINES[pair[1]]
    return [
        *found,
        wire(f"M 200 {a} C 190 150 180 170 176 190", "lead"),
        wire(f"M 236 {b} C 250 150 244 170 236 190", "lead"),
        probe(200, a, "A"),
        probe(236, b, "B"),
        meter(150, 190, of.unit, say("draw.tester")),
    ]


def _ring(y: float = 92) -> list[str]:
    return [
        box(14, 46, 84, 92, [say("draw.board")]),
        wire(f"M 98 {y - 22} H 340 a 22 22 0 0 1 22 22 a 22 22 0 0 1 -22 22 H 98"),
        *[
            svg.tag("rect", x=x, y=y - 32, width=18, height=18, rx=3, class_="box", stroke_width=2)
            for x in (170, 230, 290)
        ],
        *[svg.tag("rect", x=x, y=y + 12, width=18, height=18, rx=3, class_="box", stroke_width=2) for x in (200, 260)],
    ]


def _ring_ends(of: Procedure, *_: str) -> list[str]:
    which = _LETTERS[of.through[0]]
    return [
        *_ring(),
        label(108, 62, f"{which}, {say('draw.one_end')}", size=13, bold=True),
        label(108, 134, f"{which}, {say('draw.other_end')}", size=13, bold=True),
        wire("M 104 70 C 122 150 140 190 152 210", "lead"),
        wire("M 104 114 C 112 160 120 190 152 226", "lead"),
        probe(104, 70, "A"),
        probe(104, 114, "B"),
        meter(150, 190, "Ω", say("draw.tester")),
    ]


def _ring_crossed(of: Procedure, *_: str) -> list[str]:
    other = next(_LETTERS[end] for end in of.through if end != "line")
    return [
        *_ring(),
        wire("M 100 70 C 116 82 116 102 100 114", "lead"),
        label(120, 97, say("draw.crossed", other=other), size=13),
        wire("M 239 60 C 250 150 230 170 220 190", "lead"),
        wire("M 247 60 C 276 150 258 200 262 210", "lead"),
        probe(232, 46, "A"),
        probe(258, 46, "B"),
        label(300, 50, f"L – {other}", bold=True, size=12.5),
        meter(150, 190, "Ω", say("draw.tester")),
    ]


def _electrode(*_: object) -> list[str]:
    ground = wire("M 14 150 H 406", "faint")
    stakes = "".join(
        wire(f"M {x} 134 V 186") + label(x, 204, words, at="middle", size=13)
        for x, words in ((70, say("draw.rod")), (230, say("draw.potential")), (370, say("draw.current")))
    )
    return [
        ground,
        stakes,
        meter(150, 40, "Ω", say("draw.tester")),
        wire("M 160 92 C 150 120 110 120 70 134", "lead"),
        wire("M 205 92 C 212 110 224 120 230 134", "lead"),
        wire("M 250 92 C 280 110 340 116 370 134", "lead"),
        probe(70, 134, "E"),
        probe(230, 134, "P"),
        probe(370, 134, "C"),
        label(14, 236, say("draw.rod_alone"), size=13, kind="bad", bold=True),
    ]


def _extraneous(*_: object) -> list[str]:
    return [
        svg.tag("rect", x=40, y=44, width=14, height=110, rx=2, class_="ink"),
        label(34, 172, "MET", bold=True),
        box(290, 60, 110, 80, [say("draw.part")]),
        wire("M 56 98 C 80 160 120 200 150 210", "lead"),
        wire("M 300 120 C 300 170 290 200 262 212", "lead"),
        probe(54, 98, "A"),
        probe(300, 116, "B"),
        meter(150, 190, "kΩ", say("draw.tester")),
    ]


_DRAWN: dict[str, Callable[[Procedure, str, str], list[str]]] = {
    **dict.fromkeys((FAR_END, FAR_END_JOINED, FROM_MET), _far_end),
    **dict.fromkeys((AT_BOARD, LOADS_OFF, EARTHING_OFF), _at_board),
    RING_ENDS: _ring_ends,
    RING_CROSSED: _ring_crossed,
    STAKES: _electrode,
    AT_PART: _extraneous,
}
