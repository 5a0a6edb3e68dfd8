"""Items of the schedule of inspections that are called acceptable while readings of the same visit say otherwise."""

from __future__ import annotations

from ..coding import Proposed
from ..errors import Finding, Severity
from ..inspection import ACCEPTABLE
from ..judged import Assessment
from ..observations import propose, threads

# Items, and the proposals (by the beginnings of their names) that contradict "acceptable" there.
_AGAINST = {
    "bonding-size": ("bond.size",),
    "bonding-joints": ("bond.joint", "bond.disproved"),
    "new-bonding": ("bond.",),
    "circuit-cpc": ("cpc.", "test.r1r2", "test.r2", "test.adiabatic", "ring"),
    "new-cpc": ("cpc.", "test.r1r2", "test.r2", "test.adiabatic", "ring"),
    "board-devices": ("test.fault current",),
    "board-rcd": ("test.rcd",),
    "bath-bonding": ("test.supplementary",),
}
_URGENT = ("C1", "C2")


def contradicted(a: Assessment) -> list[Finding]:
    """A finding for each item marked acceptable that something judged contradicts with C1 or C2.

    What the inspector answered with another code is decided and says nothing here.
    """
    inspected = a.visit.paperwork.inspected
    items = [i.item for i in inspected if i.outcome == ACCEPTABLE and i.item in _AGAINST]
    if not items:
        return []
    decided = {
        (p.name, p.about)
        for t in threads(a)
        for p in t.proposals
        if t.observation.code and t.observation.code not in _URGENT
    }
    urgent = [p for p in propose(a) if p.code in _URGENT and (p.name, p.about) not in decided]
    return [
        _finding(item, some) for item in items if (some := [p for p in urgent if p.name.startswith(_AGAINST[item])])
    ]


def _finding(item: str, against: list[Proposed]) -> Finding:
    more = f" and {len(against) - 1} more" if len(against) > 1 else ""
    return Finding(
        f"inspection item {item}",
        "It is marked acceptable, and what was measured says otherwise.",
        Severity.WARNING,
        "inspection.contradicted",
        item,
        "an outcome that agrees with the observations",
        against[0].what.rstrip(".") + more,
        "Mark the item with the code of its observation, or say in the observation why it does not count.",
        "The item may have been ticked before the reading was taken.",
    )
