"""How many seeds and pairs a test of invented cases takes: half of them as a rule, all with WIDE=1; `benchmarks/campaign.py` takes thousands."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TypeVar

R, C = TypeVar("R"), TypeVar("C")

WIDE = bool(os.environ.get("WIDE"))


def seeds(all_of_them: int) -> range:
    """Seeds from 0."""
    return range(all_of_them if WIDE else all_of_them // 2)


def pairs(rows: Sequence[R], columns: Sequence[C]) -> list[tuple[R, C]]:
    """Each row with each column; as a rule those of one colour of a chessboard, so that every row and column has its share."""
    return [(r, c) for i, r in enumerate(rows) for k, c in enumerate(columns) if WIDE or (i + k) % 2 == 0]
