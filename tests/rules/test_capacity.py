"""Capacities of cables and their factors, apart from what is built on them. The figures are written here by hand."""

from __future__ import annotations

import datetime as dt

import pytest

from earthwright.base.errors import NoRule
from earthwright.rules import RuleBook
from earthwright.rules.lookup import (
    WIRING,
    ambient_factor,
    carrying_capacity,
    grouping_factor,
    insulation_factor,
    overload_ring,
    overload_share,
    power_direction,
    rcd_general,
)

BOOK = RuleBook.load()
A4 = BOOK.edition_for(WIRING, dt.date(2026, 11, 20))
A2 = BOOK.edition_for(WIRING, dt.date(2023, 5, 1))
FLAT, SINGLE, MULTI = "flat with cpc, 70 °C", "single-core, 70 °C", "multicore, 70 °C"
ARM, ARM90 = "armoured, 70 °C", "armoured, 90 °C"


@pytest.mark.parametrize(
    ("cable", "method", "loaded", "csa", "amps"),
    [
        (FLAT, "C", 2, 2.5, 27),
        (FLAT, "A", 2, 2.5, 20),
        (FLAT, "100", 2, 2.5, 21),
        (FLAT, "101", 2, 2.5, 17),
        (FLAT, "102", 2, 2.5, 21),
        (FLAT, "103", 2, 2.5, 13.5),
        (FLAT, "C", 2, 1.5, 20),
        (FLAT, "101", 2, 1, 10.5),
        (FLAT, "C", 2, 10, 64),
        (SINGLE, "C", 2, 16, 87),
        (SINGLE, "C", 2, 25, 114),
        (SINGLE, "B", 3, 4, 28),
        (MULTI, "E", 3, 16, 80),
        (ARM, "C", 2, 4, 38),
        (ARM, "D", 2, 16, 78),
        (ARM90, "E", 3, 25, 131),
        (ARM90, "D", 2, 4, 43),
    ],
)
def test_a_printed_size_carries_what_its_table_says(
    cable: str, method: str, loaded: int, csa: float, amps: float
) -> None:
    found = carrying_capacity(A4, (cable,), loaded=loaded, csa_mm2=csa, method=method)
    assert float(found.least.value) == float(found.most.value) == amps
    assert found.least.confidence == "memory"
    assert found.least.clause.startswith("appendix 4, table 4")


def test_capacities_rise_with_the_size_and_fall_with_the_third_conductor() -> None:
    rows = A4.table("current.capacity").all()
    by_way: dict[tuple[str, str, float], list[float]] = {}
    for r in rows:
        key = (str(r.keys["cable"]), str(r.keys["method"]), float(str(r.keys["loaded"])))
        by_way.setdefault(key, []).append(float(r.value))
    for way, amps in by_way.items():
        assert amps == sorted(set(amps)), way
        third = by_way.get((way[0], way[1], 3.0))
        if way[2] == 2.0 and third:
            assert all(a > b for a, b in zip(amps, third, strict=True)), way


def test_without_a_method_the_worst_and_the_best_are_given() -> None:
    found = carrying_capacity(A4, (FLAT,), loaded=2, csa_mm2=2.5)
    assert (float(found.least.value), float(found.most.value)) == (13.5, 27)
    wider = carrying_capacity(A4, (FLAT, MULTI), loaded=2, csa_mm2=2.5)
    assert (float(wider.least.value), float(wider.most.value)) == (13.5, 30)


@pytest.mark.parametrize(("csa", "low", "high"), [(2.4, 20, 27), (2.5, 27, 27), (2.9, 27, 37)])
def test_an_imperial_size_lies_between_its_neighbours(csa: float, low: float, high: float) -> None:
    found = carrying_capacity(A4, (FLAT,), loaded=2, csa_mm2=csa, method="C")
    assert (float(found.least.value), float(found.most.value)) == (low, high)


@pytest.mark.parametrize(
    ("cables", "method", "loaded", "csa"),
    [((FLAT,), "C", 3, 2.5), ((FLAT,), "G", 2, 2.5), ((FLAT,), "C", 2, 0.5), ((FLAT,), "C", 2, 300), ((), "", 2, 2.5)],
)
def test_what_is_not_tabulated_is_no_rule(cables: tuple[str, ...], method: str, loaded: int, csa: float) -> None:
    with pytest.raises(NoRule, match="no capacity"):
        carrying_capacity(A4, cables, loaded=loaded, csa_mm2=csa, method=method)


@pytest.mark.parametrize(
    ("circuits", "factor"),
    [(1, 1), (2, 0.8), (3, 0.7), (4, 0.65), (9, 0.5), (10, 0.45), (12, 0.45), (13, 0.41), (20, 0.38)],
)
def test_bunched_circuits(circuits: int, factor: float) -> None:
    assert float(grouping_factor(A4, circuits).value) == factor


@pytest.mark.parametrize(
    ("working", "ambient", "factor"),
    [(70, 20, 1.03), (70, 25, 1.03), (70, 30, 1), (70, 31, 0.94), (70, 40, 0.87), (90, 40, 0.91), (90, 55, 0.76)],
)
def test_warm_air(working: float, ambient: float, factor: float) -> None:
    assert float(ambient_factor(A4, working, ambient).value) == factor


@pytest.mark.parametrize(
    ("mm", "factor"), [(50, 0.88), (51, 0.78), (100, 0.78), (200, 0.63), (400, 0.51), (401, 0.5), (2000, 0.5)]
)
def test_cable_in_thermal_insulation(mm: float, factor: float) -> None:
    assert float(insulation_factor(A4, mm).value) == factor


def test_beyond_the_tables_there_is_no_rule() -> None:
    for asked in (lambda: grouping_factor(A4, 21), lambda: ambient_factor(A4, 70, 61), lambda: rcd_general(A4, "X")):
        with pytest.raises(NoRule):
            asked()


def test_rings_and_rewirable_fuses() -> None:
    ring = overload_ring(A4)
    assert [float(ring.number(c)) for c in ("least_a", "least_mm2", "device_to_a")] == [20, 2.5, 32]
    share = overload_share(A4, "BS 3036")
    assert share is not None
    assert float(share.value) == 0.725
    assert overload_share(A4, "circuit-breaker") is None


def test_only_type_ac_is_not_for_general_use() -> None:
    assert [rcd_general(A4, t).flag("general") for t in ("AC", "A", "F", "B")] == [False, True, True, True]


def test_the_direction_of_power_is_asked_since_amendment_3() -> None:
    assert power_direction(A4, "either way").flag("suits")
    assert not power_direction(A4, "one way").flag("suits")
    with pytest.raises(NoRule):
        power_direction(A2, "one way")
