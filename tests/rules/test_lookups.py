"""The plain look-ups, each held against a figure from outside the data."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import pytest

from earthwright.base.errors import NoRule, RuleDataError
from earthwright.rules import RuleBook
from earthwright.rules.lookup import (
    WIRING,
    body_impedance,
    bond_position,
    copper_equivalent,
    extraneous_thresholds,
    k_material,
    pipe_resistance,
    plastic_section,
    soil_resistivity,
    temperature_law,
    temperature_multiplier,
)

DAY = dt.date(2026, 11, 20)
BOOK = RuleBook.load()
A4 = BOOK.edition_for(WIRING, DAY)


def test_the_clamp_stands_within_600_mm_of_the_meter() -> None:
    """544.1.2."""
    assert float(bond_position(A4).value) == 0.6


def test_an_insulating_section_is_at_least_100_mm_long() -> None:
    """Guidance read in practitioners' discussions."""
    rows = {str(r.keys["what"]): r for r in plastic_section(A4)}
    assert float(rows["insulating section, least length"].value) == 0.1
    assert float(rows["water column in 15 mm plastic pipe"].number("per_m_kohm")) == 100


def test_thresholds_follow_from_the_voltage_and_the_body_current() -> None:
    """U0/I less 1 kΩ of body: 22 kΩ at 10 mA is the figure customary in the UK."""
    rows = {int(str(r.keys["body_ma"])): r for r in extraneous_thresholds(A4)}
    assert sorted(rows) == [5, 10, 30]
    for milliamp, row in rows.items():
        assert float(row.value) == pytest.approx(230 / milliamp * 1000 - 1000, abs=0.5)


@pytest.mark.parametrize(("pipe", "outer", "wall"), [("15 mm copper", 15, 0.7), ("22 mm copper", 22, 0.9)])
def test_pipes_follow_from_their_dimensions(pipe: str, outer: float, wall: float) -> None:
    """ρ of annealed copper at 20 °C is 1/58 Ω·mm²/m (IEC 60028), dimensions of BS EN 1057."""
    csa = math.pi / 4 * (outer**2 - (outer - 2 * wall) ** 2)
    assert float(pipe_resistance(A4, pipe).value) == pytest.approx(1000 / 58 / csa, abs=0.005)


def test_copper_equivalent_is_the_ratio_of_conductivities() -> None:
    """ρ20 of aluminium 28.264 (IEC 60889) and of copper 17.241 Ω·mm²/km (IEC 60028)."""
    assert float(copper_equivalent(A4, "aluminium").value) == pytest.approx(28.264 / 17.241, abs=0.05)


def test_temperature_law_and_multiplier() -> None:
    """The trade's 1.20 for 70 °C; copper's 0.00393/K at 20 °C (IEC 60028)."""
    assert float(temperature_multiplier(A4, 70).value) == 1.20
    assert float(temperature_law(A4, "copper").number("per_k")) == 0.004
    with pytest.raises(NoRule):
        temperature_multiplier(A4, 71)


def test_k_from_material_constants() -> None:
    """k = √(Qc (β + 20)/ρ20 · ln((β + θf)/(β + θi))): copper from 70 to 160 °C is 115, table 54.3."""
    row = k_material(A4, "copper")
    beta, heat, rho = (float(row.number(n)) for n in ("beta_c", "heat", "rho20"))
    k = math.sqrt(heat * (beta + 20) / rho * math.log((beta + 160) / (beta + 70)))
    assert k == pytest.approx(115, abs=0.5)


def test_bodies_and_soils() -> None:
    """IEC 60479-1:1984 at 230 V lies between its rows for 220 V and 700 V; clay below gravel in every list."""
    with pytest.raises(NoRule):
        body_impedance(BOOK, DAY, 49.0)
    row = body_impedance(BOOK, DAY, 225)
    five, half, most = (float(row.number(n)) for n in ("five_percent", "half", "ninety_five_percent"))
    assert five < half < most
    assert row.confidence == "memory"
    soils = {str(r.keys["soil"]): r for r in soil_resistivity(BOOK, DAY)}
    assert soils["clay"].number("high") < soils["gravel, well graded"].number("low")


def test_an_empty_rule_book_says_so(tmp_path: Path) -> None:
    for ask in (lambda: RuleBook.load(tmp_path).editions, lambda: RuleBook.load(tmp_path).check()):
        with pytest.raises(RuleDataError, match=r"no edition\.toml found"):
            ask()


def test_a_standard_without_editions_is_named_by_check(tmp_path: Path) -> None:
    (tmp_path / "s").mkdir()
    with pytest.raises(RuleDataError, match=r"s: no edition\.toml found"):
        RuleBook.load(tmp_path).check()
