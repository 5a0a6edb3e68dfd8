"""Codes by edition, overall assessment, intervals, retention, and deadlines in four countries."""

from __future__ import annotations

import datetime as dt

import pytest

from earthwright.base.errors import NoRule
from earthwright.rules import RuleBook
from earthwright.rules.lookup import (
    WIRING,
    deadline,
    deadlines,
    inspection_interval,
    next_inspection_by,
    observation_code,
    observation_codes,
    other_duties,
    overall_assessment,
    rented_edition,
    retention,
)

BOOK = RuleBook.load()
A4 = BOOK.edition_for(WIRING, dt.date(2026, 10, 15))
A3 = BOOK.edition_for(WIRING, dt.date(2026, 10, 14))
DAY = dt.date(2026, 11, 20)


@pytest.mark.parametrize(
    ("codes", "before", "now"),
    [
        ([], False, False),
        (["C3"], False, False),
        (["FI"], True, False),
        (["C3", "FI", "FI"], True, False),
        (["C2"], True, True),
        (["C1", "FI"], True, True),
    ],
)
def test_overall_assessment_by_edition(codes: list[str], before: bool, now: bool) -> None:
    """FI alone made a report unsatisfactory until the fourth amendment, and does not since."""
    assert overall_assessment(A3, codes).unsatisfactory is before
    assert overall_assessment(A4, codes).unsatisfactory is now


def test_the_proposal_says_what_decided() -> None:
    assert overall_assessment(A3, ["FI", "C2"]).because == "FI, C2: unsatisfactory under 2018+A2+A3"
    noted = overall_assessment(A4, ["FI", "C3"])
    assert "the inspector may judge otherwise" in noted.because
    assert [r.keys["code"] for r in noted.decided_by] == ["FI"]
    assert [r.keys["code"] for r in observation_codes(A4)] == ["C1", "C2", "FI", "C3"]
    assert observation_code(A4, "C1").text("meaning") == "danger present"
    with pytest.raises(NoRule):
        overall_assessment(A4, ["C4"])


def test_only_the_codes_differ_between_the_amendments() -> None:
    assert A3.table("observation.codes").rows != A4.table("observation.codes").rows
    own = [t for t in A4.tables if t not in A4.shared]
    assert own == ["observation.codes"]
    assert "effect of FI on the overall assessment" in [d.what for d in A4.differs]


def test_intervals_and_retention() -> None:
    assert float(inspection_interval(A4, "domestic, rented").value) == 5
    assert float(inspection_interval(A4, "construction site").value) == 0.25
    assert float(retention(A4).value) == 6
    with pytest.raises(NoRule):
        inspection_interval(A4, "castle")


@pytest.mark.parametrize(
    ("country", "first_day"),
    [
        ("England", "2020-06-01"),
        ("Scotland", "2015-12-01"),
        ("Wales", "2022-12-01"),
        ("Northern Ireland", "2025-04-01"),
    ],
)
def test_the_law_of_each_country_from_its_first_day(country: str, first_day: str) -> None:
    day = dt.date.fromisoformat(first_day)
    assert rented_edition(BOOK, country, day).standard.startswith(country)
    with pytest.raises(NoRule):
        rented_edition(BOOK, country, day - dt.timedelta(days=1))


def test_other_countries_are_no_rule() -> None:
    with pytest.raises(NoRule, match="no rule data for rented homes in 'Jersey'"):
        rented_edition(BOOK, "Jersey", DAY)


def test_remedial_work_in_england_runs_from_the_inspection_day_itself() -> None:
    """28 days starting with the date of inspection: 1 November to 28 November."""
    law = rented_edition(BOOK, "England", dt.date(2026, 11, 1))
    duty = "remedial or investigative work"
    due = deadline(law, duty, dt.date(2026, 11, 1))
    assert (due.last_day, due.shorter, due.event) == (dt.date(2026, 11, 28), False, "inspection and test")
    assert deadline(law, duty, dt.date(2026, 11, 1), 7).last_day == dt.date(2026, 11, 7)
    assert deadline(law, duty, dt.date(2026, 11, 1), 7).shorter
    assert deadline(law, duty, dt.date(2026, 11, 1), 28).shorter is False
    assert deadline(law, duty, dt.date(2026, 11, 1), 60).last_day == dt.date(2026, 11, 28)
    with pytest.raises(ValueError, match="at least 1 day"):
        deadline(law, duty, dt.date(2026, 11, 1), 0)


def test_a_shorter_period_in_the_report_moves_only_what_the_law_lets_it_move() -> None:
    law = rented_edition(BOOK, "England", DAY)
    told = deadlines(law, "inspection and test", DAY, shorter_days=7)
    assert [(d.duty, d.last_day) for d in told] == [
        ("remedial or investigative work", dt.date(2026, 11, 26)),
        ("report to tenant", dt.date(2026, 12, 18)),
    ]
    assert deadline(law, "report to local authority", DAY).last_day == dt.date(2026, 11, 27)
    with pytest.raises(NoRule):
        deadline(law, "report to the king", DAY)


def test_a_country_without_periods_in_days() -> None:
    law = rented_edition(BOOK, "Scotland", DAY)
    assert deadlines(law, "inspection and test", DAY) == ()
    assert any("no number of days" in r.text("rule") for r in other_duties(law))
    assert other_duties(rented_edition(BOOK, "Wales", DAY)) == ()
    assert float(law.table("home.rcd").look().value) == 30


@pytest.mark.parametrize(
    ("country", "day", "last"),
    [
        ("England", "2026-11-20", "2031-11-20"),
        ("England", "2024-02-29", "2029-02-28"),
        ("Wales", "2026-11-20", "2031-11-19"),
        ("Northern Ireland", "2026-11-20", "2031-11-20"),
        ("Scotland", "2026-11-20", "2031-11-20"),
    ],
)
def test_five_years_until_the_next_inspection(country: str, day: str, last: str) -> None:
    """Wales: five years beginning with the day of the inspection, so the day before the anniversary."""
    inspected = dt.date.fromisoformat(day)
    law = rented_edition(BOOK, country, inspected)
    assert next_inspection_by(law, inspected).last_day == dt.date.fromisoformat(last)


def test_an_earlier_day_in_the_report_counts_and_a_later_one_does_not() -> None:
    law = rented_edition(BOOK, "England", DAY)
    early = next_inspection_by(law, DAY, dt.date(2029, 11, 20))
    assert (early.last_day, early.shorter) == (dt.date(2029, 11, 20), True)
    late = next_inspection_by(law, DAY, dt.date(2036, 11, 20))
    assert (late.last_day, late.shorter) == (dt.date(2031, 11, 20), False)


def test_england_before_and_since_november_2025() -> None:
    old, new = (
        rented_edition(BOOK, "England", dt.date(2025, 10, 31)),
        rented_edition(BOOK, "England", dt.date(2025, 11, 1)),
    )
    assert [float(e.table("penalty").look().value) for e in (old, new)] == [30000, 40000]
    social = new.table("duty.start").look(landlord="social", granted="before")
    assert (social.date("from"), social.date("first_check_by")) == (dt.date(2026, 5, 1), dt.date(2026, 11, 1))
    assert new.shared["duty.days"] == "2020"
    assert len(other_duties(new)) == 3


def test_wales_gives_fourteen_days_at_the_start() -> None:
    law = rented_edition(BOOK, "Wales", DAY)
    assert deadline(law, "report to new contract-holder", dt.date(2026, 11, 1)).last_day == dt.date(2026, 11, 14)
    assert deadline(law, "report to contract-holder", dt.date(2026, 11, 1)).last_day == dt.date(2026, 11, 7)
