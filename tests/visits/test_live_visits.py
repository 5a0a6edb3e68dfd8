"""Invented visits on loops, electrodes, protective conductors and a lost neutral, with an expert's conclusions."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from attrs import evolve

from earthwright.assess import assess
from earthwright.base.errors import Severity
from earthwright.outcomes.assessment import Assessment
from earthwright.outcomes.circuits import TestJudged
from earthwright.visitbook import read_book

HERE = Path(__file__).parent


def judge(name: str) -> Assessment:
    book = read_book(HERE / f"{name}.toml")
    assert book.visit is not None
    assert book.findings == ()
    return assess(book.visit)


def families(a: Assessment) -> set[str]:
    return {f.family for f in a.findings if f.severity.rank <= Severity.WARNING.rank}


def rows(a: Assessment, test: str) -> dict[str, TestJudged]:
    """The rows of one test by point, missing ones left out."""
    tests = [t for e in a.electrodes for t in e.tests]
    tests += [t for b in a.boards for c in b.circuits for t in c.tests]
    return {t.point: t for t in tests if t.test == test and t.absent != "missing"}


def test_07_the_rod_alone_is_held_against_both_devices() -> None:
    found = rows(judge("07-tt-electrode"), "electrode")
    alone = found["rod alone"]
    assert alone.outcome == "fails"
    limits = {j.limit.what: (j.limit.value, j.outcome) for j in alone.judged if j.limit}
    assert sorted(limits.values()) == [(500.0, "fails"), (1667.0, "fails")]


def test_07_a_value_without_its_state_is_no_evidence() -> None:
    a = judge("07-tt-electrode")
    found = rows(a, "electrode")
    assert found[""].outcome == "not decided"
    assert "electrode.state" in families(a)
    assert found["with bonds"].outcome == "not decided"
    assert found["other part alone"].outcome == "not decided"
    assert not any(j.outcome == "meets" for t in found.values() for j in t.judged)


def test_07_the_three_hang_together_and_the_pipe_carries_it() -> None:
    (e,) = judge("07-tt-electrode").electrodes
    assert "1840 Ω beside 39 Ω is 38.2 Ω" in e.words
    assert "98 % of the current: a bond, not an electrode" in e.words
    assert "electrode.sum" not in {f.family for f in e.findings}
    assert "electrode.unstable" in {f.family for t in e.tests for f in t.findings}


def test_10_disconnection_and_the_protective_conductor_are_two_findings() -> None:
    a = judge("10-adiabatic")
    zs = rows(a, "zs")["spur"]
    cold = {j.limit.what: j.outcome for j in zs.judged if j.limit}
    assert cold["Zs measured cold, customary share"] == "fails"
    assert {"loops.limit", "adiabatic.cpc"} <= families(a)


def test_10_the_lower_warm_current_is_the_worse_one_for_the_fuse() -> None:
    cpc = rows(judge("10-adiabatic"), "adiabatic")[""]
    assert cpc.outcome == "fails"
    assert cpc.value is not None
    assert cpc.value.value == pytest.approx(1.10, abs=0.005)
    assert "a fault draws 235 A cold" in cpc.words
    assert "The lower current is the worse one" in cpc.words
    assert "time from the curve entered" in cpc.words
    assert any("k²S² = 13225 A²s" in line for line in cpc.sums)
    assert "On a spur one conductor takes the whole current" in cpc.words


def test_10_the_device_proposed_is_worked_out_as_well() -> None:
    cpc = rows(judge("10-adiabatic"), "adiabatic")[""]
    (finding,) = [f for f in cpc.findings if f.family == "adiabatic.cpc"]
    assert "BS EN 61009 B32" in finding.do
    assert "opens at once at 235 A" in finding.do
    assert "13225 A²s" in finding.do
    assert finding.do.endswith("enough.")


def test_16_an_open_neutral_is_seen_and_blocks_every_disconnection() -> None:
    a = judge("16-open-pen")
    (alarm,) = a.alarms
    assert alarm.kind == "lost supply neutral"
    assert alarm.blocks
    assert len(a.bonds) == 2
    for b in a.bonds:
        assert b.next is not None
        assert b.next.blocked
        assert "off and measure" not in b.next.do


def test_16_the_readings_add_up_as_printed() -> None:
    (alarm,) = judge("16-open-pen").alarms
    text = " ".join(alarm.because)
    assert "7.56 Ω" in text
    assert "= 141 V, 11.8 A, and 89 V are left for the load" in text
    assert "89 V + 141 V = 230 V of 230 V" in text
    assert "would take up to 230 V" in text
    assert alarm.do[0] == "Switch the loads off at the main switch."
    assert "Disconnect nothing" in alarm.do[1]
    assert "105" in " ".join(alarm.do)


@pytest.mark.parametrize(
    "day",
    [
        dt.date(1999, 1, 1),
        dt.date(2010, 6, 1),
        dt.date(2019, 5, 5),
        dt.date(2021, 5, 5),
        dt.date(2022, 4, 10),
        dt.date(2025, 1, 10),
        dt.date(2031, 1, 1),
    ],
    ids=str,
)
def test_every_visit_is_judged_on_any_day_and_what_has_no_rule_says_so(day: dt.date) -> None:
    for book in sorted(HERE.glob("*.toml")):
        visit = read_book(book).visit
        assert visit is not None
        a = assess(evolve(visit, date=day, choices=evolve(visit.choices, edition="")))
        held = [j for b in a.bonds for j in (b.size.judged, b.joint)]
        held += [j for b in a.boards for c in b.circuits for t in c.tests for j in t.judged]
        for judged in held:
            assert judged.outcome != "no rule" or judged.why, (book.name, day, judged)
