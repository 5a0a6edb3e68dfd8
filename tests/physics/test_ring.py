"""Ring sums against the trade's rules, scenarios 08 and 09, and nodal analysis of the whole wiring."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest
import ring_stars as ring
from hypothesis import given
from hypothesis import strategies as st

from earthwright.physics.network import Edge, Network, two_point

if TYPE_CHECKING:
    from .conftest import Oracle

CABLE = ring.Cable(7.41, 7.41, 12.1)  # 2.5/1.5 mm² at 20 degC
PLACES = (2, 12, 20, 30, 40, 50, 60, 72, 82)  # sockets of scenarios 08 and 09
Branch = tuple[str, str, float]
HALF_DIGIT = 0.00501  # half of 0.01 Ω; one expected value lies on the half, at 0.735


# --- the whole wiring as a graph, written without the formulas under test -----------------------------------------


def wiring(
    segments: list[tuple[str, str, float, frozenset[str]]], cable: ring.Cable = CABLE, joined: str = "crossed"
) -> list[Branch]:
    """Branches of three conductors from cable segments (from, to, metres, conductors cut), legs named leg1 and leg2.

    joined: crossed joins leg 1 of the line to leg 2 of the others and back, uncrossed leg 1 to leg 1, apart nothing.
    """
    r = {"line": cable.line_mohm_per_m, "neutral": cable.neutral_mohm_per_m, "cpc": cable.cpc_mohm_per_m}
    found = [
        (f"{name} {u}", f"{name} {v}", metres * r[name] / 1000)
        for u, v, metres, cut in segments
        for name in r
        if name not in cut
    ]
    ends = {"crossed": ("leg2", "leg1"), "uncrossed": ("leg1", "leg2")}.get(joined)
    for own, other in zip(("leg1", "leg2"), ends or (), strict=False):
        found.append((f"line {own}", f"far {other}", 1e-12))
    return found


def between(branches: list[Branch], second: str, socket: str, nodal: Oracle) -> float:
    """Line to a second conductor at a socket, by dense algebra; the ``far`` ends are those of that conductor."""
    mine = [
        (u.replace("far", second), v.replace("far", second), r)
        for u, v, r in branches
        if u.split()[0] in ("line", second)
    ]
    return solved(mine, f"line {socket}", f"{second} {socket}", nodal)


def solved(branches: list[Branch], a: str, b: str, nodal: Oracle) -> float:
    """Two-point resistance; open when the ends are not joined; joints of 1e-12 Ω are merged for the dense oracle."""
    merged = {u: v for u, v, r in branches if r == 1e-12}
    clean = [(merged.get(u, u), merged.get(v, v), r) for u, v, r in branches if r != 1e-12]
    a, b = merged.get(a, a), merged.get(b, b)
    joined = {a}
    while grown := {n for u, v, _ in clean if joined & {u, v} for n in (u, v)} - joined:
        joined |= grown
    if b not in joined:
        return math.inf
    return nodal([branch for branch in clean if branch[0] in joined], a, b)[0] if a != b else 0.0


def chain(
    length: float, sockets: list[float], spurs: list[float], extra: tuple[float, ...] = ()
) -> list[tuple[str, str, float, frozenset[str]]]:
    """Segments of a ring from leg 1 through sockets and further points to leg 2, with spurs to nodes s0, s1, …"""
    points = sorted({0.0, length, *sockets, *extra})
    name = {0.0: "leg1", length: "leg2"}
    names = [name.get(p, f"at {p!r}") for p in points]
    found = [(names[i], names[i + 1], points[i + 1] - points[i], frozenset[str]()) for i in range(len(points) - 1)]
    found += [
        (names[points.index(x)], f"s{place}", spurs[place] or 1e-3, frozenset[str]()) for place, x in enumerate(sockets)
    ]
    return found


@st.composite
def rings(draw: st.DrawFn) -> tuple[float, list[float], list[float], ring.Cable]:
    """Length, sockets, spurs, cable; on a grid of 0.1 m and never of no length, so that the oracle keeps its digits."""
    length = draw(st.integers(200, 1200))
    places = draw(st.lists(st.integers(1, length - 1), min_size=1, max_size=6, unique=True))
    spurs = [draw(st.integers(1, 100)) / 10 for _ in places]
    per_metre = st.floats(1, 20)
    return length / 10, [p / 10 for p in places], spurs, ring.Cable(*(draw(per_metre) for _ in range(3)))


def part(length: float, share: float) -> float:
    """A place on the grid of 0.1 m, a share of the way along."""
    return round(length * share, 1)


def sockets_agree(found: ring.RingReadings, graph: list[Branch], nodal: Oracle) -> None:
    """Every L-N and L-cpc reading of a model against dense algebra on the graph."""
    for place in range(len(found.ln_ohm)):
        assert found.ln_ohm[place] == pytest.approx(between(graph, "neutral", f"s{place}", nodal), rel=1e-6)
        assert found.le_ohm[place] == pytest.approx(between(graph, "cpc", f"s{place}", nodal), rel=1e-6)


@given(rings(), st.booleans())
def test_whole_ring_is_that_of_nodal_analysis(
    nodal: Oracle, invented: tuple[float, list[float], list[float], ring.Cable], crossed: bool
) -> None:
    length, sockets, spurs, cable = invented
    graph = wiring(chain(length, sockets, spurs), cable, "crossed" if crossed else "uncrossed")
    found = ring.whole_ring(cable, length, sockets, spurs, crossed)
    sockets_agree(found, graph, nodal)
    assert found.r1_ohm == pytest.approx(length * cable.line_mohm_per_m / 1000)
    assert found.rn_ohm == pytest.approx(length * cable.neutral_mohm_per_m / 1000)
    assert found.r2_ohm == pytest.approx(length * cable.cpc_mohm_per_m / 1000)


@given(
    rings(),
    st.sets(st.sampled_from(["line", "neutral", "cpc"]), min_size=1),
    st.floats(0.01, 0.99),
    st.booleans(),
)
def test_broken_ring_is_that_of_nodal_analysis(
    nodal: Oracle,
    invented: tuple[float, list[float], list[float], ring.Cable],
    cut: set[ring.Conductor],
    where: float,
    crossed: bool,
) -> None:
    length, sockets, spurs, cable = invented
    break_m = max((x for x in sockets if x <= where * length), default=0.0)
    segments = chain(length, sockets, spurs)
    # the cut lies in the first segment after the socket at or before the break
    start = "leg1" if break_m == 0.0 else f"at {break_m!r}"
    segments = [
        (u, v, m, frozenset(cut)) if u == start and not v.startswith("s") else (u, v, m, none)
        for u, v, m, none in segments
    ]
    graph = wiring(segments, cable, "crossed" if crossed else "uncrossed")
    found = ring.broken_ring(cable, length, sockets, break_m, sorted(cut), spurs, crossed)
    sockets_agree(found, graph, nodal)
    for name, value in (("line", found.r1_ohm), ("neutral", found.rn_ohm), ("cpc", found.r2_ohm)):
        assert (value == math.inf) == (name in cut)


@given(rings(), st.floats(0, 0.49), st.floats(0.51, 1), st.floats(0.5, 30), st.booleans())
def test_bridged_ring_is_that_of_nodal_analysis(
    nodal: Oracle,
    invented: tuple[float, list[float], list[float], ring.Cable],
    low: float,
    high: float,
    via: float,
    crossed: bool,
) -> None:
    length, sockets, spurs, cable = invented
    ends = [part(length, low), part(length, high)]
    segments = chain(length, sockets, spurs, tuple(ends))
    name = {0.0: "leg1", length: "leg2"}
    segments.append((*(name.get(p, f"at {p!r}") for p in ends), via, frozenset()))  # type: ignore[arg-type]
    graph = wiring(segments, cable, "crossed" if crossed else "uncrossed")
    found = ring.bridged_ring(cable, length, sockets, ends[0], ends[1], via, spurs, crossed)
    sockets_agree(found, graph, nodal)
    apart = wiring(segments, cable, "apart")
    assert found.r1_ohm == pytest.approx(solved(apart, "line leg1", "line leg2", nodal), rel=1e-6)
    assert found.r2_ohm == pytest.approx(solved(apart, "cpc leg1", "cpc leg2", nodal), rel=1e-6)


@given(rings(), st.floats(0.05, 0.45), st.floats(0.55, 0.95), st.floats(1, 30), st.floats(0.05, 0.95))
def test_socket_on_the_bridge_is_that_of_nodal_analysis(
    nodal: Oracle,
    invented: tuple[float, list[float], list[float], ring.Cable],
    low: float,
    high: float,
    via: float,
    along: float,
) -> None:
    length, _, _, cable = invented
    ends = (part(length, low), part(length, high))
    segments = chain(length, [], [], ends)
    segments += [
        (f"at {ends[0]!r}", "mid", via * along, frozenset()),
        ("mid", f"at {ends[1]!r}", via * (1 - along), frozenset()),
        ("mid", "s0", 0.7, frozenset()),
    ]
    star = ring.on_bridge(length, via * along, *ends, via, 0.7)
    found = ring.crossed_ohm(star, star, cable.line_mohm_per_m, cable.cpc_mohm_per_m)
    assert found == pytest.approx(between(wiring(segments, cable), "cpc", "s0", nodal), rel=1e-6)


@given(rings(), st.floats(0.05, 0.95), st.floats(0.05, 0.95), st.floats(0.05, 0.95), st.booleans())
def test_socket_of_a_linked_ring_is_that_of_nodal_analysis(
    nodal: Oracle,
    invented: tuple[float, list[float], list[float], ring.Cable],
    at: float,
    other_at: float,
    y: float,
    joined: bool,
) -> None:
    length, _, _, cable = invented
    other, link = 50.0, part(length, at)
    meets, socket = part(other, other_at), part(other, y)
    name = {0.0: "o legs" if joined else "o leg1", other: "o legs" if joined else "o leg2", socket: "s0"}
    points = sorted({0.0, meets, socket, other})
    names = [name.get(p, f"o {p!r}") for p in points]
    segments = chain(length, [], [], (link,))
    segments += [(names[i], names[i + 1], points[i + 1] - points[i], frozenset[str]()) for i in range(len(points) - 1)]
    segments.append((f"at {link!r}", names[points.index(meets)], 3.0, frozenset()))
    star = ring.linked(length, link, 3.0, other, meets, socket, joined)
    found = ring.crossed_ohm(star, star, cable.line_mohm_per_m, cable.cpc_mohm_per_m)
    assert found == pytest.approx(between(wiring(segments, cable), "cpc", "s0", nodal), rel=1e-6)


def test_swapped_legs_are_open_at_both_rings(nodal: Oracle) -> None:
    found = ring.swapped_legs(CABLE, 84, PLACES)
    assert (found.r1_ohm, found.rn_ohm, found.r2_ohm) == (math.inf, math.inf, math.inf)
    assert set(found.ln_ohm + found.le_ohm) == {math.inf}
    assert found.in_service_ohm == ring.whole_ring(CABLE, 84, PLACES).in_service_ohm
    # two rings; what was taken for one pair of legs is leg 1 of the one and leg 2 of the other
    segments = [("leg1", "s0", 30.0, frozenset[str]()), ("s0", "end A", 54.0, frozenset[str]())]
    segments += [("end B", "s1", 20.0, frozenset[str]()), ("s1", "leg2", 44.0, frozenset[str]())]
    graph = wiring(segments)
    assert [between(graph, "neutral", s, nodal) for s in ("s0", "s1")] == [math.inf, math.inf]
    assert solved(wiring(segments, joined="apart"), "line leg1", "line leg2", nodal) == math.inf


# --- the trade's rules and the scenarios ----------------------------------------------------------------------------


def test_quarter_rule_as_published() -> None:
    assert ring.quarter_ohm(0.4, 0.4) == pytest.approx(0.2)


def test_equal_conductors_read_a_quarter_at_every_socket() -> None:
    found = ring.whole_ring(ring.Cable(10, 10, 10), 40, [0, 7, 20, 33, 40])
    assert found.ln_ohm == pytest.approx([ring.quarter_ohm(0.4, 0.4)] * 5)
    assert found.le_ohm == found.ln_ohm


def test_healthy_84_m_ring_dips_a_little_near_the_board() -> None:
    found = ring.whole_ring(CABLE, 84, [0, 42, *PLACES])
    assert found.ln_ohm == pytest.approx([0.31] * 11, abs=0.005)
    assert min(found.le_ohm) == pytest.approx(0.388, abs=0.002)
    assert max(found.le_ohm) == pytest.approx(0.410, abs=0.0005)
    assert max(found.le_ohm) == pytest.approx(ring.quarter_ohm(found.r1_ohm, found.r2_ohm))


def test_spur_adds_its_own_length_twice() -> None:
    without, with_spur = ring.whole_ring(CABLE, 84, [30]), ring.whole_ring(CABLE, 84, [30], [5])
    assert with_spur.ln_ohm[0] - without.ln_ohm[0] == pytest.approx(5 * 2 * 0.00741)
    assert with_spur.in_service_ohm[0] - without.in_service_ohm[0] == pytest.approx(5 * (0.00741 + 0.0121))
    assert with_spur.r1_ohm == without.r1_ohm


def test_legs_not_crossed_over_rise_to_the_middle() -> None:
    found = ring.whole_ring(CABLE, 84, [0, 21, 42, 63, 84], crossed=False)
    assert found.ln_ohm[0] == 0
    assert found.ln_ohm == pytest.approx(found.ln_ohm[::-1])
    assert found.ln_ohm[2] == pytest.approx(ring.quarter_ohm(found.r1_ohm, found.rn_ohm))
    assert found.ln_ohm[0] < found.ln_ohm[1] < found.ln_ohm[2]


def test_scenario_08_ring_with_a_broken_cpc() -> None:
    found = ring.broken_ring(CABLE, 84, PLACES, 50, ["cpc"])
    assert (found.r1_ohm, found.rn_ohm) == pytest.approx((0.62, 0.62), abs=0.005)
    assert found.r2_ohm == math.inf
    assert found.ln_ohm == pytest.approx([0.31] * 9, abs=0.005)
    printed = [0.63, 0.68, 0.72, 0.76, 0.81, 0.86, 0.74, 0.68, 0.63]
    assert found.le_ohm == pytest.approx(printed, abs=HALF_DIGIT)
    # still earthed from one side: 0.150 + 0.605, and Zs passes by a hair
    assert found.in_service_ohm[5] == pytest.approx(0.150 + 0.605, abs=0.001)
    assert max(found.in_service_ohm) == found.in_service_ohm[5]
    assert 0.30 + max(found.in_service_ohm) == pytest.approx(1.05, abs=0.006)
    # whole, the same step reads 0.39 to 0.41 everywhere
    assert ring.whole_ring(CABLE, 84, PLACES).le_ohm == pytest.approx([0.40] * 9, abs=0.0125)


def test_scenario_09_ring_within_a_ring() -> None:
    found = ring.bridged_ring(CABLE, 84, PLACES, 20, 60, 6)
    assert (found.r1_ohm, found.r2_ohm) == pytest.approx((0.36, 0.60), abs=HALF_DIGIT)
    assert found.r1_ohm / 0.00741 == pytest.approx(49.2, abs=0.05)
    printed_ln = [0.18, 0.18, 0.18, 0.28, 0.31, 0.28, 0.18, 0.18, 0.18]
    printed_le = [0.23, 0.24, 0.24, 0.37, 0.41, 0.37, 0.24, 0.24, 0.23]
    assert found.ln_ohm == pytest.approx(printed_ln, abs=HALF_DIGIT)
    assert found.le_ohm == pytest.approx(printed_le, abs=HALF_DIGIT)
    # what a sample misses: ratio and quarter rule still hold
    assert found.r2_ohm / found.r1_ohm == pytest.approx(12.1 / 7.41)
    assert found.ln_ohm[0] == pytest.approx(ring.quarter_ohm(found.r1_ohm, found.rn_ohm))


def test_defaults_are_no_spur_and_legs_crossed() -> None:
    star = ring.whole(84, 10)
    assert star == (10, 74, 0)
    assert ring.bridged(84, 10, 20, 60, 6).stem_m == 0
    assert ring.broken(84, 10, 50).stem_m == 0
    assert ring.readings(CABLE, [star], [star], [star]) == ring.whole_ring(CABLE, 84, [10])


def test_break_is_between_its_neighbours() -> None:
    at, after = ring.broken(84, 50, 50), ring.broken(84, math.nextafter(50, 51), 50)
    assert at == (50, math.inf, 0)
    assert after.arm1_m == math.inf
    assert after.arm2_m == pytest.approx(34)
    assert ring.broken(84, 30, 50, 4).stem_m == 4


def test_a_cut_cable_opens_every_reading() -> None:
    found = ring.broken_ring(CABLE, 84, PLACES, 50, ["line", "neutral", "cpc"])
    assert set(found.ln_ohm + found.le_ohm) == {math.inf}
    assert all(map(math.isfinite, found.in_service_ohm))


def test_a_bridge_of_no_length_shorts_its_part() -> None:
    star = ring.bridged(84, 40, 20, 60, 0)
    assert star == (20, 24, 10)
    assert ring.bridged(84, 10, 20, 60, 0) == (10, 34, 0)
    assert ring.on_bridge(84, 0, 20, 60, 0) == (20, 24, 0)


def test_bridge_meets_itself_at_its_ends() -> None:
    inside = ring.bridged(84, math.nextafter(20, 21), 20, 60, 6)
    assert inside == pytest.approx(ring.bridged(84, 20, 20, 60, 6))
    assert ring.on_bridge(84, 0, 20, 60, 6) == pytest.approx(ring.bridged(84, 20, 20, 60, 6))
    assert ring.on_bridge(84, 6, 20, 60, 6) == pytest.approx(ring.bridged(84, 60, 20, 60, 6))


def test_in_service_is_the_network_with_both_legs_at_the_board() -> None:
    edges = [Edge("a", "board", "s", 0.3), Edge("b", "board", "s", 0.5)]
    cpc = [Edge("c", "bar", "s'", 0.4), Edge("d", "bar", "s'", 0.9)]
    line = two_point(Network(edges), "board", "s").r_ohm + two_point(Network(cpc), "bar", "s'").r_ohm
    first, second = ring.Star(300, 500, 0), ring.Star(400, 900, 0)
    assert ring.in_service_ohm(first, second, 1.0, 1.0) == pytest.approx(line)
    assert ring.in_service_ohm(ring.Star(0, 0, 0), ring.Star(0, 5, 0), 1.0, 1.0) == 0.0
