"""Insulation resistance of circuits tested together, and which of them pulls the board down.

Any one unit of resistance may be used throughout a call (MΩ as a rule).
"""

from __future__ import annotations

from collections.abc import Sequence

from earthwright.physics.conductor import parallel
from earthwright.physics.domain import band, positive, resistance


def board(circuits: Sequence[float]) -> float:
    """All circuits together: R = 1/Σ(1/R_i).

    circuits [MΩ] >= 0, infinite for one that shows no leakage at all. Returns [MΩ], infinite without
    circuits. Raises OutOfDomain. Source: Kirchhoff. Checked with published four of 4 MΩ is 1 MΩ.
    """
    return parallel(*circuits)


def board_band(circuits: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """All circuits together when each is known as a band; over-range above 299 is (299, infinity).

    circuits: (low, high) [MΩ]. R rises with every circuit's value, so edges go with edges. Returns (low,
    high) [MΩ]. Raises OutOfDomain. Source: Kirchhoff. Checked with six circuits of which two are
    over-range.
    """
    edges = [band(f"circuits[{place}]", low, high) for place, (low, high) in enumerate(circuits)]
    return board([low for low, _ in edges]), board([high for _, high in edges])


def without_each(circuits: Sequence[float]) -> tuple[float, ...]:
    """The board's value with each circuit in turn left out.

    circuits [MΩ] >= 0. Returns one value [MΩ] a circuit, infinite when nothing is left. Raises OutOfDomain.
    Source: Kirchhoff. Checked with six circuits of which the third is bad.
    """
    return tuple(board([*circuits[:place], *circuits[place + 1 :]]) for place in range(len(circuits)))


def culprits(circuits: Sequence[float], minimum: float) -> tuple[int, ...]:
    """The fewest circuits whose removal brings the board up to a minimum: places from 0, worst first.

    circuits [MΩ] >= 0; minimum [MΩ] > 0, reached when the board is at least that. Taking the worst first
    leaves the least leakage for any number taken, so no smaller set exists. Returns places; empty when the
    board is good as it is. Raises OutOfDomain. Source: Kirchhoff. Checked against every subset.
    """
    enough = positive("minimum", minimum)
    for place, value in enumerate(circuits):
        resistance(f"circuits[{place}]", value)
    order = sorted(range(len(circuits)), key=lambda place: circuits[place])
    taken = 0
    while board([circuits[place] for place in order[taken:]]) < enough:  # ends: an empty board is infinite
        taken += 1
    return tuple(order[:taken])
