"""Danger that is there now: signs of a lost neutral, current that stays after isolation, and what silences them."""

from __future__ import annotations

import datetime as dt

import pytest
from live_visit import clamp, isolated, judge, visit, volts

from earthwright.assess import assess
from earthwright.assess.circuits.alarm import load_is_on
from earthwright.site.events import Repair
from earthwright.site.installation import Bond, Part, Site, Supply
from earthwright.site.visit import Visit

ON, OFF = "7 kW heater on", "heater off"


def alarms(*events, **choices):
    return judge(visit(*events, supply=Supply("TN-C-S"), **choices)).alarms


def test_a_sound_supply_raises_nothing() -> None:
    assert alarms(volts("L-N", "238", ON), volts("MET to true earth", "2", ON), clamp("water", "0.30", ON)) == ()
    assert alarms() == ()
    assert alarms(clamp("water", "0.90", ON), clamp("water", "0.05", OFF)) == ()


def test_one_sign_asks_for_the_others_and_holds_every_disconnection() -> None:
    (found,) = alarms(volts("L-N", "205", ON))
    assert found.kind == "sign of a lost supply neutral"
    assert found.blocks
    assert any("true earth" in step for step in found.do)
    (follows,) = alarms(clamp("water", "6.20", ON), clamp("water", "0.40", OFF))
    assert follows.kind == "sign of a lost supply neutral"
    assert "water 6.2 A with the load and 0.4 A without" in follows.because[0]


def test_two_signs_are_danger_now() -> None:
    (found,) = alarms(volts("L-N", "205", ON), clamp("water", "6.20", ON), clamp("water", "0.40", OFF))
    assert found.kind == "lost supply neutral"


def test_a_voltage_on_the_met_is_danger_by_itself() -> None:
    (found,) = alarms(volts("MET–true earth", "60"))
    assert found.kind == "lost supply neutral"


def test_a_voltage_that_stays_with_the_load_off_is_a_neighbours_and_danger_too() -> None:
    (found,) = alarms(volts("MET to true earth", "70", "main switch off"))
    assert found.kind == "lost supply neutral"
    (low,) = alarms(volts("L-N", "180", "heater off"), volts("L-N", "230", ON))
    assert low.kind == "sign of a lost supply neutral"
    assert "230 V with the load, 180 V without it" in low.because[0]


BEFORE = (volts("L-N", "89", ON), volts("MET to true earth", "141", ON), clamp("water", "11.8", ON))
AFTER = (volts("L-N", "236", ON), volts("MET to true earth", "1", ON), clamp("water", "0.20", ON))


def test_a_failing_neutral_comes_and_goes_so_only_a_repair_and_readings_after_it_end_the_alarm() -> None:
    mended = Repair(seq=0, what="origin", remade="the distributor's joint in the street")
    assert alarms(*BEFORE)
    assert alarms(*BEFORE, *AFTER)[0].kind == "lost supply neutral"
    assert alarms(*BEFORE, mended)[0].kind == "lost supply neutral"  # nothing was measured since
    assert alarms(*BEFORE, mended, *AFTER) == ()


def test_current_from_outside_that_went_down_again_is_no_less_danger() -> None:
    events = (isolated(), clamp("gas", "4.20"), clamp("gas", "0.20"))
    assert alarms(*events)[0].kind == "current after isolation"
    mended = Repair(seq=0, what="origin", remade="the neighbour's neutral")
    assert alarms(*events[:2], mended, events[2]) == ()


@pytest.mark.parametrize("between", ["N-E", "neutral to earth", "E/N", "Neutral–Earth"])
def test_a_neutral_that_is_not_at_earth_is_a_sign(between: str) -> None:
    assert alarms(volts(between, "60"))[0].kind == "sign of a lost supply neutral"
    assert alarms(volts(between, "3")) == ()


def test_a_line_to_earth_out_of_its_range_is_a_sign_and_dead_conductors_are_none() -> None:
    assert alarms(volts("L-E", "171"))[0].kind == "sign of a lost supply neutral"
    assert alarms(isolated(), volts("L-E", "0"), volts("L-N", "0")) == ()
    assert alarms(isolated(), volts("N-E", "40"))


def test_the_load_in_words_gives_the_sum() -> None:
    (found,) = alarms(
        volts("L-N", "89", ON),
        volts("MET to true earth", "141", ON),
        clamp("water", "11.8", ON),
        clamp("water", "0.00", OFF),
    )
    text = " ".join(found.because)
    assert "7.56 Ω" in text
    assert "= 141 V, 11.8 A, and 89 V" in text
    without = " ".join(
        alarms(volts("MET to true earth", "141", "heater on"), clamp("water", "11.8", "heater on"))[0].because
    )
    assert "11.9 Ω earths the terminal" in without
    assert "7.56" not in without


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("7 kW heater on", True),
        ("main switch off", False),
        ("after isolation", False),
        ("shower running", True),
        ("3 kW off", False),
        ("", None),
        ("morning", None),
    ],
)
def test_words_about_the_load(text: str, expected: bool | None) -> None:
    assert load_is_on(text) is expected


def test_current_that_stays_after_isolation_locks_and_offers_the_parallel_conductor() -> None:
    (found,) = alarms(
        clamp("gas", "6.40"),
        clamp("water", "0.30"),
        clamp("earthing", "6.60"),
        clamp("gas", "6.20", "main switch off"),
        clamp("water", "0.30", "main switch off"),
        clamp("earthing", "6.40", "main switch off"),
        clamp("gas", "9.10", "main switch off, twenty minutes later"),
        volts("L-N", "238"),
    )
    assert found.kind == "current after isolation"
    assert found.blocks
    text = " ".join(found.because)
    assert "gas: 9.10 A" in text
    assert "6.40 A before" in text
    assert "water" not in text
    assert any("run the new conductor first" in step for step in found.do)
    assert any("distributor" in step for step in found.do)


def test_the_limit_of_the_firm_counts() -> None:
    events = (isolated(), clamp("gas", "2.50"))
    assert alarms(*events)
    assert alarms(*events, clamp_stop_a=3.0) == ()


def test_one_load_off_is_not_the_installation_off() -> None:
    assert alarms(clamp("gas", "2.50", "heater off")) == ()
    assert alarms(isolated(), isolated("restored"), clamp("gas", "2.50", "heater off")) == ()


def test_without_an_edition_the_danger_is_seen_all_the_same() -> None:
    v = visit(volts("L-N", "89", ON), volts("MET to true earth", "141", ON), date=dt.date(1999, 1, 1))
    assert judge(v).alarms[0].kind == "lost supply neutral"


def test_no_bond_is_offered_for_opening_while_an_alarm_stands() -> None:
    base = visit(clamp("gas", "0.10"), isolated(), clamp("water", "3.20", "main switch off"))
    site = Site(
        "invented",
        Supply("TN-C-S", pme=True),
        parts=(Part("gas", "gas"), Part("water", "water")),
        bonds=(Bond("gas", "gas", 10.0, 12.0, 1.0), Bond("water", "water", 10.0, 9.0, 1.0)),
    )
    a = assess(Visit(site, base.date, events=base.events))
    assert [x.kind for x in a.alarms] == ["current after isolation"]
    for b in a.bonds:
        assert b.next is not None
        assert b.next.blocked
