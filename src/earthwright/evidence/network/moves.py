"""Draws of the links between parts: each by itself, with what makes up for it, with a bond, and exchanged."""

from __future__ import annotations

import math
from bisect import bisect_right
from operator import itemgetter, mul

from .chain import Chain, choose
from .network import GROUND, add_edge

LADDER = 0.38  # rungs of a link's ladder, ln Ω
EXCHANGES = 3  # offered at each part in a round


def move_links(chain: Chain) -> None:
    """Every link once, and some exchanges at every part."""
    for e in chain.joined:
        ladder(chain, e)
        compensated(chain, e)
    for a in sorted(set(chain.net.at)):
        for _ in range(EXCHANGES):
            exchange(chain, a)


def ladder(chain: Chain, e: int) -> None:
    """Draw one unknown link anew over the rungs of its values, in every state of the visit, all else held (a Gibbs step)."""
    net, stray = chain.net, chain.net.strays[e]
    ys, weight = rungs(chain, e)
    for k, z in enumerate(chain.z):
        if e in net.links_off[k]:
            continue
        if chain.y[e]:
            add_edge(z, stray.a, stray.b, -chain.y[e])
        u = z[stray.a] if stray.b == GROUND else [p - q for p, q in zip(z[stray.a], z[stray.b], strict=True)]
        own = u[stray.a] if stray.b == GROUND else u[stray.a] - u[stray.b]
        for f in net.by_state[k]:
            b, row, grid, g = net.at[f.bond], f.table[chain.c[f.bond]], net.grid[f.bond], chain.g(f.bond)
            at_b, falls, square = z[b][b], grid.falls, u[b] * u[b]
            nothing = grid.beside(at_b, g)
            if nothing == grid.beside(max(at_b - square / own, 1e-9), g):
                continue
            weight = [
                w * row[bisect_right(falls, g - 1.0 / (at_b - square * y / (1.0 + own * y)))]
                for w, y in zip(weight, ys, strict=True)
            ]
    chain.y[e] = ys[choose(chain.draw, weight)]
    if chain.y[e]:
        for k, z in enumerate(chain.z):
            if e not in net.links_off[k]:
                add_edge(z, stray.a, stray.b, chain.y[e])


def compensated(chain: Chain, e: int) -> None:
    """A link between two parts changes while the stray link at one of them makes up for it: its path stays.

    Along the curve of equal path the prior's density is that of the link times 1/(conductance of the stray link).
    """
    net, stray = chain.net, chain.net.strays[e]
    if stray.b == GROUND:
        return
    a = stray.a if chain.draw.random() < 0.5 else stray.b
    d = net.direct[a]
    if not chain.y[d]:
        return
    ys, weight = rungs(chain, e)
    parts = net.strays[d]
    kept: list[float] = []
    for k, z in enumerate(chain.z):
        add_edge(z, a, GROUND, -chain.y[d])
        if chain.y[e] and e not in net.links_off[k]:
            add_edge(z, stray.a, stray.b, -chain.y[e])
    for k in sorted(range(len(chain.z)), key=lambda k: e in net.links_off[k]):
        z = chain.z[k]
        u = [p - q for p, q in zip(z[stray.a], z[stray.b], strict=True)]
        own = u[stray.a] - u[stray.b]
        linked = [0.0 if e in net.links_off[k] else y / (1.0 + own * y) for y in ys]
        at_a = [z[a][a] - u[a] * u[a] * f for f in linked]
        if not kept:  # what the stray link has to make up for, from the first state
            now = chain.y[e] / (1.0 + own * chain.y[e])
            here = chain.y[d] + 1.0 / (z[a][a] - u[a] * u[a] * now)
            kept = [here - 1.0 / x for x in at_a]
            good = [1.0 / parts.high < y < 1.0 / parts.low for y in kept]
            weight = [w / y if ok else 0.0 for w, y, ok in zip(weight, kept, good, strict=True)]
        for f in net.by_state[k]:
            b, row, falls, g = net.at[f.bond], f.table[chain.c[f.bond]], net.grid[f.bond].falls, chain.g(f.bond)
            own_at_b = (
                z[b][b] - u[b] * u[b] * x - (z[a][b] - u[a] * u[b] * x) ** 2 * y / (1.0 + at * y)
                for x, y, at in zip(linked, kept, at_a, strict=True)
            )
            weight = [
                w * row[bisect_right(falls, g - 1.0 / z)] if w else 0.0 for w, z in zip(weight, own_at_b, strict=True)
            ]
    chosen = choose(chain.draw, weight)
    chain.y[e], chain.y[d] = ys[chosen], kept[chosen]
    chain.refresh()


def bond_and_link(chain: Chain, i: int, e: int) -> None:
    """A bond and one link from its part to another, drawn as one pair: either may be what carries the current."""
    net, stray = chain.net, chain.net.strays[e]
    a, d = net.at[i], net.direct[net.at[i]]
    copper, grid = net.copper[i], net.grid[i]
    ys, weight = rungs(chain, e)
    own_tables = []
    by_group = [list(weight) for _ in copper.groups]
    for k, z in enumerate(chain.z):
        on, linked = i not in net.off[k], e not in net.links_off[k]
        x = chain.y[d] + (chain.g(i) if on else 0.0)
        if x:
            add_edge(z, a, GROUND, -x)
        if linked and chain.y[e]:
            add_edge(z, stray.a, stray.b, -chain.y[e])
        u = z[stray.a] if stray.b == GROUND else [p - q for p, q in zip(z[stray.a], z[stray.b], strict=True)]
        own = u[stray.a] if stray.b == GROUND else u[stray.a] - u[stray.b]
        moved = [y / (1.0 + own * y) if linked else 0.0 for y in ys]
        at_a = [z[a][a] - u[a] * u[a] * m for m in moved]
        for f in net.by_state[k]:
            if f.bond == i:
                pick = itemgetter(*(bisect_right(grid.falls, -1.0 / r - chain.y[d]) for r in at_a))
                own_tables.append([pick(row) for row in f.table])
                continue
            b, row, path, g = net.at[f.bond], f.table[chain.c[f.bond]], net.grid[f.bond], chain.g(f.bond)
            at_b = [z[b][b] - u[b] * u[b] * m for m in moved]
            between = [(z[a][b] - u[a] * u[b] * m) ** 2 for m in moved]
            # The path falls with both; where the most of both leaves it in its cell, this bond cannot tell.
            most, link = chain.y[d] + (copper.siemens[0] if on else 0.0), moved.index(max(moved))
            least = at_b[link] - between[link] * most / (1.0 + at_a[link] * most)
            if path.beside(z[b][b], g) == path.beside(max(least, 1e-9), g):
                continue
            falls = path.falls
            for place, (_, _, group_g) in enumerate(copper.groups):
                x = chain.y[d] + (group_g if on else 0.0)
                by_group[place] = [
                    w * row[bisect_right(falls, g - 1.0 / (p - q * x / (1.0 + r * x)))]
                    for w, p, q, r in zip(by_group[place], at_b, between, at_a, strict=True)
                ]
    rows: list[list[float]] = []
    for (first, end, _), shared in zip(copper.groups, by_group, strict=True):
        for c in range(first, end):
            products = shared
            for table in own_tables:
                products = list(map(mul, products, table[c]))
            rows.append(products)
    chain.c[i] = choose(chain.draw, [w * math.fsum(row) for w, row in zip(copper.weight, rows, strict=True)])
    chain.y[e] = ys[choose(chain.draw, rows[chain.c[i]])]
    chain.refresh()


def rungs(chain: Chain, e: int) -> tuple[list[float], list[float]]:
    """The ladder of a link: conductances with a random foot, the value it has among them, and their chances."""
    stray = chain.net.strays[e]
    count = max(4, min(40, math.ceil(stray.span / LADDER)))
    foot = chain.draw.random()
    if chain.y[e]:
        foot = (-math.log(chain.y[e]) - math.log(stray.low)) / stray.span * count % 1.0
    width = stray.span / count
    ys = [math.exp(-math.log(stray.low) - (k + foot) * width) for k in range(count)]
    weight = [stray.present / count] * count
    if stray.present < 1.0:
        ys.append(0.0)
        weight.append(1.0 - stray.present)
    return ys, weight


def exchange(chain: Chain, a: int) -> None:
    """Offer two unknown links at one part each other's resistance: the path can come another way."""
    net = chain.net
    own = [e for e, s in enumerate(net.strays) if a in (s.a, s.b) and not s.known]
    if len(own) < 2:
        return
    e, f = chain.draw.sample(own, 2)
    if chain.y[e] == chain.y[f]:
        return
    before = chain.log_chance() + log_prior(chain, e) + log_prior(chain, f)
    kept = chain.z
    chain.y[e], chain.y[f] = chain.y[f], chain.y[e]
    chain.refresh()
    after = chain.log_chance() + log_prior(chain, e) + log_prior(chain, f)
    if math.log(1.0 - chain.draw.random()) > after - before:
        chain.y[e], chain.y[f] = chain.y[f], chain.y[e]
        chain.z = kept


def log_prior(chain: Chain, e: int) -> float:
    """Natural logarithm of the chance, before any reading, that an unknown link is there, or is not, as it now stands."""
    present = chain.net.strays[e].present
    return math.log(present if chain.y[e] else 1.0 - present)
