"""A visit's circuits as a table: one row a circuit, board by board, everything entered and everything read."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal

from ..site.events import Reading
from ..site.installation import Board, Circuit
from ..site.visit import Visit
from ..visitbook.places import place_of
from .cells import kept_from_formulas
from .columns import (
    BOARD,
    CIRCUIT,
    COLUMNS,
    CURVE,
    INSTRUMENT,
    LEADS,
    OF_CIRCUITS,
    POINTS,
    READING,
    REASON,
    TEST_V,
    YES_NO,
    Column,
    Reads,
    header_of,
)
from .values import BAR, Value, cell_of, standing


def as_csv(visit: Visit, board_id: str = "") -> str:
    """The table as CSV text: one header row with units, one row for each circuit, values between commas and quotes.

    board_id  only the circuits of this board. Raises KeyError when there is no such board.
    Texts that a spreadsheet could take for a formula get an apostrophe; reading the table takes it away again.
    """
    boards = [visit.site.board(board_id)] if board_id else list(visit.site.boards)
    readings: dict[str, list[Reading]] = {}
    for event in visit.events:
        if isinstance(event, Reading) and event.test in OF_CIRCUITS and not event.refused:
            readings.setdefault(event.of, []).append(event)
    rows = [_Row(c, readings.get(c.id, [])) for c in in_order(boards, visit.site.circuits)]
    known = {c.reads for c in COLUMNS if c.reads}
    extra = [r for row in rows for r in row.values if r not in known]
    columns = [*COLUMNS[:-3], *(_extra(r) for r in dict.fromkeys(extra)), *COLUMNS[-3:]]
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_MINIMAL, lineterminator="\r\n")
    writer.writerow([c.header for c in columns])
    for row in rows:
        writer.writerow([kept_from_formulas(row.cell(c)) for c in columns])
    return out.getvalue()


def in_order(boards: Sequence[Board], circuits: Sequence[Circuit]) -> list[Circuit]:
    """The circuits board by board, each board's in their own order."""
    return [c for b in boards for c in circuits if c.board == b.id]


def _extra(reads: Reads) -> Column:
    return Column(header_of(reads), "", READING, "", reads=reads)


class _Row:
    """One circuit with what it says in each column."""

    def __init__(self, circuit: Circuit, readings: Sequence[Reading]) -> None:
        self.circuit, self.readings = circuit, readings
        found = standing(readings)
        volts = {r.test_v for r in found if r.test == "insulation"}
        # One test voltage for the row; a second one stands in the head of a column of its own.
        self.test_v = 0.0 if 0.0 in volts else self._usual_volts()
        self.values: dict[Reads, list[Value]] = {}
        for reads, values in found.items():
            own = Reads(reads.test, reads.between, reads.method, 0.0 if reads.test_v == self.test_v else reads.test_v)
            self.values[own] = values
        reasons = {v.reason for values in found.values() for v in values if v.absent}
        self.reason = reasons.pop() if len(reasons) == 1 else ""
        self.own = {
            BOARD: circuit.board,
            CIRCUIT: circuit.id,
            TEST_V: plain(self.test_v) if self.test_v else "",
            REASON: self.reason,
            INSTRUMENT: _one_name(r.instrument for r in readings),
            LEADS: _one_name(r.leads for r in readings if r.leads),
        }

    def _usual_volts(self) -> float:
        counted = Counter(r.test_v for r in self.readings if r.test == "insulation" and r.test_v)
        return counted.most_common(1)[0][0] or 0.0 if counted else 0.0

    def cell(self, column: Column) -> str:
        """What stands in one column."""
        if column.reads is not None:
            return cell_of(self.values.get(column.reads, ()), self.reason)
        if column.key in self.own:
            return self.own[column.key]
        source = self.circuit.device if hasattr(self.circuit.device, column.key) else self.circuit
        return structure_cell(column, getattr(source, column.key))


def _one_name(names: Iterable[str]) -> str:
    found = set(names)
    return found.pop() if len(found) == 1 else ""


def structure_cell(column: Column, value: object) -> str:
    """A value of the installation as a cell: plain digits, words, points with their metres."""
    if value is None:
        return ""
    if column.kind == YES_NO:
        return "yes" if value else ""
    if column.kind == CURVE:
        assert isinstance(value, tuple)
        return BAR.join(f"{plain(a)} at {plain(s)}" for a, s in value)
    if column.kind == POINTS:
        assert isinstance(value, tuple)
        if value and value == tuple((str(i), None) for i in range(1, len(value) + 1)):
            return str(len(value))
        cell = BAR.join(
            name if place in (None, place_of(name)) else f"{name} = {plain(place)}" for name, place in value
        )
        return f"{cell} |" if cell.isdigit() else cell  # one point whose name is a number, not so many points
    if isinstance(value, (int, float)):
        return plain(value)
    return str(value)


def plain(number: float) -> str:
    """A number with every digit it has and no exponent: 2.5, 0.0004."""
    return format(Decimal(repr(number)).normalize(), "f")
