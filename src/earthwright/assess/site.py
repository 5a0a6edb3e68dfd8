"""The whole network of a visit weighed at once, and what it adds to the bonds judged one by one."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from ..base import limits
from ..base.errors import Finding
from ..evidence.bond import DISPROVED, NOT_SHOWN, PROVED, Copper, Model
from ..evidence.graph.model import LINK
from ..evidence.network import Option, SiteBond, SiteData, SiteEvidence, SiteLink, SiteModel, SiteReading, weigh
from ..evidence.network.model import BondWeighed
from ..evidence.network.words import percent
from ..evidence.worth import Worth
from ..gates.shut import CLAMP, DANGER, ISOLATION, OWNER, Shut
from ..gates.steps import closed as not_passed
from ..gates.steps import gates
from ..outcomes.assessment import BondJudged, Next, ReadingJudged
from ..outcomes.circuits import Alarm, BoardJudged
from ..report import words
from ..site.events import CONDUCTOR, PATH, TOGETHER, Off, Reading
from ..site.ledger import FAR_END, missing_stages, state_now
from ..site.repairs import repairs_of
from ..site.visit import Visit
from . import site_cpcs
from .bond import ASKABLE, _display
from .earth import Earth
from .next import TAKE
from .reading import agree, observed_of
from .rulings import Rulings
from .site_states import parted

LEAST_OHM = 1e-3  # of a known link: below this its resistance is nothing beside any bond


@lru_cache(maxsize=16)
def _weighed(data: SiteData, options: tuple[Option, ...]) -> SiteEvidence:
    """Kept, because a screen asks again after every entry and most entries change nothing here."""
    return weigh(data, options)


def site_evidence(
    visit: Visit,
    bonds: Sequence[BondJudged],
    rulings: Rulings,
    model: Model,
    alarms: Sequence[Alarm] = (),
    *,
    earth: Earth,
    boards: Sequence[BoardJudged] = (),
    asked: bool | None = None,
) -> SiteEvidence | None:
    """All readings of a visit weighed as one network; None when it was not worked out.

    earth, boards  the earth network of the visit, and its circuits as judged by their own readings
    asked  True: always; False: never; None: when a known link or the state of a reading ties the bonds together and a
    bond is still undecided. Without such a tie the metal between the parts is known so little that no verdict moves.
    """
    data = _wanted(visit, bonds, rulings, model, earth, boards, asked)
    if data is None or _too_many(data):
        return None
    return _weighed(data, options(visit, bonds, alarms, data))


def left_apart(
    visit: Visit,
    bonds: Sequence[BondJudged],
    rulings: Rulings,
    model: Model,
    *,
    earth: Earth,
    boards: Sequence[BoardJudged] = (),
    asked: bool | None = None,
) -> list[Finding]:
    """That the network of a visit is too large to be weighed as one, where :func:`site_evidence` would have weighed it."""
    data = _wanted(visit, bonds, rulings, model, earth, boards, asked)
    if data is None or not (why := _too_many(data)):
        return []
    return [
        Finding.of(
            "site.too_many",
            "site",
            "Weighed only so far: each bond by its own readings. All of them together were not weighed as one network.",
            expected=why,
            found=f"{len(data.bonds)} bonds and {len(_places(data))} places that hang together",
            do="Read each bond with its MET end off: the conductor alone needs no other bond to be judged.",
        )
    ]


def _places(data: SiteData) -> set[str]:
    return {b.part for b in data.bonds} | {end for link in data.links for end in (link.a, link.b)}


def _too_many(data: SiteData) -> str:
    """Why a network is not weighed at all; empty when it is. A part of it would be judged as if the rest were not there."""
    counted = ((limits.TOGETHER, len(data.bonds)), (limits.PLACES_TOGETHER, max(len(_places(data)), len(data.links))))
    return next((bound.said() for bound, found in counted if bound.refuses(found)), "")


def _wanted(
    visit: Visit,
    bonds: Sequence[BondJudged],
    rulings: Rulings,
    model: Model,
    earth: Earth,
    boards: Sequence[BoardJudged],
    asked: bool | None,
) -> SiteData | None:
    """What is to be weighed as one network; None when nothing is."""
    if asked is False or not bonds:
        return None
    open_ones = undecided(bonds)
    if asked is None and not (open_ones or visit.site.links):
        return None
    data = site_data(visit, bonds, rulings, model, earth)
    if asked is None and not (tied(data) and (open_ones or _cpc_undecided(data, boards))):
        return None
    return data


def tied(data: SiteData) -> bool:
    """Whether readings of more than one bond hang together in a known way: a link, or something else that was off."""
    read = {r.bond for r in data.readings} - data.gone
    kept = [b for b in data.bonds if b.id not in data.gone]
    linked = any(link.a != "MET" and link.b != "MET" for link in data.links)
    return (len(read) > 1 and linked) or (len(kept) > 1 and any(r.off - _states_of(data) for r in data.readings))


def _states_of(data: SiteData) -> frozenset[str]:
    """Names that are off in a reading only because another state of the same conductor was there."""
    return data.gone | {name.partition(" (found")[0] for name in data.gone}


def undecided(bonds: Sequence[BondJudged]) -> bool:
    """Whether a bond that has been read is not proved by its own readings: what is wrong with it may be told by others."""
    return any(b.verdict != PROVED and any(x.used for x in b.readings) for b in bonds)


def _cpc_undecided(data: SiteData, boards: Sequence[BoardJudged]) -> bool:
    """Whether a protective conductor that is tied to the bonds and was read is not decided by its own readings."""
    read = {b.circuit for b in data.bonds if b.circuit and any(r.bond == b.id for r in data.readings)}
    judged = {c.circuit.id: c.cpc for board in boards for c in board.circuits}
    return any((cpc := judged.get(name)) is None or cpc.verdict == NOT_SHOWN for name in read)


def site_data(visit: Visit, bonds: Sequence[BondJudged], rulings: Rulings, model: Model, earth: Earth) -> SiteData:
    """Bonds, tied protective conductors, links and the readings that count, each with what else was off at the time.

    Repeats in one state that agree count once. A link of unknown resistance has the range of any path.
    """
    found, withheld = [], set()
    readings: list[SiteReading] = []
    things = {b.bond.id for b in bonds} | {x.id for x in visit.site.links}
    things |= {f"{c.id}:cpc" for c in visit.site.circuits} if visit.site.links else set()
    things |= {f"{b.id}:earth" for b in visit.site.boards} if visit.site.links else set()
    cpcs = site_cpcs.tied(visit, earth, rulings, frozenset(things))
    for b in bonds:
        r = rulings.mohm_per_m(b.bond, visit.temp_c)
        assert r is not None  # a bond without it is not among those judged
        found.append(SiteBond(b.bond.id, b.bond.part, Copper(r, b.bond.length_m, b.bond.length_tol_m), b.part.title))
        if b.contradicted or any(f.family == "input.refused" for f in b.findings):
            withheld.add(b.bond.id)
        for some in (*(f.readings for f in b.found), b.readings):  # repeats only of what was there at the time
            mine: list[SiteReading] = []
            for x in some:
                one = _reading(x, things, cpcs.off(x.state.off))
                if one is not None:
                    mine = [o for o in mine if not _repeats(o, one)]
                    mine.append(one)
            readings += mine
    found, readings = [*found, *cpcs.bonds], [*readings, *cpcs.readings]
    links = [*cpcs.links]
    for piece in earth.network.pieces:
        if piece.kind != LINK:
            continue
        low = max(LEAST_OHM, piece.low_ohm if piece.known else model.path_ohm[0])
        high = piece.high_ohm if piece.known else model.path_ohm[1]
        name = piece.of if all(piece.of != b.id for b in found) else f"{piece.of} (link)"
        here, there = (site_cpcs.node_of(visit, earth, end) for end in (piece.a, piece.b))
        if here != there:
            links.append(SiteLink(name, here, there, low, max(1.01 * low, high)))
    data = SiteData(tuple(found), tuple(readings), tuple(links), SiteModel(bond=model), frozenset(withheld), cpcs.left)
    place = {e.id: e.seq for e in visit.events if isinstance(e, Reading)}
    return parted(data, repairs_of(visit.events), place.__getitem__, cpcs.off_by)


def _reading(x: ReadingJudged, things: set[str], also: frozenset[str]) -> SiteReading | None:
    if not x.used or x.reading.test not in ASKABLE or x.reading.shown is None:
        return None
    observed = observed_of(x.corrected, x.reading.test)
    off = {name.removesuffix(FAR_END) for name in x.state.off} & things - {x.reading.of}
    return SiteReading(x.reading.id, x.reading.of, observed, frozenset(off) | also)


def _repeats(one: SiteReading, other: SiteReading) -> bool:
    alike = (one.observed.test, one.off) == (other.observed.test, other.off)
    return alike and agree(one.observed, other.observed)


# ---- what may be measured next ----


def options(
    visit: Visit, bonds: Sequence[BondJudged], alarms: Sequence[Alarm] = (), data: SiteData | None = None
) -> tuple[Option, ...]:
    """The readings that may be taken, with the terminals to be moved for each.

    data  everything that is weighed, protective conductors among it: of these R2 to the point, and the conductor alone, unless
          it was read like that already with nothing else off: once more in the same way tells a person nothing new

    A bond that may carry current, that belongs to others, or that may be all that holds a voltage down is never offered
    as a thing to open; what is off already needs no opening, but everything else goes back first.
    """
    ids = {b.bond.id for b in bonds}
    off = {name.removesuffix(FAR_END) for name in state_now(visit.events).off} & ids
    found = []
    for b in bonds:
        display, others = _display(b.readings), len(off - {b.bond.id})
        is_off = b.bond.id in off
        found.append(Option(b.bond.id, TOGETHER, display, others + is_off))
        if is_off or not barred(visit, b, alarms):
            found += [Option(b.bond.id, test, display, others + (not is_off)) for test in (PATH, CONDUCTOR)]
    if data is None:
        return tuple(found)
    read = {(r.bond, r.observed.test) for r in data.readings if not r.off - data.gone}
    found = [o for o in found if (o.bond, o.test) not in read or o.test == TOGETHER]
    for cpc in data.bonds:
        if cpc.circuit and cpc.id not in data.gone:
            some = [Option(cpc.id, TOGETHER, opens=len(off))]
            if not any(a.blocks for a in alarms):
                some.append(Option(cpc.id, CONDUCTOR, opens=len(off) + 1))
            found += [o for o in some if (o.bond, o.test) not in read]
    return tuple(found)


def barred(visit: Visit, bond: BondJudged, alarms: Sequence[Alarm] = ()) -> tuple[str, ...]:
    """Why a bond is not to be opened at all: danger, owner, current. Gates that only ask for a step first do not bar."""
    step = Off(seq=len(visit.events) + 1, what=bond.bond.id)
    shut = not_passed(gates(visit, step, alarms))
    return tuple(g.why for g in shut if g.cause is Shut.CARRIES or g.name in (DANGER, OWNER))


def site_next(
    visit: Visit, bonds: Sequence[BondJudged], found: SiteEvidence | None, alarms: Sequence[Alarm] = ()
) -> Next | None:
    """The one reading for the whole visit that tells most, with what comes before it; none while there is danger."""
    if found is None or found.next is None or any(a.blocks for a in alarms):
        return None
    option = found.next.option
    own = found.of(option.bond)
    if own.circuit:
        return _next_cpc(visit, own, option, found.next.own)
    bond = next(b for b in bonds if b.bond.id == option.bond)
    take = TAKE[option.test].format(part=bond.part.title)
    if option.test == PATH and bond.bond.id not in state_now(visit.events).off:
        take = f"Take the MET end off and measure from the MET to bare metal of the {bond.part.title}"
    if option.test == TOGETHER:
        return Next(f"{take}.", TOGETHER, found.next.own)
    step = Off(seq=len(visit.events) + 1, what=bond.bond.id)
    closed = not_passed(gates(visit, step))
    shut = {gate.name for gate in closed}
    first = tuple(gate.instead for gate in closed if gate.instead)
    said = {ISOLATION: words.CAUTIONS_OFF[0], CLAMP: words.CAUTIONS_OFF[1]}  # a closed gate says it itself
    cautions = tuple(c for c in words.CAUTIONS_OFF if c not in {said[name] for name in shut & set(said)})
    test = CLAMP if any(gate.name == CLAMP for gate in closed) else option.test
    return Next(f"{take}.", test, found.next.own, (*first, *cautions))


def _next_cpc(visit: Visit, own: BondWeighed, option: Option, worth: Worth) -> Next:
    """R2 of a circuit, with all connected or of the free conductor alone."""
    where = own.said.removeprefix("protective conductor to ")
    if option.test == TOGETHER:
        return Next(f"Dead: with all connected, read R2 from the MET to {where} with the long lead.", TOGETHER, worth)
    first = (
        *((words.CAUTIONS_OFF[0],) if missing_stages(visit.events) else ()),
        f"Everything on {own.circuit} loses its earth while its cpc is off: put it back before anything is energised.",
    )
    do = f"Take the cpc of {own.circuit} off at its board and read R2 from its free end to {where} with the long lead."
    return Next(do, CONDUCTOR, worth, first)


# ---- what is said about it ----


def findings(found: SiteEvidence | None) -> list[Finding]:
    """What the whole network adds: readings that fit nothing, bonds that look different in its light."""
    if found is None:
        return []
    places = {b.bond: b for b in found.bonds}
    said = [
        Finding.of(
            "site.misfit",
            f"{_place(places.get(m.bond), m.bond)}, reading {m.reading}",
            f"Reading {m.reading} fits nothing that the other readings leave.",
            m.bond,
            f"digits that come up more often than once in {1.0 / m.level:,.0f} times".replace(",", " "),
            f"a chance of {m.chance:.1g}",
            "Take it again, in the state that it says.",
            "It may stand in the wrong row, an end may not have been off, or a lead or clip may have slipped.",
        )
        for m in found.misfits
    ]
    said += [f for b in found.bonds if (f := _moved(b)) is not None]
    said += [
        Finding.of(
            "site.alike",
            _place(places.get(a.bond), a.bond),
            f"No reading that may be taken can tell whether it is {a.hypotheses[0]} or {a.hypotheses[1]}.",
            a.bond,
            do="Look at the whole run, or agree with the owner that one end may be taken off.",
        )
        for a in found.alike
    ]
    return said


def _place(b: BondWeighed | None, name: str) -> str:
    return f"circuit {b.circuit}, protective conductor" if b is not None and b.circuit else f"bond {name}"


def _kind(b: BondWeighed) -> str:
    return "protective conductor" if b.circuit else "bond"


def _moved(b: BondWeighed) -> Finding | None:
    """A bond on which the whole network says something else than its own readings, beyond the error of the sampling."""
    if not b.moved or b.withheld:
        return None
    verdict = b.evidence.verdict
    if verdict == DISPROVED:
        return Finding.of(
            "site.disproved",
            _place(b, b.bond),
            f"With all readings of the site together the {_kind(b)} is {b.evidence.named}; its own readings alone say {b.alone.verdict}.",
            b.bond,
            found=f"whole {percent(b.evidence.posterior['whole'])}",
            do=f"Measure this {_kind(b)} with one end off before anything is said about it.",
        )
    if verdict == PROVED:
        return Finding.of(
            "site.proved",
            _place(b, b.bond),
            f"The other readings of the site prove the {_kind(b)} whole; its own readings alone say {b.alone.verdict}.",
            b.bond,
            found=f"whole {percent(b.evidence.posterior['whole'])}",
        )
    if b.alone.verdict == PROVED and b.weaker:
        return Finding.of(
            "site.weaker",
            _place(b, b.bond),
            f"Its own readings prove the {_kind(b)}; with the metal that may join the parts, all readings together fall short of that.",
            b.bond,
            f"a hundred times likelier whole than not (log10 {b.evidence.model.decide:g})",
            f"log10 {min(b.evidence.whole_over_open, b.evidence.whole_over_impaired):.2f}",
            "One more reading of the conductor alone would settle it.",
        )
    return None
