"""The live tests of origin, boards and circuits, and the electrodes."""

from __future__ import annotations

from collections.abc import Sequence

from ...installation import Board, Circuit
from ...tested import Alarm, ElectrodeJudged, TestJudged
from ...visit import Visit
from ..rulings import Rulings
from .taken import Taken


def origin_tests(visit: Visit, taken: Taken, rulings: Rulings) -> tuple[TestJudged, ...]:
    """Ze and prospective fault current at the origin."""
    return ()


def board_tests(visit: Visit, board: Board, taken: Taken, rulings: Rulings) -> tuple[TestJudged, ...]:
    """Zdb and prospective fault current of a board, and its residual current device."""
    return ()


def live_tests(
    visit: Visit, circuit: Circuit, dead: Sequence[TestJudged], taken: Taken, rulings: Rulings
) -> tuple[TestJudged, ...]:
    """Loop, disconnection and residual current device of a circuit; ``dead`` are its dead tests, already judged."""
    return ()


def electrodes(visit: Visit, taken: Taken, rulings: Rulings) -> tuple[ElectrodeJudged, ...]:
    """The earth electrodes."""
    return ()


def alarms(visit: Visit, taken: Taken, rulings: Rulings) -> tuple[Alarm, ...]:
    """Danger that is there now."""
    return ()
