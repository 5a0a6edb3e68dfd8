"""What is no ring: places beyond its ends, lengths that are none, lists that do not match."""

from __future__ import annotations

import math

import pytest
import ring_stars as ring

from earthwright.physics.domain import OutOfDomain

CABLE = ring.Cable(7.41, 7.41, 12.1)  # 2.5/1.5 mm² at 20 degC


@pytest.mark.parametrize("bad", [-1.0, math.nextafter(84, 85), 84.1, math.nan, math.inf, True, "3"])
def test_places_off_the_ring_are_refused_by_name(bad: float) -> None:
    for call in (
        lambda: ring.whole(84, bad),
        lambda: ring.broken(84, bad, 50),
        lambda: ring.bridged(84, bad, 20, 60, 6),
    ):
        with pytest.raises(OutOfDomain, match=r"x_m: expected "):
            call()
    with pytest.raises(OutOfDomain, match="break_m"):
        ring.broken(84, 50, bad)
    with pytest.raises(OutOfDomain, match="y_m"):
        ring.on_bridge(84, bad, 20, 60, 6)


def test_a_place_beyond_the_end_is_told_where_the_end_is() -> None:
    with pytest.raises(OutOfDomain, match=r"x_m: expected 0 … 84 m, found 84\.1"):
        ring.whole(84, 84.1)
    with pytest.raises(OutOfDomain, match=r"y_m: expected 0 … 6 m, found 6\.1"):
        ring.on_bridge(84, 6.1, 20, 60, 6)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf, True, "3"])
def test_lengths_that_are_none_are_refused_by_name(bad: float) -> None:
    with pytest.raises(OutOfDomain, match="length_m: expected "):
        ring.whole(bad, 0)
    with pytest.raises(OutOfDomain, match="spur_m: expected "):
        ring.whole(84, 3, bad)
    with pytest.raises(OutOfDomain, match="via_m"):
        ring.bridged(84, 3, 20, 60, bad)
    with pytest.raises(OutOfDomain, match="via_m"):
        ring.linked(84, 3, bad, 50, 20, 10, True)
    with pytest.raises(OutOfDomain, match="cpc_mohm_per_m"):
        ring.Cable(7.41, 7.41, bad)


def test_length_zero_is_no_ring() -> None:
    assert ring.whole(0.2, 0.1) == (0.1, 0.1, 0)
    with pytest.raises(OutOfDomain, match="length_m: expected more than 0, found 0"):
        ring.whole(0, 0)


def test_bridge_needs_two_points_in_order() -> None:
    for to_m in (20, 19.9):
        with pytest.raises(OutOfDomain, match="from_m: expected less than to_m"):
            ring.bridged(84, 3, 20, to_m, 6)
    assert ring.bridged(84, 3, 20, 20.1, 6).arm1_m == 3


def test_lists_that_do_not_match() -> None:
    star = ring.whole(84, 10)
    with pytest.raises(OutOfDomain, match="sockets: expected as many for each conductor, found 1, 2, 1"):
        ring.readings(CABLE, [star], [star, star], [star])
    with pytest.raises(OutOfDomain, match="found 0, 0, 0"):
        ring.readings(CABLE, [], [], [])
    with pytest.raises(OutOfDomain, match="sockets: expected at least one, found none"):
        ring.whole_ring(CABLE, 84, [])
    with pytest.raises(OutOfDomain, match="star: expected lengths"):
        ring.readings(CABLE, [star], [star], [ring.Star(10, -74, 0)])
    with pytest.raises(OutOfDomain, match="spurs_m: expected none or 2, one a socket, found 1"):
        ring.whole_ring(CABLE, 84, [10, 20], [3])
    with pytest.raises(OutOfDomain, match="conductors: expected line, neutral or cpc, found earth"):
        ring.broken_ring(CABLE, 84, [10], 5, ["earth"])  # type: ignore[list-item]


@pytest.mark.parametrize("place", [0, 1, 2])
@pytest.mark.parametrize("bad", [math.nan, -0.1, math.nextafter(1e30, math.inf)])
def test_a_star_with_a_length_that_is_none(place: int, bad: float) -> None:
    good = ring.Star(10, 74, 0)
    lengths = list(good)
    lengths[place] = bad
    wrong = ring.Star(*lengths)
    for call in (
        lambda: ring.end_to_end_ohm(wrong, 7.41),
        lambda: ring.crossed_ohm(wrong, good, 7.41, 12.1),
        lambda: ring.crossed_ohm(good, wrong, 7.41, 12.1),
        lambda: ring.uncrossed_ohm(wrong, good, 7.41, 12.1),
        lambda: ring.uncrossed_ohm(good, wrong, 7.41, 12.1),
        lambda: ring.in_service_ohm(wrong, good, 7.41, 12.1),
        lambda: ring.in_service_ohm(good, wrong, 7.41, 12.1),
    ):
        with pytest.raises(OutOfDomain, match="star: expected lengths of 0 … "):
            call()
