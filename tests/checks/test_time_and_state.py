"""Times, instruments, and the ledger against the readings."""

from __future__ import annotations

import datetime as dt

import pytest
from attrs import evolve

from earthwright.assess.checks.series import Series
from earthwright.assess.checks.states import electrodes
from earthwright.site.events import Isolation, Reading
from earthwright.site.installation import Electrode, Site
from earthwright.site.reading import Instrument
from earthwright.site.visit import Visit

from .made import DATE, bond, circuit, found, isolated, look, off, on, read, severities, visit


def timed(*times: str) -> Visit:
    return visit(*(evolve(look(f"thing {i}"), at=t) for i, t in enumerate(times)))


@pytest.mark.parametrize(
    ("times", "loud"),
    [
        (("10:00", "10:05"), None),
        (("10:05", "10:03"), None),  # two watches
        (("10:05", "10:02"), "warning"),
        (("16:00", "12:01"), "warning"),
        (("16:00", "08:30"), "note"),  # the next morning
        (("2026-11-20T16:00", "2026-11-21T08:30"), None),
        (("2026-11-20T16:00", "2026-11-19T16:00"), "warning"),
        (("about ten", "9:30", "9:45"), None),
    ],
)
def test_order(times: tuple[str, ...], loud: str | None) -> None:
    assert severities(timed(*times), "times.order") == ([loud] if loud else [])


def test_two_people_have_an_order_each() -> None:
    both = [("10:00", "A."), ("11:00", "B."), ("10:05", "A."), ("11:05", "B.")]
    assert severities(visit(*(evolve(look(t), at=t, by=by) for t, by in both)), "times.order") == []


@pytest.mark.parametrize(("at", "said"), [("22:59", False), ("23:00", True), ("04:59", True), ("05:00", False)])
def test_night(at: str, said: bool) -> None:
    assert severities(timed(at), "times.night") == (["note"] if said else [])


@pytest.mark.parametrize(("today", "said"), [(DATE, False), (DATE - dt.timedelta(days=1), True), (None, False)])
def test_a_day_that_has_not_come(today: dt.date | None, said: bool) -> None:
    assert severities(visit(), "times.date", today=today) == (["warning"] if said else [])


def test_before_the_last_visit() -> None:
    assert severities(visit(), "times.date", previous=evolve(visit(), date=DATE + dt.timedelta(days=1))) == ["warning"]
    assert severities(visit(), "times.date", previous=evolve(visit(), date=DATE)) == []


@pytest.mark.parametrize(("places", "loud"), [(6, None), (7, "note"), (12, "note"), (13, "warning")])
def test_pace(places: int, loud: str | None) -> None:
    rows = [evolve(read("zs", f"c{i}", f"0.{40 + i}", leads="", method="two-lead"), at="10:15") for i in range(places)]
    v = visit(*rows, circuits=tuple(circuit(f"c{i}") for i in range(places)))
    assert severities(v, "times.pace") == ([loud] if loud else [])


@pytest.mark.parametrize(
    ("valid", "checked", "loud"),
    [
        ("2026-11-20", "2025-11-20", None), ("2026-11-19", "", "warning"), ("", "2026-11-21", "warning"),
        ("", "2025-10-20", None), ("", "2025-10-19", "note"), ("", "", None), ("soon", "lately", None),
    ],
)  # fmt: skip
def test_instrument_period(valid: str, checked: str, loud: str | None) -> None:
    tester = Instrument("tester", valid_until=valid, checked=checked)
    other = Instrument("other", valid_until="2020-01-01")  # not used
    v = visit(read("joint", "water", "0.00"), bonds=(bond("water", 10.0),), instruments=(tester, other))
    assert severities(v, "instrument.period") == ([loud] if loud else [])


def test_taken_off_twice_and_put_back_without_being_off() -> None:
    b = (bond("water", 10.0),)
    assert severities(visit(off("water"), off("water"), on("water"), bonds=b), "ledger.twice") == ["warning"]
    assert severities(visit(on("water"), bonds=b), "ledger.never_off") == ["warning"]
    good = visit(off("water"), on("water"), off("water"), on("water"), bonds=b)
    assert severities(good, "ledger.twice") == []
    assert severities(good, "ledger.never_off") == []


def test_energised_while_something_is_off() -> None:
    b, c = (bond("water", 10.0),), (circuit("c1"),)
    restored = Isolation(seq=0, stage="restored")
    zs = read("zs", "c1", "0.50", leads="", method="two-lead")
    assert severities(visit(*isolated(), off("water"), restored, on("water"), bonds=b), "ledger.live") == ["stop"]
    assert severities(visit(off("water"), zs, on("water"), bonds=b, circuits=c), "ledger.live") == ["stop"]
    assert severities(visit(off("water"), on("water"), restored, zs, bonds=b, circuits=c), "ledger.live") == []
    # a load that is unplugged and a device that is off leave nothing open that anybody relies on
    assert severities(visit(off("c1:loads"), off("c1:device"), zs, circuits=c), "ledger.live") == []
    assert severities(visit(off("c1:cpc"), zs, circuits=c), "ledger.live") == ["stop"]


def test_dead_and_live_tests_against_the_supply() -> None:
    c = (circuit("c1"),)
    zs, r1r2 = read("zs", "c1", "0.50", leads="", method="two-lead"), read("r1r2", "c1", "0.30")
    restored = Isolation(seq=0, stage="restored")
    assert severities(visit(*isolated(), zs, circuits=c), "state.supply") == ["note"]
    assert severities(visit(restored, r1r2, circuits=c), "state.supply") == ["note"]
    assert severities(visit(*isolated(), r1r2, restored, zs, circuits=c), "state.supply") == []
    assert severities(visit(r1r2, zs, circuits=c), "state.supply") == []


def test_what_was_put_back_is_verified_or_said() -> None:
    b = (bond("water", 10.0),)
    assert severities(visit(off("water"), on("water"), bonds=b), "ledger.unverified") == ["note"]
    assert severities(visit(off("water"), on("water"), look("water"), bonds=b), "ledger.unverified") == []


def test_an_electrode_value_without_its_state() -> None:
    for method, said in (("", True), ("rod alone", False), ("with bonds", False)):
        reading = Reading(seq=1, id="r1", test="electrode", of="rod", shown=read("ze", "x", "38").shown, method=method)
        v = Visit(Site("made", electrodes=(Electrode("rod"),)), DATE, events=(reading,))
        assert bool(electrodes(Series(v))) is said


def test_found_is_empty_for_an_empty_visit() -> None:
    assert found(visit(), "times.order") == []
