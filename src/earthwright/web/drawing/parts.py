"""Pieces of the drawings. Everything is drawn with classes, so that light, dark and print are one drawing."""

from __future__ import annotations

import zlib

from ...paper import svg


def sheet(width: int, height: int, title: str, words: str, pieces: list[str]) -> str:
    """A drawing with its text equivalent."""
    mark = f"draw-{zlib.crc32(f'{title} {words}'.encode()):08x}"  # several drawings stand on one page
    return svg.tag(
        "svg",
        svg.tag("title", svg.clean(title), id=mark)
        + svg.tag("desc", svg.clean(words), id=f"{mark}-words")
        + "".join(pieces),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width} {height}",
        role="img",
        aria_labelledby=f"{mark} {mark}-words",
    )


def label(
    x: float, y: float, words: str, *, kind: str = "ink", size: float = 12.5, at: str = "start", bold: bool = False
) -> str:
    """A line of text."""
    return svg.text(x, y, words, class_=kind, font_size=size, text_anchor=at, font_weight=600 if bold else None)


def box(x: float, y: float, width: float, height: float, words: list[str], *, kind: str = "box") -> str:
    """A box with its words in the middle."""
    first = y + height / 2 + 4.5 - 7.5 * (len(words) - 1)
    return svg.tag("rect", x=x, y=y, width=width, height=height, rx=4, class_=kind, stroke_width=1.6) + "".join(
        label(x + width / 2, first + 15 * i, line, at="middle", bold=i == 0) for i, line in enumerate(words)
    )


def wire(d: str, kind: str = "wire") -> str:
    """A conductor or a lead along a path."""
    return svg.path(d, class_=kind, fill=None)


def probe(x: float, y: float, letter: str) -> str:
    """Where a probe goes: a disc with its letter, so that the two ends are never only two colours."""
    return svg.tag("circle", cx=x, cy=y, r=11, class_="copper") + svg.text(
        x, y + 4.5, letter, class_="paper", font_size=13, font_weight=700, text_anchor="middle"
    )


def meter(x: float, y: float, unit: str, name: str) -> str:
    """The instrument."""
    shown = svg.clean(unit)
    return (
        svg.tag("rect", x=x, y=y, width=110, height=52, rx=8, class_="box", stroke_width=2)
        + svg.tag("rect", x=x + 10, y=y + 8, width=90, height=20, rx=3, class_="wash")
        + label(x + 55, y + 23, f"– – –  {shown}", at="middle", size=13, bold=True)
        + label(x + 55, y + 44, name, at="middle", size=12.5, kind="soft")
    )


def lock(x: float, y: float, words: str) -> str:
    """A padlock: the supply is locked off."""
    return (
        svg.tag("rect", x=x, y=y + 8, width=16, height=12, rx=2, class_="ink")
        + svg.path(
            f"M {x + 3} {y + 8} V {y + 4} a 5 5 0 0 1 10 0 V {y + 8}", class_="edge", fill="none", stroke_width=2.4
        )
        + svg.text(x, y + 36, words, class_="ink", font_size=12.5)
    )
