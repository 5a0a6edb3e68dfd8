"""The blocks of a graph, so that a question between two places looks only at what can carry its test current.

A block is a largest set of edges any two of which lie on a common ring; an edge that lies on none is a block by itself.
Current between two places flows in the blocks on the one way from the first to the second and in no other.
"""

from __future__ import annotations

from collections.abc import Sequence

Ends = tuple[str, str]


def blocks(edges: Sequence[Ends]) -> list[list[int]]:
    """The edges of a graph, by their places in the list, parted into blocks; an edge from a node to itself is left out.

    Depth first without recursion: an edge is put aside when it is walked, and everything put aside since a node was
    entered is one block as soon as nothing below that node leads back above it. Source: Hopcroft and Tarjan 1973,
    algorithm 447. Checked with networkx.biconnected_component_edges.
    """
    around: dict[str, list[tuple[str, int]]] = {}
    for number, (a, b) in enumerate(edges):
        if a != b:
            around.setdefault(a, []).append((b, number))
            around.setdefault(b, []).append((a, number))
    found: list[list[int]] = []
    depth: dict[str, int] = {}
    low: dict[str, int] = {}
    for start in around:
        if start in depth:
            continue
        depth[start] = low[start] = 0
        aside: list[int] = []
        path = [(start, -1, iter(around[start]))]
        while path:
            node, came, rest = path[-1]
            step = next(rest, None)
            if step is None:
                path.pop()
                if path:
                    above = path[-1][0]
                    low[above] = min(low[above], low[node])
                    if low[node] >= depth[above]:
                        cut = aside.index(came)
                        found.append(aside[cut:])
                        del aside[cut:]
                continue
            other, number = step
            if number == came:
                continue
            if other not in depth:
                depth[other] = low[other] = depth[node] + 1
                aside.append(number)
                path.append((other, number, iter(around[other])))
            elif depth[other] < depth[node]:
                aside.append(number)
                low[node] = min(low[node], depth[other])
    return found


class Blocks:
    """The tree of blocks and the nodes where they meet."""

    def __init__(self, edges: Sequence[Ends]) -> None:
        self.blocks = blocks(edges)
        self._of: dict[str, list[int]] = {}
        self._nodes: list[list[str]] = []
        for number, block in enumerate(self.blocks):
            nodes = list(dict.fromkeys(end for i in block for end in edges[i]))
            self._nodes.append(nodes)
            for node in nodes:
                self._of.setdefault(node, []).append(number)
        self._up: dict[str, tuple[int, str] | None] = {}  # the block above a node, and the node above that block
        self._top: dict[str, str] = {}  # the node that a whole tree hangs on
        for start in self._of:
            if start in self._up:
                continue
            self._up[start], self._top[start] = None, start
            line = [start]
            while line:
                node = line.pop()
                above = self._up[node]
                for number in self._of[node]:
                    if above is not None and number == above[0]:
                        continue
                    for other in self._nodes[number]:
                        if other not in self._up:
                            self._up[other], self._top[other] = (number, node), start
                            line.append(other)

    def between(self, a: str, b: str) -> list[int] | None:
        """Places in the list of all edges that can carry current between two nodes; None when nothing joins them."""
        if a == b:
            return []
        if not self.joined(a, b):
            return None
        up_a, up_b = self._way_up(a), self._way_up(b)
        # From the top down both ways are the same as far as they go together.
        while len(up_a) > 1 and len(up_b) > 1 and up_a[-2] == up_b[-2]:
            up_a.pop()
            up_b.pop()
        numbers = dict.fromkeys(n for _, n in (*up_a[:-1], *up_b[:-1]))
        return [edge for number in numbers for edge in self.blocks[number]]

    def in_series(self, a: str, b: str) -> list[int]:
        """Places of the edges between two nodes through which all of the current passes: those that lie on no ring."""
        single = {block[0] for block in self.blocks if len(block) == 1}
        return [edge for edge in self.between(a, b) or () if edge in single]

    def _way_up(self, node: str) -> list[tuple[str, int]]:
        """Node and the block above it, from the node to the top of its tree, which has none (−1)."""
        found = []
        while True:
            above = self._up.get(node)
            found.append((node, -1 if above is None else above[0]))
            if above is None:
                return found
            node = above[1]

    def joined(self, a: str, b: str) -> bool:
        """Whether anything joins two nodes."""
        return self._top.get(a, a) == self._top.get(b, b)
