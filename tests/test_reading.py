"""Correction of a reading: leads, lead checks, budget."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest

from earthwright.base.digits import read_shown
from earthwright.site.events import LeadCheck, Reading
from earthwright.site.reading import ASSUMED, Accuracy, Corrected, Instrument, LeadSet, correct

A = Accuracy(3.0, 2.0, 0.01, 99.99)
NULLED = LeadSet("long", "nulled", null_ohm=0.2)


def reading(shown: str, seq: int = 10, leads: str = "long") -> Reading:
    return Reading(
        seq=seq,
        id="r1",
        test="conductor",
        of="water",
        shown=read_shown(shown, "Ω", "x")[0],
        leads=leads,
        instrument="m",
    )


def check(shown: str, seq: int, kind: str = "shorted") -> LeadCheck:
    found = read_shown(shown, "Ω", "x")[0]
    assert found is not None
    return LeadCheck(seq=seq, leads="long", kind=kind, shown=found)


def fix(shown: str, leads: LeadSet = NULLED, checks: tuple[LeadCheck, ...] = (), **more: bool) -> Corrected:
    return correct(reading(shown, leads=leads.id), leads, A, checks, **more)


def test_budget_of_a_nulled_reading() -> None:
    """u² = (0.03·0.50/√3)² + (0.02/√3)² + (0.005/√3)², each part rectangular (method, section 1)."""
    q = fix("0.50").quantity
    assert q is not None
    assert q.value == 0.5
    assert q.u == pytest.approx(math.sqrt((0.015**2 + 0.02**2 + 0.005**2) / 3), rel=1e-12)
    assert {c.label for c in q.budget()} == {"scale, ±3 % of reading", "±2 digits", "rounding to the last digit"}


def test_scale_errors_are_independent_unless_shared() -> None:
    own = fix("0.50").quantity
    shared = fix("0.50", shared_scale=True).quantity
    assert own is not None
    assert shared is not None
    assert {c.key for c in own.influences if "scale" in c.key} == {"m.scale.r1"}
    assert {c.key for c in shared.influences if "scale" in c.key} == {"m.scale"}


def test_subtracting_adds_the_doubt_of_the_lead() -> None:
    """0.81 shown less a lead of 0.78 Ω: 0.03 Ω, and 3 % + 2 digits of the lead added to its doubt."""
    c = fix("0.81", LeadSet("long", "subtracted", lead_ohm=0.78))
    assert c.quantity is not None
    assert c.quantity.value == pytest.approx(0.03)
    lead = 0.78 * 0.03 + 0.02
    assert c.quantity.u == pytest.approx(math.sqrt(((0.81 * 0.03) ** 2 + 0.02**2 + 0.005**2 + lead**2) / 3), rel=1e-9)
    assert c.usable


def test_leads_neither_nulled_nor_subtracted_stay_in_the_band() -> None:
    c = fix("0.81", LeadSet("long", "none", lead_ohm=0.78))
    assert [f.family for f in c.findings] == ["leads.none"]
    assert c.offset == (0.0, pytest.approx(0.78 * 1.03 + 0.02))
    assert c.band is not None
    assert c.band.low == 0.0
    assert c.usable


def test_leads_of_unknown_resistance_cannot_be_corrected() -> None:
    c = fix("0.81", LeadSet("long", "none"))
    assert [f.family for f in c.findings] == ["leads.unknown"]
    assert not c.usable


@pytest.mark.parametrize(
    ("shown", "good"),
    [
        ("0.00", True),
        ("0.02", True),
        ("0.03", False),
        ("-0.02", True),
        ("-0.03", False),
        ("0.75", False),
        ("over-range", False),
    ],
)
def test_a_shorted_check_is_good_within_the_digit_error(shown: str, good: bool) -> None:
    c = fix("0.05", checks=(check("0.00", 1), check(shown, 20)))
    assert c.trust.after_good is good
    assert c.usable is good
    if not good:
        assert [f.family for f in c.findings] == ["leads.suspect"]


def test_the_first_check_after_a_reading_decides() -> None:
    """A bad check spoils what came before it, back to the last good one; a later good one does not heal it."""
    c = fix("0.05", checks=(check("0.00", 1), check("0.75", 20), check("0.00", 30)))
    assert not c.usable
    assert fix("0.05", checks=(check("0.75", 1), check("0.00", 5), check("0.00", 20))).usable
    assert "beforehand" in fix("0.05", checks=(check("0.75", 5),)).findings[0].what


def test_checks_of_other_leads_do_not_count() -> None:
    other = LeadCheck(seq=5, leads="other", kind="shorted", shown=check("0.75", 5).shown)
    assert fix("0.05", checks=(other,)).trust.before is None


def test_a_set_with_known_resistance_is_checked_against_it() -> None:
    leads = LeadSet("long", "subtracted", lead_ohm=0.78)
    assert fix("0.81", leads, (check("0.79", 20),)).usable
    assert not fix("0.81", leads, (check("0.90", 20),)).usable
    assert fix("0.81", LeadSet("long", "none"), (check("0.79", 20),)).trust.after_good is True


def test_held_apart_is_remembered() -> None:
    assert fix("0.00", checks=(check("over-range", 1, "open"),)).trust.apart
    assert not fix("0.00", checks=(check("0.00", 1, "open"),)).trust.apart


def test_over_range_and_below_resolution_have_no_single_value() -> None:
    assert (fix("over-range").quantity, fix("over-range").band) == (None, None)
    below = fix("<0.01")
    assert below.quantity is None
    assert below.band is not None
    assert below.band.low == 0.0
    assert below.band.high == pytest.approx((0.01 + 0.025) / 0.97)


def test_a_reading_without_digits_cannot_be_corrected() -> None:
    empty = Reading(seq=1, id="r", test="conductor", of="water")
    with pytest.raises(ValueError, match="no digits"):
        correct(empty, NULLED, A, ())


def test_assumed_limits_say_so() -> None:
    assert not Instrument("x").limits("continuity").stated
    assert Instrument("x", accuracy=(("continuity", A),)).limits("continuity") is A
    assert ASSUMED["continuity"].step == float(Decimal("0.01"))
