"""What to measure next on the whole site, which readings fit nothing, and which hypotheses nothing can tell apart."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from itertools import combinations

from attrs import evolve

from ...base import display as dp
from ...site.events import CONDUCTOR
from ..bond import HYPOTHESES, Evidence
from ..worth import TROUBLE, Foresees, worth
from .model import Alike, BondWeighed, Misfit, Option, SiteData, SiteModel, SiteWorth
from .network import Net
from .sampler import Batch, run
from .shared import Across, SharedEvidence, information

JOINED = 0.05  # share of draws in which a link makes one bond matter at another
LOOKED_AT, TRIED = 3, 4  # readings that are tried again without themselves, the worst first, and batches for each


class Asked:
    """The bonds as the whole site sees them, ready to be asked what a further reading would be worth.

    own    by bond: its conductor and path, given all readings
    cross  by (bond meant, bond measured at): the same for another bond, from all batches and from each half of them
    """

    def __init__(
        self, own: dict[str, Foresees], cross: dict[tuple[str, str], tuple[Across, ...]] | None = None
    ) -> None:
        self.own = own
        self.cross = cross or {}

    @classmethod
    def of(cls, net: Net, batches: Sequence[Batch]) -> Asked:
        """From what was drawn. Two bonds that the draws hardly ever join tell nothing about each other."""
        ids = net.bond_ids
        own: dict[str, Foresees] = {name: SharedEvidence(net, i, batches) for i, name in enumerate(ids)}
        cross: dict[tuple[str, str], tuple[Across, ...]] = {}
        parts = (batches, batches[::2], batches[1::2])
        for j in range(len(ids)):
            places: dict[tuple[int, int], tuple[int, int]] = {}
            for i in range(len(ids)):
                rounds = sum(len(b.tally.weights[i]) for b in batches)
                if i != j and sum(b.tally.joined[i, j] for b in batches) > JOINED * rounds:
                    cross[ids[i], ids[j]] = tuple(Across(net, i, j, part, places) for part in parts)
        return cls(own, cross)

    def bits(self, option: Option, about: str, evidence: Evidence) -> float:
        """Expected information of a reading on the hypotheses about one bond, with the weights of some evidence.

        About another bond it is told by few draws, and chance differences between draws look like information, the
        more so the fewer there are. Half the draws show twice of that, so the excess is taken off.
        """

        evidence = evidence.if_checked or evidence  # a reading done as it should be ends with the leads shorted
        posterior = [evidence.posterior[h] for h in HYPOTHESES]
        model, test = evidence.model, option.test
        if about == option.bond:
            own = self.own[about].predict(test)
            return information([own[h] for h in HYPOTHESES], option.display, posterior, model)
        if test == CONDUCTOR or (about, option.bond) not in self.cross:
            return 0.0  # a conductor alone says nothing about its neighbours
        full, *halves = (
            information([by_test[test] for by_test in seen.predicted], option.display, posterior, model)
            for seen in self.cross[about, option.bond]
        )
        return max(0.0, 2.0 * full - math.fsum(halves) / len(halves))


def worths(asked: Asked, bonds: Sequence[BondWeighed], options: Sequence[Option]) -> tuple[SiteWorth, ...]:
    """Every available reading with its worth for the whole site, best first."""
    evidence = {b.bond: b.evidence for b in bonds}
    found = []
    for option in options:
        own = worth(
            asked.own[option.bond],
            evidence[option.bond],
            option.test,
            option.display,
            shorted_after=True,
            held_apart=True,
        )
        others = math.fsum(asked.bits(option, b.bond, b.evidence) for b in bonds if b.bond != option.bond)
        found.append(SiteWorth(option, own, own.bits + others))
    return tuple(sorted(found, key=lambda w: -w.bits))


def best(found: Sequence[SiteWorth], enough_bits: float) -> SiteWorth | None:
    """The reading to take next: most information; within a tenth of that the one that moves the fewest terminals."""
    top = max((w.bits for w in found), default=0.0)
    if top < enough_bits:
        return None
    close = [w for w in found if w.bits >= 0.9 * top]
    return min(close, key=lambda w: (w.option.opens, TROUBLE[w.option.test], -w.bits))


def alike(asked: Asked, bonds: Sequence[BondWeighed], options: Sequence[Option], model: SiteModel) -> tuple[Alike, ...]:
    """Pairs of hypotheses, both still possible and not yet told apart, that no available reading parts.

    Each pair is given even weight; the most that a reading could then bring is one bit.
    """
    found = []
    for b in bonds:
        clear = b.evidence.if_checked or b.evidence
        for one, other in combinations(HYPOTHESES, 2):
            weight = clear.posterior
            apart = abs(clear.log_likelihood[one] - clear.log_likelihood[other])
            if min(weight[one], weight[other]) < model.weight or apart >= model.bond.decide:
                continue
            even = evolve(clear, if_checked=None, posterior={h: 0.5 if h in (one, other) else 0.0 for h in HYPOTHESES})
            most = 0.0
            for option in sorted(options, key=lambda o: o.bond != b.bond):
                most = max(most, asked.bits(option, b.bond, even))
                if most >= model.alike:
                    break
            else:
                found.append(Alike(b.bond, (one, other), most))
    return tuple(found)


def misfits(data: SiteData, stated: Sequence[float]) -> tuple[Misfit, ...]:
    """Readings that fit nothing: each suspect is left out, and its digits are looked for in what the others foresee.

    stated  by reading: chance that it was taken as stated, given all; a reading is suspect below one half
    Repeats that do not agree are left alone: they contradict each other, not the network, and a joint that moves does
    that; the series checks speak of it.
    """
    level = data.model.level / max(1, len(data.readings))
    same = Counter((r.bond, r.observed.test, r.off) for r in data.readings)
    single = [same[r.bond, r.observed.test, r.off] == 1 for r in data.readings]
    suspects = sorted((s, k) for k, s in enumerate(stated) if s < 0.5 and single[k])[:LOOKED_AT]
    found = []
    for _, k in suspects:
        reading = data.readings[k]
        others = tuple(r for r in data.readings if r is not reading)
        rest = evolve(data, readings=others, model=evolve(data.model, batches=TRIED))
        net = Net(rest, {reading.bond: reading.off})
        seen = SharedEvidence(net, net.bond_ids.index(reading.bond), run(net))
        o = reading.observed
        digits = seen.digits(o.test, o.display, (o.offset[0] + o.offset[1]) / 2.0)
        own = digits.get(dp.group_of(o.display, o.shown), 0.0)
        chance = math.fsum(w for w in digits.values() if w <= own * (1.0 + 1e-9))
        if chance < level:
            found.append(Misfit(reading.id, reading.bond, chance, level))
    return tuple(found)
