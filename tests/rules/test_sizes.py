"""Chains of sizes: earthing conductor, main bond, supplementary bond; each edge tried below, at and above."""

from __future__ import annotations

import datetime as dt

import pytest

from earthwright.base.errors import NoRule
from earthwright.rules import RuleBook
from earthwright.rules.lookup import (
    WIRING,
    SizeChain,
    earthing_conductor_chain,
    earthing_conductor_min,
    main_bond_min,
    next_standard,
    standard_sizes,
    supplementary_bond_min,
)
from earthwright.rules.sizes import as_conductance, by_k, pme_least

BOOK = RuleBook.load()
A4 = BOOK.edition_for(WIRING, dt.date(2026, 11, 20))


@pytest.mark.parametrize(
    ("neutral", "bond"),
    [
        (0.1, 10),
        (34.99, 10),
        (35, 10),
        (35.01, 16),
        (50, 16),
        (50.01, 25),
        (95, 25),
        (95.01, 35),
        (150, 35),
        (150.01, 50),
        (400, 50),
    ],
)
def test_pme_bond_below_at_and_above_each_edge(neutral: float, bond: float) -> None:
    """BS 7671 table 54.8."""
    chain = main_bond_min(
        A4,
        system="TN-C-S",
        pme=True,
        earthing_needed_mm2=None,
        line_csa_mm2=None,
        neutral_csa_mm2=neutral,
        neutral_at_most=False,
    )
    assert chain.needed_mm2 == bond
    assert chain.limit is not None
    assert chain.limit.side == "min"


def bond_by_earthing(earthing: float | None, line: float | None = None, system: str = "TN-S") -> SizeChain:
    return main_bond_min(
        A4,
        system=system,
        pme=None,
        earthing_needed_mm2=earthing,
        line_csa_mm2=line,
        neutral_csa_mm2=None,
        neutral_at_most=False,
    )


@pytest.mark.parametrize(
    ("earthing", "bond", "why"),
    [
        (6, 6, "at least 6"),
        (12, 6, "half is 6"),
        (12.1, 10, "next standard size"),
        (16, 10, "half is 8"),
        (20, 10, "half is 10"),
        (50, 25, "half is 25"),
        (50.1, 25, "no more than 25"),
        (95, 25, "no more than 25"),
    ],
)
def test_bond_by_half_the_required_earthing_conductor(earthing: float, bond: float, why: str) -> None:
    """544.1.1: half, at least 6 mm², no more than 25 mm² asked for."""
    chain = bond_by_earthing(earthing)
    assert chain.needed_mm2 == bond
    assert why in chain.steps[-1].why
    assert chain.steps[-1].decided


def test_the_chain_starts_from_the_line_conductor_when_nothing_was_calculated() -> None:
    chain = bond_by_earthing(None, line=25)
    assert [s.clause for s in chain.steps] == ["543.1.4, table 54.7", "544.1.1"]
    assert chain.needed_mm2 == 10


def test_what_is_missing_is_named() -> None:
    assert "required" in bond_by_earthing(None).unknown[0]
    nothing = main_bond_min(
        A4, system=None, pme=None, earthing_needed_mm2=16, line_csa_mm2=None, neutral_csa_mm2=25, neutral_at_most=False
    )
    assert "earthing arrangement" in nothing.unknown[0]
    presumed = main_bond_min(
        A4,
        system="TN-C-S",
        pme=None,
        earthing_needed_mm2=16,
        line_csa_mm2=None,
        neutral_csa_mm2=None,
        neutral_at_most=False,
    )
    assert "nobody has said" in presumed.steps[0].inputs
    assert "supply neutral" in presumed.unknown[0]
    known = main_bond_min(
        A4,
        system="TN-C-S",
        pme=None,
        earthing_needed_mm2=16,
        line_csa_mm2=None,
        neutral_csa_mm2=35,
        neutral_at_most=True,
    )
    assert known.needed_mm2 == 10
    assert "at most 35" in known.steps[1].inputs


@pytest.mark.parametrize(("line", "pe"), [(15.9, 16), (16, 16), (16.1, 16), (35, 16), (35.1, 25), (150, 95)])
def test_earthing_conductor_below_at_and_above_each_edge(line: float, pe: float) -> None:
    """Table 54.7, rounded up to a standard size."""
    assert earthing_conductor_min(A4, line).value_mm2 == pe


def test_supplementary_bonds() -> None:
    """544.2."""
    assert supplementary_bond_min(A4, between="extraneous and extraneous", protected=True).needed_mm2 == 2.5
    assert supplementary_bond_min(A4, between="extraneous and extraneous", protected=False).needed_mm2 == 4
    assert supplementary_bond_min(A4, between="exposed and exposed", protected=True, smaller_cpc_mm2=6).needed_mm2 == 6
    assert (
        supplementary_bond_min(A4, between="exposed and extraneous", protected=False, smaller_cpc_mm2=6).needed_mm2 == 4
    )
    assert supplementary_bond_min(A4, between="exposed and exposed", protected=True).unknown
    with pytest.raises(NoRule):
        supplementary_bond_min(A4, between="pipe and pipe", protected=True)


def test_standard_sizes() -> None:
    assert next_standard(A4, 4.0) == 4
    assert next_standard(A4, 4.01) == 6
    with pytest.raises(NoRule, match="above the largest"):
        next_standard(A4, 301)
    assert list(standard_sizes(A4)) == sorted(standard_sizes(A4))


def chain(**given: object) -> SizeChain:
    return earthing_conductor_chain(A4, **{"line_mm2": None, **given})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("given", "needed", "clause"),
    [
        ({"line_mm2": 25}, 16, "543.1.4, table 54.7"),
        ({"line_mm2": 25, "calculated_mm2": 6.01}, 10, "543.1.3"),
        ({"calculated_mm2": 6}, 6, "543.1.3"),
        # under PME not less than the main bond
        ({"calculated_mm2": 6, "pme": True, "neutral_mm2": 35}, 10, "544.1.1, table 54.8"),
        ({"calculated_mm2": 10.1, "pme": True, "neutral_mm2": 35}, 16, "543.1.3"),
        ({"line_mm2": 25, "pme": True, "neutral_mm2": 50}, 16, "543.1.4, table 54.7"),
        ({"line_mm2": 25, "pme": True, "neutral_mm2": 50.1}, 25, "544.1.1, table 54.8"),
        # buried, table 54.1
        ({"calculated_mm2": 4, "buried": ("protected", "protected")}, 4, "543.1.3"),
        ({"calculated_mm2": 1.5, "buried": ("protected", "protected")}, 2.5, "542.3.1, table 54.1"),
        ({"calculated_mm2": 4, "buried": ("protected", "not protected")}, 16, "542.3.1, table 54.1"),
        ({"calculated_mm2": 4, "buried": ("not protected", "protected")}, 25, "542.3.1, table 54.1"),
    ],
)
def test_earthing_conductor_is_the_largest_of_what_each_rule_asks(
    given: dict[str, object], needed: float, clause: str
) -> None:
    found = chain(**given)
    assert found.needed_mm2 == needed
    assert found.limit is not None
    assert (found.limit.value, found.limit.side, found.limit.clause) == (needed, "min", clause)
    assert [s.value_mm2 for s in found.steps if s.decided] == [needed]


def test_an_earthing_conductor_is_not_sized_while_something_is_missing() -> None:
    assert chain().unknown == ("a calculated size, or the line conductors",)
    found = chain(line_mm2=16, pme=True)
    assert (found.needed_mm2, found.limit) == (None, None)
    assert found.unknown == ("the copper-equivalent size of the supply neutral",)
    assert found.steps[0].value_mm2 == 16


@pytest.mark.parametrize(
    ("material", "times"),
    [
        ("copper", 1.0),
        (
            "aluminium",
            115 / 95,
        ),  # k of tables 54.3 (copper core, 115) and 54.2 (separate: aluminium 95, steel 52), BS 7671
        ("steel", 115 / 52),
    ],
)
def test_another_metal_is_larger_by_the_ratio_of_k(material: str, times: float) -> None:
    assert by_k(A4, material) == pytest.approx(times, abs=0.0005)


def test_aluminium_counts_by_its_conductance() -> None:
    # resistivity at 20 °C: hard-drawn aluminium 28.264 nΩm (IEC 60889), annealed copper 17.241 nΩm (IEC 60028)
    assert as_conductance(A4, "aluminium") == pytest.approx(28.264 / 17.241, abs=0.005)


def test_an_unknown_supply_neutral_leaves_the_least_and_the_most_of_the_pme_table() -> None:
    assert [row.value for row in pme_least(A4, None)] == [10, 50]  # BS 7671 table 54.8, its first and last row
    assert [row.value for row in pme_least(A4, 70)] == [25, 25]


def test_what_is_no_number_lies_in_no_range() -> None:
    with pytest.raises(NoRule, match="line nan"):
        earthing_conductor_min(A4, float("nan"))
