"""What was put right within a visit, and which readings speak of what was found before it.

A repair starts a new state of the thing. Readings before it and after it never weigh on the same unknown: the first tell
what was found, the others what is left. Nothing of this is typed twice: it follows from the order of the steps.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from ..base.days import in_words
from .events import EARTHING, Event, Reading, Repair
from .tests import TESTS, through

# Read over everything that lies between the source and the place, so what was remade on the way is part of it.
THROUGH = tuple(t.name for t in TESTS if t.far)
CONDUCTING = ("", "line", "neutral", "cpc", "earth")  # ends through which such a reading passes
CONTINUITY = ("r1r2", "r2")  # the same when read from the MET


def touches(repair: Repair, reading: Reading, before: Collection[str] = ()) -> bool:
    """Whether what was remade is part of what a reading was taken of.

    before  what lies between the source and the thing read: boards, the circuits that feed them, electrodes
    """
    thing, _, end = repair.what.partition(":")
    if thing == reading.of:
        return not end or reading.test in through(end)
    if reading.test in CONTINUITY and reading.between == "MET":
        return thing in before and end in ("", "cpc", "earth")
    if reading.test not in THROUGH:
        return False
    return thing == EARTHING or (thing in before and end in CONDUCTING)


def ended_by(repairs: Iterable[Repair], reading: Reading, before: Collection[str] = ()) -> Repair | None:
    """The repair that ended the state in which a reading was taken; None when it speaks of what is there now."""
    return next((r for r in repairs if r.seq > reading.seq and touches(r, reading, before)), None)


def repairs_of(events: Iterable[Event], *names: str) -> tuple[Repair, ...]:
    """The repairs of these things, in order; of all things when none is named."""
    return tuple([e for e in events if type(e) is Repair and (not names or e.what in names)])


def put_right(repair: Repair) -> str:
    """A repair in words: ``put right (joint), 10:40, A. Example``."""
    return ", ".join(x for x in (f"put right ({repair.remade.rstrip('.')})", in_words(repair.at), repair.by) if x)
