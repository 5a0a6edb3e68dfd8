"""Loops that a residual current device has to disconnect: below, at and above each limit, with and without its test."""

from __future__ import annotations

import pytest
from attrs import evolve
from live_visit import families, off, on, read, row, visit

from earthwright.site.installation import Board, Circuit, Device, Electrode, Supply

RCBO = Device("BS EN 61009", "B", 32.0, 6.0, rcd_type="A", rcd_ma=30.0)
PLAIN = Device("BS EN 60898", "B", 32.0, 6.0)
C1 = Circuit("c1", "db1", use="sockets", device=RCBO, line_mm2=2.5, cpc_mm2=1.5)
ZE = (off("earthing"), read("ze", "origin", "0.20", method="two-lead"), on("earthing"))
TRIPS, LATE = read("rcd", "c1", "22.0", method="x1"), read("rcd", "c1", "301", method="x1")
TT = Supply("TT")


@pytest.mark.parametrize(
    ("tested", "outcome"), [((TRIPS,), "meets"), ((LATE,), "fails"), ((), "not decided"),
                            ((read("rcd", "c1", absent="LIM", note="no access"),), "not decided")],
)  # fmt: skip
@pytest.mark.parametrize("supply", [None, TT], ids=["TN", "TT"])
def test_a_loop_that_rests_on_the_device_is_worth_what_its_test_is(supply, tested, outcome) -> None:
    """B32 asks for 1.37 Ω; 2.10 Ω needs the 30 mA to disconnect (411.4.204, 411.5)."""
    v = visit(*ZE, read("zs", "c1", "2.10", method="two-lead"), *tested, circuits=(C1,), supply=supply)
    assert row(v, "c1", "zs").outcome == outcome
    if supply is None:
        cut = row(v, "c1", "disconnection")
        assert cut.outcome == outcome
        assert "411.4.204" in cut.words
        assert "residual current device (c1, 30 mA) has to disconnect" in cut.words


def test_without_such_a_device_the_overcurrent_device_has_to_do_it() -> None:
    v = visit(*ZE, read("zs", "c1", "2.10", method="two-lead"), circuits=(evolve(C1, device=PLAIN),))
    assert row(v, "c1", "zs").outcome == row(v, "c1", "disconnection").outcome == "fails"


@pytest.mark.parametrize(
    ("r1r2", "zs", "sound"),
    [
        # 0.20 before the board and at most 10 Ω of conductors where nothing is known of them
        (None, "10.2", True),
        (None, "10.3", False),
        (None, "45.0", False),
        # Ze + R1+R2 at most 1.41 Ω with half a digit of each; twice that is 2.82 Ω
        ("1.20", "2.80", True),
        ("1.20", "2.84", False),
    ],
)
def test_no_device_makes_a_loop_good_that_no_sound_conductor_explains(r1r2, zs, sound) -> None:
    more = () if r1r2 is None else (read("r1r2", "c1", r1r2),)
    v = visit(*ZE, *more, read("zs", "c1", zs, method="two-lead"), TRIPS, circuits=(C1,))
    found = row(v, "c1", "zs")
    assert found.outcome == ("meets" if sound else "fails")
    assert row(v, "c1", "disconnection").outcome == ("meets" if sound else "fails")
    assert ("No sound protective conductor" in found.words) is not sound


def test_an_outbuilding_on_its_own_electrode_is_no_lost_conductor() -> None:
    rod = Electrode("rod")
    v = visit(*ZE, read("zs", "c1", "86.2", method="two-lead"), TRIPS, circuits=(C1,), electrodes=(rod,))
    assert row(v, "c1", "zs").outcome == "meets"


@pytest.mark.parametrize(("zs", "said"), [("199", False), ("200", False), ("201", True), ("1667", True)])
def test_above_200_ohm_a_tt_loop_says_that_it_may_not_be_stable(zs: str, said: bool) -> None:
    found = row(visit(read("zs", "c1", zs), TRIPS, circuits=(C1,), supply=TT), "c1", "zs")
    assert found.outcome == "meets"
    assert ("loops.unstable" in families(found)) is said
    assert ("may not be stable" in found.words) is said


FUSE = Device("BS 88-2", "gG", 63.0)
SUB = (Board("db1"), Board("db2", fed_by="f1"))
FEEDER = Circuit("f1", "db1", use="distribution", device=FUSE, line_mm2=16.0, cpc_mm2=10.0)


@pytest.mark.parametrize(
    ("zdb", "outcome"),
    [
        # 0.78 Ω within 5 s; 0.25 + 1.2 × (Zdb − 0.25) from 20 to 70 °C: 0.69 gives 0.778, 0.70 gives 0.790
        ("0.62", "meets"),
        ("0.69", "meets"),
        ("0.70", "fails"),
        ("0.74", "fails"),
    ],
)
def test_zdb_read_cold_is_warmed_like_any_loop(zdb: str, outcome: str) -> None:
    ze = (off("earthing"), read("ze", "origin", "0.25", method="two-lead"), on("earthing"))
    v = visit(*ze, read("zdb", "db2", zdb, method="two-lead"), boards=SUB, circuits=(FEEDER,))
    found = row(v, "db2", "zdb")
    assert found.outcome == outcome
    assert any("Zs hot" in line for line in found.sums)


def test_in_a_tt_system_the_feeder_rests_on_the_device_before_it() -> None:
    front = Device("BS EN 61008", rcd_type="A", rcd_ma=100.0, rcd_delay="S")
    boards = (Board("db1", rcd=front), Board("db2", fed_by="f1"))
    time = read("rcd", "db1", "210", method="x1")
    v = visit(read("zdb", "db2", "86.0"), time, boards=boards, circuits=(FEEDER,), supply=TT)
    assert row(v, "db2", "zdb").outcome == "meets"
    untested = visit(read("zdb", "db2", "86.0"), boards=boards, circuits=(FEEDER,), supply=TT)
    assert row(untested, "db2", "zdb").outcome == "not decided"
    bare = visit(read("zdb", "db2", "86.0"), boards=SUB, circuits=(FEEDER,), supply=TT)
    assert row(bare, "db2", "zdb").outcome == "no rule", (
        "no current of a 63 A fuse is tabulated for the 1 s of a TT feeder"
    )


@pytest.mark.parametrize(
    ("system", "digits", "outcome"),
    [
        ("TN-C-S", "0.35", "meets"),
        ("TN-C-S", "0.41", "not decided"),  # tell the distributor; no limit of the rules
        ("TN-C-S", "1.75", "not decided"),
        ("TN-C-S", "1.76", "fails"),  # five times 0.35: no earth of metal
        ("TN-S", "0.81", "not decided"),
        ("TN-S", "14.0", "fails"),
        ("TN-S", "over-range", "fails"),
    ],
)
def test_ze_above_a_usual_value_is_told_and_no_earth_fails(system: str, digits: str, outcome: str) -> None:
    v = visit(off("earthing"), read("ze", "origin", digits, method="two-lead"), on("earthing"), supply=Supply(system))
    found = row(v, "origin", "ze")
    assert found.outcome == outcome
    assert ("ze.limit" in families(found)) is (outcome != "meets")


@pytest.mark.parametrize(("u0_v", "ruled"), [(55.0, False), (63.5, False), (63.0, True), (230.0, True)])
def test_reduced_low_voltage_is_not_judged_by_the_rules_of_230_v(u0_v: float, ruled: bool) -> None:
    v = visit(read("zs", "c1", "0.42"), circuits=(evolve(C1, device=PLAIN),), supply=Supply("TN-S", u0_v=u0_v))
    found = row(v, "c1", "zs")
    assert (found.outcome != "no rule") is ruled
    assert ("411.8" in found.words) is not ruled


def test_a_reversed_supply_is_danger_now() -> None:
    bad = read("polarity", "origin", outcome="bad")
    (finding,) = row(visit(bad), "origin", "polarity").findings
    assert finding.severity.value == "stop"
    assert "tell the distributor at once" in finding.do
    (own,) = row(visit(evolve(bad, of="c1"), circuits=(C1,)), "c1", "polarity").findings
    assert "distributor" not in own.do
