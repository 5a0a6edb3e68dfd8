"""One network drawn: the state of every bond and link, and the draw of a bond with the stray link from its part.

A bond and the stray link from its part to the MET are drawn as one pair, out of their exact joint distribution with the
rest of the network held still. That is the quadrature of one bond, with the path's prior shaped by its neighbours.
"""

from __future__ import annotations

import math
import random
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import accumulate, pairwise
from operator import itemgetter, mul

from .network import GROUND, Factor, Net, add_edge, beside
from .tables import COARSE, Conductors

X_LOW, X_STEPS, X_COUNT = 5e-4, 20.0, 440  # grid of conductances from a part to the MET [S], steps per factor e
X_SHIFT = 1.5 - math.log(X_LOW) * X_STEPS
X_GRID = (0.0, *(X_LOW * math.exp((k - 1) / X_STEPS) for k in range(1, X_COUNT)))


def x_index(x: float) -> int:
    """Place of a conductance on the grid, nearest."""
    return int(math.log(x) * X_STEPS + X_SHIFT) if x > X_LOW else 0


class Tally:
    """What is added up over the rounds of one batch.

    weights  by bond, then round: weights of the three hypotheses, each round's adding up to one
    joint    by bond: weight of each (conductor node, path cell)
    cross    by (bond whose hypothesis is meant, other bond): by hypothesis, weight of the other's (conductor, path cell)
    joined   by the same pairs: number of rounds in which the one matters at the other
    links    by stray link: its resistance in each round, infinite when absent
    stated   by reading: in each round, the share of its chance that is owed to its having been taken as stated
    """

    def __init__(self, net: Net) -> None:
        n = len(net.at)
        self.weights: list[list[tuple[float, ...]]] = [[] for _ in range(n)]
        self.joint = [[[0.0] * len(net.grid[i].mids) for _ in net.copper[i].ohm] for i in range(n)]
        self.cross: dict[tuple[int, int], list[dict[tuple[int, int], float]]] = {
            (i, j): [{}, {}, {}] for i in range(n) for j in range(n) if i != j
        }
        self.joined = dict.fromkeys(self.cross, 0)
        self.links: list[list[float]] = [[] for _ in net.strays]
        self.stated: list[list[float]] = [[] for _ in net.data.readings]


class Chain:
    """One chain of draws."""

    def __init__(self, net: Net, draw: random.Random) -> None:
        self.net = net
        self.draw = draw
        self.c = [0] * len(net.copper)
        self.y = [0.0] * len(net.strays)
        self.joined = [e for e, s in enumerate(net.strays) if self._is_link(e) or s.a not in net.at]
        self.z = [net.matrix(k, [], []) for k in range(len(net.states))]
        self.refresh()

    def _is_link(self, e: int) -> bool:
        return self.net.strays[e].b != GROUND or bool(self.net.strays[e].known)

    def refresh(self) -> None:
        """Work the matrices out from nothing, so that rounding does not add up."""
        g = [copper.siemens[c] for copper, c in zip(self.net.copper, self.c, strict=True)]
        self.z = [self.net.matrix(k, g, self.y) for k in range(len(self.net.states))]

    def g(self, i: int) -> float:
        """Conductance of a bond [S]."""
        return self.net.copper[i].siemens[self.c[i]]

    # ---- a bond and the stray link from its part to the MET ----

    def pair(self, i: int, tally: Tally) -> None:
        """Draw both, and add the exact weights to the tally."""
        net = self.net
        a, e = net.at[i], net.direct[net.at[i]]
        for k, z in enumerate(self.z):
            x = self.y[e] + (0.0 if i in net.off[k] else self.g(i))
            if x:
                add_edge(z, a, GROUND, -x)
        copper, grid = net.copper[i], net.grid[i]
        rho = self.z[net.primary[i]][a][a]
        ys, mass = self.stray_points(i, e, a)
        places = [bisect_right(grid.falls, -1.0 / rho - y) for y in ys]
        tables = []
        for f in net.factors:
            if f.bond == i:
                there = self.z[f.state][a][a]
                pick = itemgetter(
                    *(places if f.state == net.primary[i] else [bisect_right(grid.falls, -1.0 / there - y) for y in ys])
                )
                tables.append([pick(row) for row in f.table])
            elif i in net.off[f.state]:
                mass = list(map(mul, mass, self.others(f, a, ys)))
        w_on = self._on_grid(i, a)
        rows: list[list[float]] = []
        xs = [[x_index(y + g) for y in ys] for _, _, g in copper.groups]
        for (first, end, _), own in zip(copper.groups, xs, strict=True):
            shared = mass
            if w_on is not None:
                shared = [m * w_on[x] for m, x in zip(mass, own, strict=True)]
            for c in range(first, end):
                row = shared
                for table in tables:
                    row = list(map(mul, row, table[c]))
                rows.append(row)
        sums = [w * math.fsum(row) for w, row in zip(copper.weight, rows, strict=True)]
        self._add(i, a, tally, rows, sums, xs, places)
        self.c[i] = choose(self.draw, sums)
        self.y[e] = ys[choose(self.draw, rows[self.c[i]])]
        for s, z in enumerate(self.z):
            x = self.y[e] + (0.0 if i in net.off[s] else self.g(i))
            if x:
                add_edge(z, a, GROUND, x)

    def stray_points(self, i: int, e: int, a: int) -> tuple[list[float], list[float]]:
        """Conductances that the stray link of a part may have, one at random in each cell, and the cells' chances.

        The value it has stands for its own cell: so the draw among them leaves the posterior as it is, whatever the
        width of the cells. They are cut where the path crosses an edge of its grid, and nowhere wider than the grid.
        """
        net, stray = self.net, self.net.strays[e]
        low, high = math.log(stray.low), math.log(stray.high)
        cuts = {low, high}
        for k in {net.primary[i], *(f.state for f in net.factors if f.bond == i)}:
            rho = self.z[k][a][a]
            falls, least = net.grid[i].falls, 1.0 / rho
            for fall in falls[: bisect_left(falls, -least)]:
                cuts.add(min(high, max(low, -math.log(-fall - least))))
        bounds = sorted(cuts)
        bounds += [
            p + (q - p) * k / n
            for p, q in pairwise(bounds)
            if (n := math.ceil((q - p) / COARSE)) > 1
            for k in range(1, n)
        ]
        bounds.sort()
        now = -math.log(self.y[e]) if self.y[e] else math.inf
        draw = self.draw.random
        ys = [math.exp(-(now if p <= now < q else p + (q - p) * draw())) for p, q in pairwise(bounds)]
        density = stray.present / (high - low)
        mass = [(q - p) * density for p, q in pairwise(bounds)]
        return [*ys, 0.0], [*mass, 1.0 - stray.present]

    def others(self, f: Factor, a: int, xs: Sequence[float]) -> list[float]:
        """Chance of another bond's readings for each conductance between node a and the MET."""
        net, z = self.net, self.z[f.state]
        b, row, grid = net.at[f.bond], f.table[self.c[f.bond]], net.grid[f.bond]
        g, falls = self.g(f.bond), grid.falls
        at_b, between, at_a = z[b][b], z[a][b] * z[a][b], z[a][a]
        nothing = grid.beside(at_b, g)
        if nothing == grid.beside(max(at_b - between / at_a, 1e-9), g):
            return [row[nothing]] * len(xs)  # whatever joins a to the MET, this bond's path is the same
        return [row[bisect_right(falls, g - 1.0 / (at_b - between * x / (1.0 + at_a * x)))] for x in xs]

    def _cells(self, j: int, state: int, a: int) -> list[int] | None:
        """The cell of another bond's path over the grid of conductances from node a to the MET; None when it is the same for all.

        The path falls with the conductance: where it falls through an edge is worked out, and not the path at each.
        """
        z, b, grid, g = self.z[state], self.net.at[j], self.net.grid[j], self.g(j)
        at_b, between, at_a = z[b][b], z[a][b] * z[a][b], z[a][a]
        cell, cells = grid.beside(at_b, g), list[int]()
        if cell == grid.beside(max(at_b - between / at_a, 1e-9), g):
            return None
        while len(cells) < X_COUNT and cell > 0:
            fallen = at_b - 1.0 / (g - grid.falls[cell - 1])
            left = between - at_a * fallen
            last = bisect_right(X_GRID, fallen / left) if left > 0.0 else X_COUNT
            cells += [cell] * (last - len(cells))
            cell -= 1
        return cells + [cell] * (X_COUNT - len(cells))

    def _on_grid(self, i: int, a: int) -> list[float] | None:
        """Chance of all other bonds' readings, taken with bond i on, over the grid; None when it is the same for all."""
        found: list[float] | None = None
        for f in self.net.factors:
            if f.bond == i or i in self.net.off[f.state]:
                continue
            cells, row = self._cells(f.bond, f.state, a), f.table[self.c[f.bond]]
            if cells and min(own := [row[cell] for cell in cells]) < max(own):
                found = own if found is None else list(map(mul, found, own))
        return found

    def _add(
        self,
        i: int,
        a: int,
        tally: Tally,
        rows: Sequence[Sequence[float]],
        sums: Sequence[float],
        xs: Sequence[Sequence[int]],
        places: Sequence[int],
    ) -> None:
        copper = self.net.copper[i]
        total = math.fsum(sums)
        weights = tuple(math.fsum(sums[c] for c in copper.of(hyp)) / total for hyp in range(3))
        tally.weights[i].append(weights)
        least = [1e-5 * w * total for w in weights]
        for c, (row, share, hyp) in enumerate(zip(rows, sums, copper.hyp, strict=True)):
            if share > least[hyp]:
                joint, scale = tally.joint[i][c], copper.weight[c] / total
                for cell, w in zip(places, row, strict=True):
                    joint[cell] += w * scale
        self._add_cross(i, a, tally, rows, weights, total, xs)

    def _add_cross(
        self,
        i: int,
        a: int,
        tally: Tally,
        rows: Sequence[Sequence[float]],
        weights: Sequence[float],
        total: float,
        xs: Sequence[Sequence[int]],
    ) -> None:
        """Where conductor and path of the other bonds lie, by the hypothesis on this one."""
        copper = self.net.copper[i]
        by_x: list[dict[int, float]] = []
        for j, b in enumerate(self.net.at):
            if j == i:
                continue
            state, c = self.net.primary[j], self.c[j]
            cells = self._cells(j, state, a)
            if cells is None:
                alone = c, self.net.grid[j].beside(self.z[state][b][b], self.g(j))
                for found, w in zip(tally.cross[i, j], weights, strict=True):
                    found[alone] = found.get(alone, 0.0) + w
                continue
            tally.joined[i, j] += 1
            by_x = by_x or self._by_x(copper, rows, weights, total, xs)
            for found, spread in zip(tally.cross[i, j], by_x, strict=True):
                for x, w in spread.items():
                    key = c, cells[x]
                    found[key] = found.get(key, 0.0) + w

    @staticmethod
    def _by_x(
        copper: Conductors,
        rows: Sequence[Sequence[float]],
        weights: Sequence[float],
        total: float,
        xs: Sequence[Sequence[int]],
    ) -> list[dict[int, float]]:
        """Weight of each conductance between part and MET, by hypothesis."""
        by_x: list[dict[int, float]] = [{}, {}, {}]
        for (first, end, _), own in zip(copper.groups, xs, strict=True):
            found, least = by_x[copper.hyp[first]], 1e-4 * weights[copper.hyp[first]]
            column = [0.0] * len(own)
            for c in range(first, end):
                scale = copper.weight[c] / total
                column = [v + scale * w for v, w in zip(column, rows[c], strict=True)]
            for w, x in zip(column, own, strict=True):
                if w > least:
                    found[x] = found.get(x, 0.0) + w
        return by_x

    def log_chance(self) -> float:
        net = self.net
        return math.fsum(
            math.log(f.table[self.c[f.bond]][net.grid[f.bond].beside(*self._own(f.bond, f.state))]) for f in net.factors
        )

    def path(self, i: int, state: int) -> float:
        """The path beside a bond in a state [Ω]."""
        return beside(*self._own(i, state))

    def _own(self, i: int, state: int) -> tuple[float, float]:
        """Impedance at a bond's part in a state [Ω], and the conductance of its own that is in it [S]."""
        a = self.net.at[i]
        return self.z[state][a][a], 0.0 if i in self.net.off[state] else self.g(i)


def choose(draw: random.Random, weight: Sequence[float]) -> int:
    """One index drawn in proportion to the weights, which need not add up to 1."""
    upto = list(accumulate(weight))
    return min(len(weight) - 1, bisect_right(upto, draw.random() * upto[-1]))
