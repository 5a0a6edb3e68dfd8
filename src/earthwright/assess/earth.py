"""The earth network of one visit: built once, each state made ready once, for everything that asks about it."""

from __future__ import annotations

import math
from collections.abc import Iterable

from attrs import frozen

from ..earthnetwork import EarthNetwork, Piece, Standing, earth_network, lost
from ..earthnetwork.model import BAR, CPC
from ..earthnetwork.words import piece_said, rests_words
from ..evidence import Model
from ..installation import MET, Bond
from ..quantity import Band
from ..visit import Visit
from .rulings import Rulings


@frozen
class Ways:
    """What else joins two places: its resistance by itself [Ω], and the conductors and links it leads over, each once."""

    band: Band
    over: tuple[tuple[str, str], ...]

    @property
    def said(self) -> tuple[str, ...]:
        """The conductors and links in words."""
        return tuple(piece_said(kind, of) for kind, of in self.over)


def _of(piece: Piece, own: frozenset[str]) -> bool:
    """Whether a piece is one of the conductors meant, or the tail of a board on the way."""
    return piece.kind == BAR or (piece.kind == CPC and piece.of in own)


class Earth:
    """The network of a visit, with the resistances that hold at its temperature."""

    def __init__(self, visit: Visit, rulings: Rulings, model: Model) -> None:
        self.network: EarthNetwork = earth_network(visit.site, rulings.per_metre, joint_ohm=model.joint_ohm)
        self._ready: dict[frozenset[str], Standing] = {}

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
        return Ways(band, tuple(dict.fromkeys((p.kind, p.of) for p in pieces if not _of(p, own))))

    def rests_on(self, what: str, off: Iterable[str]) -> str:
        """What has no earth while one end is off, others being off as well; empty when nothing is known to."""
        others = set(off) - {what}
        return rests_words(self.network, lost(self.network, others, {what}))

    def path(self, bond: Bond, off: Iterable[str]) -> Band | None:
        """What joins MET and part beside a bond, from what is entered, the other conductors taken as whole [Ω].

        None when nothing that is known joins them.
        """
        band = self.standing({*off, bond.id}).band(MET, bond.part)
        if band is None or math.isinf(band.high):
            return None
        return Band(band.low, band.high, "Ω", ("known metal between MET and the part, other conductors whole",))
