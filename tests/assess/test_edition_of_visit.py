"""Which edition a visit is judged by: its own day, the day of the design of new work, the newest one on a day nobody reviewed."""

from __future__ import annotations

from pathlib import Path

import pytest

from earthwright.assess.visit import assess
from earthwright.report.record import to_json
from earthwright.report.reviewed import notices
from earthwright.visitbook.read import read_text

BOOK = """
[visit]
place = "1 Tinker's Lane"
date = {date}
kind = "{kind}"
{more}
[supply]
system = "TN-C-S"
pme = true
[[board]]
id = "db1"
[[circuit]]
id = "c1"
device = "BS EN 60898 B32"
use = "sockets"
line_mm2 = 4.0
cpc_mm2 = 1.5
[[step]]
of = "c1"
tests = {{ "zs two-lead" = "1.15" }}
"""


def judged(date: str, kind: str = "initial", more: str = ""):
    read = read_text(BOOK.format(date=date, kind=kind, more=more))
    return assess(read.visit, found=read.findings, broken=read.broken)


def zs(a) -> str:
    return next(t for b in a.boards for c in b.circuits for t in c.tests if t.test == "zs").outcome


@pytest.mark.parametrize(
    ("date", "kind", "more", "edition", "why"),
    [
        ("2016-03-01", "initial", "", "2008+A3", "in force on 2016-03-01"),
        ("2016-03-01", "initial", "designed = 2015-01-04", "2008+A2", "the day of the design"),
        ("2016-03-01", "minor works", "designed = 2015-06-30", "2008+A2", "2008+A3 could have been chosen too"),
        ("2016-03-01", "initial", "designed = 2015-07-01", "2008+A3", "the day of the design"),
        ("2016-03-01", "initial", 'designed = 2015-06-30\nedition = "2008+A3"', "2008+A3", "chosen for this visit"),
        # A condition is judged as it stands on the day of the inspection.
        ("2016-03-01", "periodic", "designed = 2015-01-04", "2008+A3", "in force on 2016-03-01"),
        ("2027-05-25", "initial", "", "2018+A4", "in force on 2027-05-25"),
        ("2027-05-26", "initial", "", "2018+A4", "not reviewed since 2027-05-25"),
        ("2027-05-26", "initial", "designed = 2027-05-25", "2018+A4", "the day of the design"),
    ],
)
def test_the_day_that_decides_the_edition(date: str, kind: str, more: str, edition: str, why: str) -> None:
    a = judged(date, kind, more)
    assert a.editions[0].edition == edition
    assert why in a.editions[0].why
    assert ("rules.designed" in {f.family for f in a.findings}) is (kind == "periodic")


@pytest.mark.parametrize(("designed", "outcome"), [("2015-06-30", "meets"), ("2015-07-01", "fails")])
def test_a_loop_of_work_designed_before_july_2015_is_held_to_its_own_limit(designed: str, outcome: str) -> None:
    """1.15 Ω at 20 °C is 1.15 × 1.20 = 1.38 Ω at 70 °C: behind B 32 A 1.44 Ω before the voltage factor, 1.37 Ω with it."""
    assert zs(judged("2015-09-01", more=f"designed = {designed}\ntemp_c = 20")) == outcome


def test_a_design_after_the_visit_is_a_slip() -> None:
    read = read_text(BOOK.format(date="2016-03-01", kind="initial", more="designed = 2016-03-02"))
    assert any("dated after the visit" in f.what for f in read.findings)
    assert assess(read.visit, found=read.findings, broken=read.broken).editions[0].edition == "2008+A3"


def test_a_kind_that_cannot_be_read_leaves_the_edition_open_where_a_design_is_dated() -> None:
    assert zs(judged("2015-09-01", "first", "designed = 2015-06-30")) == "not decided"
    assert zs(judged("2015-09-01", "first", "")) == "fails"


def test_a_day_nobody_reviewed_is_told_once_and_stands_in_the_record() -> None:
    now, later = judged("2027-05-25"), judged("2027-05-26")
    assert notices(now) == ()
    (said,) = notices(later)
    assert said.startswith("Rules not reviewed since 2027-05-25: everything is judged by BS 7671:2018+A4:2026")
    assert zs(now) == zs(later)
    assert to_json(later)["editions"][0]["not_reviewed_since"] == "2027-05-25"  # type: ignore[index]
    assert to_json(now)["editions"][0]["not_reviewed_since"] == ""  # type: ignore[index]


def test_before_the_oldest_edition_nothing_that_rests_on_a_rule_is_decided() -> None:
    a = judged("2008-01-20")
    assert [e.standard for e in a.editions] == ["IEC 60228"]
    assert zs(a) == "no rule"
    assert [f.family for f in a.findings].count("rules.edition") == 1
    assert not {"overload", "additional protection", "rcd type"} & {t.test for b in a.boards for t in b.tests}
    assert judged("2008-01-21").editions[0].edition == "2008"


def test_the_messy_visit_of_2021_is_judged() -> None:
    folder = Path(__file__).parents[1] / "visits" / "practice"
    read = read_text((folder / "e17-rcd-250mA-method.toml").read_text())
    a = assess(read.visit, found=read.findings, broken=read.broken)
    assert a.editions[0].edition == "2018+A1"
    outcomes = {t.test: t.outcome for b in a.boards for c in b.circuits for t in c.tests}
    assert (outcomes["rcd"], outcomes["zs"]) == ("meets", "meets")
    assert {name for name, outcome in outcomes.items() if outcome == "no rule"} == {"r1r2"}, "no limit of its own"


def test_screen_page_and_paper_lead_with_a_day_nobody_reviewed(capsys: pytest.CaptureFixture[str]) -> None:
    from earthwright.cli.screen import heading
    from earthwright.paper.documents import page_of
    from earthwright.web.banner import strips

    for date, told in (("2027-05-25", False), ("2027-05-26", True)):
        a = judged(date)
        heading(a)
        said = capsys.readouterr().out
        assert ("Rules not reviewed since" in said) is told
        assert any("Rules not reviewed since" in s.words for s in strips(a, "/v")) is told
        for document in ("installation certificate", "condition report", "minor works certificate", "bonding record"):
            assert bool(page_of(a, document)["notices"]) is told
