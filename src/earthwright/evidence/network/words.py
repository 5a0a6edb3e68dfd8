"""The paragraph on the whole network."""

from __future__ import annotations

import math
from collections.abc import Mapping

from ...site.events import CONDUCTOR, PATH, TOGETHER
from ...site.installation import MET
from ..bond import DISPROVED, IMPAIRED, OPEN, PROVED, WHOLE
from .model import QUADRATURE, Alike, BondWeighed, Misfit, SiteBond, SiteData, SiteEvidence, StrayLink

SURE = 0.9  # a stray link is spoken of from this chance on
NARROW = 100.0  # and when its band spans no more than this
# What the batches do not tell of themselves: where the weight sits in few draws their spread is too narrow.
CAREFUL = "The error is told from the spread of the batches; in hard cases it can be too small by half or more."
MEASURE = {
    CONDUCTOR: "the {bond} by itself, {end} off",
    PATH: "the path without the {bond}, {end} off",
    TOGETHER: "MET to {part} with all connected",
}


def site_words(e: SiteEvidence, data: SiteData) -> str:
    """What the whole network says: each bond, the metal between, what does not fit, what cannot be told, what next."""
    names = {b.id: b for b in data.bonds}
    parts = {b.part: b.leads_to for b in data.bonds}
    count, cpcs = len(data.readings), sum(bool(b.circuit) for b in data.bonds)
    on = _many(len(data.bonds) - cpcs, "bond") + (f" and {_many(cpcs, 'protective conductor')}" if cpcs else "")
    if e.method == QUADRATURE:
        head = f"{_many(count, 'reading')} on {on}; no metal but the MET joins them, so each stands alone."
    else:
        head = (
            f"{_many(count, 'reading')} on {on}, weighed as one network with unknown metal between the "
            f"parts ({e.rounds} rounds drawn; standard error of a Bayes factor at most {e.error:.2f} of a power of ten)."
        )
    said = [head, *(_bond(b) for b in e.bonds)]
    said += [stray_words(s, parts) for s in e.strays if seen(s)]
    said += [misfit_words(m, names[m.bond].said) for m in e.misfits]
    said += [alike_words(a, names[a.bond].said) for a in e.alike]
    if data.left_out:
        said.append(f"Left out, because there are too many: the protective conductors of {', '.join(data.left_out)}.")
    said.append(_next(e, names))
    return " ".join(said)


def seen(s: StrayLink) -> bool:
    """Whether other metal that nobody entered is spoken of: very likely there, its resistance roughly known."""
    return not s.known and s.present >= SURE and s.band is not None and s.band.high <= NARROW * s.band.low


def stray_words(s: StrayLink, parts: Mapping[str, str]) -> str:
    """Other metal between two nodes. ``parts``: what to call them, by id."""
    a, b = parts.get(s.a, s.a), "the MET" if s.b == MET else parts.get(s.b, s.b)
    assert s.band is not None  # only links that were seen are spoken of
    return f"Other metal joins {a} and {b}: {ohm(s.band.low)} to {ohm(s.band.high)} Ω."


def misfit_words(m: Misfit, name: str) -> str:
    """A reading that fits nothing; innocent reasons first. ``name``: what it was read on."""
    return (
        f"Reading {m.reading} on the {name} fits nothing: were it taken as stated, digits as unlikely would come up "
        f"{seldom(m.chance)}, all other readings given. Innocent reasons first: wrong row, an end that was not off, a lead "
        "or clip; take it again."
    )


def alike_words(a: Alike, name: str) -> str:
    """Two hypotheses that nothing can part. ``name``: the conductor."""
    return f"No reading that may be taken can tell whether the {name} is {a.hypotheses[0]} or {a.hypotheses[1]}."


def site_constants(e: SiteEvidence) -> str:
    """What the network was worked out with: the seed, how much was drawn, the error, the choices behind it."""
    m = e.model
    chances = (
        f"stray links to other parts {m.between:g} on average; a reading fits nothing below a chance of {m.level:g} divided "
        f"by the number of readings; two hypotheses count as alike below {m.alike:g} bits, from a weight of {m.weight:g} on"
    )
    if e.method == QUADRATURE:
        return f"Constants of the network: {e.method}, nothing was drawn, so there is no error of sampling; {chances}."
    draws, followed = m.effort(len(e.bonds))
    times = "once" if m.rounds == 1 else f"{m.rounds} times"
    return (
        f"Constants of the network: seed {m.seed}; {m.batches} batches of {draws} networks, {followed} of each gone on with "
        f"{times}; {e.rounds} rounds kept; largest standard error of a log10 Bayes factor near a verdict {e.error:.2f}, and a "
        f"verdict stands two of them the other way; {chances}. {CAREFUL}"
    )


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _bond(b: BondWeighed) -> str:
    p = b.evidence.posterior
    shares = f"whole {percent(p[WHOLE])}, impaired {percent(p[IMPAIRED])}, open {percent(p[OPEN])}"
    verdict = b.evidence.verdict
    if verdict == DISPROVED:
        verdict = f"disproved: {b.evidence.named}"
    text = f"{b.said[:1].upper()}{b.said[1:]}: {shares}; {verdict}."
    if b.withheld:
        return f"{text[:-1]}, because an entry of it could not be read, or it was read open with no repair noted."
    if not b.moved:
        return text
    alone = b.alone.verdict
    return f"{text[:-1]}, where its own readings alone say {alone}{': ' + b.alone.named if b.alone.named else ''}."


def percent(share: float) -> str:
    """A share with three figures; near the ends it says no more than that."""
    if share > 0.999:
        return "over 99.9 %"
    if share < 0.001:
        return "under 0.1 %"
    return f"{100.0 * share:.3g} %"


def seldom(chance: float) -> str:
    """How often something comes up, as a person says it."""
    return (
        f"once in {1.0 / chance:,.0f} times".replace(",", " ") if chance > 1e-6 else "less than once in a million times"
    )


def ohm(value: float) -> str:
    """A resistance [Ω] with two figures that mean something, never as a power of ten."""
    return f"{value:.0f}" if value >= 10.0 else f"{value:.{1 - math.floor(math.log10(value))}f}"


def _next(e: SiteEvidence, names: dict[str, SiteBond]) -> str:
    if e.next is None:
        if all(b.evidence.verdict == PROVED for b in e.bonds):
            return "No further reading of continuity would tell more."
        return "No reading that may be taken would tell much more."
    option = e.next.option
    own = names[option.bond]
    told = MEASURE[option.test].format(part=own.leads_to, bond=own.said, end=own.near_end)
    return f"Most would be told by {told} ({e.next.bits:.2f} bits)."
