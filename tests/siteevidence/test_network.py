"""Matrices of impedances and networks solved many at a time, against the nodal sums and dense algebra."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
from attrs import evolve

from earthwright.base.display import Display
from earthwright.evidence.bond import Copper, Model, Observed
from earthwright.evidence.network import SiteBond, SiteData, SiteLink, SiteModel, SiteReading
from earthwright.evidence.network.chain import X_GRID, Chain
from earthwright.evidence.network.network import GROUND, Net, SiteError, add_edge, beside, inverse
from earthwright.evidence.network.tables import path_grid
from earthwright.physics.network import Edge, Network, two_point
from earthwright.site.installation import MET

from .importance import chance_many, two_point_many

COPPER = Copper(1.83, 16, 1)


def site(**more: object) -> SiteData:
    bonds = tuple(SiteBond(n, n, COPPER) for n in ("water", "gas", "steel"))
    return SiteData(bonds, (), (SiteLink("boiler", "water", "gas", 0.01, 0.03),), **more)  # type: ignore[arg-type]


def drawn(net: Net, seed: int) -> tuple[list[float], list[float]]:
    draw = random.Random(seed)
    bonds = [0.0 if draw.random() < 0.2 else math.exp(draw.uniform(-2, 4)) for _ in net.at]
    return bonds, [0.0 if draw.random() < 0.3 else math.exp(draw.uniform(-5, 4)) for _ in net.strays]


def as_edges(net: Net, bonds: list[float], strays: list[float], without: set[str]) -> list[Edge]:
    names = [*net.nodes, MET]
    found = [Edge(i, names[a], MET, 1 / g) for i, a, g in zip(net.bond_ids, net.at, bonds, strict=True) if g]
    for k, (s, g) in enumerate(zip(net.strays, strays, strict=True)):
        if g:
            found.append(Edge(s.known or f"s{k}", names[s.a], names[s.b], 1 / g))
    return [e for e in found if e.id not in without]


@pytest.mark.parametrize("seed", range(12))
def test_impedances_are_two_point_resistances(seed: int) -> None:
    """Against physics.network, with everything on and with a bond and the known link off."""
    off = frozenset({"gas", "boiler"}) if seed % 2 else frozenset()
    net = Net(site(), {"water": off})
    state = net.primary[0]
    bonds, strays = drawn(net, seed)
    z = net.matrix(state, bonds, strays)
    network = Network(as_edges(net, bonds, strays, set(off)), (*net.nodes, MET))
    for a, name in enumerate(net.nodes):
        expected = two_point(network, name, MET).r_ohm
        if expected > 1e6:  # nothing joins it: the leak of ten megohm from each of its nodes is left
            assert z[a][a] > 1e6
        else:
            # Beside a thousand ohms the leaks of ten megohm can be seen, in the fourth figure.
            assert z[a][a] == pytest.approx(expected, rel=1e-6 + 4e-7 * expected)


def test_an_edge_put_in_is_as_if_it_had_been_there() -> None:
    net = Net(site())
    bonds, strays = drawn(net, 3)
    for a, b in ((0, GROUND), (0, 1), (2, 1)):
        z = net.matrix(0, bonds, strays)
        add_edge(z, a, b, 7.5)
        edges = [*as_edges(net, bonds, strays, set()), Edge("new", net.nodes[a], [*net.nodes, MET][b], 1 / 7.5)]
        for k, name in enumerate(net.nodes):
            assert z[k][k] == pytest.approx(two_point(Network(edges), name, MET).r_ohm, rel=1e-5)
        add_edge(z, a, b, -7.5)
        before = net.matrix(0, bonds, strays)
        assert [v for row in z for v in row] == pytest.approx([v for row in before for v in row], rel=1e-6)


def test_path_beside_a_bond() -> None:
    """0.03 Ω beside 0.11 Ω is 0.0236 Ω together; taking the 0.03 Ω out leaves the 0.11 Ω."""
    assert beside(0.03 * 0.11 / 0.14, 1 / 0.03) == pytest.approx(0.11)
    assert beside(0.03, 1 / 0.03) > 1e6
    assert beside(0.5, 0.0) == pytest.approx(0.5)


@pytest.mark.parametrize("seed", range(8))
def test_cells_over_the_grid_are_those_of_two_point_resistances(seed: int) -> None:
    """The path beside the gas bond while a conductance at the water pipe grows, against physics.network one at a time."""
    read = (SiteReading("r", "gas", Observed("together", 0.04)),)
    net = Net(evolve(site(), readings=read))
    chain = Chain(net, random.Random(seed))
    bonds, strays = drawn(net, seed)
    chain.c = [
        min(range(len(c.siemens)), key=lambda k: abs(c.siemens[k] - g)) for c, g in zip(net.copper, bonds, strict=True)
    ]
    chain.y = strays
    chain.refresh()
    state, at = net.primary[1], net.bond_ids.index("gas")
    cells = chain._cells(at, state, 0)
    edges = as_edges(net, [chain.g(i) for i in range(3)], strays, {"gas"})
    for x in X_GRID[1::29]:
        path = two_point(Network([*edges, Edge("new", net.nodes[0], MET, 1 / x)], (*net.nodes, MET)), "gas", MET).r_ohm
        near = {net.grid[at].cell(path * k) for k in (1 - 1e-6, 1 + 1e-6)}
        found = cells[X_GRID.index(x)] if cells else net.grid[at].beside(chain.z[state][1][1], chain.g(at))
        assert found in near, x


def test_a_part_with_nothing_on_it_is_alone_whatever_rounding_makes_of_its_impedance() -> None:
    """Taking the last edge off leaves ten megohm, by cancellation now and then with a minus: no path, and not a short."""
    grid = path_grid([])
    for impedance in (1e7, -5.8e6, -1e9):
        assert grid.beside(impedance, 0.0) == len(grid.edges)
    assert grid.beside(0.03, 1 / 0.03) == len(grid.edges)
    assert grid.beside(1e-9, 50.0) == 0


def test_inverse_of_a_known_matrix() -> None:
    assert [v for row in inverse([[4.0, -2.0], [-2.0, 3.0]]) for v in row] == pytest.approx([0.375, 0.25, 0.25, 0.5])


def test_every_fault_of_a_site_is_named_at_once() -> None:
    bad = SiteData(
        (SiteBond("a", "a", COPPER), SiteBond("a", MET, COPPER)),
        (SiteReading("r", "nowhere", None),),  # type: ignore[arg-type]
        (SiteLink("x", "a", "a", 2.0, 1.0),),
    )
    with pytest.raises(SiteError) as caught:
        Net(bad)
    for words in (
        "'a' is given twice",
        "'nowhere' is not there",
        "the MET itself",
        "0 < low < high",
        "two different ends",
    ):
        assert words in str(caught.value)
    with pytest.raises(SiteError, match="at least one bond"):
        Net(SiteData((), ()))


def test_how_many_stray_links_there_may_be() -> None:
    """A pair of two parts is joined as often as a single bond's path is there, of six parts each one with 0.7/5."""
    two = Net(SiteData((SiteBond("a", "a", COPPER), SiteBond("b", "b", COPPER)), ()))
    assert [s.present for s in two.strays] == pytest.approx([0.7, 0.7, 0.7])
    six = Net(SiteData(tuple(SiteBond(n, n, COPPER) for n in "abcdef"), ()))
    assert len(six.strays) == 6 + 15
    assert six.strays[-1].present == pytest.approx(0.14)
    none = Net(SiteData(two.data.bonds, (), (), SiteModel(between=0.0)))
    assert len(none.strays) == 2


# ---- many draws at a time ----


def random_edges(nodes: int, chords: int, seed: int) -> list[tuple[int, int]]:
    draw = random.Random(seed)
    return [(draw.randrange(n), n) for n in range(1, nodes)] + [
        (draw.randrange(nodes), draw.randrange(nodes)) for _ in range(chords)
    ]


@pytest.mark.parametrize("seed", range(6))
def test_many_draws_against_one_at_a_time_and_a_dense_solve(seed: int) -> None:
    nodes, draws = 12, 40
    edges = random_edges(nodes, 9, seed)
    g = np.exp(np.random.default_rng(seed).uniform(-5, 5, (len(edges), draws)))
    found = two_point_many(edges, g, 0, nodes - 1)
    for d in range(0, draws, 7):
        net = Network(
            Edge(str(k), str(u), str(w), 1 / x) for k, ((u, w), x) in enumerate(zip(edges, g[:, d], strict=True))
        )
        assert found[d] == pytest.approx(two_point(net, "0", str(nodes - 1)).r_ohm, rel=1e-9)
        dense = np.zeros((nodes, nodes))
        for (u, w), x in zip(edges, g[:, d], strict=True):
            dense[[u, w], [u, w]] += x if u != w else 0
            if u != w:
                dense[[u, w], [w, u]] -= x
        volts = np.linalg.solve(dense[:-1, :-1], np.eye(nodes - 1)[0])
        assert found[d] == pytest.approx(volts[0], rel=1e-8)


def test_many_draws_with_broken_edges() -> None:
    """0.03 Ω beside the series of 0.05 and 0.06 Ω; the series broken; all broken; a node that nothing reaches."""
    edges = [(0, 1), (0, 2), (2, 1), (3, 4)]
    g = 1 / np.array(
        [[0.03, 0.03, np.inf, 0.03], [0.05, np.inf, 0.05, 0.05], [0.06, 0.06, np.inf, 0.06], [1, 1, 1, np.inf]]
    )
    assert two_point_many(edges, g, 0, 1) == pytest.approx([0.03 * 0.11 / 0.14, 0.03, math.inf, 0.03 * 0.11 / 0.14])
    assert np.isinf(two_point_many([(0, 2)], np.ones((1, 3)), 0, 1)).all()


def test_many_draws_refuse_what_does_not_fit() -> None:
    with pytest.raises(ValueError, match="one row of conductances for each of 2 edges"):
        two_point_many([(0, 1), (1, 2)], np.ones((3, 5)), 0, 2)
    with pytest.raises(ValueError, match="two different nodes"):
        two_point_many([(0, 1)], np.ones((1, 5)), 1, 1)


@pytest.mark.parametrize("display", [Display(), Display(2.0, 3.0, 0.1, 999.9), Display(0.0, 2.0), Display(3.0, 0.0)])
def test_displays_of_many_values(display: Display) -> None:
    draw = random.Random(8)
    true = [0.0, 2 / 3, 1e7, *(math.exp(draw.uniform(-8, 8)) for _ in range(300))]
    for shown in (0.0, 0.01, 0.04, 0.66, 0.67, 5.43, 99.99, math.inf):
        expected = [display.chance(shown, t) for t in true]
        assert chance_many(display, shown, np.array(true)) == pytest.approx(expected, abs=1e-6)


def test_leak_is_far_beyond_any_display() -> None:
    net = Net(SiteData((SiteBond("a", "a", COPPER),), (), (), SiteModel(bond=Model())))
    assert net.matrix(0, [0.0], [0.0])[0][0] > 1e6
    assert list(itertools.chain.from_iterable(net.matrix(0, [2.0], [3.0]))) == pytest.approx([0.2])
