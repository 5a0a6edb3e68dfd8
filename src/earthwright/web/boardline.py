"""A board in one line: how far its tests are, what is worst on it, and where it stands on the schedule."""

from __future__ import annotations

from urllib.parse import quote

from attrs import frozen

from ..evidence.bond import DISPROVED
from ..outcomes.circuits import BoardJudged, TestJudged
from ..outcomes.verdict import FAILS, MEETS, NOT_DECIDED
from .words import say


@frozen
class BoardLine:
    """One board in a line."""

    id: str
    title: str
    words: str
    worst: str


def tests_of(board: BoardJudged) -> list[TestJudged]:
    """The tests of a board and of its circuits."""
    return [*board.tests, *(t for c in board.circuits for t in c.tests)]


def board_line(board: BoardJudged) -> BoardLine:
    """How far a board is."""
    tests = tests_of(board)
    fails = sum(t.outcome == FAILS for t in tests)
    missing = sum(t.absent == "missing" for t in tests)
    cut = sum((x := c.ring or c.cpc) is not None and x.verdict == DISPROVED for c in board.circuits)
    worst = FAILS if fails or cut else NOT_DECIDED if missing or not tests else MEETS
    words = say("now.board", circuits=len(board.circuits), fails=fails, missing=missing)
    if cut:
        words += say("now.board_cut", count=cut)
    return BoardLine(board.board.id, board.board.name or board.board.id, words, worst)


def address_of(base: str, board: str) -> str:
    """Address of a board on the schedule, which shows one board at a time where there are many."""
    name = quote(board, safe="")
    return f"{base}/circuits?board={name}#{name}"
