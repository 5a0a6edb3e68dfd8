"""The earthing conductor that is fitted against each rule that asks for its size; hand sums beside the cases."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve

from earthwright.assess import assess
from earthwright.outcomes.circuits import TestJudged
from earthwright.report.customs import earthing_conductor
from earthwright.rules import RuleBook
from earthwright.rules.lookup import WIRING
from earthwright.site.installation import Bond, Part, Supply

from .live_visit import families, off, on, read, row, rows, visit

TEST = "earthing conductor"


def judged(*events: Any, **supply: Any) -> TestJudged:
    return row(visit(*events, supply=Supply(**{"system": "TN-S", **supply})), "origin", TEST)


def code(t: TestJudged) -> str:
    edition = RuleBook.load().edition_for(WIRING, visit().date)
    return earthing_conductor(t, edition)[0]


def test_nothing_is_said_where_no_size_is_entered() -> None:
    assert rows(visit(supply=Supply("TN-S", line_csa_mm2=25)), "origin", TEST) == []


# Table 54.7: as the line up to 16, then 16 up to 35, then half; 50/2 = 25.
@pytest.mark.parametrize(
    ("line", "fitted", "outcome"),
    [
        (10, 6, "fails"),
        (10, 10, "meets"),
        (16, 16, "meets"),
        (25, 10, "fails"),
        (25, 16, "meets"),
        (35, 16, "meets"),
        (35.01, 16, "fails"),
        (50, 16, "fails"),
        (50, 25, "meets"),
    ],
)
def test_by_the_line_conductor(line: float, fitted: float, outcome: str) -> None:
    assert judged(line_csa_mm2=line, earthing_csa_mm2=fitted).outcome == outcome


# Another material than the copper line: k1/k2 times as much; 16 × 115/95 = 19.37 mm² of aluminium, 16 × 115/52 = 35.4 of steel.
@pytest.mark.parametrize(
    ("material", "fitted", "outcome"),
    [("aluminium", 19.3, "fails"), ("aluminium", 19.4, "meets"), ("steel", 35.3, "fails"), ("steel", 35.5, "meets")],
)
def test_another_material_by_k(material: str, fitted: float, outcome: str) -> None:
    assert judged(line_csa_mm2=25, earthing_csa_mm2=fitted, earthing_material=material).outcome == outcome


# Under PME not below the main bond (table 54.8): 10 up to a 35 mm² neutral, 16 up to 50.
@pytest.mark.parametrize(
    ("neutral", "fitted", "outcome"),
    [
        (35, 6, "fails"),
        (35, 10, "meets"),
        (35.01, 10, "fails"),
        (50, 16, "meets"),
        (151, 35, "fails"),
        (151, 50, "meets"),
    ],
)
def test_under_pme_not_below_the_main_bond(neutral: float, fitted: float, outcome: str) -> None:
    t = judged(system="TN-C-S", pme=True, neutral_csa_mm2=neutral, line_csa_mm2=6, earthing_csa_mm2=fitted)
    assert t.outcome == outcome


# 10 mm² of copper: 16.4 mm² of aluminium by resistivity 1.64, 80.1 of steel (8.01); the table alone asks less of both.
@pytest.mark.parametrize(
    ("material", "fitted", "outcome"),
    [("aluminium", 16, "fails"), ("aluminium", 16.4, "meets"), ("steel", 80, "fails"), ("steel", 80.1, "meets")],
)
def test_under_pme_another_material_by_conductance(material: str, fitted: float, outcome: str) -> None:
    t = judged(
        system="TN-C-S",
        pme=True,
        neutral_csa_mm2=35,
        line_csa_mm2=10,
        earthing_csa_mm2=fitted,
        earthing_material=material,
    )
    assert t.outcome == outcome


def test_pme_is_presumed_of_tn_c_s_and_not_where_it_is_said_not_to_be() -> None:
    kind = {"system": "TN-C-S", "neutral_csa_mm2": 35, "line_csa_mm2": 6, "earthing_csa_mm2": 6}
    assert judged(**kind).outcome == "fails"
    assert judged(**kind, pme=False).outcome == "meets"


@pytest.mark.parametrize(("fitted", "outcome"), [(6, "fails"), (10, "not decided"), (35, "not decided"), (50, "meets")])
def test_what_an_unknown_neutral_leaves_open(fitted: float, outcome: str) -> None:
    assert judged(system="TN-C-S", pme=True, line_csa_mm2=6, earthing_csa_mm2=fitted).outcome == outcome


# Table 54.1, copper / steel: 2.5 / 10 with both, 16 / 16 without protection against knocks, 25 / 50 without against corrosion.
@pytest.mark.parametrize(
    ("buried", "material", "least"),
    [
        ("protected", "copper", 2.5),
        ("no mechanical protection", "copper", 16),
        ("no corrosion protection", "copper", 25),
        ("no corrosion protection", "copper tinned", 25),
        ("protected", "steel", 10),
        ("no mechanical protection", "steel", 16),
        ("no corrosion protection", "steel", 50),
    ],
)
def test_in_soil(buried: str, material: str, least: float) -> None:
    kind = {"earthing_buried": buried, "earthing_material": material, "earthing_needed_mm2": 1}
    assert judged(**kind, earthing_csa_mm2=least).outcome == "meets"
    below = judged(**kind, earthing_csa_mm2=least - 0.1)
    assert below.outcome == "fails"
    assert code(below) == "C2"


def test_aluminium_in_soil_has_no_rule_in_the_data() -> None:
    t = judged(earthing_buried="protected", earthing_material="aluminium", earthing_needed_mm2=1, earthing_csa_mm2=35)
    assert t.outcome == "not decided"
    assert "no row for" in t.words


@pytest.mark.parametrize(("fitted", "outcome"), [(9.9, "fails"), (10, "meets")])
def test_a_size_that_was_worked_out_decides(fitted: float, outcome: str) -> None:
    assert judged(earthing_needed_mm2=10, line_csa_mm2=25, earthing_csa_mm2=fitted).outcome == outcome


ZE = (off("earthing"), read("ze", "origin", "0.25", method="two-lead"), on("earthing"))
# 230 V / 0.25 Ω = 920 A. A BS 88-2 of 100 A between its points (520 A, 5 s) and (1450 A, 0.1 s): 0.567 s;
# 920 × √0.567 / 143 = 4.85 mm² of copper, / 95 = 7.29 mm² of aluminium.
FUSE = {"fuse": "BS 88-2 gG", "fuse_a": 100.0, "line_csa_mm2": 25}


@pytest.mark.parametrize(
    ("fitted", "material", "outcome"),
    [(4.8, "copper", "fails"), (4.9, "copper", "meets"), (7.2, "aluminium", "fails"), (7.4, "aluminium", "meets")],
)
def test_what_is_below_the_table_may_be_acquitted_by_the_sum(fitted: float, material: str, outcome: str) -> None:
    t = judged(*ZE, **FUSE, earthing_csa_mm2=fitted, earthing_material=material)
    assert t.outcome == outcome
    assert t.judged[0].limit is not None
    assert t.judged[0].limit.clause == "543.1.3"
    assert "920 A for 0.57 s" in t.judged[0].why
    if outcome == "fails":
        assert code(t) == "C2"


@pytest.mark.parametrize("lacking", ["fuse", "fuse_a"])
def test_without_fuse_or_current_the_table_stands_and_says_what_may_acquit(lacking: str) -> None:
    known = {k: v for k, v in FUSE.items() if k != lacking}
    t = judged(*ZE, **known, earthing_csa_mm2=10)
    assert t.outcome == "fails"
    assert "adiabatic" in t.words
    assert judged(**FUSE, earthing_csa_mm2=10).outcome == "fails"
    assert judged(*ZE, fuse="BS 9999", fuse_a=100.0, line_csa_mm2=25, earthing_csa_mm2=10).outcome == "fails"


# BS 1361, 100 A: one published point (639 A, 5 s). 920 A × √5 s / 143 = 14.4 mm²: the longest time acquits 15, condemns nothing.
@pytest.mark.parametrize(("fitted", "clause"), [(14.3, "543.1.4, table 54.7"), (14.5, "543.1.3")])
def test_the_longest_time_acquits_and_condemns_nothing(fitted: float, clause: str) -> None:
    t = judged(*ZE, fuse="BS 1361", fuse_a=100.0, line_csa_mm2=25, earthing_csa_mm2=fitted)
    assert t.judged[0].limit is not None
    assert t.judged[0].limit.clause == clause


def test_the_sum_acquits_of_the_table_and_not_of_pme() -> None:
    t = judged(*ZE, **FUSE, system="TN-C-S", pme=True, neutral_csa_mm2=35, earthing_csa_mm2=6)
    assert [j.outcome for j in t.judged] == ["meets", "fails"]
    assert code(t) == "C3"


def test_tails_that_are_not_entered_leave_it_open_unless_the_sum_says_enough() -> None:
    assert judged(earthing_csa_mm2=16).outcome == "not decided"
    assert judged(*ZE, fuse="BS 88-2 gG", fuse_a=100.0, earthing_csa_mm2=6).outcome == "meets"


def test_in_tt_the_table_may_only_say_yes() -> None:
    assert judged(system="TT", line_csa_mm2=16, earthing_csa_mm2=16).outcome == "meets"
    t = judged(system="TT", line_csa_mm2=16, earthing_csa_mm2=4)
    assert t.outcome == "not decided"
    assert "543.1.3" in t.words


# Custom: C3 down to 6 mm² and one size short of what PME asks; C2 below either.
@pytest.mark.parametrize(
    ("neutral", "fitted", "wanted"), [(35, 6, "C3"), (35, 5.9, "C2"), (50, 10, "C3"), (50, 9.9, "C2"), (151, 35, "C3")]
)
def test_the_code_by_custom(neutral: float, fitted: float, wanted: str) -> None:
    t = judged(system="TN-C-S", pme=True, neutral_csa_mm2=neutral, line_csa_mm2=25, earthing_csa_mm2=fitted)
    assert t.outcome == "fails"
    assert code(t) == wanted
    assert families(t) == {"earthing.size"}


# 10 mm² of copper by steel of 8.01 times the resistivity: 80.1 mm². Its readings cannot be judged, its size can.
@pytest.mark.parametrize(("csa", "word"), [(80, "does not meet 10 mm²"), (80.2, "meets 10 mm²")])
def test_a_bond_of_steel_is_held_to_copper_that_conducts_as_well(csa: float, word: str) -> None:
    v = visit(supply=Supply("TN-C-S", True, neutral_csa_mm2=35))
    site = evolve(v.site, parts=(Part("gas", "gas"),), bonds=(Bond("gas", "gas", csa, 10, 1, material="steel"),))
    (left,) = assess(evolve(v, site=site)).not_judged
    assert f"its size: {word}" in left.why


def test_without_an_edition_there_is_no_rule() -> None:
    t = row(visit(date=visit().date.replace(year=1990), supply=Supply("TN-S", earthing_csa_mm2=16)), "origin", TEST)
    assert t.outcome in ("no rule", "not decided")
