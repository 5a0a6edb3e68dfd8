"""Parts without a bond of their own that the bonding conductor of another part runs on to."""

from __future__ import annotations

from .installation import Bond, Link, Site


def looped(site: Site) -> dict[str, tuple[Bond, tuple[Link, ...]]]:
    """Each such part with the bond at the MET and the conductors from there on, nearest first.

    Only links that are conductors (with a size) count; other metal that happens to join two parts is no bond.
    """
    main = {b.part: b for b in site.bonds if not b.supplementary}
    parts = {p.id for p in site.parts}
    found: dict[str, tuple[Bond, tuple[Link, ...]]] = {part: (bond, ()) for part, bond in main.items()}
    waiting = list(found)
    while waiting:
        here = waiting.pop(0)
        bond, way = found[here]
        for link in site.links:
            other = link.b if link.a == here else link.a if link.b == here else ""
            if link.csa_mm2 is not None and other in parts and other not in found:
                found[other] = bond, (*way, link)
                waiting.append(other)
    return {part: through for part, through in found.items() if through[1]}
