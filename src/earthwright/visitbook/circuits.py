"""Boards, circuits and electrodes in a visit book; what is usual is said once and holds until a circuit says otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from attrs import evolve, field, frozen

from ..base.errors import Severity
from ..evidence.graph.model import EARTH
from ..site.circuit import TOLERANCE
from ..site.codes import METHODS, OTHER_WIRING
from ..site.events import ALL_LOADS, ALL_SPDS, EARTHING, ORIGIN
from ..site.fields import fields_of
from ..site.installation import (
    MET,
    Board,
    Circuit,
    Electrode,
    Site,
)
from ..site.visit import Unread
from .boards import ask_of_supply, read_board, threephase
from .changes import by_runs
from .devices import read_device
from .fields import Entry
from .places import beyond, read_points
from .site import plain_id
from .tree import check_tree
from .values import value, values

if TYPE_CHECKING:
    from .read import Book

# What one circuit says of itself and no circuit has from another.
OWN = ("board", "points", "length_tol_m", "runs")
LENGTH_TOL, RUNS = (next(f for f in fields_of(Circuit) if f.name == name) for name in ("length_tol_m", "runs"))
RESERVED = {MET, EARTH, EARTHING, ORIGIN, ALL_SPDS, ALL_LOADS}


@frozen
class Usual:
    """What holds for every circuit that does not say otherwise.

    circuit  a circuit with the usual values;  tol_pct  tolerance of lengths [%];  bad  its keys that could not be read
    """

    circuit: Circuit
    tol_pct: float | None = None
    bad: Mapping[str, str] = field(factory=dict)


def read_installation(book: Book, site: Site) -> Site:
    """The site with its boards, circuits and electrodes; what cannot be read is left out, with what hangs on it."""
    taken = RESERVED | {p.id for p in site.parts} | {b.id for b in site.bonds}
    everywhere = _usual(book.entry("usual"), Usual(Circuit("", "")))
    three = threephase(book)
    site = evolve(site, supply=ask_of_supply(book, site.supply, three))
    boards: dict[str, tuple[Entry, Board]] = {}
    usual: dict[str, Usual] = {}
    for entry in book.entries("board"):
        board_id = plain_id(entry, taken | set(boards))
        # A fault in what is usual is told once, there; the circuits that rest on it are not judged.
        own = _usual(entry.inner("usual"), everywhere) if entry.has("usual") else everywhere
        board = read_board(entry, board_id, site.supply, three)
        if board.id in boards:
            boards[board.id][0].twice = True  # two entries of one id: neither is judged
        elif board.id:
            boards[board.id], usual[board.id] = (entry, board), own
    circuits: dict[str, tuple[Entry, Circuit]] = {}
    for entry in book.entries("circuit"):
        circuit = _circuit(entry, usual, everywhere, {b.id: b for _, b in boards.values()}, taken)
        if circuit.id in circuits:
            circuits[circuit.id][0].twice = True
        elif circuit.id:
            circuits[circuit.id] = entry, circuit
            taken |= {circuit.id}
    electrodes = _electrodes(book, taken | set(boards))
    for entry, electrode in [(e, x.electrode) for e, x in boards.values()] + [
        (e, x.electrode) for e, x in circuits.values()
    ]:
        if electrode and electrode not in {e.id for e in electrodes} | set(book.broken):
            known = ", ".join(e.id for e in electrodes) or "none entered"
            entry.fault("electrode", f"There is no electrode '{electrode}'.", f"one of: {known}", electrode)
    whole_boards, whole_circuits = check_tree(book, boards, circuits)
    return evolve(site, boards=whole_boards, circuits=whole_circuits, electrodes=electrodes)


def _usual(entry: Entry, base: Usual) -> Usual:
    pct = value(entry, TOLERANCE)
    tol_pct = pct if entry.has(TOLERANCE.key) else base.tol_pct
    circuit = _values(entry, base.circuit, base.circuit.board)
    entry.close()
    return Usual(circuit, tol_pct, {**{k: v for k, v in base.bad.items() if not entry.has(k)}, **entry.bad})


def _circuit(
    entry: Entry,
    usual: dict[str, Usual],
    everywhere: Usual,
    boards: dict[str, Board],
    taken: set[str],
) -> Circuit:
    circuit_id = plain_id(entry, taken | set(boards))
    board_id = entry.text("board")
    if not board_id and len(boards) == 1:
        board_id = next(iter(boards))
    elif not board_id:
        found = "nothing" if boards else "nothing, and no board is entered"
        entry.fault("board", "Which board is this circuit on?", "one of: " + (", ".join(boards) or "boards"), found)
    elif board_id not in boards:
        entry.fault("board", f"There is no board '{board_id}'.", "one of: " + (", ".join(boards) or "none"), board_id)
    base = usual.get(board_id, everywhere)
    for key, what in base.bad.items():  # a key of its own stands in place of a usual one that is wrong
        if not entry.has(key):
            entry.bad.setdefault(key, f"what is usual says: {what}")
    circuit = evolve(_values(entry, base.circuit, board_id), id=circuit_id, runs=value(entry, RUNS))
    circuit = by_runs(entry, circuit)
    tol: float | None = value(entry, LENGTH_TOL)
    pct = value(entry, TOLERANCE)
    if tol is not None and pct is not None:
        entry.fault("length_tol_pct", "The tolerance is given twice.", "length_tol_m or length_tol_pct", "both")
    pct = base.tol_pct if pct is None else pct
    if tol is None and pct is not None and circuit.length_m is not None:
        tol = round(circuit.length_m * pct / 100.0, 2)
    if tol is not None and circuit.length_m is not None and tol >= circuit.length_m:
        entry.fault(
            "length_tol_m", "The tolerance swallows the length.", f"less than {circuit.length_m:g} m", f"{tol:g} m"
        )
    circuit = evolve(circuit, length_tol_m=tol, points=read_points(entry))
    for point, place in circuit.points:
        if beyond(circuit, place):
            entry.fault(
                "points",
                f"'{point}' lies beyond the end of the cable.",
                f"up to {circuit.length_m:g} m",
                f"{place:g} m",
            )
    _agree(entry, circuit, boards.get(board_id))
    entry.close()
    return circuit


def _agree(entry: Entry, circuit: Circuit, board: Board | None) -> None:
    """What one circuit may not say at the same time."""
    if board is not None and circuit.phases > board.phases:
        entry.fault("phases", f"Board '{board.id}' has one phase.", "1", str(circuit.phases))
    if circuit.line and circuit.phases == 3:
        entry.fault("line", "A three-phase circuit is on every line.", "no line", circuit.line)
    if circuit.cpc == "none" and circuit.cpc_mm2 is not None:
        entry.fault("cpc_mm2", "There is said to be no cpc.", "no cross-section of it", f"{circuit.cpc_mm2:g} mm²")
    if circuit.reference and circuit.method in METHODS and entry.has("method") and circuit.method != circuit.reference:
        entry.fault(
            "method", "The reference method is given twice.", f"'{circuit.reference}', or words", circuit.method
        )
    if circuit.wiring == OTHER_WIRING and not circuit.cable:
        what = "Which kind of wiring is it? That is printed beside the code."
        entry.fault("cable", what, "its kind in words", "nothing", severity=Severity.WARNING)
    if circuit.kind == "ring" and circuit.phases == 3:
        entry.fault("kind", "A ring final circuit is single-phase.", "radial", "ring on three phases")


def _values(entry: Entry, base: Circuit, board_id: str) -> Circuit:
    """The values that a circuit, or what is usual, may have; everything not written is as in ``base``."""
    said = values(entry, Circuit, base, but=OWN)
    return Circuit(id="", board=board_id, device=read_device(entry, base.device), **said)


def _electrodes(book: Book, taken: set[str]) -> tuple[Electrode, ...]:
    found: list[Electrode] = []
    for entry in book.entries("electrode"):
        electrode = Electrode(plain_id(entry, taken | {e.id for e in found}), **values(entry, Electrode))
        entry.close()
        if entry.broken:
            book.broken.append(electrode.id)
            # Where its metal stands decides whether a part of the site is an island of its own.
            book.unread.append(
                Unread("supply", "electrode", f"electrode {electrode.id}, whose entry could not be read")
            )
        else:
            found.append(electrode)
    return tuple(found)
