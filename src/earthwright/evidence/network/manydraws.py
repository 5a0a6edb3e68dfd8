"""The draws of the sampler many at a time, with numpy; loaded by :mod:`.fast` alone. The same steps as .proposal and .chain.

Every array has the draws as its first axis. More networks are drawn than without numpy, and those that are followed go
over the bonds once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .chain import X_COUNT, X_GRID, X_LOW, X_SHIFT, X_STEPS, Tally
from .moves import LADDER
from .network import GROUND, LEAK, Factor, Net
from .proposal import R_COUNT, R_LOW, R_STEPS, Outlook, hope
from .tables import COARSE

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
XS = np.array(X_GRID)
HALVES = 2  # of the batches, see .ask.Asked.bits
FAINT = 1e-6  # weights below this share of their hypothesis are not added up


def beside(z_own: Floats, g: Floats) -> Floats:
    """As .network.beside, for many draws."""
    left = 1.0 / z_own - g
    return np.asarray(np.where(left > LEAK / 2.0, 1.0 / np.maximum(left, LEAK / 2.0), 2.0 / LEAK))


def pick(rng: np.random.Generator, weight: Floats) -> Ints:
    """One column of each row, as often as its weight says."""
    upto = np.cumsum(weight, axis=1)
    found = (upto < rng.random((len(weight), 1)) * upto[:, -1:]).sum(axis=1)
    return np.asarray(np.minimum(found, weight.shape[1] - 1))


class Many:
    """Many networks at once: conductor nodes ``c``, conductances of strays ``y``, impedances ``z`` by state."""

    def __init__(self, net: Net, rng: np.random.Generator, c: Ints, y: Floats) -> None:
        self.net, self.rng, self.c, self.y = net, rng, c, y
        self.count = len(c)
        self.siemens = [np.array(k.siemens) for k in net.copper]
        self.edges = [np.array(g.edges) for g in net.grid]
        self.tables = {id(f): np.array(f.table) for f in net.factors}
        self.z = [self._matrix(k) for k in range(len(net.states))]

    def g(self, i: int) -> Floats:
        """Conductance of a bond in every draw [S]."""
        return self.siemens[i][self.c[:, i]]

    def _matrix(self, state: int) -> Floats:
        net, n = self.net, len(self.net.nodes)
        m = np.zeros((self.count, n, n))
        m[:, range(n), range(n)] = LEAK
        for i, a in enumerate(net.at):
            if i not in net.off[state]:
                m[:, a, a] += self.g(i)
        for e, s in enumerate(net.strays):
            if e not in net.links_off[state]:
                m[:, s.a, s.a] += self.y[:, e]
                if s.b != GROUND:
                    m[:, s.b, s.b] += self.y[:, e]
                    m[:, s.a, s.b] -= self.y[:, e]
                    m[:, s.b, s.a] -= self.y[:, e]
        return np.asarray(np.linalg.inv(m))

    def add(self, state: int, a: int, b: int, g: Floats) -> None:
        """Put a conductance between two nodes; a negative one takes it out."""
        z = self.z[state]
        u = z[:, a] if b == GROUND else z[:, a] - z[:, b]
        own = u[:, a] if b == GROUND else u[:, a] - u[:, b]
        z -= (g / (1.0 + g * own))[:, None, None] * u[:, :, None] * u[:, None, :]

    def cell(self, i: int, ohm: Floats) -> Ints:
        """Path cell of many values."""
        return np.asarray(np.searchsorted(self.edges[i], ohm, side="right"))

    def path(self, i: int, state: int) -> Floats:
        """The path beside a bond in a state [Ω]."""
        a = self.net.at[i]
        g = np.zeros(self.count) if i in self.net.off[state] else self.g(i)
        return beside(self.z[state][:, a, a], g)

    def log_chance(self) -> Floats:
        """ln of the chance of all readings."""
        found = np.zeros(self.count)
        for f in self.net.factors:
            found += np.log(self.tables[id(f)][self.c[:, f.bond], self.cell(f.bond, self.path(f.bond, f.state))])
        return found

    # ---- importance sampling ----

    def propose(self, outlook: Outlook) -> Floats:
        """Draw every network afresh; ln of their weights. Starts from matrices without any stray link."""
        net = self.net
        weight = np.zeros(self.count)
        for i, copper in enumerate(net.copper):
            share = np.array(outlook.bonds[i])
            weight += np.log(np.array(copper.weight)[self.c[:, i]] / share[self.c[:, i]])
        for e, stray in enumerate(net.strays):
            if stray.b != GROUND or stray.known or stray.a not in net.at:
                weight += self._link(outlook, e)
        for i, a in enumerate(net.at):
            if a not in net.at[:i]:
                weight += self._stray(i, hope(len(net.at)) if set(net.at[i + 1 :]) - {a} else 0.0)
        return weight + self.log_chance()

    def _link(self, outlook: Outlook, e: int) -> Floats:
        net, stray = self.net, self.net.strays[e]
        count = max(4, min(40, math.ceil(stray.span / LADDER)))
        foot = self.rng.random((self.count, 1))
        ys = np.exp(-math.log(stray.low) - (np.arange(count) + foot) * stray.span / count)
        prior = np.full((1, count), stray.present / count)
        if stray.present < 1.0:
            ys = np.hstack([ys, np.zeros((self.count, 1))])
            prior = np.hstack([prior, [[1.0 - stray.present]]])
        score = np.repeat(prior, self.count, axis=0)
        for i, (a, f) in enumerate(zip(net.at, outlook.factor, strict=True)):
            if f is None or a not in (stray.a, stray.b) or e in net.links_off[f.state]:
                continue
            z = self.z[f.state]
            u = z[:, stray.a] if stray.b == GROUND else z[:, stray.a] - z[:, stray.b]
            own = u[:, stray.a] if stray.b == GROUND else u[:, stray.a] - u[:, stray.b]
            rest = z[:, a, a, None] - u[:, a, None] ** 2 * ys / (1.0 + own[:, None] * ys)
            g = np.zeros(self.count) if i in net.off[f.state] else self.g(i)
            rest = np.maximum(beside(rest, g[:, None]), R_LOW)
            place = np.minimum(R_COUNT - 1, (np.log(rest / R_LOW) * R_STEPS + 0.5).astype(np.intp))
            group = np.array(outlook.group[i])[self.c[:, i]]
            score *= np.array(outlook.chance[i])[group[:, None], place]
        k = pick(self.rng, score)
        rows = np.arange(self.count)
        self.y[:, e] = ys[rows, k]
        for state in range(len(self.z)):
            if e not in net.links_off[state]:
                self.add(state, stray.a, stray.b, self.y[:, e])
        return np.asarray(np.log(prior[0, k] * score.sum(axis=1) / score[rows, k]))

    def _stray(self, i: int, leave: float) -> Floats:
        net, a = self.net, self.net.at[i]
        e = net.direct[a]
        paths = {f.state: self.path(i, f.state) for f in net.factors if f.bond == i}
        ys, mass = self._points(i, paths, np.full(self.count, math.inf), finely=False)
        seen = np.ones_like(mass)
        for f in net.factors:
            if f.bond == i:
                cells = self.cell(i, 1.0 / (1.0 / paths[f.state][:, None] + ys))
                seen *= self.tables[id(f)][self.c[:, i, None], cells]
        now, later = mass * seen, mass * np.maximum.accumulate(seen, axis=1)
        for f in net.factors:
            if net.at[f.bond] in net.at[:i]:
                now *= self._others(f, a, ys)
        score = (1.0 - leave) * now / now.sum(axis=1)[:, None] + leave * later / later.sum(axis=1)[:, None]
        k = pick(self.rng, score)
        rows = np.arange(self.count)
        self.y[:, e] = ys[rows, k]
        for state in range(len(self.z)):
            self.add(state, a, GROUND, self.y[:, e])
        return np.asarray(np.log(mass[rows, k] * score.sum(axis=1) / score[rows, k]))

    def _points(self, i: int, rest: dict[int, Floats], now: Floats, finely: bool) -> tuple[Floats, Floats]:
        """As .chain.Chain.stray_points: one conductance in each cell of the stray link and the cells' chances.

        rest    by state: what joins the part to the MET without bond and stray link;  now  ln of what the link has
        finely  no cell wider than twice the grid of paths; else only cut where the bond's own readings ask for it
        """
        stray = self.net.strays[self.net.direct[self.net.at[i]]]
        low, high = math.log(stray.low), math.log(stray.high)
        every = np.linspace(low, high, math.ceil(stray.span / (2.0 * COARSE)) + 1 if finely else 2)
        cuts = [np.broadcast_to(every[:-1], (self.count, len(every) - 1))]
        for rho in rest.values():
            left = 1.0 / self.edges[i] - 1.0 / rho[:, None]
            cuts.append(np.clip(-np.log(np.maximum(left, 1.0 / stray.high)), low, high))
        bounds = np.hstack([*cuts, np.full((self.count, 1), high)])
        if finely or len(rest) > 1:  # else they are in order already
            bounds.sort(axis=1)
        p, q = bounds[:, :-1], bounds[:, 1:]
        at = p + (q - p) * self.rng.random(p.shape)
        held = now[:, None]
        at = np.where((p <= held) & (held < q), held, at)
        nothing = np.zeros((self.count, 1))
        mass = (q - p) * stray.present / stray.span
        return np.hstack([np.exp(-at), nothing]), np.hstack([mass, nothing + 1.0 - stray.present])

    # ---- a bond and the stray link from its part ----

    def pair(self, i: int, tallies: Sequence[Tally], ln_weights: Sequence[float]) -> None:
        """As .chain.Chain.pair, for every draw; the draws belong to the tallies in equal shares, in order.

        ln_weights  of the tallies' batches: what is known across bonds is kept in two tallies only, one for each half
                    of the batches, as that is all that is asked of it
        """
        net, a = self.net, self.net.at[i]
        e, copper = net.direct[a], net.copper[i]
        for k in range(len(self.z)):
            self.add(k, a, GROUND, -(self.y[:, e] + (0.0 if i in net.off[k] else self.g(i))))
        own = [f for f in net.factors if f.bond == i]
        rest = {k: self.z[k][:, a, a].copy() for k in {net.primary[i], *(f.state for f in own)}}
        with np.errstate(divide="ignore"):
            ys, mass = self._points(i, rest, -np.log(self.y[:, e]), finely=True)
        places = self.cell(i, 1.0 / (1.0 / rest[net.primary[i]][:, None] + ys))
        first = [group[0] for group in copper.groups]
        group_g = np.array([group[2] for group in copper.groups])
        x = ys[:, None, :] + group_g[None, :, None]
        x_at = np.where(x > X_LOW, (np.log(np.maximum(x, X_LOW)) * X_STEPS + X_SHIFT).astype(np.intp), 0)
        w_on = np.ones((self.count, int(x_at.max()) + 1))
        for f in net.factors:
            if f.bond == i:
                continue
            if i in net.off[f.state]:
                mass = mass * self._others(f, a, ys)
            else:
                w_on *= self._others(f, a, np.broadcast_to(XS[: w_on.shape[1]], w_on.shape))
        shared = np.take_along_axis(w_on, x_at.reshape(self.count, -1), axis=1).reshape(x.shape) * mass[:, None, :]
        of = np.repeat(np.arange(len(first)), np.diff([*first, len(copper.ohm)]))
        rows = shared[:, of, :] * np.array(copper.weight)[None, :, None]
        for f in own:
            cells = self.cell(i, 1.0 / (1.0 / rest[f.state][:, None] + ys))
            rows *= np.moveaxis(self.tables[id(f)][:, cells], 0, 1)
        sums = rows.sum(axis=2)
        total = sums.sum(axis=1)
        self._add(i, a, tallies, ln_weights, rows / total[:, None, None], places, x_at, first)
        draws = np.arange(self.count)
        self.c[:, i] = pick(self.rng, sums)
        self.y[:, e] = ys[draws, pick(self.rng, rows[draws, self.c[:, i]])]
        for k in range(len(self.z)):
            self.add(k, a, GROUND, self.y[:, e] + (0.0 if i in net.off[k] else self.g(i)))

    def _others(self, f: Factor, a: int, xs: Floats) -> Floats:
        """Chance of another bond's readings for each conductance between node a and the MET."""
        table, j = self.tables[id(f)], f.bond
        every = np.arange(self.count)
        ends = np.broadcast_to(XS[[0, -1]], (self.count, 2))
        none, most = self.cell(j, self._beside_other(j, f.state, a, ends, every)).T
        found = np.repeat(table[self.c[:, j], none][:, None], xs.shape[1], axis=1)
        told = np.flatnonzero(none != most)  # in the other draws whatever joins a to the MET leaves that path the same
        if len(told):
            paths = self._beside_other(j, f.state, a, xs[told], told)
            found[told] = table[self.c[told, j, None], self.cell(j, paths)]
        return found

    def _beside_other(self, j: int, state: int, a: int, xs: Floats, draws: Ints) -> Floats:
        z, b = self.z[state][draws], self.net.at[j]
        falls = z[:, a, b, None] ** 2 * xs / (1.0 + z[:, a, a, None] * xs)
        g = np.zeros(len(draws)) if j in self.net.off[state] else self.g(j)[draws]
        return beside(np.maximum(z[:, b, b, None] - falls, 1e-9), g[:, None])

    def _add(
        self,
        i: int,
        a: int,
        tallies: Sequence[Tally],
        ln_weights: Sequence[float],
        rows: Floats,
        places: Ints,
        x_at: Ints,
        first: Sequence[int],
    ) -> None:
        net, copper, batches = self.net, self.net.copper[i], len(tallies)
        batch = np.repeat(np.arange(batches), self.count // batches)
        cells, nodes = len(net.grid[i].mids), len(copper.ohm)
        by_node = rows.sum(axis=2)
        weights = np.stack([by_node[:, list(copper.of(h))].sum(axis=1) for h in range(3)], axis=1)
        for tally, part in zip(tallies, np.split(weights, batches), strict=True):
            tally.weights[i].extend(tuple(w) for w in part.tolist())
        least = FAINT * weights  # of each hypothesis, so that an unlikely one keeps its shape
        d, c, k = np.nonzero(rows > least[:, list(copper.hyp), None])
        index = (batch[d] * nodes + c) * cells + places[d, k]
        joint = np.bincount(index, rows[d, c, k], batches * nodes * cells).reshape(batches, nodes, cells)
        for tally, own in zip(tallies, joint, strict=True):
            tally.joint[i] = own.tolist()
        grouped = np.add.reduceat(rows, list(first), axis=1)
        hyp = np.array([copper.hyp[k] for k in first])
        d, c, k = np.nonzero(grouped > least[:, hyp, None])
        index = (d * 3 + hyp[c]) * X_COUNT + x_at[d, c, k]
        flat = np.bincount(index, grouped[d, c, k], self.count * 3 * X_COUNT)
        by_x: Floats = flat.reshape(self.count, 3, X_COUNT).astype(np.float64)
        used = np.flatnonzero(by_x.any(axis=(0, 1)))
        half = [k % HALVES for k in range(batches)]
        scale = np.exp([w - ln_weights[h] for w, h in zip(ln_weights, half, strict=True)])
        by_x = by_x[:, :, used] * scale[batch][:, None, None]
        for j in range(len(net.at)):
            if j != i:
                self._add_cross(i, j, a, tallies, np.array(half)[batch], XS[used], by_x)

    def _add_cross(
        self, i: int, j: int, a: int, tallies: Sequence[Tally], half: Ints, xs: Floats, by_x: Floats
    ) -> None:
        net = self.net
        every = np.arange(self.count)
        ends = np.broadcast_to(XS[[0, -1]], (self.count, 2))
        none, most = self.cell(j, self._beside_other(j, net.primary[j], a, ends, every)).T
        there = np.repeat(none[:, None], len(xs), axis=1)
        told = np.flatnonzero(none != most)
        if len(told):
            paths = self._beside_other(j, net.primary[j], a, np.broadcast_to(xs, (len(told), len(xs))), told)
            there[told] = self.cell(j, paths)
        nodes, cells = len(net.copper[j].ohm), len(net.grid[j].mids)
        d, h, x = np.nonzero(by_x)
        index = ((half[d] * 3 + h) * nodes + self.c[d, j]) * cells + there[d, x]
        found = np.bincount(index, by_x[d, h, x], HALVES * 3 * nodes * cells).reshape(HALVES, 3, nodes, cells)
        for k, tally in enumerate(tallies[:HALVES]):
            tally.joined[i, j] += int((none != most)[half == k].sum())
            for hyp in range(3):
                where = np.nonzero(found[k, hyp])
                keys = zip(where[0].tolist(), where[1].tolist(), strict=True)
                tally.cross[i, j][hyp].update(zip(keys, found[k, hyp][where].tolist(), strict=True))
