"""The earth map: main earthing terminal, bonds, joints and parts, and what is known of each.

The drawing signs are our own and need no colour: a whole bond is a double line, an open one has a gap between two
stops, an impaired one a notch of three strokes, one that is not shown is dashed. The word stands beside each.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ..base.counted import counted
from ..base.digits import Kind
from ..evidence.bond import DISPROVED, OPEN, PROVED
from ..outcomes.assessment import Assessment, BondJudged
from ..outcomes.verdict import FAILS, MEETS, with_named
from ..report.stops import stops
from ..site.events import PATH
from ..site.installation import Part
from . import svg
from .boardmap import Block, Starts, board_blocks, boards_said
from .mapparts import BAD, DARK, FONT, GOOD, INK, OPEN_QUESTION, PAPER, SHEET, SOFT, WIDTH, X_LINE, X_MET

TOP, FOOT = 58, 26
ROWS = (
    (104, 104),
    (80, 68),
)  # of a bond with the dotted path below it, and without; on paper less, the path's word stands beside
BOX, BEFORE_BOX = 106, 10  # width of a part's box, and of the gap between the joint and it


def earth_map(
    a: Assessment,
    *,
    screen: bool = True,
    bond_link: Callable[[str], str] | None = None,
    part_link: Callable[[str], str] | None = None,
    circuit_link: Callable[[str], str] | None = None,
) -> str:
    """The earth map of an assessment as an SVG document; ``screen`` adds dark colours for dark screens.

    bond_link, part_link, circuit_link  address behind a bond, a part without one, a circuit, by its id. A map with links is drawn to
    stand inside a page, whose own style sheet then holds the colours: it brings no styles along.
    """
    inside = bond_link is not None or part_link is not None
    return _sheet(a, _blocks(a, bond_link, part_link, circuit_link), screen, inside)


def earth_maps(a: Assessment, tallest: float, rest: float) -> list[str]:
    """The same for paper, as wide as a page, on as many sheets as it needs.

    tallest  of the first sheet, rest  of the others [of :data:`SHEET` wide]
    """
    sheets: list[list[Block]] = [[]]
    room = tallest - TOP - FOOT
    for block in _blocks(a, wide=SHEET):
        if block.height > room and sheets[-1]:
            sheets.append([])
            room = rest - TOP - FOOT
        sheets[-1].append(block)
        room -= block.height
    return [_sheet(a, sheet, screen=False, inside=False, wide=SHEET) for sheet in sheets]


def _blocks(
    a: Assessment,
    bond_link: Callable[[str], str] | None = None,
    part_link: Callable[[str], str] | None = None,
    circuit_link: Callable[[str], str] | None = None,
    wide: int = WIDTH,
) -> list[Block]:
    """The rows of the map from the top down."""
    bonded = {b.bond.part for b in a.bonds}
    broken = {n.entry for n in a.not_judged}

    def bond(b: BondJudged) -> Block:
        high = ROWS[wide == SHEET][not _path_digits(b)]
        return Block(high, lambda y, _: [_linked(_bond_row(a, b, y, wide), bond_link, b.bond.id)])

    def lonely(p: Part) -> Block:
        return Block(
            ROWS[wide == SHEET][1], lambda y, _: [_linked(_lonely_row(p, y, p.id in broken, wide), part_link, p.id)]
        )

    found = [bond(b) for b in a.bonds] + [lonely(p) for p in a.visit.site.parts if p.id not in bonded]
    return [*found, *board_blocks(a, circuit_link, wide)]


def _sheet(a: Assessment, blocks: Sequence[Block], screen: bool, inside: bool, wide: int = WIDTH) -> str:
    rows: list[str] = []
    y, starts = TOP, Starts()
    for block in blocks:
        rows += block.draw(y, starts)
        y += block.height
    if not blocks:
        rows.append(svg.text(44, TOP + 40, "No parts or bonds are entered yet.", class_="ink", fill=INK, font_size=13))
        y += ROWS[0][0]
    height = y + (FOOT if wide == WIDTH else 8)
    band, down = _danger(a) if screen and not inside else ([], 0.0)
    said = "".join(f"STOP. {s.what} " for s in stops(a)) if band else ""
    body = [
        svg.tag("title", svg.clean(f"Earth map of {a.visit.site.place}, {a.visit.date.isoformat()}"), id="map-title"),
        svg.tag("desc", svg.clean(said + text_of_map(a)), id="map-desc"),
        svg.tag("style", DARK) if screen and not inside else "",
        svg.tag("rect", x=0, y=0, width=wide, height=height + down, class_="paper", fill=PAPER)
        if wide == WIDTH
        else "",
        *band,
        *(
            [svg.tag("g", "\n".join((*_heading(a, height), *rows)), transform=f"translate(0 {down:g})")]
            if band
            else [*_heading(a, height), *rows]
        ),
    ]
    return svg.tag(
        "svg",
        "\n".join(part for part in body if part),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {wide} {height + down:g}",
        width="100%" if screen else wide,
        height=None if screen else height,
        role="group" if inside else "img",  # what is inside an image cannot be reached
        aria_labelledby="map-title map-desc",
        font_family=FONT,
        style="max-width:46rem" if screen and not inside else None,
    )


def _danger(a: Assessment) -> tuple[list[str], float]:
    """Danger that is there now, above a map that stands alone; inside a page or a document that leads with it already."""
    made: list[str] = []
    y = 0.0
    for s in stops(a):
        lines = svg.wrap(f"STOP. {s.what}", 56, 6)
        height = 14.0 * len(lines) + 10
        made.append(svg.tag("rect", x=0, y=y, width=WIDTH, height=height, class_="bad-fill", fill=BAD))
        made += [
            svg.text(10, y + 17 + 14 * i, line, fill=PAPER, font_size=11, font_weight=600)
            for i, line in enumerate(lines)
        ]
        y += height + 4
    return made, y


def _linked(row: str, link: Callable[[str], str] | None, name: str) -> str:
    return row if link is None else svg.tag("a", row, href=link(name))


def text_of_map(a: Assessment) -> str:
    """The same map in words, bond by bond."""
    said = [f"Main earthing terminal with {counted(len(a.bonds), 'bond')}."]
    off = {e.what for e in a.still_off}
    for b in a.bonds:
        words = [f"{b.part.title}: {b.bond.csa_mm2:g} mm², {b.bond.length_m:g} m, {with_named(b)}"]
        words.append({MEETS: "joint good", FAILS: "joint poor"}.get(b.joint.outcome, "joint not decided"))
        path = _path_digits(b)
        if path:
            words.append(f"other metal in parallel, {path}")
        if b.bond.id in off:
            words.append("its MET end is off")
        said.append(", ".join(words) + ".")
    bonded = {b.bond.part for b in a.bonds}
    said += [f"{p.title}: no bond is entered." for p in a.visit.site.parts if p.id not in bonded]
    return " ".join([*said, *boards_said(a)])


def _path_digits(b: BondJudged) -> str:
    for r in reversed(b.readings):
        shown = r.reading.shown
        if r.reading.test == PATH and r.used and shown is not None:
            return "" if shown.kind is Kind.OVER else shown.as_shown
    return ""


def _heading(a: Assessment, height: float) -> list[str]:
    supply = a.visit.site.supply
    system = (supply.system or "system not known") + (" with PME" if supply.pme else "")
    earthing = f"earthing conductor {supply.earthing_csa_mm2:g} mm²" if supply.earthing_csa_mm2 else ""
    return [
        svg.text(X_MET - 6, 22, "MET", class_="ink", fill=INK, font_size=14, font_weight=600),
        svg.text(54, 15, f"main earthing terminal, {system}", class_="soft", fill=SOFT, font_size=11.5),
        svg.text(54, 29, earthing, class_="soft", fill=SOFT, font_size=11.5) if earthing else "",
        svg.tag("rect", x=X_MET - 6, y=32, width=12, height=height - 44, class_="ink", fill=INK, rx=2),
    ]


def _bond_row(a: Assessment, b: BondJudged, y: float, wide: int) -> str:
    kind = {PROVED: "good", DISPROVED: "bad"}.get(b.verdict, "open")
    colour = {"good": GOOD, "bad": BAD, "open": OPEN_QUESTION}[kind]
    middle = y + 30
    off = b.bond.id in {e.what for e in a.still_off}
    part = wide - BOX - 8
    joint = part - BEFORE_BOX
    inner = [
        svg.tag("title", svg.clean(f"{b.part.title}: {with_named(b)}")),
        svg.text(
            38,
            y + 16,
            f"{b.bond.csa_mm2:g} mm², {b.bond.length_m:g} ± {b.bond.length_tol_m:g} m",
            class_="ink",
            fill=INK,
            font_size=12,
        ),
        *_conductor(b, middle, kind, colour, off, joint),
        *_joint(b, middle, joint),
        _part_box(b.part, y, part),
        svg.text(
            38, middle + 24, _sign(b) + " " + with_named(b), class_=kind, fill=colour, font_size=13.5, font_weight=600
        ),
        *_path(b, middle, part + BOX / 2, wide == SHEET),
    ]
    return svg.tag("g", "".join(inner))


def _sign(b: BondJudged) -> str:
    if b.verdict == PROVED:
        return "="
    if b.verdict == DISPROVED:
        return "||" if b.named == OPEN else "#"
    return "?"


def _conductor(b: BondJudged, y: float, kind: str, colour: str, off: bool, joint: float) -> list[str]:
    common = {"class_": kind + "edge", "stroke": colour, "stroke_width": 2.4}
    start = X_LINE + 20 if off else X_LINE - 2
    drawn: list[str] = []
    if off:
        drawn.append(svg.text(X_LINE + 1, y - 5, "off", class_="bad", fill=BAD, font_size=11, font_weight=600))
        drawn.append(svg.line(X_LINE + 18, y - 6, X_LINE + 18, y + 6, **common))
    if b.verdict == PROVED:
        return [
            *drawn,
            svg.line(start, y - 2.6, joint, y - 2.6, **common),
            svg.line(start, y + 2.6, joint, y + 2.6, **common),
        ]
    middle = (X_LINE + joint) / 2
    if b.verdict == DISPROVED and b.named == OPEN:
        return [
            *drawn,
            svg.line(start, y, middle - 12, y, **common),
            svg.line(middle + 12, y, joint, y, **common),
            svg.line(middle - 12, y - 8, middle - 12, y + 8, **common),
            svg.line(middle + 12, y - 8, middle + 12, y + 8, **common),
        ]
    if b.verdict == DISPROVED:
        notch = "".join(f" M {middle - 8 + 8 * i:.0f} {y + 8:.0f} l 5 -16" for i in range(3))
        return [*drawn, svg.line(start, y, joint, y, **common), svg.path(notch.strip(), **common)]
    return [*drawn, svg.line(start, y, joint, y, stroke_dasharray="7 6", **common)]


def _joint(b: BondJudged, y: float, x: float) -> list[str]:
    """A disc where the joint was found good, a crossed ring where it is poor, an empty ring where nothing is decided."""
    if b.joint.outcome == MEETS:
        return [svg.tag("circle", cx=x, cy=y, r=5, class_="ink", fill=INK)]
    ring = svg.tag("circle", cx=x, cy=y, r=5, class_="edge box", stroke=INK, stroke_width=1.6, fill=PAPER)
    if b.joint.outcome != FAILS:
        return [ring]
    return [
        ring,
        svg.line(x - 7, y - 7, x + 7, y + 7, class_="badedge", stroke=BAD, stroke_width=2),
        svg.line(x - 7, y + 7, x + 7, y - 7, class_="badedge", stroke=BAD, stroke_width=2),
    ]


def _part_box(part: Part, y: float, x: float) -> str:
    lines = svg.wrap(part.title, 14, 3)
    first = y + 30 - 7 * (len(lines) - 1) + 4
    words = [
        svg.text(x + BOX / 2, first + 14 * i, line, class_="ink", fill=INK, font_size=12.5, text_anchor="middle")
        for i, line in enumerate(lines)
    ]
    box = svg.tag(
        "rect",
        x=x,
        y=y + 4,
        width=BOX,
        height=52,
        rx=4,
        class_="edge box",
        stroke=INK,
        stroke_width=1.4,
        fill=PAPER,
    )
    return box + "".join(words)


def _path(b: BondJudged, y: float, x: float, beside: bool) -> list[str]:
    digits = _path_digits(b)
    if not digits:
        return []
    low = y + (38 if beside else 46)
    at = x - 270 if beside else 38.0, low - 6 if beside else low + 14
    d = f"M {x:g} {y + 26} V {low - 8} Q {x:g} {low} {x - 8:g} {low} H {X_LINE - 2}"
    return [
        svg.path(d, class_="softedge", stroke=SOFT, stroke_width=1.6, stroke_dasharray="1.5 4", stroke_linecap="round"),
        svg.text(at[0], at[1], f"other metal in parallel, {digits}", class_="soft", fill=SOFT, font_size=11.5),
    ]


def _lonely_row(part: Part, y: float, broken: bool, wide: int) -> str:
    what = "bond entry could not be read" if broken else "no bond is entered"
    return svg.tag(
        "g",
        "".join(
            [
                svg.tag("title", svg.clean(f"{part.title}: {what}")),
                svg.text(38, y + 34, what, class_="open", fill=OPEN_QUESTION, font_size=13, font_weight=600),
                _part_box(part, y, wide - BOX - 8),
            ]
        ),
    )
