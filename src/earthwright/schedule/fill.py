"""A table of circuits filled into a visit book: only what is not said there yet, remarks kept, nothing overwritten."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from decimal import Decimal

from attrs import define, field, frozen

from ..base.errors import Finding, Severity, VisitBookError
from ..site.events import Reading
from ..site.installation import Circuit, Device
from ..site.ledger import still_off
from ..site.visit import Visit
from ..visitbook.devices import RCD_KEYS
from ..visitbook.lines import Lines
from ..visitbook.read import read_text
from ..visitbook.write import toml_text
from .cells import fault, spoilt
from .columns import BOARD, BY_KEY, CIRCUIT, COLUMNS, INSTRUMENT, LEADS, READING, REASON, TEST_V, Column
from .literals import literal, says_the_same
from .new import new_steps
from .read import Cell, Sheet, SheetRow
from .values import standing
from .write import structure_cell

_OF_READINGS = (REASON, TEST_V, INSTRUMENT, LEADS)
_STRUCTURE = tuple(c for c in COLUMNS if c.kind != READING and c.key not in (*_OF_READINGS, CIRCUIT))
_DEVICE = {a.name for a in Device.__attrs_attrs__}


@frozen
class Filled:
    """What came of filling a table in.

    text      the visit book with what was added; the same text as before when an error was found
    circuits, values, readings  how many circuits, values of circuits and readings were added
    off       what was off after the last step of the visit: it holds for the readings that were added
    """

    text: str
    findings: tuple[Finding, ...]
    circuits: int = 0
    values: int = 0
    readings: int = 0
    off: tuple[str, ...] = ()

    @property
    def good(self) -> bool:
        """Whether nothing was refused."""
        return all(f.severity.rank > Severity.ERROR.rank for f in self.findings)


@frozen
class _Tag:
    """The row that an added line comes from, with the cells its keys come from."""

    row: SheetRow
    cells: Mapping[str, tuple[str, Column]]


@define
class _Plan:
    """What is to be added: keys of circuits that stand there (by their line), new circuits, steps."""

    keys: dict[int, list[tuple[str, _Tag]]] = field(factory=dict)
    circuits: list[tuple[str, _Tag]] = field(factory=list)
    steps: list[tuple[str, _Tag]] = field(factory=list)
    count: dict[str, int] = field(factory=lambda: {"circuits": 0, "values": 0, "readings": 0})


def fill(text: str, sheet: Sheet, file: str = "visit book") -> Filled:
    """The visit book with the circuits, values and readings of a table that it does not hold yet.

    A cell that says something else than the visit book is refused and nothing is written. Everything that is wrong is
    told at once, each with its cell. Raises VisitBookError when ``text`` is no visit book.
    """
    book = read_text(text, file)
    findings = list(sheet.findings)
    if book.visit is None:
        return Filled(text, (*book.findings, *findings))
    data = tomllib.loads(text.replace("\r\n", "\n"), parse_float=Decimal)
    reader = _Reader(book.visit, book.broken, data, Lines(text), findings)
    for row in sheet.rows:
        reader.row(row)
    findings = [f if f.file else f.at(sheet.name, 0) for f in findings]
    if not sheet.rows and not findings:
        findings.append(fault("row 2", "", "There is no row below the header.", "a row for each circuit", "none"))
    new, tags = _compose(text, reader.plan, sheet.name)
    try:
        after = read_text(new, file)
    except VisitBookError as error:
        findings.append(
            fault("table", "", "This cannot be added to the visit book.", "tables such as [[circuit]]", str(error))
        )
        return Filled(text, tuple(findings))
    before = {(f.where, f.what, f.found) for f in book.findings}
    said = [f for f in after.findings if (f.where, f.what, f.found) not in before]
    faulty = {tags[f.line].row.number for f in said if f.line in tags and not f.where.endswith(": of")}
    for finding in said:
        # That a reading's own circuit is broken is told by what broke it.
        if not (finding.where.endswith(": of") and finding.line in tags and tags[finding.line].row.number in faulty):
            findings.append(_at_cell(finding, tags, sheet.name))
    findings = list(dict.fromkeys(findings))
    if all(f.severity.rank > Severity.ERROR.rank for f in findings):
        assert after.visit is not None  # its heading is the old one, which was read
        findings += _not_there(sheet, after.visit)
    off = tuple(e.what for e in still_off(book.visit.events))
    filled = Filled(new, tuple(findings), **reader.plan.count, off=off)
    if filled.good:
        return filled
    # Rows that rest on a broken entry of the visit book are refused for that entry's sake, so its fault comes first.
    resting = any(f.found in book.broken for f in findings if f.found)
    own = [f for f in book.findings if resting and f.severity is Severity.ERROR]
    return Filled(text, (*own, *findings), off=off)


class _Reader:
    """The rows one after another, each against what the visit says already."""

    def __init__(
        self, visit: Visit, broken: tuple[str, ...], data: dict[str, object], lines: Lines, findings: list[Finding]
    ) -> None:
        self.visit, self.broken, self.lines, self.findings = visit, broken, lines, findings
        self.plan = _Plan()
        self.circuits = {c.id: c for c in visit.site.circuits}
        self.tables = _tables(data, "circuit")
        self.usual = {i: _said(t.get("usual")) for i, (_, t) in _tables(data, "board").items()}
        self.everywhere = _said(data.get("usual"))
        self.only_board = visit.site.boards[0].id if len(visit.site.boards) == 1 else ""
        self.readings: dict[str, list[Reading]] = {}
        for event in visit.events:
            if isinstance(event, Reading) and not event.refused:
                self.readings.setdefault(event.of, []).append(event)

    def row(self, row: SheetRow) -> None:
        """One row: the circuit it names, its values, its readings."""
        name = row.cells.get(BY_KEY[CIRCUIT].header)
        if name is None:
            first = next(iter(row.cells.values()), Cell(f"row {row.number}", ""))
            header = BY_KEY[CIRCUIT].header
            self.findings.append(fault(f"row {row.number}", header, "Which circuit is this?", "its id", first.text))
            return
        circuit = self.circuits.get(name.text)
        if circuit is None and name.text in self.broken:
            what = f"The entry of circuit '{name.text}' is broken in the visit book, so nothing is added to it."
            self.findings.append(
                fault(name.address, "Circuit", what, "an entry that can be read", name.text, entry=name.text)
            )
            return
        if circuit is None and (made := spoilt(name.text)):
            self.findings.append(fault(name.address, "Circuit", made, "the id as it was", name.text, entry=name.text))
            return
        if circuit is None:
            self._new(row, name)
        else:
            self._compare(row, circuit)
        known = standing(self.readings.get(name.text, ()))
        for step in new_steps(row, name.text, known, self.findings):
            tag = _Tag(row, step.cells)
            self.plan.steps.extend((line, tag) for line in step.lines)
            self.plan.count["readings"] += step.count

    def _cells(self, row: SheetRow, circuit: Circuit, always: set[str] | None = None) -> list[tuple[Column, Cell, str]]:
        """The cells that say something else than the circuit does, and those of ``always``, each as it is written."""
        found = []
        for column in _STRUCTURE:
            cell = row.cells.get(column.header)
            if cell is None:
                continue
            if column.key not in (always or ()) and says_the_same(column, cell, _value(circuit, column)):
                continue
            value = literal(column, cell, self.findings, circuit.id)
            if value is not None:
                found.append((column, cell, value))
        return found

    def _new(self, row: SheetRow, name: Cell) -> None:
        written = literal(BY_KEY[CIRCUIT], name, self.findings, name.text)
        # What goes without saying is not written, unless something else may be usual on that board.
        usual = self.everywhere | self.usual.get(row.text(BY_KEY[BOARD].header) or self.only_board, set())
        always = usual | set(RCD_KEYS) if usual & set(RCD_KEYS) else usual
        cells = self._cells(row, Circuit(name.text, ""), always)
        if written is None:
            return
        at = {"id": (name.address, BY_KEY[CIRCUIT])} | {c.key: (cell.address, c) for c, cell, _ in cells}
        tag = _Tag(row, at)
        self.plan.circuits += [("", tag), ("[[circuit]]", tag), (f"id = {written}", tag)]
        self.plan.circuits += [(f"{column.key} = {value}", tag) for column, _, value in cells]
        self.plan.count["circuits"] += 1

    def _compare(self, row: SheetRow, circuit: Circuit) -> None:
        number, table = self.tables.get(circuit.id, (0, {}))
        line = self.lines.of("circuit", number)
        said = _said(table) | self.everywhere | self.usual.get(circuit.board, set())
        added: list[tuple[Column, Cell, str]] = []
        for column, cell, value in self._cells(row, circuit):
            now = _value(circuit, column)
            if column.key == BOARD or column.key in said:
                what = f"The visit book says {structure_cell(column, now) or 'nothing of the kind'}; it is not overwritten."
                do = "Correct the cell, or the visit book where it is wrong."
                self.findings.append(
                    fault(cell.address, column.header, what, structure_cell(column, now), cell.text, do, circuit.id)
                )
            elif not line:
                what = "The circuits stand in the visit book in one list, so nothing can be added to one of them."
                self.findings.append(fault(cell.address, column.header, what, "[[circuit]] tables", cell.text))
            else:
                added.append((column, cell, value))
        tag = _Tag(row, {c.key: (cell.address, c) for c, cell, _ in added})
        if added:
            self.plan.keys[line] = [(f"{c.key} = {value}", tag) for c, _, value in added]
            self.plan.count["values"] += len(added)


def _value(circuit: Circuit, column: Column) -> object:
    return getattr(circuit.device if column.key in _DEVICE else circuit, column.key)


def _said(table: object) -> set[str]:
    """The keys that a table says something about, those inside a device among them."""
    if not isinstance(table, dict):
        return set()
    keys, device = set(table), table.get("device")
    if isinstance(device, dict):
        keys |= set(device)
    elif isinstance(device, str):
        keys |= {"type", "rating_a"}
        if re.match(r"\s*(BS|EN|IEC|HD)", device):
            keys.add("standard")
    if "length_tol_pct" in keys:
        keys.add("length_tol_m")
    return keys


def _tables(data: Mapping[str, object], name: str) -> dict[str, tuple[int, dict[str, object]]]:
    """The tables of an array by their id, with their number."""
    tables = data.get(name)
    found = {}
    for number, table in enumerate(tables if isinstance(tables, list) else [tables]):
        if isinstance(table, dict) and isinstance(table.get("id"), str):
            found[str(table["id"]).strip()] = number, table
    return found


def _compose(text: str, plan: _Plan, name: str) -> tuple[str, dict[int, _Tag]]:
    """The text with what is added, and for each added line the row it comes from."""
    ending = "\r\n" if "\r\n" in text else "\n"
    lines: list[str] = []
    tags: dict[int, _Tag] = {}

    def add(line: str, tag: _Tag) -> None:
        lines.append(line)
        tags[len(lines)] = tag

    for number, line in enumerate(text.replace("\r\n", "\n").removesuffix("\n").split("\n"), 1):
        lines.append(line)
        for key, tag in plan.keys.get(number, ()):
            add(key, tag)
    if plan.circuits or plan.steps:
        whence = toml_text(name.replace("\\", "/").rsplit("/", 1)[-1][:80])
        lines += ["", f"# From the table {whence}:"]
    for key, tag in (*plan.circuits, *plan.steps):
        add(key, tag)
    return ending.join(lines) + ending, tags


def _not_there(sheet: Sheet, visit: Visit) -> list[Finding]:
    """The cells that the new visit book does not say, as a last check on the writing: whatever was added is read again."""
    found = []
    circuits = {c.id: c for c in visit.site.circuits}
    readings: dict[str, list[Reading]] = {}
    for event in visit.events:
        if isinstance(event, Reading) and not event.refused:
            readings.setdefault(event.of, []).append(event)
    for row in sheet.rows:
        name = row.text(BY_KEY[CIRCUIT].header)
        circuit = circuits.get(name)
        for column in _STRUCTURE:
            cell = row.cells.get(column.header)
            if cell is None or (circuit is not None and says_the_same(column, cell, _value(circuit, column))):
                continue
            found.append(_lost(cell, column, name, sheet.name))
        said: list[Finding] = []
        for step in new_steps(row, name, standing(readings.get(name, ())), said):
            found += [_lost(Cell(cell, ""), column, name, sheet.name) for cell, column in step.cells.values()]
        found += [f for f in said if f.severity is Severity.ERROR]
    return found


def _lost(cell: Cell, column: Column, circuit_id: str, name: str) -> Finding:
    what = "This could not be written into the visit book in its place; add it there by hand."
    return fault(cell.address, column.header, what, "a visit book that then says it", cell.text, entry=circuit_id).at(
        name, 0
    )


def _at_cell(finding: Finding, tags: Mapping[int, _Tag], name: str) -> Finding:
    """A finding of the visit book's reader about an added line, told at the cell that the line comes from."""
    tag = tags.get(finding.line)
    if tag is None:
        return finding
    key = finding.where.partition(": ")[2].removeprefix("tests: ").removeprefix("device: ")
    cell, column = tag.cells.get(key, ("", BY_KEY[CIRCUIT]))
    if not cell:
        named = tag.row.cells.get(BY_KEY[CIRCUIT].header)
        cell = named.address if named else f"row {tag.row.number}"
    told = fault(cell, column.header, finding.what, finding.expected, finding.found, finding.do, finding.entry)
    return Finding(
        told.where, told.what, finding.severity, told.family, told.entry, told.expected, told.found, told.do, file=name
    )
