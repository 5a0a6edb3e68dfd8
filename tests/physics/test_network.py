"""Two-point resistance against dense algebra, networkx, finite differences and closed forms."""

from __future__ import annotations

import math
import random
from dataclasses import FrozenInstanceError
from itertools import pairwise
from typing import TYPE_CHECKING

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from earthwright.base.errors import EarthwrightError
from earthwright.physics.network import Edge, Network, NetworkError, TwoPoint, path_ohm, two_point

if TYPE_CHECKING:
    from .conftest import Oracle

OHMS = st.floats(1e-3, 1e3)


@st.composite
def branches(draw: st.DrawFn, ohms: st.SearchStrategy[float] = OHMS) -> list[tuple[str, str, float]]:
    """A connected graph of 2 to 9 nodes: a random tree and up to 8 further edges, parallel ones and loops among them."""
    count = draw(st.integers(2, 9))
    node = st.integers(0, count - 1)
    pairs = [(draw(st.integers(0, place - 1)), place) for place in range(1, count)]
    pairs += draw(st.lists(st.tuples(node, node), max_size=8))
    return [(f"n{u}", f"n{v}", draw(ohms)) for u, v in pairs]


def network_of(graph: list[tuple[str, str, float]]) -> Network:
    """The graph as a network with edges e0, e1, …"""
    return Network(Edge(f"e{place}", u, v, r) for place, (u, v, r) in enumerate(graph))


@given(branches())
def test_resistance_and_shares_are_those_of_dense_algebra(nodal: Oracle, graph: list[tuple[str, str, float]]) -> None:
    last = graph[-1][1]
    found = two_point(network_of(graph), "n0", last)
    r_ohm, currents = nodal(graph, "n0", last)
    assert found.connected
    assert found.r_ohm == pytest.approx(r_ohm, rel=1e-7, abs=1e-9)
    expected = currents if last != "n0" else [0.0] * len(graph)
    assert list(found.shares.values()) == pytest.approx(expected, abs=1e-6)


@given(branches())
def test_resistance_is_that_of_networkx(graph: list[tuple[str, str, float]]) -> None:
    reference = nx.MultiGraph()
    for u, v, r in graph:
        if u != v:  # networkx takes a self loop for a leak, which it is not
            reference.add_edge(u, v, weight=r)
    found = two_point(network_of(graph), "n0", "n1")
    expected = nx.resistance_distance(reference, "n0", "n1", weight="weight", invert_weight=True)
    assert found.r_ohm == pytest.approx(expected, rel=1e-6, abs=1e-8)


@given(branches(st.floats(0.5, 2)), st.data())
def test_sensitivities_are_those_of_finite_differences(
    graph: list[tuple[str, str, float]], data: st.DataObject
) -> None:
    place = data.draw(st.integers(0, len(graph) - 1))
    u, v, r = graph[place]
    ends = []
    for step in (-1e-4, 1e-4):
        moved = [*graph[:place], (u, v, r + step), *graph[place + 1 :]]
        ends.append(two_point(network_of(moved), "n0", "n1").r_ohm)
    found = two_point(network_of(graph), "n0", "n1").sensitivities[f"e{place}"]
    assert found == pytest.approx((ends[1] - ends[0]) / 2e-4, abs=1e-6)


@given(branches(st.floats(1e-9, 1e9)))
def test_currents_obey_kirchhoff_however_far_the_resistances_lie_apart(
    graph: list[tuple[str, str, float]],
) -> None:
    found = two_point(network_of(graph), "n0", "n1")
    balance = {"n0": 1.0, "n1": -1.0}
    for (u, v, _), share in zip(graph, found.shares.values(), strict=True):
        balance[u] = balance.get(u, 0.0) - share
        balance[v] = balance.get(v, 0.0) + share
    assert list(balance.values()) == pytest.approx([0.0] * len(balance), abs=1e-13)
    # power in is power burnt, and R is homogeneous of degree one in the resistances (Euler)
    burnt = math.fsum(r * share**2 for (_, _, r), share in zip(graph, found.shares.values(), strict=True))
    assert found.r_ohm == pytest.approx(burnt, rel=1e-12)
    euler = math.fsum(r * found.sensitivities[f"e{place}"] for place, (_, _, r) in enumerate(graph))
    assert found.r_ohm == pytest.approx(euler, rel=1e-12)


@given(branches(), st.data())
def test_removing_edges_is_as_if_they_were_not_there(graph: list[tuple[str, str, float]], data: st.DataObject) -> None:
    ids = [f"e{place}" for place in range(len(graph))]
    removed = frozenset(data.draw(st.sets(st.sampled_from(ids))))
    left = [Edge(ids[place], *branch) for place, branch in enumerate(graph) if ids[place] not in removed]
    names = {name for u, v, _ in graph for name in (u, v)}
    whole = two_point(network_of(graph), "n0", "n1", removed)
    without = two_point(Network(left, names), "n0", "n1")
    assert whole.connected == without.connected
    assert whole.r_ohm == pytest.approx(without.r_ohm, rel=1e-12)
    assert {e: whole.shares[e] for e in without.shares} == pytest.approx(without.shares, abs=1e-12)
    assert all(whole.shares[e] == 0 == whole.sensitivities[e] for e in removed)


@given(branches())
def test_the_path_closes_with_conductor_and_together(graph: list[tuple[str, str, float]]) -> None:
    graph = [*graph, ("n0", "n1", 0.05)]
    network, bond = network_of(graph), f"e{len(graph) - 1}"
    together = two_point(network, "n0", "n1").r_ohm
    path = path_ohm(network, "n0", "n1", bond)
    assert 1 / together == pytest.approx(1 / 0.05 + 1 / path, rel=1e-12)
    others = frozenset(f"e{place}" for place in range(len(graph) - 1))
    assert path_ohm(network, "n0", "n1", bond, removed=others) == math.inf


def test_series_parallel_and_bridge_in_closed_form() -> None:
    net = Network([Edge("a", "p", "q", 1.0), Edge("b", "q", "r", 2.0), Edge("c", "p", "r", 6.0)])
    found = two_point(net, "p", "r")
    assert found.r_ohm == pytest.approx(2.0)
    assert found.shares == pytest.approx({"a": 2 / 3, "b": 2 / 3, "c": 1 / 3})
    assert found.sensitivities == pytest.approx({"a": 4 / 9, "b": 4 / 9, "c": 1 / 9})
    # balanced bridge: nothing flows in its middle
    arms = [
        Edge("1", "s", "u", 1.0),
        Edge("2", "s", "v", 2.0),
        Edge("3", "u", "t", 2.0),
        Edge("4", "v", "t", 4.0),
    ]
    bridge = two_point(Network([*arms, Edge("mid", "u", "v", 7.0)]), "s", "t")
    assert bridge.r_ohm == pytest.approx(2.0)
    assert bridge.shares["mid"] == pytest.approx(0, abs=1e-15)
    # cube of 1 Ω: 5/6, 3/4, 7/12 Ω across body, face, edge
    cube = Network(Edge(f"{u}-{v}", str(u), str(v), 1.0) for u in range(8) for v in (u | 1, u | 2, u | 4) if v > u)
    assert [two_point(cube, "0", far).r_ohm for far in "731"] == pytest.approx([5 / 6, 3 / 4, 7 / 12])


def test_direction_of_an_edge_is_the_sign_of_its_share_only() -> None:
    forward = two_point(Network([Edge("a", "p", "q", 1.0), Edge("b", "p", "q", 3.0)]), "p", "q")
    turned = two_point(Network([Edge("a", "p", "q", 1.0), Edge("b", "q", "p", 3.0)]), "p", "q")
    assert forward.shares == pytest.approx({"a": 0.75, "b": 0.25})
    assert turned.shares == pytest.approx({"a": 0.75, "b": -0.25})
    assert turned.sensitivities == pytest.approx(forward.sensitivities)
    swapped = two_point(Network([Edge("a", "p", "q", 1.0)]), "q", "p")
    assert swapped.shares == {"a": -1.0}


def test_dead_ends_carry_exactly_nothing() -> None:
    net = Network([Edge("a", "p", "q", 0.1), Edge("stub", "q", "z", 1e-9), Edge("far", "z", "y", 1e9)])
    found = two_point(net, "p", "q")
    assert (found.shares["stub"], found.shares["far"]) == (0.0, 0.0)
    assert found.shares["a"] == 1.0


def test_disconnected_is_said_and_not_an_error() -> None:
    net = Network([Edge("a", "p", "q", 1.0), Edge("b", "s", "t", 1.0), Edge("c", "t", "u", 1.0)], nodes=["lone"])
    for far in ("s", "lone"):
        found = two_point(net, "p", far)
        assert found == TwoPoint(math.inf, False, dict.fromkeys("abc", 0.0), dict.fromkeys("abc", 0.0))


def test_a_node_to_itself_is_nothing_even_when_alone() -> None:
    net = Network([Edge("a", "p", "q", 1.0)], nodes=["lone", "p"])
    assert net.nodes == ("p", "q", "lone")
    for node in ("p", "lone"):
        assert two_point(net, node, node) == TwoPoint(0.0, True, {"a": 0.0}, {"a": 0.0})


def test_broken_edges_and_self_loops_count_for_nothing() -> None:
    net = Network([Edge("a", "p", "q", 2.0), Edge("open", "p", "q", math.inf), Edge("loop", "q", "q", 0.0)])
    found = two_point(net, "p", "q")
    assert found.r_ohm == 2.0
    assert found.shares == {"a": 1.0, "open": 0.0, "loop": 0.0}


def test_zero_ohm_link_carries_its_true_share() -> None:
    net = Network([Edge("link", "met", "bar", 0.0), Edge("x", "bar", "pipe", 0.02), Edge("y", "met", "pipe", 0.06)])
    found = two_point(net, "met", "pipe")
    assert found.r_ohm == pytest.approx(0.015)
    assert found.shares == pytest.approx({"link": 0.75, "x": 0.75, "y": 0.25})
    assert found.sensitivities["link"] == pytest.approx(0.5625)
    reverse = two_point(net, "pipe", "met")
    assert reverse.shares["link"] == pytest.approx(-0.75)
    from_bar = two_point(net, "bar", "pipe")
    assert from_bar.shares == pytest.approx({"link": -0.25, "x": 0.75, "y": 0.25})


def test_resistance_across_a_zero_ohm_link_carries_nothing() -> None:
    chain = [Edge("in", "p", "u", 1.0), Edge("link", "u", "v", 0.0), Edge("across", "u", "v", 5.0)]
    found = two_point(Network([*chain, Edge("out", "v", "q", 2.0)]), "p", "q")
    assert found.r_ohm == pytest.approx(3.0)
    assert found.shares == pytest.approx({"in": 1, "link": 1, "across": 0, "out": 1})


@given(branches(st.floats(0.1, 100)), st.data())
def test_zero_ohm_forests_are_the_limit_of_small_resistances(
    nodal: Oracle, graph: list[tuple[str, str, float]], data: st.DataObject
) -> None:
    count = len({name for u, v, _ in graph for name in (u, v)})
    # among the first edges, a tree: any choice of them is a forest
    zero = data.draw(st.sets(st.integers(0, count - 2)))
    start, end = data.draw(st.permutations([f"n{place}" for place in range(count)]))[:2]
    exact = [(u, v, 0.0 if place in zero else r) for place, (u, v, r) in enumerate(graph)]
    small = [(u, v, 1e-6 if place in zero else r) for place, (u, v, r) in enumerate(graph)]
    found = two_point(network_of(exact), start, end)
    r_ohm, currents = nodal(small, start, end)
    assert found.r_ohm == pytest.approx(r_ohm, rel=1e-4, abs=1e-4)
    assert list(found.shares.values()) == pytest.approx(currents, abs=1e-3)
    # exactly, not only in the limit: what enters a node leaves it
    balance = {start: 1.0, end: -1.0}
    for (u, v, _), share in zip(exact, found.shares.values(), strict=True):
        balance[u] = balance.get(u, 0.0) - share
        balance[v] = balance.get(v, 0.0) + share
    assert list(balance.values()) == pytest.approx([0.0] * len(balance), abs=1e-12)


def test_loop_of_zero_ohm_edges_shares_alike_and_does_not_feel_one_of_them() -> None:
    ring = [Edge(f"z{i}", f"{u}", f"{v}", 0.0) for i, (u, v) in enumerate([("p", "u"), ("u", "q"), ("q", "p")])]
    net = Network([*ring, Edge("tail", "q", "end", 0.0), Edge("load", "end", "far", 3.0)])
    found = two_point(net, "p", "far")
    assert found.r_ohm == 3.0
    # as for three equal resistances: two in series carry half of what the one carries
    assert found.shares == pytest.approx({"z0": 1 / 3, "z1": 1 / 3, "z2": -2 / 3, "tail": 1.0, "load": 1.0})
    assert found.sensitivities == pytest.approx({"z0": 0, "z1": 0, "z2": 0, "tail": 1.0, "load": 1.0})


def test_terminals_joined_by_zero_ohm_shed_all_else() -> None:
    net = Network([Edge("z", "p", "q", 0.0), Edge("r", "p", "q", 5.0), Edge("away", "s", "t", 0.0)])
    found = two_point(net, "p", "q")
    assert (found.r_ohm, found.connected) == (0.0, True)
    assert found.shares == {"z": 1.0, "r": 0.0, "away": 0.0}


def test_disconnected_with_zero_ohm_edges() -> None:
    net = Network([Edge("z", "p", "q", 0.0), Edge("r", "s", "t", 5.0)])
    assert two_point(net, "p", "t") == TwoPoint(math.inf, False, {"z": 0.0, "r": 0.0}, {"z": 0.0, "r": 0.0})


def test_two_runs_give_the_same_digits_in_any_process() -> None:
    draw = random.Random(3)
    graph = [(f"n{draw.randrange(place)}", f"n{place}", draw.uniform(0.1, 9)) for place in range(1, 60)]
    graph += [(f"n{draw.randrange(60)}", f"n{draw.randrange(60)}", draw.uniform(0.1, 9)) for _ in range(30)]
    first, second = (two_point(network_of(graph), "n0", "n59") for _ in range(2))
    assert first == second


def test_a_chain_of_two_hundred_nodes_and_a_full_mesh() -> None:
    chain = Network(Edge(f"e{u}", f"n{u}", f"n{v}", 0.01) for u, v in pairwise(range(200)))
    assert two_point(chain, "n0", "n199").r_ohm == pytest.approx(1.99)
    size = 30
    mesh = Network(Edge(f"{u}-{v}", f"{u}", f"{v}", 1.0) for v in range(size) for u in range(v))
    found = two_point(mesh, "0", "1")
    assert found.r_ohm == pytest.approx(2 / size)
    assert found.shares["0-1"] == pytest.approx(2 / size)
    assert found.shares["5-9"] == pytest.approx(0, abs=1e-15)


def test_a_network_that_contradicts_itself_names_every_fault() -> None:
    edges = [Edge("a", "p", "q", 1.0), Edge("a", "q", "r", -1.0), Edge("b", "p", "q", math.nan)]
    with pytest.raises(NetworkError, match=r"'a' is given twice; edge 'a' r_ohm: .*-1\.0; edge 'b' r_ohm: .*nan"):
        Network(edges)
    assert issubclass(NetworkError, EarthwrightError)


@pytest.mark.parametrize("fits", [0, 1e-12, 1e15, math.inf])
def test_resistances_within_the_range(fits: float) -> None:
    assert two_point(Network([Edge("a", "p", "q", fits)]), "p", "q").r_ohm == pytest.approx(fits)


@pytest.mark.parametrize("slip", [math.nextafter(1e-12, 0), math.nextafter(1e15, math.inf), 5e-324])
def test_resistances_that_are_a_slip_of_units(slip: float) -> None:
    with pytest.raises(NetworkError, match=r"edge 'a' r_ohm: expected 0, 1e-12 … 1e15 or infinity"):
        Network([Edge("a", "p", "q", slip)])


def test_edges_and_answers_do_not_change() -> None:
    edge = Edge("a", "p", "q", 1.0)
    for frozen, name in ((edge, "r_ohm"), (two_point(Network([edge]), "p", "q"), "connected")):
        with pytest.raises(FrozenInstanceError):
            setattr(frozen, name, 0.0)


def test_questions_about_what_is_not_there() -> None:
    net = Network([Edge("a", "p", "q", 1.0)])
    assert net.edge("a").r_ohm == 1.0
    for question in (
        lambda: two_point(net, "p", "nowhere"),
        lambda: two_point(net, "nowhere", "p"),
        lambda: two_point(net, "p", "q", frozenset({"nothing"})),
        lambda: path_ohm(net, "p", "q", "nothing"),
    ):
        with pytest.raises(NetworkError, match=r"'no(where|thing)' is not in the network"):
            question()
