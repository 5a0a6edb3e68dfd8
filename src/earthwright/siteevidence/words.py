"""The paragraph on the whole network."""

from __future__ import annotations

import math

from ..events import CONDUCTOR, PATH, TOGETHER
from ..evidence import DISPROVED, IMPAIRED, OPEN, PROVED, WHOLE
from ..installation import MET
from .model import QUADRATURE, BondWeighed, SiteBond, SiteData, SiteEvidence, StrayLink

SURE = 0.9  # a stray link is spoken of from this chance on
NARROW = 100.0  # and when its band spans no more than this
MEASURE = {
    CONDUCTOR: "the conductor alone of the {bond}, {end} off",
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
    said += [_stray(s, parts) for s in e.strays if not s.known and s.present >= SURE and _narrow(s)]
    said += [
        f"Reading {m.reading} on the {names[m.bond].said} fits nothing: were it taken as stated, digits as unlikely would come up "
        f"{_seldom(m.chance)}, all other readings given. Innocent reasons first: wrong row, an end that was not off, a lead "
        "or clip; take it again."
        for m in e.misfits
    ]
    said += [
        f"No reading that may be taken can tell whether the {names[a.bond].said} is {a.hypotheses[0]} or {a.hypotheses[1]}."
        for a in e.alike
    ]
    said.append(_next(e, names))
    return " ".join(said)


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _bond(b: BondWeighed) -> str:
    p = b.evidence.posterior
    shares = f"whole {_percent(p[WHOLE])}, impaired {_percent(p[IMPAIRED])}, open {_percent(p[OPEN])}"
    verdict = b.evidence.verdict
    if verdict == DISPROVED:
        verdict = f"disproved: {b.evidence.named}"
    text = f"{b.said[:1].upper()}{b.said[1:]}: {shares}; {verdict}."
    if b.withheld:
        return f"{text[:-1]}, because an entry of it could not be read."
    if not b.moved:
        return text
    alone = b.alone.verdict
    return f"{text[:-1]}, where its own readings alone say {alone}{': ' + b.alone.named if b.alone.named else ''}."


def _percent(share: float) -> str:
    if share > 0.999:
        return "over 99.9 %"
    if share < 0.001:
        return "under 0.1 %"
    return f"{100.0 * share:.3g} %"


def _seldom(chance: float) -> str:
    return (
        f"once in {1.0 / chance:,.0f} times".replace(",", " ") if chance > 1e-6 else "less than once in a million times"
    )


def _narrow(s: StrayLink) -> bool:
    return s.band is not None and s.band.high <= NARROW * s.band.low


def _stray(s: StrayLink, parts: dict[str, str]) -> str:
    a, b = parts.get(s.a, s.a), "the MET" if s.b == MET else parts.get(s.b, s.b)
    assert s.band is not None  # only links that were seen are spoken of
    return f"Other metal joins {a} and {b}: {_ohm(s.band.low)} to {_ohm(s.band.high)} Ω."


def _ohm(value: float) -> str:
    """Two figures that mean something, never as a power of ten."""
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
