"""One bond as the whole site sees it: what was drawn, put back into the shape of the evidence for one bond."""

from __future__ import annotations

import math
from collections.abc import Sequence

from .. import display as dp
from ..events import CONDUCTOR, PATH, TOGETHER
from ..evidence import BondEvidence, Nodes, in_parallel
from .network import Net
from .sampler import Batch
from .tables import HYP


def shares(batches: Sequence[Batch]) -> list[float]:
    """Weight of each batch, adding up to one: the mean weight of its draws."""
    top = max(b.ln_weight for b in batches)
    weights = [math.exp(b.ln_weight - top) for b in batches]
    total = math.fsum(weights)
    return [w / total for w in weights]


class SharedEvidence(BondEvidence):
    """The joint distribution of one bond's conductor and path, given all readings of the site."""

    def __init__(self, net: Net, i: int, batches: Sequence[Batch]) -> None:
        """Put together what the batches added up; asked like the evidence of one bond."""
        self.model = net.model.bond
        self.observed = tuple(r.observed for r in net.data.readings if r.bond == net.bond_ids[i])
        copper = net.copper[i]
        self._paths: Nodes = tuple((p, 0.0) for p in net.grid[i].mids)
        self._conductors = {
            name: tuple((copper.ohm[c], copper.weight[c]) for c in copper.of(h)) for h, name in enumerate(HYP)
        }
        joint = [[0.0] * len(self._paths) for _ in copper.ohm]
        for share, batch in zip(shares(batches), batches, strict=True):
            scale = share / len(batch.tally.weights[i])
            for row, own in zip(joint, batch.tally.joint[i], strict=True):
                if any(own):
                    row[:] = [r + scale * w for r, w in zip(row, own, strict=True)]
        self._joint = {name: [joint[c] for c in copper.of(h)] for h, name in enumerate(HYP)}
        self._predicted = None

    def digits(self, test: str, display: dp.Display, offset: float) -> dict[int, float]:
        """Chance of each display group for a reading of that kind taken as it says, no human error in it."""
        found: dict[int, float] = {}
        weight = self.result().posterior
        for name, by_test in self._predictions().items():
            for index, w in by_test[test].items():
                true = dp.grid_index(dp.grid_value(index) + offset)
                for group, chance in dp.groups(display, true):
                    found[group] = found.get(group, 0.0) + weight[name] * w * chance
        return found


class CrossEvidence(BondEvidence):
    """Where conductor and path of another bond lie, by the hypotheses on this one."""

    def __init__(self, net: Net, meant: int, other: int, batches: Sequence[Batch]) -> None:
        """``meant``: the bond whose hypotheses are told apart; ``other``: the bond at which would be measured."""
        self.model = net.model.bond
        self.observed = ()
        by_hypothesis: dict[str, dict[str, dict[int, float]]] = {}
        ohm, mids = net.copper[other].ohm, net.grid[other].mids
        for h, name in enumerate(HYP):
            pairs: dict[tuple[int, int], float] = {}
            for share, batch in zip(shares(batches), batches, strict=True):
                for key, w in batch.tally.cross[meant, other][h].items():
                    pairs[key] = pairs.get(key, 0.0) + share * w
            total = math.fsum(pairs.values()) or 1.0
            found: dict[str, dict[int, float]] = {CONDUCTOR: {}, PATH: {}, TOGETHER: {}}
            for (c, cell), w in pairs.items():
                for test, true in (
                    (CONDUCTOR, ohm[c]),
                    (PATH, mids[cell]),
                    (TOGETHER, in_parallel(ohm[c], mids[cell])),
                ):
                    index = dp.grid_index(true)
                    found[test][index] = found[test].get(index, 0.0) + w / total
            by_hypothesis[name] = found
        self._predicted = by_hypothesis
