"""Two-point resistance with all sensitivities, tree-like network of 200 nodes: time, ratio to a dense solve.

Run: python benchmarks/network.py. Prints medians and asserts nothing: a busy machine is no fault of the program.
"""

from __future__ import annotations

import math
import random
import statistics
import sys
import time
from collections.abc import Callable

from earthwright.physics.network import Edge, Network, two_point

NODES, CHORDS, ROUNDS = 200, 12, 31


def tree_like(nodes: int = NODES, chords: int = CHORDS, seed: int = 20) -> Network:
    """A tree of bonds and protective conductors with some cross-links, as a building's earth network is."""
    draw = random.Random(seed)
    pairs = [(draw.randrange(max(0, node - 12), node), node) for node in range(1, nodes)]
    pairs += [tuple(sorted(draw.sample(range(nodes), 2))) for _ in range(chords)]
    log_low, log_high = math.log(0.002), math.log(20)
    return Network(
        Edge(f"e{place}", f"n{u}", f"n{v}", math.exp(draw.uniform(log_low, log_high)))
        for place, (u, v) in enumerate(pairs)
    )


def dense(network: Network, a: str, b: str) -> list[float]:
    """The same sum by Gaussian elimination of the full matrix, as the yardstick: shares of all edges."""
    place = {node: i for i, node in enumerate(n for n in network.nodes if n != b)}
    size = len(place)
    rows = [[0.0] * (size + 1) for _ in range(size)]
    rows[place[a]][size] = 1.0
    for edge in network.edges:
        u, v = place.get(edge.a), place.get(edge.b)
        for here, there in ((u, v), (v, u)):
            if here is not None:
                rows[here][here] += 1 / edge.r_ohm
                if there is not None:
                    rows[here][there] -= 1 / edge.r_ohm
    for k in range(size):
        for i in range(k + 1, size):
            if factor := rows[i][k] / rows[k][k]:
                rows[i] = [x - factor * y for x, y in zip(rows[i], rows[k], strict=True)]
    volts = [0.0] * size
    for k in range(size - 1, -1, -1):
        known = sum(rows[k][j] * volts[j] for j in range(k + 1, size))
        volts[k] = (rows[k][size] - known) / rows[k][k]
    at = {node: volts[i] for node, i in place.items()} | {b: 0.0}
    return [(at[edge.a] - at[edge.b]) / edge.r_ohm for edge in network.edges]


def median_ms(call: Callable[[], object], rounds: int) -> float:
    """Median time of a call in milliseconds."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        call()
        times.append(time.perf_counter() - start)
    return statistics.median(times) * 1000


def main() -> None:
    """Print the medians, the ratio and the largest disagreement of the two ways."""
    network = tree_like()
    ours = two_point(network, "n0", f"n{NODES - 1}")
    yardstick = dense(network, "n0", f"n{NODES - 1}")
    apart = max(abs(x - y) for x, y in zip(ours.shares.values(), yardstick, strict=True))
    sparse_ms = median_ms(lambda: two_point(network, "n0", f"n{NODES - 1}"), ROUNDS)
    build_ms = median_ms(tree_like, ROUNDS)
    dense_ms = median_ms(lambda: dense(network, "n0", f"n{NODES - 1}"), 3)
    print(f"python {sys.version.split()[0]}; {NODES} nodes, {len(network.edges)} edges, all sensitivities")
    print(f"  this package   {sparse_ms:8.2f} ms  (aim: at most 10 ms)")
    print(f"  building it    {build_ms:8.2f} ms")
    print(f"  dense yardstick{dense_ms:8.2f} ms  ratio {dense_ms / sparse_ms:.0f}")
    print(f"  largest disagreement of any share {apart:.1e}")


if __name__ == "__main__":
    main()
