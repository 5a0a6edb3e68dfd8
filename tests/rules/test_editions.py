"""Editions by the day: the day before, of and after each change, what an older edition holds, and days nobody has reviewed."""

from __future__ import annotations

import datetime as dt

import pytest

from earthwright.base.errors import NoRule
from earthwright.rules import RuleBook
from earthwright.rules.circuits import disconnection_time, rcd_limits, rcd_required, special_location
from earthwright.rules.devices import max_zs
from earthwright.rules.documents import observation_code
from earthwright.rules.lookup import WIRING, continuity_guidance

BOOK = RuleBook.load()
DAY = dt.timedelta(days=1)
# First day on which each edition is the one to use, from trade notices on the amendments; what was in force before it.
CHANGES = {
    "2008": ("2008-07-01", "2008"),
    "2008+A1": ("2012-01-01", "2008"),
    "2008+A2": ("2013-08-01", "2008+A1"),
    "2008+A3": ("2015-07-01", "2008+A2"),
    "2018": ("2019-01-01", "2008+A3"),
    "2018+A1": ("2020-08-01", "2018"),
    "2018+A2": ("2022-09-27", "2018+A1"),
    "2018+A2+A3": ("2024-07-31", "2018+A2"),
    "2018+A4": ("2026-10-15", "2018+A2+A3"),
}
# Days between which either may be chosen: first and last.
OVERLAPS = {
    "2008+A1": ("2011-07-01", "2011-12-31"),
    "2008+A3": ("2015-01-05", "2015-06-30"),
    "2018": ("2018-07-02", "2018-12-31"),
    "2018+A1": ("2020-02-01", "2020-07-31"),
    "2018+A2": ("2022-03-28", "2022-09-26"),
    "2018+A4": ("2026-04-15", "2026-10-14"),
}


def edition(name: str):
    return next(e for e in BOOK.of(WIRING) if e.edition == name)


def on(day: str) -> dt.date:
    return dt.date.fromisoformat(day)


@pytest.mark.parametrize("name", CHANGES)
def test_the_day_before_of_and_after_each_edition(name: str) -> None:
    first, before = CHANGES[name]
    assert [BOOK.edition_for(WIRING, on(first) + n * DAY).edition for n in (-1, 0, 1)] == [before, name, name]


def test_every_edition_has_its_days_here() -> None:
    assert [e.edition for e in BOOK.of(WIRING)] == list(CHANGES)


@pytest.mark.parametrize("name", OVERLAPS)
def test_either_may_be_chosen_from_the_first_to_the_last_day_of_an_overlap(name: str) -> None:
    first, last = map(on, OVERLAPS[name])
    _, before = CHANGES[name]
    for day in (first, last):
        assert [e.edition for e in BOOK.editions_open(WIRING, day)] == [before, name]
        assert BOOK.edition_for(WIRING, day, name).edition == name
        assert BOOK.edition_for(WIRING, day).edition == before
    for day in (first - DAY, last + DAY):
        assert len(BOOK.editions_open(WIRING, day)) == 1


# Printed limits [Ω] of 2008 against those from July 2015 on: the older are 230 V over Ia (a textbook, and the article on
# fuses of January 2012 for BS 88-2), the newer 0.95 times that, as the articles on the third amendment say.
@pytest.mark.parametrize(
    ("device", "time_s", "older", "newer"),
    [
        (("BS EN 60898", "B", 6.0), 0.4, 7.67, 7.28),
        (("BS EN 60898", "B", 32.0), 0.4, 1.44, 1.37),
        (("BS EN 61009", "C", 16.0), 0.4, 1.44, 1.37),
        (("BS EN 60898", "D", 32.0), 0.4, 0.36, 0.34),
        (("BS 3036", "", 30.0), 0.4, 1.09, 1.04),
        (("BS 3036", "", 5.0), 0.4, 9.58, 9.10),
        (("BS 1361", "", 30.0), 0.4, 1.15, 1.09),
        (("BS 88-2", "gG", 20.0), 0.4, 1.77, 1.68),
    ],
)
def test_loop_limits_before_and_after_july_2015(
    device: tuple[str, str, float], time_s: float, older: float, newer: float
) -> None:
    limits = [max_zs(edition(e), *device, time_s).value for e in ("2008", "2008+A1", "2008+A2", "2008+A3", "2018")]
    assert limits == pytest.approx([older, older, older, newer, newer], abs=0.006)


@pytest.mark.parametrize(
    ("rating", "first", "later"), [(6.0, 8.52, 8.21), (10.0, 5.11, 4.89), (16.0, 2.70, 2.56), (25.0, 1.44, 1.35)]
)
def test_cartridge_fuses_changed_their_standard_in_2011(rating: float, first: float, later: float) -> None:
    """A magazine of January 2012 prints both columns."""
    assert max_zs(edition("2008"), "BS 88-2", "gG", rating, 0.4).value == pytest.approx(first)
    assert max_zs(edition("2008+A1"), "BS 88-2", "gG", rating, 0.4).value == pytest.approx(later, abs=0.011)


@pytest.mark.parametrize("name", CHANGES)
def test_what_each_edition_asks_for(name: str) -> None:
    e = edition(name)
    seventeenth, before_a2 = name.startswith("2008"), name in ("2018", "2018+A1")
    tests = [(t.multiple, t.must, t.max_ms) for t in rcd_limits(e, "general", 30)]
    old_set = [(0.5, "hold", 0.0), (1.0, "trip", 300.0), (5.0, "trip", 40.0)]
    assert tests == (old_set if seventeenth or before_a2 else [(1.0, "trip", 300.0)])
    cases = {str(r.keys["case"]).split(",")[0]: r for r in rcd_required(e)}
    assert float(cases["socket-outlet"].number("rated_to_a")) == (20 if seventeenth else 32)
    assert ("luminaires in a dwelling" in cases) is not seventeenth
    forty = disconnection_time(e, system="TN-S", u0_v=230, rated_a=40, sockets=True).value
    assert float(forty) == (5 if seventeenth else 0.4), "final circuits up to 63 A with sockets since 2018"
    assert e.has("rcd.types") is not (seventeenth or before_a2)
    assert (continuity_guidance(e, 0.05) is None) is (seventeenth or before_a2)


def test_codes_came_in_2011_and_charging_points_in_2013() -> None:
    with pytest.raises(NoRule):
        observation_code(edition("2008"), "C2")
    assert observation_code(edition("2008+A1"), "C2").flag("unsatisfactory")
    with pytest.raises(NoRule, match="no data for the special location '722'"):
        special_location(edition("2008+A1"), "722")
    assert special_location(edition("2008+A2"), "722")["rcd"]
    for name in CHANGES:
        assert special_location(edition(name), "701")["rcd"][0].value == 30


def test_what_was_not_read_for_an_old_edition_is_from_memory_and_says_where_it_was_taken() -> None:
    row = edition("2018").table("k.values").all()[0]
    assert (row.confidence, row.origin) == ("memory", "2018+A2")
    assert "that it stood so in 2018 is from memory" in row.place
    assert edition("2018+A2").table("k.values").all()[0].confidence == "read"
    # Read of that very edition, and what is no table of the wiring rules at all, stay as they were.
    assert max_zs(edition("2008+A3"), "BS EN 60898", "B", 32, 0.4).confidence == "read"
    assert edition("2008").table("extraneous.thresholds").all()[0].confidence == "read"
    assert edition("2008+A3").table("rcd.times").clause.startswith("612.8.1")
    assert edition("2008").table("overload.ring").clause == "433.1.5"
    assert edition("2008+A3").clause("test.r1r2") == "612.2"
    assert edition("2018").clause("test.r1r2") == "643.2"


def test_after_the_last_reviewed_day_the_newest_edition_goes_on() -> None:
    last = edition("2018+A4").reviewed_until
    for day in (last, last + DAY, dt.date(2099, 1, 1)):
        newest = BOOK.edition_for(WIRING, day)
        assert newest.edition == "2018+A4"
        assert newest.reviewed(day) is (day == last)
        assert newest.titled(day) == newest.title + ("" if day == last else f", not reviewed since {last}")
    assert BOOK.edition_for(WIRING, dt.date(2099, 1, 1), "2018+A4").edition == "2018+A4"
    with pytest.raises(NoRule, match="may not be used on 2099-01-01"):
        BOOK.edition_for(WIRING, dt.date(2099, 1, 1), "2018")
