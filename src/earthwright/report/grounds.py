"""What "satisfactory" has to rest on: everything that is asked for was inspected and tested, or stands as a limitation.

Nothing here says that something is wrong; it says that something was not looked at, so that nobody can say it is right.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..evidence.bond import PROVED
from ..outcomes.assessment import Assessment
from ..outcomes.circuits import BY_PARTICULARS, TestJudged
from ..outcomes.verdict import FAILS, NO_RULE, NOT_DECIDED
from ..site.events import ORIGIN, Reading
from ..site.inspection import LIMITED, NOT_VERIFIED, PERIODIC_ITEMS
from ..site.tests import TESTS, called

# Continuity has no limit in ohms: what it proves is said of the conductor or the ring, and coded there.
NO_LIMIT = tuple(t.name for t in TESTS if not t.limit)
# Worked out beyond what a report asks for: left open for want of a maker's figure or a design current, it bars nothing.
BESIDE = ("adiabatic", "voltage drop", "earthing conductor", *BY_PARTICULARS)
BONDING = "bonding"
LIM, DOES_NOT_APPLY, MISSING, UNTESTED = "LIM", "N/A", "missing", "not tested"
CALCULATED = "calculated"  # continuity worked out from loops: a periodic report may rest on the loops themselves
MOST_SAID = 4


def gaps(a: Assessment, answered: Iterable[tuple[str, str]] = ()) -> tuple[str, ...]:
    """Everything that bars "satisfactory", a phrase each; empty when nothing does.

    answered  names and things of the codes proposed: what stands there as a code is not counted once more.
    """
    coded = set(answered)
    found = [*_inspected(a), *_limits_agreed(a), *_entries(a), *_origin(a)]
    if not a.boards:
        found.append("no circuit is entered")
    found += [f"no circuit is entered at {b.board.name or b.board.id}" for b in a.boards if not b.circuits]
    if a.visit.kind == BONDING:
        found.append("the visit is entered as one for bonding, which asks for no test of a circuit")
    found += _tests(a, (t for t in a.tests if (f"test.{t.test}", t.of) not in coded))
    things = {about for _, about in coded}
    found += [
        f"the bond to the {b.part.title} is not shown"
        for b in a.bonds
        if b.verdict != PROVED and b.bond.id not in things and not b.limited
    ]
    return tuple(dict.fromkeys(found))


def said(found: tuple[str, ...]) -> str:
    """The gaps in one clause, the first few of them by name."""
    rest = len(found) - MOST_SAID
    return "; ".join((*found[:MOST_SAID], *((f"and {rest} more",) if rest > 0 else ())))


def _inspected(a: Assessment) -> Iterator[str]:
    entered = {i.item: i for i in a.visit.paperwork.inspected}
    blank = [i.id for i in PERIODIC_ITEMS if i.id not in entered]
    if blank:
        yield f"{len(blank)} of the {len(PERIODIC_ITEMS)} items of the schedule of inspections have no outcome"
    unseen = [i.id for i in PERIODIC_ITEMS if i.id in entered and entered[i.id].outcome == NOT_VERIFIED]
    if unseen:
        yield f"not verified: {', '.join(unseen)}"
    bare = [i.id for i in PERIODIC_ITEMS if i.id in entered and _bare(entered[i.id].outcome, entered[i.id].note)]
    if bare:
        yield f"a limitation without its reason: {', '.join(bare)}"


def _bare(outcome: str, note: str) -> bool:
    return outcome == LIMITED and not note


def _limits_agreed(a: Assessment) -> Iterator[str]:
    """A limitation counts once it is settled with somebody; those met on the day say so themselves."""
    report = a.visit.paperwork.report
    limited = [i.item for i in a.visit.paperwork.inspected if i.outcome == LIMITED]
    limited += [e.of for e in a.visit.events if isinstance(e, Reading) and e.absent == LIM]
    if limited and not (report.agreed_with or report.operational):
        yield f"limitations ({', '.join(dict.fromkeys(limited))}) that nobody is said to have agreed to"


def _entries(a: Assessment) -> Iterator[str]:
    unread = sum(f.not_read for f in a.findings)
    if unread:
        yield f"{unread} entries could not be read"
    for entry in a.not_judged:
        yield f"{entry.entry} got no verdict: {entry.why}"
    for off in a.still_off:
        yield f"{off.what} is still off"


def _origin(a: Assessment) -> Iterator[str]:
    """The supply's own figures: each read, or stated by the distributor."""
    supply = a.visit.site.supply
    read = {t.test for t in a.origin if not t.absent or t.absent == DOES_NOT_APPLY or (t.absent == LIM and t.reason)}
    if supply.system is None:
        yield "the earthing arrangement is not entered"
    if "ze" not in read and supply.ze_ohm is None and supply.system != "TT":
        yield "Ze was neither read nor stated"
    current = "fault current" in read or supply.ipf_ka is not None
    if not current and not any(t.test == "fault current" for b in a.boards for t in b.tests):
        yield "the fault current at the origin was neither read nor stated"
    if supply.system == "TT" and not _earthed(a):
        yield "TT: neither the electrode nor the loop at the origin was read"


def _earthed(a: Assessment) -> bool:
    return any(not t.absent for e in a.electrodes for t in e.tests) or any(
        t.test == "ze" and not t.absent for t in a.origin
    )


def undecided(t: TestJudged) -> bool:
    """Whether a row is left open that ought to be decided: continuity too, where its digits do not count."""
    if t.outcome != NOT_DECIDED or t.test in BESIDE:
        return False
    return t.test not in NO_LIMIT or any(r.method != CALCULATED for r in t.readings)


def _tests(a: Assessment, tests: Iterable[TestJudged]) -> Iterator[str]:
    """Rows that are missing, without a rule or not decided, by circuit or board."""
    sampled = bool(a.visit.paperwork.report.sampling)
    for t in tests:
        name = f"{'origin' if t.of == ORIGIN else t.of}: {called(t.test)}"
        if (t.absent == DOES_NOT_APPLY and t.reason) or (t.absent == LIM and t.reason):
            continue
        if t.absent == UNTESTED and t.reason and sampled:
            continue
        if t.absent == MISSING and t.test in ("ring ln", "ring le"):
            continue  # what that leaves open is the ring's own verdict
        if t.absent:
            yield f"{name} is {t.absent}" + ("" if t.absent == MISSING or t.reason else " without a reason")
        elif t.outcome == FAILS:
            yield f"{name} fails"
        elif t.outcome == NO_RULE and t.judged:  # else there is nothing that it is held against
            yield f"{name}: no rule"
        elif undecided(t):
            yield f"{name} is not decided"
