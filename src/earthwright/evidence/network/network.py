"""The site as the sampler sees it: nodes, bonds, stray links, and the states in which readings were taken.

Everything is measured from the MET, so the network in one state is its matrix of impedances to the MET: entry (a, a) is
the two-point resistance from a to the MET, and a changed edge changes the matrix by one product (Sherman and Morrison).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import frozen

from ...base.errors import EarthwrightError
from ...site.installation import MET
from ..priors import whole_nodes
from .model import SiteBond, SiteData
from .tables import Conductors, PathGrid, chances, conductors, path_grid

LEAK = 1e-7  # siemens from every node to the MET, so that a lone part has an impedance: far beyond any display
GROUND = -1  # the MET's place
Matrix = list[list[float]]


class SiteError(EarthwrightError, ValueError):
    """A site that contradicts itself: an id given twice, or one that is not there."""


@frozen
class Stray:
    """One link that is no bond: ends (nodes, :data:`GROUND` for the MET), prior, and the known link it stands for."""

    a: int
    b: int
    present: float
    low: float
    high: float
    known: str = ""

    @property
    def span(self) -> float:
        """Width of the prior in ln Ω."""
        return math.log(self.high / self.low)


@frozen
class Factor:
    """The readings of one bond in one state: their chance by conductor node and path cell."""

    bond: int
    state: int
    table: tuple[tuple[float, ...], ...]


class Net:
    """A site made ready: every table worked out, nothing drawn yet. Raises SiteError with all faults at once.

    primary  the state in which each bond's path is followed (default: nothing off but the bond itself, and what is gone)
    """

    def __init__(self, data: SiteData, primary: dict[str, frozenset[str]] | None = None) -> None:
        self.data, self.given = data, primary
        self.model = data.model
        _check(data)
        self.bond_ids = [b.id for b in data.bonds]
        self.nodes = list(dict.fromkeys([b.part for b in data.bonds] + [n for x in data.links for n in (x.a, x.b)]))
        self.nodes = [n for n in self.nodes if n != MET]
        place = {name: i for i, name in enumerate(self.nodes)} | {MET: GROUND}
        self.at = [place[b.part] for b in data.bonds]
        self.strays = self._strays(place)
        self.direct = {s.a: e for e, s in enumerate(self.strays) if s.b == GROUND and not s.known}
        self._states: dict[frozenset[str], int] = {}
        self.primary = [self._state(b.id, (primary or {}).get(b.id, data.gone)) for b in data.bonds]
        self.copper: list[Conductors] = []
        self.grid: list[PathGrid] = []
        self.most_ohm = {b.id: whole_nodes(b.copper, self.model.bond)[-1][0] for b in data.bonds}  # of a whole one
        self.factors: list[Factor] = []
        for i, bond in enumerate(data.bonds):
            self._read(i, bond)
        self.states = list(self._states)
        self.off = [frozenset(i for i, b in enumerate(self.bond_ids) if b in off) for off in self.states]
        self.links_off = [frozenset(e for e, s in enumerate(self.strays) if s.known in off) for off in self.states]
        self.read_at = [(self.bond_ids.index(r.bond), self._state(r.bond, r.off)) for r in data.readings]
        self.by_state = [[f for f in self.factors if f.state == k] for k in range(len(self.states))]

    def _read(self, i: int, bond: SiteBond) -> None:
        """The tables of one bond: its conductor, its path, and its readings by state."""
        mine = [r for r in self.data.readings if r.bond == bond.id]
        observed = [r.observed for r in mine]
        self.copper.append(conductors(bond.copper, self.model.bond, observed))
        self.grid.append(path_grid(observed))
        for state in dict.fromkeys(self._state(r.bond, r.off) for r in mine):
            some = [r.observed for r in mine if self._state(r.bond, r.off) == state]
            rows = chances(some, self.copper[i].ohm, self.grid[i].mids, self.model.bond)
            self.factors.append(Factor(i, state, tuple(tuple(row) for row in rows)))

    def _state(self, bond: str, off: frozenset[str]) -> int:
        return self._states.setdefault(off - {bond}, len(self._states))

    def _strays(self, place: dict[str, int]) -> list[Stray]:
        model = self.model.bond
        low, high = model.path_ohm
        found = [Stray(a, GROUND, 1.0 - model.path_absent, low, high) for a in range(len(self.nodes))]
        parts = sorted(set(self.at))
        joined = min(1.0 - model.path_absent, self.model.between / max(1, len(parts) - 1))
        if joined > 0.0:
            found += [Stray(a, b, joined, low, high) for i, a in enumerate(parts) for b in parts[i + 1 :]]
        for link in self.data.links:
            ends = sorted((place[link.a], place[link.b]), reverse=True)
            found.append(Stray(ends[0], ends[1], 1.0, link.r_low_ohm, link.r_high_ohm, link.id))
        return found

    def matrix(self, state: int, bond_g: Sequence[float], stray_g: Sequence[float]) -> Matrix:
        """Impedances to the MET in one state, from the conductances of bonds and strays [S]."""
        n = len(self.nodes)
        y = [[0.0] * n for _ in range(n)]
        for a in range(n):
            y[a][a] = LEAK
        for i, g in enumerate(bond_g):
            if i not in self.off[state]:
                y[self.at[i]][self.at[i]] += g
        for e, g in enumerate(stray_g):
            if g and e not in self.links_off[state]:
                a, b = self.strays[e].a, self.strays[e].b
                y[a][a] += g
                if b != GROUND:
                    y[b][b] += g
                    y[a][b] -= g
                    y[b][a] -= g
        return inverse(y)


def _check(data: SiteData) -> None:
    faults = []
    ids = [b.id for b in data.bonds] + [x.id for x in data.links]
    faults += [f"{name!r} is given twice" for name in dict.fromkeys(x for x in ids if ids.count(x) > 1)]
    if not data.bonds:
        faults.append("expected at least one bond, found none")
    faults += [f"reading {r.id!r}: bond {r.bond!r} is not there" for r in data.readings if r.bond not in ids]
    faults += [f"bond {b.id!r}: expected a part, found the MET itself" for b in data.bonds if b.part == MET]
    for link in data.links:
        if not 0.0 < link.r_low_ohm < link.r_high_ohm < math.inf:
            found = f"{link.r_low_ohm!r} … {link.r_high_ohm!r}"
            faults.append(f"link {link.id!r}: expected 0 < low < high Ω, found {found}")
        if link.a == link.b:
            faults.append(f"link {link.id!r}: expected two different ends, found {link.a!r} twice")
    if faults:
        raise SiteError("site: " + "; ".join(faults))


def inverse(y: Matrix) -> Matrix:
    """Inverse of a symmetric matrix that is diagonally dominant, by Gauss and Jordan without pivoting."""
    n = len(y)
    rows = [list(row) + [1.0 if i == j else 0.0 for j in range(n)] for i, row in enumerate(y)]
    for k in range(n):
        pivot = 1.0 / rows[k][k]
        own = rows[k] = [x * pivot for x in rows[k]]
        for i in range(n):
            factor = rows[i][k]
            if i != k and factor:
                rows[i] = [x - factor * o for x, o in zip(rows[i], own, strict=True)]
    return [row[n:] for row in rows]


def add_edge(z: Matrix, a: int, b: int, g: float) -> None:
    """Put a conductance between two nodes into a matrix of impedances, in place; a negative one takes it out."""
    u = list(z[a]) if b == GROUND else [x - y for x, y in zip(z[a], z[b], strict=True)]
    own = u[a] if b == GROUND else u[a] - u[b]
    factor = g / (1.0 + g * own)
    for row, x in zip(z, u, strict=True):
        if x:
            f = factor * x
            row[:] = [r - f * y for r, y in zip(row, u, strict=True)]


def beside(z_own: float, g: float) -> float:
    """Path beside a bond: what is left of the impedance at its part when its own conductance is taken out [Ω]."""
    left = 1.0 / z_own - g
    return 1.0 / left if left > LEAK / 2.0 else 2.0 / LEAK
