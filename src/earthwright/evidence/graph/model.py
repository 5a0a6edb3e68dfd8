"""The earth network of a building: terminals, boards, points and parts, and every conductor and metal that joins them.

One graph holds the earthing conductor, bonds, protective conductors of sub-mains and circuits, and known metal between
them. A state takes pieces out of it. Nothing is worked out here but which pieces belong together.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from functools import cached_property

from attrs import field, frozen

from ...base.errors import EarthwrightError

EARTH = "earth"  # the general mass of earth, or the supply's own earth: what the earthing conductor leads to
MOST_KNOWN = 400  # characters of the names in a message
POINT_MARK = "@"  # ``c5@boiler``: the earth terminal of circuit c5 at the boiler

TERMINAL, BOARD, POINT, PART, MASS = "terminal", "board", "point", "part", "earth"
EARTHING, ELECTRODE, BAR, BOND, CPC, LINK = "earthing conductor", "electrode", "board", "bond", "cpc", "link"


class EarthNetworkError(EarthwrightError, ValueError):
    """A place that the earth network does not have."""


@frozen
class Node:
    """One place of the network.

    id     ``MET``, the id of a board (its earth bar) or of a part, ``c5@boiler``, ``c5`` (its furthest point), ``earth``
    kind   terminal, board, point, part or earth;  of  the circuit, board or part it belongs to
    title  its name in words
    """

    id: str
    kind: str
    of: str
    title: str


@frozen
class Piece:
    """One conductor, or a part of it, or known metal, between two places.

    kind               earthing conductor, electrode, board, bond, cpc or link;  of  the id of what it belongs to
    low_ohm, high_ohm  what a whole one may have [Ω]; ``high_ohm`` infinite when nothing is known of it
    off_by             names of ends, as the ledger has them, any of which takes it out
    said               what the band rests on
    """

    id: str
    a: str
    b: str
    kind: str
    of: str
    low_ohm: float
    high_ohm: float
    off_by: frozenset[str] = frozenset()
    said: str = ""

    @property
    def known(self) -> bool:
        """Whether anything is known of its resistance."""
        return self.high_ohm != float("inf")


@frozen
class EarthNetwork:
    """The whole graph, nothing taken out; ``called`` maps other names of a place to its node."""

    nodes: tuple[Node, ...]
    pieces: tuple[Piece, ...]
    called: Mapping[str, str] = field(factory=dict)

    @cached_property
    def _by_id(self) -> dict[str, Node]:
        return {node.id: node for node in self.nodes}

    def node(self, name: str) -> Node:
        """The place of that name. Raises EarthNetworkError with the names there are."""
        found = self._by_id.get(self.called.get(name, name))
        if found is None:
            names = [*self._by_id, *self.called]
            near = difflib.get_close_matches(name.lower(), {n.lower(): n for n in names}, 1)
            like = f" Did you mean {next(n for n in names if n.lower() == near[0])!r}?" if near else ""
            known = ", ".join(names)
            known = known if len(known) <= MOST_KNOWN else known[:MOST_KNOWN].rpartition(", ")[0] + " …"
            raise EarthNetworkError(f"the earth network has no place {name!r}.{like} Known: {known}")
        return found

    def has(self, name: str) -> bool:
        """Whether there is a place of that name."""
        return self.called.get(name, name) in self._by_id

    def standing(self, off: Iterable[str] = ()) -> tuple[Piece, ...]:
        """The pieces that are still in when these ends are off."""
        gone = frozenset(off)
        return tuple(p for p in self.pieces if not p.off_by & gone) if gone else self.pieces

    @cached_property
    def ends(self) -> frozenset[str]:
        """Every name of an end that takes something out."""
        return frozenset(name for piece in self.pieces for name in piece.off_by)

    def of(self, kind: str, thing: str) -> tuple[Piece, ...]:
        """The pieces of one bond, circuit, board or link."""
        return tuple(p for p in self.pieces if p.kind == kind and p.of == thing)
