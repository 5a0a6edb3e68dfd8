"""What lies between the source and each thing that is read: what a repair there is part of."""

from __future__ import annotations

from ...site.events import ORIGIN
from ...site.installation import Site


def ways_before(site: Site) -> dict[str, frozenset[str]]:
    """By board and circuit: the boards, the circuits that feed them, and the electrodes before it."""
    boards, circuits = {b.id: b for b in site.boards}, {c.id: c for c in site.circuits}
    electrodes = frozenset(e.id for e in site.electrodes)

    def up(board: str) -> frozenset[str]:
        found: set[str] = set()
        while board and board not in found:
            found.add(board)
            feeder = circuits.get(boards[board].fed_by) if board in boards else None
            if feeder is not None:
                found.add(feeder.id)
            board = feeder.board if feeder is not None else ""
        return frozenset(found) | electrodes

    before = {name: up(name) for name in boards}
    return {ORIGIN: electrodes, **before, **{c.id: up(c.board) for c in circuits.values()}}
