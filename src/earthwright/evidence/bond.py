"""How far readings tell a whole bond from an impaired one and from an open one.

Three hypotheses, equal before any reading: *whole*, *impaired* (as whole, plus an extra series resistance), *open*.
Human error is part of the model, so nothing is ever infinitely sure. Deterministic quadrature with the standard
library only, so that a server and a phone give the same digits. Checked against Monte Carlo and against reference
values made by a separate program.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import compress
from operator import mul

from attrs import evolve, field, frozen

from ..base import display as dp
from ..base.display import Display
from ..base.same import figures
from ..site.events import CONDUCTOR, PATH, TOGETHER
from .priors import COARSE as COARSE
from .priors import FINE as FINE
from .priors import Copper as Copper
from .priors import Grain as Grain
from .priors import Model as Model
from .priors import Nodes as Nodes
from .priors import impaired_nodes, overlaps, path_nodes, whole_nodes

WHOLE, IMPAIRED, OPEN = "whole", "impaired", "open"
HYPOTHESES = (WHOLE, IMPAIRED, OPEN)
VERDICTS = PROVED, DISPROVED, NOT_SHOWN = "proved", "disproved", "not shown"

DEFAULT_DISPLAY = Display()  # ±(3 % + 2 digits of 0.01 Ω), range 99.99 Ω


@frozen
class Observed:
    """One reading as evidence.

    test     conductor, path or together;  shown  digits [Ω], infinite for over-range
    display  limits of error;  offset  what the leads may add to the display [Ω], low and high
    shorted_after  the leads were shorted afterwards and good;  held_apart  an open check showed over-range
    """

    test: str
    shown: float
    display: Display = DEFAULT_DISPLAY
    offset: tuple[float, float] = (0.0, 0.0)
    shorted_after: bool = False
    held_apart: bool = False


@frozen
class Evidence:
    """What the readings say.

    log_likelihood  log10 of the probability of the readings under each hypothesis
    verdict         proved, disproved or not shown (of: the bond is whole);  named  the better other when disproved
    posterior       weights of the three hypotheses
    if_checked      what the same readings say once the leads as used are shorted and good; None when nothing hangs on that
    """

    log_likelihood: dict[str, float] = field(converter=figures)
    verdict: str
    named: str
    posterior: dict[str, float] = field(converter=figures)
    model: Model
    if_checked: Evidence | None = None

    @property
    def held_by_leads(self) -> bool:
        """Whether only the leads that nobody shorted afterwards stand between the readings and a verdict."""
        return self.if_checked is not None and self.if_checked.verdict != self.verdict

    @property
    def whole_over_open(self) -> float:
        """log10 Bayes factor of whole against open."""
        return self.log_likelihood[WHOLE] - self.log_likelihood[OPEN]

    @property
    def whole_over_impaired(self) -> float:
        """log10 Bayes factor of whole against impaired."""
        return self.log_likelihood[WHOLE] - self.log_likelihood[IMPAIRED]


def decide(log_likelihood: dict[str, float], threshold: float) -> tuple[str, str]:
    """Verdict on *the bond is whole*, and the better other hypothesis when it is disproved.

    Both log10 Bayes factors at least ``threshold``: proved. One at most −``threshold``: disproved. Else not shown.
    """
    ahead = lead(*(log_likelihood[h] for h in HYPOTHESES))
    if ahead >= threshold:
        return PROVED, ""
    if ahead <= -threshold:
        return DISPROVED, max((IMPAIRED, OPEN), key=lambda h: log_likelihood[h])
    return NOT_SHOWN, ""


def lead(whole: float, impaired: float, open_: float) -> float:
    """log10 Bayes factor of *whole* against the better of the others, from three log10 likelihoods."""
    return whole - max(impaired, open_)


def in_doubt(o: Observed, model: Model, most_ohm: float) -> bool:
    """Whether a wrong allowance for the leads may lie behind the digits.

    Not once the leads as used were shorted and good; not of an over-range, and not of digits further above what a whole
    conductor may be, ``most_ohm`` [Ω], than leads come to.
    """
    if o.shorted_after or math.isinf(o.shown):
        return False
    return o.display.window(o.shown)[0] - o.offset[1] <= most_ohm + model.allowance_ohm


def doubted(full: dict[str, float], rest: dict[str, float], chance: float) -> dict[str, float]:
    """Likelihoods by hypothesis when all readings in doubt share one allowance that is wrong with some chance.

        L(h) = (1 − q)·full(h) + q·rest(h)·max over g of full(g)/rest(g)

    full  by all readings, the allowance being right;  rest  by those that no allowance could spoil, on any scale
    A wrong allowance that nobody noticed is one that makes the digits look as they do, so they are as likely under every
    hypothesis as under the one that they fit best. Whatever they say, and however many they are, they tell two
    hypotheses apart by no more than 1/q beyond what the rest does. Method of this project; checked with a simulation.
    """
    most = max((full[h] / rest[h] for h in full if rest[h] > 0.0), default=0.0)
    return {h: (1.0 - chance) * w + chance * rest[h] * most for h, w in full.items()}


@frozen
class _Answer:
    """A reading made ready: where it can come from, and what each way of coming about weighs.

    base  chance whatever the truth;  right  what the end taken off leaves as it says;  slip  what it leaves with all connected
    low, high  true values outside which both together cannot have shown it [Ω]
    alone  of a reading of the path: what each path leaves by itself, base included
    """

    of: Observed
    base: float
    right: float
    slip: float
    low: float
    high: float
    chance: dp.Chances
    alone: list[float]


@frozen
class _Row:
    """One conductor [Ω], what it is together with each finite path [Ω], the weights of all paths, and their sum."""

    conductor: float
    together: list[float]
    weights: list[float]
    total: float


class BondEvidence:
    """The joint distribution of conductor and path under each hypothesis, given the readings.

    Built once for a bond and its readings; then asked for the verdict, and for what a further reading is worth.
    """

    def __init__(
        self, copper: Copper, observed: Sequence[Observed], model: Model | None = None, grain: Grain = FINE
    ) -> None:
        self.model = model or Model()
        self._grain = grain
        whole = whole_nodes(copper, self.model, grain)
        # Those that no allowance for the leads could spoil come first: what they say by themselves is needed as well.
        self.observed = tuple(sorted(observed, key=lambda o: in_doubt(o, self.model, whole[-1][0])))
        self._sure = sum(not in_doubt(o, self.model, whole[-1][0]) for o in observed)
        self._paths = path_nodes(self.model, self._path_windows(), grain)
        self._finite = [p for p, _ in self._paths[:-1]]  # the last node is the open path
        seen = self._windows(CONDUCTOR) + self._windows(TOGETHER)
        self._conductors: dict[str, Nodes] = {
            WHOLE: whole,
            # With the path open the conductor alone decides what all connected shows, so it is followed there too.
            IMPAIRED: impaired_nodes(whole, self.model, seen + overlaps(seen), grain),
            OPEN: ((math.inf, 1.0),),
        }
        self._answers = [self._answer(o) for o in self.observed]
        self.rest: dict[str, float] = {}  # likelihood by the readings that no allowance could spoil
        self._joint = {h: self._weights(h, nodes) for h, nodes in self._conductors.items()}
        self._predicted: dict[str, dict[str, dict[int, float]]] | None = None

    def _windows(self, test: str) -> list[tuple[float, float]]:
        return [_window(o) for o in self.observed if o.test == test]

    def _path_windows(self) -> list[tuple[float, float]]:
        """Where the path decides the digits: readings in which it may have answered alone, or with the conductor.

        A together reading is followed up to where the path fades out; a conductor reading may have been a slip.
        """
        together = self._windows(TOGETHER)
        own = self._windows(PATH) + self._windows(CONDUCTOR) + together
        return own + overlaps(own) + [(low, 8.0 * high) for low, high in together]

    def result(self) -> Evidence:
        """The verdict with its Bayes factors."""
        full = {h: math.fsum(row.total for row in rows) for h, rows in self._joint.items()}
        return evidence_of(full, self.rest, self.model, in_doubt=self._sure < len(self.observed))

    def _answer(self, o: Observed) -> _Answer:
        base, scale = noise(o, self.model)
        low, high = o.display.window(o.shown)
        slip = 1.0 if o.test == TOGETHER else self.model.slip
        right = scale * (1.0 - slip)
        alone = [base + right * _exactly(o, p) for p, _ in self._paths] if o.test == PATH else []
        chance = dp.chances(o.display, o.shown, o.offset, self._grain.table)
        return _Answer(o, base, right, scale * slip, low - o.offset[1], high - o.offset[0], chance, alone)

    def _weights(self, hypothesis: str, conductors: Nodes) -> list[_Row]:
        """The joint prior times the likelihood, a row for each conductor and in it a weight for each path."""
        finite, rows, rest = self._finite, [], []
        prior = [w for _, w in self._paths]
        for c, weight in conductors:
            together = finite if math.isinf(c) else [c * p / (c + p) for p in finite]
            row = [weight * w for w in prior]
            for number, a in enumerate(self._answers):
                if number == self._sure:
                    rest.append(math.fsum(row))
                row = self._read(row, a, c, together)
            rows.append(_Row(c, together, row, math.fsum(row)))
        self.rest[hypothesis] = math.fsum(rest)
        return rows

    def _read(self, row: list[float], a: _Answer, c: float, together: list[float]) -> list[float]:
        """The weights of a row once a reading is taken in, with conductor ``c``.

        Both together can only have shown its digits from a window of true values, and together rises with the path, so
        only the path nodes inside the window are worked out.
        """
        first = bisect_left(self._finite, _path_for(a.low, c))
        last = bisect_right(self._finite, _path_for(a.high, c))
        # With the path open the conductor alone decides: worked out, not read from the table, where it may be decisive.
        fine = self._grain is FINE
        exact = _exactly(a.of, c) if fine or a.of.test == CONDUCTOR else 0.0
        end = exact if fine else a.chance(c)
        alone = a.alone or [a.base + a.right * exact] * len(row)  # what comes about without both together
        return [
            *map(mul, row[:first], alone),
            *a.chance.weigh(row[first:last], alone[first:last], a.slip, together[first:last]),
            *map(mul, row[last:-1], alone[last:]),
            row[-1] * (alone[-1] + a.slip * end),
        ]

    def predict(self, test: str) -> dict[str, dict[int, float]]:
        """Chance of each value on the grid of true values for a further reading of that kind, by hypothesis.

        Given the readings so far. For readings with one end off the slip is already inside.
        """
        found: dict[str, dict[int, float]] = {}
        slip = self.model.slip
        for h, by_test in self._predictions().items():
            if test == TOGETHER:
                found[h] = by_test[TOGETHER]
                continue
            mixed = {i: slip * w for i, w in by_test[TOGETHER].items()}
            for index, weight in by_test[test].items():
                mixed[index] = mixed.get(index, 0.0) + (1.0 - slip) * weight
            found[h] = mixed
        return found

    def _predictions(self) -> dict[str, dict[str, dict[int, float]]]:
        """True values of conductor, path and together on the grid, by hypothesis and test; worked out once."""
        if self._predicted is None:
            self._predicted = {h: self._collect(rows) for h, rows in self._joint.items()}
        return self._predicted

    def _collect(self, rows: list[_Row]) -> dict[str, dict[int, float]]:
        total = math.fsum(row.total for row in rows)
        by_conductor, by_path, by_together = ([0.0] * (dp.OPEN + 1) for _ in range(3))
        # Far below what is left out nothing could move a verdict or a hundredth of a bit.
        kept, least = [row for row in rows if row.total >= 1e-7 * total], 1e-8 * total
        for row in kept:
            at = dp.grid_index(row.conductor)
            by_conductor[at] += row.total
            telling = [w > least for w in row.weights]
            indices = dp.grid_indices(list(compress(row.together, telling)))
            if telling[-1]:
                indices.append(at)  # with the path open the conductor is all there is
            for index, weight in zip(indices, compress(row.weights, telling), strict=True):
                by_together[index] += weight
        path_index = [*dp.grid_indices(self._finite), dp.OPEN]
        for index, column in zip(path_index, zip(*(row.weights for row in kept), strict=True), strict=True):
            by_path[index] += math.fsum(column)
        by_test = {CONDUCTOR: by_conductor, PATH: by_path, TOGETHER: by_together}
        return {test: {i: w / total for i, w in enumerate(found) if w} for test, found in by_test.items()}


def evidence_of(full: dict[str, float], rest: dict[str, float], model: Model, *, in_doubt: bool) -> Evidence:
    """The evidence from likelihoods, with the doubt about the leads where some readings stand in it."""
    right = _evidence(full, model)
    if not in_doubt:
        return right
    return evolve(_evidence(doubted(full, rest, model.wrong_allowance), model), if_checked=right)


def _evidence(likelihood: dict[str, float], model: Model) -> Evidence:
    logs = {h: math.log10(max(v, 1e-300)) for h, v in likelihood.items()}
    verdict, named = decide(logs, model.decide)
    total = math.fsum(likelihood.values())
    return Evidence(logs, verdict, named, {h: v / total for h, v in likelihood.items()}, model)


def of_one_together(copper: Copper, o: Observed, model: Model, grain: Grain) -> Evidence:
    """The evidence of one reading with all connected, which is what most circuits have: BondEvidence of it, in less time.

    Outside the window of the digits every path has the same chance, so the sum runs over those inside it only.
    """
    low, high = o.display.window(o.shown)
    low, high = low - o.offset[1], high - o.offset[0]
    seen = [_window(o)]
    paths = path_nodes(model, seen + [(a, 8.0 * b) for a, b in seen], grain)
    finite, (_, absent) = [p for p, _ in paths[:-1]], paths[-1]
    chance = dp.chances(o.display, o.shown, o.offset, grain.table)
    base, scale = noise(o, model)
    whole = whole_nodes(copper, model, grain)
    likelihood = {}
    for h, nodes in ((WHOLE, whole), (IMPAIRED, impaired_nodes(whole, model, seen, grain)), (OPEN, ((math.inf, 1.0),))):
        total = 0.0
        for c, weight in nodes:
            inside = paths[bisect_left(finite, _path_for(low, c)) : bisect_right(finite, _path_for(high, c))]
            got = absent * chance(c)
            for p, w in inside:
                got += w * chance(in_parallel(c, p))
            total += weight * (base + scale * got)
        likelihood[h] = total
    doubt = in_doubt(o, model, whole[-1][0])
    return evidence_of(likelihood, dict.fromkeys(HYPOTHESES, 1.0), model, in_doubt=doubt)


def noise(o: Observed, model: Model) -> tuple[float, float]:
    """Chance that the digits came about whatever the truth, and the share left for the truth to show itself."""
    over, touching = noise_shares(model, o.shorted_after, o.held_apart)
    base = model.gross / model.gross_digits
    if math.isinf(o.shown):
        base += (1.0 - model.gross) * over
    elif o.shown < o.display.step / 2.0:
        base += (1.0 - model.gross) * touching
    return base, (1.0 - model.gross) * (1.0 - over - touching)


def noise_shares(model: Model, shorted_after: bool, held_apart: bool) -> tuple[float, float]:
    """Chance that a lead was off, and that the clips touched, given the checks made of the leads."""
    return (
        model.lead_off_checked if shorted_after else model.lead_off,
        model.touch_checked if held_apart else model.touch,
    )


def _window(o: Observed) -> tuple[float, float]:
    """True values [Ω] that can have shown the digits of a reading; of an over-range, those at which it begins."""
    low, high = o.display.window(o.shown)
    if math.isinf(high):
        high = o.display.window(o.display.top)[1]
    return low - o.offset[1], high - o.offset[0]


def _exactly(o: Observed, true_ohm: float) -> float:
    """Chance of the digits for a true value [Ω], not from the table."""
    return o.display.chance_with_offset(o.shown, true_ohm, o.offset)


def in_parallel(c: float, p: float) -> float:
    """``c·p/(c + p)``, with open branches [Ω]."""
    if math.isinf(c):
        return p
    if math.isinf(p):
        return c
    return c * p / (c + p) if c + p > 0.0 else 0.0


def _path_for(together: float, c: float) -> float:
    """The path that makes conductor ``c`` read ``together``; infinite when even the conductor alone reads less."""
    if together <= 0.0:
        return together
    if math.isinf(c):
        return together
    return math.inf if together >= c else c * together / (c - together)
