"""Blocks against networkx, an independent implementation, on graphs of every shape."""

from __future__ import annotations

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from earthwright.evidence.graph.blocks import Blocks, blocks

EDGES = st.lists(st.tuples(st.sampled_from("abcdefghij"), st.sampled_from("abcdefghij")), max_size=25)


def _graph(edges: list[tuple[str, str]]) -> nx.Graph:
    """A simple graph in which every edge has a node of its own, so that parallel edges stay apart."""
    graph = nx.Graph()
    for number, (a, b) in enumerate(edges):
        if a != b:
            graph.add_edges_from([(a, number), (number, b)])
    return graph


@given(EDGES)
def test_blocks_are_those_of_networkx(edges: list[tuple[str, str]]) -> None:
    theirs = set()
    for block in nx.biconnected_component_edges(_graph(edges)):
        theirs.add(frozenset(n for edge in block for n in edge if isinstance(n, int)))
    # An edge by itself falls into two halves there, each a block with the same number.
    assert {frozenset(block) for block in blocks(edges)} == theirs
    inside = sorted(i for block in blocks(edges) for i in block)
    assert inside == [i for i, (a, b) in enumerate(edges) if a != b]


@given(EDGES, st.sampled_from("abcdefghij"), st.sampled_from("abcdefghij"))
def test_between_holds_every_edge_of_every_simple_path_and_no_other(
    edges: list[tuple[str, str]], a: str, b: str
) -> None:
    graph = _graph(edges)
    graph.add_nodes_from([a, b])
    found = Blocks(edges).between(a, b)
    assert Blocks(edges).joined(a, b) is nx.has_path(graph, a, b)
    if a == b:
        assert found == []
    elif not nx.has_path(graph, a, b):
        assert found is None
    else:
        # Joining the two ends by one more edge puts exactly the edges that can carry current into one block with it.
        joined = [*edges, (a, b)]
        mine = next(block for block in blocks(joined) if len(edges) in block)
        assert found is not None
        assert sorted(found) == sorted(i for i in mine if i != len(edges))


def test_a_ring_a_bridge_and_two_islands() -> None:
    edges = [("MET", "a"), ("a", "b"), ("b", "MET"), ("b", "c"), ("x", "y")]
    tree = Blocks(edges)
    assert tree.between("MET", "c") is not None
    assert sorted(tree.between("MET", "c") or []) == [0, 1, 2, 3]
    assert tree.between("b", "c") == [3]
    assert tree.between("MET", "x") is None
    assert not tree.joined("c", "y")
    assert tree.joined("nowhere", "nowhere")
