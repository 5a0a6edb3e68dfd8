"""What rests on an end before it is opened, and what still joins a part to the MET: the earth network without resistances."""

from __future__ import annotations

from functools import lru_cache

from ..evidence.graph import EarthNetwork, earth_network, touching
from ..evidence.graph.words import losses_words
from ..site.installation import Site


@lru_cache(maxsize=4)
def _shape(site: Site) -> EarthNetwork:
    """The network of a site, held by what the site is; a site works out its hash once."""
    return earth_network(site)


def joined_to_met(site: Site, part_id: str, off: frozenset[str]) -> tuple[str, ...]:
    """What still joins a part to the MET when these are off, by id: its bonds, and known metal that leads there."""
    return tuple(dict.fromkeys(piece.of for piece in touching(_shape(site), part_id, off)))


@lru_cache(maxsize=64)
def without_earth(site: Site, what: str, off: frozenset[str]) -> str:
    """What has no earth while an end is off, in a sentence; empty when it is nothing but a bond's own part."""
    network = _shape(site)
    if what not in network.ends:
        return ""
    own = {bond.part for bond in site.bonds if what.partition("@")[0] == bond.id}
    return losses_words(network, off, {what}, own)
