"""The evidence of a site against ways that share no code with it.

One bond by quadrature; brute-force enumeration of a coarse site; a chain of known metal by an integral on paper; plain
importance sampling from the priors. Tolerance where nothing is sampled: 0.05 of a power of ten, the choice of grid;
where something is, three of the stated standard errors beside it.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping
from functools import cache
from itertools import product

import numpy as np
import pytest
from attrs import evolve

from earthwright.base.display import Display
from earthwright.evidence.bond import IMPAIRED, OPEN, WHOLE, BondEvidence, Copper, Model, Observed
from earthwright.evidence.network import SiteBond, SiteData, SiteEvidence, SiteLink, SiteModel, SiteReading, weigh
from earthwright.evidence.network.network import Net
from earthwright.evidence.network.sampler import run

from .importance import importance

OVER = math.inf
C, P, T = "conductor", "path", "together"
WATER = SiteBond("w", "water", Copper(1.83, 16, 1), "Water service")
GAS = SiteBond("g", "gas", Copper(1.83, 24, 2), "Gas pipe")
STEEL = SiteBond("s", "steel", Copper(1.83, 11, 1), "Steel beam")

# route, tolerance, readings, leads shorted after: the rows of the reference table of the method, section 4
TABLE = [
    (16, 1, [(T, 0.02)], False),
    (16, 1, [(C, 0.03)], False),
    (16, 1, [(C, 0.03), (P, 0.11)], False),
    (16, 1, [(C, 0.03), (P, 0.11), (T, 0.02)], False),
    (24, 2, [(T, 0.02)], False),
    (24, 2, [(C, 0.05), (P, 0.03), (T, 0.02)], False),
    (18, 1, [(T, 0.04)], False),
    (18, 1, [(T, 0.04), (P, 0.04)], False),
    (18, 1, [(C, OVER)], False),
    (18, 1, [(C, OVER)], True),
    (18, 1, [(C, OVER), (P, 0.04), (T, 0.04)], False),
    (11, 1, [(C, 0.43)], False),
    (60, 5, [(T, 0.11)], False),
]


def taken(*readings: tuple[object, ...]) -> tuple[SiteReading, ...]:
    """Readings (bond, test, digits, what else was off …)."""
    return tuple(
        SiteReading(f"r{k + 1}", bond, Observed(test, shown, shorted_after=True), frozenset(off))  # type: ignore[arg-type]
        for k, (bond, test, shown, *off) in enumerate(readings)
    )


def factors(e: SiteEvidence, bond: str) -> tuple[float, float]:
    found = e.of(bond).evidence
    return found.whole_over_open, found.whole_over_impaired


# ---- one bond ----


@pytest.mark.parametrize("row", range(len(TABLE)))
def test_one_bond_alone_is_its_quadrature_to_the_last_digit(row: int) -> None:
    length, tol, readings, shorted = TABLE[row]
    copper = Copper(1.83, length, tol)
    observed = [Observed(t, v, shorted_after=shorted) for t, v in readings]
    e = weigh(
        SiteData(
            (SiteBond("w", "water", copper),),
            tuple(SiteReading(t, "w", o) for t, o in zip("cpt", observed, strict=False)),
        )
    )
    single = BondEvidence(copper, observed).result()
    assert e.of("w").evidence == single
    assert (e.method, e.error, e.rounds) == ("single-bond quadrature", 0.0, 0)


@pytest.mark.parametrize("row", range(len(TABLE)))
def test_draws_of_two_bonds_that_nothing_joins_are_two_quadratures(row: int) -> None:
    """Through the sampler, with no metal between the parts: every round must give the quadrature of each bond."""
    length, tol, readings, _ = TABLE[row]
    copper = Copper(1.83, length, tol)
    observed = [Observed(t, v, shorted_after=True) for t, v in readings]
    own = tuple(SiteReading(str(k), "w", o) for k, o in enumerate(observed))
    model = SiteModel(between=0.0, batches=2, draws=3, followed=2)
    data = SiteData((SiteBond("w", "water", copper), GAS), (*own, *taken(("g", C, 0.05), ("g", P, 0.3))), (), model)
    gas = BondEvidence(
        GAS.copper, [Observed(C, 0.05, shorted_after=True), Observed(P, 0.3, shorted_after=True)]
    ).result()
    for batch in run(Net(data)):
        for i, single in ((0, BondEvidence(copper, observed).result()), (1, gas)):
            for whole, impaired, open_ in batch.tally.weights[i]:
                assert math.log10(whole / open_) == pytest.approx(single.whole_over_open, abs=0.05)
                assert math.log10(whole / impaired) == pytest.approx(single.whole_over_impaired, abs=0.05)


def test_a_bond_that_was_not_read_beside_hardly_moves_the_other() -> None:
    """A conductor alone answers to its own bond only; what its neighbours are does not matter to it."""
    e = weigh(SiteData((WATER, GAS), taken(("w", C, 0.03))))
    single = BondEvidence(WATER.copper, [Observed(C, 0.03, shorted_after=True)]).result()
    # Only the slip knows of the path, and with a second part there is a little more metal that could be it.
    assert factors(e, "w") == pytest.approx((single.whole_over_open, single.whole_over_impaired), abs=0.2)
    assert e.of("g").evidence.posterior[WHOLE] == pytest.approx(1 / 3, abs=0.01)


# ---- known metal, worked out on paper ----


def test_a_known_link_carries_evidence_from_one_bond_to_the_other() -> None:
    """No stray metal at all; water and gas joined by 0.02 Ω. The path of gas is the link and the water bond in series.

    So one reading of it, 0.06 Ω, is a reading of the water bond through 0.02 Ω: the integral over its conductor, with
    the shares of human error, is a sum over a fine grid here. With the slip the gas bond comes in as well.
    """
    model = Model(path_absent=1.0)
    data = SiteData(
        (WATER, GAS),
        taken(("g", P, 0.06)),
        (SiteLink("boiler", "water", "gas", 0.0199, 0.0201),),
        SiteModel(bond=model, between=0.0),
    )
    display = Display()
    rng = np.random.default_rng(4)
    n = 6_000

    def conductor(length: float, tol: float, hypothesis: str) -> np.ndarray:
        c = rng.uniform(length - tol, length + tol, n) * 1.83e-3 * rng.uniform(0.93, 1, n) + rng.uniform(0, 0.01, n)
        if hypothesis == IMPAIRED:
            return c + np.exp(rng.uniform(math.log(0.05), math.log(100), n))
        return c if hypothesis == WHOLE else np.full(n, np.inf)

    likelihood = {}
    for water in (WHOLE, IMPAIRED, OPEN):
        total = 0.0
        for gas in (WHOLE, IMPAIRED, OPEN):
            path = 0.02 + conductor(16, 1, water)
            with np.errstate(divide="ignore"):
                together = 1 / (1 / path + 1 / conductor(24, 2, gas))
            right = np.mean([display.chance(0.06, p) for p in path])
            slip = np.mean([display.chance(0.06, t) for t in together])
            total += 0.002 / 200 + 0.998 * 0.97 * (0.99 * right + 0.01 * slip)
        likelihood[water] = total
    e = weigh(data)
    expected = [math.log10(likelihood[WHOLE] / likelihood[h]) for h in (OPEN, IMPAIRED)]
    assert expected[0] > 2.0
    assert factors(e, "w") == pytest.approx(expected, abs=0.05 + 3 * e.error)
    assert e.error < 0.1


def test_a_known_link_to_the_met_is_part_of_every_together() -> None:
    """No stray metal; 0.055 Ω known beside the bond. The digits 0.02 are those of c·0.055/(c + 0.055)."""
    model = Model(path_absent=1.0)
    link = SiteLink("earth bar", "MET", "water", 0.0549, 0.0551)
    e = weigh(SiteData((WATER,), taken(("w", T, 0.02)), (link,), SiteModel(bond=model)))
    display, rng, n = Display(), np.random.default_rng(5), 6_000
    whole = rng.uniform(15, 17, n) * 1.83e-3 * rng.uniform(0.93, 1, n) + rng.uniform(0, 0.01, n)
    impaired = whole + np.exp(rng.uniform(math.log(0.05), math.log(100), n))

    def likelihood(c: np.ndarray) -> float:
        chances = [display.chance(0.02, t) for t in 1 / (1 / c + 1 / 0.055)]
        return 0.002 / 200 + 0.998 * 0.97 * float(np.mean(chances))

    beside = 0.002 / 200 + 0.998 * 0.97 * display.chance(0.02, 0.055)
    expected = math.log10(likelihood(whole) / beside), math.log10(likelihood(whole) / likelihood(impaired))
    assert factors(e, "w") == pytest.approx(expected, abs=0.05 + 3 * e.error)


# ---- brute force ----


def brute(data: SiteData, cells: int, extras: int) -> list[tuple[float, float]]:
    """Every combination of two conductors and three links on coarse grids; log10 whole/open, whole/impaired by bond."""
    model = data.model.bond
    display = Display()

    def log_grid(low: float, high: float, count: int) -> np.ndarray:
        return np.exp(math.log(low) + (np.arange(count) + 0.5) / count * math.log(high / low))

    stray_g = np.append(1 / log_grid(*model.path_ohm, cells), 0.0)
    stray_w = np.append(np.full(cells, 0.7 / cells), 0.3)
    conductors = []
    for bond in data.bonds:
        k = bond.copper
        whole = [
            k.length_m * k.r_mohm_per_m / 1000 * m + j for m, j in product((0.945, 0.965, 0.985), (0.0025, 0.0075))
        ]
        mean = sum(whole) / len(whole)
        nodes = [(c, 1 / len(whole), 0) for c in whole]
        nodes += [(mean + x, 1 / extras, 1) for x in log_grid(*model.extra_ohm, extras)] + [(math.inf, 1.0, 2)]
        conductors.append(nodes)
    names = [b.id for b in data.bonds]
    y0, y1, y01 = (v.ravel() for v in np.meshgrid(stray_g, stray_g, stray_g, indexing="ij"))
    prior = (stray_w[:, None, None] * stray_w[None, :, None] * stray_w[None, None, :]).ravel()
    table = np.zeros((3, 3))
    for (c0, w0, h0), (c1, w1, h1) in product(*conductors):
        weight = prior * w0 * w1
        for r in data.readings:
            i = names.index(r.bond)
            own, other = ((c0, c1), (c1, c0))[i]
            g_own, g_other = 1 / own if own < math.inf else 0.0, 1 / other if other < math.inf else 0.0
            if names[1 - i] in r.off:
                g_other = 0.0
            near, far = ((y0, y1), (y1, y0))[i]
            beyond = far + g_other
            with np.errstate(divide="ignore", invalid="ignore"):
                through = np.where((y01 > 0) & (beyond > 0), 1 / (1 / y01 + 1 / beyond), 0.0)
            g_path = near + through
            weight = weight * _digits(r.observed, display, g_own, g_path)
        table[h0, h1] += weight.sum()
    by_bond = (table.sum(axis=1), table.sum(axis=0))
    return [(math.log10(t[0] / t[2]), math.log10(t[0] / t[1])) for t in by_bond]


def _digits(o: Observed, d: Display, g_own: float, g_path: np.ndarray) -> np.ndarray:
    """Chance of the digits by a sum over a dozen gains: human error as in the method, section 4."""

    def chance(g: np.ndarray) -> np.ndarray:
        with np.errstate(divide="ignore"):
            true = np.minimum(1 / g, 1e9)
        gains = 1 + (np.arange(12) + 0.5 - 6) / 6 * d.pct / 100
        slack, half = d.digits * d.step, d.step / 2
        up = np.clip((o.shown + half - true[:, None] * gains + slack) / (2 * slack), 0, 1)
        down = np.clip((o.shown - half - true[:, None] * gains + slack) / (2 * slack), 0, 1)
        return (up - down).mean(axis=1)

    together = chance(g_own + g_path)
    base, truth = 0.002 / 200, 0.998 * 0.97
    if o.test == T:
        return base + truth * together
    alone = chance(np.full(1, g_own)) if o.test == C else chance(g_path)
    return base + truth * (0.99 * alone + 0.01 * together)


BRUTE = [
    [("w", T, 0.02), ("g", T, 0.03)],
    [("w", C, 0.03), ("w", P, 0.11), ("g", T, 0.04)],
    [("g", P, 0.06), ("g", P, 0.9, "w")],
    [("g", C, 0.25), ("g", P, 0.09), ("w", P, 0.30)],
]


@pytest.mark.parametrize("readings", BRUTE)
def test_against_every_combination(readings: list[tuple[object, ...]]) -> None:
    """Two bonds and three unknown links on coarse grids, two million networks, none of them drawn."""
    model = Model(path_ohm=(0.02, 2.0), extra_ohm=(0.05, 1.0))
    w, g = (SiteBond(b.id, b.part, Copper(1.83, b.copper.length_m, 0.01)) for b in (WATER, GAS))
    data = SiteData((w, g), taken(*readings), (), SiteModel(bond=model))
    expected = brute(data, 18, 12)
    e = weigh(data)
    for bond, (over_open, over_impaired) in zip("wg", expected, strict=True):
        error = e.of(bond).error
        assert e.of(bond).evidence.whole_over_open == pytest.approx(over_open, abs=0.05 + 3 * error[OPEN])
        assert e.of(bond).evidence.whole_over_impaired == pytest.approx(over_impaired, abs=0.05 + 3 * error[IMPAIRED])
        assert max(error.values()) < 0.3


# ---- plain importance sampling from the priors ----

SITES = {
    "two together": SiteData((WATER, GAS), taken(("w", T, 0.02), ("g", T, 0.03))),
    "one known": SiteData((WATER, GAS), taken(("w", C, 0.03), ("w", P, 0.11), ("g", T, 0.04))),
    "gas cut": SiteData((WATER, GAS), taken(("g", C, OVER), ("g", P, 0.04), ("g", T, 0.04), ("w", T, 0.02))),
    "boiler": SiteData(
        (WATER, GAS), taken(("g", P, 0.06), ("w", T, 0.02)), (SiteLink("boiler", "water", "gas", 0.01, 0.03),)
    ),
    "two states": SiteData((WATER, GAS), taken(("g", P, 0.06), ("g", P, 2.3, "w"))),
    "three": SiteData((WATER, GAS, STEEL), taken(("w", T, 0.02), ("g", T, 0.03), ("s", T, 0.01))),
    "boiler off": SiteData(
        (WATER, GAS),
        taken(("g", P, 0.06), ("g", P, 0.4, "boiler"), ("w", T, 0.02)),
        (SiteLink("boiler", "water", "gas", 0.01, 0.03),),
    ),
    "leads left in": SiteData(
        (WATER, GAS),
        (SiteReading("r1", "w", Observed(C, 0.33, offset=(0.28, 0.32), shorted_after=True)), *taken(("g", T, 0.03))),
    ),
    "one part, two bonds": SiteData(
        (WATER, SiteBond("new", "water", Copper(1.83, 9, 1)), GAS),
        taken(("w", T, 0.02), ("new", P, 0.04), ("g", T, 0.05)),
    ),
}


@cache
def plain(name: str) -> Mapping[str, tuple[np.ndarray, np.ndarray]]:
    return importance(SITES[name], 300_000, 7)


@pytest.mark.parametrize("name", SITES)
def test_against_plain_importance_sampling(name: str) -> None:
    data = SITES[name]
    expected = plain(name)
    e = weigh(data)
    assert e.method == "sampled"
    for bond in data.bonds:
        p, own_error = expected[bond.id]
        found = e.of(bond.id)
        for k, h in ((1, IMPAIRED), (2, OPEN)):
            log = math.log10(p[0] / p[k])
            spread = math.hypot(own_error[k] / p[k], own_error[0] / p[0]) / math.log(10) + found.error[h]
            ours = found.evidence.log_likelihood[WHOLE] - found.evidence.log_likelihood[h]
            assert ours == pytest.approx(log, abs=0.05 + 3 * spread), (bond.id, h)


def test_what_is_all_but_ruled_out_can_still_be_asked_about() -> None:
    """Two bonds read three ways and sound: open has a weight below one in a hundred million, and yet a shape."""
    three = [(C, 0.03), (P, 0.11), (T, 0.02)]
    checked = [(b, Observed(t, v, shorted_after=True, held_apart=True)) for b in "wg" for t, v in three]
    bonds = (WATER, evolve(GAS, copper=WATER.copper))
    data = SiteData(bonds, tuple(SiteReading(f"{b}{o.test}", b, o) for b, o in checked))
    e = weigh(evolve(data, model=SiteModel(batches=2, draws=10, followed=2)))
    assert e.of("w").evidence.posterior[OPEN] < 1e-5
    assert all(0.0 <= w.bits < 0.05 for w in e.worths)
    assert e.next is None


def test_the_same_digits_every_time() -> None:
    data = SITES["boiler"]
    short = evolve(data, model=SiteModel(batches=2, draws=5, followed=2))
    assert weigh(short) == weigh(short)
    other = weigh(evolve(data, model=SiteModel(batches=2, draws=5, followed=2, seed=1)))
    assert other.of("w").evidence != weigh(short).of("w").evidence


def test_a_neighbour_tells_of_a_bond() -> None:
    """What the path at the water bond is worth for the gas bond as well."""
    worth = []
    for seed in (1, 2, 3):  # one run alone is off by up to 0.1 bits
        site = SITES["two states"]
        e = weigh(evolve(site, model=evolve(site.model, seed=seed)))
        path = next(w for w in e.worths if (w.option.bond, w.option.test) == ("w", P))
        worth.append(path.bits - path.own.bits)
    assert statistics.fmean(worth) > 0.5
