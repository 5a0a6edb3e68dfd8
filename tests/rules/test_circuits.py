"""Disconnection times, residual current devices, insulation, TT, voltage drop, cables, special locations."""

from __future__ import annotations

import datetime as dt
import math

import pytest

from earthwright.base.errors import NoRule
from earthwright.rules import RuleBook
from earthwright.rules.lookup import (
    WIRING,
    armour_mohm_per_m,
    cable_kinds,
    cable_voltage_drop,
    conductor_mohm_per_m,
    declared_supply,
    disconnection_time,
    flat_cable_cpc,
    insulation_enquire,
    insulation_minimum,
    loop_factor,
    loop_uplift,
    nominal_voltage,
    ra_max,
    ra_stable,
    rcd_limits,
    rcd_required,
    ring_agreement,
    special_location,
    special_sections,
    supplementary_resistance_max,
    touch_limit,
    voltage_drop_limit,
    zs_cold_factor,
)

BOOK = RuleBook.load()
DAY = dt.date(2026, 11, 20)
A4 = BOOK.edition_for(WIRING, DAY)
A2 = BOOK.edition_for(WIRING, dt.date(2022, 9, 27))
A1 = BOOK.edition_for(WIRING, dt.date(2022, 9, 26))
FIRST = BOOK.edition_for(WIRING, dt.date(2019, 1, 1))


@pytest.mark.parametrize(
    ("system", "ac", "u0", "time_s"),
    [
        # table 41.1, each edge at and just above
        ("TN-S", True, 50.01, 0.8), ("TN-S", True, 120, 0.8), ("TN-S", True, 120.01, 0.4), ("TN-S", True, 230, 0.4),
        ("TN-C-S", True, 230.01, 0.2), ("TN-C-S", True, 400, 0.2), ("TN-C", True, 400.01, 0.1),
        ("TT", True, 50.01, 0.3), ("TT", True, 120, 0.3), ("TT", True, 120.01, 0.2), ("TT", True, 230, 0.2),
        ("TT", True, 230.01, 0.07), ("TT", True, 400, 0.07), ("TT", True, 400.01, 0.04),
        ("TN-S", False, 120.01, 5), ("TN-S", False, 230, 5), ("TN-S", False, 400, 0.4), ("TN-S", False, 400.01, 0.1),
        ("TT", False, 230, 0.4), ("TT", False, 400, 0.2), ("TT", False, 400.01, 0.1),
    ],
)  # fmt: skip
def test_disconnection_time_of_final_circuits(system: str, ac: bool, u0: float, time_s: float) -> None:
    row = disconnection_time(A4, system=system, u0_v=u0, ac=ac)
    assert (float(row.value), row.unit) == (time_s, "s")


@pytest.mark.parametrize(("system", "ac", "u0"), [("TN-S", True, 50), ("TN-S", False, 120), ("IT", True, 230)])
def test_no_disconnection_time_is_no_rule(system: str, ac: bool, u0: float) -> None:
    with pytest.raises(NoRule):
        disconnection_time(A4, system=system, u0_v=u0, ac=ac)


@pytest.mark.parametrize(
    ("rated", "sockets", "time_s"),
    [
        (None, None, 0.4), (63, True, 0.4), (63.01, True, 5), (32, False, 0.4), (32.01, False, 5),
        # unknown outlets: only above both limits is the longer time certain
        (40, None, 0.4), (63, None, 0.4), (63.01, None, 5),
    ],
)  # fmt: skip
def test_scope_of_the_short_times(rated: float | None, sockets: bool | None, time_s: float) -> None:
    """411.3.2.2: 63 A with socket-outlets, 32 A with fixed equipment only."""
    row = disconnection_time(A4, system="TN-C-S", u0_v=230, rated_a=rated, sockets=sockets)
    assert float(row.value) == time_s


def test_distribution_circuits_and_tt_by_overcurrent() -> None:
    assert float(disconnection_time(A4, system="TN-S", u0_v=230, distribution=True).value) == 5
    assert float(disconnection_time(A4, system="TT", u0_v=230, distribution=True).value) == 1
    assert disconnection_time(A4, system="TT", u0_v=230, distribution=True).clause == "411.3.2.4"
    assert float(disconnection_time(A4, system="TT", u0_v=230, tt_by_overcurrent=True).value) == 0.4


def test_loop_factors_and_supply() -> None:
    assert float(zs_cold_factor(A4).value) == 0.8
    assert float(loop_factor(A4, "c_max").value) == 1.1
    assert float(loop_factor(A4, "cold, international").value) == pytest.approx(2 / 3, abs=1e-9)
    assert float(loop_uplift(A4).value) == 0.5
    assert [float(declared_supply(A4, s).number("ze_ohm")) for s in ("TN-S", "TN-C-S", "TT")] == [0.8, 0.35, 21]
    volts = nominal_voltage(A4)
    assert float(volts.number("low")) == pytest.approx(230 * 0.94)
    assert float(volts.number("high")) == pytest.approx(230 * 1.10)
    lines = nominal_voltage(A4, "lines")
    assert float(lines.number("low")) == pytest.approx(400 * 0.94)
    assert float(lines.number("high")) == pytest.approx(400 * 1.10)


def test_the_edition_decides_which_tests_of_an_rcd_are_asked_for() -> None:
    for edition in (FIRST, A1):
        old = rcd_limits(edition, "general", 30)
        assert [(x.multiple, x.must, x.min_ms, x.max_ms) for x in old] == [
            (0.5, "hold", 2000, 0),
            (1, "trip", 0, 300),
            (5, "trip", 0, 40),
        ]
    for edition in (A2, A4):
        assert [(x.multiple, x.must, x.min_ms, x.max_ms) for x in rcd_limits(edition, "general", 30)] == [
            (1, "trip", 0, 300)
        ]
        assert [(x.min_ms, x.max_ms) for x in rcd_limits(edition, "S", 100)] == [(130, 500)]
    assert len(rcd_limits(A4, "general", 30, "half, one, five")) == 3
    assert rcd_limits(A4, "BS 4293", 100, "half, one, five")[1].max_ms == 200


@pytest.mark.parametrize(("idn", "tests"), [(29.9, 3), (30, 3), (30.1, 2), (100, 2)])
def test_five_times_belongs_to_devices_up_to_30_ma(idn: float, tests: int) -> None:
    assert len(rcd_limits(A4, "general", idn, "half, one, five")) == tests


def test_an_rcd_of_unknown_kind_is_no_rule() -> None:
    with pytest.raises(NoRule, match="no 'single' test for a BS 4293 device"):
        rcd_limits(A4, "BS 4293", 30)
    assert {float(r.value) for r in rcd_required(A4)} == {30}


@pytest.mark.parametrize(
    ("circuit", "method", "volts", "megohm"),
    [
        ("SELV or PELV", "standard", 250, 0.5),
        ("up to 500 V", "standard", 500, 1),
        ("above 500 V", "standard", 1000, 1),
        ("up to 500 V", "equipment connected", 250, 1),
        ("up to 500 V", "16th edition", 500, 0.5),
        ("SELV or PELV", "16th edition", 250, 0.25),
    ],
)
def test_insulation_minimum(circuit: str, method: str, volts: float, megohm: float) -> None:
    row = insulation_minimum(A4, circuit, method)
    assert (float(row.number("test_v")), float(row.value), row.unit) == (volts, megohm, "MΩ")


def test_single_guidance_figures() -> None:
    assert float(insulation_enquire(A4).value) == 2
    assert float(ring_agreement(A4).value) == 0.05
    assert float(ra_stable(A4).value) == 200
    assert [float(touch_limit(A4, u).value) for u in ("AC", "DC", "charging point on PME")] == [50, 120, 70]


@pytest.mark.parametrize(("idn", "ra"), [(30, 1667), (100, 500), (300, 167), (500, 100), (10, 5000), (250, 200)])
def test_ra_for_a_residual_current(idn: float, ra: float) -> None:
    """Table 41.5; 250 mA and 200 Ω belong together in the On-Site Guide's example."""
    assert ra_max(A4, idn).value == pytest.approx(ra, abs=0.5)
    assert ra_max(A4, 30).how == "1667 Ω as printed"
    assert ra_max(A4, 250).as_limit("max", "RA").unit == "Ω"


def test_ra_of_nothing_is_no_rule() -> None:
    for idn in (0, -30):
        with pytest.raises(NoRule):
            ra_max(A4, idn)


def test_supplementary_bonding_resistance() -> None:
    """Published: B 32, 160 A, 0.3125 Ω; with 30 mA 1667 Ω."""
    assert supplementary_resistance_max(A4, 160).value == 0.3125
    assert supplementary_resistance_max(A4, 0.03).value == pytest.approx(1667, abs=0.5)
    assert supplementary_resistance_max(A4, 160, ac=False).value == 0.75
    for bad in (0, -1, math.nan):
        with pytest.raises(ValueError, match="above 0 A"):
            supplementary_resistance_max(A4, bad)


@pytest.mark.parametrize(
    ("use", "supply", "length", "percent"),
    [
        ("lighting", "public", 0, 3),
        ("other", "public", 100, 5),
        ("other", "public", 101, 5.005),
        ("other", "public", 199.9, 5.4995),
        ("other", "public", 200, 5.5),
        ("other", "public", 300, 5.5),
        ("lighting", "private", 0, 6),
        ("other", "private", 0, 8),
    ],
)
def test_voltage_drop_limits(use: str, supply: str, length: float, percent: float) -> None:
    """Published: 3 % and 5 % of 230 V are 6.9 V and 11.5 V."""
    assert voltage_drop_limit(A4, use, supply, length).value == pytest.approx(percent, abs=1e-9)


@pytest.mark.parametrize(
    ("cable", "csa", "mv"),
    [("70 °C thermoplastic, two-core", 1, 44), ("70 °C thermoplastic, two-core", 1.5, 29),
     ("70 °C thermoplastic, two-core", 2.5, 18), ("70 °C thermoplastic, two-core", 4, 11),
     ("70 °C thermoplastic, two-core", 6, 7.3), ("70 °C thermoplastic, two-core", 10, 4.4),
     ("90 °C flexible, two-core", 4, 13.2), ("90 °C flexible, two-core", 6, 8.5),
     ("90 °C flexible, two-core", 10, 5.1), ("90 °C flexible, two-core", 16, 3.2)],
)  # fmt: skip
def test_voltage_drop_of_cables(cable: str, csa: float, mv: float) -> None:
    row = cable_voltage_drop(A4, cable, csa)
    assert (float(row.value), row.unit) == (mv, "mV/(A·m)")


def test_voltage_drop_tables_agree_with_the_resistance_of_the_conductor() -> None:
    """r is 2·R (two-core) or √3·R (three-phase) at working temperature; within 9 %, since alternating current crowds
    in thick conductors. z is √(r² + x²) within 3 %."""
    for kind in cable_kinds(A4):
        paths = 2 if "two-core" in kind else math.sqrt(3)
        hot = 1.20 if kind.startswith("70") else 1.28
        for row in A4.table("cable.voltdrop").where(cable=kind):
            csa = float(str(row.keys["csa_mm2"]))
            material, iec_class = ("copper tinned", 5) if "flexible" in kind else ("copper", 2)
            r20 = float(conductor_mohm_per_m(BOOK, DAY, material, iec_class, csa).value)
            r, x, z = (float(row.number(c)) for c in ("r", "x", "value"))
            assert 0.97 < r / (paths * r20 * hot) < 1.09, (kind, csa)
            assert z == pytest.approx(math.hypot(r, x), rel=0.03), (kind, csa)


def test_flat_cable_and_armour() -> None:
    """BS 6004 sizes and armour as in a guide of 2008."""
    assert [float(flat_cable_cpc(A4, s).value) for s in (1.5, 2.5, 4, 6, 10, 16)] == [1, 1.5, 1.5, 2.5, 4, 6]
    assert float(flat_cable_cpc(A4, 2.5, "older").value) == 1
    published = {
        1.5: (10.2, 9.5, 8.8, 8.2),
        2.5: (8.8, 8.2, 7.7, 6.8),
        4: (7.9, 7.5, 6.8, 6.2),
        6: (7.0, 6.7, 4.3, 3.9),
    }
    for csa, row in published.items():
        assert tuple(float(armour_mohm_per_m(A4, csa, n).value) for n in (2, 3, 4, 5)) == row
    with pytest.raises(NoRule):
        armour_mohm_per_m(A4, 10, 2)


def test_special_locations() -> None:
    bath = special_location(A4, "701")
    assert any("supplementary bonding" in r.text("rule").lower() for r in bath["rules"])
    assert [float(r.value) for r in bath["rcd"]] == [30]
    assert "701.415.2" in {r.clause for r in bath["rules"]}  # they stand in the order in which one walks the room
    assert special_location(A4, "outdoors")["rcd"] == ()
    assert {"701", "702", "705", "708", "722", "outdoors"} <= set(special_sections(A4))
    with pytest.raises(NoRule, match="no data for the special location '799'"):
        special_location(A4, "799")
