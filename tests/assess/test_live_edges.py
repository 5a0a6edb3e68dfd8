"""Edges of the live tests: entries that could not be read, no edition of the rules, the guarded decision, and over-range."""

from __future__ import annotations

import datetime as dt

import pytest
from attrs import evolve
from live_visit import B32, EXACT, off, read, row, rows, visit

from earthwright.base.errors import Finding, Severity
from earthwright.site.installation import Board, Circuit, Device, Electrode, Supply
from earthwright.site.reading import Accuracy, Instrument

RCBO = Device("BS EN 61009", "B", 32.0, 6.0, rcd_type="A", rcd_ma=30.0)
C1 = Circuit("c1", "db1", use="sockets", device=B32, line_mm2=2.5, cpc_mm2=1.5)
NO_EDITION = dt.date(1999, 1, 1)
REFUSED = (Finding("step 3", "These are not digits.", Severity.ERROR, "input.digits"),)


def test_a_row_with_an_entry_that_could_not_be_read_never_meets_its_limit() -> None:
    v = visit(read("zs", "c1", "0.60"), read("zs", "c1", refused=REFUSED), circuits=(C1,))
    zs = row(v, "c1", "zs")
    assert all(j.outcome == "meets" for j in zs.judged)
    assert zs.outcome == "not decided"
    assert "1 of its entries could not be read" in zs.words
    bad = row(visit(read("zs", "c1", "2.60"), read("zs", "c1", refused=REFUSED), circuits=(C1,)), "c1", "zs")
    assert bad.outcome == "fails"


def test_only_entries_that_could_not_be_read_decide_nothing() -> None:
    zs = row(visit(read("zs", "c1", refused=REFUSED), circuits=(C1,)), "c1", "zs")
    assert (zs.outcome, zs.reason) == ("not decided", "the entry could not be read")
    button = row(visit(read("rcd button", "c1", refused=REFUSED), circuits=(C1,)), "c1", "rcd button")
    assert button.outcome == "not decided"
    empty = visit(read("zs", "c1"), circuits=(C1,))
    assert rows(empty, "c1", "zs") == []


def test_the_guarded_decision_asks_for_the_whole_interval() -> None:
    rough = Instrument("exact", accuracy=(("loop", Accuracy(5.0, 5.0, 0.01, 2000.0)), *EXACT.accuracy[1:]))

    def first(digits: str, decision: str) -> str:
        c = evolve(C1, conductor_c=20.0)
        v = visit(read("zs", "c1", digits), circuits=(c,), instrument=rough, decision=decision)
        return row(v, "c1", "zs").judged[0].outcome

    assert first("1.30", "simple") == "meets"
    assert first("1.30", "guarded") == "not decided"
    assert first("1.20", "guarded") == "meets"
    assert first("1.55", "guarded") == "fails"


def test_over_range_below_the_limit_proves_no_failure() -> None:
    """A display that ends at 20 Ω says nothing about a limit of 1667 Ω."""
    short = Instrument("exact", accuracy=(("loop", Accuracy(3.0, 2.0, 0.01, 20.0)), *EXACT.accuracy[1:]))
    v = visit(read("zs", "c1", ">20.0"), circuits=(evolve(C1, device=RCBO),), supply=Supply("TT"), instrument=short)
    assert row(v, "c1", "zs").outcome == "not decided"
    long = visit(read("zs", "c1", "over-range"), circuits=(evolve(C1, device=RCBO),), supply=Supply("TT"))
    assert row(long, "c1", "zs").outcome == "fails"
    none = visit(read("zs", "c1", "over-range"), circuits=(evolve(C1, device=Device()),))
    assert row(none, "c1", "zs").outcome == "no rule"


def test_below_a_digit_is_held_as_an_inequality() -> None:
    zs = row(visit(read("zs", "c1", "<0.01"), circuits=(C1,)), "c1", "zs")
    assert zs.corrected is not None
    assert zs.corrected.quantity is None
    assert zs.outcome == "meets"


@pytest.mark.parametrize("phases", [1, 3])
def test_fault_current_without_an_edition_is_held_against_the_mark_alone(phases: int) -> None:
    board = Board("db1", phases=phases)
    events = [off("earthing"), read("ze", "origin", "0.20"), read("fault current", "origin", "1.15", between="L-E")]
    events += [read("fault current", "db1", "1.90", between="L-L" if phases == 3 else "L-N")]
    supply = Supply("TN-S", phases=phases, fuse_a=100.0)
    v = visit(*events, circuits=(C1,), boards=(board,), supply=supply, date=NO_EDITION)
    assert row(v, "db1", "fault current").judged[0].outcome == "meets"
    assert row(v, "origin", "fault current").inside is True
    assert row(v, "origin", "ze").outcome == "no rule"
    high = visit(
        read("fault current", "db1", "8.00", between="L-N"),
        circuits=(C1,),
        boards=(board,),
        supply=supply,
        date=NO_EDITION,
    )
    assert row(high, "db1", "fault current").outcome == "fails"


def test_the_devices_that_decide_are_named() -> None:
    strong, weak = evolve(C1, id="c2", device=evolve(B32, breaking_ka=10.0)), evolve(C1, id="c3")
    v = visit(read("fault current", "db1", "7.00", between="L-N"), circuits=(strong, weak))
    (judged,) = row(v, "db1", "fault current").judged
    assert judged.limit is not None
    assert judged.limit.what == "breaking capacity of c3"


def test_a_reading_without_its_path_counts_and_says_so() -> None:
    found = row(visit(read("fault current", "db1", "1.00"), circuits=(C1,)), "db1", "fault current")
    assert found.sums[0].startswith("path not said")


def test_an_rcd_without_data_for_the_older_set_is_judged_by_the_one_there_is() -> None:
    """In a TT system without an edition the residual device has no rule, and nothing is guessed."""
    v = visit(
        read("zs", "c1", "30.0"),
        read("rcd", "c1", "24.0", method="x1"),
        circuits=(evolve(C1, device=RCBO),),
        supply=Supply("TT"),
        date=NO_EDITION,
    )
    assert row(v, "c1", "zs").outcome == "no rule"
    assert row(v, "c1", "rcd").outcome == "no rule"


def test_a_no_trip_reading_without_an_edition_has_no_known_uplift() -> None:
    v = visit(
        off("earthing"),
        read("ze", "origin", "0.20"),
        read("r1r2", "c1", "0.40"),
        read("zs", "c1", "0.90", method="no-trip"),
        circuits=(evolve(C1, device=RCBO),),
        date=NO_EDITION,
    )
    assert "loops.ceiling" in {f.family for f in row(v, "c1", "zs").findings}


def test_a_stake_that_showed_nothing_decides_nothing() -> None:
    events = [off("earthing")]
    events += [
        read("electrode", "rod", d, method="stakes", point=p)
        for d, p in (("0.00", "nearer"), ("20.0", "middle"), ("over-range", "farther"))
    ]
    v = visit(*events, supply=Supply("TT"), electrodes=(Electrode("rod"),), boards=(Board("db1", rcd=RCBO),))
    found = row(v, "rod", "electrode")
    assert found.outcome == "not decided"
    assert "showed no value" in found.words


def test_drop_without_rating_or_table_or_edition() -> None:
    base = evolve(C1, length_m=20.0, length_tol_m=0.0, design_a=16.0)
    bare = evolve(base, design_a=None, device=Device())
    assert rows(visit(circuits=(bare,)), "c1", "voltage drop") == []
    strange = evolve(base, cable="made of string")
    own = evolve(base, cable="")
    a, b = (row(visit(circuits=(c,)), "c1", "voltage drop").value for c in (strange, own))
    assert a == b
    # the conductors of 2004 are known on that day, the wiring rules of it are not
    assert row(visit(circuits=(base,), date=dt.date(2005, 1, 1)), "c1", "voltage drop").outcome == "no rule"
    assert rows(visit(circuits=(evolve(base, line_mm2=3.3),)), "c1", "voltage drop") == []


def test_a_device_to_propose_that_cannot_be_judged_either_is_said() -> None:
    curve = ((10.0, 20.0), (60.0, 5.0), (200.0, 1.0))
    weak = evolve(C1, cpc_mm2=0.5, device=Device("BS 3036", "", 30.0, curve=curve))
    found = row(visit(read("zs", "c1", "2.00"), circuits=(weak,)), "c1", "adiabatic")
    assert found.outcome == "fails"
    (finding,) = found.findings
    assert "BS EN 61009 B32 instead: not decided" in finding.do
    nameless = evolve(weak, device=Device("", "", None, curve=curve))
    (finding,) = row(visit(read("zs", "c1", "2.00"), circuits=(nameless,)), "c1", "adiabatic").findings
    assert finding.do == ""


@pytest.mark.parametrize("device", [Device("BS EN 60947-2", "C", 32.0), Device("BS 3036", "", None)])
def test_a_device_without_points_decides_nothing_about_its_conductor(device: Device) -> None:
    v = visit(
        off("earthing"), read("ze", "origin", "0.20"), read("zs", "c1", "0.60"), circuits=(evolve(C1, device=device),)
    )
    assert row(v, "c1", "adiabatic").outcome == "not decided"


def test_the_origin_asks_the_devices_of_its_own_boards_only() -> None:
    feeder = Circuit("f1", "db1", use="distribution", device=Device("BS 88-2", "gG", 63.0, 50.0))
    far = evolve(C1, id="c9", board="db2", device=evolve(B32, breaking_ka=3.0))
    boards = (Board("db1"), Board("db2", fed_by="f1"))
    v = visit(read("fault current", "origin", "5.00", between="L-N"), circuits=(feeder, far), boards=boards)
    found = row(v, "origin", "fault current")
    assert found.outcome == "meets"
    assert found.judged[0].limit is not None
    assert found.judged[0].limit.what == "breaking capacity of f1"
    there = visit(read("fault current", "db2", "5.00", between="L-N"), circuits=(feeder, far), boards=boards)
    assert row(there, "db2", "fault current").outcome == "fails"


def test_between_parts_the_device_that_opens_first_counts() -> None:
    board = Board("db1", rcd=Device(rcd_type="A", rcd_ma=100.0))
    v = visit(read("supplementary", "c1", "600", point="a"), circuits=(evolve(C1, device=RCBO),), boards=(board,))
    assert row(v, "c1", "supplementary").outcome == "meets"
    only = visit(read("supplementary", "c1", "600", point="a"), circuits=(C1,), boards=(board,))
    assert row(only, "c1", "supplementary").outcome == "fails"


def test_a_push_of_the_button_that_failed_stands() -> None:
    def pushed(*outcomes: str) -> str:
        events = (read("rcd button", "c1", outcome=o) for o in outcomes)
        return row(visit(*events, circuits=(evolve(C1, device=RCBO),)), "c1", "rcd button").outcome

    assert pushed("bad", "good") == "fails"
    assert pushed("good", "bad") == "fails"


def test_the_newest_current_line_to_neutral_is_the_one_for_the_floor() -> None:
    c = evolve(C1, length_m=40.0, length_tol_m=0.0)
    events = (read("fault current", "origin", d, between="L-N") for d in ("0.50", "1.15"))
    expected = row(visit(*events, read("zs", "c1", "0.60"), circuits=(c,)), "c1", "zs").expected
    assert expected is not None
    assert expected.low == pytest.approx(0.93 * 40 * 7.41e-3 + 0.5 * 230 / 1155, abs=1e-6)


def test_over_range_in_a_tn_system_is_held_against_the_overcurrent_limit() -> None:
    short = Instrument("exact", accuracy=(("loop", Accuracy(3.0, 2.0, 0.01, 20.0)), *EXACT.accuracy[1:]))
    v = visit(read("zs", "c1", ">20.0"), circuits=(evolve(C1, device=RCBO),), instrument=short)
    zs = row(v, "c1", "zs")
    assert zs.outcome == "fails"
    assert zs.judged[0].limit is not None
    assert zs.judged[0].limit.value == 1.37


def test_two_lines_stand_400_v_apart() -> None:
    board = Board("db1", phases=3)
    v = visit(
        read("fault current", "db1", "4.00", between="L-L"),
        read("fault current", "db1", "4.60", between="L-L-L"),
        circuits=(C1,),
        boards=(board,),
        supply=Supply("TN-S", phases=3),
    )
    lines = row(v, "db1", "fault current").sums
    assert lines[0].startswith("L-L: 400 V / 4 kA = 0.100 Ω")
    assert lines[1].startswith("L-L-L: 231 V / 4.6 kA = 0.050 Ω")


def test_that_the_whole_loop_warms_is_said_only_where_ze_is_not_known() -> None:
    bare = row(visit(read("zs", "c1", "0.60"), circuits=(C1,)), "c1", "zs")
    assert any("the whole loop warms" in a for a in bare.assumed)
    known = visit(off("earthing"), read("ze", "origin", "0.20"), read("zs", "c1", "0.60"), circuits=(C1,))
    assert not any("the whole loop warms" in a for a in row(known, "c1", "zs").assumed)


def test_a_breaker_that_just_gets_its_current_opens_at_once() -> None:
    c = evolve(C1, conductor_c=20.0, cable="70 °C thermoplastic")
    # 230 V / 1.4375 Ω = 160 A = 5 × 32 A
    assert row(visit(read("zs", "c1", "1.4375"), circuits=(c,)), "c1", "adiabatic").outcome == "meets"
    assert row(visit(read("zs", "c1", "1.4376"), circuits=(c,)), "c1", "adiabatic").outcome == "not decided"


def test_how_a_ring_is_loaded_is_said() -> None:
    ring = evolve(C1, kind="ring", length_m=60.0, length_tol_m=0.0, design_a=20.0)
    radial = evolve(ring, kind="radial")
    for c, said in ((ring, True), (radial, False)):
        found = row(visit(circuits=(c,)), "c1", "voltage drop")
        assert any("half way round the ring" in a for a in found.assumed) is said
