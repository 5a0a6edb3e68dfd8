"""Parts of a site that stand on an electrode of their own and not on the supply's earth: a TT island in a TN site."""

from __future__ import annotations

from .installation import MET, Board, Circuit, Site


def own_earths(site: Site) -> dict[str, str]:
    """Which electrode earths a board or a circuit in place of the site's own earth: id of the one to id of the other.

    As entered; where the circuit that feeds a board brings no protective conductor and the site has one electrode, that one.
    """
    found = {b.id: b.electrode for b in site.boards if b.electrode}
    found |= {c.id: c.electrode for c in site.circuits if c.electrode}
    if site.supply.system == "TT" or len(site.electrodes) != 1:
        return found
    bare = {c.id for c in site.circuits if c.cpc == "none"}
    taken = {b.id: site.electrodes[0].id for b in site.boards if b.fed_by in bare}
    return taken | found


def things_of(site: Site, island: str) -> set[str]:
    """The island's board, what hangs below it and its circuits; a charging point is a circuit by itself."""
    found = {island}
    while True:
        more = {c.id for c in site.circuits if c.board in found} | {b.id for b in site.boards if b.fed_by in found}
        if more <= found:
            return found
        found |= more


def joins(site: Site, island: str) -> tuple[str, ...]:
    """What joins an island to the supply's earth all the same, in words; empty when nothing that is entered does."""
    here = things_of(site, island)
    bonded = {b.part for b in site.bonds if not b.supplementary}
    outside = {MET} | bonded | ({b.id for b in site.boards} - here) | ({c.id for c in site.circuits} - here)
    said = []
    for circuit in _feeding(site, island):
        if circuit.cpc != "none":
            said.append(
                f"the {circuit.cpc if circuit.cpc in ('armour', 'sheath') else 'protective conductor'} of {circuit.id}"
            )
    for link in site.links:
        ends = {link.a.partition("@")[0], link.b.partition("@")[0]}
        if ends & here and ends & outside:
            said.append(f"link {link.id}, {link.a} to {link.b}")
    return tuple(said)


def _feeding(site: Site, island: str) -> tuple[Circuit, ...]:
    board: Board | None = next((b for b in site.boards if b.id == island), None)
    return () if board is None else tuple(c for c in site.circuits if c.id == board.fed_by)
