"""What is due by when, to landlords, building control and the distributor, as the visit and its paper say it."""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

import pytest

from earthwright.assess.visit import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.report.duties import Duties, calendar, duties
from earthwright.visitbook.read import read_text


def judged(
    kind: str = "periodic", date: str = "2026-11-20", supply: str = "", circuit: str = "", **report: Any
) -> Assessment:
    lines = "\n".join(
        f"{k} = {str(v).lower() if isinstance(v, (bool, dt.date)) else repr(v)}" for k, v in report.items()
    )
    book = f"""
[visit]
place = "1 Tinker's Lane"
date = {date}
kind = "{kind}"
[supply]
{supply}
[[board]]
id = "db1"
[[circuit]]
id = "c1"
{circuit}
[report]
{lines}
"""
    read = read_text(book)
    assert not [f for f in read.findings if f.family == "input"]
    return assess(read.visit, found=read.findings, broken=read.broken)


def due(**given: Any) -> Duties:
    return duties(judged(**given))


def last_day(found: Duties, what: str) -> dt.date | None:
    days = [d.last_day for d in found.due if d.what.startswith(what)]
    assert len(days) < 2, days
    return days[0] if days else None


def everything(found: Duties) -> str:
    return " ".join((*found.undated, *found.said))


SOCIAL = {"country": "England", "rented": True, "landlord": "social"}


@pytest.mark.parametrize(
    ("date", "granted", "counts"),
    [
        ("2025-11-30", dt.date(2025, 11, 30), False),
        ("2025-11-30", dt.date(2025, 12, 1), False),
        ("2025-12-01", dt.date(2025, 12, 1), True),
        ("2026-04-30", dt.date(2025, 11, 30), False),
        ("2026-05-01", dt.date(2025, 11, 30), True),
        ("2026-05-02", dt.date(2025, 11, 30), True),
    ],
)
def test_social_homes_in_england(date: str, granted: dt.date, counts: bool) -> None:
    found = due(date=date, tenancy_from=granted, **SOCIAL)
    inspected = dt.date.fromisoformat(date)
    assert last_day(found, "Report to tenant") == (inspected + dt.timedelta(days=28) if counts else None)
    assert (last_day(found, "First inspection under the law") is None) is counts


def test_a_day_of_grant_that_is_not_entered_is_asked_for() -> None:
    found = due(date="2026-02-01", **SOCIAL)
    assert "The day on which the tenancy was granted is not entered" in everything(found)
    assert last_day(found, "First inspection under the law") == dt.date(2026, 11, 1)
    assert "private is taken" in everything(due(country="England", rented=True))


@pytest.mark.parametrize(
    ("given", "next_by", "long"),
    [
        ({"country": "England", "rented": True}, "2031-11-20", False),
        ({"country": "England", "rented": True}, "2031-11-21", True),
        # five years beginning with the day of the inspection
        ({"country": "Wales", "rented": True}, "2031-11-19", False),
        ({"country": "Wales", "rented": True}, "2031-11-20", True),
        ({"country": "Scotland", "rented": True, "landlord": "social"}, "2031-11-21", True),
        ({"country": "Northern Ireland", "hmo": True}, "2031-11-20", False),
        ({"country": "Northern Ireland", "hmo": True}, "2031-11-21", True),
        ({"country": "Scotland", "hmo": True, "rented": False}, "2031-11-21", True),
        ({"country": "England", "rented": False}, "2036-11-20", False),
    ],
)
def test_the_interval_on_the_paper_is_held_against_the_law(given: dict[str, Any], next_by: str, long: bool) -> None:
    a = judged(next_by=dt.date.fromisoformat(next_by), next_reason="sound", **given)
    assert ("report.interval" in {f.family for f in a.findings}) is long
    assert ("The interval on the paper is too long" in everything(duties(a))) is long


def test_a_house_in_multiple_occupation_has_its_licence_too() -> None:
    northern = due(country="Northern Ireland", rented=True, hmo=True)
    assert last_day(northern, "Next inspection, by law") == dt.date(2031, 11, 20)
    assert last_day(northern, "Report to tenant") is None, "not under the regulations on private tenancies"
    assert "Certificate to council: 7 days" in everything(northern)
    assert "the council sets the interval" in everything(due(country="Scotland", hmo=True, rented=True))
    assert last_day(due(country="England", hmo=True, rented=True), "Report to tenant") == dt.date(2026, 12, 18)


DONE = {"premises": "house", "rented": False, "completed": dt.date(2026, 11, 10)}
LAST = dt.date(2026, 12, 10)


@pytest.mark.parametrize(
    ("kind", "country", "more", "day"),
    [
        ("initial", "England", {}, LAST),
        ("initial", "England", {"work_kind": "board replaced"}, LAST),
        ("initial", "England", {"work_kind": "alteration"}, None),
        ("minor works", "England", {}, None),
        ("minor works", "England", {"circuit": 'location = "bathroom"'}, LAST),
        ("minor works", "England", {"circuit": 'name = "kitchen sockets"'}, None),
        ("minor works", "Wales", {"circuit": 'name = "kitchen sockets"'}, LAST),
        ("minor works", "Wales", {"circuit": 'name = "garden lights"'}, LAST),
        ("initial", "Scotland", {}, None),
        ("initial", "Northern Ireland", {}, None),
        ("initial", "England", {"premises": "office"}, None),
        ("initial", "England", {"notified_by": "third-party certifier"}, dt.date(2026, 11, 15)),
        ("initial", "England", {"notified_by": "building control itself"}, None),
        ("periodic", "England", {}, None),
    ],
)
def test_building_control_is_told_of_new_work(
    kind: str, country: str, more: dict[str, str], day: dt.date | None
) -> None:
    found = due(kind=kind, **{**DONE, "country": country, **more})
    told = [d.last_day for d in found.due if d.what in ("Tell building control", "Tell the certifier")]
    assert told == ([day] if day else [])
    if kind != "periodic" and "premises" not in more:
        assert "local building control" in everything(found)


def test_what_is_not_known_of_the_work_is_said() -> None:
    assert "The country is not entered" in everything(due(kind="initial", rented=False))
    assert "Whether it is a dwelling is not entered" in everything(due(kind="initial", country="England", rented=False))
    assert "building warrant" in everything(due(kind="initial", **DONE, country="Scotland"))
    assert "before the work begins" in everything(
        due(kind="initial", **DONE, country="England", notified_by="building control itself")
    )
    started = due(kind="initial", premises="house", country="England", rented=False)
    assert "within 30 days of completion of the work" in everything(started)


@pytest.mark.parametrize(
    ("amperes", "scheme"), [("16", "Tell the distributor (G98)"), ("16.1", "Tell the distributor (G99)"), ("", "")]
)
def test_the_distributor_is_told_within_28_days(amperes: str, scheme: str) -> None:
    supply = 'other_sources = ["PV inverter"]\n' + (f"sources_a = {amperes}" if amperes else "")
    found = due(kind="initial", supply=supply, **DONE, country="England")
    told = {d.what: d.last_day for d in found.due if "distributor" in d.what}
    assert told == ({scheme: dt.date(2026, 12, 8)} if scheme else {})
    assert ("both ways to tell the distributor" in everything(found)) is not scheme
    assert "distributor" not in everything(due(kind="periodic", supply=supply, **DONE, country="England"))


def test_the_calendar_holds_the_notices() -> None:
    a = judged(kind="initial", supply='other_sources = ["PV"]\nsources_a = 10', **DONE, country="England")
    text = calendar(a.visit, duties(a)).replace("\r\n ", "")
    assert "SUMMARY:Last day: tell building control" in text
    assert "DTSTART;VALUE=DATE:20261208" in text


@pytest.mark.parametrize("day", ["9999-12-31", "9999-12-30", "9990-02-28", "0800-02-01"])
def test_days_at_the_ends_of_the_calendar_are_no_error(day: str) -> None:
    """A mistyped year: what can be counted is, the years of the calendar have four digits."""
    end = dt.date.fromisoformat(day)
    supply = 'other_sources = ["PV"]\nsources_a = 10'
    for kind, when in (("periodic", day), ("initial", "2026-11-20")):
        more = {"country": "England", "rented": True, "completed": end, "next_by": end, "next_reason": "typed"}
        a = judged(kind=kind, date=when, supply=supply, **more)
        found = duties(a)
        assert last_day(found, "Next inspection, by the report") == end
        assert last_day(found, "Keep the records") or when == "0800-02-01", "no edition is so old"
        days = re.findall(r"DT(?:START|END|STAMP)[^:]*:(\d+)", calendar(a.visit, found))
        assert {len(d) for d in days} == {8}
        assert end.isoformat().replace("-", "") in days
    assert ("after the year 9999" in everything(found)) is (end.month == 12)


def test_periods_go_on_after_the_day_up_to_which_the_data_were_reviewed() -> None:
    found = due(date="2031-01-10", country="England", rented=True)
    assert last_day(found, "Report to tenant") == dt.date(2031, 2, 7)
    assert last_day(found, "Next inspection, by law") == dt.date(2036, 1, 10)
    assert last_day(found, "Keep the records") == dt.date(2037, 1, 10)
    assert "not reviewed since 2027-05-25" in everything(found)
