"""The earth network: what is built from an installation, and its bands against sums by hand and against networkx."""

from __future__ import annotations

import math

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from earthwright.base.display import Display
from earthwright.evidence.graph import (
    EARTH,
    EarthNetwork,
    EarthNetworkError,
    Piece,
    Standing,
    earth_network,
    lost,
    touching,
)
from earthwright.evidence.graph.model import BAR, BOND, CPC, LINK, Node
from earthwright.evidence.graph.words import reach_words
from earthwright.site.installation import MET, Board, Bond, Circuit, Electrode, Link, Part, Site, Supply

# Largest resistances of IEC 60228 class 2 [mΩ/m].
R = {1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83, 16.0: 1.15}


def per_metre(material: str, csa_mm2: float, iec_class: int) -> float | None:
    return R.get(csa_mm2) if material == "copper" else None


def house(**more: object) -> Site:
    """A house: gas and water bonded, a boiler on c2 that touches the gas pipe, a loft board on f1."""
    values: dict[str, object] = {
        "supply": Supply(system="TN-C-S"),
        "parts": (Part("gas", "gas"), Part("water", "water")),
        "bonds": (Bond("gas", "gas", 10, 16, 1), Bond("water", "water", 10, 9, 1)),
        "links": (Link("frame", "gas", "c2@boiler", 0.0, 0.01),),
        "boards": (Board("db1"), Board("db2", fed_by="f1")),
        "circuits": (
            Circuit("c2", "db1", line_mm2=2.5, cpc_mm2=1.5, length_m=14, length_tol_m=1, points=(("boiler", 14.0),)),
            Circuit("f1", "db1", line_mm2=10, cpc_mm2=6, length_m=12, length_tol_m=1),
            Circuit("c7", "db2", line_mm2=2.5, cpc_mm2=1.5, length_m=20, length_tol_m=1),
            Circuit("ring", "db2", kind="ring", cpc_mm2=1.5, length_m=60, points=(("a", 10.0), ("b", 40.0))),
        ),
    }
    return Site("x", **(values | more))  # type: ignore[arg-type]


def network(**more: object) -> EarthNetwork:
    return earth_network(house(**more), per_metre)


def test_a_sub_board_is_the_end_of_its_feeder() -> None:
    """f1: 11 to 13 m of 6 mm²; c7: 19 to 21 m of 1.5 mm²; the tail of db1 0 to 0.02 Ω."""
    net = network(links=())  # the boiler stands by itself, so the tail of db1 is the only way
    assert net.node("f1").id == "db2"
    band = Standing(net).band(MET, "c7", contact_ohm=0.025)
    assert band is not None
    assert band.low == pytest.approx((11 * 3.08 + 19 * 12.1) * 0.93 / 1000)
    assert band.high == pytest.approx(0.02 + (13 * 3.08 + 21 * 12.1) / 1000 + 0.025)


def test_boiler_and_gas_bond_are_one_ring() -> None:
    """At the boiler: 13 to 15 m of 1.5 mm² beside bond (15 to 17 m of 10 mm², joint 0.01) and frame."""
    standing = Standing(network())
    band = standing.band("db1", "c2@boiler")
    assert band is not None
    own = (13 * 12.1 * 0.93 / 1000, 15 * 12.1 / 1000)
    round_about = (15 * 1.83 * 0.93 / 1000, 0.02 + 17 * 1.83 / 1000 + 0.01 + 0.01)
    assert band.low == pytest.approx(1 / (1 / own[0] + 1 / round_about[0]))
    assert band.high == pytest.approx(1 / (1 / own[1] + 1 / round_about[1]))


def test_every_name_of_the_ledger_takes_its_piece_out() -> None:
    net = network()
    for off, a, b in (
        ({"gas", "c2:cpc"}, MET, "gas"),
        ({"gas@part", "frame"}, MET, "gas"),
        ({"f1:cpc"}, MET, "c7"),
        ({"db2:earth"}, MET, "c7"),
        ({"db1:earth", "gas"}, MET, "c2@boiler"),
        ({"ring:cpc"}, "db2", "ring@a"),
        ({"earthing"}, MET, EARTH),
    ):
        assert Standing(net).joined(a, b)
        for one in off:
            assert Standing(net, off - {one}).joined(a, b)  # one of them alone leaves a way
        assert not Standing(net, off).joined(a, b)
    assert Standing(net, {"c2:neutral", "loads"}).pieces == net.pieces


def test_what_a_reading_at_the_gas_pipe_could_show() -> None:
    """MET to gas: the bond carries most; cut, the boiler's cpc answers with 0.15 to 0.22 Ω, which a display tells."""
    reach = Standing(network()).reach(MET, "gas", Display())
    assert not reach.alone
    by_name = {(x.kind, x.of): x for x in reach.breaks}
    assert set(by_name) == {(BOND, "gas"), (LINK, "frame"), (CPC, "c2"), (BAR, "db1")}
    cut = by_name[BOND, "gas"]
    assert cut.band is not None
    assert cut.band.low == pytest.approx(13 * 12.1 * 0.93 / 1000)
    assert cut.band.high == pytest.approx(0.02 + 15 * 12.1 / 1000 + 0.01)
    assert cut.shows
    assert not by_name[CPC, "c2"].shows  # without the boiler's cpc the bond alone reads the same digits
    assert cut.share > 0.7
    assert sum(x.share for x in (cut, by_name[CPC, "c2"])) == pytest.approx(1.0)


def test_a_reading_on_a_bridge_shows_every_break() -> None:
    reach = Standing(network(links=())).reach(MET, "c7")
    assert reach.alone
    assert all(x.band is None and x.shows for x in reach.breaks)
    assert {x.of for x in reach.breaks} == {"db1", "f1", "c7"}


def test_a_break_in_a_ring_is_told_by_its_hardest_stretch() -> None:
    """From the bar to a at 10 m of a ring of 60 m: whole 10 ‖ 50 m = 8.3 m; cut beyond a 10 m, cut before a 50 m."""
    one = Standing(network()).reach("db2", "ring@a").breaks[0]
    assert (one.kind, one.of) == (CPC, "ring")
    assert one.band is not None
    assert one.band.low == pytest.approx(9 * 12.1 * 0.93 / 1000)
    assert not one.shows


def test_each_end_of_a_sub_main_takes_out_its_own_stretch() -> None:
    """f1 with a point half way: the end at db2 leaves the point on the MET, the end at db1 takes both."""
    half = Circuit("f1", "db1", cpc_mm2=6, length_m=12, length_tol_m=1, points=(("half way", 6.0),))
    net = network(circuits=(half, *house().circuits[2:]), links=())
    assert [n.id for n in lost(net, (), {"db2:earth"})] == ["db2", "c7", "ring", "ring@a", "ring@b"]
    assert "f1@half way" in [n.id for n in lost(net, (), {"f1:cpc"})]


def test_what_rests_on_a_conductor() -> None:
    net = network()
    assert [n.id for n in lost(net, (), {"f1:cpc"})] == ["db2", "c7", "ring", "ring@a", "ring@b"]
    assert lost(net, (), {"c2:cpc"}) == ()  # the gas bond holds the boiler
    assert [n.id for n in lost(net, {"gas"}, {"c2:cpc"})] == ["gas", "c2", "c2@boiler"]
    assert [n.id for n in lost(net, (), {"water"})] == ["water"]
    everything = {n.id for n in lost(net, (), {"earthing"})}
    assert {MET, "gas", "water", "db1", "db2", "c7"} <= everything
    assert EARTH not in everything


def test_what_touches_a_part_and_leads_to_the_met() -> None:
    net = network()
    assert [p.of for p in touching(net, "gas")] == ["gas", "frame"]
    assert [p.of for p in touching(net, "gas", {"gas"})] == ["frame"]
    assert touching(net, "gas", {"gas", "c2:cpc"}) == ()  # the frame still touches, and leads nowhere
    floating = network(parts=(Part("gas", "gas"), Part("water", "water"), Part("duct", "ducting")))
    assert touching(floating, "duct") == ()


def test_unknown_metal_has_a_low_edge_and_no_high_one() -> None:
    conduit = Circuit("c9", "db1", cpc="conduit", length_m=10)
    net = network(circuits=(*house().circuits, conduit))
    band = Standing(net).band("db1", "c9")
    assert band is not None
    assert (band.low, band.high) == (0.001, math.inf)
    reach = Standing(net).reach("db1", "c9")
    assert reach.band == band
    assert reach.breaks[0].band is None
    assert (
        Standing(earth_network(house())).band(MET, "water") is not None
    )  # without resistances only its shape is known


def test_a_circuit_without_a_cpc_reaches_nothing() -> None:
    net = network(circuits=(*house().circuits, Circuit("old", "db1", cpc="none", length_m=10)))
    assert Standing(net).band(MET, "old") is None
    assert Standing(net).reach(MET, "old").band is None
    assert Standing(net).reach(MET, "old").breaks == ()


def test_supplementary_conductor_as_a_link() -> None:
    """3 m of 4 mm²: 2.7 m × 4.61 × 0.93 to 3.3 m × 4.61 and two joints of 0.01 Ω."""
    net = network(links=(Link("bath", "water", "c7", csa_mm2=4.0, length_m=3.0),))
    piece = next(p for p in net.pieces if p.kind == LINK)
    assert piece.low_ohm == pytest.approx(2.7 * 4.61 * 0.93 / 1000)
    assert piece.high_ohm == pytest.approx(3.3 * 4.61 / 1000 + 0.02)


def test_points_without_places_and_a_board_that_is_not_entered() -> None:
    loose = Circuit("c8", "db9", cpc_mm2=1.5, length_m=20, length_tol_m=2, points=(("near", None), ("far", None)))
    net = network(circuits=(*house().circuits, loose))
    standing = Standing(net)
    near, far = standing.band("db9", "c8@near"), standing.band("db9", "c8@far")
    assert near is not None
    assert far is not None
    assert (near.low, near.high) == (0.0, pytest.approx(22 * 12.1 / 1000))
    assert (far.low, far.high) == (pytest.approx(18 * 12.1 * 0.93 / 1000), pytest.approx(22 * 12.1 / 1000))
    to_met = standing.band(MET, "db9")
    assert to_met is not None
    assert math.isinf(to_met.high)


def test_electrodes_hang_on_the_earthing_conductor_of_a_tt_system_only() -> None:
    tt = network(supply=Supply(system="TT"), electrodes=(Electrode("rod"),))
    assert not Standing(tt, {"earthing"}).joined(MET, EARTH)
    assert not Standing(tt, {"rod"}).joined(MET, EARTH)
    tn = network(electrodes=(Electrode("rod"),))
    assert Standing(tn, {"earthing"}).joined(MET, EARTH)
    assert not Standing(tn, {"earthing", "rod"}).joined(MET, EARTH)


def test_an_unknown_place_is_named_with_those_there_are() -> None:
    with pytest.raises(EarthNetworkError, match=r"no place 'attic'.*gas"):
        Standing(network()).band(MET, "attic")
    assert not network().has("attic")
    assert network().has("f1")


# ---- any network: two-point bands against networkx ----

PIECES = st.lists(
    st.tuples(
        st.sampled_from("Mabcdefg"),
        st.sampled_from("Mabcdefg"),
        st.floats(0.01, 10.0),
        st.floats(1.0, 3.0),
    ),
    min_size=1,
    max_size=16,
)


@given(PIECES, st.sampled_from("Mabcdefg"), st.sampled_from("Mabcdefg"))
def test_bands_are_resistance_distances_at_both_ends(
    drawn: list[tuple[str, str, float, float]], a: str, b: str
) -> None:
    pieces = tuple(
        Piece(f"p{i}", x, y, LINK, f"p{i}", low, low * wide, frozenset({f"p{i}"}))
        for i, (x, y, low, wide) in enumerate(drawn)
    )
    net = EarthNetwork(tuple(Node(n, "part", n, n) for n in "Mabcdefg"), pieces)
    band = Standing(net).band(a, b)
    graph = nx.MultiGraph()
    graph.add_nodes_from("Mabcdefg")
    for x, y, low, wide in drawn:
        if x != y:
            graph.add_edge(x, y, low=low, high=low * wide)
    if not nx.has_path(graph, a, b):
        assert band is None
        return
    assert band is not None
    part = graph.subgraph(nx.node_connected_component(graph, a))
    for value, weight in ((band.low, "low"), (band.high, "high")):
        theirs = 0.0 if a == b else nx.resistance_distance(part, a, b, weight=weight, invert_weight=True)
        assert value == pytest.approx(theirs, rel=1e-9, abs=1e-12)
    for one in Standing(net).reach(a, b).breaks:
        rest = Standing(net, {one.of}).band(a, b)
        assert (one.band is None) is (rest is None)
        if one.band is not None and rest is not None:
            assert (one.band.low, one.band.high) == (pytest.approx(rest.low), pytest.approx(rest.high))
        assert 0.0 <= one.share <= 1.0 + 1e-9


def test_what_leaves_a_band_without_an_upper_edge_is_named() -> None:
    """Metal whose resistance nobody measured yet is no conductor of unknown size; the conductors may all be known."""
    links = (Link("frame", "gas", "c2@boiler"),)
    said = reach_words(Standing(network(links=links), {"gas"}).reach(MET, "gas"), Display(), listed=True)
    assert said[1] == "There is no upper edge: the resistance of frame is not known."
    conduit = Circuit("c9", "db1", cpc="conduit", length_m=10)
    said = reach_words(
        Standing(network(circuits=(*house().circuits, conduit))).reach("db1", "c9"), Display(), listed=True
    )
    assert said[1] == "There is no upper edge: size or length of a conductor on the way is not known."
