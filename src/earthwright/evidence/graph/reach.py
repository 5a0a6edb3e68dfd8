"""Questions to the earth network in a state: what a test should read, which breaks it could show, what loses its earth."""

from __future__ import annotations

import math
from collections.abc import Iterable

from attrs import frozen

from ...base.display import Display
from ...base.quantity import Band
from ...physics.network import Edge, Network, two_point
from ...site.installation import MET
from ..expected import on_display
from .blocks import Blocks
from .model import EARTH, EarthNetwork, Node, Piece


@frozen
class Break:
    """What a test would read if one bond, protective conductor or link on its way were broken.

    kind, of  what is broken;  share  part of the test current that it carries while whole (a middle value), 0 to 1
    band      what would be read then [Ω]; None: nothing that is known would join the two places, so over-range
    shows     whether every display that the break allows lies above every one that a whole network allows; None: not
              known, for metal that is not entered may join the places
    rests     ids of the readings of a path that ``band`` rests on
    """

    kind: str
    of: str
    share: float
    band: Band | None
    shows: bool | None
    rests: tuple[str, ...] = ()


@frozen
class Reach:
    """What a test between two places should read, from what is entered.

    band    what a whole network reads [Ω]; None when nothing joins the places;  its high end is infinite when the only
            way leads over metal of which nothing is known
    pieces  everything that carries current of the test;  breaks  one for each conductor or link among them
    read    what was read between places that nothing entered joins [Ω];  lower  metal that is not entered may lower ``band``
    """

    a: Node
    b: Node
    off: frozenset[str]
    band: Band | None
    pieces: tuple[Piece, ...]
    breaks: tuple[Break, ...]
    read: Band | None = None
    lower: bool = False

    @property
    def alone(self) -> bool:
        """Whether one break anywhere on the way parts the two places: no second way is known."""
        return bool(self.breaks) and all(x.band is None or x.band.high == math.inf for x in self.breaks)


class Standing:
    """The network in one state, made ready once for any number of questions."""

    def __init__(self, network: EarthNetwork, off: Iterable[str] = ()) -> None:
        self.network, self.off = network, frozenset(off)
        self.pieces = network.standing(self.off)
        self._blocks = Blocks([(p.a, p.b) for p in self.pieces])

    def joined(self, a: str, b: str) -> bool:
        """Whether anything that is entered joins two places."""
        return self._blocks.joined(self.network.node(a).id, self.network.node(b).id)

    def between(self, a: str, b: str) -> tuple[Piece, ...] | None:
        """The pieces that can carry current between two places; None when nothing joins them."""
        found = self._blocks.between(self.network.node(a).id, self.network.node(b).id)
        return None if found is None else tuple(self.pieces[i] for i in found)

    def in_series(self, a: str, b: str) -> tuple[Piece, ...]:
        """The pieces between two places through which all of the current passes."""
        found = self._blocks.in_series(self.network.node(a).id, self.network.node(b).id)
        return tuple(self.pieces[i] for i in found)

    def shares(self, a: str, b: str) -> dict[tuple[str, str], float]:
        """Kind and id of what carries the current between two places, with its largest share while whole, most first."""
        pieces = self.between(a, b) or ()
        found = _shares(pieces, self.network.node(a).id, self.network.node(b).id) if pieces else {}
        most: dict[tuple[str, str], float] = {}
        for piece in pieces:
            share = found.get(piece.id, 0.0)
            if piece.high_ohm > 0.0 and share > most.get((piece.kind, piece.of), 0.0):
                most[piece.kind, piece.of] = share
        return dict(sorted(most.items(), key=lambda x: -x[1]))

    def band(self, a: str, b: str, contact_ohm: float = 0.0) -> Band | None:
        """What a test between two places should read [Ω]; None when nothing joins them.

        contact_ohm  what probes and terminals may add. Resistance between two points rises with every piece, so all
        pieces at their low and all at their high ends give the band (Rayleigh).
        """
        pieces = self.between(a, b)
        if pieces is None:
            return None
        return _band(pieces, self.network.node(a).id, self.network.node(b).id, contact_ohm)

    def reach(self, a: str, b: str, display: Display | None = None, contact_ohm: float = 0.0) -> Reach:
        """The same with every break that the test could or could not show. Raises EarthNetworkError for unknown places."""
        start, end = self.network.node(a), self.network.node(b)
        pieces = self.between(a, b)
        if pieces is None:
            return Reach(start, end, self.off, None, (), ())
        band = _band(pieces, start.id, end.id, contact_ohm)
        shares = _shares(pieces, start.id, end.id)
        display = display or Display()
        breaks: dict[tuple[str, str], Break] = {}
        for piece in pieces:
            share = shares.get(piece.id, 0.0)
            if piece.high_ohm == 0.0 or share < 1e-9:
                continue  # a name for the same place, or a stretch that carries nothing
            one = _break(pieces, piece, start.id, end.id, band, share, display, contact_ohm)
            known = breaks.get((piece.kind, piece.of))
            breaks[piece.kind, piece.of] = one if known is None else _harder(known, one)
        order = sorted(breaks.values(), key=lambda x: -x.share)
        carrying = tuple(p for p in pieces if shares.get(p.id, 0.0) >= 1e-9)
        return Reach(start, end, self.off, band, carrying, tuple(order))


def lost(network: EarthNetwork, off: Iterable[str], more: Iterable[str], root: str = MET) -> tuple[Node, ...]:
    """The places that lose ``root`` when the ends ``more`` come off as well: what rests on them.

    With ``root`` the MET; when the earthing conductor itself comes off, everything that hangs on the MET has lost its
    means of earthing, and that is what is listed.
    """
    before = Standing(network, off)
    after = Standing(network, {*off, *more})
    if before.joined(root, EARTH) and not after.joined(root, EARTH):
        return tuple(n for n in network.nodes if n.id != EARTH and after.joined(n.id, root))
    return tuple(
        n for n in network.nodes if n.id != EARTH and before.joined(n.id, root) and not after.joined(n.id, root)
    )


def touching(network: EarthNetwork, place: str, off: Iterable[str] = (), to: str = MET) -> tuple[Piece, ...]:
    """The pieces at a place by which it is joined to ``to``: those whose other end still reaches it by itself."""
    standing = network.standing(off)
    here, there = network.node(place).id, network.node(to).id
    rest = Blocks([(p.a, p.b) for p in standing if here not in (p.a, p.b)])
    found = []
    for piece in standing:
        if here in (piece.a, piece.b):
            other = piece.b if piece.a == here else piece.a
            if rest.joined(other, there):
                found.append(piece)
    return tuple(found)


def _edges(pieces: Iterable[Piece], high: bool, without: Piece | None = None) -> list[Edge]:
    return [Edge(p.id, p.a, p.b, p.high_ohm if high else p.low_ohm) for p in pieces if p is not without]


def _band(pieces: tuple[Piece, ...], a: str, b: str, contact_ohm: float, without: Piece | None = None) -> Band | None:
    low = two_point(Network(_edges(pieces, False, without), (a, b)), a, b)
    if not low.connected:
        return None
    high = two_point(Network(_edges(pieces, True, without), (a, b)), a, b).r_ohm
    return Band(low.r_ohm, high + contact_ohm, "Ω")


def _shares(pieces: tuple[Piece, ...], a: str, b: str) -> dict[str, float]:
    """Share of the test current in each piece, every piece at the middle of what it may have."""
    edges = []
    for p in pieces:
        middle = (p.low_ohm + p.high_ohm) / 2.0 if p.known else math.sqrt(p.low_ohm * 1000.0)
        edges.append(Edge(p.id, p.a, p.b, middle))
    found = two_point(Network(edges, (a, b)), a, b)
    return {name: abs(share) for name, share in found.shares.items()}


def _break(
    pieces: tuple[Piece, ...],
    gone: Piece,
    a: str,
    b: str,
    whole: Band | None,
    share: float,
    display: Display,
    contact: float,
) -> Break:
    band = _band(pieces, a, b, contact, gone)
    if band is None:
        return Break(gone.kind, gone.of, share, None, True)
    if whole is None or math.isinf(whole.high):
        return Break(gone.kind, gone.of, share, band, False)
    return Break(gone.kind, gone.of, share, band, on_display(band, display).low > on_display(whole, display).high)


def _harder(one: Break, other: Break) -> Break:
    """Of two stretches of the same conductor, the one whose break is harder to see."""
    if one.shows != other.shows:
        return other if one.shows else one
    if one.band is None or other.band is None:
        return other if one.band is None else one
    return one if one.band.low <= other.band.low else other
