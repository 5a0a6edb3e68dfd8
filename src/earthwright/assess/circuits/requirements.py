"""What a special location asks for as a list: each requirement meets, fails, is not decided, or nobody stated it.

What only a look answers is answered by one: ``look = "bathroom: zone 0"``, what was seen, and whether it is as asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ...outcomes.circuits import NOT_STATED, Requirement
from ...outcomes.verdict import FAILS, MEETS, NOT_DECIDED, Judged
from ...rules import RuleValue
from ...site.events import Look
from ...site.installation import Circuit
from ...site.ledger import found_faulty
from ...site.premises import BATH
from .limits import Case

BONDING = "supplementary bonding"
# Topics of the rules that a comparison answers; every other is for the eyes.
_COMPARED = ("PME",)


def requirements(
    case: Case, circuit: Circuit, special: str, judged: Sequence[Judged], rules: Iterable[RuleValue]
) -> tuple[Requirement, ...]:
    """The comparisons that were made, then the rules that only a look or a reading elsewhere answers."""
    found = [
        Requirement(j.limit.clause, j.limit.what, j.outcome, j.why, j.limit.confidence)
        for j in judged
        if j.limit is not None
    ]
    compared = any(j.limit is not None and j.limit.rule == "special.pme" for j in judged)
    for row in rules:
        topic = str(row.keys["topic"])
        if topic in _COMPARED and compared:
            continue
        outcome, why = _bonding(case, circuit, special) if topic == BONDING else (NOT_STATED, row.text("rule"))
        seen = answer(case, circuit, topic)
        if seen is not None and (seen[0] == FAILS or outcome == NOT_STATED):  # a look takes no reading's place
            outcome, why = seen
        found.append(Requirement(row.clause, topic, outcome, why, row.confidence, by_look=topic not in _COMPARED))
    return tuple(found)


def asked_as(circuit: Circuit, topic: str) -> str:
    """What a look is called that answers a requirement of the place a circuit is in."""
    return f"{circuit.location.strip()}: {topic}"


def answer(case: Case, circuit: Circuit, topic: str) -> tuple[str, str] | None:
    """What the latest look at a requirement of a place found, as outcome and reason; None where nobody looked."""
    name = asked_as(circuit, topic).casefold()
    looks = [e for e in case.visit.events if isinstance(e, Look) and e.what.casefold() == name]
    if not looks:
        return None
    last = looks[-1]
    if last.holds is None or (last.holds is False and last not in found_faulty(case.visit.events)):
        return NOT_DECIDED, f"looked at: {last.seen}"  # put right since, or nothing could be told
    return MEETS if last.holds else FAILS, f"seen: {last.seen}"


def there(case: Case, circuit: Circuit) -> tuple[Circuit, ...]:
    """The circuits that are entered for the same location, the circuit itself among them."""
    return tuple(c for c in case.visit.site.circuits if c.location and c.location == circuit.location) or (circuit,)


def _bonding(case: Case, circuit: Circuit, special: str) -> tuple[str, str]:
    """Supplementary bonding of a location: read there, asked for, or left out where a bathroom may leave it out."""
    same = there(case, circuit)
    if any(case.taken.of(c.id, BONDING.split()[0]) for c in same):
        return MEETS, "it was read there, and is judged in rows of its own"
    if any(b.supplementary and case.visit.site.part(b.part).entry == circuit.location for b in case.visit.site.bonds):
        return MEETS, "a supplementary bond is entered there, and is judged by itself"
    if special != BATH:
        return NOT_DECIDED, "it is asked for in any case, and nothing was read of it"
    bare = [c.id for c in same if not any((d.rcd_ma or 0.0) <= 30.0 and not d.rcd_delay for _, d in case.rcds(c))]
    if bare:
        return NOT_DECIDED, f"{', '.join(bare)} has no device of 30 mA, so it is asked for, and nothing was read of it"
    return NOT_STATED, (
        "it may be left out, since all circuits entered there have 30 mA: that they disconnect in time and that all metal there "
        "connects to the main bonding is for you to confirm"
    )


def told(found: Iterable[Requirement]) -> tuple[str, ...]:
    """The requirements as lines: clause, what, outcome."""
    return tuple(
        f"{r.clause}: {r.what}: {r.outcome}{f', {r.why}' if r.why else ''}"
        + (" (from memory, check it against the document)" if r.confidence == "memory" else "")
        for r in found
    )
