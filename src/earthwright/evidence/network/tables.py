"""Nodes of conductors and paths, and the chance of the readings at each pair of them, worked out once per site.

A bond's readings in one state depend on two numbers only: its conductor c and the path P beside it in that state.
So their joint chance is a table over (c, P). The cells are narrow where digits are decided and wide elsewhere.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from itertools import pairwise

from attrs import field, frozen

from ...site.events import CONDUCTOR, PATH, TOGETHER
from ..bond import IMPAIRED, OPEN, WHOLE, Copper, Model, Nodes, Observed, in_parallel, noise
from ..priors import whole_nodes

P_LOW, P_HIGH = 2e-4, 2e4  # beyond these a path is as good as a short, or as nothing [Ω]
COARSE, FINE = 0.25, 0.12  # widths of cells in ln Ω away from any digits, and near them
WHOLE_NODES = 14
NEAR = 0.65  # conductances of conductor nodes that the rest of the site cannot tell apart
HYP = (WHOLE, IMPAIRED, OPEN)


@frozen
class Conductors:
    """Nodes of one bond's conductor under all three hypotheses.

    ohm, siemens  value of each node;  weight  chance under its own hypothesis;  hyp  index into :data:`HYP`
    groups        runs (first, end, mean siemens) of nodes so close that the rest of the site cannot tell them apart
    """

    ohm: tuple[float, ...]
    siemens: tuple[float, ...]
    weight: tuple[float, ...]
    hyp: tuple[int, ...]
    groups: tuple[tuple[int, int, float], ...]

    def of(self, hypothesis: int) -> range:
        """Places of the nodes of one hypothesis."""
        first = self.hyp.index(hypothesis)
        return range(first, first + self.hyp.count(hypothesis))


@frozen
class PathGrid:
    """Cells of a path: ``edges`` between them [Ω], ``mids`` inside them, infinite in the last one.

    falls  the same edges as conductances, with a minus, so that they rise: a path that is known by what it conducts is
           found among them without a division
    """

    edges: tuple[float, ...]
    mids: tuple[float, ...]
    falls: tuple[float, ...] = field(init=False, repr=False)

    @falls.default
    def _(self) -> tuple[float, ...]:
        return tuple(-1.0 / e for e in self.edges)

    def cell(self, ohm: float) -> int:
        """The cell that holds a path."""
        return bisect_right(self.edges, ohm)

    def beside(self, z_own: float, g: float) -> int:
        """The cell of the path beside a bond: of the impedance at its part without its own conductance."""
        return bisect_right(self.falls, g - 1.0 / z_own)


def windows(observed: Sequence[Observed], tests: Sequence[str]) -> list[tuple[float, float]]:
    """True values [Ω] that can have shown the digits, by reading; of an over-range, those at which it begins."""
    found = []
    for o in observed:
        if o.test in tests:
            low, high = o.display.window(o.shown)
            high = min(high, o.display.window(o.display.top)[1])
            found.append((max(P_LOW, low - o.offset[1]), max(2.0 * P_LOW, high - o.offset[0])))
    return found


def cut(
    low: float, high: float, near: Sequence[tuple[float, float]], around: Sequence[tuple[float, float]]
) -> list[float]:
    """Edges [Ω] from low to high: an eighth of a window inside ``near`` windows, fine in ``around``, coarse elsewhere."""
    spans = [(math.log(a), math.log(b), max(0.01, min(FINE, math.log(b / a) / 8.0))) for a, b in near]
    spans += [(math.log(a), math.log(b), FINE) for a, b in around]
    at, end = math.log(low), math.log(high)
    edges = [at]
    while at < end - 1e-9:
        step = COARSE
        for a, b, width in spans:
            if a - 1e-12 <= at < b:
                step = min(step, width)
            elif at < a < at + step:
                step = a - at
        at = min(end, at + max(step, 0.005))
        edges.append(at)
    return [math.exp(x) for x in edges]


def path_grid(observed: Sequence[Observed]) -> PathGrid:
    """Cells for the path beside one bond, fine where its readings decide."""
    together = windows(observed, (TOGETHER,))
    near = windows(observed, (PATH, CONDUCTOR)) + together
    edges = cut(P_LOW, P_HIGH, near, [(high, 8.0 * high) for _, high in together])
    mids = [edges[0], *(math.sqrt(a * b) for a, b in pairwise(edges)), math.inf]
    return PathGrid(tuple(edges), tuple(mids))


def conductors(copper: Copper, model: Model, observed: Sequence[Observed]) -> Conductors:
    """Nodes of one bond's conductor: whole as for one bond, whole plus a log-uniform extra, open."""
    whole = _merged(whole_nodes(copper, model))
    mean = math.fsum(c * w for c, w in whole)
    half = math.sqrt(math.fsum((c - mean) ** 2 * w for c, w in whole) * 1.5)
    low, high = model.extra_ohm
    near = [
        (max(low, a - mean), max(low * 1.001, b - mean))
        for a, b in windows(observed, (CONDUCTOR, TOGETHER))
        if b - mean > low
    ]
    edges = cut(low, high, near, [(a, b) for a, b in ((low, 0.3), (5.0, high)) if a < b])
    span = math.log(high / low)
    impaired = []
    for a, b in pairwise(edges):
        extra, weight = math.sqrt(a * b), math.log(b / a) / span
        if extra > 20.0 * half:
            impaired.append((mean + extra, weight))
        else:  # three points keep mean and spread of the whole conductor under the extra
            impaired += [(mean + d + extra, weight / 3.0) for d in (-half, 0.0, half)]
    # A route shorter than its tolerance has nodes below nothing; a micro-ohm is as short as a conductor gets.
    nodes = [(max(c, 1e-6), w, 0) for c, w in whole] + [(c, w, 1) for c, w in sorted(impaired)] + [(math.inf, 1.0, 2)]
    siemens = tuple(0.0 if math.isinf(c) else 1.0 / c for c, _, _ in nodes)
    hyp = tuple(h for _, _, h in nodes)
    return Conductors(tuple(c for c, _, _ in nodes), siemens, tuple(w for _, w, _ in nodes), hyp, _groups(siemens, hyp))


def _merged(nodes: Nodes) -> Nodes:
    """Neighbours put together, means kept, until no more than :data:`WHOLE_NODES` are left."""
    by = math.ceil(len(nodes) / WHOLE_NODES)
    found = []
    for i in range(0, len(nodes), by):
        some = nodes[i : i + by]
        weight = math.fsum(w for _, w in some)
        found.append((math.fsum(c * w for c, w in some) / weight, weight))
    return tuple(found)


def _groups(siemens: Sequence[float], hyp: Sequence[int]) -> tuple[tuple[int, int, float], ...]:
    found: list[tuple[int, int, float]] = []
    first = 0
    for i in range(1, len(siemens) + 1):
        if i == len(siemens) or hyp[i] != hyp[first] or siemens[i] < NEAR * siemens[first]:
            found.append((first, i, math.fsum(siemens[first:i]) / (i - first)))
            first = i
    return tuple(found)


def chances(
    observed: Sequence[Observed], ohm: Sequence[float], mids: Sequence[float], model: Model
) -> list[list[float]]:
    """Chance of all readings of one bond in one state, for each conductor (rows) and each path (columns)."""
    noises = [noise(o, model) for o in observed]
    seen = [_inside(o) for o in observed]
    by_path = [[look(p) for p in mids] if o.test == PATH else [] for o, look in zip(observed, seen, strict=True)]
    rows = []
    for c in ohm:
        row = [1.0] * len(mids)
        together = [in_parallel(c, p) for p in mids]
        for o, look, (base, scale), alone in zip(observed, seen, noises, by_path, strict=True):
            both = [look(t) for t in together]
            right, slip = scale * (1.0 - model.slip), scale * model.slip
            if o.test == TOGETHER:
                row = [r * (base + scale * t) for r, t in zip(row, both, strict=True)]
            elif o.test == CONDUCTOR:
                fixed = base + right * look(c)
                row = [r * (fixed + slip * t) for r, t in zip(row, both, strict=True)]
            else:
                row = [r * (base + right * f + slip * t) for r, f, t in zip(row, alone, both, strict=True)]
        rows.append(row)
    return rows


def _inside(o: Observed) -> Callable[[float], float]:
    """Chance of the digits of a reading by true value; most values lie outside its window, where it is nothing."""
    low, high = o.display.window(o.shown)
    low, high = low - o.offset[1], high - o.offset[0]

    def look(true_ohm: float) -> float:
        if low <= true_ohm <= high:
            return o.display.chance_with_offset(o.shown, true_ohm, o.offset)
        return 0.0

    return look


def as_stated(o: Observed, c: float, p: float, model: Model) -> float:
    """Share of the chance of the digits that is owed to the reading having been taken as it says, 0 to 1."""
    base, scale = noise(o, model)
    true = c if o.test == CONDUCTOR else p if o.test == PATH else in_parallel(c, p)
    own = o.display.chance_with_offset(o.shown, true, o.offset)
    if o.test == TOGETHER:
        return scale * own / (base + scale * own)
    slipped = o.display.chance_with_offset(o.shown, in_parallel(c, p), o.offset)
    right = scale * (1.0 - model.slip) * own
    return right / (base + right + scale * model.slip * slipped)
