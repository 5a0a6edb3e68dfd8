"""The legend of the earth map: each sign once, with its word."""

from __future__ import annotations

from . import svg
from .mapparts import BAD, FONT, GOOD, INK, OPEN_QUESTION, PAPER, SHEET, SOFT

LINE, COLUMN, HIGH = 17, 200, 52


def legend() -> str:
    """The signs in three columns, as an SVG document as wide as the map on paper."""
    drawn = [svg.tag("title", legend_said())]
    for i, (sign, word) in enumerate(SIGNS):
        x, y = 38 + COLUMN * (i // 3), 8 + LINE * (i % 3)
        drawn += [*sign(x, y), svg.text(x + 34, y + 4, word, fill=INK, font_size=11)]
    return svg.tag(
        "svg",
        "\n".join(drawn),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {SHEET} {HIGH}",
        width=SHEET,
        height=HIGH,
        font_family=FONT,
    )


def legend_said() -> str:
    """The same in words."""
    return "Signs of the earth map: " + ", ".join(word for _, word in SIGNS)


def _whole(x: float, y: float) -> list[str]:
    edge = {"stroke": GOOD, "stroke_width": 2}
    return [svg.line(x, y - 2.4, x + 26, y - 2.4, **edge), svg.line(x, y + 2.4, x + 26, y + 2.4, **edge)]


def _open(x: float, y: float) -> list[str]:
    edge = {"stroke": BAD, "stroke_width": 2}
    stops = [svg.line(x + at, y - 5, x + at, y + 5, **edge) for at in (9, 17)]
    return [svg.line(x, y, x + 9, y, **edge), svg.line(x + 17, y, x + 26, y, **edge), *stops]


def _impaired(x: float, y: float) -> list[str]:
    edge = {"stroke": BAD, "stroke_width": 2}
    notch = " ".join(f"M {x + 6 + 5 * i:g} {y + 5:g} l 4 -10" for i in range(3))
    return [svg.line(x, y, x + 26, y, **edge), svg.path(notch, **edge)]


def _dashed(x: float, y: float) -> list[str]:
    return [svg.line(x, y, x + 26, y, stroke=OPEN_QUESTION, stroke_width=2, stroke_dasharray="6 4")]


def _dotted(x: float, y: float) -> list[str]:
    return [
        svg.line(x, y, x + 26, y, stroke=SOFT, stroke_width=2, stroke_dasharray="1.5 4", stroke_linecap="round"),
    ]


def _bar(x: float, y: float) -> list[str]:
    return [svg.tag("rect", x=x, y=y - 3, width=26, height=6, rx=2, fill=INK)]


def _good_joint(x: float, y: float) -> list[str]:
    return [svg.tag("circle", cx=x + 13, cy=y, r=5, fill=INK)]


def _ring(x: float, y: float) -> list[str]:
    return [svg.tag("circle", cx=x + 13, cy=y, r=5, stroke=INK, stroke_width=1.6, fill=PAPER)]


def _poor_joint(x: float, y: float) -> list[str]:
    edge = {"stroke": BAD, "stroke_width": 2}
    low, high = y - 6, y + 6
    return [*_ring(x, y), svg.line(x + 7, low, x + 19, high, **edge), svg.line(x + 7, high, x + 19, low, **edge)]


SIGNS = (
    (_whole, "proved whole"),
    (_open, "disproved: open"),
    (_impaired, "disproved: impaired"),
    (_dashed, "read, not shown"),
    (_dotted, "nothing read, other metal"),
    (_bar, "earth bar of a board"),
    (_good_joint, "joint good"),
    (_poor_joint, "joint poor"),
    (_ring, "joint not decided"),
)
