"""From the installation to its earth network: one piece for every stretch of conductor between two places."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable

from ...physics.conductor import band_ohm
from ...site.assumptions import USUAL, Assumptions
from ...site.installation import MET, Board, Bond, Circuit, Link, Site
from ...site.islands import own_earths
from ..expected import copper_band
from . import model as m
from .changes import CPC, alike_to
from .lengths import WIRES, around, length_band, length_to
from .model import EARTH, EarthNetwork, Node, Piece

# Resistance per length of a conductor [mΩ/m]: material, cross-section [mm²], class of IEC 60228; None when not known.
PerMetre = Callable[[str, float, int], float | None]
# From the MET to the earth bar of the board at the origin, often the same bar: a short tail and two screws.
# Common practice, no source.
BAR_OHM = (0.0, 0.02)
LEAST_OHM = 1e-3  # of metal of which nothing is known: below this it is nothing beside any conductor


def point_name(circuit: str, point: str) -> str:
    """Name of the earth terminal of a circuit at a point; of its furthest point when ``point`` is empty."""
    return f"{circuit}{m.POINT_MARK}{point}" if point else circuit


def earth_network(site: Site, per_metre: PerMetre | None = None, assumed: Assumptions = USUAL) -> EarthNetwork:
    """The earth network of a site.

    per_metre  without it nothing is known of any resistance, and only the shape of the network can be asked about
    assumed    what real conductors and good joints have
    """
    return _Build(site, per_metre or (lambda *_: None), assumed).done()


class _Build:
    def __init__(self, site: Site, per_metre: PerMetre, assumed: Assumptions) -> None:
        self.site, self.per_metre = site, per_metre
        self.make, self.joint_ohm = assumed.make, assumed.joint_ohm
        self.nodes: dict[str, Node] = {}
        self.pieces: list[Piece] = []
        self.count: Counter[tuple[str, str]] = Counter()
        self.called: dict[str, str] = {}
        self.feeds = {b.fed_by: b.id for b in site.boards if b.fed_by}

    def done(self) -> EarthNetwork:
        self._node(MET, m.TERMINAL, MET, "main earthing terminal")
        self._node(EARTH, m.MASS, EARTH, "the means of earthing")
        for part in self.site.parts:
            self._node(part.id, m.PART, part.id, part.title)
        self._earthing()
        for board in self.site.boards:
            self._board(board)
        for circuit in self.site.circuits:
            self._circuit(circuit)
        for bond in self.site.bonds:
            self._bond(bond)
        for link in self.site.links:
            self._link(link)
        return EarthNetwork(tuple(self.nodes.values()), tuple(self.pieces), self.called)

    def _node(self, name: str, kind: str, of: str, title: str) -> str:
        self.nodes.setdefault(name, Node(name, kind, of, title))
        return name

    def _add(
        self, a: str, b: str, kind: str, of: str, band: tuple[float, float], off_by: set[str], said: str = ""
    ) -> None:
        self.count[kind, of] += 1
        number = self.count[kind, of]
        name = f"{kind} {of}" + (f" {number}" if number > 1 else "")
        self.pieces.append(Piece(name, a, b, kind, of, *band, frozenset(off_by), said))

    def _earthing(self) -> None:
        supply, unknown = self.site.supply, (LEAST_OHM, math.inf)
        if supply.system != "TT" or not self.site.electrodes:
            self._add(MET, EARTH, m.EARTHING, "earthing", unknown, {"earthing"}, "the supply's own earth")
        islands = {electrode: thing for thing, electrode in own_earths(self.site).items()}
        for electrode in self.site.electrodes:
            end = MET if supply.system == "TT" else islands.get(electrode.id, MET)
            ends = {electrode.id} | ({"earthing"} if supply.system == "TT" else set())
            self._add(end, EARTH, m.ELECTRODE, electrode.id, unknown, ends, "an earth electrode")

    def _board(self, board: Board) -> None:
        self._node(board.id, m.BOARD, board.id, board.name or board.id)
        if not board.fed_by:
            self._add(MET, board.id, m.BAR, board.id, BAR_OHM, {f"{board.id}:earth"}, "a tail to the board's earth bar")

    # ---- circuits ----

    def _circuit(self, c: Circuit) -> None:
        if c.board not in self.nodes:  # a board that was never entered: nothing is known of the way to it
            self._node(c.board, m.BOARD, c.board, c.board or "a board that is not entered")
            self._add(MET, c.board, m.BAR, c.board, (LEAST_OHM, math.inf), {f"{c.board}:earth"}, "board not entered")
        fed = self.feeds.get(c.id)
        if fed is not None:
            self.called[c.id] = fed
        else:
            self._node(c.id, m.POINT, c.id, f"{c.name or c.id}, furthest point")
        for point, _ in c.points:
            self._node(point_name(c.id, point), m.POINT, c.id, f"{c.name or c.id}, {point}")
        if c.cpc == "none":
            return
        r = self.per_metre(c.material, c.cpc_mm2, 2) if c.cpc_mm2 and c.cpc in WIRES else None
        off = {f"{c.id}:cpc"}
        if c.kind == "ring":
            self._ring(c, r, off)
        else:
            self._radial(c, r, off, fed or c.id, {f"{fed}:earth"} if fed is not None else set())

    def _radial(self, c: Circuit, r: float | None, off: set[str], end: str, off_there: set[str]) -> None:
        """A chain of stretches whose bands add up to the band of the length to each point.

        off, off_there  names of the conductor's ends at its board and at its far end
        """
        here, low, high = c.board, 0.0, 0.0
        last = self._way(c, "")
        for point, place in c.points:
            node = point_name(c.id, point)
            if place is None:
                loose = point == c.points[-1][0]
                if loose:
                    self._stretch(c, node, end, r, (0.0, 0.0), set())
                else:
                    self._stretch(c, c.board, node, r, (0.0, last[1]) if last else None, off)
                continue
            near, far = self._way(c, point) or around(c, place)
            self._stretch(
                c, here, node, r, (max(0.0, near - low), max(0.0, far - high)), off if here == c.board else set()
            )
            here, low, high = node, near, far
        if last is None and here != c.board:
            rest: tuple[float, float] | None = (0.0, 0.0)  # no length: the last place that is known is the furthest
        else:
            rest = None if last is None else (max(0.0, last[0] - low), max(0.0, last[1] - high))
        self._stretch(c, here, end, r, rest, (off if here == c.board else set()) | off_there)

    def _way(self, c: Circuit, point: str) -> tuple[float, float] | None:
        """Length to a point, in metres of the smallest protective conductor where the cable changes."""
        way = alike_to(c, point, CPC, lambda csa_mm2: self.per_metre(c.material, csa_mm2, 2))
        return None if way is None else way[:2]

    def _ring(self, c: Circuit, r: float | None, off: set[str]) -> None:
        """Both ways round from the board over the points whose places are known; the rest hangs on a piece of its own."""
        placed = [(point_name(c.id, p), place) for p, place in c.points if place is not None]
        loose = [point_name(c.id, p) for p, place in c.points if place is None]
        whole = None
        if c.length_m is not None:
            whole = length_band(c.length_m, c.length_tol_m)
        here, low, high = c.board, 0.0, 0.0
        for node, place in placed if whole else []:
            near, far = around(c, place)
            self._stretch(
                c, here, node, r, (max(0.0, near - low), max(0.0, far - high)), off if here == c.board else set()
            )
            here, low, high = node, near, far
        if here != c.board and whole:
            self._stretch(c, here, c.board, r, (max(0.0, whole[0] - high), max(0.0, whole[1] - low)), off)
        anywhere, furthest = length_to(c, "?"), length_to(c, "")
        for node in [*loose, *([n for n, _ in placed] if not whole else [])]:
            self._stretch(c, c.board, node, r, anywhere and anywhere[:2], off)
        self._stretch(c, c.board, c.id, r, furthest and furthest[:2], off)

    def _stretch(
        self, c: Circuit, a: str, b: str, r: float | None, metres: tuple[float, float] | None, off: set[str]
    ) -> None:
        if metres == (0.0, 0.0):
            band, said = (0.0, 0.0), "the same place"
        elif r is None or metres is None:
            band, said = (LEAST_OHM, math.inf), f"a protective conductor ({c.cpc}) of which size or length is not known"
        else:
            band = band_ohm(*metres, r, self.make)
            said = f"{metres[0]:.3g} to {metres[1]:.3g} m of {c.cpc_mm2:g} mm²"
        self._add(a, b, m.CPC, c.id, band, off, said)

    # ---- bonds and known metal ----

    def _bond(self, bond: Bond) -> None:
        r = self.per_metre(bond.material, bond.csa_mm2, bond.iec_class)
        band, said = (LEAST_OHM, math.inf), "a bond whose conductor is not in the data"
        if r is not None:
            copper = copper_band(bond, r, self.make, self.joint_ohm)
            band, said = (copper.low, copper.high), copper.assumed[0]
        self._add(MET, bond.part, m.BOND, bond.id, band, {bond.id, f"{bond.id}@part"}, said)

    def _link(self, link: Link) -> None:
        a, b = (self.called.get(end, end) for end in (link.a, link.b))
        for end in (a, b):
            self._node(end, m.PART, end, end)  # only where its entry is broken
        low, high, said = link.r_low_ohm, link.r_high_ohm, link.note or "known metal"
        if link.csa_mm2 is not None and link.length_m is not None:
            r = self.per_metre(link.material, link.csa_mm2, 2)
            if r is not None:
                low, high = band_ohm(*length_band(link.length_m), r, self.make, 2.0 * self.joint_ohm)
                said = f"{link.length_m:g} m of {link.csa_mm2:g} mm² and two joints"
        band = LEAST_OHM if low is None and high is None else low or 0.0, math.inf if high is None else high
        # A link may have the name of a bond; the ledger then means the bond.
        own = {link.id} if all(link.id != bond.id for bond in self.site.bonds) else set()
        self._add(a, b, m.LINK, link.id, band, own, said)
