"""What may be noted as put right with one tap: offered where a reading speaks of something to put right."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from ..evidence.bond import DISPROVED
from ..outcomes.assessment import Assessment, BondJudged
from ..outcomes.verdict import FAILS
from .address import part_of_address
from .schedule_rows import Thing
from .words import say

BOND = ("joint", "conductor", "part")
# Of a circuit: the end that was remade and the word for it; of other things they are remade as a whole.
CIRCUIT = (("cpc", "cpc"), ("line", "line"), ("neutral", "neutral"), ("device", "device"))
ELSE = {"board": "connection", "electrode": "electrode", "origin": "connection"}


@frozen
class Mend:
    """One thing to put right: its id, the page to come back to, what one tap writes (of what, in words), what was noted before."""

    what: str
    back: str
    choices: tuple[tuple[str, str], ...]
    found: tuple[str, ...] = ()


def mend_of(b: BondJudged) -> Mend | None:
    """A bond that is disproved, reads well only in between, or has a poor joint; a sound one is left alone."""
    if b.verdict != DISPROVED and not b.contradicted and b.joint.outcome != FAILS:
        return None
    return Mend(b.bond.id, f"bond/{part_of_address(b.bond.id)}", _said(b.bond.id, BOND))


def mend_of_thing(a: Assessment, thing: Thing) -> Mend | None:
    """A circuit, board, electrode or the origin with a test that fails, a conductor or ring that is disproved, or danger at the supply."""
    found = tuple(f.words for f in a.found if f.of == thing.id)
    judged = (thing.circuit.cpc, thing.circuit.ring) if thing.circuit else ()
    wrong = any(t.outcome == FAILS and t.readings for t in thing.tests)
    wrong = wrong or any(j is not None and j.verdict == DISPROVED for j in judged)
    wrong = wrong or (thing.kind == "origin" and bool(a.alarms))  # danger at the supply ends with its repair
    if thing.kind == "part" or not (wrong or found):
        return None
    if not wrong:
        return Mend(thing.id, "", (), found)
    choices = tuple((f"{thing.id}:{end}", say(f"bond.remade_{word}")) for end, word in CIRCUIT)
    if thing.circuit is None:
        choices = _said(thing.id, (ELSE[thing.kind],))
    return Mend(thing.id, f"circuits/{part_of_address(thing.id)}", choices, found)


def _said(what: str, words: Iterable[str]) -> tuple[tuple[str, str], ...]:
    return tuple((what, say(f"bond.remade_{word}")) for word in words)
