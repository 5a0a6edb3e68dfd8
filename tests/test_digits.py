"""Digits as typed: understood aloud, kept exactly, or refused; never guessed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earthwright.base.digits import Kind, Shown, read_shown
from earthwright.base.errors import Severity


def shown(typed: object, unit: str = "Ω", **more: object) -> Shown | None:
    return read_shown(typed, unit, "here", **more)[0]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("typed", "digits", "step"),
    [
        ("0.02", "0.02", "0.01"),
        (Decimal("0.30"), "0.30", "0.01"),
        (" 0.05 Ω ", "0.05", "0.01"),
        ("0.05\u2126", "0.05", "0.01"),
        ("0.05 ohm", "0.05", "0.01"),
        (".05", "0.05", "0.01"),
        ("210", "210", "1"),
        (210, "210", "1"),
        ("12.5", "12.5", "0.1"),
        ("-0.01", "-0.01", "0.01"),
        ("\u22120.01", "-0.01", "0.01"),
        ("0.00", "0.00", "0.01"),
    ],
)
def test_digits_are_kept_as_typed(typed: object, digits: str, step: str) -> None:
    found = shown(typed)
    assert found is not None
    assert (str(found.digits), found.step) == (digits, Decimal(step))
    assert found.kind is Kind.VALUE


@pytest.mark.parametrize("typed", ["OL", "ol", "over-range", "open", "∞", ">99.99", "> 99.99 Ω", "≥100"])
def test_over_range_is_a_value_of_its_own(typed: str) -> None:
    found = shown(typed)
    assert found is not None
    assert found.kind is Kind.OVER
    assert found.value == float("inf")
    assert str(found).startswith("over-range")
    assert found.as_shown.startswith("over-range")


def test_below_resolution_is_a_value_of_its_own() -> None:
    found = shown("<0.01")
    assert found is not None
    assert found.kind is Kind.BELOW
    assert str(found) == "<0.01 Ω"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("<0.005", True),
        ("<0.01", True),
        ("≤0.01", True),
        ("<=0.01", True),
        ("<0.011", False),
        ("<0.50", False),
        ("<0", False),
    ],
)
def test_below_resolution_is_less_than_one_digit(typed: str, kept: bool) -> None:
    """Just below, at and just above one digit: '<0.50' is no reading of a display with steps of 0.01."""
    found, said = read_shown(typed, "Ω", "here")
    assert (found is not None) is kept
    assert bool(said) is not kept
    if found is not None:
        assert found.kind is Kind.BELOW
        assert str(found) == f"<{found.digits} Ω"


@pytest.mark.parametrize(("typed", "kept"), [(">0.19", False), (">0.20", True), (">0.21", True), (">0", False)])
def test_over_range_has_an_edge_that_a_range_can_have(typed: str, kept: bool) -> None:
    """Twenty digits are the least: '>0.05' is not an open circuit."""
    found, said = read_shown(typed, "Ω", "here")
    assert (found is not None) is kept
    assert bool(said) is not kept
    assert found is None or (found.kind is Kind.OVER and str(found) == f"over-range ({typed} Ω)")


def test_over_range_in_another_prefix() -> None:
    found, said = read_shown(">2 kΩ", "Ω", "here")
    assert found is not None
    assert (found.kind, found.digits, found.value) == (Kind.OVER, Decimal(2000), float("inf"))
    assert [f.family for f in said] == ["input.unit"]


@pytest.mark.parametrize(("typed", "kept"), [("1234567890.1", True), ("1234567890.12", False), ("9" * 400, False)])
def test_more_digits_than_any_display_has(typed: str, kept: bool) -> None:
    """Twelve characters at most; four hundred nines would otherwise be an infinity."""
    assert (shown(typed) is not None) is kept


def test_a_negative_zero_is_zero() -> None:
    found = shown("-0.00")
    assert found is not None
    assert (str(found), found.value) == ("<0.01 Ω", 0.0)


@pytest.mark.parametrize("typed", ["0.05 m", "0.05 μΩ", "0.05 µΩ", "0.05 Ω/m", "5 %", "0.05 S"])
def test_units_of_another_kind_are_refused(typed: str) -> None:
    found, said = read_shown(typed, "Ω", "here")
    assert found is None
    assert "is not a unit of this reading" in said[0].what


@pytest.mark.parametrize(
    ("typed", "unit", "digits", "step"),
    [("0.20", "kA", "0.20", "0.01"), ("23", "ms", "23", "1"), ("2.1", "V", "2.1", "0.1"), ("50", "Hz", "50", "1")],
)
def test_other_kinds_of_reading(typed: str, unit: str, digits: str, step: str) -> None:
    found, said = read_shown(typed, unit, "here", step=Decimal(step))
    assert said == ()
    assert found is not None
    assert (str(found.digits), found.step, found.unit) == (digits, Decimal(step), unit)


def test_a_coarser_display_than_expected_keeps_its_own_step() -> None:
    """'0.3' on an instrument said to show 0.01 was typed short or shown so: the wider step is the cautious one."""
    found = shown("0.3")
    assert found is not None
    assert found.step == Decimal("0.1")


def test_zero_is_printed_as_an_inequality() -> None:
    found = shown("0.00")
    assert found is not None
    assert str(found) == "<0.01 Ω"
    assert found.as_shown == "0.00 Ω"
    assert str(shown("0.02")) == "0.02 Ω"


@pytest.mark.parametrize(
    "typed",
    [
        True,
        False,
        None,
        "",
        "   ",
        "1,234",
        "12,345",
        "1,234.5",
        "1,2,3",
        "1,2.3",
        "abc",
        "nan",
        "1e5",
        "+",
        "++2",
        "2++",
        "✓",
        "OK",
        "0.05 V",
        "0.05 bananas",
        "--1",
        "<-0.1",
        0,
        "0",
        "0.0",
        [],
        {},
        float("nan"),
        float("inf"),
        Decimal("Infinity"),
        "0.05 0.06",
        "0x10",
    ],
)
def test_refused_with_a_reason(typed: object) -> None:
    found, said = read_shown(typed, "Ω", "step 3: shown", entry="r1")
    assert found is None
    (finding,) = said
    assert finding.severity is Severity.ERROR
    assert finding.where == "step 3: shown"
    assert finding.expected
    assert finding.found
    assert finding.do


@pytest.mark.parametrize(
    ("typed", "unit", "digits"),
    [
        ("0.4 kΩ", "Ω", "400.0"),
        ("20 mΩ", "Ω", "0.020"),
        ("0.5 MΩ", "kΩ", "500.0"),
        ("300 kΩ", "MΩ", "0.300"),
        ("6 KΩ", "Ω", "6000"),
        ("0.05 A", "mA", "50.00"),
        ("0.3 s", "ms", "300.0"),
    ],
)
def test_another_prefix_is_understood_aloud(typed: str, unit: str, digits: str) -> None:
    found, said = read_shown(typed, unit, "here")
    assert found is not None
    assert found.digits == Decimal(digits)
    assert any("Understood as" in f.what for f in said)


def test_the_same_unit_spelled_out_is_no_finding() -> None:
    assert read_shown("0.05 ohms", "Ω", "here")[1] == ()
    assert read_shown("5 amps", "A", "here", step=Decimal(1))[1] == ()


def test_more_decimals_than_the_display_has() -> None:
    found, said = read_shown("0.025", "Ω", "here")
    assert found is not None
    assert found.step == Decimal("0.01")
    assert [f.family for f in said] == ["input.resolution"]


@given(st.decimals(min_value=0, max_value=9999, places=2))
def test_any_display_value_comes_back_as_it_was(value: Decimal) -> None:
    found = shown(str(value))
    assert found is not None
    assert found.digits == value


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_without_a_crash(text: str) -> None:
    found, said = read_shown(text, "Ω", "here")
    assert found is not None or said[0].severity is Severity.ERROR


@pytest.mark.parametrize("typed", ["٠.٠٣", "０.０３", "0.0３", "०.०३", "0٫03"])
def test_digits_of_other_scripts_are_refused_not_guessed(typed: str) -> None:
    found, said = read_shown(typed, "Ω", "here")
    assert found is None
    assert said[0].severity is Severity.ERROR


@pytest.mark.parametrize(
    ("typed", "unit", "step", "reads"),
    [
        ("0,47", "Ω", "0.01", "0.47 Ω"),
        ("1,2", "Ω", "0.01", "1.2 Ω"),
        (",47", "Ω", "0.01", "0.47 Ω"),
        ("0,123", "Ω", "0.001", "0.123 Ω"),
        ("0,47 ohm", "Ω", "0.01", "0.47 Ω"),
        ("<0,01", "Ω", "0.01", "<0.01 Ω"),
        (".47", "Ω", "0.01", "0.47 Ω"),
        ("470 mΩ", "Ω", "0.01", "0.470 Ω"),
        ("470mOhm", "Ω", "0.01", "0.470 Ω"),
        ("0.47R", "Ω", "0.01", "0.47 Ω"),
        ("200+", "MΩ", "0.01", "over-range (>200 MΩ)"),
        ("200 +", "MΩ", "0.01", "over-range (>200 MΩ)"),
        ("200M+", "MΩ", "0.01", "over-range (>200 MΩ)"),
        ("+200", "MΩ", "0.01", "over-range (>200 MΩ)"),
        ("> 299 MΩ", "MΩ", "0.01", "over-range (>299 MΩ)"),
        (">299 Megohm", "MΩ", "0.01", "over-range (>299 MΩ)"),
        (">1 GΩ", "MΩ", "0.01", "over-range (>1000 MΩ)"),
        ("299M", "MΩ", "0.01", "299 MΩ"),
        ("22k", "Ω", "10", "22000 Ω"),
        ("INF", "MΩ", "0.01", "over-range"),
        ("infinity", "MΩ", "0.01", "over-range"),
        ("O/L", "Ω", "0.01", "over-range"),
        ("+0.47", "Ω", "0.01", "0.47 Ω"),
        ("99+", "Ω", "0.01", "over-range (>99 Ω)"),
        ("0R47", "Ω", "0.01", "0.47 Ω"),
        ("4R7", "Ω", "0.01", "4.7 Ω"),
        ("R47", "Ω", "0.01", "0.47 Ω"),
        ("0Ω47", "Ω", "0.01", "0.47 Ω"),
        ("0·47", "Ω", "0.01", "0.47 Ω"),
        ("0.47.", "Ω", "0.01", "0.47 Ω"),
        ("470 milliohm", "Ω", "0.01", "0.470 Ω"),
        (">1G", "MΩ", "0.01", "over-range (>1000 MΩ)"),
        ("greater than 500", "MΩ", "0.01", "over-range (>500 MΩ)"),
        ("500 MΩ or more", "MΩ", "0.01", "over-range (>500 MΩ)"),
        ("off scale", "MΩ", "0.01", "over-range"),
        ("25mS", "ms", "0.1", "25 ms"),
        ("25 msec", "ms", "0.1", "25 ms"),
        ("did not trip", "ms", "0.1", "over-range"),
        ("<0.1", "A", "0.01", "<0.1 A"),
    ],
)
def test_what_people_really_write_is_understood_aloud(typed: str, unit: str, step: str, reads: str) -> None:
    found, said = read_shown(typed, unit, "here", step=Decimal(step))
    assert found is not None, said
    assert str(found) == reads
    assert all(f.severity is Severity.NOTE for f in said)
    changed = "," in typed or "R4" in typed or "+" in typed[1:] or (typed[0] == "+" and unit == "MΩ")
    assert bool(said) >= changed


@pytest.mark.parametrize(
    ("typed", "unit", "said"),
    [
        ("25ms/18ms", "ms", "Two values"),
        ("0.4-0.5", "Ω", "Two values"),
        ("no trip", "Ω", "not digits"),
        ("0.47?", "Ω", "not a unit"),
        ("±0.3", "Ω", "not digits"),
        ("see note", "MΩ", "not digits"),
        ("--", "MΩ", "not digits"),
        ("x1 22", "ms", "not digits"),
        (">1,000", "MΩ", "comma"),
        ("25 mS", "A", "not a unit"),
    ],
)
def test_what_may_mean_two_things_is_refused(typed: str, unit: str, said: str) -> None:
    found, told = read_shown(typed, unit, "here")
    assert found is None
    assert said in told[0].what


@pytest.mark.parametrize(
    ("typed", "kept"), [("0.0", True), (Decimal("0.0"), True), (0.0, False), ("0", False), (0, False)]
)
def test_a_clamp_with_one_decimal_shows_nought_point_nought(typed: object, kept: bool) -> None:
    found, said = read_shown(typed, "A", "here", step=Decimal("0.01"))
    assert (found is not None) is kept
    assert bool(said) is not kept
    if found is not None:
        assert (found.step, str(found)) == (Decimal("0.1"), "<0.1 A")
