"""An independent way to the evidence of a small site: networks drawn from the priors with numpy, weighted by their readings.

Networks of many draws are solved at once by star-mesh elimination, with an array over the draws where the product has one
number. Its order depends on the graph alone, so it is chosen once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from earthwright.base.display import Display
from earthwright.evidence.bond import Observed, noise
from earthwright.evidence.network.model import SiteData
from earthwright.evidence.network.network import GROUND, LEAK, Net
from earthwright.site.events import CONDUCTOR, PATH

Floats = NDArray[np.float64]
BLOCK = 4096  # draws worked at once, so that the mesh stays in the processor's cache


def two_point_many(edges: Sequence[tuple[int, int]], siemens: Floats, a: int, b: int) -> Floats:
    """Two-point resistance between nodes a and b for many draws of one network [Ω].

    ``g_uw ← g_uw + g_u·g_w/Σg`` for every two neighbours u, w of a node that is taken out (star-mesh), fewest
    neighbours first; what is left between a and b is 1/R. Only positive numbers are added, so nothing cancels.

    edges    pairs of nodes, parallel ones allowed;  siemens  conductance by edge (rows) and draw (columns) [S], ≥ 0
    Returns infinity where nothing joins the two. Raises ValueError when the shapes do not fit or a is b.
    Range: any number of draws; up to some hundred nodes. Source: Kirchhoff; method of this project, network.
    Checked with physics.network draw by draw and with numpy.linalg.solve.
    """
    if siemens.ndim != 2 or siemens.shape[0] != len(edges):
        raise ValueError(f"expected one row of conductances for each of {len(edges)} edges, found {siemens.shape}")
    if a == b:
        raise ValueError("expected two different nodes")
    steps = _plan(edges, a, b)
    draws = siemens.shape[1]
    found = np.empty(draws)
    for start in range(0, draws, BLOCK):
        found[start : start + BLOCK] = _eliminate(edges, siemens[:, start : start + BLOCK], steps, a, b)
    return found


_Step = tuple[int, list[int]]


def _plan(edges: Sequence[tuple[int, int]], a: int, b: int) -> list[_Step]:
    """Order of elimination: node and its neighbours at that moment; minimum degree, lowest number first."""
    around: dict[int, set[int]] = {a: set(), b: set()}
    for u, w in edges:
        if u != w:
            around.setdefault(u, set()).add(w)
            around.setdefault(w, set()).add(u)
    steps: list[_Step] = []
    while len(around) > 2:
        node = min((n for n in around if n not in (a, b)), key=lambda n: (len(around[n]), n))
        near = sorted(around.pop(node))
        for u in near:
            around[u].discard(node)
            around[u].update(w for w in near if w != u)
        steps.append((node, near))
    return steps


def _eliminate(edges: Sequence[tuple[int, int]], siemens: Floats, steps: Sequence[_Step], a: int, b: int) -> Floats:
    mesh: dict[tuple[int, int], Floats] = {}
    for (u, w), g in zip(edges, siemens, strict=True):
        if u != w:
            _into(mesh, u, w, g)
    for node, near in steps:
        arms = [mesh.pop((min(node, u), max(node, u))) for u in near]
        if len(arms) < 2:
            continue
        total = arms[0] + arms[1]
        for arm in arms[2:]:
            total += arm
        # A node that nothing reaches in some draw brings nothing there.
        share = np.divide(1.0, total, out=np.zeros_like(total), where=total > 0.0)
        for i, u in enumerate(near):
            weight = arms[i] * share
            for w, arm in zip(near[i + 1 :], arms[i + 1 :], strict=True):
                _into(mesh, u, w, weight * arm)
    g_ab = mesh.get((min(a, b), max(a, b)))
    if g_ab is None:
        return np.full(siemens.shape[1], math.inf)
    return np.divide(1.0, g_ab, out=np.full_like(g_ab, math.inf), where=g_ab > 0.0)


def _into(mesh: dict[tuple[int, int], Floats], u: int, w: int, g: Floats) -> None:
    key = (u, w) if u < w else (w, u)
    mesh[key] = mesh[key] + g if key in mesh else g


def chance_many(display: Display, shown: float, true_ohm: Floats) -> Floats:
    """Chance that a display shows some digits for each of many true values: as Display.chance, with arrays."""
    half = display.step / 2.0
    if math.isinf(shown):
        return 1.0 - _below(display, display.top + half, true_ohm)
    low = _below(display, shown - half, true_ohm) if shown >= half else 0.0
    return np.asarray(_below(display, shown + half, true_ohm) - low)


def _below(display: Display, edge: float, true_ohm: Floats) -> Floats:
    """Chance that gain and digit error leave the value at or below an edge: the sum of two rectangular errors.

    ``(R(x+w+n) − R(x+w−n) − R(x−w+n) + R(x−w−n))/(8·w·n)`` with R(t) = max(t, 0)², w and n half-widths, x = edge − true.
    """
    true = np.minimum(true_ohm, 1e12)
    w, n = np.maximum(true * display.pct / 100.0, 1e-7), max(display.digits * display.step, 1e-7)
    x = np.clip(edge - true, -w - n, w + n)  # beyond, the chance is 0 or 1, and far beyond the squares would cancel
    ramps = [np.maximum(x + a * w + b * n, 0.0) ** 2 for a, b in ((1, 1), (1, -1), (-1, 1), (-1, -1))]
    return np.asarray(np.clip((ramps[0] - ramps[1] - ramps[2] + ramps[3]) / (8.0 * w * n), 0.0, 1.0))


def importance(data: SiteData, draws: int, seed: int) -> Mapping[str, tuple[Floats, Floats]]:
    """Weights of the hypotheses by plain importance sampling: networks from the priors, weighted by their readings.

    An independent way to the same answer as the sampler, with exact displays and no cells; its error grows fast with
    the number of readings, so it is the check for small sites. Every combination of hypotheses gets as many draws.
    Returns by bond: posterior weights of whole, impaired, open, and their standard errors.
    """
    net = Net(data)
    rng = np.random.default_rng(seed)
    model = data.model.bond
    count = len(data.bonds)
    hyps = [(np.arange(draws) // 3**i) % 3 for i in range(count)]
    g_bonds = []
    for bond, hyp in zip(data.bonds, hyps, strict=True):
        k = bond.copper
        length = rng.uniform(k.length_m - k.length_tol_m, k.length_m + k.length_tol_m, draws)
        c = length * k.r_mohm_per_m / 1000.0 * rng.uniform(*model.make, draws) + rng.uniform(0, model.joint_ohm, draws)
        extra = np.exp(rng.uniform(math.log(model.extra_ohm[0]), math.log(model.extra_ohm[1]), draws))
        g_bonds.append(np.where(hyp == 2, 0.0, 1.0 / np.where(hyp == 1, c + extra, c)))
    g_strays = []
    for stray in net.strays:
        r = np.exp(rng.uniform(math.log(stray.low), math.log(stray.high), draws))
        g_strays.append(np.where(rng.random(draws) < stray.present, 1.0 / r, 0.0))
    weight = np.ones(draws)
    for reading in data.readings:
        i = net.bond_ids.index(reading.bond)
        off = reading.off | {reading.bond}
        edges = [(net.at[j], len(net.nodes)) for j, name in enumerate(net.bond_ids) if name not in off]
        rows = [g for g, name in zip(g_bonds, net.bond_ids, strict=True) if name not in off]
        for stray, g in zip(net.strays, g_strays, strict=True):
            if stray.known not in off:
                edges.append((stray.a, len(net.nodes) if stray.b == GROUND else stray.b))
                rows.append(g)
        leaks = [(a, len(net.nodes)) for a in range(len(net.nodes))]
        path = two_point_many(
            edges + leaks, np.array([*rows, *(np.full(draws, LEAK) for _ in leaks)]), net.at[i], len(net.nodes)
        )
        weight *= _likelihood(reading.observed, g_bonds[i], path, data)
    found = {}
    total = weight.sum()
    for name, hyp in zip(net.bond_ids, hyps, strict=True):
        p = np.array([weight[hyp == h].sum() / total for h in range(3)])
        own = [np.where(hyp == h, 1.0, 0.0) - p[h] for h in range(3)]
        error = np.array([math.sqrt(float(((weight * d) ** 2).sum())) / total for d in own])
        found[name] = (p, error)
    return found


def _likelihood(o: Observed, g: Floats, path: Floats, data: SiteData) -> Floats:
    model = data.model.bond
    base, scale = noise(o, model)
    both = 1.0 / (g + 1.0 / path)
    together = _with_offset(o, both)
    if o.test == CONDUCTOR:
        own = _with_offset(o, np.divide(1.0, g, out=np.full_like(g, 1e12), where=g > 0.0))
    elif o.test == PATH:
        own = _with_offset(o, path)
    else:
        return np.asarray(base + scale * together)
    return np.asarray(base + scale * ((1.0 - model.slip) * own + model.slip * together))


def _with_offset(o: Observed, true_ohm: Floats) -> Floats:
    low, high = o.offset
    if high == 0.0:
        return chance_many(o.display, o.shown, true_ohm)
    steps = [low + (high - low) * (k + 0.5) / 8.0 for k in range(8)]
    return np.asarray(sum(chance_many(o.display, o.shown, true_ohm + s) for s in steps) / 8.0)
