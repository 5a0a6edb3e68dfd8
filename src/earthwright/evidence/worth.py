"""What a further reading is worth before it is made, and which to make next."""

from __future__ import annotations

import math
from collections.abc import Callable
from operator import mul
from typing import Protocol

from attrs import field, frozen

from ..base import display as dp
from ..base.display import Display
from ..base.same import figure, in_bits
from ..site.events import CONDUCTOR, PATH, TOGETHER
from .bond import HYPOTHESES, OPEN, WHOLE, Evidence, Model, lead, noise_shares

# The trouble of each kind of reading when two are worth about the same: the fewer hands on a terminal the better.
TROUBLE = {TOGETHER: 0, PATH: 1, CONDUCTOR: 2}


class Foresees(Protocol):
    """Evidence that can say what a further reading would show: of one bond by itself, or of one in a whole site."""

    model: Model

    def predict(self, test: str) -> dict[str, dict[int, float]]:
        """Chance of each true value on the grid of :mod:`.display`, by hypothesis."""
        ...


@frozen
class Worth:
    """What one more reading of a kind would be worth.

    bits            expected information on whole, impaired, open
    proves          chance that it would end in *proved* if the bond is whole
    disproves       chance that it would end in *disproved* if the bond is open
    """

    test: str
    bits: float = field(converter=in_bits)
    proves: float = field(converter=figure)
    disproves: float = field(converter=figure)


ByGroup = list[tuple[float, ...]]  # chances by hypothesis, in their order, of each group of digits from over-range on
_WHOLE, _OPEN = HYPOTHESES.index(WHOLE), HYPOTHESES.index(OPEN)
# By digits [Ω]: the evidence and what it foresees without the readings that these digits would repeat; None when they repeat none.
Repeated = Callable[[float], "tuple[Foresees, Evidence] | None"]


def worth(
    bond: Foresees,
    so_far: Evidence,
    test: str,
    display: Display,
    *,
    shorted_after: bool = False,
    held_apart: bool = False,
    repeated: Repeated | None = None,
) -> Worth:
    """Expected information of a further reading, ``Σ_d p(d) Σ_h p(h|d) log2(p(h|d)/p(h))``, and what it could show.

    repeated  digits that repeat an earlier reading take its place and add nothing to it, so of these ``p(h|d)`` follows
    from the evidence without it: a reading never promises what its repetition could not prove
    """
    # A reading done as it should be ends with the leads shorted, and that clears what was read with them before.
    so_far = so_far.if_checked or so_far
    chances = _chances(bond, test, display, shorted_after=shorted_after, held_apart=held_apart)
    instead: dict[int, ByGroup] = {}
    bits, proves, disproves, threshold = 0.0, 0.0, 0.0, bond.model.decide
    now, _ = usual = _by_hypothesis(so_far)
    log2, log10 = math.log2, math.log10
    for group, by_h in enumerate(chances, dp.OVER):
        again = repeated(dp.shown_in(display, group)) if repeated is not None else None
        if again is None:
            likely, (weights, logs) = by_h, usual
        else:
            other, before = again
            if id(other) not in instead:
                instead[id(other)] = _chances(other, test, display, shorted_after=shorted_after, held_apart=held_apart)
            likely, (weights, logs) = instead[id(other)][group - dp.OVER], _by_hypothesis(before.if_checked or before)
        joint = list(map(mul, weights, likely))
        mixed, total = sum(map(mul, now, by_h)), sum(joint)
        for j, n in zip(joint, now, strict=True):
            if j > 0.0 and n > 0.0:
                bits += mixed * j / total * log2(j / total / n)
        ahead = lead(*[log + log10(p if p > 1e-300 else 1e-300) for log, p in zip(logs, likely, strict=True)])
        if ahead >= threshold:
            proves += by_h[_WHOLE]
        elif ahead <= -threshold:
            disproves += by_h[_OPEN]
    return Worth(test, max(0.0, bits), min(1.0, proves), min(1.0, disproves))


def _by_hypothesis(evidence: Evidence) -> tuple[list[float], list[float]]:
    """Posterior weights and log10 likelihoods, in the order of the hypotheses."""
    return [evidence.posterior[h] for h in HYPOTHESES], [evidence.log_likelihood[h] for h in HYPOTHESES]


def _chances(bond: Foresees, test: str, display: Display, *, shorted_after: bool, held_apart: bool) -> ByGroup:
    """Chance of each group of digits of a further reading, by hypothesis, human error included; over-range comes first."""
    model = bond.model
    over, touching = noise_shares(model, shorted_after, held_apart)
    truth = (1.0 - model.gross) * (1.0 - over - touching)
    even = model.gross / model.gross_digits
    many, groups = len(dp.edges(display)), dp.groups(display)
    spread_to = min(many, model.gross_digits)
    predicted, by_h = bond.predict(test), []
    for h in HYPOTHESES:
        digits = [even] * spread_to + [0.0] * (many - spread_to)
        digits[0] += (1.0 - model.gross) * touching
        digits.append(even + (1.0 - model.gross) * over)  # the last is over-range, its index being −1
        for index, weight in predicted[h].items():
            share = truth * weight
            for group, chance in groups[index]:
                digits[group] += share * chance
        by_h.append([digits[dp.OVER], *digits[: dp.OVER]])
    return list(zip(*by_h, strict=True))


def best(worths: list[Worth], enough_bits: float) -> Worth | None:
    """The reading to make next: most information, then least trouble; None when nothing is worth its trouble."""
    if not worths:
        return None
    top = max(w.bits for w in worths)
    if top < enough_bits:
        return None
    # Within a tenth of the best the easier reading wins.
    return min((w for w in worths if w.bits >= 0.9 * top), key=lambda w: TROUBLE[w.test])
