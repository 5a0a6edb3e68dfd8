"""What rests on an entry that could not be read, or that cannot be, is not judged, and says on what it rests.

One mechanism for all of them: every key belongs to a group of facts (``fact`` of its field), every row and verdict rests
on groups (:data:`RESTS`); a thing rests on the supply, on the visit, on itself, and on what feeds it. A row that is not
named in :data:`RESTS` rests on all groups, so a new one is held back rather than judged on a default.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, TypeVar

from attrs import evolve

from ..base.errors import Finding, Severity
from ..evidence.bond import NOT_SHOWN
from ..outcomes.assessment import BondJudged, Next, PartJudged
from ..outcomes.circuits import BoardJudged, CircuitJudged, CpcJudged, ElectrodeJudged, RingJudged, TestJudged
from ..outcomes.verdict import NO_RULE, NOT_DECIDED, not_decided
from ..report import words
from ..site.events import ORIGIN, Reading
from ..site.tables import TABLES
from ..site.tests import BY_NAME, DEAD, LOOPS
from ..site.visit import Unread, Visit
from .circuits.limits import misread

if TYPE_CHECKING:
    from .circuits import InstallationJudged

_Shown = TypeVar("_Shown", CpcJudged, RingJudged)
NOTHING = "nothing"
REFUSED = "input.refused"
_BOND = frozenset({"temp_c", "shared_scale_error", "whole_site"})
# What each row and verdict rests on: of a test as it is declared, of conductors and parts here.
RESTS: dict[str, frozenset[str]] = {
    **{t.name: t.facts for t in BY_NAME.values() if t.facts is not None},
    **dict.fromkeys(("cpc", "ring"), DEAD),
    "bond": _BOND,
    "size": frozenset({"system", "pme", "bonding", "tails", "edition"}),
    "joint": frozenset({"edition", "decision"}),
    "part": frozenset({"extraneous_ma", "edition", "decision", "system", "pme"}),
}
_NOT_OF_ROWS = frozenset({"bonding", "tails", "extraneous_ma", NOTHING})
_USED = frozenset(used for t in BY_NAME.values() for used in t.uses)
# Rows of the origin, of electrodes and of boards look at the circuits and boards below them for these.
_FROM_BELOW = frozenset({"device", "residual"})


@lru_cache(maxsize=1)
def _groups() -> Mapping[tuple[str, str], str]:
    """The group of each declared field: of the visit and the supply by their own name, of any other entry by its key alone."""
    own = {(t.name, f.key): f.fact for t in TABLES if not t.many for f in t.fields if f.fact}
    alone = {("", key): fact for (table, key), fact in own.items() if table != "visit"}
    return alone | {("", f.key): f.fact for t in TABLES if t.many for f in t.fields if f.fact} | own


def group_of(unread: Unread) -> str:
    """The group of facts that an unread key belongs to; a key that declares none is a group of its own."""
    groups = _groups()
    return groups.get((unread.of, unread.key)) or groups.get(("", unread.key), unread.key)


class Held:
    """What of a visit's entries could not be read, asked for one row or verdict at a time."""

    def __init__(self, visit: Visit, more: Iterable[Unread] = ()) -> None:
        self._unread = tuple(dict.fromkeys((*visit.unread, *more)))
        self._fed_by = {b.id: b.fed_by for b in visit.site.boards}
        self._board = {c.id: c.board for c in visit.site.circuits}
        taken: dict[tuple[str, str], list[Reading]] = {}
        for e in visit.events:
            if isinstance(e, Reading) and e.test in _USED:
                taken.setdefault((e.of, e.test), []).append(e)
        self._misread = {key for key, readings in taken.items() if misread(readings)}

    def __bool__(self) -> bool:
        return bool(self._unread or self._misread)

    def why(self, what: str, of: str, seqs: Iterable[int] = ()) -> str:
        """On which unread entry a row or verdict rests, as part of a sentence; empty when on none."""
        seen = tuple(seqs)
        groups, above = RESTS.get(what), self._above(of)
        for u in self._unread:
            by_reading = any(s in u.readings or (u.since and s >= u.since) for s in seen)
            if by_reading or (not u.readings and not u.since and self._concerns(u, groups, of, above)):
                return f"it rests on {u.what}"
        for test in BY_NAME[what].uses if what in BY_NAME else ():
            for thing in (of, *above, ORIGIN):
                if (thing, test) in self._misread:
                    return f"it rests on {test} of {thing}, which could not be read"
        return ""

    def _concerns(self, u: Unread, groups: frozenset[str] | None, of: str, above: tuple[str, ...]) -> bool:
        group = group_of(u)
        if u.step:
            return False  # a gate rests on it, and no verdict
        if u.of == "link":
            return groups in (_BOND, DEAD)
        if group in _NOT_OF_ROWS and (groups is None or group not in groups):
            return False
        if groups is not None and group not in groups:
            return False
        if u.of in ("supply", "visit") or u.of == of:
            return True
        if u.of in above:
            return groups is None or groups == LOOPS or group == "residual"
        below = of not in self._board and group in _FROM_BELOW
        return below and u.of in {*self._board, *self._fed_by}

    def _above(self, of: str) -> tuple[str, ...]:
        """The boards and circuits before a circuit or board, nearest first."""
        found: list[str] = []
        board = self._board.get(of, "")
        feeder = self._fed_by.get(of, "")
        while (board or feeder) and len(found) < 2 * len(self._fed_by) + 2:
            if board:
                found.append(board)
                feeder, board = self._fed_by.get(board, ""), ""
            else:
                found.append(feeder)
                board, feeder = self._board.get(feeder, ""), ""
        return tuple(found)

    def row(self, row: TestJudged) -> TestJudged:
        """A row as it may stand."""
        if row.absent or (row.outcome in (NO_RULE, NOT_DECIDED) and not row.findings):
            return row
        why = self.why(row.test, row.of, (r.seq for r in row.readings if not r.refused))
        if not why:
            return row
        return evolve(row, outcome=NOT_DECIDED, judged=(), findings=(), reason=why, words=f"Not decided: {why}.")

    def rows(self, rows: Sequence[TestJudged]) -> tuple[TestJudged, ...]:
        """Every row as it may stand."""
        return tuple(self.row(r) for r in rows)

    def circuit(self, c: CircuitJudged) -> CircuitJudged:
        """A circuit with its rows, its protective conductor and its ring as they may stand."""
        seqs = tuple(r.seq for t in c.tests for r in t.readings if t.test in RESTS and RESTS[t.test] == DEAD)
        return evolve(c, tests=self.rows(c.tests), cpc=self._shown(c.cpc, c, seqs), ring=self._shown(c.ring, c, seqs))

    def _shown(self, judged: _Shown | None, c: CircuitJudged, seqs: tuple[int, ...]) -> _Shown | None:
        why = self.why("cpc", c.circuit.id, seqs)
        if judged is None or judged.verdict == NOT_SHOWN or not why:
            return judged
        return evolve(judged, verdict=NOT_SHOWN, named="", findings=(), words=f"Not shown: {why}.")

    def board(self, b: BoardJudged) -> BoardJudged:
        """A board with its circuits."""
        return evolve(b, tests=self.rows(b.tests), circuits=tuple(self.circuit(c) for c in b.circuits))

    def electrode(self, e: ElectrodeJudged) -> ElectrodeJudged:
        """An electrode with its rows."""
        return evolve(e, tests=self.rows(e.tests))


def hold_installation(judged: InstallationJudged, held: Held) -> InstallationJudged:
    """What was judged of the installation, without the verdicts that rest on what could not be read or cannot be."""
    if not held:
        return judged
    kept = judged._replace(
        origin=held.rows(judged.origin),
        boards=tuple(held.board(b) for b in judged.boards),
        electrodes=tuple(held.electrode(e) for e in judged.electrodes),
    )
    gone = set(_findings(judged)) - set(_findings(kept))
    return kept._replace(findings=tuple(f for f in judged.findings if f not in gone))


def _findings(judged: InstallationJudged) -> Iterable[object]:
    tests = [*judged.origin, *(t for e in judged.electrodes for t in e.tests)]
    for b in judged.boards:
        tests += b.tests
        for c in b.circuits:
            tests += c.tests
            yield from (*(c.cpc.findings if c.cpc else ()), *(c.ring.findings if c.ring else ()))
    for t in tests:
        yield from t.findings


def hold_bond(b: BondJudged, held: Held) -> BondJudged:
    """A bond without the verdicts that rest on what could not be read."""
    if not held:
        return b
    seqs = tuple(x.reading.seq for x in b.readings)
    if why := held.why("size", b.bond.id):
        b = evolve(b, size=evolve(b.size, judged=not_decided(None, why)))
    if why := held.why("joint", b.bond.id, seqs):
        b = evolve(b, joint=not_decided(None, why))
    b = evolve(b, words=words.bond_words(b))
    if (why := held.why("bond", b.bond.id, seqs)) and b.readings:
        said = Finding(
            f"bond {b.bond.id}", f"Not judged: {why}.", Severity.ERROR, REFUSED, b.bond.id, do="Correct the entry."
        )
        then = b.next  # danger, and what is off, come before the entry
        if then is None or then.test not in ("alarm", "reconnect"):
            then = Next(f"Correct the entry first: {why}.", "entry")
        b = evolve(b, verdict=NOT_SHOWN, named="", explanations=(), findings=(*b.findings, said), next=then)
        b = evolve(b, words=words.held_words(b, why))
    return b


def hold_part(p: PartJudged, held: Held) -> PartJudged:
    """A part without the verdict that rests on what could not be read."""
    why = held.why("part", p.part.id) if held else ""
    return evolve(p, verdict=NOT_DECIDED, rule="", findings=(), words=f"Not decided: {why}.") if why else p
