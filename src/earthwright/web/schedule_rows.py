"""The schedule as the pages show it: which tests stand in which column, and what was judged of each."""

from __future__ import annotations

from functools import lru_cache

from attrs import frozen

from ..base.digits import Kind
from ..base.figure import shown_span
from ..gates.shut import Gate
from ..gates.steps import gates
from ..outcomes.assessment import Assessment, PartJudged
from ..outcomes.circuits import BY_PARTICULARS, CircuitJudged, RingJudged, TestJudged
from ..outcomes.verdict import FAILS, MEETS, NO_RULE, NOT_DECIDED
from ..site.events import CALCULATED, CIRCUIT_TESTS, Reading
from ..site.installation import Board
from ..site.ledger import readings
from ..site.needs import RESIDUAL, SURGE, always_offered, keys_of, offered
from ..site.tests import BOARD, BY_LEADS, BY_NAME, CROSSED, DEAD_READ, ELECTRODE, ORIGIN, PART
from .words import say, title_of

# What a thing is asked for in the forms: (test, between, method).
Key = tuple[str, str, str]
FUNCTIONAL = "functional"
MOST_TOGETHER = 14  # places of a column that stand open at once on a phone


@frozen
class Cell:
    """One place in the schedule, with what was read and what came of it.

    name      name of its field;  title  what is measured;  shown  the digits or the word that counts, empty if none
    expected  the band in words, empty when nothing can be said
    """

    name: str
    of: str
    key: Key
    title: str
    unit: str
    word: bool
    shown: str = ""
    expected: str = ""
    judged: TestJudged | None = None
    gates: tuple[Gate, ...] = ()

    @property
    def outcome(self) -> str:
        """The verdict of the place; empty when nothing was read, or where no rule sets a limit to such a reading."""
        said = self.judged.outcome if self.judged and self.shown else ""
        return "" if said == NO_RULE and self.key[0] in BY_LEADS else said

    @property
    def good(self) -> bool:
        """Whether nothing is left to do here: it was read, and nothing speaks against it."""
        return bool(self.shown) and self.outcome in ("", MEETS)


@frozen
class Thing:
    """Something that tests are made of: the origin, a board, a circuit, an electrode, a part."""

    id: str
    title: str
    kind: str
    tests: tuple[TestJudged, ...]
    keys: tuple[Key, ...]
    circuit: CircuitJudged | None = None
    part: PartJudged | None = None

    @property
    def ring(self) -> RingJudged | None:
        """What was judged of the ring, if it is one."""
        return self.circuit.ring if self.circuit else None

    @property
    def failing(self) -> list[TestJudged]:
        """Rows without a reading of their own that do not keep their rule: no column of the schedule shows them."""
        return [t for t in worked_out(self) if t.outcome == FAILS]

    @property
    def left_open(self) -> list[TestJudged]:
        """What rests on particulars that are missing, said once for a board."""
        return [t for t in self.tests if t.test in BY_PARTICULARS and t.outcome == NOT_DECIDED]


def things(a: Assessment) -> list[Thing]:
    """Everything that has tests, in the order of the schedule."""
    o = a.visit.paperwork.origin
    of_origin = keys_of(
        (*always_offered(ORIGIN), *(RESIDUAL if o.switch_rcd_type or o.switch_rcd_ma is not None else ()))
    )
    found = [Thing(ORIGIN, say("tests.origin"), "origin", a.origin, of_origin)]
    for b in a.boards:
        found.append(Thing(b.board.id, b.board.name or b.board.id, "board", b.tests, _of_board(b.board)))
        for c in b.circuits:
            keys = keys_of(offered(c.circuit, residual=b.board.rcd is not None))
            found.append(Thing(c.circuit.id, f"{c.circuit.id} {c.circuit.name}".strip(), "circuit", c.tests, keys, c))
    for e in a.electrodes:
        name, keys = f"{say('things.electrode')} {e.electrode.id}", keys_of(always_offered(ELECTRODE))
        found.append(Thing(e.electrode.id, name, ELECTRODE, e.tests, keys))
    for p in a.parts:
        found.append(Thing(p.part.id, p.part.title, PART, (), keys_of(always_offered(PART)), None, p))
    return found


def _of_board(board: Board) -> tuple[Key, ...]:
    """The tests of a board: those of the device for the whole of it and of its surge protection where it has them."""
    more = (*(RESIDUAL if board.rcd else ()), *(SURGE if board.spd or board.spd_type else ()))
    return keys_of((*always_offered(BOARD), *more))


def key_words(key: Key) -> str:
    """A test in words, e.g. *insulation L-E*."""
    test, between, method = key
    return " ".join(x for x in (title_of(test), between, method) if x)


def cell(a: Assessment, thing: Thing, key: Key, blind: bool) -> Cell:
    """One place of the schedule."""
    test = key[0]
    rows = [t for t in thing.tests if t.test == test and not (t.point and test in CROSSED)]
    if test == FUNCTIONAL:
        rows = [t for t in rows if t.point.upper() == key[2].upper()]
    judged = next((t for t in reversed(rows) if any(_same(r, key) for r in t.readings)), None)
    other = rows[0] if rows else None
    taken = [r for r in readings(a.visit.events, thing.id, test) if _same(r, key)]
    shown = reading_words(taken[-1]) if taken else ""
    row = judged or other
    band = row.expected if row is not None else None
    unit = CIRCUIT_TESTS[test].unit
    hidden = blind and not shown
    return Cell(
        f"c.{thing.id}.{'.'.join(key)}",
        thing.id,
        key,
        key_words(key),
        unit,
        not unit,
        shown,
        "" if band is None or hidden else shown_span(band),
        row,
        closed_gates(a, thing.id, key),
    )


def in_parts(cells: list[tuple[Thing, Cell]]) -> list[tuple[str, bool, list[tuple[Thing, Cell]]]]:
    """A long column in parts, each with its name and whether it stands open: the first that has an empty place does."""
    parts = [cells[i : i + MOST_TOGETHER] for i in range(0, len(cells), MOST_TOGETHER)]
    first = next((i for i, p in enumerate(parts) if not all(c.shown for _, c in p)), -1)
    return [(say("tests.part", a=p[0][0].id, b=p[-1][0].id), i == first, p) for i, p in enumerate(parts)]


def closed_gates(a: Assessment, of: str, key: Key) -> tuple[Gate, ...]:
    """The gates that hold a test back now; the same for every dead test of a thing, so they are worked out once."""
    alike = "insulation" if key[0] in DEAD_READ else key[0]
    return _closed(_Moment(a), of, alike)


class _Moment:
    """An assessment held by what it is, not by what it says: comparing two of them would take longer than the gates."""

    def __init__(self, a: Assessment) -> None:
        self.a = a

    def __hash__(self) -> int:
        return id(self.a)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Moment) and other.a is self.a


@lru_cache(maxsize=64)
def _closed(moment: _Moment, of: str, test: str) -> tuple[Gate, ...]:
    a = moment.a
    after = a.visit.events[-1].seq + 1 if a.visit.events else 1
    step = Reading(seq=after, id="", test=test, of=of)
    return tuple(g for g in gates(a.visit, step, a.alarms) if not g.passes)


def _same(reading: Reading, key: Key) -> bool:
    test, between, method = key
    if test == FUNCTIONAL:  # which function stands as the point
        return reading.test == test and reading.point.upper() == method.upper()
    fits = reading.test == test and (BY_NAME[test].anywhere or reading.between in ("", between))
    return fits and (not method or reading.method in ("", method))


def reading_words(r: Reading) -> str:
    """The digits, the word, or why there is none."""
    if r.shown is None:
        return r.outcome or r.absent
    return r.shown.as_shown if r.shown.kind is Kind.VALUE else str(r.shown)


def worked_out(thing: Thing) -> list[TestJudged]:
    """Rows that are worked out from other readings or rest on particulars, those that are left open among them."""
    return [t for t in (*thing.tests, *(thing.circuit.left_open if thing.circuit else ())) if t.test in CALCULATED]
