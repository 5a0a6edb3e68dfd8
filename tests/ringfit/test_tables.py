"""Tables of single readings against the display model they are made from, and the bands of a ring."""

from __future__ import annotations

import math

import pytest

from earthwright.base.display import Display
from earthwright.evidence.bond import Model, Observed, noise
from earthwright.evidence.ring.bands import expected_bands, implied_length, spread_of
from earthwright.evidence.ring.model import Priors, RingTest, SocketRead
from earthwright.evidence.ring.tables import FREE, table

DISPLAY = Display()
MODEL = Model()


def seen(value: float, offset: tuple[float, float] = (0.0, 0.0)) -> Observed:
    return Observed("ring", value, DISPLAY, offset, True, True)


@pytest.mark.parametrize("true_ohm", [0.28, 0.295, 0.31, 0.32, 0.335])
@pytest.mark.parametrize("offset", [(0.0, 0.0), (0.02, 0.06)])
def test_a_table_is_the_display_model(true_ohm: float, offset: tuple[float, float]) -> None:
    observed = seen(0.31, offset)
    t = table(observed, MODEL, 0.0, 0.0)
    base, scale = noise(observed, MODEL)
    expected = base + scale * DISPLAY.chance_with_offset(0.31, true_ohm - sum(offset) / 2.0, offset)
    # One cell is 2.5 mΩ wide, over which the chance changes by at most a tenth of its peak.
    assert t.at(true_ohm - sum(offset) / 2.0) * t.peak == pytest.approx(expected, abs=0.12 * t.peak)


def test_contact_moves_the_true_value_down() -> None:
    plain, contact = table(seen(0.31), MODEL, 0.0, 0.0), table(seen(0.31), MODEL, 0.01, 0.0)
    assert contact.at(0.275) > plain.at(0.275)
    assert contact.at(0.345) < plain.at(0.345) + 1e-12


def test_a_place_known_badly_widens_and_keeps_the_scale() -> None:
    plain, wide = table(seen(0.31), MODEL, 0.0, 0.0), table(seen(0.31), MODEL, 0.0, 0.1)
    assert wide.peak == plain.peak
    assert wide.at(0.40) > 100 * plain.at(0.40)
    assert max(wide.values) < max(plain.values)


def test_outside_its_window_only_a_misreading_remains() -> None:
    t = table(seen(0.31), MODEL, 0.0, 0.0)
    assert t.at(0.10) == t.at(5.0) == t.floor
    assert t.floor * t.peak == pytest.approx(MODEL.gross / MODEL.gross_digits)
    assert t.at(math.inf) == t.floor


def test_over_range_speaks_for_open_and_allows_for_a_lead_that_was_off() -> None:
    t = table(Observed("ring", math.inf, DISPLAY, (0.0, 0.0), False, False), MODEL, 0.0, 0.0)
    assert t.at(math.inf) == 1.0
    assert t.at(0.5) * t.peak == pytest.approx(MODEL.lead_off, abs=1e-3)


def test_no_reading_allows_everything() -> None:
    assert FREE.at(0.0) == FREE.at(3.0) == FREE.at(math.inf) == 1.0


def test_the_bands_of_a_whole_ring_dip_towards_the_board() -> None:
    """84 m of 2.5/1.5 mm²: (r1 + rn)/4 = 0.31 everywhere; line to cpc 0.388 near the board to 0.410 in the middle."""
    fine = Display(3.0, 20.0, 0.001, 9.999)

    def exact(value: float) -> Observed:
        return Observed("ring", value, fine)

    # 0.62 Ω is 87 m of real copper
    sockets = tuple(SocketRead(f"{x}", float(x), exact(0.31), exact(0.40)) for x in (0, 43, 87))
    test = RingTest(7.41, 7.41, 12.1, exact(0.62), exact(0.62), exact(1.02), sockets)
    ln, le = expected_bands(test, Priors())
    middles = [(b.low + b.high) / 2.0 - 0.005 for b in (*ln, *le) if b is not None]  # half of the contact allowed for
    assert middles[:3] == pytest.approx([0.31, 0.31, 0.31], abs=0.0005)
    assert middles[3:] == pytest.approx([0.386, 0.41, 0.386], abs=0.001)


def test_without_ends_the_estimate_of_the_length_gives_the_bands() -> None:
    sockets = (SocketRead("1", 40.0, None, None),)
    with_length = RingTest(7.41, 7.41, 12.1, None, None, None, sockets, 84.0, 4.0)
    (band,) = expected_bands(with_length, Priors())[0]
    assert band is not None
    assert band.holds(0.31)
    assert expected_bands(RingTest(7.41, 7.41, 12.1, None, None, None, sockets), Priors()) == ((None,), (None,))


def test_the_length_that_the_ends_stand_for() -> None:
    """0.62 Ω over 7.41 mΩ/m is 84 m; a reading 3 % and 2½ digits off either way, cable up to 7 % better than the maximum."""
    test = RingTest(7.41, 7.41, 12.1, seen(0.62), seen(0.62), None)
    band = implied_length(test, Priors())
    assert band is not None
    assert band.low == pytest.approx((0.62 - 0.025) / 1.03 / 0.00741, abs=0.1)
    assert band.high == pytest.approx((0.62 + 0.025) / 0.97 / 0.00741 / 0.93, abs=0.1)


def test_ends_that_contradict_each_other_leave_the_length_wide() -> None:
    band = implied_length(RingTest(7.41, 7.41, 12.1, seen(0.62), seen(1.20), None), Priors())
    assert band is not None
    assert band.low < 84.0
    assert band.high > 150.0


def test_the_middle_of_a_weight_over_gaps() -> None:
    assert spread_of([0.0, 10.0, 20.0], [1.0, 1.0], 0.9) == pytest.approx((1.0, 19.0))
    assert spread_of([0.0, 10.0, 20.0], [0.0, 2.0], 0.5) == pytest.approx((12.5, 17.5))
