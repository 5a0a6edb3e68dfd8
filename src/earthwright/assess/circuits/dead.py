"""The dead tests of origin, boards and circuits: continuity, rings, insulation, and what is recorded in words."""

from __future__ import annotations

from collections.abc import Sequence

from ...errors import Finding
from ...installation import Board, Circuit
from ...tested import CircuitJudged, RingJudged, TestJudged
from ...visit import Visit
from ..rulings import Rulings
from .taken import Taken

Dead = tuple[tuple[TestJudged, ...], RingJudged | None, tuple[Finding, ...]]


def origin_tests(visit: Visit, taken: Taken, rulings: Rulings) -> tuple[TestJudged, ...]:
    """Polarity, phase sequence, insulation and functions at the origin."""
    return ()


def board_tests(
    visit: Visit, board: Board, circuits: Sequence[CircuitJudged], taken: Taken, rulings: Rulings
) -> tuple[tuple[TestJudged, ...], tuple[Finding, ...]]:
    """The dead tests of a whole board, and what its circuits say together."""
    return (), ()


def dead_tests(visit: Visit, circuit: Circuit, taken: Taken, rulings: Rulings) -> Dead:
    """The dead tests of one circuit; only those for which something is entered."""
    return (), None, ()
