"""What each family of findings means, how loudly it speaks as a rule, and what to do first (``findings.toml``)."""

from __future__ import annotations

import tomllib
from enum import Enum
from functools import lru_cache

from attrs import frozen

from .packaged import beside


class Severity(str, Enum):
    """How loudly a finding speaks. ``STOP`` blocks a step on site, ``ERROR`` voids the entry it names."""

    STOP = "stop"
    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for the loudest."""
        return list(Severity).index(self)


@frozen
class Family:
    """One family: its name in the record, the group it stands in, its usual weight first, meaning and first step."""

    name: str
    group: str
    weights: tuple[Severity, ...]
    means: str
    first: str


@lru_cache(maxsize=1)
def families() -> dict[str, Family]:
    """Every family by its name, in the order of the catalogue."""
    text = beside(__file__, __package__, "findings.toml").read_text(encoding="utf-8")
    return {
        name: Family(name, group, tuple(Severity(w) for w in weights.split(", ")), means, first)
        for group, rows in tomllib.loads(text).items()
        for name, (weights, means, first) in rows.items()
    }
