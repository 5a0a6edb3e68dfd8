"""Rings weighed: figures of the scenarios, invented rings, and the sums against the stars of ring_stars."""

from __future__ import annotations

import importlib.util
import math
import sys
from collections import Counter
from pathlib import Path
from types import ModuleType

import pytest
import ring_stars as ring
from attrs import evolve

from earthwright.base.display import Display
from earthwright.evidence.bond import Model, Observed
from earthwright.evidence.ring import Priors, RingFit, RingTest, SocketRead, fit_ring
from earthwright.evidence.ring.bridge import _Bridge, seen_at
from earthwright.evidence.ring.faults import SOUND
from earthwright.evidence.ring.fit import _decide
from earthwright.evidence.ring.ground import ground
from earthwright.evidence.ring.model import UNSEEN
from earthwright.evidence.ring.series import crossing, weigh

PLACES = (2.0, 12.0, 20.0, 30.0, 40.0, 50.0, 60.0, 72.0, 82.0)
CABLE = ring.Cable(7.41, 7.41, 12.1)
INF = math.inf


def _study() -> ModuleType:
    path = Path(__file__).parents[2] / "benchmarks" / "ring_study.py"
    spec = importlib.util.spec_from_file_location("ring_study", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["ring_study"] = module
    spec.loader.exec_module(module)
    return module


STUDY = _study()


def seen(value: float | None, checked: bool = True) -> Observed | None:
    return None if value is None else Observed("ring", value, Display(), (0.0, 0.0), checked, checked)


def weighed(
    ends: tuple[float | None, float | None, float | None],
    ln: list[float | None],
    le: list[float | None],
    places: tuple[float | None, ...] = PLACES,
    length: tuple[float, float] | None = (85.0, 5.0),
    counted: bool = True,
    checked: bool = True,
) -> RingFit:
    sockets = tuple(
        SocketRead(f"{i + 1}", place, seen(a, checked), seen(b, checked))
        for i, (place, a, b) in enumerate(zip(places, ln, le, strict=True))
    )
    r1, rn, r2 = (seen(x, checked) for x in ends)
    length_m, tol = length or (None, None)
    return fit_ring(RingTest(7.41, 7.41, 12.1, r1, rn, r2, sockets, length_m, tol, counted=counted))


def shown(readings: ring.RingReadings) -> tuple[tuple[float, float, float], list[float | None], list[float | None]]:
    """A ring's readings as a display of 0.01 Ω without error shows them."""
    ends = tuple(round(x, 2) for x in (readings.r1_ohm, readings.rn_ohm, readings.r2_ohm))
    return (
        (ends[0], ends[1], ends[2]),
        [round(x, 2) for x in readings.ln_ohm],
        [round(x, 2) for x in readings.le_ohm],
    )


# ---- the figures of the trade: an 84 m ring of 2.5/1.5 mm² ----


def test_a_whole_ring_is_proved_and_stands_for_its_length() -> None:
    fit = weighed(*shown(ring.whole_ring(CABLE, 84.0, PLACES)))
    assert (fit.verdict, fit.named, fit.rivals) == ("proved", "whole", ("whole",))
    assert fit.implied_m is not None
    assert fit.implied_m.holds(84.0)
    assert fit.spurs == ()
    for band, value in zip(fit.le_expected, (0.388, 0.41), strict=False):
        assert band is not None
        assert band.holds(value)


def test_no_ring_is_proved_while_its_leads_were_not_shorted_afterwards() -> None:
    fit = weighed(*shown(ring.whole_ring(CABLE, 84.0, PLACES)), checked=False)
    assert (fit.verdict, fit.named, fit.why) == ("not shown", "", "the leads were not shorted afterwards")
    assert min(score for _, score in fit.scores) == pytest.approx(math.log10(0.015), abs=0.001)


def test_a_bridge_is_a_question_about_the_leads_too_and_a_break_is_not() -> None:
    high = [0.18, 0.18, 0.18, 0.28, 0.31, 0.28, 0.18, 0.18, 0.18]
    fit = weighed((0.36, 0.36, 0.60), high, [x + 0.06 for x in high], length=(90.0, 5.0), checked=False)
    assert fit.verdict == "not shown"
    broken = weighed(
        (0.62, 0.62, INF), [0.31] * 9, [0.63, 0.68, 0.72, 0.76, 0.81, 0.86, 0.74, 0.68, 0.63], checked=False
    )
    assert (broken.verdict, broken.named) == ("disproved", "break in cpc")


def test_the_broken_cpc_of_the_trade() -> None:
    fit = weighed(
        (0.62, 0.62, INF), [0.31] * 9, [0.63, 0.68, 0.72, 0.76, 0.81, 0.86, 0.74, 0.68, 0.63], length=(85.0, 5.0)
    )
    assert (fit.verdict, fit.named) == ("disproved", "break in cpc")
    assert fit.between == ("6", "7")
    assert fit.where_m is not None
    assert fit.where_m.holds(50.0)
    assert fit.where_m.holds(60.0)
    assert fit.where_m.high - fit.where_m.low < 16.0


def test_the_bridge_of_the_trade() -> None:
    fit = weighed(
        (0.36, 0.36, 0.60),
        [0.18, 0.18, 0.18, 0.28, 0.31, 0.28, 0.18, 0.18, 0.18],
        [0.23, 0.24, 0.24, 0.37, 0.41, 0.37, 0.24, 0.24, 0.23],
        length=(90.0, 5.0),
    )
    assert (fit.verdict, fit.named) == ("disproved", "bridge")
    assert fit.between == ("3", "7")
    start, end = fit.ends_m
    assert start.holds(20.0)
    assert end.holds(60.0)
    assert fit.via_m is not None
    assert fit.via_m.holds(6.0)


@pytest.mark.parametrize("conductor", ["line", "neutral", "cpc"])
@pytest.mark.parametrize("break_m", [6.0, 45.0, 79.0])
def test_every_break_is_named_and_placed(conductor: ring.Conductor, break_m: float) -> None:
    fit = weighed(*shown(ring.broken_ring(CABLE, 84.0, PLACES, break_m, (conductor,))))
    assert (fit.verdict, fit.named) == ("disproved", f"break in {conductor}")
    if conductor == "neutral":  # line and neutral alike read twice as much at every socket, wherever it is broken
        assert fit.where_m is None
    else:
        assert fit.where_m is not None
        assert fit.where_m.holds(break_m)
        assert fit.where_m.high - fit.where_m.low < 30.0


@pytest.mark.parametrize("crossed", [("both", "legs not crossed"), ("ln", "legs not crossed, line and neutral")])
def test_legs_not_crossed_is_a_fault_of_the_test_and_not_of_the_ring(crossed: tuple[str, str]) -> None:
    whole = ring.whole_ring(CABLE, 84.0, PLACES)
    wrong = ring.whole_ring(CABLE, 84.0, PLACES, crossed=False)
    ends, ln, le = shown(wrong)
    if crossed[0] == "ln":
        le = shown(whole)[2]
    fit = weighed(ends, ln, le)
    assert fit.verdict == "not shown"
    assert fit.named == "legs not crossed"
    assert fit.scores[0][0] == crossed[1]


def test_a_ring_of_whose_conductors_none_is_continuous() -> None:
    ends, ln, le = shown(ring.swapped_legs(CABLE, 84.0, PLACES))
    fit = weighed(ends, ln, le)
    assert fit.verdict == "disproved"
    assert fit.named == "break in every conductor or cross-linked rings"
    assert fit.where_m is None
    assert fit.between == ()


def test_everything_open_with_leads_that_nobody_tried_may_be_a_lead() -> None:
    ends, ln, le = shown(ring.swapped_legs(CABLE, 84.0, PLACES))
    fit = weighed(ends, ln, le, checked=False)
    assert fit.verdict == "not shown"
    assert fit.named == ""
    assert "whole" in fit.rivals


def test_an_open_end_alone_with_leads_that_nobody_tried_is_not_shown() -> None:
    nothing: list[float | None] = [None] * 9
    assert weighed((0.62, 0.62, INF), nothing, nothing, checked=False).verdict == "not shown"
    assert weighed((0.62, 0.62, INF), nothing, nothing, checked=True).named == "break in cpc"


def test_ends_alone_cannot_tell_a_whole_ring_from_a_bridge() -> None:
    nothing: list[float | None] = [None] * 9
    fit = weighed((0.62, 0.62, 1.02), nothing, nothing, length=None)
    assert fit.verdict == "not shown"
    assert {"whole", "bridge"} <= set(fit.rivals)


def test_nothing_read_is_not_shown() -> None:
    fit = weighed((None, None, None), [None] * 9, [None] * 9)
    assert (fit.verdict, fit.named, fit.scores) == ("not shown", "", ())
    assert fit.implied_m is None


def test_digits_that_no_wiring_explains_name_nothing() -> None:
    ln: list[float | None] = [0.31, 0.11, 0.31, 0.09, 0.31, 0.12, 0.31, 0.08, 0.31]
    le: list[float | None] = [0.39, 0.10, 0.40, 0.55, 0.41, 0.22, 0.41, 0.15, 0.39]
    fit = weighed((0.62, 0.62, 1.02), ln, le)
    assert fit.verdict == "not shown"
    assert fit.named == ""
    assert fit.why == "none of these"


@pytest.mark.parametrize("spur_m", [4.0, 8.0, 12.0])
def test_a_spur_is_information_and_its_length_is_known(spur_m: float) -> None:
    spurs = [0.0] * 9
    spurs[4] = spur_m
    fit = weighed(*shown(ring.whole_ring(CABLE, 84.0, PLACES, spurs)))
    assert (fit.verdict, fit.named) == ("proved", "whole")
    (spur,) = fit.spurs
    assert spur.point == "5"
    assert spur.chance > 0.95
    assert spur.length_m.low - 1.0 <= spur_m <= spur.length_m.high + 1.0


def test_a_spur_on_a_broken_ring_hides_nothing() -> None:
    spurs = [0.0] * 9
    spurs[1] = 6.0
    fit = weighed(*shown(ring.broken_ring(CABLE, 84.0, PLACES, 45.0, ("cpc",), spurs)))
    assert fit.named == "break in cpc"


def test_a_poor_joint_in_the_line_is_told_from_a_break() -> None:
    metres = 0.6 * 1000.0 / 7.41
    sound = [ring.whole(84.0, x) for x in PLACES]
    line = [ring.Star(x, 84.0 - x + metres, 0.0) if x <= 45.0 else ring.Star(x + metres, 84.0 - x, 0.0) for x in PLACES]
    fit = weighed(*shown(ring.readings(CABLE, line, sound, sound)))
    assert (fit.verdict, fit.named) == ("disproved", "poor joint in line")
    assert fit.where_m is not None
    assert fit.where_m.holds(45.0)


def test_one_misread_end_does_not_make_a_fault() -> None:
    ends, ln, le = shown(ring.whole_ring(CABLE, 84.0, PLACES))
    fit = weighed((ends[0], ends[1], 1.95), ln, le)
    assert fit.named in ("", "whole")
    assert fit.verdict != "disproved"


@pytest.mark.parametrize(("estimate", "verdict"), [(101.0, "proved"), (102.0, "not shown")])
def test_a_ring_shorter_than_its_estimate_is_not_called_whole(estimate: float, verdict: str) -> None:
    """0.62 Ω stands for 96.49 m at the most: (0.62 + 0.025)/0.97 over 0.93 × 7.41 mΩ/m; the estimate is good to 5 m."""
    fit = weighed(*shown(ring.whole_ring(CABLE, 84.0, PLACES)), length=(estimate, 5.0))
    assert fit.verdict == verdict
    assert fit.named == ("whole" if verdict == "proved" else "")


def test_places_beyond_the_length_that_the_ends_stand_for_leave_it_not_shown() -> None:
    """49 m of cable do not reach sockets 82 m along it, however flat the profile is."""
    ends, ln, le = shown(ring.whole_ring(CABLE, 49.0, [min(x, 49.0) for x in PLACES]))
    assert weighed(ends, ln, le, length=None).verdict == "not shown"
    near = tuple(x / 2.0 for x in PLACES)
    assert weighed(ends, ln, le, places=near, length=None).verdict == "proved"


def test_a_ring_within_a_ring_read_at_its_outer_sockets_only_is_not_proved() -> None:
    """A cable of 6 m joins 20 m and 60 m of an 84 m ring; the sockets outside the bridge read as on a sound, shorter ring."""
    places = (4.0, 10.0, 16.0, 66.0, 74.0, 80.0)
    ends, ln, le = shown(ring.bridged_ring(CABLE, 84.0, list(places), 20.0, 60.0, 6.0))
    fit = weighed(ends, ln, le, places=(None,) * 6, length=None, counted=False)
    assert dict(fit.scores)["whole"] == 0.0  # nothing in the digits speaks against a whole ring
    assert (fit.verdict, fit.why) == ("not shown", UNSEEN)
    assert weighed(ends, ln, le, places=places, length=(84.0, 5.0), counted=False).verdict == "not shown"


@pytest.mark.parametrize(
    ("places", "length", "counted", "verdict"),
    [
        (PLACES, (85.0, 5.0), False, "proved"),  # its length, and no stretch of more than 21 m unread
        (PLACES, None, False, "not shown"),  # neither
        (PLACES, None, True, "proved"),  # every socket
        (PLACES[:4], (85.0, 5.0), False, "not shown"),  # the far half was not read
    ],
)
def test_a_whole_ring_needs_its_length_or_the_number_of_its_sockets(
    places: tuple[float, ...], length: tuple[float, float] | None, counted: bool, verdict: str
) -> None:
    fit = weighed(*shown(ring.whole_ring(CABLE, 84.0, list(places))), places=places, length=length, counted=counted)
    assert fit.verdict == verdict


def test_a_counted_socket_that_was_not_read_leaves_it_not_shown() -> None:
    ends, ln, le = shown(ring.whole_ring(CABLE, 84.0, list(PLACES)))
    assert weighed(ends, [*ln[:-1], None], [*le[:-1], None], length=None).verdict == "not shown"


@pytest.mark.parametrize(("length", "share"), [(79.1, 1.0), (78.5, 0.05), (90.9, 1.0), (91.1, 0.05), (74.0, 0.05)])
def test_the_estimate_of_the_length_counts_within_its_tolerance(length: float, share: float) -> None:
    """85 ± 1.7 m, and a twentieth of it for pacing: from 79.05 to 90.95 m."""
    test = RingTest(7.41, 7.41, 12.1, seen(0.62), None, None, (), 85.0, 1.7)
    assert ground(test, Priors()).share_of_length(length) == share


def test_a_cpc_of_unknown_size_leaves_its_ratio_open() -> None:
    """Line and cpc alike: r2 = r1, and every socket reads a quarter of both, which 2.5/1.5 mm² cannot."""
    flat: list[float | None] = [0.31] * 9
    sockets = tuple(SocketRead(f"{i}", p, seen(a), seen(a)) for i, (p, a) in enumerate(zip(PLACES, flat, strict=True)))
    known = RingTest(7.41, 7.41, 12.1, seen(0.62), seen(0.62), seen(0.62), sockets)
    unknown = fit_ring(evolve(known, cpc_known=False))
    assert unknown.verdict != "disproved"
    assert unknown.scores[0] == ("whole", 0.0)
    totals = [weigh(ground(evolve(known, cpc_known=k), Priors()), SOUND, 0.0).total for k in (True, False)]
    assert totals[1] > 20 * totals[0]


# ---- the sums against ring_stars ----


@pytest.mark.parametrize("place", [0.0, 5.0, 40.0, 84.0])
@pytest.mark.parametrize("crossed", [True, False])
def test_a_crossing_is_that_of_the_stars(place: float, crossed: bool) -> None:
    star = ring.whole(84.0, place)
    expected = (ring.crossed_ohm if crossed else ring.uncrossed_ohm)(star, star, 7.41, 12.1)
    assert crossing(place / 84.0, 84 * 0.00741, 84 * 0.0121, 0.0, 0.0, crossed) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("place", [5.0, 44.9, 45.1, 80.0])
@pytest.mark.parametrize("cut", ["line", "cpc", "both"])
def test_a_crossing_with_a_break_is_that_of_the_stars(place: float, cut: str) -> None:
    line = (ring.broken if cut != "cpc" else lambda a, b, _: ring.whole(a, b))(84.0, place, 45.0)
    cpc = (ring.broken if cut != "line" else lambda a, b, _: ring.whole(a, b))(84.0, place, 45.0)
    expected = ring.crossed_ohm(line, cpc, 7.41, 12.1)
    side = 1.0 if place <= 45.0 else -1.0
    x, z = (side * INF if cut != "cpc" else 0.0), (side * INF if cut != "line" else 0.0)
    assert crossing(place / 84.0, 84 * 0.00741, 84 * 0.0121, x, z, True) == pytest.approx(expected, abs=1e-9)


def test_a_crossing_with_a_poor_joint_is_that_of_the_stars() -> None:
    metres = 0.5 * 1000.0 / 7.41
    for place, line, x in (
        (30.0, ring.Star(30.0, 54.0 + metres, 0.0), 0.5),
        (60.0, ring.Star(60.0 + metres, 24.0, 0.0), -0.5),
    ):
        expected = ring.crossed_ohm(line, ring.whole(84.0, place), 7.41, 12.1)
        assert crossing(place / 84.0, 84 * 0.00741, 84 * 0.0121, x, 0.0, True) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("x", [0.0, 20.0, 21.0, 40.0, 59.0, 60.0, 84.0])
@pytest.mark.parametrize("via", [1.0, 6.0, 40.0])
def test_a_socket_of_a_bridged_ring_is_that_of_the_star(x: float, via: float) -> None:
    star = ring.bridged(84.0, x, 20.0, 60.0, via)
    assert seen_at(x, 20.0, 60.0, via) == pytest.approx((star.arm1_m, star.stem_m), abs=1e-9)


def test_the_weight_of_a_bridge_is_the_same_by_both_sums() -> None:
    """A display too coarse to place it well: points spread over the whole prior find the weight of points round the peak."""
    coarse = Display(10.0, 6.0, 0.01, 99.99)

    def rough(value: float) -> Observed:
        return Observed("ring", value, coarse, (0.0, 0.0), True, True)

    ends, ln, _ = shown(ring.bridged_ring(CABLE, 84.0, PLACES, 20.0, 60.0, 6.0))
    sockets = tuple(
        SocketRead(f"{i}", p, rough(a or 0.0), None) for i, (p, a) in enumerate(zip(PLACES, ln, strict=True)) if i % 2
    )
    test = RingTest(7.41, 7.41, 12.1, *(rough(x) for x in ends), sockets)
    b = _Bridge(ground(test, Priors()), 0.0)
    broad = b.broad().total
    peak = max(b.around(b.climb(*start)[1]).total for start in b.starts())
    assert broad > 0.0
    assert abs(math.log10(peak / broad)) < 0.4


# ---- the rule of decision, just below, at and just above ----


@pytest.mark.parametrize(
    ("whole", "fault", "verdict", "named"),
    [
        (0.0, -1.999, "not shown", ""),
        (0.0, -2.0, "proved", "whole"),
        (0.0, -2.001, "proved", "whole"),
        (-1.999, 0.0, "not shown", ""),
        (-2.0, 0.0, "disproved", "break in cpc"),
        (-2.001, 0.0, "disproved", "break in cpc"),
    ],
)
def test_two_orders_are_asked_for(whole: float, fault: float, verdict: str, named: str) -> None:
    assert _decide({"whole": whole, "break in cpc": fault}, -9.0, 2.0)[:2] == (verdict, named)


@pytest.mark.parametrize(("second", "named"), [(-1.999, ""), (-2.0, "bridge"), (-2.001, "bridge")])
def test_a_fault_is_named_only_when_no_other_comes_near(second: float, named: str) -> None:
    logs = {"whole": -4.0, "bridge": 0.0, "break in cpc": second}
    assert _decide(logs, -9.0, 2.0)[:2] == ("disproved", named)


@pytest.mark.parametrize(("loose", "verdict"), [(0.999, "proved"), (1.0, "not shown"), (1.001, "not shown")])
def test_readings_that_follow_nothing_stop_every_verdict(loose: float, verdict: str) -> None:
    assert _decide({"whole": 0.0, "bridge": -5.0}, loose, 2.0)[0] == verdict


# ---- invented rings ----


def test_sixty_invented_rings() -> None:
    """Half of them sound: no fault is named wrongly, no sound ring is called faulty, most are decided."""
    rows = [STUDY.study(seed) for seed in range(60)]
    count = Counter(result for _, result, *_ in rows)
    assert count["wrong"] == 0
    assert not any(r[4] or r[5] not in ("", "whole") for r in rows if r[0] == "whole")
    assert not any(r[1] == "missed" and r[6] for r in rows)
    assert count["right"] >= 45
    held = [r[2] for r in rows if r[2] is not None]
    assert len(held) >= 12
    assert sum(held) >= len(held) - 1


def test_the_same_ring_is_weighed_the_same_twice() -> None:
    case = STUDY.invent(7)
    assert fit_ring(case.test) == fit_ring(evolve(case.test))


def test_a_stricter_rule_decides_less() -> None:
    case = next(c for c in map(STUDY.invent, range(200)) if c.truth == "break in cpc" and not c.order_only)
    assert fit_ring(case.test).verdict == "disproved"
    never = Priors(readings=Model(decide=50.0))
    assert fit_ring(case.test, never).verdict == "not shown"
