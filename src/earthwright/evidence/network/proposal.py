"""Importance sampling: networks drawn with an eye on the readings, each with the weight that makes up for it.

Bonds come first, from what their own readings say by quadrature. Then every link between parts, in the light of what
the readings at its two ends would make of it with the stray link to the MET averaged out. Then each stray link to the
MET, exactly. The weight is the chance of the readings times prior over proposal, so the answer does not depend on how
good the eye was, only its error does.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from itertools import accumulate, pairwise
from operator import mul

from .chain import Chain, choose
from .moves import rungs
from .network import GROUND, Factor, Net, add_edge, beside
from .tables import PathGrid

BOLD = 0.8  # share of the quadrature in the proposal of a bond; the rest is the prior, so nothing is left out
R_LOW, R_STEPS, R_COUNT = 1e-3, 4.0, 64  # grid of what else joins a part to the MET [Ω], steps per factor e
REST = PathGrid(
    tuple(R_LOW * math.exp((k + 0.5) / R_STEPS) for k in range(R_COUNT - 1)),
    tuple(R_LOW * math.exp(k / R_STEPS) for k in range(R_COUNT)),
)


class Outlook:
    """What the readings at each bond would make of the rest of the network, its own stray link averaged out.

    factor  by bond: the readings looked at, those in its usual state first; None without readings
    chance  by bond, group of conductor nodes and resistance of the rest on the grid
    bonds   by bond: proposal over its conductor nodes
    """

    def __init__(self, net: Net) -> None:
        self.factor: list[Factor | None] = []
        self.chance: list[list[list[float]]] = []
        self.group: list[list[int]] = []
        self.bonds: list[list[float]] = []
        for i, copper in enumerate(net.copper):
            own = sorted((f for f in net.factors if f.bond == i), key=lambda f: f.state != net.primary[i])
            self.factor.append(own[0] if own else None)
            self.group.append([g for g, (first, end, _) in enumerate(copper.groups) for _ in range(first, end)])
            chance = [[1.0] * R_COUNT for _ in copper.groups]
            alone = [1.0] * len(copper.ohm)
            if own:
                shares = [_shares(net, i, rest) for rest in REST.mids]
                for g, (first, end, _) in enumerate(copper.groups):
                    row = own[0].table[(first + end) // 2]
                    chance[g] = [math.fsum(map(mul, row, share)) for share in shares]
                alone = [math.fsum(map(mul, row, shares[-1])) for row in own[0].table]
            self.chance.append(chance)
            total = math.fsum(map(mul, copper.weight, alone))
            self.bonds.append(
                [w * (BOLD * a / total + (1.0 - BOLD) / 3.0) for w, a in zip(copper.weight, alone, strict=True)]
            )

    def at(self, i: int, c: int) -> list[float]:
        """Chance of a bond's readings with that conductor node, by the rest of the network."""
        return self.chance[i][self.group[i][c]]


def _shares(net: Net, i: int, rest: float) -> list[float]:
    """Prior of the path's cells when the stray link to the MET lies beside a rest of the network."""
    stray, grid = net.strays[net.direct[net.at[i]]], net.grid[i]
    low, high = math.log(stray.low), math.log(stray.high)
    last = bisect_right(grid.edges, rest * (1.0 - 1e-12))
    bounds = [low, *(min(high, max(low, -math.log(1.0 / e - 1.0 / rest))) for e in grid.edges[:last]), high]
    density = stray.present / (high - low)
    shares = [(q - p) * density for p, q in pairwise(bounds)]
    shares[last] += 1.0 - stray.present
    return shares + [0.0] * (len(grid.mids) - last - 1)


def propose(chain: Chain, outlook: Outlook) -> float:
    """Draw a whole network afresh; returns ln of its weight."""
    net = chain.net
    weight = 0.0
    for i, copper in enumerate(net.copper):
        chain.c[i] = choose(chain.draw, outlook.bonds[i])
        weight += math.log(copper.weight[chain.c[i]] / outlook.bonds[i][chain.c[i]])
    chain.y = [0.0] * len(net.strays)
    chain.refresh()
    for e in chain.joined:
        weight += _link(chain, outlook, e)
    for i, a in enumerate(net.at):
        if a not in net.at[:i]:  # two bonds at one part share its stray link
            weight += _stray(chain, i, hope(len(net.at)) if set(net.at[i + 1 :]) - {a} else 0.0)
    return weight + chain.log_chance()


def _link(chain: Chain, outlook: Outlook, e: int) -> float:
    net, stray = chain.net, chain.net.strays[e]
    ys, prior = rungs(chain, e)
    score = list(prior)
    for i, (a, f) in enumerate(zip(net.at, outlook.factor, strict=True)):
        if f is None or a not in (stray.a, stray.b) or e in net.links_off[f.state]:
            continue
        z = chain.z[f.state]
        u = z[stray.a] if stray.b == GROUND else [p - q for p, q in zip(z[stray.a], z[stray.b], strict=True)]
        own = u[stray.a] if stray.b == GROUND else u[stray.a] - u[stray.b]
        at_a, square, seen = z[a][a], u[a] * u[a], outlook.at(i, chain.c[i])
        g = 0.0 if i in net.off[f.state] else chain.g(i)
        score = [
            s * seen[bisect_right(REST.falls, g - 1.0 / (at_a - square * y / (1.0 + own * y)))]
            for s, y in zip(score, ys, strict=True)
        ]
    k = choose(chain.draw, score)
    chain.y[e] = ys[k]
    if ys[k]:
        for state, z in enumerate(chain.z):
            if e not in net.links_off[state]:
                add_edge(z, stray.a, stray.b, ys[k])
    return math.log(prior[k] * math.fsum(score) / score[k])


def _stray(chain: Chain, i: int, hope: float) -> float:
    """The stray link of a part: as the readings there and at the parts before it say, or, with the chance ``hope``,
    as those there could still come to say.

    Whatever is drawn after it can only lower the path. So a value that leaves the path too high for the digits must not
    be left out: it counts as the best that any lower path could do.
    """
    net, a = chain.net, chain.net.at[i]
    e, grid = net.direct[a], net.grid[i]
    ys, mass = chain.stray_points(i, e, a)
    seen = [1.0] * len(ys)
    for f in net.factors:
        if f.bond == i:
            path = beside(chain.z[f.state][a][a], 0.0 if i in net.off[f.state] else chain.g(i))
            row = f.table[chain.c[i]]
            seen = [s * row[bisect_right(grid.falls, -1.0 / path - y)] for s, y in zip(seen, ys, strict=True)]
    now, later = list(map(mul, mass, seen)), list(map(mul, mass, accumulate(seen, max)))
    for f in net.factors:
        if net.at[f.bond] in net.at[:i]:
            now = list(map(mul, now, chain.others(f, a, ys)))
    own, other = (1.0 - hope) / math.fsum(now), hope / math.fsum(later)
    score = [own * n + other * x for n, x in zip(now, later, strict=True)]
    k = choose(chain.draw, score)
    chain.y[e] = ys[k]
    if ys[k]:
        for z in chain.z:
            add_edge(z, a, GROUND, ys[k])
    return math.log(mass[k] * math.fsum(score) / score[k])


def hope(bonds: int) -> float:
    """Share of draws of one stray link that leave room for what is drawn later; less with many, or few would be left."""
    return min(0.25, 0.6 / bonds)
