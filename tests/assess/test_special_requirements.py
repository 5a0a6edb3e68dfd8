"""Special locations as lists of requirements, and what supplementary bonding in a bathroom lets off."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve

from earthwright.assess import assess
from earthwright.outcomes.circuits import Requirement
from earthwright.report.observations import propose
from earthwright.site.events import Event, LeadCheck, Look, Reading
from earthwright.site.installation import Bond, Circuit, Device, Part, Supply

from .live_visit import B32, off, on, read, row, shown, visit

PME = Supply("TN-C-S", True, neutral_csa_mm2=35)
RCBO = Device("BS EN 61009", "B", 32.0, rcd_type="A", rcd_ma=30.0)
LIGHTS = Circuit("li", "db1", use="lighting", device=Device("BS EN 60898", "B", 6.0), location="bathroom")
SHOWER = Circuit("sh", "db1", use="shower", device=RCBO, location="bathroom")
BARE_FAN = evolve(LIGHTS, id="fan", use="fixed")


def asked(circuit: Circuit, *events: Event, others: tuple[Circuit, ...] = ()) -> dict[str, Requirement]:
    t = row(visit(*events, supply=PME, circuits=(circuit, *others)), circuit.id, "special location")
    return {r.what: r for r in t.asked}


def test_a_bathroom_is_a_list_of_requirements_each_with_its_outcome() -> None:
    found = asked(LIGHTS)
    rcd = next(r for r in found.values() if r.clause == "701.411.3.3")
    assert rcd.outcome == "fails"
    assert found["supplementary bonding"].outcome == "not decided"
    assert "li has no device of 30 mA" in found["supplementary bonding"].why
    assert {found[x].outcome for x in ("socket-outlets", "zone 0")} == {"not stated"}


def test_with_30_ma_everywhere_bonding_may_be_left_out_and_who_confirms_that_is_said() -> None:
    found = asked(SHOWER)["supplementary bonding"]
    assert found.outcome == "not stated"
    assert "for you to confirm" in found.why
    assert asked(SHOWER, others=(LIGHTS,))["supplementary bonding"].outcome == "not decided"
    elsewhere = evolve(LIGHTS, location="kitchen")
    assert asked(SHOWER, others=(elsewhere,))["supplementary bonding"].outcome == "not stated"
    delayed = evolve(SHOWER, device=evolve(RCBO, rcd_delay="S"))
    assert asked(delayed)["supplementary bonding"].outcome == "not decided"


def test_bonding_that_was_read_under_any_circuit_of_the_room_counts() -> None:
    there = read("supplementary", "sh", "0.03", point="bath to radiator")
    assert asked(LIGHTS, there, others=(SHOWER,))["supplementary bonding"].outcome == "meets"


def test_a_pool_asks_for_bonding_in_any_case() -> None:
    pool = asked(evolve(SHOWER, location="pool"))
    assert pool["supplementary bonding"].outcome == "not decided"
    assert "in any case" in pool["supplementary bonding"].why


def test_what_is_only_seen_is_told_as_not_stated() -> None:
    words = row(visit(supply=PME, circuits=(SHOWER,)), "sh", "special location").words
    assert "Not stated, for your own eyes: " in words
    assert "zone 0" in words.rpartition("Not stated")[2]


# ---- the customary acquittal ----


def bath_codes(*events: Event, circuits: tuple[Circuit, ...] = (LIGHTS,), **site: Any) -> dict[str, str]:
    v = visit(*events, supply=PME, circuits=circuits)
    a = assess(evolve(v, site=evolve(v.site, **site)))
    return {p.about: p.code for p in propose(a) if p.name == "test.special location"}


GOOD = read("supplementary", "li", "0.03", point="bath to radiator")


def test_bonding_that_was_read_makes_a_missing_device_c3() -> None:
    assert bath_codes() == {"li": "C2"}
    assert bath_codes(GOOD) == {"li": "C3"}


def test_it_does_so_for_every_circuit_of_the_room_and_for_no_other_room() -> None:
    assert bath_codes(GOOD, circuits=(LIGHTS, BARE_FAN)) == {"li": "C3", "fan": "C3"}
    elsewhere = evolve(BARE_FAN, location="wet room")
    assert bath_codes(GOOD, circuits=(LIGHTS, elsewhere)) == {"li": "C3", "fan": "C2"}


# Ia of a B6 for 5 s is 30 A: 50/30 = 1.667 Ω (415.2.2).
@pytest.mark.parametrize(("ohm", "code"), [("1.66", "C3"), ("1.68", "C2")])
def test_bonding_that_does_not_hold_lets_nothing_off(ohm: str, code: str) -> None:
    assert bath_codes(read("supplementary", "li", ohm, point="bath to radiator"))["li"] == code
    assert bath_codes(GOOD, read("supplementary", "li", ohm, point="bath to basin"))["li"] == code


# 9 m of 10 mm² are 0.017 Ω: 0.60 Ω by the conductor alone is no whole bond.
@pytest.mark.parametrize(("conductor", "code"), [("0.02", "C3"), ("0.60", "C2")])
def test_a_main_bond_that_is_broken_lets_nothing_off(conductor: str, code: str) -> None:
    checks = [
        LeadCheck(seq=0, leads="short", kind=k, shown=shown(d, "Ω")) for k, d in (("shorted", "0.00"), ("open", "2000"))
    ]
    steps = (
        off("water"),
        _bond("conductor", conductor),
        _bond("path", "2000"),
        on("water"),
        _bond("together", conductor),
    )
    water = {"parts": (Part("water", "water"),), "bonds": (Bond("water", "water", 10, 9, 1),)}
    assert bath_codes(GOOD, *checks, *steps, checks[0], **water) == {"li": code}


def _bond(test: str, digits: str) -> Reading:
    return Reading(seq=0, id="", test=test, of="water", shown=shown(digits, "Ω"), instrument="exact", leads="short")


# ---- a lost PEN, and sections that ask for 30 mA ----


@pytest.mark.parametrize("location", ["722", "708", "709", "704"])
def test_nothing_that_guards_against_a_lost_pen_fails(location: str) -> None:
    c = Circuit("c1", "db1", use="sockets", device=evolve(RCBO, rcd_type="B"), location=location, open_pen="none")
    assert row(visit(supply=PME, circuits=(c,)), "c1", "special location").outcome == "fails"
    assert row(visit(supply=Supply("TN-S"), circuits=(c,)), "c1", "special location").outcome == "meets"


@pytest.mark.parametrize(
    "location", ["703", "711", "721", "740", "753", "sauna", "exhibition", "caravan", "fair", "underfloor heating"]
)
@pytest.mark.parametrize(("ma", "outcome"), [(29.9, "meets"), (30.0, "meets"), (30.1, "fails")])
def test_more_locations_ask_for_30_ma(location: str, ma: float, outcome: str) -> None:
    c = Circuit("c1", "db1", use="fixed", device=evolve(RCBO, rcd_ma=ma), location=location)
    assert row(visit(supply=PME, circuits=(c,)), "c1", "special location").outcome == outcome


def test_a_socket_on_a_farm_without_a_device_fails() -> None:
    c = Circuit("c1", "db1", use="sockets", device=B32, location="farm")
    assert row(visit(supply=PME, circuits=(c,)), "c1", "special location").outcome == "fails"


# ---- what was seen ----


def seen(topic: str, holds: bool | None, place: str = "bathroom", what: str = "seen by eye") -> Look:
    return Look(seq=0, what=f"{place}: {topic}", seen=what, holds=holds)


@pytest.mark.parametrize(
    ("holds", "outcome"), [((True,), "meets"), ((False,), "fails"), ((None,), "not decided"), ((False, True), "meets")]
)
def test_a_look_answers_a_requirement_for_the_whole_place_and_the_latest_counts(
    holds: tuple[bool | None, ...], outcome: str
) -> None:
    looks = [seen("zone 0", h) for h in holds]
    for c, other in ((SHOWER, evolve(SHOWER, id="fan")), (evolve(SHOWER, id="fan"), SHOWER)):
        found = asked(c, *looks, others=(other,))
        assert found["zone 0"].outcome == outcome
        assert found["socket-outlets"].outcome == "not stated"
    assert asked(evolve(SHOWER, location="en suite"), *looks)["zone 0"].outcome == "not stated"


def test_a_requirement_that_fails_fails_its_row_and_is_coded_once_for_the_place() -> None:
    fan = evolve(SHOWER, id="fan")
    v = visit(seen("socket-outlets", False, what="socket 1.1 m from the bath"), supply=PME, circuits=(SHOWER, fan))
    assert {row(v, c, "special location").outcome for c in ("sh", "fan")} == {"fails"}
    coded = [
        (p.code, p.about, p.clause) for p in propose(assess(v)) if "socket 1.1 m" in " ".join((p.what, *p.because))
    ]
    assert coded == [("C2", "bathroom", "701.512.3")]


@pytest.mark.parametrize("circuit", [LIGHTS, evolve(SHOWER, location="pool")])
def test_a_look_takes_no_readings_place(circuit: Circuit) -> None:
    assert asked(circuit, seen("supplementary bonding", True, circuit.location))["supplementary bonding"].outcome == (
        "not decided"
    )


def test_bonding_seen_to_fail_fails_whatever_was_read() -> None:
    found = asked(
        SHOWER, read("supplementary", "sh", "0.03", point="bath to tap"), seen("supplementary bonding", False)
    )
    assert found["supplementary bonding"].outcome == "fails"
