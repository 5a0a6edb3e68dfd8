"""Special locations and supplementary bonding."""

from __future__ import annotations

import datetime as dt

import pytest
from attrs import evolve
from live_visit import B32, families, read, row, rows, visit

from earthwright.installation import Board, Circuit, Device

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
    found = special(location="farm", use=use, device=evolve(RCBO, rating_a=rating, rcd_ma=ma))
    assert found.outcome == outcome


@pytest.mark.parametrize("location", ["702", "704", "708", "709", "721", "722", "outdoors", "outbuilding"])
def test_every_location_in_the_data_has_words(location: str) -> None:
    found = special(location=location)
    assert len(found.words) > 40
    assert found.point == location


def test_a_charging_point_is_a_special_location_by_its_use() -> None:
    found = special(use="charging point")
    assert found.outcome == "meets"
    assert "722.411.4.1" in found.words


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
