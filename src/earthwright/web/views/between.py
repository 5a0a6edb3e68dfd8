"""Any two places of the earth network: what a test between them should show, and which breaks it could show."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlencode

from attrs import frozen
from starlette.requests import Request
from starlette.responses import Response

from ...assess.earth import Earth
from ...assess.parallels import paths_read, reach_as_read
from ...assess.rulings import Rulings
from ...base.display import Display
from ...evidence.graph import Break, EarthNetwork, Reach
from ...evidence.graph.model import BOARD, CPC, PART, POINT, TERMINAL
from ...evidence.graph.words import losses_words, piece_said, reach_words, shown_words, then_words
from ...outcomes.assessment import Assessment
from ...site.installation import MET
from ...site.ledger import state_now
from ..forms import Typed
from ..words import say
from .common import base, judged, opened, show

KINDS = {
    TERMINAL: "between.kind_terminal",
    PART: "between.kind_part",
    BOARD: "between.kind_board",
    POINT: "between.kind_point",
}


@frozen
class Way:
    """One conductor or link that carries current of the test.

    name, then, shows  in words: what it is, what the display would show without it, and whether that tells
    width              of its bar, its share of the current [%];  off, link  the end to take off and the page with it off
    """

    name: str
    share: str
    width: str
    then: str
    shows: bool | None
    off: str
    link: str


async def between_page(request: Request) -> Response:
    """GET the question and, when two places are given, its answer; the address holds both, so it can be kept."""
    found = opened(request)
    a = judged(found)
    earth = Earth.of(a.visit, Rulings(a.visit))
    network = earth.network
    start, end = (request.query_params.get(key, "")[:120] for key in ("a", "b"))
    now = state_now(a.visit.events).off & network.ends
    asked = request.query_params.getlist("off")
    off = frozenset(x for x in asked if x in network.ends) if "a" in request.query_params else now
    errors: dict[str, tuple[str, ...]] = {}
    for key, name in (("a", start), ("b", end)):
        if name and not network.has(name):
            errors[key] = (say("between.no_place", place=name),)
    if start and start == end:
        errors["b"] = (say("between.same"),)
    typed = Typed({"a": start or MET, "b": end, "off": "\n".join(sorted(off))}, errors)
    here = f"{base(found)}/between"
    display = _display(a)
    asked_for = not errors and bool(start and end)
    reach = reach_as_read(earth, off, start, end, display, paths_read(a, earth)) if asked_for else None
    return show(
        request,
        found,
        "between.html",
        "map",
        typed,
        places=_places(network),
        offs=_offs(network, off, reach),
        reach=reach,
        answer=shown_words(reach, display) if reach else "",
        lines=reach_words(reach, display, listed=True)[1:] if reach else (),
        ways=_ways(network, reach, display, off, here) if reach else (),
        without=losses_words(network, (), off) if off else "",
        back=[(_end_words(network, x), _address(here, start, end, off - {x})) for x in sorted(off)] if reach else (),
        off_words=", ".join(_end_words(network, x) for x in sorted(off)),
    )


def _display(a: Assessment) -> Display:
    """The continuity display of the visit's first instrument; the usual one when none is entered."""
    if not a.visit.instruments:
        return Display()
    limits = a.visit.instruments[0].limits("continuity")
    return Display(limits.pct, limits.digits, limits.step, limits.top)


def _places(network: EarthNetwork) -> list[tuple[str, list[tuple[str, str]]]]:
    """Every place by kind, with its name in words."""
    groups = []
    for kind, title in KINDS.items():
        some = [(n.id, n.title if kind != BOARD else f"{n.title} ({n.id})") for n in network.nodes if n.kind == kind]
        if kind == POINT:
            some = [(n.id, f"{n.of}: {n.title}") for n in network.nodes if n.kind == kind]
        if some:
            groups.append((say(title), some))
    return groups


def _offs(network: EarthNetwork, off: Iterable[str], reach: Reach | None) -> list[tuple[str, str]]:
    """The ends that may be ticked as off: bonds and metal, what is off, and what carries the test; not all of 200 circuits."""
    wanted = dict.fromkeys(
        name for p in network.pieces if p.kind != CPC for name in sorted(p.off_by) if "@" not in name
    )
    wanted |= dict.fromkeys(off)
    if reach is not None:
        wanted |= dict.fromkeys(name for p in reach.pieces for name in sorted(p.off_by) if "@" not in name)
    return [(name, _end_words(network, name)) for name in wanted]


def _end_words(network: EarthNetwork, name: str) -> str:
    """An end in words: *the earth bar of db1*, *the bond gas*; its own name where it takes more than one thing out."""
    thing = name.partition(":")[0]
    if name.endswith(":earth"):
        return say("between.end_earth", board=thing)
    taken = {(p.kind, p.of) for p in network.pieces if name in p.off_by}
    return piece_said(*taken.pop()) if len(taken) == 1 else name


def _ways(network: EarthNetwork, reach: Reach, display: Display, off: frozenset[str], here: str) -> list[Way]:
    found = []
    for x in reach.breaks:
        end = _end(network, x)
        link = _address(here, reach.a.id, reach.b.id, off | {end}) if end else ""
        then = say("between.then", digits=then_words(x, display))
        name = piece_said(x.kind, x.of)
        found.append(Way(name, f"{x.share:.0%}", f"{max(1.0, 100.0 * x.share):.1f}%", then, x.shows, end, link))
    return found


def _end(network: EarthNetwork, x: Break) -> str:
    """The end that takes a conductor out; empty for metal that has none."""
    ends = sorted(e for p in network.of(x.kind, x.of) for e in p.off_by if "@" not in e)
    return ends[0] if ends else ""


def _address(here: str, a: str, b: str, off: Iterable[str]) -> str:
    return f"{here}?{urlencode([('a', a), ('b', b), *(('off', x) for x in sorted(off))])}"
