"""The profile of a ring: both crossed readings along the cable, against the band that a whole ring would show.

Line to neutral are discs on a solid line over a band hatched one way, line to cpc are squares on a dashed line over a
band hatched the other way; a reading outside its band has a ring round it and its digits beside it. No sign needs colour.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import frozen

from ..base.quantity import Band
from ..evidence.bond import DISPROVED, PROVED
from ..outcomes.circuits import RingJudged, SocketOnRing
from ..outcomes.verdict import with_named
from ..site.installation import Circuit
from . import svg
from .mapparts import BAD, COLOURS, FONT, INK, PAPER, SOFT

WIDTH, HEIGHT = 372, 346  # its letters can still be read on a phone
LEFT, RIGHT, TOP, BOTTOM = 46, 360, 102, 268
LINE_NEUTRAL, LINE_CPC = "line to neutral", "line to cpc"


@frozen
class _Scale:
    """From metres (or places in the order) and ohms to the page."""

    last: float
    top_ohm: float

    def x(self, place: float) -> float:
        """Across [px]."""
        return LEFT + 14 + (RIGHT - LEFT - 28) * place / self.last

    def y(self, ohm: float) -> float:
        """Up [px]; over-range stands at the top edge."""
        return TOP if math.isinf(ohm) else BOTTOM - (BOTTOM - TOP - 14) * ohm / self.top_ohm


def ring_profile(ring: RingJudged, circuit: Circuit) -> str:
    """The profile of a judged ring as an SVG document; a page's own style sheet holds its colours, light and dark."""
    places, metres = _places(ring, circuit)
    scale = _Scale(_last(ring, places, metres), _top(ring))
    kind = {PROVED: "good", DISPROVED: "bad"}.get(ring.verdict, "open")
    name = circuit.name or circuit.id
    body = [
        svg.tag("title", svg.clean(f"Ring {name}: {with_named(ring)}"), id="ring-title"),
        svg.tag("desc", svg.clean(text_of_profile(ring, circuit)), id="ring-desc"),
        svg.tag(
            "defs",
            _hatch("hatch-ln", "M -2 2 L 2 -2 M 0 8 L 8 0 M 6 10 L 10 6")
            + _hatch("hatch-le", "M -2 6 L 2 10 M 0 0 L 8 8 M 6 -2 L 10 2"),
        ),
        svg.tag("rect", x=0, y=0, width=WIDTH, height=HEIGHT, class_="paper", fill=PAPER),
        *(
            svg.text(12, 20 + 15 * i, line, class_="ink", fill=INK, font_size=13, font_weight=600)
            for i, line in enumerate(svg.wrap(f"Ring {name}", 44, 1))
        ),
        svg.text(
            12, 37, f"{_sign(ring)} {with_named(ring)}", class_=kind, fill=COLOURS[kind], font_size=13, font_weight=600
        ),
        *_legend(),
        *(_fault(ring, scale) if metres else []),
        *_axes(scale, metres),
        *_row(ring.sockets, places, scale, True),
        *_row(ring.sockets, places, scale, False),
        *_names(ring.sockets, places, scale),
    ]
    if any(math.isinf(v) for s in ring.sockets for v in (s.ln_ohm, s.le_ohm) if v is not None):
        words = "arrow: over-range"
        body.append(svg.text(RIGHT, TOP - 10, words, class_="soft", fill=SOFT, font_size=11, text_anchor="end"))
    if not ring.sockets:
        body.append(svg.text(LEFT + 20, 160, "No profile was read.", class_="ink", fill=INK, font_size=13))
    return svg.tag(
        "svg",
        "\n".join(part for part in body if part),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH} {HEIGHT}",
        width="100%",
        role="img",
        aria_labelledby="ring-title ring-desc",
        font_family=FONT,
    )


def text_of_profile(ring: RingJudged, circuit: Circuit) -> str:
    """The same profile in words, socket by socket."""
    said = [f"{with_named(ring).capitalize()}."]
    if ring.where_m is not None:
        said.append(f"Place: {ring.where_m.low:.0f} to {ring.where_m.high:.0f} m from leg 1.")
    for s in ring.sockets:
        parts = [
            _said(LINE_NEUTRAL, s.ln_ohm, s.ln_expected),
            _said(LINE_CPC, s.le_ohm, s.le_expected),
        ]
        said.append(f"{s.point}: {'; '.join(p for p in parts if p) or 'not read'}.")
    if not ring.sockets:
        said.append(f"No profile of circuit {circuit.id} was read.")
    return " ".join(said)


def _said(name: str, ohm: float | None, band: Band | None) -> str:
    if ohm is None:
        return ""
    text = f"{name} {'over-range' if math.isinf(ohm) else f'{ohm:.2f} Ω'}"
    if band is None:
        return text
    return f"{text}, {'inside' if _inside(ohm, band) else 'outside'} {band.low:.2f} to {band.high:.2f} Ω"


def _sign(ring: RingJudged) -> str:
    return {PROVED: "=", DISPROVED: "||"}.get(ring.verdict, "?")


def _inside(ohm: float, band: Band) -> bool:
    return band.low - 1e-9 <= ohm <= band.high + 1e-9


def _places(ring: RingJudged, circuit: Circuit) -> tuple[list[float], bool]:
    """Place of every socket, and whether it is in metres; else its number in the order."""
    known = [s.place_m for s in ring.sockets]
    if known and all(p is not None for p in known):
        return [p or 0.0 for p in known], True
    return [float(i + 1) for i in range(len(known))], False


def _last(ring: RingJudged, places: Sequence[float], metres: bool) -> float:
    if not metres:
        return len(places) + 1.0
    ends = [max(places), ring.where_m.high if ring.where_m else 0.0, ring.implied_m.low if ring.implied_m else 0.0]
    return max(*ends, 1.0)


def _top(ring: RingJudged) -> float:
    values = [v for s in ring.sockets for v in (s.ln_ohm, s.le_ohm) if v is not None and math.isfinite(v)]
    bands = [b.high for s in ring.sockets for b in (s.ln_expected, s.le_expected) if b is not None]
    return max([*values, *bands, 0.1]) * 1.1


def _hatch(name: str, d: str) -> str:
    stroke = svg.path(d, class_="softedge", stroke=SOFT, stroke_width=0.9)
    return svg.tag("pattern", stroke, id=name, patternUnits="userSpaceOnUse", width=8, height=8)


def _legend() -> list[str]:
    found = [
        svg.tag("circle", cx=280, cy=62, r=8, class_="badedge", stroke=BAD, stroke_width=1.6, fill="none"),
        svg.text(294, 66, "outside", class_="ink", fill=INK, font_size=11.5),
    ]
    for y, crossed, hatch, name in ((54, True, "hatch-ln", LINE_NEUTRAL), (71, False, "hatch-le", LINE_CPC)):
        dashes = None if crossed else "5 3"
        found += [
            svg.line(12, y, 38, y, class_="edge", stroke=INK, stroke_width=1.3, stroke_dasharray=dashes),
            _mark(25, y, crossed),
            svg.text(45, y + 4, name, class_="ink", fill=INK, font_size=11.5),
            svg.tag("rect", x=142, y=y - 6, width=20, height=12, fill=f"url(#{hatch})", class_="softedge", stroke=SOFT),
            svg.text(168, y + 4, "expected", class_="soft", fill=SOFT, font_size=11),
        ]
    return found


def _mark(x: float, y: float, line_neutral: bool) -> str:
    """A disc for line to neutral, a hollow square for line to cpc."""
    if line_neutral:
        return svg.tag("circle", cx=x, cy=y, r=4, class_="ink", fill=INK)
    return svg.tag(
        "rect", x=x - 4, y=y - 4, width=8, height=8, class_="edge hollow", stroke=INK, stroke_width=1.7, fill=PAPER
    )


def _axes(scale: _Scale, metres: bool) -> list[str]:
    step = next(s for s in (0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 1000) if scale.top_ohm / s <= 6)
    found = [
        svg.line(LEFT, TOP - 4, LEFT, BOTTOM, class_="edge", stroke=INK, stroke_width=1),
        svg.line(LEFT, BOTTOM, RIGHT, BOTTOM, class_="edge", stroke=INK, stroke_width=1),
        svg.text(LEFT - 8, TOP - 8, "Ω", class_="ink", fill=INK, font_size=12, text_anchor="end"),
    ]
    for i in range(int(scale.top_ohm / step + 1e-9) + 1):
        y = scale.y(i * step)
        found += [
            svg.line(LEFT - 4, y, LEFT, y, class_="edge", stroke=INK, stroke_width=1),
            svg.text(LEFT - 7, y + 4, f"{i * step:g}", class_="ink", fill=INK, font_size=11, text_anchor="end"),
        ]
    said = "along the cable from leg 1, in metres" if metres else "in their order from leg 1; places not entered"
    return [
        *found,
        svg.text((LEFT + RIGHT) / 2, HEIGHT - 10, said, class_="soft", fill=SOFT, font_size=11, text_anchor="middle"),
    ]


def _row(sockets: Sequence[SocketOnRing], places: Sequence[float], scale: _Scale, line_neutral: bool) -> list[str]:
    """One profile: its band, the line through the readings, the marks."""
    values = [s.ln_ohm if line_neutral else s.le_ohm for s in sockets]
    bands = [s.ln_expected if line_neutral else s.le_expected for s in sockets]
    found = _band([(p, b) for p, b in zip(places, bands, strict=True) if b is not None], scale, line_neutral)
    read = [(p, v, b) for p, v, b in zip(places, values, bands, strict=True) if v is not None]
    d = " ".join(
        f"{'M' if i == 0 else 'L'} {scale.x(p):.1f} {scale.y(v):.1f}"
        for i, (p, v, _) in enumerate(read)
        if math.isfinite(v)
    )
    if d:
        d = "M" + d[1:]
        found.append(
            svg.path(d, class_="edge", stroke=INK, stroke_width=1.3, stroke_dasharray=None if line_neutral else "5 3")
        )
    for place, value, band in read:
        found += _reading(scale.x(place), scale.y(value), value, band, line_neutral)
    return found


def _band(known: Sequence[tuple[float, Band]], scale: _Scale, line_neutral: bool) -> list[str]:
    if not known:
        return []
    first, last = known[0], known[-1]
    edge = 6.0  # so that a single socket has a band to be seen
    up = [
        (scale.x(first[0]) - edge, first[1].high),
        *((scale.x(p), b.high) for p, b in known),
        (scale.x(last[0]) + edge, last[1].high),
    ]
    down = [
        (scale.x(first[0]) - edge, first[1].low),
        *((scale.x(p), b.low) for p, b in known),
        (scale.x(last[0]) + edge, last[1].low),
    ]
    points = " ".join(f"{x:.1f},{scale.y(ohm):.1f}" for x, ohm in (*up, *reversed(down)))
    fill = "url(#hatch-ln)" if line_neutral else "url(#hatch-le)"
    return [svg.tag("polygon", points=points, fill=fill, class_="softedge", stroke=SOFT, stroke_width=1)]


def _reading(x: float, y: float, ohm: float, band: Band | None, line_neutral: bool) -> list[str]:
    if math.isinf(ohm):
        x += -6 if line_neutral else 6  # side by side, for both may be over-range
        arrow = svg.path(
            f"M {x:.1f} {y + 12:.1f} V {y:.1f} M {x - 4:.1f} {y + 5:.1f} L {x:.1f} {y:.1f} L {x + 4:.1f} {y + 5:.1f}",
            class_="badedge",
            stroke=BAD,
            stroke_width=1.8,
        )
        return [arrow, _mark(x, y + 14, line_neutral)]
    found = [_mark(x, y, line_neutral)]
    if band is not None and not _inside(ohm, band):
        above = ohm > band.high
        found.append(svg.tag("circle", cx=x, cy=y, r=8, class_="badedge", stroke=BAD, stroke_width=1.6, fill="none"))
        found.append(
            svg.text(
                x, y - 11 if above else y + 19, f"{ohm:.2f}", class_="ink", fill=INK, font_size=11, text_anchor="middle"
            )
        )
    return found


def _names(sockets: Sequence[SocketOnRing], places: Sequence[float], scale: _Scale) -> list[str]:
    """Names of the sockets below the axis, slanted; left out where they would run into one another."""
    found: list[str] = []
    free = -math.inf
    for s, place in zip(sockets, places, strict=True):
        x = scale.x(place)
        found.append(svg.line(x, BOTTOM, x, BOTTOM + 4, class_="edge", stroke=INK, stroke_width=1))
        if x - free < 11:
            continue
        free = x
        words = s.point if len(s.point) <= 10 else s.point[:9] + "…"
        y = BOTTOM + 15
        found.append(
            svg.text(
                x + 3,
                y,
                words,
                class_="ink",
                fill=INK,
                font_size=11,
                text_anchor="end",
                transform=f"rotate(-40 {x + 3:.1f} {y})",
            )
        )
    return found


def _fault(ring: RingJudged, scale: _Scale) -> list[str]:
    """Where the named fault lies: a washed strip under a bracket; a bridge has two, joined by an arch."""
    if ring.where_m is None or not ring.named:
        return []
    y = TOP - 8
    if len(ring.ends_m) == 2:
        start, end = ring.ends_m
        one, other = (scale.x((b.low + b.high) / 2.0) for b in (start, end))
        arch = svg.path(
            f"M {one:.1f} {y + 6} V {y} H {other:.1f} V {y + 6}", class_="badedge", stroke=BAD, stroke_width=1.8
        )
        via = f", by {ring.via_m.low:.0f} to {ring.via_m.high:.0f} m" if ring.via_m else ""
        words = f"bridge, {start.low:.0f}–{start.high:.0f} to {end.low:.0f}–{end.high:.0f} m{via}"
        return [_strip(start, scale), _strip(end, scale), arch, _over((one + other) / 2, y - 4, words, 132)]
    left, right = scale.x(max(0.0, ring.where_m.low)), scale.x(min(scale.last, ring.where_m.high))
    return [
        _strip(ring.where_m, scale),
        svg.path(f"M {left:.1f} {y + 6} V {y} H {right:.1f} V {y + 6}", class_="badedge", stroke=BAD, stroke_width=1.8),
        _over((left + right) / 2, y - 4, f"{ring.where_m.low:.0f} to {ring.where_m.high:.0f} m", 50),
    ]


def _strip(band: Band, scale: _Scale) -> str:
    left, right = scale.x(max(0.0, band.low)), scale.x(min(scale.last, max(0.0, band.high)))
    width = max(2.0, right - left)
    return svg.tag(
        "rect", x=left, y=TOP - 4, width=width, height=BOTTOM - TOP + 4, class_="bad", fill=BAD, opacity=0.12
    )


def _over(x: float, y: float, words: str, half: float) -> str:
    """Words over a bracket, kept on the page."""
    middle = min(max(x, LEFT + half), RIGHT - half)
    return svg.text(middle, y, words, class_="bad", fill=BAD, font_size=11, text_anchor="middle", font_weight=600)
