"""The evidence for one bond against reference values, an independent Monte Carlo, and limiting cases.

The reference values were made by a separate program with a grid of its own (stated tolerance 0.05). Three of its cells
lie further from the truth than that; they are listed with the value that 4 million Monte Carlo draws give, and a test
keeps the list honest.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from earthwright.display import Display
from earthwright.evidence import (
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
    in_parallel,
)
from earthwright.nextstep import best, worth
from earthwright.priors import log_uniform, path_nodes, whole_nodes

OVER = math.inf
C, P, T = "conductor", "path", "together"

# route, tolerance, readings, leads shorted after, whole/open, whole/impaired, verdict, bits c · p · t
TABLE = [
    (16, 1, [], False, 0.0, 0.0, NOT_SHOWN, (1.47, 0.00, 0.87)),
    (16, 1, [(T, 0.02)], False, 0.91, 0.89, NOT_SHOWN, (0.83, 0.38, 0.08)),
    (16, 1, [(C, 0.03)], False, 2.99, 2.97, PROVED, (0.02, 0.00, 0.00)),
    (16, 1, [(C, 0.03), (P, 0.11)], False, 4.36, 3.45, PROVED, None),
    (16, 1, [(C, 0.03), (P, 0.11), (T, 0.02)], False, 5.77, 5.25, PROVED, None),
    (24, 2, [(T, 0.02)], False, 0.37, 0.35, NOT_SHOWN, (1.34, 0.27, 0.05)),
    (24, 2, [(C, 0.05), (P, 0.03), (T, 0.02)], False, 2.74, 2.74, PROVED, None),
    (18, 1, [(T, 0.04)], False, 1.14, 1.10, NOT_SHOWN, (0.61, 0.40, 0.04)),
    (18, 1, [(T, 0.04), (P, 0.04)], False, -0.31, -0.30, NOT_SHOWN, (1.38, 0.15, 0.06)),
    (18, 1, [(C, OVER)], False, -1.81, 0.00, NOT_SHOWN, (0.20, 0.00, 0.08)),
    (18, 1, [(C, OVER)], True, -2.81, 0.00, DISPROVED, None),
    (18, 1, [(C, OVER), (P, 0.04), (T, 0.04)], False, -2.12, -0.30, DISPROVED, None),
    (11, 1, [(C, 0.43)], False, -0.36, -2.60, DISPROVED, None),
    (60, 5, [(T, 0.11)], False, 1.54, 1.43, NOT_SHOWN, (0.34, 0.28, 0.01)),
]
# Cells of the table that Monte Carlo does not bear out: (row, what) → Monte Carlo value.
KNOWN_OFF = {(0, "bits t"): 0.73, (4, "whole/impaired"): 5.32, (12, "whole/impaired"): -2.50}


def evidence_of(row: int) -> BondEvidence:
    length, tol, readings, shorted, *_ = TABLE[row]
    return BondEvidence(Copper(1.83, length, tol), [Observed(t, v, shorted_after=shorted) for t, v in readings])


@pytest.mark.parametrize("row", range(len(TABLE)))
def test_reference_table(row: int) -> None:
    """Source: reference values of the project's method, section 4, ±0.05."""
    _, _, _, _, whole_open, whole_impaired, verdict, bits = TABLE[row]
    bond = evidence_of(row)
    e = bond.result()
    found = {"whole/open": e.whole_over_open, "whole/impaired": e.whole_over_impaired}
    expected = {"whole/open": whole_open, "whole/impaired": whole_impaired}
    if bits:
        for name, test, value in zip("cpt", (C, P, T), bits, strict=True):
            found[f"bits {name}"] = worth(bond, e, test, Display()).bits
            expected[f"bits {name}"] = value
    for what, value in expected.items():
        target = KNOWN_OFF.get((row, what), value)
        assert found[what] == pytest.approx(target, abs=0.05), what
    assert e.verdict == verdict


def test_known_exceptions_are_still_needed() -> None:
    for (row, what), true_value in KNOWN_OFF.items():
        reference = TABLE[row][5] if what == "whole/impaired" else TABLE[row][7][2]
        assert abs(true_value - reference) > 0.05


# ---- an independent Monte Carlo: draws from the priors, the chance of the digits by averaging over the gain ----


def _below(edge: float, true: np.ndarray, d: Display) -> np.ndarray:
    gains = 1 + np.linspace(-1, 1, 60, endpoint=False) * d.pct / 100 + d.pct / 100 / 60
    slack = d.digits * d.step
    return np.mean([np.clip((edge - true * g + slack) / (2 * slack), 0, 1) for g in gains], axis=0)


def _chance(shown: float, true: np.ndarray, d: Display) -> np.ndarray:
    finite = np.where(np.isinf(true), 1e9, true)
    half = d.step / 2
    if math.isinf(shown):
        return 1 - _below(d.top + half, finite, d)
    low = _below(shown - half, finite, d) if shown >= half else 0.0
    return _below(shown + half, finite, d) - low


def monte_carlo(row: int, draws: int = 1_000_000) -> tuple[float, float]:
    length, tol, readings, shorted, *_ = TABLE[row]
    rng, d = np.random.default_rng(20261125 + row), Display()
    likelihood = {}
    for h in (WHOLE, IMPAIRED, OPEN):
        c = rng.uniform(length - tol, length + tol, draws) * 1.83e-3 * rng.uniform(0.93, 1, draws)
        c = c + rng.uniform(0, 0.01, draws)
        if h == IMPAIRED:
            c = c + np.exp(rng.uniform(math.log(0.05), math.log(100), draws))
        if h == OPEN:
            c = np.full(draws, np.inf)
        p = np.exp(rng.uniform(math.log(0.005), math.log(1000), draws))
        p[rng.random(draws) < 0.30] = np.inf
        with np.errstate(divide="ignore"):
            both = 1 / (1 / c + 1 / p)
        like = np.ones(draws)
        for test, value in readings:
            off = 0.0015 if shorted else 0.015
            base = 0.002 / 200 + (0.998 * off if math.isinf(value) else 0.998 * 0.015 if value < 0.005 else 0)
            truth = 0.998 * (1 - off - 0.015)
            if test == T:
                like *= base + truth * _chance(value, both, d)
            else:
                own = c if test == C else p
                with np.errstate(invalid="ignore"):
                    like *= base + truth * (0.99 * _chance(value, own, d) + 0.01 * _chance(value, both, d))
        likelihood[h] = like.mean()
    return tuple(math.log10(likelihood[WHOLE] / likelihood[h]) for h in (OPEN, IMPAIRED))  # type: ignore[return-value]


@pytest.mark.parametrize("row", [3, 6, 11, 12])
def test_against_monte_carlo(row: int) -> None:
    e = evidence_of(row).result()
    assert (e.whole_over_open, e.whole_over_impaired) == pytest.approx(monte_carlo(row), abs=0.03)


def test_above_one_ohm_too_where_the_digits_are_narrower_than_a_cell() -> None:
    """A together of 5.43 Ω: the path, or an impaired conductor beside an open path, must be met within ±3 %."""
    TABLE.append((16, 1, [(T, 5.43)], False, 0.0, 0.0, NOT_SHOWN, None))
    try:
        e = evidence_of(len(TABLE) - 1).result()
        assert (e.whole_over_open, e.whole_over_impaired) == pytest.approx(monte_carlo(len(TABLE) - 1), abs=0.05)
    finally:
        TABLE.pop()


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
    bond = evidence_of(0)
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
    plain = BondEvidence(Copper(1.15, 2.1, 0.1), [Observed(C, 0.0)]).result()
    apart = BondEvidence(Copper(1.15, 2.1, 0.1), [Observed(C, 0.0, held_apart=True)]).result()
    assert apart.whole_over_open > plain.whole_over_open + 0.5
    assert apart.verdict == PROVED


def test_leads_left_in_the_reading_are_part_of_the_band() -> None:
    """0.33 Ω through leads of 0.28 to 0.32 Ω is a whole 16 m of 10 mm²; without them it is not."""
    with_leads = BondEvidence(Copper(1.83, 16, 1), [Observed(C, 0.33, offset=(0.28, 0.32))]).result()
    without = BondEvidence(Copper(1.83, 16, 1), [Observed(C, 0.33)]).result()
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
        logs[h] = math.log10(0.002 / 200 + (1 - 0.002) * (1 - 0.015 - 0.015) * chance)
    e = BondEvidence(Copper(1.83, 24, 2), [Observed(test, shown, d, offset)]).result()
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
    bond = evidence_of(7)
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
