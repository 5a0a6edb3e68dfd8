"""A cable that changes along its circuit, as if it were of one size: the length of it that has the same resistance."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from attrs import frozen

from ...site.installation import Circuit
from ...site.stretch import Stretch
from .lengths import WIRES, around, length_to, slack_m

LINE, CPC = "line_mm2", "cpc_mm2"
# Resistance per length of a conductor of the circuit by its cross-section [mΩ/m]; None when not known.
BySize = Callable[[float], float | None]


def alike_to(circuit: Circuit, point: str, core: str, by_size: BySize) -> tuple[float, float, str] | None:
    """Shortest and longest length to a point, in metres of the conductor that the circuit names, and what was assumed.

    Of a cable of one size that is its length. Of one that changes it is how much of its smallest conductor has the same
    resistance: ``Σ L·r / r_smallest``. None when nothing is known.
    core  :data:`LINE` or :data:`CPC`
    """
    length = length_to(circuit, point)
    if length is None or not circuit.stretches:
        return length
    shares = shares_of(circuit, core, by_size)
    if shares is None:
        return None
    place = dict(circuit.points).get(point) if point else None
    if place is not None:
        near, far = around(circuit, place)
        low, high = _between(circuit, shares, near, far)
    else:
        low, high = _ends(circuit, shares)
        low = low if length[0] > 0.0 else 0.0
    return low, high, f"{length[2]}: {circuit.runs}"


def shares_of(circuit: Circuit, core: str, by_size: BySize) -> tuple[float, ...] | None:
    """Of each stretch: how many metres of the circuit's own conductor resist like one metre of it; None when not known."""
    own = getattr(circuit, core)
    r = by_size(own) if own else None
    found = [_of(circuit, s, core, by_size) for s in circuit.stretches]
    if not r or any(x is None for x in found):
        return None
    return tuple(x / r for x in found if x is not None)


def _of(circuit: Circuit, s: Stretch, core: str, by_size: BySize) -> float | None:
    if core == CPC and (s.cpc or circuit.cpc) not in WIRES:
        return None
    size = s.line_mm2 if core == LINE else s.cpc_mm2 or circuit.cpc_mm2
    r = by_size(size) if size else None
    return None if r is None else r / s.cables


@frozen
class _Way:
    """A way from the board to an end: metres and share of each stretch on it."""

    parts: tuple[tuple[float, float], ...]

    @property
    def metres(self) -> float:
        return math.fsum(m for m, _ in self.parts)

    def upto(self, metres: float) -> float:
        """What lies before a place [m of the circuit's own conductor]; beyond its end the last stretch goes on."""
        found, left = 0.0, metres
        for m, share in self.parts[:-1]:
            found += min(left, m) * share
            left = max(0.0, left - m)
        return found + left * self.parts[-1][1]


def _ways(circuit: Circuit, shares: Sequence[float]) -> list[_Way] | None:
    """The ways to all ends; None where a length, or where a spur begins, is not known."""
    both = list(zip(circuit.stretches, shares, strict=True))
    main, spurs = [x for x in both if not x[0].spur], [x for x in both if x[0].spur]
    unknown = [i for i, (s, _) in enumerate(main) if s.length_m is None]
    known = math.fsum(s.length_m or 0.0 for s, _ in main)
    rest = (circuit.length_m or 0.0) - known
    if (
        len(unknown) > 1
        or (unknown and (rest <= 0.0 or spurs))
        or any(s.length_m is None or s.at_m is None for s, _ in spurs)
    ):
        return None
    trunk = _Way(tuple((rest if s.length_m is None else s.length_m, share) for s, share in main))
    ways = [trunk]
    for s, share in spurs:
        cut, left = [], s.at_m or 0.0
        for m, own in trunk.parts:
            cut.append((min(left, m), own))
            left = max(0.0, left - m)
        ways.append(_Way((*cut, (s.length_m or 0.0, share))))
    return ways


def _between(circuit: Circuit, shares: Sequence[float], near: float, far: float) -> tuple[float, float]:
    """A place along the cable, on whichever way it may lie."""
    ways = _ways(circuit, shares)
    if ways is None:
        return near * min(shares), far * max(shares)
    there = [w for w in ways if w.metres >= near] or [max(ways, key=lambda w: w.metres)]
    return min(w.upto(near) for w in there), max(w.upto(far) for w in there)


def _ends(circuit: Circuit, shares: Sequence[float]) -> tuple[float, float]:
    """The end that reads most, its tolerance as of the whole length."""
    whole = circuit.length_m or 0.0
    slack = slack_m(whole, circuit.length_tol_m) / whole if whole else 0.0
    low, high = max(0.0, 1.0 - slack), 1.0 + slack
    ways = _ways(circuit, shares)
    if ways is not None:
        most = max(w.upto(w.metres) for w in ways)
        return most * low, most * high
    spurs = math.fsum(s.length_m or whole for s in circuit.stretches if s.spur)
    return whole * min(shares) * low, (whole + spurs) * max(shares) * high
