"""The evidence for one bond against reference values, an independent Monte Carlo, and limiting cases.

The reference values stand in docs/evidence.md and were made by a program of its own (drawn.py), stated tolerance 0.05.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest
from drawn import Case, drawn
from edge_cases import edge_cases

from earthwright.base.display import Display
from earthwright.evidence.bond import (
    DISPROVED,
    IMPAIRED,
    NOT_SHOWN,
    OPEN,
    PROVED,
    WHOLE,
    BondEvidence,
    Copper,
    Model,
    Observed,
    decide,
    doubted,
    in_parallel,
)
from earthwright.evidence.priors import impaired_nodes, log_uniform, path_nodes, whole_nodes
from earthwright.evidence.worth import best, worth

OVER = math.inf
C, P, T = "conductor", "path", "together"

NAMES = {"c": C, "p": P, "t": T}


def _row(line: str) -> tuple[Case, Case, list[str]]:
    """One line of the table: the bond with its leads shorted afterwards and good, without, and the cells."""
    cells = [x.strip() for x in line.strip().strip("|").split("|")]
    length, tol = (float(x) for x in cells[0].removesuffix(" m").split(" ± "))
    some = [x.split() for x in cells[1].split(", ")] if cells[1] != "none" else []
    readings = [(NAMES[t], OVER if v == "over-range" else float(v)) for t, v in some]
    checked, not_checked = (
        Case(1.83, length, tol, tuple((t, v, shorted, False) for t, v in readings)) for shorted in (True, False)
    )
    return checked, not_checked, cells[2:]


LINES = (Path(__file__).parents[1] / "docs" / "evidence.md").read_text(encoding="utf-8").splitlines()
TABLE = [_row(line) for line in LINES if re.match(r"\| [0-9]+ ± [0-9]+ m \|", line)]


def evidence_of(case: Case) -> BondEvidence:
    display = Display(case.pct, case.digits, case.step, case.top)
    observed = [Observed(t, v, display, shorted_after=s, held_apart=h) for t, v, s, h in case.readings]
    return BondEvidence(Copper(case.r_mohm_per_m, case.length_m, case.tol_m), observed)


@pytest.mark.parametrize("row", range(len(TABLE)))
def test_reference_table(row: int) -> None:
    """Source: the table of docs/evidence.md, by drawing; bits from the project's method, section 4. ±0.05."""
    checked, not_checked, cells = TABLE[row]
    for case, (whole_open, whole_impaired, verdict) in ((checked, cells[0:3]), (not_checked, cells[3:6])):
        e = evidence_of(case).result()
        assert e.whole_over_open == pytest.approx(float(whole_open), abs=0.05)
        assert e.whole_over_impaired == pytest.approx(float(whole_impaired), abs=0.05)
        assert e.verdict == verdict
    if cells[6]:
        bond = evidence_of(not_checked)
        for test, bits in zip((C, P, T), cells[6].split(" · "), strict=True):
            assert worth(bond, bond.result(), test, Display()).bits == pytest.approx(float(bits), abs=0.05)


def test_the_table_is_that_of_the_method() -> None:
    """Whole over open and over impaired where a check stands or nothing hangs on one: rows of the method, section 4."""
    method = [(16, "c 0.03", 2.99, 2.97), (24, "t 0.02", 0.37, 0.35), (60, "t 0.11", 1.54, 1.43)]
    for length, readings, whole_open, whole_impaired in method:
        line = next(x for x in LINES if x.startswith(f"| {length} ±") and f"| {readings} |" in x)
        cells = _row(line)[2]
        assert (float(cells[0]), float(cells[1])) == pytest.approx((whole_open, whole_impaired), abs=0.02)


# ---- leads that nobody shorted afterwards ----

MANY = ((C, 0.03), (P, 0.11), (T, 0.02))


@pytest.mark.parametrize("times", [1, 2, 5, 20])
def test_no_number_of_readings_proves_a_bond_while_the_leads_are_not_shorted(times: int) -> None:
    copper = Copper(1.83, 16, 1)
    e = BondEvidence(copper, [Observed(t, v, held_apart=True) for t, v in MANY * times]).result()
    assert e.verdict == NOT_SHOWN
    assert e.held_by_leads
    assert e.if_checked is not None
    assert e.if_checked.verdict == PROVED
    assert (
        BondEvidence(copper, [Observed(t, v, shorted_after=True) for t, v in MANY * times]).result().verdict == PROVED
    )


def test_a_check_lets_its_own_readings_count_whatever_was_read_with_other_leads() -> None:
    """A conductor reading that a shorted check follows proves the bond; one more without a check takes nothing away."""
    copper = Copper(1.83, 16, 1)
    good = Observed(C, 0.03, shorted_after=True)
    alone = BondEvidence(copper, [good]).result()
    both = BondEvidence(copper, [Observed(T, 0.02), good]).result()
    assert alone.verdict == both.verdict == PROVED
    assert both.whole_over_impaired == pytest.approx(alone.whole_over_impaired, abs=1.0)


def test_a_high_reading_is_a_question_about_the_leads_and_a_very_high_one_is_not() -> None:
    """11 m of 10 mm² at 0.43 Ω: leads may come to that. At 30 Ω they do not."""
    e = BondEvidence(Copper(1.83, 11, 1), [Observed(C, 0.43)]).result()
    assert (e.verdict, e.held_by_leads) == (NOT_SHOWN, True)
    e = BondEvidence(Copper(1.83, 11, 1), [Observed(C, 30.0), Observed(C, 31.0)]).result()
    assert (e.verdict, e.named, e.if_checked) == (DISPROVED, IMPAIRED, None)


def test_the_chance_of_a_wrong_allowance_is_above_what_would_be_argued_away() -> None:
    model = Model()
    assert 1.0 / model.wrong_allowance < 10.0**model.decide
    right = {WHOLE: 1.0, IMPAIRED: 1e-9, OPEN: 0.0}
    nothing = dict.fromkeys(right, 1.0)
    assert doubted(right, nothing, 0.015) == pytest.approx({WHOLE: 1.0, IMPAIRED: 0.015, OPEN: 0.015}, rel=1e-6)
    assert doubted(right, dict.fromkeys(right, 0.0), 0.015)[OPEN] == 0.0


# ---- at the edges: an independent drawing, see drawn.py ----


@pytest.mark.parametrize("number", range(0, 60, 2))
def test_digits_at_the_edges_against_the_drawing(number: int) -> None:
    """Source: drawn.py. Within 0.05 or two standard errors, and no verdict on the wrong side; all of it: edge_scan.py."""
    case = edge_cases(60)[number]
    e, d = evidence_of(case).result(), drawn(case, points=3 << 13)
    assert e.whole_over_open == pytest.approx(d.whole_open, abs=max(0.05, 2.0 * d.error_open))
    assert e.whole_over_impaired == pytest.approx(d.whole_impaired, abs=max(0.05, 2.0 * d.error_impaired))
    assert e.verdict in d.verdicts


def test_above_one_ohm_too_where_the_digits_are_narrower_than_a_cell() -> None:
    """A together of 5.43 Ω: the path, or an impaired conductor beside an open path, must be met within ±3 %."""
    case = Case(1.83, 16, 1, ((T, 5.43, False, False),))
    e, d = evidence_of(case).result(), drawn(case)
    assert (e.whole_over_open, e.whole_over_impaired) == pytest.approx((d.whole_open, d.whole_impaired), abs=0.05)


def test_worth_of_a_first_together_against_monte_carlo() -> None:
    """Mutual information of hypothesis and digits, by histogram of two million invented displays."""
    rng, n = np.random.default_rng(1), 2_000_000
    c = rng.uniform(15, 17, n) * 1.83e-3 * rng.uniform(0.93, 1, n) + rng.uniform(0, 0.01, n)
    extra = np.exp(rng.uniform(math.log(0.05), math.log(100), n))
    p = np.exp(rng.uniform(math.log(0.005), math.log(1000), n))
    p[rng.random(n) < 0.30] = np.inf
    chances = []
    for true in (1 / (1 / c + 1 / p), 1 / (1 / (c + extra) + 1 / p), p):
        shown = true * rng.uniform(0.97, 1.03, n) + rng.uniform(-0.02, 0.02, n)
        digit = np.clip(np.floor(np.minimum(shown, 1e6) / 0.01 + 0.5), 0, 10000).astype(int)
        u = rng.random(n)
        digit = np.where(u < 0.015, 10000, np.where(u < 0.03, 0, digit))
        digit = np.where(rng.random(n) < 0.002, rng.integers(0, 200, n), digit)
        chances.append(np.bincount(digit, minlength=10001) / n)
    mixed = sum(chances) / 3
    bits = sum(float(np.sum(q[q > 0] * np.log2(q[q > 0] / mixed[q > 0]))) for q in chances) / 3
    bond = BondEvidence(Copper(1.83, 16, 1), [])
    assert worth(bond, bond.result(), T, Display()).bits == pytest.approx(bits, abs=0.05)


# ---- limiting cases and edges ----


@pytest.mark.parametrize(
    ("open_", "impaired", "verdict", "named"),
    [
        (1.99, 5.0, NOT_SHOWN, ""),
        (2.0, 2.0, PROVED, ""),
        (2.01, 2.0, PROVED, ""),
        (5.0, 1.99, NOT_SHOWN, ""),
        (-1.99, 3.0, NOT_SHOWN, ""),
        (-2.0, 3.0, DISPROVED, OPEN),
        (-2.01, -2.5, DISPROVED, IMPAIRED),
    ],
)
def test_decision_just_below_at_and_above(open_: float, impaired: float, verdict: str, named: str) -> None:
    assert decide({WHOLE: 0.0, OPEN: -open_, IMPAIRED: -impaired}, 2.0) == (verdict, named)


def test_no_reading_tells_nothing() -> None:
    e = BondEvidence(Copper(1.83, 10, 1), []).result()
    assert e.whole_over_open == pytest.approx(0, abs=1e-12)
    assert list(e.posterior.values()) == pytest.approx([1 / 3] * 3)


def test_a_reading_beyond_everything_is_taken_for_an_error() -> None:
    """A display no hypothesis explains leaves the weights where they were, by the gross-error term."""
    e = BondEvidence(Copper(1.83, 10, 1), [Observed(C, 150.0)]).result()
    assert e.verdict == NOT_SHOWN


def test_held_apart_makes_zero_worth_more() -> None:
    plain = BondEvidence(Copper(1.15, 2.1, 0.1), [Observed(C, 0.0, shorted_after=True)]).result()
    apart = BondEvidence(Copper(1.15, 2.1, 0.1), [Observed(C, 0.0, shorted_after=True, held_apart=True)]).result()
    assert apart.whole_over_open > plain.whole_over_open + 0.5
    assert apart.verdict == PROVED


def test_leads_left_in_the_reading_are_part_of_the_band() -> None:
    """0.33 Ω through leads of 0.28 to 0.32 Ω is a whole 16 m of 10 mm²; without them it is not."""
    with_leads = BondEvidence(
        Copper(1.83, 16, 1), [Observed(C, 0.33, offset=(0.28, 0.32), shorted_after=True)]
    ).result()
    without = BondEvidence(Copper(1.83, 16, 1), [Observed(C, 0.33, shorted_after=True)]).result()
    assert with_leads.verdict == PROVED
    assert without.verdict == DISPROVED
    assert without.named == IMPAIRED


@pytest.mark.parametrize("test", [C, T])
@pytest.mark.parametrize(
    ("offset", "shown"), [((0.0, 0.78), 0.05), ((0.0, 0.78), 0.3), ((0.0, 0.78), 0.8), ((0.1, 0.4), 0.3)]
)
def test_leads_of_some_tenths_of_an_ohm_against_a_simulation(
    test: str, offset: tuple[float, float], shown: float
) -> None:
    """24 ± 2 m of 10 mm², what the leads add rectangular: plain counting of two million draws with numpy."""
    draws, rng, d = 2_000_000, np.random.default_rng(20261127), Display()
    whole = rng.uniform(22, 26, draws) * 1.83e-3 * rng.uniform(0.93, 1, draws) + rng.uniform(0, 0.01, draws)
    path = np.where(rng.random(draws) < 0.30, np.inf, 0.005 * 2e5 ** rng.random(draws))
    logs = {}
    for h in (WHOLE, IMPAIRED, OPEN):
        c = (
            whole
            if h == WHOLE
            else whole + 0.05 * 2000 ** rng.random(draws)
            if h == IMPAIRED
            else np.full(draws, np.inf)
        )
        with np.errstate(invalid="ignore", over="ignore"):
            both = np.where(np.isinf(c), path, np.where(np.isinf(path), c, c * path / (c + path)))
        true = np.where(rng.random(draws) < 0.01, both, c) if test == C else both
        true = true + rng.uniform(*offset, draws)
        there = np.isfinite(true)
        seen = np.where(there, true, 0.0) * (1 + rng.uniform(-0.03, 0.03, draws)) + rng.uniform(-0.02, 0.02, draws)
        chance = np.mean(there & (np.abs(seen - shown) <= 0.005))
        logs[h] = math.log10(0.002 / 200 + (1 - 0.002) * (1 - 0.0015 - 0.015) * chance)
    e = BondEvidence(Copper(1.83, 24, 2), [Observed(test, shown, d, offset, shorted_after=True)]).result()
    assert e.whole_over_open == pytest.approx(logs[WHOLE] - logs[OPEN], abs=0.08)
    assert e.whole_over_impaired == pytest.approx(logs[WHOLE] - logs[IMPAIRED], abs=0.08)


def test_path_reading_alone_says_nothing_about_the_conductor() -> None:
    e = BondEvidence(Copper(1.83, 16, 1), [Observed(P, 0.11)]).result()
    assert e.whole_over_open == pytest.approx(0, abs=0.01)


def test_weights_are_whole() -> None:
    model = Model()
    for nodes in (path_nodes(model), path_nodes(model, [(0.01, 0.1)]), whole_nodes(Copper(1.83, 16, 1), model)):
        assert math.fsum(w for _, w in nodes) == pytest.approx(1)
    assert math.fsum(w for _, w in log_uniform(0.1, 10, 7, [(0.5, 0.6)])) == pytest.approx(1)


@pytest.mark.parametrize("extra", [(0.05, 100.0), (0.15, 100.0)])
@pytest.mark.parametrize("windows", [[], [(0.05, 0.09)], [(97.0, 103.0), (0.4, 0.5), (-1.0, 0.03)]])
@pytest.mark.parametrize("length", [2.0, 14.0, 76.018])
def test_an_impaired_conductor_has_all_its_weight_and_its_mean(
    extra: tuple[float, float], windows: list[tuple[float, float]], length: float
) -> None:
    """Mean of a log-uniform extra: (high − low)/ln(high/low), on top of the mean of the whole one."""
    model = Model(extra_ohm=extra)
    whole = whole_nodes(Copper(1.83, length, length / 10.0), model)
    nodes = impaired_nodes(whole, model, windows)
    assert math.fsum(w for _, w in nodes) == pytest.approx(1.0, abs=1e-9)
    mean = math.fsum(c * w for c, w in whole) + (extra[1] - extra[0]) / math.log(extra[1] / extra[0])
    assert math.fsum(c * w for c, w in nodes) == pytest.approx(mean, rel=1e-4)


def test_whole_conductor_mean_is_exact() -> None:
    """Mean of L·r·m + j for independent rectangular causes is the product of their means plus half the joint."""
    nodes = whole_nodes(Copper(1.83, 24, 2), Model())
    assert math.fsum(c * w for c, w in nodes) == pytest.approx(24 * 1.83e-3 * 0.965 + 0.005, abs=1e-9)


def test_zero_tolerance_and_zero_joint() -> None:
    nodes = whole_nodes(Copper(1.83, 20, 0.0), Model(make=(1.0, 1.0), joint_ohm=0.0))
    assert nodes == ((pytest.approx(0.0366), 1.0),)


@pytest.mark.parametrize(
    ("c", "p", "expected"),
    [(math.inf, 2.0, 2.0), (2.0, math.inf, 2.0), (0.0, 0.0, 0.0), (3.0, 6.0, 2.0), (0.0, 5.0, 0.0)],
)
def test_in_parallel(c: float, p: float, expected: float) -> None:
    assert in_parallel(c, p) == pytest.approx(expected)


def test_best_prefers_the_easier_reading_when_worths_are_alike() -> None:
    bond = BondEvidence(Copper(1.83, 18, 1), [Observed(T, 0.04)])
    e = bond.result()
    worths = [worth(bond, e, t, Display()) for t in (C, P, T)]
    chosen = best(worths, 0.05)
    assert chosen is not None
    assert chosen.test == C
    assert best([], 0.05) is None
    assert best(worths, 2.0) is None


def test_without_gross_errors_a_digit_may_be_impossible() -> None:
    """Then a group that one hypothesis cannot show takes no part in that hypothesis's information."""
    model = Model(gross=0.0, slip=0.0, touch=0.0, lead_off=0.0, path_absent=0.0)
    bond = BondEvidence(Copper(1.83, 16, 1), [], model)
    w = worth(bond, bond.result(), C, Display())
    # An open conductor can then only show over-range and a whole one never does: log2(3) less what impaired may hide.
    assert 1.0 < w.bits < math.log2(3)
    assert w.disproves == pytest.approx(1.0)
