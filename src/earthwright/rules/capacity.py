"""What cables may carry, and what a device may be against it: capacities of appendix 4, their factors, 433.1."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from ..base.errors import NoRule
from .model import Edition, RuleValue


@frozen
class Capacity:
    """The least and the greatest current a conductor may carry by what is known of it [A], each as looked up.

    A size between two printed ones is at least as good as the smaller and no better than the larger.
    """

    least: RuleValue
    most: RuleValue


def carrying_capacity(
    edition: Edition, cables: Iterable[str], *, loaded: int, csa_mm2: float, method: str = ""
) -> Capacity:
    """Capacity of a copper conductor [A] in one circuit alone at 30 °C (appendix 4).

    cables  the kinds it may be;  loaded  conductors that carry current, 2 or 3;  csa_mm2  its cross-section [mm²]
    method  its reference method; empty: it may be any that is tabulated. Raises NoRule.
    """
    table = edition.table("current.capacity")
    known: dict[str, str | int] = {"loaded": loaded, **({"method": method} if method else {})}
    least: list[RuleValue] = []
    most: list[RuleValue] = []
    named = tuple(cables)
    for cable in named:
        rows = table.where(cable=cable, **known)
        for way in dict.fromkeys(str(r.keys["method"]) for r in rows):
            sizes = [(float(str(r.keys["csa_mm2"])), r) for r in rows if r.keys["method"] == way]
            least += [r for size, r in sizes if size <= csa_mm2][-1:]
            most += [r for size, r in sizes if size >= csa_mm2][:1]
    if not least or not most:
        by = f" by method {method}" if method else ""
        what = f"{csa_mm2:g} mm² of {' or '.join(named)}{by}"
        raise NoRule(f"{edition.standard}:{edition.edition}: no capacity for {loaded} loaded conductors of {what}")
    return Capacity(min(least, key=lambda r: r.value), max(most, key=lambda r: r.value))


def grouping_factor(edition: Edition, circuits: int) -> RuleValue:
    """Factor for so many circuits bunched together, this one among them [1] (table 4C1). Raises NoRule."""
    return edition.table("current.grouping").look(circuits=circuits)


def ambient_factor(edition: Edition, working_c: float, ambient_c: float) -> RuleValue:
    """Factor for the temperature of the air round a cable [°C] by its working temperature, 70 or 90 °C (table 4B1)."""
    return edition.table("current.ambient").look(working_c=working_c, ambient_c=ambient_c)


def insulation_factor(edition: Edition, length_mm: float) -> RuleValue:
    """Factor for a length that thermal insulation surrounds [mm] (523.9)."""
    return edition.table("current.insulated").look(length_mm=length_mm)


def overload_ring(edition: Edition) -> RuleValue:
    """A ring: least capacity ``least_a`` [A] and size ``least_mm2`` [mm²] of its cable, device up to ``device_to_a`` [A]."""
    return edition.table("overload.ring").look()


def overload_share(edition: Edition, family: str) -> RuleValue | None:
    """Share of the capacity that a device of a family may be rated at [1]; None where that is the whole."""
    return next(iter(edition.table("overload.fuse").where(family=family)), None)


def rcd_general(edition: Edition, rcd_type: str) -> RuleValue:
    """Whether a type of residual current device is for any use: column ``general`` (531.3.3). Raises NoRule."""
    return edition.table("rcd.types").look(type=rcd_type)


def power_direction(edition: Edition, direction: str) -> RuleValue:
    """Whether a device suits a circuit fed from both ends: column ``suits`` (530.3.201). Raises NoRule before 2024."""
    return edition.table("rcd.direction").look(direction=direction)
