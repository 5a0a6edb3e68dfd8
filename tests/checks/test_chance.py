"""Probabilities against the binomial distribution, enumeration and closed forms."""

from __future__ import annotations

import itertools
import math

import pytest
from scipy import stats

from earthwright.assess.checks import chance


@pytest.mark.parametrize(
    ("k", "n", "q"), [(0, 5, 0.3), (1, 1, 0.5), (5, 5, 1 / 3), (7, 12, 0.15), (13, 12, 0.5), (3, 40, 0.1)]
)
def test_at_least_is_the_binomial_tail_for_equal_chances(k: int, n: int, q: float) -> None:
    assert chance.at_least(k, [q] * n) == pytest.approx(stats.binom.sf(k - 1, n, q), rel=1e-9, abs=1e-15)


@pytest.mark.parametrize("k", range(6))
def test_at_least_by_enumeration_of_unequal_chances(k: int) -> None:
    chances = [0.1, 0.5, 0.9, 0.33, 0.05]
    total = 0.0
    for outcome in itertools.product((0, 1), repeat=5):
        if sum(outcome) >= k:
            total += math.prod(q if hit else 1 - q for q, hit in zip(chances, outcome, strict=True))
    assert chance.at_least(k, chances) == pytest.approx(total, rel=1e-12)


@pytest.mark.parametrize("q", [-0.01, 1.01])
def test_a_chance_outside_0_to_1_is_refused(q: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        chance.at_least(1, [q])


def test_a_run_is_bounded_from_above() -> None:
    # Runs of 3 equal among 4 values of two kinds, each pair equal one time in two: 3 of 8 sequences (aaab, aaaa, baaa).
    assert chance.run_of(3, [0.5, 0.5, 0.5]) >= 3 / 8
    assert chance.run_of(4, [0.5, 0.5, 0.5]) == pytest.approx(1 / 8)
    assert chance.run_of(1, [0.5]) == 1.0


@pytest.mark.parametrize("z", [0.0, 1.0, 1.96, 3.29])
def test_beyond_is_the_two_sided_normal_tail(z: float) -> None:
    assert chance.beyond(z) == pytest.approx(2 * stats.norm.sf(z), rel=1e-9)


def test_corrected_multiplies_and_never_claims_more_than_one_in_a_million() -> None:
    assert chance.corrected(1e-4, 5) == pytest.approx(5e-4)
    assert chance.corrected(0.4, 5) == 1.0
    assert chance.corrected(0.0, 5) == 1e-6
    assert chance.corrected(1e-4, 0) == pytest.approx(1e-4)


@pytest.mark.parametrize(
    ("p", "words"),
    [
        (1e-6, "less than 1 in a million"),
        (1 / 2000, "about 1 in 2 000"),
        (1 / 2716, "about 1 in 2 700"),
        (0.6, "nothing unusual"),
        (0.25, "about 1 in 4"),
    ],
)
def test_in_words(p: float, words: str) -> None:
    assert chance.in_words(p) == words


def test_the_sentence_names_model_and_count() -> None:
    assert (
        chance.sentence("If so", 1e-3, 7, "rows")
        == "If so, this comes about by itself about 1 in 1 000 times, all 7 rows allowed for."
    )
    assert chance.sentence("If so", 1e-3, 1, "rows") == "If so, this comes about by itself about 1 in 1 000 times."
    assert chance.sentence("If so", 0.9, 3, "rows") == "If so, there is nothing unusual in this."
