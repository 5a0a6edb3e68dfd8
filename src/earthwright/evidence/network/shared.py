"""One bond as the whole site sees it: what was drawn, put back into the shape of the evidence for one bond."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from operator import mul

from ...base import display as dp
from ...site.events import CONDUCTOR, PATH, TOGETHER
from ..bond import Model, in_parallel, noise_shares
from .network import Net
from .sampler import Batch
from .tables import HYP

Pair = tuple[int, int]
STEP = 0.04  # ln Ω, the step of the grid of true values


def shares(batches: Sequence[Batch]) -> list[float]:
    """Weight of each batch, adding up to one: the mean weight of its draws."""
    top = max(b.ln_weight for b in batches)
    weights = [math.exp(b.ln_weight - top) for b in batches]
    total = math.fsum(weights)
    return [w / total for w in weights]


class SharedEvidence:
    """The joint distribution of one bond's conductor and path, given all readings of the site."""

    def __init__(self, net: Net, i: int, batches: Sequence[Batch]) -> None:
        """Put together what the batches added up; asked like the evidence of one bond."""
        self.model = net.model.bond
        copper, edges = net.copper[i], net.grid[i].edges
        self._mids = net.grid[i].mids
        self._cells = [(edges[0], edges[0]), *pairwise(edges), (edges[-1], math.inf)]
        joint = [[0.0] * len(self._mids) for _ in copper.ohm]
        for share, batch in zip(shares(batches), batches, strict=True):
            scale = share / len(batch.tally.weights[i])
            for row, own in zip(joint, batch.tally.joint[i], strict=True):
                if any(own):
                    row[:] = [r + scale * w for r, w in zip(row, own, strict=True)]
        self._conductors = {name: [copper.ohm[c] for c in copper.of(h)] for h, name in enumerate(HYP)}
        self._joint = {name: [joint[c] for c in copper.of(h)] for h, name in enumerate(HYP)}
        self._collected: dict[str, dict[str, dict[int, float]]] = {}

    def predict(self, test: str) -> dict[str, dict[int, float]]:
        """Chance of each value on the grid of true values for a further reading, by hypothesis, the slip inside it."""
        found = {}
        for name in HYP:
            if name not in self._collected:
                self._collected[name] = self._collect(name)
            by_test = self._collected[name]
            found[name] = by_test[TOGETHER]
            if test != TOGETHER:
                slip = self.model.slip
                mixed = {index: slip * w for index, w in by_test[TOGETHER].items()}
                for index, w in by_test[test].items():
                    mixed[index] = mixed.get(index, 0.0) + (1.0 - slip) * w
                found[name] = mixed
        return found

    def _collect(self, name: str) -> dict[str, dict[int, float]]:
        rows = self._joint[name]
        total = math.fsum(math.fsum(row) for row in rows)
        conductor: dict[int, float] = {}
        together: dict[int, float] = {}
        for c, row in zip(self._conductors[name], rows, strict=True):
            share = math.fsum(row) / total
            if share < 1e-7:  # far below anything that could move a hundredth of a bit
                continue
            index = dp.grid_index(c)
            conductor[index] = conductor.get(index, 0.0) + share
            for p, w in zip(self._mids, row, strict=True):
                if w > 1e-8 * total:
                    index = dp.grid_index(in_parallel(c, p))
                    together[index] = together.get(index, 0.0) + w / total
        path: dict[int, float] = {}
        for p, column in zip(self._mids, zip(*rows, strict=True), strict=True):
            index = dp.grid_index(p)
            path[index] = path.get(index, 0.0) + math.fsum(column) / total
        return {CONDUCTOR: conductor, PATH: path, TOGETHER: together}

    def digits(self, test: str, display: dp.Display, offset: float) -> dict[int, float]:
        """Chance of each display group for a reading of that kind taken as it says, no human error in it.

        A cell stands for all values inside it: its weight is spread over them, or digits between two cells would look
        impossible.
        """
        found: dict[int, float] = {}
        total = math.fsum(math.fsum(row) for rows in self._joint.values() for row in rows)
        for true, weight in self._spread(test):
            for group, chance in dp.groups(display)[dp.grid_index(true + offset)]:
                found[group] = found.get(group, 0.0) + weight / total * chance
        return found

    def _spread(self, test: str) -> Iterator[tuple[float, float]]:
        """True values of a reading with their weights."""
        for name, rows in self._joint.items():
            nodes = self._conductors[name]
            if test == CONDUCTOR:
                for (low, high), row in zip(_reach(nodes), rows, strict=True):
                    yield from _over(low, high, math.fsum(row))
                continue
            for c, row in zip(nodes, rows, strict=True):
                for (low, high), weight in zip(self._cells, row, strict=True):
                    if weight > 0.0:
                        for path, share in _over(low, high, weight):
                            yield (path if test == PATH else in_parallel(c, path)), share


def _reach(nodes: Sequence[float]) -> list[tuple[float, float]]:
    """Half way to the neighbours on either side of each node, in the logarithm; an open one stays where it is."""
    between = [math.sqrt(a * b) for a, b in pairwise(nodes)]
    return list(zip([nodes[0], *between], [*between, nodes[-1]], strict=True))


def _over(low: float, high: float, weight: float) -> list[tuple[float, float]]:
    """A weight spread evenly in the logarithm, in steps as fine as the grid of true values."""
    if math.isinf(high):
        return [(high, weight)]
    count = max(1, math.ceil(math.log(high / low) / STEP))
    return [(low * (high / low) ** ((k + 0.5) / count), weight / count) for k in range(count)]


class Across:
    """What is known of one bond's path and together by the hypotheses on another bond.

    predicted  by hypothesis and test: chance of each value on the grid of true values
    """

    def __init__(self, net: Net, meant: int, other: int, batches: Sequence[Batch], places: dict[tuple[int, int], Pair]):
        """``meant``: the bond whose hypotheses are told apart; ``other``: the bond at which would be measured.

        places  grid places of (path, together) by conductor node and path cell of the other bond, filled as needed
        """
        ohm, mids = net.copper[other].ohm, net.grid[other].mids
        self.predicted: list[dict[str, dict[int, float]]] = []
        for h in range(len(HYP)):
            path: dict[int, float] = {}
            together: dict[int, float] = {}
            for share, batch in zip(shares(batches), batches, strict=True):
                for key, w in batch.tally.cross[meant, other][h].items():
                    if key not in places:
                        c, p = ohm[key[0]], mids[key[1]]
                        places[key] = (dp.grid_index(p), dp.grid_index(in_parallel(c, p)))
                    one, both = places[key]
                    path[one] = path.get(one, 0.0) + share * w
                    together[both] = together.get(both, 0.0) + share * w
            self.predicted.append({PATH: _even(path), TOGETHER: _even(together)})


def information(
    predicted: Sequence[dict[int, float]], display: dp.Display, posterior: Sequence[float], model: Model
) -> float:
    """Expected information of a reading: as :func:`earthwright.evidence.worth.worth`, with the leads checked.

    predicted  by hypothesis: chance of each value on the grid of true values
    """
    over, touching = noise_shares(model, shorted_after=True, held_apart=True)
    truth = (1.0 - model.gross) * (1.0 - over - touching)
    groups, digits = dp.groups(display), dict[int, list[float]]()
    for h, spread in enumerate(predicted):
        for index, w in spread.items():
            for group, chance in groups[index]:
                digits.setdefault(group, [0.0, 0.0, 0.0])[h] += truth * w * chance
    error = {0: (1.0 - model.gross) * touching, dp.OVER: (1.0 - model.gross) * over}
    found = 0.0
    for group, by_h in digits.items():
        extra = model.gross / model.gross_digits + error.get(group, 0.0)
        chances = [x + extra for x in by_h]
        mixed = math.fsum(map(mul, posterior, chances))
        found += math.fsum(p * x * math.log2(x / mixed) for p, x in zip(posterior, chances, strict=True))
    return found


def _even(weights: dict[int, float]) -> dict[int, float]:
    total = math.fsum(weights.values()) or 1.0
    return {index: w / total for index, w in weights.items()}
