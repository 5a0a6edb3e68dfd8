"""Rule data: dates, edges, strictness, and another country's standard as nothing but a folder of data."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest

from earthwright.base.errors import NoRule
from earthwright.rules import RuleBook
from earthwright.rules.lookup import (
    WIRING,
    conductor_mohm_per_m,
    continuity_guidance,
    extraneous_thresholds,
    joint_guidance,
    k_value,
)
from earthwright.rules.sizes import (
    conducts_like_copper,
    main_bond_min,
)

BOOK = RuleBook.load()
DAY = dt.date(2026, 11, 20)
A4 = BOOK.edition_for(WIRING, DAY)
HERE = Path(__file__).parent


def test_every_table_of_every_edition_loads() -> None:
    for edition in BOOK.editions:
        for table in edition.tables:
            assert edition.table(table).rows


@pytest.mark.parametrize(
    ("day", "edition"),
    [
        ("2019-06-01", "2018"),
        # Asked for where the work began after 31 July 2020 (the standards body's notice); before, it could be chosen.
        ("2020-07-31", "2018"),
        ("2020-08-01", "2018+A1"),
        ("2022-09-26", "2018+A1"),
        ("2022-09-27", "2018+A2"),
        ("2024-07-30", "2018+A2"),
        ("2024-07-31", "2018+A2+A3"),
        ("2026-04-14", "2018+A2+A3"),
        ("2026-04-15", "2018+A2+A3"),
        ("2026-10-14", "2018+A2+A3"),
        ("2026-10-15", "2018+A4"),
        ("2026-11-25", "2018+A4"),
    ],
)
def test_the_edition_in_force_on_each_side_of_every_date(day: str, edition: str) -> None:
    assert BOOK.edition_for(WIRING, dt.date.fromisoformat(day)).edition == edition


def test_either_edition_may_be_chosen_in_the_overlap_and_only_there() -> None:
    for day in ("2026-04-15", "2026-10-14"):
        on = dt.date.fromisoformat(day)
        assert {e.edition for e in BOOK.editions_open(WIRING, on)} == {"2018+A2+A3", "2018+A4"}
        assert BOOK.edition_for(WIRING, on, "2018+A4").edition == "2018+A4"
    with pytest.raises(NoRule, match=r"may not be used on 2026-04-14; open then: 2018\+A2\+A3"):
        BOOK.edition_for(WIRING, dt.date(2026, 4, 14), "2018+A4")
    with pytest.raises(NoRule, match="may not be used on 2026-10-15"):
        BOOK.edition_for(WIRING, dt.date(2026, 10, 15), "2018+A2+A3")


def test_before_the_first_known_day_there_is_no_rule() -> None:
    with pytest.raises(NoRule, match="the first is from 2008-01-21"):
        BOOK.edition_for(WIRING, dt.date(2008, 1, 20))
    with pytest.raises(NoRule, match="no rule data for the standard 'NF X'"):
        BOOK.of("NF X")


def test_shared_tables_are_one_file_under_two_names() -> None:
    old = BOOK.edition_for(WIRING, dt.date(2023, 1, 1)).table("bond.main.pme")
    new = A4.table("bond.main.pme")
    assert old.rows == new.rows
    assert (old.edition, new.edition) == ("2018+A2", "2018+A4")
    data = HERE.parents[1] / "src/earthwright/rules/data/bs-7671"
    assert [p.parent.name for p in data.rglob("bond.main.pme.toml")] == ["2018+A2"]


def test_single_figures() -> None:
    row = conductor_mohm_per_m(BOOK, DAY, "copper", 2, 10)
    assert (row.value, row.unit, row.confidence) == (Decimal("1.83"), "mΩ/m", "read")
    with pytest.raises(NoRule, match=r"has no row for material copper, iec class 2, csa 11 mm²"):
        conductor_mohm_per_m(BOOK, DAY, "copper", 2, 11)
    assert k_value(A4, "core", "copper", "70 °C thermoplastic").value == 115
    assert joint_guidance(A4).value == 0.05
    assert "not a limit" in joint_guidance(A4).note
    assert [float(t.value) for t in extraneous_thresholds(A4)] == [6667, 22000, 45000]
    assert conducts_like_copper(16, 1.91, 1.15) == Decimal("9.6335")


@pytest.mark.parametrize(("expected", "there"), [(0.0, True), (0.0999, True), (0.1, True), (0.1001, False)])
def test_continuity_guidance_only_where_less_than_a_tenth_is_expected(expected: float, there: bool) -> None:
    assert (continuity_guidance(A4, expected) is not None) is there


# ---- another country's standard: a folder of data, not a line of code ----


def test_a_second_standard_is_only_a_folder_of_data() -> None:
    book = RuleBook.load(HERE / "data_other")
    edition = book.edition_for("NORM E", dt.date(2025, 1, 1))
    row = edition.table("bond.main.pme").look(neutral_mm2=30)
    assert row.value == 16
    assert row.clause == "7.3"
    chain = main_bond_min(
        edition,
        system="TN-C-S",
        pme=True,
        earthing_needed_mm2=None,
        line_csa_mm2=None,
        neutral_csa_mm2=30,
        neutral_at_most=False,
    )
    assert chain.needed_mm2 == 16
