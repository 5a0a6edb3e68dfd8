"""The earth network of one visit: built once, each state made ready once, for everything that asks about it."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from functools import lru_cache

from attrs import frozen

from ..base.quantity import Band
from ..evidence.graph import EarthNetwork, Piece, Standing, earth_network
from ..evidence.graph.model import BAR, BOND, CPC, LINK
from ..evidence.graph.words import losses_words, piece_said
from ..rules import RuleBook
from ..site.assumptions import Assumptions
from ..site.installation import MET, Bond, Site
from ..site.visit import Visit
from .rulings import Rulings, resistance

LEAST_SHARE = 0.01  # of the current beside the conductor; what carries less is not spoken of
MOST_SAID = 5  # names of one way


@frozen
class Ways:
    """What else joins two places.

    band  its resistance by itself [Ω];  over  the conductors and links it leads over, each once, most current first
    tail  what of ``band`` is the conductor asked about itself, beyond the place where the other way comes in [Ω]
    apart  whether nothing else of that conductor lies on the other way, so that sums of a side-by-side path hold
    """

    band: Band
    over: tuple[tuple[str, str], ...]
    tail: tuple[float, float] = (0.0, 0.0)
    apart: bool = True

    @property
    def said(self) -> tuple[str, ...]:
        """The conductors and links in words, the first of them where there are many."""
        rest = len(self.over) - MOST_SAID
        names = tuple(piece_said(kind, of) for kind, of in self.over[: MOST_SAID if rest > 1 else None])
        return (*names, f"{rest} more") if rest > 1 else names


def _of(piece: Piece, own: frozenset[str]) -> bool:
    """Whether a piece is one of the conductors meant, or the tail of a board on the way."""
    return piece.kind == BAR or (piece.kind == CPC and piece.of in own)


class Earth:
    """The network of a visit, with the resistances that hold at its temperature."""

    def __init__(self, network: EarthNetwork) -> None:
        self.network = network
        self._ready: dict[frozenset[str], Standing] = {}

    @classmethod
    def of(cls, visit: Visit, rulings: Rulings) -> Earth:
        """The earth of a visit. No step changes the building, so that of a site is held by what the site is."""
        for link in visit.site.links:
            if link.csa_mm2 is not None:  # a size that is not in the data is said, not taken for metal of any kind
                where = f"link {link.id}: csa_mm2"
                rulings.conductor(link.material, link.csa_mm2, visit.temp_c, where, link.id)
        return _built(visit.site, rulings.book, visit.date, visit.temp_c, visit.choices.assumptions)

    def standing(self, off: Iterable[str] = ()) -> Standing:
        """The network with these ends off; ends that take nothing out of it make no state of their own."""
        key = frozenset(off) & self.network.ends
        if key not in self._ready:
            self._ready[key] = Standing(self.network, key)
        return self._ready[key]

    def ways(self, a: str, b: str, own: frozenset[str], off: Iterable[str] = ()) -> Ways | None:
        """How else two places are joined than by the conductors ``own`` (circuits whose cpc is meant); None: not known to be.

        What nothing joins with everything connected, nothing joins in any state, so most questions end at once.
        """
        if not (self.network.has(a) and self.network.has(b)):
            return None  # a point that the circuit does not name: where it lies is not known
        everything = self.standing().between(a, b)
        if everything is None or all(_of(p, own) for p in everything):
            return None
        gone = {*off, *(f"{circuit}:cpc" for circuit in own)}
        standing = self.standing(gone)
        pieces = standing.between(a, b)
        if pieces is None:
            return None
        band = standing.band(a, b)
        assert band is not None  # something joins them
        # What is left of the conductors asked about, beyond the point where the other way comes in, is no way of its own.
        shares = standing.shares(a, b)
        foreign = {(p.kind, p.of) for p in pieces if not _of(p, own)}
        over = tuple(x for x, share in shares.items() if x in foreign and share >= LEAST_SHARE)
        mine = [p for p in pieces if p.kind == CPC and p.of in own and p.high_ohm > 0.0]
        tail = [p for p in standing.in_series(a, b) if p in mine]
        return Ways(
            band,
            over,
            (math.fsum(p.low_ohm for p in tail), math.fsum(p.high_ohm for p in tail)),
            len(tail) == len(mine),
        )

    def over_feeders(self, board: str, off: Iterable[str]) -> Band | None:
        """From the MET to a board over nothing but the conductors of its sub-mains [Ω]; None when that is not known."""
        other = {end for p in self.network.pieces if p.kind in (BOND, LINK) for end in p.off_by}
        band = self.standing({*off, *other}).band(MET, board) if self.network.has(board) else None
        return None if band is None or math.isinf(band.high) else band

    def rests_on(self, what: str, off: Iterable[str]) -> str:
        """What has no earth while one end is off, others being off as well, in sentences; empty when nothing is known to."""
        return losses_words(self.network, set(off) - {what}, {what})

    def path(self, bond: Bond, off: Iterable[str]) -> Band | None:
        """What joins MET and part beside a bond, from what is entered, the other conductors taken as whole [Ω].

        None when nothing that is known joins them.
        """
        band = self.standing({*off, bond.id}).band(MET, bond.part)
        if band is None or math.isinf(band.high):
            return None
        return Band(band.low, band.high, "Ω", ("known metal between MET and the part, other conductors whole",))


@lru_cache(maxsize=4)
def _built(site: Site, book: RuleBook, on: dt.date, temp_c: float, assumed: Assumptions) -> Earth:
    def per_metre(material: str, csa_mm2: float, iec_class: int) -> float | None:
        known = resistance(book, on, material, csa_mm2, temp_c, iec_class)
        return known if isinstance(known, float) else None

    return Earth(earth_network(site, per_metre, assumed))
