"""What a further reading is worth before it is made, and which to make next."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Protocol

from attrs import field, frozen

from ..base import display as dp
from ..base.display import Display
from ..base.same import figure, in_bits
from ..site.events import CONDUCTOR, PATH, TOGETHER
from .bond import DISPROVED, HYPOTHESES, OPEN, PROVED, WHOLE, Evidence, Model, decide, noise_shares

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
    instead: dict[int, dict[str, dict[int, float]]] = {}
    bits, proves, disproves = 0.0, 0.0, 0.0
    for group in sorted(set().union(*chances.values())):
        by_h = {h: chances[h].get(group, 0.0) for h in HYPOTHESES}
        mixed = math.fsum(so_far.posterior[h] * p for h, p in by_h.items())
        before, likely = so_far, by_h
        again = repeated(dp.shown_in(display, group)) if repeated is not None else None
        if again is not None:
            other, before = again
            before = before.if_checked or before
            if id(other) not in instead:
                instead[id(other)] = _chances(other, test, display, shorted_after=shorted_after, held_apart=held_apart)
            likely = {h: instead[id(other)][h].get(group, 0.0) for h in HYPOTHESES}
        total = math.fsum(before.posterior[h] * p for h, p in likely.items())
        for h, p in likely.items():
            if p > 0.0 and mixed > 0.0 and before.posterior[h] > 0.0 and so_far.posterior[h] > 0.0:
                then = before.posterior[h] * p / total
                bits += mixed * then * math.log2(then / so_far.posterior[h])
        after = {h: before.log_likelihood[h] + math.log10(max(p, 1e-300)) for h, p in likely.items()}
        verdict, _ = decide(after, bond.model.decide)
        proves += by_h[WHOLE] if verdict == PROVED else 0.0
        disproves += by_h[OPEN] if verdict == DISPROVED else 0.0
    return Worth(test, max(0.0, bits), min(1.0, proves), min(1.0, disproves))


def _chances(
    bond: Foresees, test: str, display: Display, *, shorted_after: bool, held_apart: bool
) -> dict[str, dict[int, float]]:
    """Chance of each group of digits of a further reading, by hypothesis, human error included."""
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
    return chances


def best(worths: list[Worth], enough_bits: float) -> Worth | None:
    """The reading to make next: most information, then least trouble; None when nothing is worth its trouble."""
    if not worths:
        return None
    top = max(w.bits for w in worths)
    if top < enough_bits:
        return None
    # Within a tenth of the best the easier reading wins.
    return min((w for w in worths if w.bits >= 0.9 * top), key=lambda w: TROUBLE[w.test])
