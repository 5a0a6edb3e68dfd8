"""Boards hang on circuits and circuits on boards: it must be a tree, and what hangs on a broken entry is not judged."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from attrs import evolve

from ..base import limits
from ..site.installation import Board, Circuit
from .fields import Entry

if TYPE_CHECKING:
    from .read import Book

Boards = Mapping[str, tuple[Entry, Board]]
Circuits = Mapping[str, tuple[Entry, Circuit]]
DISTRIBUTION, FINAL = "distribution", "final"


def check_tree(book: Book, boards: Boards, circuits: Circuits) -> tuple[tuple[Board, ...], tuple[Circuit, ...]]:
    """The boards and circuits that are whole and hang together; every fault of the tree becomes a finding."""
    feeding: dict[str, str] = {}
    for entry, board in boards.values():
        if not board.fed_by:
            continue
        if board.fed_by not in circuits:
            known = ", ".join(circuits) or "no circuits entered"
            entry.fault("fed_by", f"There is no circuit '{board.fed_by}'.", "one of: " + known[:200], board.fed_by)
            continue
        if board.fed_by in feeding:
            entry.fault(
                "fed_by",
                f"That circuit feeds board '{feeding[board.fed_by]}' already.",
                "a circuit of its own",
                board.fed_by,
            )
        feeding.setdefault(board.fed_by, board.id)
        _feeder(entry, board, *circuits[board.fed_by])
    _cycles(boards, circuits)
    _deep(boards, circuits)
    broken = _spread(boards, circuits)
    book.broken.extend(broken)
    kept = {name: entry for name, (entry, _) in (*boards.items(), *circuits.items()) if name not in broken}
    for name, entry in kept.items():
        book.without(entry, name)
    return (
        tuple(b for _, b in boards.values() if b.id not in broken),
        tuple(_as_feeder(c, feeding) for _, c in circuits.values() if c.id not in broken),
    )


def _as_feeder(circuit: Circuit, feeding: Mapping[str, str]) -> Circuit:
    """A circuit that feeds a board is a distribution circuit, whether or not that was typed."""
    return evolve(circuit, use=DISTRIBUTION) if circuit.id in feeding else circuit


def _feeder(entry: Entry, board: Board, feeder_entry: Entry, feeder: Circuit) -> None:
    if feeder_entry.has("use") and feeder.use not in (DISTRIBUTION, FINAL):
        feeder_entry.fault("use", f"It feeds board '{board.id}'.", DISTRIBUTION, feeder.use)
    if feeder.kind == "ring":
        feeder_entry.fault("kind", f"It feeds board '{board.id}', so it is no ring final circuit.", "radial", "ring")
    if board.phases > feeder.phases:
        entry.fault(
            "phases", f"Circuit '{feeder.id}', which feeds it, has one phase.", str(feeder.phases), str(board.phases)
        )


def _cycles(boards: Boards, circuits: Circuits) -> None:
    """Report every board that is fed, over others, by itself."""
    for entry, board in boards.values():
        seen = [board.id]
        here = board
        while here.fed_by in circuits:
            above = circuits[here.fed_by][1].board
            seen.append(above)
            if above == board.id:
                entry.fault(
                    "fed_by", "This board is fed by itself.", "a way up that ends at the origin", " ← ".join(seen)[:200]
                )
            if above not in boards or above in seen[:-1]:
                break
            here = boards[above][1]


def _deep(boards: Boards, circuits: Circuits) -> None:
    """Report every board that is just too far from the origin; what hangs on it goes with it."""
    below: dict[str, list[str]] = {}
    for _, board in boards.values():
        feeder = circuits.get(board.fed_by)
        below.setdefault(feeder[1].board if feeder else "", []).append(board.id)
    level = [b.id for _, b in boards.values() if not b.fed_by]
    for _ in range(limits.BOARDS_DEEP.most):
        level = [name for above in level for name in below.get(above, ())]
    for name in level:
        entry, board = boards[name]
        entry.fault("fed_by", "This board is too far from the origin.", limits.BOARDS_DEEP.said(), board.fed_by)


def _spread(boards: Boards, circuits: Circuits) -> list[str]:
    """Ids of all that is broken or hangs on what is broken, told once for each entry."""
    broken = [b.id for entry, b in boards.values() if entry.lost(("id", "fed_by"))]
    broken += [c.id for entry, c in circuits.values() if entry.lost(("id", "board"))]
    known = set(broken)
    more = True
    while more:
        more = False
        for entry, circuit in circuits.values():
            if circuit.id not in known and circuit.board in known:
                _hangs(entry, "board", f"The entry of board '{circuit.board}' is broken", circuit.board)
                known.add(circuit.id)
                broken.append(circuit.id)
                more = True
        for entry, board in boards.values():
            if board.id not in known and board.fed_by in known:
                _hangs(entry, "fed_by", f"The entry of circuit '{board.fed_by}' is broken", board.fed_by)
                known.add(board.id)
                broken.append(board.id)
                more = True
    return broken


def _hangs(entry: Entry, key: str, what: str, found: str) -> None:
    entry.fault(key, what + ", so this is not judged either.", "an entry that can be read", found)
