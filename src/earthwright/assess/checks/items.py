"""Items of the schedule of inspections that are called acceptable or not applicable while the visit says otherwise.

What says otherwise is a code that readings lead to, or an observation of the inspector's own: by the item it names, else
by its clause, else by its words, where those leave no doubt which item is meant.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from ...base.errors import Finding
from ...outcomes.assessment import Assessment
from ...report.coding import Proposed, edition_if_any
from ...report.observations import propose, threads
from ...rules import Edition, clause_of
from ...site.inspection import ACCEPTABLE, ITEMS, NOT_APPLICABLE, PERIODIC, SPLIT, lines_of
from ...site.particulars import CODES, Observation

# Items, and the proposals (by the beginnings of their names) that contradict "acceptable" there.
_AGAINST = {
    "bonding-parts": ("part.unbonded",),
    "bonding-size": ("bond.size",),
    "bonding-joints": ("bond.joint", "bond.disproved"),
    "new-bonding": ("bond.",),
    "circuit-cpc": ("cpc.", "test.r1r2", "test.r2", "test.adiabatic", "ring"),
    "new-cpc": ("cpc.", "test.r1r2", "test.r2", "test.adiabatic", "ring"),
    "circuit-size": ("test.overload",),
    "circuit-outdoors": ("test.additional protection",),
    "board-breaking": ("test.fault current",),
    "board-rcd-works": ("test.rcd",),
    "bath-bonding": ("test.supplementary",),
    "place-special": ("test.special location",),
    "new-special": ("test.special location",),
    "earthing-electrode": ("test.electrode",),
}
# Items by words of an observation; every one of an item's patterns must be found.
_WORDS = {
    "board-surge-there": (r"\bsurge|\bSPDs?\b",),
    "circuit-joints-enclosed": (
        r"\bjoints?\b|\bjunction box|\bconnector strip",
        r"^(?!.*(\bbond|\bclamp|\bearthing\b))",
    ),
    "circuit-walls": (r"\bcables?\b|\bwiring\b", r"\bburied\b|\bconcealed\b|\bhidden\b|\bzones?\b"),
    "circuit-arc": (r"\barc fault|\bAFDDs?\b",),
    "circuit-outlets": (r"\bsockets?\b|\bsocket-outlets?\b", r"\bRCDs?\b|residual current|additional protection"),
    "bath-bonding": (r"\bbath|\bshower", r"\bbond"),
    "bath-rcd": (r"\bbath|\bshower", r"\bRCDs?\b|residual current"),
    "earthing-label": (r"\blabels?\b|\bnotice", r"\bbond|\bclamp|\bearth"),
    "bonding-size": (r"\bmain bond", r"\bmm²|\bundersized?\b|\btoo small\b|\bsize\b"),
    "bonding-joints": (r"\bbond|\bclamp", r"\bjoint|\bloose\b|\bcorro|\bpaint|\bmissing\b"),
    "board-chart": (r"\bcircuit chart|\bno chart|\bschedule of circuits",),
}
# What tells no item by its clause: disconnection in time may fail by device, conductor or supply.
_TELLS_NONE = "test.disconnection"
_NUMBER = re.compile(r"[1-8][0-9]{2}(?:\.[0-9]+)*")
_URGENT = ("C1", "C2")


def contradicted(a: Assessment) -> list[Finding]:
    """A finding for each item marked acceptable or not applicable that something judged or observed contradicts.

    Readings contradict with C1 or C2, observations with any code. What the inspector answered with another code is
    decided, and says nothing here for the readings.
    """
    inspected = a.visit.paperwork.inspected
    fine = {i.item: i.outcome for i in inspected if i.outcome in (ACCEPTABLE, NOT_APPLICABLE)}
    if not fine:
        return []
    found = _by_observations(a, fine)
    told = {f.entry for f in found}
    return found + [f for f in _by_readings(a, fine) if f.entry not in told]


def _by_observations(a: Assessment, fine: Mapping[str, str]) -> list[Finding]:
    found: dict[str, Finding] = {}
    edition = edition_if_any(a)
    for t in threads(a):
        if not t.counts or (t.observation.code or t.proposed) not in CODES:
            continue
        meant = items_of(t.observation, edition)
        entered = [i for i in meant if a.visit.paperwork.outcome(i) is not None]
        if any(i not in fine for i in entered):
            continue  # an item that is meant bears its code, or says that it was not seen
        for item in entered[:1] if t.observation.about in SPLIT else entered:
            code = t.observation.code or t.proposed
            what = f"observation {t.observation.id}, {code}: {t.observation.what.rstrip('.')}"
            found.setdefault(item, _finding(item, fine[item], what))
    return list(found.values())


def items_of(o: Observation, edition: Edition | None) -> tuple[str, ...]:
    """The inspection items that an observation speaks of; empty when that is not plain."""
    named = tuple(i.id for i in ITEMS if i.id in lines_of(o.about))
    if named:
        return named
    text = f"{o.what} {o.where}"
    worded = tuple(
        item for item, words in _WORDS.items() if all(re.search(w, text, re.IGNORECASE | re.DOTALL) for w in words)
    )
    if worded:
        return worded
    numbers = [n for n in _NUMBER.findall(o.clause) if n != clause_of(edition, _TELLS_NONE)]
    covered = tuple(
        i.id for i in ITEMS if i.kind == PERIODIC and any(_covers(clause_of(edition, i.rule), n) for n in numbers)
    )
    return covered if len(covered) == 1 else ()  # a clause that several items share tells nothing


def _covers(clauses: str, number: str) -> bool:
    """Whether the clauses of an item hold a number: the same, one below it, or one of a range."""
    for part in clauses.split(";"):
        first, _, last = (x.strip() for x in part.partition(" to "))
        if number == first or (number.startswith(first + ".") and first.count(".") > 1):
            return True
        if last and _place(first) <= _place(number) <= _place(last):
            return True
    return False


def _place(number: str) -> tuple[int, ...]:
    return tuple(int(x) for x in number.split(".") if x.isdigit())


def _by_readings(a: Assessment, fine: Mapping[str, str]) -> list[Finding]:
    items = [i for i in fine if i in _AGAINST]
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
        _finding(item, fine[item], _first(some))
        for item in items
        if (some := [p for p in urgent if p.name.startswith(_AGAINST[item])])
    ]


def _first(against: list[Proposed]) -> str:
    more = f" and {len(against) - 1} more" if len(against) > 1 else ""
    return against[0].what.rstrip(".") + more


def _finding(item: str, outcome: str, otherwise: str) -> Finding:
    return Finding.of(
        "inspection.contradicted",
        f"inspection item {item}",
        f"It is marked {'acceptable' if outcome == ACCEPTABLE else 'not applicable'}, but something found at the visit says otherwise.",
        item,
        "an outcome that agrees with the observations",
        otherwise,
        "Mark the item with the code of its observation, or say in the observation why it does not count.",
        "The item may have been ticked before the reading was taken.",
    )
