"""The protective conductors that known metal ties to the bonds: they belong to the same network, so they are weighed with it."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from attrs import evolve

from ..evidence.bond import Copper
from ..evidence.graph import point_name
from ..evidence.graph.changes import CPC as CPC_MM2
from ..evidence.graph.lengths import WIRES
from ..evidence.graph.model import BOND, CPC, LINK, POINT_MARK
from ..evidence.network import SiteBond, SiteLink, SiteReading
from ..site.installation import MET, Circuit
from ..site.visit import Visit
from .circuits.cpc_readings import cpc_readings, feeders_ohm, same_end
from .circuits.limits import Case
from .circuits.readings import Taken
from .circuits.runs import TESTS, conductor_mohm_per_m, metres_to
from .earth import Earth
from .rulings import Rulings

# Conductors weighed together, bonds first and two protective conductors at least: each costs half a second of drawing. Those that
# were read come first, in the order of the links; the rest are named as left out.
TOGETHER = 8


class Tied(NamedTuple):
    """The protective conductors as bonds of the site, their readings, and known stretches between two of their points.

    off_by  by conductor: the ends of its sub-mains, any of which takes it off as well
    left    circuits that are left out, because there are too many
    """

    bonds: tuple[SiteBond, ...] = ()
    readings: tuple[SiteReading, ...] = ()
    links: tuple[SiteLink, ...] = ()
    off_by: Mapping[str, frozenset[str]] = MappingProxyType({})
    left: tuple[str, ...] = ()

    def off(self, state: Collection[str]) -> frozenset[str]:
        """The conductors that a state takes off by an end of a sub-main."""
        return frozenset(name for name, ends in self.off_by.items() if not ends.isdisjoint(state))


def node_of(visit: Visit, earth: Earth, end: str) -> str:
    """The node of the site's network for an end of a link; a board at the origin is as good as the MET."""
    node = earth.network.node(end).id
    return MET if any(b.id == node and not b.fed_by for b in visit.site.boards) else node


def tied(visit: Visit, earth: Earth, rulings: Rulings, things: frozenset[str]) -> Tied:
    """What the links of a site tie to it.

    things  ids that a state may hold. The way from the MET to a sub-board counts as part of the conductor's own length.
    """
    wanted: dict[str, tuple[Circuit, str]] = {}
    for link in visit.site.links:
        for end in (link.a, link.b):
            found = _circuit(visit, end)
            if found is not None:
                wanted.setdefault(node_of(visit, earth, end), found)
    if not wanted:
        return Tied()
    case = Case.of(visit, Taken(visit), rulings)
    bonds: dict[str, SiteBond] = {}
    off_by: dict[str, frozenset[str]] = {}
    readings: list[SiteReading] = []
    links: list[SiteLink] = []
    left: list[str] = []
    most = max(2, TOGETHER - len(visit.site.bonds))
    shared: set[str] = set()  # sub-mains that are part of a conductor already
    # Sub-mains first: what hangs on one that is weighed itself is joined to it.
    for node, (circuit, point) in sorted(wanted.items(), key=lambda x: _first(case, x[1][0])):
        feeders = [f.id for f in case.upstream(circuit)]
        first = next((bonds[name] for name in (circuit.id, *feeders) if name in bonds), None)
        if first is not None:
            # Over the conductors themselves: links and bonds join the two places as well, and are weighed by themselves.
            band = earth.standing(_ends_of_metal(earth)).band(first.part, node)
            if band is not None and not math.isinf(band.high):
                low = max(1e-3, band.low)
                links.append(SiteLink(f"{circuit.id}:cpc beyond", first.part, node, low, max(1.01 * low, band.high)))
            continue
        if shared & set(feeders):
            continue  # one copper cannot stand twice; that there is more metal than this stays a chance
        own = _bond(case, circuit, point, node)
        if own is None:
            continue
        if len(bonds) >= most:
            left.append(circuit.id)
            continue
        bonds[circuit.id] = own
        shared.update(feeders)
        off_by[own.id] = _ends_of_feeders(earth, feeders)
        readings += _readings(case, circuit, point, earth, things - {own.id})
    all_of_it = Tied(tuple(bonds.values()), (), tuple(links), off_by, tuple(dict.fromkeys(left)))
    kept = (evolve(r, off=r.off | (all_of_it.off(r.off) - {r.bond})) for r in readings)
    return all_of_it._replace(readings=tuple(kept))


def _first(case: Case, circuit: Circuit) -> tuple[int, bool]:
    """Order in which conductors are taken: sub-mains before what hangs on them, those that were read before the others."""
    read = any(case.taken.of(circuit.id, test) for test in TESTS)
    return len(case.upstream(circuit)), not read


def _ends_of_metal(earth: Earth) -> frozenset[str]:
    """The ends of all bonds and links: with these off, only protective conductors join two places."""
    return frozenset(end for p in earth.network.pieces if p.kind in (BOND, LINK) for end in p.off_by)


def _ends_of_feeders(earth: Earth, feeders: Collection[str]) -> frozenset[str]:
    """The ends that take the protective conductors of these sub-mains out."""
    return frozenset(end for p in earth.network.pieces if p.kind == CPC and p.of in feeders for end in p.off_by)


def _circuit(visit: Visit, end: str) -> tuple[Circuit, str] | None:
    """The circuit and the point that an end of a link names; a sub-board stands for the circuit that feeds it."""
    thing, _, point = end.partition(POINT_MARK)
    board = next((b for b in visit.site.boards if b.id == thing), None)
    thing = board.fed_by if board is not None else thing
    circuit = next((c for c in visit.site.circuits if c.id == thing), None)
    return None if circuit is None or circuit.cpc == "none" else (circuit, point)


def _bond(case: Case, circuit: Circuit, point: str, node: str) -> SiteBond | None:
    """The conductor from the MET to the point; None when its size or length is not known."""
    r = conductor_mohm_per_m(case, circuit, circuit.cpc_mm2) if circuit.cpc in WIRES else None
    length = metres_to(case, circuit, point, CPC_MM2)
    if r is None or r <= 0.0 or length is None:
        return None
    low, high = length[0] * r, length[1] * r
    before = feeders_ohm(case, circuit)
    if before is None:
        return None
    low, high = low + before[0], high + before[1]
    copper = Copper(r, (low + high) / 2.0 / r, (high - low) / 2.0 / r)
    title = f"{circuit.id} at {point}" if point else circuit.id
    return SiteBond(f"{circuit.id}:cpc", node, copper, title, circuit.id)


def _readings(case: Case, circuit: Circuit, point: str, earth: Earth, things: frozenset[str]) -> Sequence[SiteReading]:
    """The readings that were taken from the MET, or from the bar of a board that is as good as the MET."""
    board = case.board(circuit.board)
    origin = board is not None and not board.fed_by
    found: list[SiteReading] = []
    for name in same_end(circuit, point):
        if not earth.network.has(point_name(circuit.id, name)):
            continue
        for one in cpc_readings(case, circuit, name, earth):
            if one.start == MET or origin:
                off = frozenset(case.taken.state(one.reading).off) & things
                # The conductor of the network begins at the MET and ends here, so neither the sub-main nor a tail is a lead.
                found = [f for f in found if (f.observed, f.off) != (one.plain, off)]
                found.append(SiteReading(one.reading.id, f"{circuit.id}:cpc", one.plain, off))
    return found
