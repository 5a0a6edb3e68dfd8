"""The hypotheses of a ring: of what kind each is, and what its conductors have in series under it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from enum import Enum
from itertools import combinations

from attrs import frozen

from .model import BRIDGE, CONDUCTORS, NOT_CROSSED, OPEN_OR_LINKED, WHOLE

INF = math.inf


class Kind(Enum):
    """What a hypothesis says is there."""

    SOUND = "sound"
    BRIDGED = "bridge"
    LEGS_NOT_CROSSED = "legs not crossed"
    JOINT = "poor joint"
    BREAK = "break"
    ALL_OPEN = "break in every conductor, or two rings linked"


@frozen
class Fault:
    """One hypothesis: what line, neutral and cpc have in series at the place (0, infinite, or None: some resistance)."""

    name: str
    kind: Kind = Kind.SOUND
    series: tuple[float | None, float | None, float | None] = (0.0, 0.0, 0.0)
    ln_crossed: bool = True
    le_crossed: bool = True

    @property
    def placed(self) -> bool:
        """Whether it has a place along the ring."""
        return self.series != (0.0, 0.0, 0.0)

    @property
    def at(self) -> tuple[str, ...]:
        """The conductors that have something in series."""
        return tuple(name for name, x in zip(CONDUCTORS, self.series, strict=True) if x != 0.0)


def _faults() -> Iterator[Fault]:
    yield Fault(NOT_CROSSED, Kind.LEGS_NOT_CROSSED, ln_crossed=False, le_crossed=False)
    yield Fault(f"{NOT_CROSSED}, line and neutral", Kind.LEGS_NOT_CROSSED, ln_crossed=False)
    yield Fault(f"{NOT_CROSSED}, line and cpc", Kind.LEGS_NOT_CROSSED, le_crossed=False)
    for place, name in enumerate(CONDUCTORS):
        x, y, z = (None if i == place else 0.0 for i in range(3))
        yield Fault(f"poor joint in {name}", Kind.JOINT, (x, y, z))
    for count in (1, 2, 3):
        for cut in combinations(range(3), count):
            a, b, c = (INF if place in cut else 0.0 for place in range(3))
            name = "break in " + " and ".join(CONDUCTORS[place] for place in cut)
            yield Fault(OPEN_OR_LINKED, Kind.ALL_OPEN, (a, b, c)) if count == 3 else Fault(name, Kind.BREAK, (a, b, c))


SOUND = Fault(WHOLE)
FAULTS = tuple(_faults())
_OF_NAME = {f.name: f for f in (SOUND, *FAULTS, Fault(BRIDGE, Kind.BRIDGED))}


def fault_of(name: str) -> Fault | None:
    """The hypothesis of a name; None where none is named."""
    return _OF_NAME.get(name)


def kind_of(name: str) -> Kind | None:
    """Of what kind a named hypothesis is; None where none is named."""
    fault = fault_of(name)
    return None if fault is None else fault.kind
