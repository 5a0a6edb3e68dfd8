"""Two-point resistance of a graph of resistances, with the share of the test current in every edge.

Nodes are eliminated one by one, always one with the fewest neighbours (minimum degree), by the star-mesh
change: node v with conductances g_u to its neighbours, d = Σ g_u, becomes g_u·g_w/d between every two of
them. Only sums, products and quotients of positive numbers occur, so nothing cancels, however far apart a
joint and an electrode may be. What is left between the two terminals is the answer; the unit test current
is then carried back through the eliminations, each mesh current split between what the star brought and
what lay beside it.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Collection, Iterable, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from earthwright.base.errors import EarthwrightError
from earthwright.physics.domain import OutOfDomain, resistance

LEAST_OHM, MOST_OHM = 1e-12, 1e15
"""Resistances outside these are a slip of units; inside them the elimination cannot overflow."""

_WITHIN = "0, 1e-12 … 1e15 or infinity"


class NetworkError(EarthwrightError, ValueError):
    """A network that contradicts itself, or a question about a node or edge that it does not have."""


@dataclass(frozen=True, slots=True)
class Edge:
    """One resistance between two nodes; the direction a to b only gives shares a sign.

    r_ohm  [Ω] 0, 1e-12 … 1e15, or infinite, which means broken
    """

    id: str
    a: str
    b: str
    r_ohm: float


@dataclass(frozen=True, slots=True)
class TwoPoint:
    """What a two-point measurement would find.

    r_ohm          [Ω] between the terminals, infinite when nothing joins them
    connected      whether anything joins them
    sensitivities  dR/dr for every edge id [1], 0 … 1
    shares         signed fraction of the test current in every edge id [1], plus from the edge's a to its b
    """

    r_ohm: float
    connected: bool
    sensitivities: Mapping[str, float]
    shares: Mapping[str, float]


class Network:
    """An unchanging graph of resistances.

    Parallel edges, self loops, zero-ohm and broken edges and lone nodes are allowed.
    edges: any iterable of Edge; nodes: names of nodes that may have no edge. Raises NetworkError listing
    every fault: an id given twice, a resistance that is negative, not a number, or neither 0, infinite nor
    within 1e-12 … 1e15 Ω.
    """

    __slots__ = ("_by_id", "_index", "edges", "nodes")

    def __init__(self, edges: Iterable[Edge], nodes: Iterable[str] = ()) -> None:
        """Check and index the edges."""
        self.edges = tuple(edges)
        self._by_id: dict[str, Edge] = {}
        self._index: dict[str, int] = {}
        faults: list[str] = []
        for edge in self.edges:
            if edge.id in self._by_id:
                faults.append(f"edge {edge.id!r} is given twice")
            self._by_id[edge.id] = edge
            try:
                r_ohm = resistance(f"edge {edge.id!r} r_ohm", edge.r_ohm)
                if r_ohm not in (0, math.inf) and not LEAST_OHM <= r_ohm <= MOST_OHM:
                    faults.append(f"edge {edge.id!r} r_ohm: expected {_WITHIN}, found {edge.r_ohm!r}")
            except OutOfDomain as fault:
                faults.append(str(fault))
            self._index.setdefault(edge.a, len(self._index))
            self._index.setdefault(edge.b, len(self._index))
        if faults:
            raise NetworkError("network: " + "; ".join(faults))
        for name in nodes:
            self._index.setdefault(name, len(self._index))
        self.nodes = tuple(self._index)

    def edge(self, edge_id: str) -> Edge:
        """The edge with that id. Raises NetworkError."""
        try:
            return self._by_id[edge_id]
        except KeyError:
            raise NetworkError(f"edge {edge_id!r} is not in the network") from None

    def index(self, node: str) -> int:
        """Place of a node in ``nodes``. Raises NetworkError."""
        try:
            return self._index[node]
        except KeyError:
            raise NetworkError(f"node {node!r} is not in the network") from None


def two_point(network: Network, a: str, b: str, removed: AbstractSet[str] = frozenset()) -> TwoPoint:
    """Resistance between two nodes with some edges removed, its sensitivities and the current shares.

    R = 1/G after elimination of all other nodes; share_e = I_e/I_test; dR/dr_e = share_e² (adjoint: the
    network is its own transpose, so the solve for R serves again). a, b: nodes; removed: edge ids taken
    out, which get share 0. Returns TwoPoint; R [Ω] is infinite and connected False when nothing joins the
    nodes; 0 when a is b. Zero-ohm edges are contracted. Their share is exact as long as they form no loop
    among themselves; in a loop of zero-ohm edges it is the limit of equal small resistances. dR/dr of a
    zero-ohm edge bridged by others is 0. Raises NetworkError for an unknown node or edge. Range: meant for
    up to some hundred nodes; any spread of resistances. Source: Kirchhoff; method of this project, network.
    Checked with the dense Laplacian pseudo-inverse (numpy), resistance distance (networkx), finite
    differences and closed forms.
    """
    start, end = network.index(a), network.index(b)
    for edge_id in removed:
        network.edge(edge_id)
    index = network._index  # straight, for speed: a call per edge would double the time
    shares = dict.fromkeys(network._by_id, 0.0)
    live = [
        (edge.id, index[edge.a], index[edge.b], edge.r_ohm)
        for edge in network.edges
        if edge.a != edge.b and edge.r_ohm != math.inf and edge.id not in removed
    ]
    zero = [edge for edge in live if edge[3] == 0]
    if zero:
        root = _merged(((edge[1], edge[2]) for edge in zero), len(index))
        resistive = [(e, root[u], root[v], r) for e, u, v, r in live if r > 0 and root[u] != root[v]]
        r_ohm = _solve(resistive, root[start], root[end], shares)
        if math.isfinite(r_ohm):
            _fill_zero_edges(live, zero, root, start, end, shares)
    else:
        r_ohm = _solve(live, start, end, shares)
    sensitivities = {edge_id: share * share for edge_id, share in shares.items()}
    for edge_id in _bridged(zero, len(index)):
        sensitivities[edge_id] = 0.0
    return TwoPoint(r_ohm, r_ohm != math.inf, sensitivities, shares)


def path_ohm(network: Network, a: str, b: str, without: str, removed: AbstractSet[str] = frozenset()) -> float:
    """The one resistance that stands for the rest of the network between two nodes when an edge is out.

    R_path = two-point resistance without the edge ``without`` (and without ``removed``). For a bond between
    MET and part this is the *path* beside it: 1/together = 1/conductor + 1/path holds exactly. Returns [Ω],
    infinite when nothing else joins them. Raises as two_point. Source: Thévenin. Checked with the closure
    of the three resistances on random networks.
    """
    return two_point(network, a, b, removed | {without}).r_ohm


_Live = tuple[str, int, int, float]


def _solve(edges: list[_Live], start: int, end: int, shares: dict[str, float]) -> float:
    """Resistance from start to end, every edge positive; fills ``shares``. Infinite if not joined."""
    if start == end:
        return 0.0
    mesh: dict[int, dict[int, float]] = {start: {}, end: {}}
    for _, u, v, r in edges:
        from_u, from_v = mesh.setdefault(u, {}), mesh.setdefault(v, {})
        from_u[v] = from_v[u] = from_u.get(v, 0.0) + 1 / r
    pair_g = {(u, v): mesh[u][v] for _, u, v, _ in edges}
    steps = _eliminate(mesh, start, end)
    g = mesh[start].get(end)
    if g is None:
        return math.inf
    current = _carry_back(steps, start, end)
    for edge_id, u, v, r in edges:
        i = current.get((u, v))
        if i is None:
            i = -current[v, u]
        shares[edge_id] = i / (r * pair_g[u, v])
    return 1 / g


_Step = tuple[int, list[int], list[tuple[int, int, float]]]


def _eliminate(mesh: dict[int, dict[int, float]], start: int, end: int) -> list[_Step]:
    """Star-mesh elimination of every node but two, fewest neighbours first; ``mesh`` is used up.

    A step keeps the node, its neighbours, and for every pair of them the fraction of the new conductance
    that it brought.
    """
    steps: list[_Step] = []
    heap = [(len(row), node) for node, row in mesh.items() if node not in (start, end)]
    heapq.heapify(heap)
    while heap:
        degree, node = heapq.heappop(heap)
        row = mesh.get(node)
        if row is None or len(row) != degree:
            continue  # an entry that was overtaken by a newer one
        del mesh[node]
        around = list(row)
        total = math.fsum(row.values())
        pairs: list[tuple[int, int, float]] = []
        for place, u in enumerate(around):
            from_u = mesh[u]
            del from_u[node]
            weight = row[u] / total
            for w in around[place + 1 :]:
                brought = weight * row[w]
                new = from_u.get(w, 0.0) + brought
                from_u[w] = mesh[w][u] = new
                pairs.append((u, w, brought / new))
        for u in around:
            if u not in (start, end):
                heapq.heappush(heap, (len(mesh[u]), u))
        steps.append((node, around, pairs))
    return steps


def _carry_back(steps: list[_Step], start: int, end: int) -> dict[tuple[int, int], float]:
    """Current from u to v in joined pairs for one ampere from start to end, keyed (u, v) one way only."""
    current = {(start, end): 1.0}
    for node, around, pairs in reversed(steps):
        into = dict.fromkeys(around, 0.0)
        for u, w, fraction in pairs:
            key, sign = ((u, w), 1.0) if (u, w) in current else ((w, u), -1.0)
            i = current[key]
            if i:
                part = i * fraction
                current[key] = i - part
                into[u] += sign * part
                into[w] -= sign * part
        for u, i in into.items():
            current[u, node] = i
    return current


def _merged(pairs: Iterable[tuple[int, int]], count: int) -> list[int]:
    """For every node the lowest node of the cluster that the pairs join it to."""
    root = list(range(count))

    def find(node: int) -> int:
        while root[node] != node:
            root[node] = root[root[node]]
            node = root[node]
        return node

    for u, v in pairs:
        u, v = find(u), find(v)
        root[max(u, v)] = min(u, v)
    return [find(node) for node in range(count)]


def _fill_zero_edges(
    live: list[_Live], zero: list[_Live], root: list[int], start: int, end: int, shares: dict[str, float]
) -> None:
    """Shares of zero-ohm edges from what enters and leaves each of their nodes through everything else."""
    entering = [0.0] * len(root)
    entering[start] += 1
    entering[end] -= 1
    for edge_id, u, v, _ in live:
        entering[u] -= shares[edge_id]
        entering[v] += shares[edge_id]
    clusters: dict[int, list[_Live]] = {}
    for edge_id, u, v, _ in zero:
        clusters.setdefault(root[u], []).append((edge_id, u, v, 1.0))
    for reference, members in clusters.items():
        # superposition: each node's current on its own, returned at the reference node
        for node in {n for _, u, v, _ in members for n in (u, v)} - {reference}:
            if entering[node]:
                one: dict[str, float] = {}
                _solve(members, node, reference, one)
                for edge_id, share in one.items():
                    shares[edge_id] += entering[node] * share


def _bridged(zero: Collection[_Live], count: int) -> list[str]:
    """Ids of zero-ohm edges whose ends stay joined by other zero-ohm edges."""
    if not zero:
        return []
    root = _merged(((u, v) for _, u, v, _ in zero), count)
    clusters: dict[int, list[_Live]] = {}
    for edge in zero:
        clusters.setdefault(root[edge[1]], []).append(edge)
    found: list[str] = []
    for members in clusters.values():
        if len(members) < len({n for _, u, v, _ in members for n in (u, v)}):
            continue  # a tree: every edge is needed
        for edge in members:
            rest = _merged(((u, v) for e, u, v, _ in members if e != edge[0]), count)
            if rest[edge[1]] == rest[edge[2]]:
                found.append(edge[0])
    return found
