"""Boards and circuits on the earth map: each earth bar with its protective conductors, sub-boards under what feeds them.

A conductor hangs from its bar with the sign of its verdict: two lines when it is proved, a gap between stops when it is
open, a notch when it is impaired, dashes when it was read and nothing is shown, dots when nothing was read.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from attrs import frozen

from ..evidence.bond import DISPROVED, OPEN, PROVED
from ..evidence.graph.model import POINT_MARK
from ..evidence.ring.faults import Kind, kind_of
from ..outcomes.assessment import Assessment
from ..outcomes.circuits import BoardJudged, CircuitJudged
from ..site.installation import MET
from . import svg
from .mapparts import BAD, COLOURS, INK, SOFT, WIDTH, X_LINE

CELL, LINE, HEAD, INDENT, DEEPEST = 40, 58, 30, 16, 4
NOTHING = "nothing read"
Starts = dict[str, tuple[float, float]]  # where the conductor of a feeder leaves its bar, for boards further down


@frozen
class Block:
    """A piece of the map that is not parted: its height, and how it is drawn at a place from the top."""

    height: int
    draw: Callable[[int, Starts], list[str]]


def board_blocks(a: Assessment, link: Callable[[str], str] | None = None, wide: int = WIDTH) -> list[Block]:
    """The boards, each after what feeds it, and the known metal: what each takes in height, and how it is drawn."""
    found = [_block(a, board, depth, link, wide) for board, depth in _tree(a)]
    lines = [line for said in links_said(a) for line in svg.wrap(said, wide // 7, 3)]
    return [*found, Block(34 + 15 * len(lines), lambda y, _: _links(lines, y))] if lines else found


def _block(a: Assessment, board: BoardJudged, depth: int, link: Callable[[str], str] | None, wide: int) -> Block:
    x = X_LINE + 14 + INDENT * min(depth, DEEPEST)

    def draw(y: float, starts: Starts) -> list[str]:
        drawn = _way_to(board, x, y, starts.get(board.board.fed_by))
        drawn += _board(a, board, x, y, link, wide)
        starts.update({c.circuit.id: (x + 4, y + HEAD + 3) for c in board.circuits})
        return drawn

    return Block(HEAD + LINE * max(1, math.ceil(len(board.circuits) / _a_line(x, wide))) + 8, draw)


def _links(lines: Sequence[str], y: float) -> list[str]:
    drawn = [svg.text(38, y + 14, "Known metal between them", class_="soft", fill=SOFT, font_size=11.5)]
    return drawn + [
        svg.text(38, y + 31 + 15 * i, line, class_="ink", fill=INK, font_size=12) for i, line in enumerate(lines)
    ]


def boards_said(a: Assessment) -> list[str]:
    """The same in words: a sentence for each board and each piece of known metal."""
    said = []
    for board, _ in _tree(a):
        words: dict[str, list[str]] = {}
        for c in board.circuits:
            words.setdefault(word(c), []).append(c.circuit.id)
        what = "; ".join(f"{w}: {', '.join(ids)}" for w, ids in words.items()) or "no circuits"
        fed = f", fed by {board.board.fed_by}" if board.board.fed_by else ""
        said.append(f"Board {board.board.name or board.board.id}{fed}. Protective conductors {what}.")
    return [*said, *(f"Known metal: {x}." for x in links_said(a))]


def word(c: CircuitJudged) -> str:
    """The verdict on a circuit's protective conductor, or on its ring, in words."""
    if c.circuit.cpc == "none":
        return "no protective conductor"
    judged = c.ring or c.cpc
    if judged is None or (c.cpc is not None and c.ring is None and c.cpc.evidence is None):
        return NOTHING
    return f"{judged.verdict}: {judged.named}" if judged.verdict == DISPROVED and judged.named else judged.verdict


def links_said(a: Assessment) -> list[str]:
    """Every piece of known metal with its two ends."""
    titles = {p.id: p.title for p in a.visit.site.parts} | {MET: "MET"}

    def place(end: str) -> str:
        thing, mark, point = end.partition(POINT_MARK)
        return f"{thing} at {point}" if mark else titles.get(end, end)

    return [f"{x.id}: {place(x.a)} to {place(x.b)}" for x in a.visit.site.links]


def _tree(a: Assessment) -> Iterator[tuple[BoardJudged, int]]:
    """Boards with their depth, each after the one that feeds it; what hangs on nothing that is there comes at the end."""
    on = {c.circuit.id: b.board.id for b in a.boards for c in b.circuits}
    left = list(a.boards)

    def below(parent: str | None, depth: int) -> Iterator[tuple[BoardJudged, int]]:
        for board in [b for b in left if on.get(b.board.fed_by) == parent]:
            if board in left:
                left.remove(board)
                yield board, depth
                yield from below(board.board.id, depth + 1)

    yield from below(None, 0)
    yield from ((board, 0) for board in left)


def _way_to(board: BoardJudged, x: float, y: float, feeder: tuple[float, float] | None) -> list[str]:
    """From the MET's bar, or from the bar above, to the bar of a board."""
    bar = y + HEAD
    edge = {"class_": "edge", "stroke": INK, "stroke_width": 1.8}
    if feeder is None and board.board.fed_by:  # what feeds it stands on another sheet
        return [svg.line(x - 14, bar, x, bar, stroke_dasharray="3 3", **edge)]
    if feeder is None:
        return [svg.line(X_LINE - 2, bar, x, bar, **edge)]
    return [svg.path(f"M {feeder[0]:g} {feeder[1]:g} V {bar:g} H {x:g}", **edge)]


def _a_line(x: float, wide: int) -> int:
    """Circuits that stand side by side."""
    return max(1, int((wide - 10 - x - 8) // CELL))


def _board(
    a: Assessment, board: BoardJudged, x: float, y: float, link: Callable[[str], str] | None, wide: int
) -> list[str]:
    drawn: list[str] = []
    b, circuits = board.board, board.circuits
    name = b.name or b.id
    fed = f"{b.id}, fed by {b.fed_by}" if b.fed_by else b.id
    title = svg.wrap(f"{name} ({fed})" if name != b.id or b.fed_by else name, int((wide - x) / 7.2), 1)[0]
    drawn.append(svg.text(x + 12, y + HEAD - 10, title, class_="ink", fill=INK, font_size=12.5, font_weight=600))
    a_line = _a_line(x, wide)
    rows = [circuits[i : i + a_line] for i in range(0, len(circuits), a_line)] or [()]
    off = {e.what for e in a.still_off}
    for number, some in enumerate(rows):
        bar = y + HEAD + number * LINE
        width = max(CELL, len(some) * CELL + 8)
        drawn.append(svg.tag("rect", x=x, y=bar - 3, width=width, height=6, rx=2, class_="ink", fill=INK))
        if number:
            up = bar - LINE
            drawn.append(svg.line(x + 2, up, x + 2, bar, class_="edge", stroke=INK, stroke_width=1.8))
        for i, c in enumerate(some):
            cell = _circuit(c, x + 8 + CELL * (i + 0.5), bar + 3, f"{c.circuit.id}:cpc" in off)
            drawn.append(cell if link is None else svg.tag("a", cell, href=link(c.circuit.id)))
    if not circuits:
        drawn.append(
            svg.text(x + 12, y + HEAD + 20, "No circuits are entered.", class_="soft", fill=SOFT, font_size=11.5)
        )
    return drawn


def _circuit(c: CircuitJudged, x: float, y: float, off: bool) -> str:
    said = word(c)
    verdict = (c.ring or c.cpc).verdict if (c.ring or c.cpc) is not None and said != NOTHING else ""  # type: ignore[union-attr]
    kind = "good" if verdict == PROVED else "bad" if verdict == DISPROVED else "soft" if not verdict else "open"
    edge = {"class_": kind + "edge", "stroke": COLOURS[kind], "stroke_width": 2.2}
    low = y + 26
    parts = [svg.tag("title", svg.clean(f"{c.circuit.id} {c.circuit.name}".strip() + f": {said}"))]
    # A field to tap, as large as the cell.
    parts.append(svg.tag("rect", x=x - CELL / 2, y=y, width=CELL, height=LINE - 8, fill="transparent"))
    if verdict == PROVED:
        parts += [svg.line(x - 2.4, y, x - 2.4, low, **edge), svg.line(x + 2.4, y, x + 2.4, low, **edge)]
    elif verdict == DISPROVED and _is_open(c):
        parts += [
            svg.line(x, y, x, y + 8, **edge),
            svg.line(x, y + 18, x, low, **edge),
            svg.line(x - 6, y + 8, x + 6, y + 8, **edge),
            svg.line(x - 6, y + 18, x + 6, y + 18, **edge),
        ]
    elif verdict == DISPROVED:
        notch = " ".join(f"M {x - 6:g} {y + 8 + 5 * i:g} l 12 -4" for i in range(3))
        parts += [svg.line(x, y, x, low, **edge), svg.path(notch, **edge)]
    elif verdict:
        parts.append(svg.line(x, y, x, low, stroke_dasharray="6 4", **edge))
    elif c.circuit.cpc != "none":
        parts.append(svg.line(x, y, x, low, stroke_dasharray="1.5 4", stroke_linecap="round", **edge))
    if off:
        parts.append(svg.text(x + 4, y + 12, "off", class_="bad", fill=BAD, font_size=10.5, font_weight=600))
    name = _short(c.circuit.id, c.circuit.board)
    colour = "ink" if kind == "soft" else kind
    fill = INK if kind == "soft" else COLOURS[kind]
    parts.append(svg.text(x, low + 13, name, class_=colour, fill=fill, font_size=11.5, text_anchor="middle"))
    return svg.tag("g", "".join(parts))


def _short(circuit: str, board: str) -> str:
    """An id that fits under its conductor: without the board's own, which stands above."""
    own = circuit.removeprefix(board).lstrip(" .-/_") or circuit
    return own if len(own) <= 6 else own[:5] + "…"


def _is_open(c: CircuitJudged) -> bool:
    if c.ring is not None:
        return kind_of(c.ring.named) in (Kind.BREAK, Kind.ALL_OPEN)
    return c.cpc is not None and c.cpc.named == OPEN
