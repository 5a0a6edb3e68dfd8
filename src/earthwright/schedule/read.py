"""A table of circuits read back: every bad cell is told with its place, and nothing is taken silently."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from attrs import field, frozen

from ..base import limits
from ..base.errors import Finding, Severity
from ..base.oneline import hides, one_line
from .cells import address, as_it_was, fault
from .columns import BY_KEY, CIRCUIT, Column, column_of

NOTE = "input.table"
_SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs"}


@frozen
class Cell:
    """One cell that says something."""

    address: str
    text: str


@frozen
class SheetRow:
    """One row: its number in the file, counted from 1, and its cells by column."""

    number: int
    cells: dict[str, Cell] = field(factory=dict)

    def text(self, header: str) -> str:
        """What stands in a column; empty when nothing does."""
        cell = self.cells.get(header)
        return cell.text if cell else ""


@frozen
class Sheet:
    """What a table says: its columns, its rows, and what is wrong with its form."""

    columns: tuple[Column, ...]
    rows: tuple[SheetRow, ...]
    findings: tuple[Finding, ...]
    name: str = "table"


def read_sheet(content: bytes, name: str = "table") -> Sheet:
    """The rows and cells of a CSV file.

    content  UTF-8, with or without a mark at its beginning; columns parted by commas, or by semicolons or tabs, which is
    then said aloud;  name  what the findings call the file
    Findings tell everything that is wrong with the form: encoding, quotes, header, units, columns, rows, duplicates.
    """
    findings: list[Finding] = []
    text = _text(content, findings)
    if text is None:
        return Sheet((), (), tuple(f.at(name, 0) for f in findings), name)
    separator, text = _separator(text, findings)
    lines = _lines(text, separator, findings)
    columns, first = _header(lines, findings)
    rows = _rows(lines[first:], columns, findings) if columns else ()
    findings = [f.at(name, 0) for f in findings]
    return Sheet(tuple(c for c in columns if c is not None), rows, tuple(findings), name)


def lines_of(content: bytes, findings: list[Finding]) -> list[tuple[int, list[str]]]:
    """The rows of any CSV file with their numbers, empty ones left out; what is wrong with its form goes to ``findings``."""
    text = _text(content, findings)
    if text is None:
        return []
    separator, text = _separator(text, findings)
    return _lines(text, separator, findings)


def _text(content: bytes, findings: list[Finding]) -> str | None:
    save = "In the spreadsheet choose 'CSV UTF-8' when saving."
    if limits.SHEET.refuses(len(content)):
        findings.append(fault("table", "", "This is too large for a table.", limits.SHEET.said(), str(len(content))))
        return None
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        findings.append(fault("table", "", "This file is in UTF-16.", "text in UTF-8", "a mark of UTF-16", save))
        return None
    if content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        findings.append(fault("table", "", "This is a spreadsheet, not CSV.", "text in UTF-8", "a packed file", save))
        return None
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content[: error.start].count(b"\n") + 1
        found = f"byte {content[error.start]:#04x} in row {row}"
        findings.append(fault(f"row {row}", "", "This file is not in UTF-8.", "text in UTF-8", found, save))
        return None
    if "\0" in text or "\ufffd" in text:
        row = text[: text.find("\0") if "\0" in text else text.find("\ufffd")].count("\n") + 1
        what = "A character here is none: the file was damaged or saved with another encoding."
        findings.append(fault(f"row {row}", "", what, "text in UTF-8", "a character that cannot be read", save))
        return None
    return text


def _separator(text: str, findings: list[Finding]) -> tuple[str, str]:
    """Separator of the columns, and the text without a line that only names it (spreadsheets do not count that one)."""
    first, _, rest = text.partition("\n")
    separator = ""
    said = first.strip("\r\n").strip('"')
    if said.lower().startswith("sep=") and len(said) == 5:
        separator, text = said[4], rest
        first = text.partition("\n")[0]
    if separator not in _SEPARATORS:
        counts = {s: first.count(s) for s in _SEPARATORS}
        separator = max(counts, key=lambda s: counts[s]) if any(counts.values()) else ","
    if separator != ",":
        what = f"The columns of this file are parted by {_SEPARATORS[separator]}; it was read so."
        because = "A spreadsheet that does this may also write decimal commas; those are refused cell by cell."
        findings.append(
            Finding("table", what, Severity.NOTE, NOTE, "", "commas", _SEPARATORS[separator], because=because)
        )
    return separator, text


def _lines(text: str, separator: str, findings: list[Finding]) -> list[tuple[int, list[str]]]:
    """The rows with their numbers as a spreadsheet counts them; empty ones are left out."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    found: list[tuple[int, list[str]]] = []
    number = 0
    try:
        for cells in reader:
            number += 1
            if any(c.strip() for c in cells):
                found.append((number, cells))
            if len(found) > limits.SHEET_ROWS.most + 1:
                findings.append(
                    fault(f"row {number}", "", "These are too many rows.", limits.SHEET_ROWS.said(), "more")
                )
                return []
    except csv.Error as error:
        where = f"row {number + 1}"
        findings.append(
            fault(
                where,
                "",
                "The quotes in this file do not match.",
                'a cell between " and "',
                str(error),
                "Save it again.",
            )
        )
        return []
    return found


def _header(lines: Sequence[tuple[int, list[str]]], findings: list[Finding]) -> tuple[list[Column | None], int]:
    """The columns by their place, and the place of the first row below them."""
    if not lines:
        if not findings or all(f.severity is Severity.NOTE for f in findings):
            findings.append(fault("A1", "", "This table is empty.", "a header and a row for each circuit", "nothing"))
        return [], 0
    number, heads = lines[0]
    named = [column_of(h)[0] for h in heads]
    if not any(c is not None for c in named):
        expected = "a first row that names the columns: Board, Circuit, …"
        what = "The first row names no column that is known here."
        findings.append(fault(address(number, 1), "", what, expected, ", ".join(heads)[:80]))
        return [], 0
    if limits.SHEET_COLUMNS.refuses(len(heads)):
        findings.append(
            fault(f"row {number}", "", "These are too many columns.", limits.SHEET_COLUMNS.said(), str(len(heads)))
        )
        return [], 0
    columns: list[Column | None] = []
    for place, head in enumerate(heads, 1):
        column, why = column_of(head)
        cell = address(number, place)
        if column is not None and column.header in {c.header for c in columns if c}:
            findings.append(fault(cell, column.header, "This column stands twice.", "each column once", head))
            column = None
        elif column is None and head.strip():
            findings.append(fault(cell, "", why, "a column of the table", head))
        elif column is None and any(place <= len(c) and c[place - 1].strip() for _, c in lines[1:]):
            below = next(n for n, c in lines[1:] if place <= len(c) and c[place - 1].strip())
            what = "There are values below a head that is empty."
            findings.append(fault(cell, "", what, "a column of the table", f"a value in {address(below, place)}"))
        columns.append(column)
    if CIRCUIT not in {c.key for c in columns if c}:
        missing = BY_KEY[CIRCUIT].header
        findings.append(
            fault(f"row {number}", missing, "This column is needed and is missing.", missing, "no such column")
        )
    return columns, 1


def _rows(
    lines: Sequence[tuple[int, list[str]]], columns: Sequence[Column | None], findings: list[Finding]
) -> tuple[SheetRow, ...]:
    rows: list[SheetRow] = []
    for number, cells in lines:
        if len(cells) < len(columns):
            found = f"{len(cells)} cells"
            what = "This row ends before its last column."
            findings.append(fault(address(number, len(cells) + 1), "", what, f"{len(columns)} cells", found))
        for place, text in enumerate(cells[len(columns) :], len(columns) + 1):
            if text.strip():
                findings.append(
                    fault(address(number, place), "", "This cell stands beyond the last column.", "an empty cell", text)
                )
        kept: dict[str, Cell] = {}
        for place, (column, text) in enumerate(zip(columns, cells, strict=False), 1):
            if column is not None and hides(text):
                what = "There is a character here that cannot be seen."
                findings.append(fault(address(number, place), column.header, what, "letters and digits", text))
            elif column is not None and text.strip():
                kept[column.header] = Cell(address(number, place), one_line(as_it_was(text)).strip())
        rows.append(SheetRow(number, kept))
    _twice(rows, findings)
    return tuple(rows)


def _twice(rows: Sequence[SheetRow], findings: list[Finding]) -> None:
    header = BY_KEY[CIRCUIT].header
    seen: dict[str, str] = {}
    for row in rows:
        cell = row.cells.get(header)
        if cell is None:
            continue
        if cell.text in seen:
            what = f"This circuit stands in {seen[cell.text]} already."
            findings.append(fault(cell.address, header, what, "each circuit once", cell.text, entry=cell.text))
        seen.setdefault(cell.text, cell.address)
