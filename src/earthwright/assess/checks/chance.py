"""How unlikely a pattern is under honest measurement: closed forms on plain numbers, and the words for them.

Every series check states its model, works out a probability with one of these sums, and multiplies it by the number of
things it looked at (Bonferroni), so that a long visit is not more suspect than a short one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

# A corrected probability at or below ALARM is a warning, at or below REMARK a note; nothing is said above that.
# Some ten families rest on such a probability, so ALARM keeps them together near one sound visit in a hundred.
ALARM = 1e-3
REMARK = 2e-2
# No model of an instrument is right beyond this, so nothing less likely is ever claimed.
LEAST = 1e-6


def at_least(k: int, chances: Iterable[float]) -> float:
    """Probability that at least ``k`` of independent events with these chances happen (Poisson binomial, summed exactly).

    ``P(j) ← P(j)·(1 − q) + P(j − 1)·q`` for each chance ``q`` [1]; where all are alike, the binomial distribution.
    Raises ValueError outside 0 to 1. Checked with the binomial distribution and by enumeration.
    """
    every = list(chances)
    for q in every:
        if not 0.0 <= q <= 1.0:
            raise ValueError(f"a chance lies between 0 and 1, not {q}")
    if len(set(every)) == 1 and 0.0 < every[0] < 1.0:
        return _binomial(max(0, k), len(every), every[0])
    by_count = [1.0]
    for q in every:
        by_count = [
            (by_count[j] * (1.0 - q) if j < len(by_count) else 0.0) + (by_count[j - 1] * q if j else 0.0)
            for j in range(len(by_count) + 1)
        ]
    return min(1.0, math.fsum(by_count[max(0, k) :]))


def _binomial(k: int, n: int, q: float) -> float:
    """Upper tail ``Σ_(j≥k) C(n, j)·q^j·(1 − q)^(n − j)``, each term through its logarithm."""
    of_n, up, down = math.lgamma(n + 1), math.log(q), math.log1p(-q)
    terms = (
        math.exp(of_n - math.lgamma(j + 1) - math.lgamma(n - j + 1) + j * up + (n - j) * down) for j in range(k, n + 1)
    )
    return min(1.0, math.fsum(terms))


def run_of(length: int, chances: list[float]) -> float:
    """Upper bound on the probability of a run of ``length`` equal values in a row (union over its possible starts).

    chances  for each neighbouring pair, the chance that an honest second value equals the first [1]
    """
    if length < 2:
        return 1.0
    pairs = length - 1
    return min(1.0, math.fsum(math.prod(chances[i : i + pairs]) for i in range(len(chances) - pairs + 1)))


def beyond(z: float) -> float:
    """Two-sided probability of a normal deviation of at least ``z`` standard uncertainties: ``erfc(z/√2)``."""
    return math.erfc(abs(z) / math.sqrt(2.0))


def corrected(p: float, looked_at: int) -> float:
    """The probability after allowing for the number of things looked at, never below :data:`LEAST`."""
    return min(1.0, max(LEAST, p * max(1, looked_at)))


def in_words(p: float) -> str:
    """A probability as a person would say it: ``about 1 in 2 000``."""
    if p <= LEAST:
        return "less than 1 in a million"
    if p >= 0.5:
        return "nothing unusual"
    odds = 1.0 / p
    places = 10 ** max(0, int(math.log10(odds)) - 1)
    return f"about 1 in {round(odds / places) * places:,}".replace(",", " ")


def sentence(model: str, p: float, looked_at: int, things: str) -> str:
    """The sentence that goes with a pattern: model, probability, and what was allowed for."""
    return (
        f"{model}, this comes about by itself {in_words(p)} times"
        + (f", all {looked_at} {things} allowed for." if looked_at > 1 else ".")
        if p < 0.5
        else f"{model}, there is nothing unusual in this."
    )
