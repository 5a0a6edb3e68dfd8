"""Whose law counts from which day: the day before, of and after each start; building control; the distributor."""

from __future__ import annotations

import datetime as dt

import pytest

from earthwright.base.errors import NoRule
from earthwright.rules import RuleBook
from earthwright.rules.duties import building_control, hmo_edition, instead_of, landlord_edition, source_notice, starts

BOOK = RuleBook.load()
DAY = dt.timedelta(days=1)


def on(day: str) -> dt.date:
    return dt.date.fromisoformat(day)


# Country, landlord, day that splits tenancies, from when later and earlier ones count and are first checked.
STARTS = (
    ("England", "private", "2026-01-01", "2020-07-01", ("2020-07-01", "2020-07-01"), ("2021-04-01", "2021-04-01")),
    ("England", "social", "2026-01-01", "2025-12-01", ("2025-12-01", "2025-12-01"), ("2026-05-01", "2026-11-01")),
    ("Wales", "social", "2024-01-01", "2022-12-01", ("2022-12-01", "2022-12-01"), ("2023-12-01", "2023-12-01")),
    ("Northern Ireland", "private", "2026-01-01", "2025-04-01", ("2025-04-01", "2025-04-01"), ("2025-12-01", "2025-12-01")),
    ("Scotland", "private", "2026-01-01", "2015-12-01", ("2015-12-01", "2015-12-01"), ("2016-12-01", "2016-12-01")),
)  # fmt: skip


@pytest.mark.parametrize(("country", "landlord", "when", "split", "later", "earlier"), STARTS)
def test_the_day_a_tenancy_was_granted_decides_from_when_the_law_counts(
    country: str, landlord: str, when: str, split: str, later: tuple[str, str], earlier: tuple[str, str]
) -> None:
    law = landlord_edition(BOOK, country, on(when), landlord)
    for days, wanted in ((-1, earlier), (0, later), (1, later)):
        (row,) = starts(law, landlord, on(split) + days * DAY)
        assert (row.date("from"), row.date("first_check_by")) == tuple(map(on, wanted))
    assert len(starts(law, landlord, None)) == 2


def test_landlords_whom_a_law_does_not_cover() -> None:
    before = landlord_edition(BOOK, "England", on("2025-10-31"), "social")
    with pytest.raises(NoRule, match="nothing for social landlords"):
        starts(before, "social", None)
    assert starts(landlord_edition(BOOK, "England", on("2025-11-01"), "social"), "social", None)
    with pytest.raises(NoRule):
        starts(landlord_edition(BOOK, "Northern Ireland", on("2026-01-01"), "social"), "social", None)
    assert landlord_edition(BOOK, "Scotland", on("2026-01-01"), "social").standard == "Scotland social"
    assert starts(landlord_edition(BOOK, "Scotland", on("2026-01-01"), "social"), "social", None) == ()


@pytest.mark.parametrize(
    ("country", "day", "years"),
    [
        ("England", "2020-05-31", True),
        ("England", "2020-06-01", False),  # the regulations on rented homes took its place
        ("Wales", "2026-01-01", True),
        ("Northern Ireland", "2026-01-01", True),
        ("Scotland", "2026-01-01", False),  # the council's licence says
    ],
)
def test_houses_in_multiple_occupation(country: str, day: str, years: bool) -> None:
    law = hmo_edition(BOOK, country, on(day))
    assert law.has("duty.years") is years
    assert instead_of(law) == (("Northern Ireland rented",) if country == "Northern Ireland" else ())


NEW, BOARD, BATH, KITCHEN, OTHER = (
    "new circuit",
    "consumer unit replaced",
    "circuit in a special location",
    "circuit in a kitchen or outdoors",
    "other addition or alteration",
)


@pytest.mark.parametrize(
    ("country", "day", "told"),
    [
        ("England", "2013-04-05", {NEW, BOARD, BATH, KITCHEN}),
        ("England", "2013-04-06", {NEW, BOARD, BATH}),
        ("England", "2013-04-07", {NEW, BOARD, BATH}),
        ("Wales", "2013-04-06", {NEW, BOARD, BATH, KITCHEN}),
        ("Scotland", "2026-01-01", {NEW, BOARD, BATH, KITCHEN}),
        ("Northern Ireland", "2026-01-01", set()),
    ],
)
def test_what_building_control_is_told_of(country: str, day: str, told: set[str]) -> None:
    law = building_control(BOOK, country, on(day))
    rows = law.table("notice.work").all()
    assert {r.keys["work"] for r in rows} == {NEW, BOARD, BATH, KITCHEN, OTHER}
    assert {r.keys["work"] for r in rows if r.flag("notifiable")} == told
    assert not told or law.has("notice.days")


def test_building_control_is_told_within_thirty_days_by_a_registered_installer() -> None:
    """SI 2010/2214, regulation 20(3): not more than 30 days after the completion of the work."""
    for country in ("England", "Wales"):
        row = building_control(BOOK, country, on("2026-01-01")).table("notice.days").look(by="registered installer")
        assert (row.value, row.text("from"), row.confidence) == (30, "completion of the work", "read")
    with pytest.raises(NoRule):
        building_control(BOOK, "Jersey", on("2026-01-01"))


@pytest.mark.parametrize(
    ("day", "amperes", "schemes"),
    [
        ("2019-04-26", 16.0, ["G83"]),
        ("2019-04-27", 16.0, ["G98"]),
        ("2019-04-28", 16.1, ["G99"]),
        ("2026-01-01", None, ["G98", "G99"]),
    ],
)
def test_the_distributor_is_told_of_sources(day: str, amperes: float | None, schemes: list[str]) -> None:
    rows = source_notice(BOOK, on(day), amperes)
    assert [r.keys["scheme"] for r in rows] == schemes
    assert {int(r.value) for r in rows} == {28}
