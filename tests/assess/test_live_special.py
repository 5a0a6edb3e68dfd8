"""Special locations and supplementary bonding."""

from __future__ import annotations

import datetime as dt

import pytest
from attrs import evolve
from live_visit import B32, families, read, row, rows, visit

from earthwright.site.installation import Board, Circuit, Device, Supply

RCBO = Device("BS EN 61009", "B", 32.0, rcd_type="A", rcd_ma=30.0)
C1 = Circuit("c1", "db1", use="sockets", device=RCBO)


def special(**changes):
    return row(visit(circuits=(evolve(C1, **changes),)), "c1", "special location")


def test_a_bathroom_shows_its_rules_with_clause_and_where_they_are_from_memory() -> None:
    found = special(location="bathroom")
    assert found.outcome == "meets"
    assert "701.415.2" in found.words
    assert "from memory" in found.words
    assert "at most 1667 Ω" in found.words
    assert any(line.startswith("701.415.2") for line in found.sums)


def test_no_residual_current_device_in_a_bathroom_fails_when_the_device_is_known() -> None:
    found = special(location="701", device=B32)
    assert found.outcome == "fails"
    assert "special.rcd" in families(found)
    assert special(location="701", device=Device()).outcome == "not decided"
    board = Board("db1", rcd=Device(rcd_type="A", rcd_ma=30.0))
    v = visit(circuits=(evolve(C1, location="701", device=B32),), boards=(board,))
    assert row(v, "c1", "special location").outcome == "meets"


@pytest.mark.parametrize(
    ("use", "rating", "ma", "outcome"),
    [
        ("sockets", 32.0, 30.0, "meets"),
        ("sockets", 32.0, 100.0, "fails"),
        ("sockets", 40.0, 100.0, "meets"),
        ("sockets", 40.0, 300.0, "fails"),
        ("fixed", 40.0, 300.0, "meets"),
        ("fixed", 40.0, 500.0, "fails"),
        ("final", 40.0, 30.0, "not decided"),
    ],
)
def test_agricultural_premises_ask_by_use_and_rating(use: str, rating: float, ma: float, outcome: str) -> None:
    farm = evolve(C1, location="farm", use=use, device=evolve(RCBO, rating_a=rating, rcd_ma=ma))
    bonded = read("supplementary", "c1", "0.02", point="stall to trough")
    assert row(visit(bonded, circuits=(farm,)), "c1", "special location").outcome == outcome


@pytest.mark.parametrize("location", ["702", "704", "708", "709", "721", "722", "outdoors", "outbuilding"])
def test_every_location_in_the_data_has_words(location: str) -> None:
    found = special(location=location)
    assert len(found.words) > 40
    assert found.point == location


def test_a_charging_point_is_a_special_location_by_its_use() -> None:
    found = special(use="charging point")
    assert found.outcome == "not decided", "the type of its device and the guard against a lost PEN are asked for too"
    assert "722.411.4.1" in found.words


@pytest.mark.parametrize(
    ("rcd_type", "detected", "outcome"),
    [("AC", False, "fails"), ("AC", True, "fails"), ("A", False, "not decided"), ("A", True, "meets"), ("F", False, "not decided"),
     ("F", True, "meets"), ("B", False, "meets"), ("", False, "not decided")],
)  # fmt: skip
def test_a_charging_point_asks_for_a_type_that_smooth_current_does_not_blind(rcd_type, detected, outcome) -> None:
    device = evolve(RCBO, rcd_type=rcd_type, rdc_dd=detected)
    found = special(use="charging point", device=device, open_pen="detector")
    assert found.outcome == outcome
    assert "722.531.3.101" in found.words or outcome == "not decided"
    assert special(use="sockets", location="garden", device=device).outcome == "no rule", "no rule on types elsewhere"


@pytest.mark.parametrize(
    ("location", "guard", "supply", "outcome"),
    [
        ("722", "", Supply("TN-C-S", True), "not decided"),
        ("722", "", Supply("TN-C-S"), "not decided"),  # PME unless it is said that it is not
        ("722", "detector", Supply("TN-C-S", True), "meets"),
        ("722", "not outdoors", Supply("TN-C-S", True), "meets"),
        ("722", "own electrode", Supply("TN-C-S", True), "meets"),
        ("722", "", Supply("TN-C-S", False), "meets"),
        ("722", "", Supply("TN-S"), "meets"),
        ("708", "", Supply("TN-C-S", True), "not decided"),
        ("708", "detector", Supply("TN-C-S", True), "fails"),
        ("708", "own electrode", Supply("TN-C-S", True), "meets"),
        ("708", "", Supply("TT"), "meets"),
        ("709", "balanced load", Supply("TN-C-S", True), "fails"),
        ("704", "", Supply("TN-C-S", True), "not decided"),
        ("701", "", Supply("TN-C-S", True), "meets"),
    ],
)
def test_a_pme_earth_needs_its_guard_there(location: str, guard: str, supply: Supply, outcome: str) -> None:
    device = evolve(RCBO, rcd_type="B")
    v = visit(circuits=(evolve(C1, location=location, device=device, open_pen=guard),), supply=supply)
    assert row(v, "c1", "special location").outcome == outcome


def test_bonding_that_a_location_asks_for_in_any_case_is_shown_by_a_reading() -> None:
    pool = (evolve(C1, location="pool"),)
    assert row(visit(circuits=pool), "c1", "special location").outcome == "not decided"
    read_there = visit(read("supplementary", "c1", "0.05", point="ladder to reinforcement"), circuits=pool)
    assert row(read_there, "c1", "special location").outcome == "meets"


def test_an_unknown_location_is_no_rule_and_said_so() -> None:
    found = special(location="on the moon")
    assert found.outcome == "no rule"
    assert "on the moon" in found.words
    assert "701" in found.words


def test_no_location_no_row() -> None:
    assert rows(visit(circuits=(C1,)), "c1", "special location") == []


def test_without_an_edition_there_is_no_rule() -> None:
    v = visit(circuits=(evolve(C1, location="701"),), date=dt.date(1999, 1, 1))
    assert row(v, "c1", "special location").outcome == "no rule"
    v = visit(circuits=(evolve(C1, location="nowhere"),), date=dt.date(1999, 1, 1))
    assert row(v, "c1", "special location").outcome == "no rule"


def between_parts(digits: str, device: Device, **more):
    v = visit(
        read("supplementary", "c1", digits, point="tap to radiator"), circuits=(evolve(C1, device=device),), **more
    )
    return row(v, "c1", "supplementary")


def test_supplementary_bonding_by_the_residual_current_is_a_weak_criterion_and_said_so() -> None:
    found = between_parts("0.05", RCBO)
    assert found.outcome == "meets"
    assert "weak criterion" in found.words
    assert found.judged[0].limit is not None
    assert found.judged[0].limit.value == pytest.approx(50 / 0.030)


def test_without_one_the_overcurrent_device_for_5_s_decides() -> None:
    # B 32 A: 160 A, 0.3125 Ω; BS 3036 30 A for 5 s: 0.95 × 230 / 2.51 = 87 A, 0.574 Ω
    assert between_parts("0.30", B32).outcome == "meets"
    bad = between_parts("0.32", B32)
    assert bad.outcome == "fails"
    assert "supplementary.limit" in families(bad)
    fuse = between_parts("0.50", Device("BS 3036", "", 30.0))
    assert fuse.judged[0].limit is not None
    assert fuse.judged[0].limit.value == pytest.approx(0.574, abs=0.0005)
    assert between_parts("0.30", Device()).outcome == "no rule"


def test_a_reason_for_no_reading_is_kept() -> None:
    v = visit(read("supplementary", "c1", absent="LIM", note="behind tiles"), circuits=(C1,))
    assert row(v, "c1", "supplementary").absent == "LIM"


def test_leads_that_were_not_allowed_for_decide_nothing() -> None:
    v = visit(read("supplementary", "c1", "0.05", point="tap to radiator"), circuits=(evolve(C1, device=B32),))
    (event,) = v.events
    unknown = evolve(v, events=(evolve(event, leads=""),))
    found = row(unknown, "c1", "supplementary")
    assert found.outcome == "not decided"
    assert "cannot be corrected" in found.words
