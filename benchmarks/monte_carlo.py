"""A million drawn networks of 30 nodes: own elimination over the draws against batched dense solves.

Run: python benchmarks/monte_carlo.py [DRAWS]. Prints medians, the ratio and the largest disagreement; asserts nothing.
The dense way is the usual one: the conductance matrix of every draw, numpy.linalg.solve on the whole batch. Both work
on the same draws; the dense one in pieces, because the matrices of a million draws would fill 7 GB.
"""

from __future__ import annotations

import random
import statistics
import sys
import time

import numpy as np
from numpy.typing import NDArray

from earthwright.evidence.network.fast import two_point_many

NODES, BRANCHES, PIECE = 30, 60, 20_000
Floats = NDArray[np.float64]


def edges(near: bool, seed: int = 20) -> list[tuple[int, int]]:
    """A tree with cross-links: between neighbours, as bonds and protective conductors lie, or between any two nodes."""
    draw = random.Random(seed)
    found = [(draw.randrange(max(0, n - 6) if near else 0, n), n) for n in range(1, NODES)]
    while len(found) < BRANCHES:
        u = draw.randrange(NODES)
        w = min(NODES - 1, max(0, u + draw.choice([-4, -3, -2, 2, 3, 4]))) if near else draw.randrange(NODES)
        if u != w:
            found.append((u, w))
    return found


def dense(pairs: list[tuple[int, int]], siemens: Floats) -> Floats:
    """Two-point resistance of node 0 to the last node, which is grounded, by numpy.linalg.solve."""
    found = np.empty(siemens.shape[1])
    for start in range(0, siemens.shape[1], PIECE):
        g = siemens[:, start : start + PIECE]
        y = np.zeros((g.shape[1], NODES, NODES))
        for (u, w), own in zip(pairs, g, strict=True):
            y[:, u, u] += own
            y[:, w, w] += own
            y[:, u, w] -= own
            y[:, w, u] -= own
        source = np.zeros((NODES - 1, 1))
        source[0] = 1.0
        found[start : start + PIECE] = np.linalg.solve(y[:, :-1, :-1], source)[:, 0, 0]
    return found


def compare(name: str, pairs: list[tuple[int, int]], draws: int, rounds: int) -> None:
    """Print both times, interleaved, and how far the answers lie apart."""
    rng = np.random.default_rng(20)
    siemens = 1.0 / np.exp(rng.uniform(np.log(0.002), np.log(20.0), (len(pairs), draws)))
    ours, theirs = [], []
    for _ in range(rounds):
        start = time.perf_counter()
        a = two_point_many(pairs, siemens, 0, NODES - 1)
        ours.append(time.perf_counter() - start)
        start = time.perf_counter()
        b = dense(pairs, siemens)
        theirs.append(time.perf_counter() - start)
    best, usual = statistics.median(ours), statistics.median(theirs)
    print(f"{name}: {NODES} nodes, {len(pairs)} branches, {draws:,} draws")
    print(f"  own elimination over the draws  {best:8.2f} s   (median of {rounds}, interleaved)")
    print(f"  batched numpy.linalg.solve      {usual:8.2f} s")
    print(f"  ratio                           {usual / best:8.1f}     (aim: at least 8)")
    print(f"  largest relative disagreement   {np.max(np.abs(a / b - 1)):8.1e}", flush=True)


def main(draws: int = 1_000_000, rounds: int = 3) -> None:
    """Two networks, since the fill of the elimination depends on the graph."""
    print(f"python {sys.version.split()[0]}, numpy {np.__version__}")
    compare("neighbours joined", edges(near=True), draws, rounds)
    compare("anything joined", edges(near=False), draws, rounds)


if __name__ == "__main__":
    if {"-h", "--help"} & set(sys.argv[1:]):
        sys.exit(print(__doc__))
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
