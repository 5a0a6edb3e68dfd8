"""All bonds as one network: what each bond's own readings say, what all readings together say, and what to measure next."""

from __future__ import annotations

from attrs import frozen
from starlette.requests import Request
from starlette.responses import Response

from ...assess.site import undecided
from ...evidence.bond import HYPOTHESES, Evidence
from ...evidence.graph.model import POINT_MARK
from ...evidence.network.model import QUADRATURE, BondWeighed, SiteEvidence, SiteWorth, StrayLink
from ...evidence.network.words import alike_words, misfit_words, ohm, percent, seen, site_constants, stray_words
from ...gates.shut import Gate
from ...gates.steps import closed, gates
from ...outcomes.assessment import Assessment, Next
from ...site.events import CONDUCTOR, PATH, TOGETHER, Off
from ...site.installation import MET
from ..address import part_of_address
from ..forms import Typed
from ..render import see_other
from ..words import say
from ..work import Opened, plain_body
from .bonds import SLUG_OF, link_of, link_of_next
from .common import base, corrected, form_of, judged, opened, show, uid_of, write

SHOWN = 3  # readings to take next that are listed at once; the rest stands behind a fold
SECONDS_EACH = 0.5  # of drawing, for each bond, on a machine of this decade


@frozen
class Share:
    """One hypothesis: its weight, in words, and where its piece of the bar begins and how long it is [%]."""

    name: str
    said: str
    start: str
    width: str


@frozen
class Side:
    """What one set of readings says of a bond."""

    verdict: str
    named: str
    shares: tuple[Share, ...]


@frozen
class Weighed:
    """One bond in both lights. ``error``: standard errors in words; empty where nothing was drawn."""

    title: str
    link: str
    alone: Side
    together: Side
    moved: bool
    withheld: bool
    error: str


@frozen
class Option:
    """One reading that could be taken, with what it is worth for the whole visit [bits] and for its own bond."""

    what: str
    title: str
    link: str
    bits: str
    proves: str
    disproves: str


@frozen
class Ahead:
    """The one next reading for the whole visit. ``shut``: gates that are closed before it."""

    next: Next
    title: str
    link: str
    shut: tuple[Gate, ...]
    bits: str


def ahead(found: Opened, a: Assessment) -> Ahead | None:
    """The reading that tells most for the whole visit, with the gates before it; None when there is none."""
    e, following = a.site_evidence, a.site_next
    if e is None or e.next is None or following is None:
        return None
    option, own = e.next.option, e.of(e.next.option.bond)
    bits = f"{e.next.bits:.2f}"
    if own.circuit:
        return Ahead(following, _title(a, own), _link(found, own), (), bits)
    after = a.visit.events[-1].seq + 1 if a.visit.events else 1
    step = Off(seq=after, what=option.bond)
    shut = () if option.test == TOGETHER else closed(gates(a.visit, step, a.alarms))
    return Ahead(following, _title(a, own), link_of_next(found, option.bond, following), shut, bits)


def _title(a: Assessment, b: BondWeighed) -> str:
    """What a bond or a protective conductor is called on a line of its own."""
    if b.circuit:
        return b.said[:1].upper() + b.said[1:]
    return next(x.part.title for x in a.bonds if x.bond.id == b.bond)


def _link(found: Opened, b: BondWeighed) -> str:
    """Where its readings are."""
    return f"{base(found)}/circuits/{part_of_address(b.circuit)}" if b.circuit else link_of(found, b.bond)


def why_not(a: Assessment) -> str:
    """Name of the sentence that says why the network was not worked out; the order is that of the judging."""
    if not a.bonds:
        return "network.no_bonds"
    if not _can_ask(a):
        return "network.one_bond"
    if not any(r.used for b in a.bonds for r in b.readings):
        return "network.nothing_read"
    return "network.not_tied" if undecided(a.bonds) else "network.nothing_open"


def _can_ask(a: Assessment) -> bool:
    """Whether there is anything to weigh together: two bonds, or a bond and known metal that may lead to a circuit."""
    return len(a.bonds) > 1 or bool(a.bonds and a.visit.site.links)


async def network_page(request: Request) -> Response:
    """GET all bonds as one network; ``?weigh=yes`` works it out where the judging did not, for this look alone."""
    return _network(request, Typed())


def _network(request: Request, typed: Typed) -> Response:
    found = opened(request)
    a = judged(found)
    looked = a.site_evidence is None and request.query_params.get("weigh") == "yes" and _can_ask(a)
    if looked:
        found = opened(request, whole_site=True)
        a = judged(found)
    e = a.site_evidence
    values: dict[str, object] = {"e": e, "looked": looked, "asked": a.visit.choices.whole_site}
    if e is None:
        values |= {
            "why_not": say(why_not(a)),
            "can_ask": _can_ask(a),
            "seconds": max(2, round(SECONDS_EACH * len(a.bonds))),
        }
    else:
        values |= _values(found, a, e)
    return show(request, found, "network.html", "network", typed, **values)


def _values(found: Opened, a: Assessment, e: SiteEvidence) -> dict[str, object]:
    titles = {b.part.id: b.part.title for b in a.bonds}
    parts = {name: f"the {title}" for name, title in titles.items()}
    parts |= {n: n.replace(POINT_MARK, " at ") for s in e.strays for n in (s.a, s.b) if POINT_MARK in n}
    options = [_option(found, a, e.of(w.option.bond), w) for w in e.worths]
    return {
        "bonds": [_weighed(found, a, b) for b in e.bonds],
        "sampled": e.method != QUADRATURE,
        "error": f"{e.error:.2f}",
        "strays": [stray_words(s, parts) for s in e.strays if seen(s)],
        "links": [_metal(s, titles) for s in e.strays],
        "misfits": [(misfit_words(m, e.of(m.bond).said), _link(found, e.of(m.bond))) for m in e.misfits],
        "alike": [alike_words(x, e.of(x.bond).said) for x in e.alike],
        "ahead": ahead(found, a),
        "options": options[:SHOWN],
        "more": options[SHOWN:],
        "constants": site_constants(e),
        "signed": bool(a.visit.paperwork.signs),
    }


def _weighed(found: Opened, a: Assessment, b: BondWeighed) -> Weighed:
    error = ", ".join(f"{name} ± {value:.2f}" for name, value in b.error.items() if value)
    return Weighed(_title(a, b), _link(found, b), _side(b.alone), _side(b.evidence), b.moved, b.withheld, error)


def _side(e: Evidence) -> Side:
    found, start = [], 0.0
    for name in HYPOTHESES:
        share = e.posterior[name]
        found.append(Share(name, percent(share), f"{100 * start:.2f}%", f"{100 * share:.2f}%"))
        start += share
    return Side(e.verdict, e.named, tuple(found))


def _metal(s: StrayLink, titles: dict[str, str]) -> dict[str, str]:
    """A row of the table of metal that may be there: between what, how likely, and of what resistance."""
    ends = (say("network.met") if n == MET else titles.get(n, n.replace(POINT_MARK, " at ")) for n in (s.a, s.b))
    band = f"{ohm(s.band.low)} – {ohm(s.band.high)} Ω" if s.band else "–"
    if s.known:
        return {"between": " – ".join(ends), "words": say("network.entered", link=s.known, band=band)}
    return {"between": " – ".join(ends), "words": say("network.present", chance=percent(s.present), band=band)}


def _option(found: Opened, a: Assessment, own: BondWeighed, w: SiteWorth) -> Option:
    test = w.option.test
    what = say({CONDUCTOR: "test.conductor", PATH: "test.path", TOGETHER: "test.together"}[test])
    link = _link(found, own) if own.circuit else f"{_link(found, own)}/{SLUG_OF[test]}"
    return Option(
        what, _title(a, own), link, f"{w.bits:.2f}", f"{100 * w.own.proves:.0f} %", f"{100 * w.own.disproves:.0f} %"
    )


async def network_post(request: Request) -> Response:
    """POST whether the network is worked out always, so that papers print it: a choice kept in the visit's heading."""
    found = opened(request)
    here = f"{base(found)}/network"
    form, _ = await form_of(request)
    judged(found)
    heading, do = found.single("visit"), form.get("do", "")
    if heading is None or do not in ("keep", "let go") or any(e.id == uid_of(form) for e in found.kept.events):
        return see_other(here)
    before = plain_body(heading)
    body = {k: v for k, v in before.items() if k != "whole_site"} | ({"whole_site": True} if do == "keep" else {})
    if body == before:
        return see_other(here)
    reason = say("network.kept" if do == "keep" else "network.let_go")
    refused = write(request, found, form, [corrected(heading, body, reason)])
    return _network(request, refused) if refused else see_other(here)
