"""Boards, circuits and what earths them, by their names: made once for a site, since a works asks thousands of times."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from attrs import frozen

from .board import Board
from .circuit import Circuit
from .installation import Site
from .islands import own_earths


@frozen(eq=False)
class Index:
    """The boards and circuits of a site by id, the circuits that feed a board, and who stands on an electrode of its own."""

    boards: Mapping[str, Board]
    circuits: Mapping[str, Circuit]
    feeding: frozenset[str]
    earths: Mapping[str, str]


@lru_cache(maxsize=8)
def index_of(site: Site) -> Index:
    """The index of a site; held by the site's value, whose hash is worked out once."""
    return Index(
        {b.id: b for b in reversed(site.boards)},
        {c.id: c for c in reversed(site.circuits)},
        frozenset(b.fed_by for b in site.boards if b.fed_by),
        own_earths(site),
    )
