"""Readings of a site before and after a repair: each is weighed with the conductor that was there when it was taken."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from types import MappingProxyType

from attrs import evolve

from ..evidence.network import SiteBond, SiteData, SiteLink, SiteReading
from ..site.events import Repair


def parted(
    data: SiteData,
    repairs: Sequence[Repair],
    seq_of: Callable[[str], int],
    ends: Mapping[str, frozenset[str]] = MappingProxyType({}),
) -> SiteData:
    """The same site with what was remade parted into its states.

    seq_of  place in the visit of a reading by its id;  ends  by conductor: the ends of its sub-mains, which are part of it

    A conductor that was remade stands once for each state of it that was read in: under its own id as it is now, and as
    ``gas (found)`` before. For a reading all its other states are off, so what was read before and after never weighs on
    the same unknown, while everything that was not touched stays one and the same.
    """
    bonds, links, readings, gone = [*data.bonds], [*data.links], [*data.readings], set(data.gone)
    things: tuple[SiteBond | SiteLink, ...] = (*data.bonds, *data.links)
    for thing in things:
        cuts = [r.seq for r in repairs if remakes(r, thing, ends.get(thing.id, frozenset()))]
        states = [_called(thing.id, n, len(cuts)) for n in range(len(cuts) + 1)]
        then = [states[sum(seq_of(r.id) > cut for cut in cuts)] for r in readings]
        former = [name for name in states[:-1] if name in then]
        if not former:
            continue  # everything was read as it is now
        for name in former:
            if isinstance(thing, SiteBond):
                bonds.append(evolve(thing, id=name))
            else:
                links.append(evolve(thing, id=name))
        gone.update(former)
        mine = (*former, thing.id)
        readings = [_at(r, thing, now, mine) for r, now in zip(readings, then, strict=True)]
    return evolve(data, bonds=tuple(bonds), links=tuple(links), readings=tuple(readings), gone=frozenset(gone))


def remakes(repair: Repair, thing: SiteBond | SiteLink, ends: Collection[str] = ()) -> bool:
    """Whether a repair was made of a bond, a link, or the protective conductor of a circuit, whose id is ``c2:cpc``."""
    names = {thing.id, *ends}
    return repair.what in names or f"{repair.what}:cpc" in names


def _called(name: str, state: int, last: int) -> str:
    if state == last:
        return name
    return f"{name} (found)" if last == 1 else f"{name} (found, {state + 1})"


def _at(reading: SiteReading, thing: SiteBond | SiteLink, now: str, states: Iterable[str]) -> SiteReading:
    """A reading with the states of a thing other than that of its day off; its own bond is the state it was taken of."""
    off = reading.off | {name for name in states if name != now}
    if thing.id in reading.off:  # it was off, whatever its state
        off |= frozenset(states)
    bond = now if reading.bond == thing.id else reading.bond
    return evolve(reading, bond=bond, off=off - {bond})
