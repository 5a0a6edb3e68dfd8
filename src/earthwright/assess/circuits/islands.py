"""A board or charging point on an electrode of its own: said once, with the boundary and what must not be joined."""

from __future__ import annotations

from collections.abc import Iterator

from ...base.errors import Finding
from ...site.islands import joins, own_earths
from ...site.visit import Visit


def island_findings(visit: Visit) -> Iterator[Finding]:
    """One note for each island, or a warning where something that is entered joins it to the supply's earth."""
    site = visit.site
    if site.supply.system == "TT":
        return
    entered = {b.id for b in site.boards if b.electrode} | {c.id for c in site.circuits if c.electrode}
    for island, electrode in own_earths(site).items():
        joined = joins(site, island)
        how = "as entered" if island in entered else "taken so, since no protective conductor arrives there"
        if not joined:
            yield Finding.of(
                "island.boundary",
                island,
                f"{island} stands on its own electrode {electrode} (TT; {how}): its own limits and residual current device.",
                island,
                do="Keep apart: no cpc, armour, metal pipe or bond may join metal there to the main earthing terminal of the house, "
                "and nobody may touch metal of both at once. Armour that arrives ends insulated.",
            )
            continue
        yield Finding.of(
            "island.joined",
            island,
            f"{island} is said to stand on its own electrode {electrode}, and is joined to the supply's earth.",
            island,
            "nothing that joins the two earths",
            "; ".join(joined),
            "Part them: end the armour or cpc insulated at one end, or take the electrode as an addition to the supply's earth.",
            "A lost PEN conductor or a fault in the house brings its voltage across what joins them.",
        )
