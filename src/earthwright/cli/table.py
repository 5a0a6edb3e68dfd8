"""The circuits of a visit as a table for a spreadsheet, and a table filled into a visit book."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from ..base import limits
from ..base.counted import counted
from ..base.errors import Severity, VisitBookError
from ..base.oneline import one_line
from ..schedule import as_csv, fill, read_sheet
from ..visitbook.read import read_book
from .exits import Exit
from .files import OUT, REPLACE, free, read_bytes, write
from .main import main
from .visits import VISIT, read

_TABLE = click.argument("table", type=click.Path(path_type=Path))


@main.command()
@VISIT
@OUT
@REPLACE
@click.option("--board", "board_id", default="", help="Only the circuits of this board.")
def table(visit: Path, output: Path, replace: bool, board_id: str) -> None:
    """Write the circuits of a visit as CSV: one row each, with everything entered and read.

    UTF-8 with a mark at its beginning, so that spreadsheets show Ω. The columns stand in docs/schedule-columns.md.
    """
    try:
        book = read_book(visit)
    except VisitBookError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.NOT_OURS)
    for finding in book.findings:
        click.echo(finding.sentence(), err=True)
    if book.visit is None:
        sys.exit(Exit.UNREAD)
    try:
        text = as_csv(book.visit, board_id)
    except KeyError as error:
        known = ", ".join(b.id for b in book.visit.site.boards) or "none entered"
        raise click.UsageError(f"There is no board '{board_id}'. Known: {known}.") from error
    write(output, text.encode("utf-8-sig"), replace=replace)
    if book.broken:
        click.echo("Left out, because their entries cannot be read: " + ", ".join(book.broken) + ".", err=True)
    sys.exit(read(book.findings))


@main.command(name="fill")
@VISIT
@_TABLE
@OUT
@REPLACE
def fill_(visit: Path, table: Path, output: Path, replace: bool) -> None:
    """Add what a table (CSV) holds to a visit book, as a new file; remarks stay, nothing is overwritten.

    Every cell that cannot be taken is told with its place, and then nothing is written.
    """
    free(output, replace=replace)
    try:
        book = read_book(visit)
        text = visit.read_text(encoding="utf-8-sig")
    except VisitBookError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.NOT_OURS)
    sheet = read_sheet(read_bytes(table, limits.SHEET.most + 1), str(table))
    filled = fill(text, sheet, str(visit))
    # What is wrong with the visit book itself comes first: a row may rest on it.
    for finding in dict.fromkeys((*(f for f in book.findings if f.severity is Severity.ERROR), *filled.findings)):
        click.echo(finding.sentence(), err=True)
    errors = sum(f.severity.rank <= Severity.ERROR.rank for f in filled.findings)
    if not filled.good:
        click.echo(f"Nothing was written: {counted(errors, 'entry', 'entries')} to put right.", err=True)
        sys.exit(Exit.UNREAD)
    write(output, filled.text.encode(), replace=replace)
    added = (
        counted(filled.circuits, "circuit"),
        counted(filled.values, "value") + " of circuits",
        counted(filled.readings, "reading"),
    )
    click.echo(f"Added: {', '.join(added)}{' after the last step' if filled.readings else ''}.")
    if filled.readings and filled.off:
        click.echo(f"What was still off after the last step holds for them: {', '.join(filled.off)}.")
    click.echo(f"Judge it: earthwright judge {one_line(str(output))}")
    sys.exit(read(book.findings))
