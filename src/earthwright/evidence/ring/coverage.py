"""Whether the profile of a ring could have shown a bridge: which stretches of it no socket that was read stands in.

A bridge lifts the sockets inside it and no others, and it makes the ring read short. So a whole ring is shown by every
socket when their number is known; or by its length, when no stretch without a socket that was read is long.
"""

from __future__ import annotations

from .model import RingTest

# Longest stretch without a socket that was read, where the number of sockets is not known: this much, or this share of the
# ring. Our choice: a stretch of more may hold sockets that nobody read.
STRETCH_M = 20.0
STRETCH_SHARE = 0.25
BOARD = "the board"


def could_show(test: RingTest) -> bool:
    """Whether a bridge anywhere would have shown at a socket, or in the length."""
    if test.counted:
        return bool(test.sockets) and all(s.ln is not None and s.le is not None for s in test.sockets)
    if test.length_m is None:
        return False
    return all(metres <= longest(test.length_m) for metres, _, _ in stretches(test, test.length_m))


def longest(length_m: float) -> float:
    """Longest stretch that may be left unread [m]."""
    return max(STRETCH_M, STRETCH_SHARE * length_m)


def stretches(test: RingTest, length_m: float) -> tuple[tuple[float, str, str], ...]:
    """Each stretch between sockets read on both profiles: its length [m] and what it lies between.

    Where only the order of the sockets is known they are taken as evenly spread.
    """
    placed = bool(test.sockets) and all(s.place_m is not None for s in test.sockets)
    marks, before, found = length_m / (len(test.sockets) + 1), (0.0, BOARD), []
    for number, s in enumerate(test.sockets, 1):
        if s.ln is None or s.le is None:
            continue
        at = s.place_m if placed and s.place_m is not None else number * marks
        found.append((at - before[0], before[1], s.point))
        before = at, s.point
    return (*found, (length_m - before[0], before[1], BOARD))
