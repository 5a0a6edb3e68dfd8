"""Zs and what it must lie between, its limits, and what a no-trip reading or a residual current device changes."""

from __future__ import annotations

import datetime as dt

import pytest
from attrs import evolve
from live_visit import B32, families, judge, off, on, read, row, rows, visit

from earthwright.site.events import Repair
from earthwright.site.installation import Board, Circuit, Device, Supply

RCBO = Device("BS EN 61009", "B", 32.0, 6.0, rcd_type="A", rcd_ma=30.0)
RADIAL = Circuit(
    "c1", "db1", use="sockets", device=B32, line_mm2=2.5, cpc_mm2=1.5, length_m=40.0, length_tol_m=4.0, design_a=20.0
)
ZE = (off("earthing"), read("ze", "origin", "0.20", method="two-lead"), on("earthing"))


def outcomes(v):
    return {j.limit.what.split(",")[0]: j.outcome for j in row(v, "c1", "zs").judged if j.limit}


def test_zs_lies_between_the_floor_of_the_line_and_ze_and_r1r2() -> None:
    v = visit(*ZE, read("r1r2", "c1", "0.75"), read("zs", "c1", "0.90", method="two-lead"), circuits=(RADIAL,))
    zs = row(v, "c1", "zs")
    assert zs.inside is True
    assert zs.expected is not None
    # 36 m of 2.5 mm² at 93 % of 7.41 mΩ/m; 0.20 + 0.75 Ω and half a digit of each
    assert zs.expected.low == pytest.approx(0.93 * 36 * 7.41e-3, abs=1e-6)
    assert zs.expected.high == pytest.approx(0.96, abs=1e-6)
    assert zs.outcome == "meets"
    assert families(zs) == set()
    assert outcomes(v) == {
        "Zs at working temperature": "meets",
        "Zs measured cold": "meets",
    }


def test_design_value_and_both_cold_comparisons_are_shown_with_their_sums() -> None:
    v = visit(*ZE, read("zs", "c1", "1.12", method="two-lead"), circuits=(RADIAL,))
    zs = row(v, "c1", "zs")
    found = [(j.limit.value, j.outcome) for j in zs.judged if j.limit]
    # 0.20 + 1.2 × 0.92 = 1.304 ≤ 1.37; 0.20 + 1.17/1.2 = 1.175; 0.8 × 1.37 = 1.096
    assert found == [(1.37, "meets"), (pytest.approx(1.175), "meets"), (pytest.approx(1.096), "fails")]
    assert zs.outcome == "meets", "the sum with the temperature decides, the customary share is shown beside it"
    assert any("1.304 Ω" in line for line in zs.sums)
    assert "loops.limit" not in families(zs)
    assert "The customary share is not kept; the sum with the temperature is" in zs.words
    over = row(visit(*ZE, read("zs", "c1", "1.18", method="two-lead"), circuits=(RADIAL,)), "c1", "zs")
    assert over.outcome == "fails"
    (finding,) = [f for f in over.findings if f.family == "loops.limit"]
    assert finding.found == "1.18 Ω"
    assert finding.expected.startswith("at most 1.37 Ω")


def test_below_what_the_line_must_have_is_a_finding() -> None:
    v = visit(*ZE, read("zs", "c1", "0.21", method="two-lead"), circuits=(RADIAL,))
    zs = row(v, "c1", "zs")
    assert "loops.floor" in families(zs)
    assert zs.inside is False
    near = visit(*ZE, read("zs", "c1", "0.24", method="two-lead"), circuits=(RADIAL,))
    assert "loops.floor" in families(row(near, "c1", "zs"))
    enough = visit(*ZE, read("zs", "c1", "0.25", method="two-lead"), circuits=(RADIAL,))
    assert families(row(enough, "c1", "zs")) == set()


def test_an_estimated_length_is_no_floor() -> None:
    guessed = evolve(RADIAL, length_tol_m=None)
    v = visit(*ZE, read("zs", "c1", "0.21", method="two-lead"), circuits=(guessed,))
    assert families(row(v, "c1", "zs")) == set()


def test_the_source_and_its_line_count_into_the_floor_of_a_single_phase_supply() -> None:
    # 230 V / 1.15 kA = 0.20 Ω line to neutral, of which half is the line's
    current = read("fault current", "origin", "1.15", between="L-N")
    v = visit(*ZE, current, read("zs", "c1", "0.30", method="two-lead"), circuits=(RADIAL,))
    zs = row(v, "c1", "zs")
    assert "loops.floor" in families(zs)
    assert zs.expected is not None
    assert zs.expected.low == pytest.approx(0.93 * 36 * 7.41e-3 + 0.5 * 230 / 1155, abs=1e-6)
    three = visit(
        *ZE, current, read("zs", "c1", "0.30", method="two-lead"), circuits=(RADIAL,), supply=Supply("TN-S", phases=3)
    )
    assert families(row(three, "c1", "zs")) == set()


def test_r1_of_a_measured_r1r2_is_a_floor_as_well() -> None:
    bare = evolve(RADIAL, length_m=None)
    v = visit(*ZE, read("r1r2", "c1", "0.80"), read("zs", "c1", "0.25", method="two-lead"), circuits=(bare,))
    # R1 = 0.80 / (1 + 2.5/1.5) = 0.30
    assert "loops.floor" in families(row(v, "c1", "zs"))


def test_more_than_ze_and_r1r2_allow_is_a_finding() -> None:
    events = (*ZE, read("r1r2", "c1", "0.50"))
    v = visit(*events, read("zs", "c1", "0.80", method="two-lead"), circuits=(RADIAL,))
    zs = row(v, "c1", "zs")
    assert "loops.ceiling" in families(zs)
    assert "loose connection" in next(f.do for f in zs.findings if f.family == "loops.ceiling")
    at = visit(*events, read("zs", "c1", "0.71", method="two-lead"), circuits=(RADIAL,))
    assert "loops.ceiling" not in families(row(at, "c1", "zs"))


def test_a_device_coil_lifts_the_ceiling_of_a_no_trip_reading_only() -> None:
    coil = evolve(RADIAL, device=RCBO)
    events = (*ZE, read("r1r2", "c1", "0.50"))
    no_trip = visit(*events, read("zs", "c1", "1.10", method="no-trip"), circuits=(coil,))
    assert "loops.ceiling" not in families(row(no_trip, "c1", "zs"))
    two_lead = visit(*events, read("zs", "c1", "1.10", method="two-lead"), circuits=(coil,))
    assert "loops.ceiling" in families(row(two_lead, "c1", "zs"))
    known = evolve(RADIAL, device=evolve(RCBO, coil_ohm=0.10))
    v = visit(*events, read("zs", "c1", "1.10", method="no-trip"), circuits=(known,))
    assert "loops.ceiling" in families(row(v, "c1", "zs"))


def test_a_no_trip_reading_that_only_a_coil_could_spoil_is_not_decided() -> None:
    plain = Board("db1", rcd=Device(rcd_type="A", rcd_ma=30.0))
    v = visit(*ZE, read("zs", "c1", "1.45", method="no-trip"), circuits=(RADIAL,), boards=(plain,))
    zs = row(v, "c1", "zs")
    assert zs.judged[0].outcome == "not decided"
    assert "two-lead" in zs.judged[0].why
    far = visit(*ZE, read("zs", "c1", "2.45", method="no-trip"), circuits=(RADIAL,), boards=(plain,))
    assert row(far, "c1", "zs").judged[0].outcome == "fails"


def test_the_two_lead_reading_counts_before_the_no_trip_and_the_calculated_one() -> None:
    v = visit(
        *ZE,
        read("zs", "c1", "0.80", method="two-lead"),
        read("zs", "c1", "1.30", method="no-trip"),
        read("zs", "c1", "0.10", method="calculated"),
        circuits=(RADIAL,),
    )
    zs = row(v, "c1", "zs")
    assert zs.corrected is not None
    assert zs.corrected.reading.method == "two-lead"
    assert len(zs.readings) == 3


def test_repeats_that_disagree_are_told() -> None:
    v = visit(read("zs", "c1", "0.80"), read("zs", "c1", "0.95"), circuits=(evolve(RADIAL, length_m=None),))
    assert families(row(v, "c1", "zs")) == {"loops.repeats"}
    same = visit(read("zs", "c1", "0.80"), read("zs", "c1", "0.81"), circuits=(evolve(RADIAL, length_m=None),))
    assert families(row(same, "c1", "zs")) == set()


def test_of_three_lines_the_highest_counts() -> None:
    c = evolve(RADIAL, length_m=None, phases=3)
    lines = tuple(read("zs", "c1", d, between=b) for d, b in (("0.50", "L1-E"), ("1.60", "L2-E"), ("0.55", "L3-E")))
    v = visit(*lines, circuits=(c,), boards=(Board("db1", phases=3),), supply=Supply("TN-S", phases=3))
    zs = row(v, "c1", "zs")
    assert zs.corrected is not None
    assert zs.corrected.reading.between == "L2-E"
    assert zs.outcome == "fails"
    assert "loops.repeats" not in families(zs)
    better = read("zs", "c1", "0.52", between="L2-E")
    again = row(visit(*lines, better, circuits=(c,), boards=(Board("db1", phases=3),)), "c1", "zs")
    assert again.outcome == "fails"  # nothing is noted as put right
    put_right = Repair(seq=0, what="c1:cpc", remade="joint")
    three = (lines[0], better, lines[2])
    again = row(visit(*lines, put_right, *three, circuits=(c,), boards=(Board("db1", phases=3),)), "c1", "zs")
    assert again.corrected is not None
    assert again.corrected.reading.between == "L3-E"
    assert again.outcome == "meets"


def test_a_loop_reading_is_never_worked_back_into_r1r2() -> None:
    bare = evolve(RADIAL, length_m=None)
    v = visit(*ZE, read("zs", "c1", "0.90", method="two-lead"), circuits=(bare,))
    assert rows(v, "c1", "r1r2") == []
    assert row(v, "c1", "zs").expected is None
    # the floor of another point does not come from the Zs of the first either
    both = visit(*ZE, read("zs", "c1", "0.90", point="a"), read("zs", "c1", "0.21", point="b"), circuits=(bare,))
    assert all(z.expected is None for z in rows(both, "c1", "zs"))


def test_half_a_size_is_no_floor() -> None:
    for bare in (evolve(RADIAL, length_m=None, cpc_mm2=None), evolve(RADIAL, length_m=None, line_mm2=None)):
        v = visit(*ZE, read("r1r2", "c1", "0.80"), read("zs", "c1", "0.25", method="two-lead"), circuits=(bare,))
        assert "loops.floor" not in families(row(v, "c1", "zs"))
    steel = evolve(RADIAL, length_m=None, cpc="armour")
    v = visit(*ZE, read("r1r2", "c1", "0.80"), read("zs", "c1", "0.25", method="two-lead"), circuits=(steel,))
    assert "loops.floor" not in families(row(v, "c1", "zs"))


def test_each_point_has_a_row_of_its_own() -> None:
    c = evolve(RADIAL, points=(("hall", 10.0), ("loft", 40.0)))
    v = visit(*ZE, read("zs", "c1", "0.30", point="hall"), read("zs", "c1", "0.50", point="loft"), circuits=(c,))
    by_point = {z.point: z for z in rows(v, "c1", "zs")}
    assert set(by_point) == {"hall", "loft"}
    assert by_point["hall"].expected is not None
    assert by_point["loft"].expected is not None
    assert by_point["hall"].expected.low < by_point["loft"].expected.low


def test_r1r2_of_a_ring_from_its_ends_its_profile_or_its_cable() -> None:
    ring = evolve(RADIAL, kind="ring", length_m=80.0, length_tol_m=8.0)
    zs = read("zs", "c1", "0.50", method="two-lead")

    def high(*events) -> float:
        expected = row(visit(*ZE, *events, zs, circuits=(ring,)), "c1", "zs").expected
        assert expected is not None
        return expected.high - 0.205

    # (7.41 + 12.1) mΩ/m × 88 m / 4
    assert high() == pytest.approx(0.4292, abs=0.00005)
    ends = (read("ring r1", "c1", "0.90"), read("ring r1", "c1", "0.62"), read("ring r2", "c1", "1.02"))
    assert high(*ends) == pytest.approx((0.90 + 1.02 + 0.01) / 4, abs=1e-6)  # the higher of two stands
    profile = tuple(read("ring le", "c1", d, point=p) for d, p in (("0.39", "1"), ("0.41", "2"), ("0.40", "3")))
    assert high(*ends, *profile) == pytest.approx(0.415, abs=1e-6)
    own = read("zs", "c1", "0.50", method="two-lead", point="1")
    expected = row(visit(*ZE, *ends, *profile, own, circuits=(ring,)), "c1", "zs").expected
    assert expected is not None
    assert expected.high - 0.205 == pytest.approx(0.395, abs=1e-6)
    open_end = (read("ring r1", "c1", "0.62"), read("ring r2", "c1", "over-range"))
    assert high(*open_end) == pytest.approx(0.4292, abs=0.00005)


def test_a_socket_on_a_ring_has_the_floor_of_both_ways_to_it() -> None:
    ring = evolve(RADIAL, kind="ring", length_m=80.0, length_tol_m=0.0, points=(("40 m", 40.0), ("10 m", 10.0)))
    v = visit(*ZE, read("zs", "c1", "0.10", point="40 m"), read("zs", "c1", "0.10", point="10 m"), circuits=(ring,))
    by_point = {z.point: z for z in rows(v, "c1", "zs")}
    # 80 m × 7.41 mΩ/m × 0.93 × x(1 − x): 0.138 Ω half way, 0.060 Ω at an eighth
    assert "loops.floor" in families(by_point["40 m"])
    assert families(by_point["10 m"]) == set()


@pytest.mark.parametrize(
    ("ms", "method", "expected"), [("28.0", "x1", "meets"), ("310", "x1", "fails"), ("", "", "not decided")]
)
def test_a_residual_current_device_counts_only_when_its_test_shows_that_it_trips(
    ms: str, method: str, expected: str
) -> None:
    c = evolve(RADIAL, device=RCBO, length_m=None)
    tests = (read("rcd", "c1", ms, method=method),) if ms else ()
    v = visit(*ZE, read("zs", "c1", "3.50", method="two-lead"), *tests, circuits=(c,))
    zs = row(v, "c1", "zs")
    assert zs.outcome == expected
    assert "loops.by_rcd" in families(zs)
    assert zs.judged[0].outcome == "fails"
    assert zs.judged[-1].limit is not None
    assert zs.judged[-1].limit.value == 1667.0


def test_the_device_of_the_board_counts_for_its_circuits_with_its_own_test() -> None:
    board = Board("db1", rcd=Device("BS EN 61008", rcd_type="A", rcd_ma=30.0))
    c = evolve(RADIAL, length_m=None)
    events = (*ZE, read("zs", "c1", "3.50", method="two-lead"))
    good = visit(*events, read("rcd", "db1", "24.0", method="x1"), circuits=(c,), boards=(board,))
    assert row(good, "c1", "zs").outcome == "meets"
    slow = visit(*events, read("rcd", "db1", "324", method="x1"), circuits=(c,), boards=(board,))
    assert row(slow, "c1", "zs").outcome == "fails"
    none = visit(*events, circuits=(c,), boards=(board,))
    assert row(none, "c1", "zs").outcome == "not decided"
    # its own device comes first, and has no test
    both = visit(*events, read("rcd", "db1", "24.0", method="x1"), circuits=(evolve(c, device=RCBO),), boards=(board,))
    assert row(both, "c1", "zs").outcome == "not decided"


def test_a_loop_too_high_even_for_the_residual_current_device_fails() -> None:
    c = evolve(RADIAL, device=RCBO, length_m=None)
    v = visit(read("zs", "c1", "1700", method="two-lead"), read("rcd", "c1", "20.0"), circuits=(c,))
    assert row(v, "c1", "zs").outcome == "fails"


def test_in_a_tt_system_the_nearest_device_decides_and_the_other_is_shown() -> None:
    board = Board("db1", rcd=Device(rcd_type="A", rcd_ma=100.0, rcd_delay="S"))
    c = evolve(RADIAL, device=RCBO, length_m=None)
    trips = read("rcd", "c1", "22.0", method="x1")
    v = visit(read("zs", "c1", "600"), trips, circuits=(c,), boards=(board,), supply=Supply("TT"))
    zs = row(v, "c1", "zs")
    assert zs.outcome == "meets"
    assert "In front of it db1" in zs.words
    assert "does not meet 500 Ω" in zs.words
    none = visit(read("zs", "c1", "600"), circuits=(evolve(c, device=B32),), supply=Supply("TT"))
    assert row(none, "c1", "zs").outcome == "fails"


def test_over_range_is_no_loop_at_all() -> None:
    v = visit(read("zs", "c1", "over-range"), circuits=(RADIAL,))
    zs = row(v, "c1", "zs")
    assert zs.outcome == "fails"
    assert "No loop to earth" in zs.words


@pytest.mark.parametrize("absent", ["LIM", "N/A", "not tested"])
def test_reasons_for_no_reading_are_kept_apart(absent: str) -> None:
    v = visit(read("zs", "c1", absent=absent, note="locked room"), circuits=(RADIAL,))
    zs = row(v, "c1", "zs")
    assert (zs.absent, zs.reason, zs.outcome) == (absent, "locked room", "not decided")
    assert zs.words == f"{absent}: locked room."


@pytest.mark.parametrize(
    "v",
    [
        visit(read("zs", "c1", "0.80"), circuits=(RADIAL,), supply=Supply()),
        visit(read("zs", "c1", "0.80"), circuits=(RADIAL,), supply=Supply("IT")),
        visit(read("zs", "c1", "0.80"), circuits=(RADIAL,), date=dt.date(1999, 1, 1)),
        visit(read("zs", "c1", "0.80"), circuits=(evolve(RADIAL, device=Device()),)),
        visit(read("zs", "c1", "0.80"), circuits=(evolve(RADIAL, device=Device("BS EN 60898", "B", 33.0)),)),
        visit(read("zs", "c1", "0.80"), circuits=(evolve(RADIAL, device=Device("BS 9999", "B", 32.0)),)),
    ],
    ids=["no system", "IT", "no edition", "no device", "rating not known", "standard not known"],
)
def test_without_a_rule_it_says_no_rule_and_never_meets(v) -> None:
    zs = row(v, "c1", "zs")
    if zs.judged[0].limit is None:
        assert zs.outcome == "no rule"
        assert zs.judged[0].why
    else:
        # a rating beside the table has its limit from the multiple: 0.95 × 230 V / (5 × 33 A)
        assert zs.judged[0].limit.value == pytest.approx(1.324, abs=0.0005)


def test_a_sub_board_takes_its_own_zdb_else_the_sum_along_its_feeder() -> None:
    feeder = Circuit("f1", "db1", use="distribution", device=Device("BS 88-2", "gG", 63.0))
    far = evolve(RADIAL, board="db2", length_m=None)
    boards = (Board("db1"), Board("db2", fed_by="f1"))
    events = (*ZE, read("r1r2", "f1", "0.10"), read("r1r2", "c1", "0.30"))
    v = visit(*events, read("zs", "c1", "0.55"), circuits=(feeder, far), boards=boards)
    zs = row(v, "c1", "zs")
    assert zs.expected is not None
    assert zs.expected.high == pytest.approx(0.20 + 0.10 + 0.30 + 0.015, abs=1e-6)
    with_zdb = visit(
        *events, read("zdb", "db2", "0.25"), read("zs", "c1", "0.50"), circuits=(feeder, far), boards=boards
    )
    zs = row(with_zdb, "c1", "zs")
    assert zs.expected is not None
    assert zs.expected.high == pytest.approx(0.25 + 0.30 + 0.01, abs=1e-6)
    zdb = row(with_zdb, "db2", "zdb")
    assert zdb.inside is True
    # BS 88-2, 63 A, 5 s: 0.78 Ω
    assert zdb.judged[0].limit is not None
    assert zdb.judged[0].limit.value == 0.78
    assert zdb.outcome == "meets"


def test_zdb_without_what_lies_before_it_has_a_limit_and_no_band() -> None:
    feeder = Circuit("f1", "db1", use="distribution", device=Device("BS 88-2", "gG", 63.0))
    boards = (Board("db1"), Board("db2", fed_by="f1"))
    for before in ((), ZE, (read("r1r2", "f1", "0.10"),)):
        zdb = row(visit(*before, read("zdb", "db2", "0.25"), circuits=(feeder,), boards=boards), "db2", "zdb")
        assert zdb.expected is None
        assert zdb.inside is None
        assert zdb.outcome == "meets"
    bad = row(
        visit(*ZE, read("r1r2", "f1", "0.10"), read("zdb", "db2", "0.80"), circuits=(feeder,), boards=boards),
        "db2",
        "zdb",
    )
    assert bad.inside is False
    assert bad.outcome == "fails"
    origin = row(visit(read("zdb", "db1", "0.25"), boards=boards), "db1", "zdb")
    assert origin.outcome == "no rule"
    assert "no limit applies here" in origin.words
    unknown = evolve(feeder, device=Device())
    assert row(visit(read("zdb", "db2", "0.25"), circuits=(unknown,), boards=boards), "db2", "zdb").outcome == "no rule"


def test_a_board_whose_feeder_is_not_entered_is_not_taken_to_be_at_the_origin() -> None:
    c = evolve(RADIAL, board="db2", length_m=None)
    boards = (Board("db1"), Board("db2", fed_by="f9"))
    v = visit(*ZE, read("r1r2", "c1", "0.50"), read("zs", "c1", "0.60"), circuits=(c,), boards=boards)
    zs = row(v, "c1", "zs")
    assert zs.expected is None or zs.expected.high == float("inf")
    assert rows(v, "c1", "disconnection")


def test_boards_that_feed_each_other_end() -> None:
    a = Circuit("fa", "db1", use="distribution", device=B32)
    b = Circuit("fb", "db2", use="distribution", device=B32)
    boards = (Board("db1", fed_by="fb"), Board("db2", fed_by="fa"))
    v = visit(read("zs", "fa", "0.80"), read("zs", "fb", "0.80"), circuits=(a, b), boards=boards)
    assert row(v, "fa", "zs").expected is None
    assert judge(v).alarms == ()


def test_ze_says_whether_bonded_metal_helped() -> None:
    alone = row(visit(*ZE), "origin", "ze")
    assert alone.outcome == "meets"
    assert "bonded metal" not in alone.words
    helped = row(visit(read("ze", "origin", "0.20")), "origin", "ze")
    assert "bonded metal helped" in helped.words
    assert helped.assumed == ("read with everything connected",)
    assert (alone.outcome, helped.outcome) == ("meets", "not decided")  # metal in parallel only makes it look better
    assert [f.family for f in helped.findings] == ["ze.parallel"]


def test_ze_above_what_is_declared_is_told_with_what_to_do() -> None:
    v = visit(off("earthing"), read("ze", "origin", "0.50"), supply=Supply("TN-C-S", ze_ohm=0.35, ze_how="enquiry"))
    ze = row(v, "origin", "ze")
    assert ze.outcome == "not decided", "a declared value is no limit of the rules"
    assert [j.outcome for j in ze.judged] == ["fails", "fails"]
    assert "ze.limit" in families(ze)
    tt = visit(off("earthing"), read("ze", "origin", "40.0"), supply=Supply("TT"))
    assert row(tt, "origin", "ze").outcome == "no rule"


def test_distribution_circuits_have_their_own_times() -> None:
    feeder = Circuit("c1", "db1", use="distribution", device=Device("BS 88-2", "gG", 63.0))
    tn = row(visit(read("zs", "c1", "0.50"), circuits=(feeder,)), "c1", "zs")
    assert "5 s" in tn.judged[0].limit.what  # type: ignore[union-attr]
    final = row(visit(read("zs", "c1", "0.50"), circuits=(evolve(feeder, use="sockets"),)), "c1", "zs")
    assert "0.4 s" in final.judged[0].limit.what  # type: ignore[union-attr]


def test_disconnection_from_added_up_values_where_zs_was_not_read() -> None:
    v = visit(*ZE, read("r1r2", "c1", "0.60"), circuits=(RADIAL,))
    d = row(v, "c1", "disconnection")
    assert d.outcome == "meets"
    assert "added up" in d.words
    assert d.value is not None
    # 0.20 + 1.2 × 0.60 = 0.92 Ω; 0.95 × 230 / 0.92
    assert d.value.value == pytest.approx(237.5, abs=0.05)


def test_added_up_values_carry_the_doubt_of_both_or_the_whole_band() -> None:
    measured = row(visit(*ZE, read("r1r2", "c1", "0.60"), circuits=(RADIAL,)), "c1", "disconnection").value
    assert measured is not None
    assert {c.key for c in measured.influences} >= {"r2.rounding", "r4.rounding"}
    # A declared Ze is a highest value, and so is the copper of a cable: the sum takes both at their highest.
    declared = visit(read("r1r2", "c1", "0.60"), circuits=(RADIAL,), supply=Supply("TN-S", ze_ohm=0.80))
    found = row(declared, "c1", "disconnection")
    assert found.value is not None
    assert found.value.value == pytest.approx(0.95 * 230 / (1.2 * (0.80 + 0.605)), rel=1e-6)
    assert found.outcome == "fails"
    assert "at most 1.41 Ω" in found.words or "at most 1.40 Ω" in found.words
    from_cable = row(visit(*ZE, circuits=(RADIAL,)), "c1", "disconnection").value
    assert from_cable is not None
    # 44 m of 2.5/1.5 mm²: 0.858 Ω
    hot = 0.20 + 1.2 * (0.205 + 44 * (7.41e-3 + 12.1e-3) - 0.20)
    assert from_cable.value == pytest.approx(0.95 * 230 / hot, rel=1e-6)


def test_a_curve_that_was_entered_is_read_inside_its_points_only() -> None:
    curve = ((87.0, 5.0), (200.0, 0.4), (350.0, 0.1))
    c = evolve(RADIAL, device=Device("BS 3036", "", 30.0, curve=curve), conductor_c=20.0)
    inside = row(visit(read("zs", "c1", "0.90"), circuits=(c,)), "c1", "disconnection")
    assert inside.judged[0].limit is not None
    assert inside.judged[0].limit.value == pytest.approx(200.0)
    short = evolve(c, device=evolve(c.device, curve=((210.0, 0.3), (350.0, 0.1))))
    beyond = row(visit(read("zs", "c1", "0.90"), circuits=(short,)), "c1", "disconnection")
    assert beyond.outcome == "no rule"
    assert "0.1 s to 0.3 s" in beyond.words
    weak = row(visit(read("zs", "c1", "5.00"), circuits=(c,)), "c1", "disconnection")
    assert weak.outcome == "fails"
    assert "no time is given" in " ".join(weak.sums)


@pytest.mark.parametrize(
    ("device", "ia_a"),
    [
        (Device("BS EN 60898", "B", 10.0), 50.0),
        (Device("BS EN 60898", "C", 20.0), 200.0),
        (Device("BS EN 61009", "D", 16.0), 320.0),
        (Device("BS 3871", "1", 20.0), 80.0),
        (Device("BS 3871", "2", 20.0), 140.0),
        (Device("BS 3871", "3", 20.0), 200.0),
        (Device("BS 3871", "4", 20.0), 1000.0),
        (Device("BS 88-3", "", 20.0), 113.0),
        (Device("BS 3036", "", 30.0), 210.0),
        (Device("BS 1361", "", 30.0), 200.0),
    ],
)
def test_operating_currents_of_the_kinds_of_device(device: Device, ia_a: float) -> None:
    """Upper multiples of the types; fuses as 0.4 s currents printed beside their loop limits."""
    d = row(visit(read("zs", "c1", "0.50"), circuits=(evolve(RADIAL, device=device),)), "c1", "disconnection")
    assert d.judged[0].limit is not None
    assert d.judged[0].limit.value == pytest.approx(ia_a, rel=0.005)
