"""One board of a visit book: its main switch, its residual current device, what kind of supply it has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from attrs import evolve

from ..base.errors import Severity
from ..site.codes import DC, LIVE, RCD_SWITCH
from ..site.fields import fields_of
from ..site.installation import Board, Device, Supply, Switch
from .devices import read_device
from .fields import Entry
from .values import values

if TYPE_CHECKING:
    from .read import Book


def threephase(book: Book) -> frozenset[str]:
    """The boards that must have three phases: a circuit on them has, or a circuit that names no board (then every one)."""
    found = set()
    for circuit in book.rows("circuit"):
        live = LIVE.get(str(circuit.get("live", "")))
        if circuit.get("phases") in (3, "3") or (live is not None and live.phases == 3):
            found.add(str(circuit.get("board", "")).strip())
    only = {str(b.get("id", "")).strip() for b in book.rows("board")}
    return frozenset(found - {""} | (only if "" in found and len(only) == 1 else set()))


def ask_of_supply(book: Book, supply: Supply, three: frozenset[str]) -> Supply:
    """The supply with three phases where a board or a circuit has them and nothing else was said: one question, asked once."""
    entry = book.entry("supply")
    boards = {str(b.get("id", "")) for b in book.rows("board") if b.get("phases") in (3, "3")}
    boards |= {
        str(b.get("id", "")) for b in book.rows("board") if (n := LIVE.get(str(b.get("live", "")))) and n.phases == 3
    }
    if entry.has("phases") or not (three | boards):
        return supply
    named = ", ".join(sorted(three | boards))[:80]
    what = "How many phases has the supply? Three were taken, since boards or circuits have three."
    entry.fault("phases", what, "phases = 3, or phases = 1", f"nothing; three on {named}", severity=Severity.WARNING)
    return evolve(supply, phases=3)


def read_board(entry: Entry, board_id: str, supply: Supply, three: frozenset[str] = frozenset()) -> Board:
    """The board of an entry, which is closed; ``usual`` has been read before. three  boards with circuits of three phases"""
    rcd = _rcd(entry)
    usual = Board(board_id, phases=3 if board_id in three and supply.phases == 3 else 1)
    board = Board(board_id, rcd=rcd, switch=_switch(entry, rcd), **values(entry, Board, usual))
    board = _kind_of_supply(entry, board)
    if board.phases > supply.phases:
        entry.fault("phases", "The supply has one phase.", "1, or three phases in [supply]", str(board.phases))
    _not_judged_so(entry, board)
    entry.close()
    return board


# In the table of a residual current device what a circuit says of one that stands apart is the device itself.
ITSELF = {"rcd_standard": "standard", "rcd_rating_a": "rating_a"}


def _rcd(entry: Entry) -> Device | None:
    if not entry.has("rcd"):
        return None
    inner = entry.inner("rcd")
    rcd = read_device(inner, Device())
    if not rcd.rcd_type and rcd.rcd_ma is None:
        inner.fault("", "This says nothing about a residual current device.", "rcd_type and rcd_ma", "neither")
    for key, own in ITSELF.items():
        if inner.has(key):
            inner.fault(key, "This table is about that device itself.", own, key, f"Call it {own}.")
    entry.take(inner)
    return rcd


def _switch(entry: Entry, rcd: Device | None) -> Switch | None:
    if not entry.has("switch"):
        return None
    inner = entry.inner("switch")
    switch = Switch(**values(inner, Switch))
    if not any(inner.has(f.key) for f in fields_of(Switch)):
        inner.fault("", "This says nothing about a main switch.", "kind, standard, poles, rating_a …", "nothing")
    if switch.kind == RCD_SWITCH:
        if rcd is None and not entry.has("rcd"):
            inner.fault("kind", "The board has no residual current device.", "one in [board.rcd]", "none")
        for key in ("standard", "rating_a"):
            if inner.has(key):
                what = "The main switch is the board's residual current device, which has this already."
                inner.fault(key, what, f"{key} in [board.rcd], and only there", "it here as well")
    entry.take(inner)
    return switch


def _kind_of_supply(entry: Entry, board: Board) -> Board:
    """What the code of the live conductors says besides holds without being typed, and may not be typed otherwise."""
    live = LIVE.get(board.live)
    if live is not None:
        if board.current and board.current != live.current:
            entry.fault("current", f"'{board.live}' is {live.words}.", live.current, board.current)
        if entry.has("phases") and board.phases != live.phases:
            entry.fault("phases", f"'{board.live}' is {live.words}.", str(live.phases), str(board.phases))
        board = evolve(board, current=live.current, phases=live.phases)
    if board.current == DC and board.frequency_hz is not None:
        entry.fault("frequency_hz", "Direct current has no frequency.", "no frequency_hz", f"{board.frequency_hz:g} Hz")
    voltages(entry, board.u0_v, board.u_v)
    return board


def voltages(entry: Entry, u0_v: float | None, u_v: float | None) -> None:
    """Report a voltage between lines that is below the one to earth [V]."""
    if u0_v is not None and u_v is not None and u_v < u0_v:
        entry.fault("u_v", "Between lines there is no less than to earth.", f"at least {u0_v:g} V", f"{u_v:g} V")


def _not_judged_so(entry: Entry, board: Board) -> None:
    """Say that the rules are asked for alternating current, whatever the board has."""
    if board.current == DC:
        entry.fault(
            "current",
            "The rules for direct current are not held here: what is judged on this board is judged as if it were AC.",
            "a judgement of your own",
            DC,
            severity=Severity.WARNING,
        )
