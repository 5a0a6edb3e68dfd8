"""Two rings of a board that both read open in every conductor: their legs are changed over with each other."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from ...base.errors import Finding
from ...evidence.ring.model import OPEN_OR_LINKED
from ...outcomes.circuits import CircuitJudged
from .words_dead import listed

LINKED = "cross-linked rings"


def link(circuits: Sequence[CircuitJudged]) -> tuple[CircuitJudged, ...]:
    """The circuits of a board; rings that are open in every conductor are told apart from a single one that is cut.

    One such ring may be a cut cable or have a leg at another ring's terminals. Two of them on one board mirror each
    other, and two cables that were both cut in every conductor are far less likely than one pair of legs changed over.
    """
    opened = [c.circuit.id for c in circuits if c.ring is not None and c.ring.named == OPEN_OR_LINKED]
    if len(opened) < 2:
        return tuple(circuits)
    return tuple(_linked(c, opened) if c.circuit.id in opened else c for c in circuits)


def _linked(c: CircuitJudged, opened: Sequence[str]) -> CircuitJudged:
    assert c.ring is not None  # only rings that are open in every conductor come here
    others = listed([other for other in opened if other != c.circuit.id])
    words = f"{others} on the same board reads the same: legs of the two are changed over at the board."
    if len(opened) > 2:
        words = f"{others} on the same board read the same: legs of these rings are changed over at the board."
    finding = Finding.of(
        "ring.linked",
        f"circuit {c.circuit.id}, ring",
        f"The rings {listed(opened)} are open in every conductor, each the mirror of the other.",
        c.circuit.id,
        "rings that close",
        f"{listed(opened)} open end to end in line, neutral and cpc",
        "At the board, try each leg of one against the legs of the other until two and two belong together; then test both anew.",
        "Both circuits work and both devices are loaded by sockets of the other, so switching one off does not isolate it.",
    )
    kept = tuple(f for f in c.ring.findings if f.family != "ring.break")
    ring = evolve(c.ring, named=LINKED, rivals=(LINKED,), words=f"{c.ring.words} {words}", findings=(finding, *kept))
    return evolve(c, ring=ring, words=f"{c.words} {words}")
