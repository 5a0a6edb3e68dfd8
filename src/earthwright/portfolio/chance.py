"""How likely something is by luck alone, and how many homes a survey needs. Exact sums on whole numbers."""

from __future__ import annotations

from math import exp, lgamma


def by_luck(times: int, of: int, others_times: int, others_of: int, tried: int) -> float:
    """Chance that one of ``tried`` who are compared reads the same digits so often although all read alike [1].

    P(X >= times) for X hypergeometric: ``of`` readings drawn from all of them, of which times + others_times show the digits;
    times the number compared (Bonferroni), at most 1. Source: R. A. Fisher's exact test, one-sided. Checked with scipy.
    """
    if not (0 <= times <= of and 0 <= others_times <= others_of and tried >= 1):
        raise ValueError("expected 0 <= times <= of, 0 <= others_times <= others_of, tried >= 1")
    marked, whole = times + others_times, of + others_of
    chance = sum(exp(_log_drawn(k, of, marked, whole)) for k in range(times, min(of, marked) + 1))
    return min(1.0, chance * tried)


def _log_drawn(k: int, drawn: int, marked: int, whole: int) -> float:
    """Natural logarithm of the chance that ``k`` of the ``drawn`` are among the ``marked`` of the ``whole``."""
    if drawn - k > whole - marked:
        return -float("inf")
    return _log_choose(marked, k) + _log_choose(whole - marked, drawn - k) - _log_choose(whole, drawn)


def _log_choose(n: int, k: int) -> float:
    return lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1)


def sample_size(homes: int, share: float, sure: float = 0.95, allowed: int = 0) -> int:
    """How many homes, drawn at random, show that at most a share of all has a defect.

    homes    how many there are;  share  largest share that is to be shown [1];  sure  how sure [1]
    allowed  defects that may be found in the sample without spoiling the proof

    The smallest n with P(at most ``allowed`` defects among n drawn | one home more than the share has one) <= 1 - sure, by the
    hypergeometric distribution (a survey of a finite lot). Raises ValueError where not even all homes would show it.
    """
    if homes < 1 or not 0.0 <= share < 1.0 or not 0.0 < sure < 1.0 or allowed < 0:
        raise ValueError("expected at least one home, 0 <= share < 1, 0 < sure < 1, allowed >= 0")
    marked = int(share * homes + 1e-9) + 1
    if allowed >= marked:
        raise ValueError(f"{allowed} of {homes} homes with a defect are more than the share to be shown")
    low, high = 1, homes
    while low < high:  # the chance falls as the sample grows
        middle = (low + high) // 2
        if _at_most(allowed, middle, marked, homes) <= 1.0 - sure:
            high = middle
        else:
            low = middle + 1
    return low


def _at_most(allowed: int, drawn: int, marked: int, whole: int) -> float:
    least = max(0, drawn - (whole - marked))
    return sum(exp(_log_drawn(k, drawn, marked, whole)) for k in range(least, min(allowed, drawn, marked) + 1))
