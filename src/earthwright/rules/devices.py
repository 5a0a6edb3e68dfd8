"""Protective devices: operating currents, loop limits, curves, breaking capacity and let-through energy."""

from __future__ import annotations

import re
from contextlib import suppress

from attrs import frozen

from ..base.errors import NoRule
from .model import Edition, RuleValue, Worked

BREAKER, OLD_BREAKER, GG, HOUSE = "circuit-breaker", "BS 3871", "BS 88-2", "BS 88-3"
EITHER_PART = "BS 88"  # noted without its part
# Instantaneous operation is over within this time, by the product standards.
INSTANT_S, LONGEST_S = 0.1, 5.0
# What the trade calls a circuit-breaker whose standard was not noted, and one with arc-fault detection; its letter (B, C, D) says when it opens.
_TRADE_WORDS = ("mcb", "rcbo", "62606", "bsen62606", "bs62606")


def device_family(edition: Edition, standard: str) -> str:
    """Family of a device by the standard written on it, e.g. ``BS EN 60898-1`` → ``circuit-breaker``.

    Raises NoRule for a standard that the data do not know.
    """
    name = re.sub(r"[^a-z0-9]+", "", standard.lower())
    if name in _TRADE_WORDS:
        return BREAKER
    number = re.sub(r"^(bs|en|iec|hd)+", "", name)
    names = edition.table("device.names")
    for spelt in (name, re.sub(r"^bsen(iec)?", "bs", name), number, f"bs{number}", f"iec{number}"):
        with suppress(NoRule):
            return names.look(name=spelt).text("family")
    raise NoRule(f"{edition.standard}:{edition.edition}: no data for devices to '{standard}'")


def c_min(edition: Edition) -> RuleValue:
    """Voltage factor for the lowest fault current [1] (411.4.4)."""
    return edition.table("loop.factors").look(name="c_min")


def operating_current(edition: Edition, standard: str, type_: str, rating_a: float, time_s: float) -> Worked:
    """Current that opens the device within a time: Ia [A].

    Circuit-breakers: the highest multiple of the instantaneous band times In, for times from 0.1 s to 5 s. Fuses:
    ``Ia = c_min·U0/Zs`` of the printed loop limit at 0.4 s and 5 s, a tabulated current at other times, the upper gate
    of IEC 60269-1 for gG at 0.1 s. standard and type_ as written on the device; rating_a [A]; time_s [s].
    Raises NoRule for a device, rating or time that is not in the data: nothing is interpolated here.
    Source: appendix 3, tables 41.2 to 41.4. Checked with B 32 A: 160 A.
    """
    family = device_family(edition, standard)
    if family == EITHER_PART:
        return _of_either_part(edition, type_, rating_a, time_s)
    if family in (BREAKER, OLD_BREAKER):
        row = edition.table("device.multiples").look(family=family, type=_type(type_))
        if not INSTANT_S <= time_s <= LONGEST_S:
            raise NoRule(f"{family} type {type_}: the data cover {INSTANT_S} s to {LONGEST_S:g} s, not {time_s:g} s")
        slow = _slow(edition, family, type_, time_s)
        row = slow if slow is not None else row
        most = float(row.number("most"))
        how = f"Ia = {most:g} × {rating_a:g} A = {most * rating_a:g} A"
        return Worked(most * rating_a, "A", how, (row,))
    try:
        row = edition.table("zs.fuse").look(family=family, rating_a=rating_a, time_s=time_s)
    except NoRule as none:
        return _tabulated(edition, family, rating_a, time_s, none)
    u0, c, zs = float(row.number("u0_v")), float(row.number("c_min")), float(row.value)
    return Worked(c * u0 / zs, "A", f"Ia = {c:g} × {u0:g} V / {zs:g} Ω = {c * u0 / zs:.4g} A", (row,))


def _of_either_part(edition: Edition, type_: str, rating_a: float, time_s: float) -> Worked:
    """A fuse on which only BS 88 was noted: the part that needs more current, where both have the rating. Raises NoRule."""
    found = []
    for part in (GG, HOUSE):
        with suppress(NoRule):
            found.append(operating_current(edition, part, type_, rating_a, time_s))
    if not found:
        raise NoRule(
            f"BS 88, {rating_a:g} A, {time_s:g} s: no part of it in the data has that rating; say which part it is"
        )
    return max(found, key=lambda worked: worked.value)


def _slow(edition: Edition, family: str, type_: str, time_s: float) -> RuleValue | None:
    """The multiple with which a circuit-breaker opens within a longer time, where its type has one of its own; else None."""
    if family != BREAKER:
        return None
    with suppress(NoRule):
        return edition.table("breaker.slow").look(type=_type(type_), time_s=time_s)
    return None


def _tabulated(edition: Edition, family: str, rating_a: float, time_s: float, none: NoRule) -> Worked:
    try:
        row = edition.table("fuse.currents").look(family=family, rating_a=rating_a, time_s=time_s)
        return Worked(float(row.value), "A", f"Ia = {row.value} A as tabulated", (row,))
    except NoRule:
        if family != GG or time_s not in (INSTANT_S, LONGEST_S):
            raise none from None
    try:
        gate = edition.table("fuse.gates").look(rating_a=rating_a)
    except NoRule:
        raise none from None
    column = "max_0_1s" if time_s == INSTANT_S else "max_5s"
    return Worked(
        float(gate.number(column)), "A", f"Ia = {gate.number(column)} A, upper gate of gG fuse-links", (gate,)
    )


def _type(text: str) -> str:
    """Type letter or number as in the tables: ``type b`` → ``B``."""
    return re.sub(r"^(TYPE|CURVE)\s*", "", text.strip().upper())


def max_zs(edition: Edition, standard: str, type_: str, rating_a: float, time_s: float, u0_v: float = 230.0) -> Worked:
    """Highest loop impedance with which the device opens in time [Ω]: the printed figure, else ``c_min·U0/Ia``.

    Arguments as for operating_current; u0_v [V] to earth. The figure is for conductors at their working temperature.
    Raises NoRule. Source: 411.4.4, tables 41.2 to 41.4. Checked with the printed figures for B, C and D.
    """
    current = operating_current(edition, standard, type_, rating_a, time_s)
    factor = c_min(edition)
    printed = _printed_zs(edition, standard, type_, rating_a, time_s)
    if printed is not None and float(printed.number("u0_v")) == u0_v and printed.number("c_min") == factor.value:
        return Worked(float(printed.value), "Ω", f"{printed.value} Ω as printed", (printed,))
    c = float(factor.value)
    zs = c * u0_v / current.value
    how = f"{current.how}; {c:g} × {u0_v:g} V / {current.value:.4g} A = {zs:.4g} Ω"
    return Worked(zs, "Ω", how, (*current.rests_on, factor))


def _printed_zs(edition: Edition, standard: str, type_: str, rating_a: float, time_s: float) -> RuleValue | None:
    family = device_family(edition, standard)
    try:
        if family == BREAKER:
            if _slow(edition, family, type_, time_s) is not None:
                return None
            return edition.table("zs.breaker").look(type=_type(type_), rating_a=rating_a)
        return edition.table("zs.fuse").look(family=family, rating_a=rating_a, time_s=time_s)
    except NoRule:
        return None


@frozen
class DeviceCurve:
    """Points (current [A], time [s]) at which the slowest device has opened; current rises, time falls."""

    points: tuple[tuple[float, float], ...]
    rests_on: tuple[RuleValue, ...]

    @property
    def confidence(self) -> str:
        """``memory`` as soon as one point is from memory."""
        return "memory" if any(r.confidence == "memory" for r in self.rests_on) else "read"


def device_curve(edition: Edition, standard: str, type_: str, rating_a: float) -> DeviceCurve:
    """The published points of a device's time-current curve, for reading between them and nowhere else.

    Circuit-breakers give one point, the instantaneous one: a maker's curve is needed below it.
    Raises NoRule when nothing is published.
    """
    found: list[tuple[float, float]] = []
    rests: list[RuleValue] = []
    for time_s in (5.0, 1.0, 0.4, 0.2, 0.1):
        try:
            worked = operating_current(edition, standard, type_, rating_a, time_s)
        except NoRule:
            continue
        while found and worked.value <= found[-1][0]:
            found.pop()  # the same current at a shorter time says more
        found.append((worked.value, time_s))
        rests.extend(r for r in worked.rests_on if r not in rests)
    if not found:
        raise NoRule(f"{edition.standard}:{edition.edition}: no published points for {standard} {type_} {rating_a:g} A")
    return DeviceCurve(tuple(found), tuple(rests))


def conventional_currents(edition: Edition, standard: str, rating_a: float) -> RuleValue:
    """Multiples of In at which none opens (``holds``) and every one opens (``opens``) in the conventional time [h]."""
    return edition.table("device.conventional").look(family=device_family(edition, standard), rating_a=rating_a)


def breaking_capacity(edition: Edition, standard: str, marking: str) -> RuleValue:
    """Rated short-circuit capacity [kA] by standard and marking, e.g. ``6000``, ``M6``, ``S2A``, ``type II``."""
    return edition.table("device.breaking").look(family=device_family(edition, standard), marking=marking)


def breaking_capacities(edition: Edition, standard: str) -> tuple[RuleValue, ...]:
    """Every rated short-circuit capacity of a device standard that the data know [kA]; empty when none."""
    return edition.table("device.breaking").where(family=device_family(edition, standard))


def combined_rating(edition: Edition) -> RuleValue:
    """Conditional rating of a domestic consumer unit behind its service fuse [kA]: the maker's claim, shown as such."""
    return edition.table("device.combined").look()


def let_through_a2s(edition: Edition, energy_class: int, icn_a: float, type_: str, rating_a: float) -> RuleValue:
    """Highest let-through energy I²t [A²s] of a circuit-breaker at its rated capacity (EN 60898-1 annex ZA)."""
    return edition.table("device.let-through").look(
        energy_class=energy_class, icn_a=icn_a, type=_type(type_), rating_a=rating_a
    )
