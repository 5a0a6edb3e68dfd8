"""What a further reading is worth before it is made, and which to make next."""

from __future__ import annotations

import math
from typing import Protocol

from attrs import frozen

from . import display as dp
from .display import Display
from .events import CONDUCTOR, PATH, TOGETHER
from .evidence import DISPROVED, HYPOTHESES, OPEN, PROVED, WHOLE, Evidence, Model, decide, noise_shares

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
    bits: float
    proves: float
    disproves: float


def worth(
    bond: Foresees,
    so_far: Evidence,
    test: str,
    display: Display,
    *,
    shorted_after: bool = False,
    held_apart: bool = False,
) -> Worth:
    """Expected information of a further reading, ``Σ_d Σ_h p(h) p(d|h) log2(p(d|h)/p(d))``, and what it could show."""
    model = bond.model
    over, touching = noise_shares(model, shorted_after, held_apart)
    truth = (1.0 - model.gross) * (1.0 - over - touching)
    even = model.gross / model.gross_digits
    edges = dp.edges(display)
    spread_to = min(len(edges), model.gross_digits)
    chances: dict[str, dict[int, float]] = {}
    for h, true in bond.predict(test).items():
        digits = dict.fromkeys(range(spread_to), even)
        digits[dp.OVER] = even + (1.0 - model.gross) * over
        digits[0] += (1.0 - model.gross) * touching
        for index, weight in true.items():
            for group, chance in dp.groups(display, index):
                digits[group] = digits.get(group, 0.0) + truth * weight * chance
        chances[h] = digits
    bits, proves, disproves = 0.0, 0.0, 0.0
    for group in sorted(set().union(*chances.values())):
        by_h = {h: chances[h].get(group, 0.0) for h in HYPOTHESES}
        mixed = math.fsum(so_far.posterior[h] * p for h, p in by_h.items())
        for h, p in by_h.items():
            if p > 0.0 and mixed > 0.0:
                bits += so_far.posterior[h] * p * math.log2(p / mixed)
        after = {h: so_far.log_likelihood[h] + math.log10(max(p, 1e-300)) for h, p in by_h.items()}
        verdict, _ = decide(after, model.decide)
        proves += by_h[WHOLE] if verdict == PROVED else 0.0
        disproves += by_h[OPEN] if verdict == DISPROVED else 0.0
    return Worth(test, max(0.0, bits), min(1.0, proves), min(1.0, disproves))


def best(worths: list[Worth], enough_bits: float) -> Worth | None:
    """The reading to make next: most information, then least trouble; None when nothing is worth its trouble."""
    if not worths:
        return None
    top = max(w.bits for w in worths)
    if top < enough_bits:
        return None
    # Within a tenth of the best the easier reading wins.
    return min((w for w in worths if w.bits >= 0.9 * top), key=lambda w: TROUBLE[w.test])
