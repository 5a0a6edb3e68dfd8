"""The oracle for networks: dense nodal analysis by the pseudo-inverse of the Laplacian, numpy only."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pytest

Branch = tuple[str, str, float]
Oracle = Callable[[Sequence[Branch], str, str], tuple[float, list[float]]]


def dense(branches: Sequence[Branch], a: str, b: str) -> tuple[float, list[float]]:
    """Resistance from a to b and the current in every branch for one ampere; a and b must be joined."""
    place: dict[str, int] = {}
    for u, v, _ in branches:
        place.setdefault(u, len(place))
        place.setdefault(v, len(place))
    laplacian = np.zeros((len(place), len(place)))
    for u, v, r in branches:
        if u != v:
            i, j = place[u], place[v]
            laplacian[[i, j], [i, j]] += 1 / r
            laplacian[[i, j], [j, i]] -= 1 / r
    feed = np.zeros(len(place))
    feed[place[a]], feed[place[b]] = 1.0, -1.0
    volts = np.linalg.pinv(laplacian, hermitian=True) @ feed
    drops = [(volts[place[u]] - volts[place[v]]) / r for u, v, r in branches]
    return float(volts[place[a]] - volts[place[b]]), [float(i) for i in drops]


@pytest.fixture(scope="session")
def nodal() -> Oracle:
    """The dense oracle as a function."""
    return dense
