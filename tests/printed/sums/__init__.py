"""For each published value the public functions that have to give it; never a copy of the formula.

``CHECKS`` asks our own code. ``ORACLES`` asks a reference library that other tests of ours lean on.
Keys are ids; a key that ends in a hyphen stands for every id that begins with it, and the longest one counts.
"""

from __future__ import annotations

from . import conductors, devices, earth, loops, networks, oracles, sizes, uncertainty
from .common import Route

CHECKS: dict[str, tuple[Route, ...]] = {
    **conductors.CHECKS,
    **sizes.CHECKS,
    **loops.CHECKS,
    **networks.CHECKS,
    **devices.CHECKS,
    **earth.CHECKS,
    **uncertainty.CHECKS,
}
ORACLES: dict[str, tuple[Route, ...]] = oracles.CHECKS


def routes_for(value_id: str, table: dict[str, tuple[Route, ...]]) -> tuple[Route, ...]:
    """The routes under the longest key that fits an id; empty when none does."""
    keys = [k for k in table if k == value_id or (k.endswith("-") and value_id.startswith(k))]
    return table[max(keys, key=len)] if keys else ()
