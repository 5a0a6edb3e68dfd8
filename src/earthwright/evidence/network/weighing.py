"""The evidence of a whole site: every bond in the light of all readings, the stray links, and what to do next."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import evolve

from ...base.quantity import Band
from ...site.events import CONDUCTOR, PATH, TOGETHER
from ...site.installation import MET
from ..bond import (
    DISPROVED,
    HYPOTHESES,
    IMPAIRED,
    NOT_SHOWN,
    OPEN,
    PROVED,
    WHOLE,
    BondEvidence,
    Evidence,
    decide,
    doubted,
    in_doubt,
)
from . import ask
from .model import (
    QUADRATURE,
    SAMPLED,
    BondWeighed,
    Misfit,
    Option,
    SiteData,
    SiteEvidence,
    SiteModel,
    StrayLink,
)
from .network import GROUND, Net
from .sampler import Batch, run
from .shared import shares
from .words import site_words


def weigh(data: SiteData, options: Sequence[Option] | None = None) -> SiteEvidence:
    """Weigh all readings of a site together.

    Where nothing joins the bonds, or there is but one, each is the quadrature of one bond, without error. Otherwise
    networks are drawn with a fixed seed and the error of that is stated; the verdict allows two standard errors.

    options  readings that could be taken next; default: all three at every bond, one end moved for two of them
    Raises SiteError for a site that contradicts itself. Range: up to a dozen bonds. Source: method of this project,
    evidence. Checked with the single-bond quadrature, with brute-force enumeration of coarse sites and with plain
    importance sampling from the priors.
    """
    net = Net(data)
    options = everything(data) if options is None else options
    options = [o for o in options if o.bond not in data.gone]
    alone = {
        b.id: BondEvidence(b.copper, [r.observed for r in data.readings if r.bond == b.id], data.model.bond)
        for b in data.bonds
    }
    if separable(net):
        bonds = tuple(BondWeighed(name, e.result(), e.result()) for name, e in alone.items())
        bonds = _withhold(bonds, data)
        return _answer(data, ask.Asked(dict(alone)), bonds, options, (), (), QUADRATURE, 0)
    batches = run(net)
    bonds = tuple(_weighed(net, i, batches, alone[name]) for i, name in enumerate(net.bond_ids))
    bonds = _withhold(bonds, data)
    strays = tuple(_stray(net, e, batches) for e in range(len(net.strays)))
    stated = [_mean(batches, [b.tally.stated[k] for b in batches]) for k in range(len(data.readings))]
    misfits = ask.misfits(data, stated)
    rounds = sum(len(b.tally.weights[0]) for b in batches)
    return _answer(data, ask.Asked.of(net, batches), bonds, options, strays, misfits, SAMPLED, rounds)


def _withhold(bonds: tuple[BondWeighed, ...], data: SiteData) -> tuple[BondWeighed, ...]:
    """Named, and without a verdict on a bond of which an entry could not be read: it may say the opposite."""
    named = (evolve(b, said=own.said, circuit=own.circuit) for b, own in zip(bonds, data.bonds, strict=True))
    return tuple(
        evolve(b, evidence=evolve(b.evidence, verdict=NOT_SHOWN, named=""), withheld=True)
        if b.bond in data.withheld
        else b
        for b in named
    )


def everything(data: SiteData) -> tuple[Option, ...]:
    """All three readings at every bond."""
    return tuple(
        Option(b.id, test, opens=0 if test == TOGETHER else 1)
        for b in data.bonds
        for test in (TOGETHER, PATH, CONDUCTOR)
    )


def separable(net: Net) -> bool:
    """Whether no metal but the MET can join any two bonds, so that each may be weighed by itself."""
    return len(set(net.at)) == len(net.at) and len(net.strays) == len(net.at)


def _mean(batches: Sequence[Batch], values: Sequence[Sequence[float]]) -> float:
    return math.fsum(w * math.fsum(v) / len(v) for w, v in zip(shares(batches), values, strict=True))


def _weighed(net: Net, i: int, batches: Sequence[Batch], alone: BondEvidence) -> BondWeighed:
    weight = shares(batches)
    by_batch = [
        [math.fsum(w[h] for w in b.tally.weights[i]) / len(b.tally.weights[i]) for h in range(3)] for b in batches
    ]
    mean = [math.fsum(w * p[h] for w, p in zip(weight, by_batch, strict=True)) for h in range(3)]
    error = {}
    for h, name in ((1, IMPAIRED), (2, OPEN)):
        off = [w * (p[0] / mean[0] - p[h] / mean[h]) for w, p in zip(weight, by_batch, strict=True)]
        count = len(batches)
        error[name] = math.sqrt(math.fsum(x * x for x in off) * count / max(1, count - 1)) / math.log(10.0)
    logs = {name: math.log10(max(p, 1e-300)) for name, p in zip(HYPOTHESES, mean, strict=True)}
    verdict, named = cautious(logs, error, net.model.bond.decide)
    evidence = Evidence(logs, verdict, named, dict(zip(HYPOTHESES, mean, strict=True)), net.model.bond)
    return BondWeighed(net.bond_ids[i], _in_doubt(net, evidence, alone, error), alone.result(), error)


def _in_doubt(net: Net, right: Evidence, alone: BondEvidence, error: dict[str, float]) -> Evidence:
    """The evidence with the doubt about leads that nobody shorted: one unknown of all that was read with them.

    Were it wrong, only what a bond's own readings say that no allowance could spoil would be left.
    """
    model = net.model.bond
    if not any(in_doubt(r.observed, model, net.most_ohm[r.bond]) for r in net.data.readings):
        return right
    likelihood = doubted(right.posterior, alone.rest, model.wrong_allowance)
    total = math.fsum(likelihood.values())
    logs = {h: math.log10(max(p, 1e-300)) for h, p in likelihood.items()}
    verdict, named = cautious(logs, error, model.decide)
    return Evidence(logs, verdict, named, {h: p / total for h, p in likelihood.items()}, model, right)


def cautious(logs: dict[str, float], error: dict[str, float], threshold: float) -> tuple[str, str]:
    """The verdict of one bond that also stands when each Bayes factor is two standard errors the other way."""
    lower = {h: logs[h] + (2.0 * error[h] if h != WHOLE else 0.0) for h in logs}
    upper = {h: logs[h] - (2.0 * error[h] if h != WHOLE else 0.0) for h in logs}
    if decide(lower, threshold)[0] == PROVED:
        return PROVED, ""
    if decide(upper, threshold)[0] == DISPROVED:
        return decide(logs, threshold)
    return NOT_SHOWN, ""


def _stray(net: Net, e: int, batches: Sequence[Batch]) -> StrayLink:
    stray = net.strays[e]
    ends = (net.nodes[stray.a], MET if stray.b == GROUND else net.nodes[stray.b])
    drawn = sorted(
        (r, w / len(b.tally.links[e])) for w, b in zip(shares(batches), batches, strict=True) for r in b.tally.links[e]
    )
    there = [(r, w) for r, w in drawn if math.isfinite(r)]
    present = math.fsum(w for _, w in there)
    band = None
    if there:
        edges, upto = [], 0.0
        marks = [0.025 * present, 0.975 * present]
        for r, w in there:
            upto += w
            while marks and upto >= marks[0] * (1.0 - 1e-12):
                edges.append(r)
                marks.pop(0)
        band = Band(edges[0], edges[-1], "Ω", ("95 % of what the readings leave",))
    return StrayLink(*ends, min(1.0, present), band, stray.known)


def _answer(
    data: SiteData,
    asked: ask.Asked,
    bonds: tuple[BondWeighed, ...],
    options: Sequence[Option],
    strays: tuple[StrayLink, ...],
    misfits: tuple[Misfit, ...],
    method: str,
    rounds: int,
) -> SiteEvidence:
    model: SiteModel = data.model
    bonds = tuple(b for b in bonds if b.bond not in data.gone)
    strays = tuple(s for s in strays if s.known not in data.gone)
    found = ask.worths(asked, bonds, options)
    answer = SiteEvidence(
        bonds=bonds,
        strays=strays,
        misfits=misfits,
        alike=ask.alike(asked, bonds, options, model),
        worths=found,
        next=ask.best(found, model.bond.enough_bits),
        method=method,
        rounds=rounds,
        error=max((e for b in bonds for h, e in b.error.items() if b.near(h)), default=0.0),
        model=model,
    )
    return evolve(answer, words=site_words(answer, data))
