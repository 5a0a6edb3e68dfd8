"""How many of a thing, as it is said: ``1 entry``, ``2 entries``."""

from __future__ import annotations


def counted(n: int, one: str, more: str = "") -> str:
    """A number with its word, one of it or several; ``more`` where that is not ``one`` with an s."""
    return f"{n:,} {one if n == 1 else more or one + 's'}"
