"""The picture of a ring's profile: everything in it is also said in words, and no sign needs colour."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

import pytest
from attrs import evolve

from earthwright.base.quantity import Band
from earthwright.outcomes.circuits import RingJudged, SocketOnRing
from earthwright.paper.ring import BOTTOM, LEFT, RIGHT, TOP, ring_profile, text_of_profile
from earthwright.site.installation import Circuit

SVG = "{http://www.w3.org/2000/svg}"
CIRCUIT = Circuit("r", "db1", name="sockets <upstairs> & hall", kind="ring")
LN, LE = Band(0.28, 0.34, "Ω"), Band(0.36, 0.44, "Ω")


def socket(point: str, place: float | None, ln: float | None = 0.31, le: float | None = 0.40) -> SocketOnRing:
    return SocketOnRing(point, place, ln, LN, le, LE)


def judged(*sockets: SocketOnRing, verdict: str = "proved", named: str = "whole") -> RingJudged:
    return RingJudged(verdict, named, None, (), (), Band(78.0, 96.0, "m"), sockets, "")


def drawn(ring: RingJudged) -> ET.Element:
    return ET.fromstring(ring_profile(ring, CIRCUIT))


def marks(root: ET.Element) -> tuple[list[ET.Element], list[ET.Element], list[ET.Element]]:
    """Discs (line to neutral), squares (line to cpc) and rings (outside) below the legend."""
    circles = [e for e in root.iter(f"{SVG}circle") if float(e.attrib["cy"]) >= TOP - 1]
    squares = [e for e in root.iter(f"{SVG}rect") if e.attrib.get("width") == "8" and float(e.attrib["y"]) >= TOP - 5]
    return [c for c in circles if c.attrib["r"] == "4"], squares, [c for c in circles if c.attrib["r"] == "8"]


def test_one_disc_and_one_square_a_socket_and_no_ring_when_all_lie_inside() -> None:
    discs, squares, rings = marks(drawn(judged(socket("a", 10.0), socket("b", 40.0), socket("c", 70.0))))
    assert (len(discs), len(squares), len(rings)) == (3, 3, 0)
    xs = [float(d.attrib["cx"]) for d in discs]
    assert xs == sorted(xs)
    assert xs[1] - xs[0] == pytest.approx(xs[2] - xs[1], abs=0.02)


@pytest.mark.parametrize(("le", "count"), [(0.359, 1), (0.36, 0), (0.44, 0), (0.441, 1)])
def test_a_reading_outside_its_band_is_ringed_and_its_digits_stand_beside_it(le: float, count: int) -> None:
    root = drawn(judged(socket("a", 10.0, le=le)))
    assert len(marks(root)[2]) == count
    texts = [e.text for e in root.iter(f"{SVG}text")]
    assert (f"{le:.2f}" in texts) is bool(count)


def test_higher_readings_stand_higher_and_nothing_leaves_the_page() -> None:
    ring = judged(socket("a", 0.0, 0.31, 0.63), socket("b", 82.0, 0.05, 30.0), verdict="disproved", named="bridge")
    discs, squares, _ = marks(drawn(ring))
    assert float(squares[1].attrib["y"]) < float(squares[0].attrib["y"])
    for e in (*discs, *squares):
        x = float(e.attrib.get("cx", e.attrib.get("x", "0")))
        y = float(e.attrib.get("cy", e.attrib.get("y", "0")))
        assert LEFT - 5 <= x <= RIGHT + 5
        assert TOP - 5 <= y <= BOTTOM + 5


def test_over_range_is_an_arrow_at_the_top_and_no_number() -> None:
    ring = judged(socket("a", 10.0, math.inf, math.inf), verdict="not shown", named="")
    root = drawn(ring)
    assert "over-range" in text_of_profile(ring, CIRCUIT)
    texts = [e.text for e in root.iter(f"{SVG}text")]
    assert "arrow: over-range" in texts
    assert "inf" not in texts
    discs, squares, _ = marks(root)
    assert float(discs[0].attrib["cx"]) + 8 < float(squares[0].attrib["x"]) + 4


def test_the_words_hold_every_reading_and_band() -> None:
    text = text_of_profile(judged(socket("kitchen", 10.0, 0.31, 0.63)), CIRCUIT)
    assert "kitchen: line to neutral 0.31 Ω, inside 0.28 to 0.34 Ω; line to cpc 0.63 Ω, outside 0.36 to 0.44 Ω." in text


def test_the_place_of_a_break_is_drawn_and_written() -> None:
    ring = evolve(
        judged(socket("a", 10.0), socket("b", 80.0), verdict="disproved", named="break in cpc"),
        where_m=Band(49.0, 61.0, "m"),
    )
    root = drawn(ring)
    assert "49 to 61 m" in [e.text for e in root.iter(f"{SVG}text")]
    assert sum(1 for e in root.iter(f"{SVG}rect") if e.attrib.get("opacity")) == 1


def test_a_bridge_has_two_strips_and_an_arch() -> None:
    ring = evolve(
        judged(socket("a", 10.0), socket("b", 80.0), verdict="disproved", named="bridge"),
        where_m=Band(17.0, 63.0, "m"),
        ends_m=(Band(17.0, 26.0, "m"), Band(55.0, 63.0, "m")),
        via_m=Band(1.0, 10.0, "m"),
    )
    root = drawn(ring)
    assert sum(1 for e in root.iter(f"{SVG}rect") if e.attrib.get("opacity")) == 2
    assert "bridge, 17–26 to 55–63 m, by 1 to 10 m" in [e.text for e in root.iter(f"{SVG}text")]


def test_without_places_the_sockets_stand_in_their_order_and_it_says_so() -> None:
    root = drawn(judged(socket("a", None), socket("b", None)))
    assert any("places not entered" in (e.text or "") for e in root.iter(f"{SVG}text"))


def test_without_sockets_the_picture_says_that_no_profile_was_read() -> None:
    root = drawn(judged(verdict="not shown", named=""))
    assert "No profile was read." in [e.text for e in root.iter(f"{SVG}text")]


def test_names_are_escaped_cut_and_kept_apart() -> None:
    ring = judged(*(socket(f"socket number {i}", 2.0 * i) for i in range(20)))
    root = drawn(ring)
    turned = [e for e in root.iter(f"{SVG}text") if "rotate" in e.attrib.get("transform", "")]
    assert 0 < len(turned) < 20
    assert all(len(e.text or "") <= 10 for e in turned)
    assert root.find(f"{SVG}title") is not None


def test_it_brings_no_style_of_its_own_and_says_what_it_is() -> None:
    text = ring_profile(judged(socket("a", 10.0)), CIRCUIT)
    assert "style" not in text
    assert 'role="img"' in text
    assert "<title" in text
    assert "<desc" in text


@pytest.mark.parametrize("verdict", ["proved", "disproved", "not shown"])
def test_the_verdict_is_a_word_with_a_sign(verdict: str) -> None:
    root = drawn(judged(socket("a", 10.0), verdict=verdict, named=""))
    sign = {"proved": "=", "disproved": "||", "not shown": "?"}[verdict]
    assert f"{sign} {verdict}" in [e.text for e in root.iter(f"{SVG}text")]
