"""How many seeds a test of invented cases takes: half of them as a rule, all with WIDE=1; `benchmarks/campaign.py` takes thousands."""

from __future__ import annotations

import os

WIDE = bool(os.environ.get("WIDE"))


def seeds(all_of_them: int) -> range:
    """Seeds from 0."""
    return range(all_of_them if WIDE else all_of_them // 2)
