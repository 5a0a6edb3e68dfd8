"""Invented visits with the conclusions that a very good inspector reaches. The reasons stand in each visit book."""

from __future__ import annotations

from pathlib import Path

import pytest

from earthwright.assess import assess
from earthwright.base.errors import Severity
from earthwright.outcomes.assessment import Assessment
from earthwright.visitbook import read_book, read_text

HERE = Path(__file__).parent


def judge(name: str) -> Assessment:
    book = read_book(HERE / f"{name}.toml")
    assert book.visit is not None
    assert book.findings == ()
    return assess(book.visit, found=book.findings)


def up_to(name: str, reading: str, count: int = 1) -> Assessment:
    """The same visit broken off just after the ``count``-th reading of a kind: what the tool says during the work."""
    text = (HERE / f"{name}.toml").read_text(encoding="utf-8")
    parts = text.split("[[step]]")
    for number, part in enumerate(parts):
        if f'read = "{reading}"' in part:
            count -= 1
            if count == 0:
                book = read_text("[[step]]".join(parts[: number + 1]))
                assert book.visit is not None
                return assess(book.visit)
    raise LookupError(reading)


def families(a: Assessment, least: Severity = Severity.WARNING) -> set[str]:
    return {f.family for f in a.findings if f.severity.rank <= least.rank}


def test_00_a_sound_bond_raises_no_alarm() -> None:
    a = judge("00-control")
    (b,) = a.bonds
    assert b.verdict == "proved"
    assert (b.size.judged.outcome, b.joint.outcome, b.continuity.outcome) == ("meets", "meets", "meets")
    assert b.closure is not None
    assert b.closure.closes
    assert b.closure.predicted == pytest.approx(0.024, abs=0.0005)
    assert families(a) == set()
    assert a.findings == ()
    assert "Path without the bond, MET to the gas pipe: 0.11 Ω." in b.words  # said there, and no note besides
    assert b.next is None
    assert not a.still_off


@pytest.mark.parametrize(("reading", "count"), [("joint", 1), ("conductor", 1), ("path", 1), ("together", 1)])
def test_00_stays_silent_while_the_readings_arrive(reading: str, count: int) -> None:
    a = up_to("00-control", reading, count)
    assert families(a) <= {"ledger.off"}


def test_01_the_first_reading_proves_nothing() -> None:
    a = up_to("01-masked", "together")
    (b,) = a.bonds
    assert b.verdict == "not shown"
    assert "path.below_copper" in families(a)
    assert "Below the floor for 24 m of 10 mm²" in next(f.what for f in a.findings if f.family == "path.below_copper")
    assert "A cut bond could have read the same." in b.words
    assert b.next is not None
    assert "clamp meter" in b.next.do
    assert b.next.worth is not None
    assert b.next.worth.test == "conductor"


def test_01_with_one_end_off_it_is_proved_and_0_05_is_no_limit() -> None:
    a = judge("01-masked")
    (b,) = a.bonds
    assert b.verdict == "proved"
    assert b.closure is not None
    assert b.closure.closes
    assert b.continuity.outcome == "meets"
    assert b.continuity.limit is not None
    assert b.continuity.limit.value == pytest.approx(0.1)
    assert families(a) == set()


def test_02_a_cut_bond_flattered_by_pipework() -> None:
    first = up_to("02-flattered", "together")
    water = first.bonds[0]
    assert water.verdict == "not shown"
    a = judge("02-flattered")
    water = a.bonds[0]
    assert (water.verdict, water.named) == ("disproved", "open")
    assert "The path alone reads the same as all together" in water.words
    assert "clamp.agrees" in families(a, Severity.NOTE)
    assert water.next is not None
    assert "Renew the bond" in water.next.do
    assert a.bonds[1].verdict == "not shown"


def test_02_with_one_end_off_but_unchecked_leads_a_lead_may_be_off() -> None:
    a = up_to("02-flattered", "conductor")
    water = a.bonds[0]
    assert water.verdict == "not shown"
    assert "so does a lead that was off" in water.words
    assert water.next is not None
    assert "Short the leads now" in water.next.do
    assert [e.what for e in a.still_off] == ["water"]


def test_03_clamp_on_paint() -> None:
    a = judge("03-paint")
    (b,) = a.bonds
    assert (b.verdict, b.named) == ("disproved", "impaired")
    assert b.joint.outcome == "fails"
    assert {"joint.unsteady", "joint.poor"} <= families(a)
    assert b.explanations[0].kind == "joint"
    assert b.next is not None
    assert "bright metal" in b.next.do
    assert b.size.judged.outcome == "meets"


def test_05_forgotten_null_voids_the_series_and_no_bond() -> None:
    before = up_to("05-null", "conductor", 3)
    assert "leads.offset" in families(before)
    a = judge("05-null")
    assert [b.verdict for b in a.bonds] == ["not shown"] * 3
    assert {"leads.offset", "leads.suspect"} <= families(a)
    offset = next(f for f in a.findings if f.family == "leads.offset")
    assert "leaves 0.75 Ω" in offset.because
    assert "not a measurement" in offset.do
    for b, length in zip(before.bonds, (426, 421, 443), strict=True):  # 0.78, 0.77 and 0.81 Ω over 1.83 mΩ/m
        assert b.implied is not None
        assert b.implied.low < length < b.implied.high
    for b in a.bonds:
        assert b.next is not None
        assert "whole series again" in b.next.do


def test_15_below_resolution_is_kept_as_an_inequality() -> None:
    a = judge("15-below-resolution")
    (b,) = a.bonds
    assert b.verdict == "proved"
    assert families(a) == set()
    assert "resolution.below" in families(a, Severity.NOTE)
    assert b.implied is not None
    assert b.implied.low == 0
    assert 17 < b.implied.high < 25
    assert "so the digits say nothing about the length" in b.words
    conductor = next(r for r in b.readings if r.reading.test == "conductor")
    assert str(conductor.reading.shown) == "<0.01 Ω"


def test_nothing_is_ever_called_safe() -> None:
    for book in HERE.glob("*.toml"):
        a = judge(book.stem)
        text = " ".join([b.words for b in a.bonds] + [f.sentence() for f in a.findings])
        assert " safe" not in text
