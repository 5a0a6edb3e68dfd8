"""What the earth network says about a test between two places, in sentences; screens, terminal and gates share them."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence

from ...base.counted import counted
from ...base.display import Display
from ...base.quantity import Band
from ...site.installation import MET
from ..expected import on_display
from .model import BAR, BOARD, BOND, CPC, EARTHING, ELECTRODE, LINK, PART, POINT, EarthNetwork, Node
from .reach import Break, Reach, lost

_PIECES = {
    EARTHING: "the earthing conductor",
    ELECTRODE: "the electrode {}",
    BAR: "the tail of board {}",
    BOND: "the bond {}",
    CPC: "the protective conductor of {}",
    LINK: "{}",
}
NOT_KNOWN = "not known"
_SHOWN = 0.01  # a share of the test current below this is not spoken of
_MOST = 6  # names in one sentence


def piece_said(kind: str, of: str) -> str:
    """A conductor or a link in words."""
    return _PIECES[kind].format(of)


def digits(band: Band | None, display: Display) -> str:
    """What a display may show for a band: digits, or that it shows over-range."""
    if band is None or band.low > display.top or (math.isinf(band.high) and band.low > 0.9 * display.top):
        return "over-range"
    if math.isinf(band.high):
        return f"{band.low:.2f} {band.unit} or more"
    shown = on_display(band, display)
    decimals = max(0, -math.floor(math.log10(display.step) + 1e-9))
    low, high = f"{shown.low:.{decimals}f}", f"{shown.high:.{decimals}f}"
    return f"{low} {band.unit}" if low == high else f"{low} to {high} {band.unit}"


def shown_words(reach: Reach, display: Display) -> str:
    """What the display should show between two places: digits, over-range, or that it is not known."""
    band = reach.band if reach.band is not None else reach.read
    return NOT_KNOWN if band is None else digits(band, display)


def then_words(x: Break, display: Display) -> str:
    """What the display would show with one conductor broken."""
    return NOT_KNOWN if x.shows is None else digits(x.band, display)


def reach_words(reach: Reach, display: Display, *, listed: bool = False) -> list[str]:
    """What the test should show, how the current runs, and which breaks it could and could not show: a line each.

    listed  the breaks stand in a list beside it, and are left out here
    """
    where = f"{reach.a.title[:1].upper()}{reach.a.title[1:]} to {reach.b.title}"
    if reach.band is not None and not reach.breaks:
        return [f"{where}: one and the same place. A test between the two shows the leads and nothing else."]
    off = f" with {', '.join(sorted(reach.off))} off" if reach.off else " with all connected"
    if reach.band is None and reach.read is not None:
        return [f"{where}{off}: {digits(reach.read, display)}, as it was read. Nothing that is entered joins the two."]
    if reach.band is None:
        return [
            f"{where}{off}: not known. Nothing that is entered joins the two, and other metal was not read.",
            "Over-range would mean that nothing joins them, digits that other metal does.",
        ]
    said = [f"{where}{off}: {digits(reach.band, display)}, from what is entered and whole."]
    if math.isinf(reach.band.high):
        said.append(_no_upper_edge(reach))
    if reach.lower:
        said.append("Metal that is not entered may make it read lower.")
    return said if listed else [*said, *_breaks(reach, display)]


def _no_upper_edge(reach: Reach) -> str:
    metal = [p.of for p in reach.pieces if p.kind == LINK and math.isinf(p.high_ohm)]
    lacking = [f"the resistance of {' and '.join(metal)}"] if metal else []
    if any(p.kind != LINK and math.isinf(p.high_ohm) for p in reach.pieces):
        lacking.append("size or length of a conductor on the way")
    return f"There is no upper edge: {' and '.join(lacking)} is not known."


def _breaks(reach: Reach, display: Display) -> list[str]:
    """How the current runs, and which breaks the test could and could not show."""
    said = []
    carried = [x for x in reach.breaks if x.share >= _SHOWN]
    if not reach.alone:
        shares = (f"{piece_said(x.kind, x.of)} {x.share:.0%}" for x in carried)
        said.append(f"The test current runs through {_listed(list(shares), 'and')}.")
    shown = [x for x in reach.breaks if x.shows]
    hidden = [x for x in reach.breaks if x.shows is False]
    unknown = [piece_said(x.kind, x.of) for x in reach.breaks if x.shows is None]
    if shown:
        said.append(f"It would show a break in {_listed([_would(x, display) for x in shown], 'or')}.")
    if hidden:
        said.append(
            f"It could not show a break in {_listed([_would(x, display) for x in hidden], 'or')}: the digits may be the same."
        )
    if unknown:
        said.append(
            f"Not known whether it would show a break in {_listed(unknown, 'or')}: metal that is not entered may join the two "
            "places. Read the path first, with that conductor off; over-range there means that nothing else joins them."
        )
    return said


def _would(x: Break, display: Display) -> str:
    return f"{piece_said(x.kind, x.of)} (then {digits(x.band, display)})"


def losses_words(
    network: EarthNetwork, off: Iterable[str], more: Iterable[str], leave_out: Collection[str] = ()
) -> str:
    """What has no earth once the ends ``more`` come off as well, and what only known metal still holds; empty for nothing.

    leave_out  places that go without saying: a bond's own part
    """
    before, after = frozenset(off), frozenset(more)
    metal = {end for p in network.pieces if p.kind == LINK for end in p.off_by}
    gone = [n for n in lost(network, before, after) if n.id not in leave_out]
    names = {n.id for n in gone}
    bare = lost(network, before | metal, after) if metal - before else ()
    held = [n for n in bare if n.id not in names and n.id not in leave_out]
    said = [f"Without earth while it is off: {rests_words(network, gone)}."] if gone else []
    said += [f"Held by known metal only: {rests_words(network, held)}."] if held else []
    return " ".join(said)


def rests_words(network: EarthNetwork, nodes: Sequence[Node]) -> str:
    """What loses its earth, most of it by number: boards with their circuits, single circuits and parts; empty for nothing."""
    if not nodes:
        return ""
    boards = [n.id for n in nodes if n.kind == BOARD]
    on_board = {p.of: p.a for p in network.pieces if p.kind == CPC and p.a in boards}
    parts = [n.title for n in nodes if n.kind == PART]
    circuits = list(dict.fromkeys(n.of for n in nodes if n.kind == POINT))
    names = []
    if any(n.id == MET for n in nodes):
        names.append("everything on the MET")
    else:
        for board in boards:
            mine = sum(on_board.get(c) == board for c in circuits)
            names.append(f"board {board} with {counted(mine, 'circuit')}")
        names += [f"circuit {c}" for c in circuits if c not in on_board]
        names += parts
    return _listed(names, "and")


def _listed(names: Sequence[str], word: str) -> str:
    rest = len(names) - _MOST
    kept = [*names[:_MOST], f"{rest} more"] if rest > 0 else list(names)
    return kept[0] if len(kept) == 1 else f"{', '.join(kept[:-1])} {word} {kept[-1]}"
