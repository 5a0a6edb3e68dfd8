"""``earthwright import``: readings that an instrument saved, taken into a visit book by a mapping of its columns."""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

import click

from ..base import limits
from ..base.counted import counted
from ..base.errors import Severity, VisitBookError
from ..base.oneline import one_line
from ..schedule.saved import Columns, Row, Saved, columns_from, read_saved, take
from ..site.ledger import still_off
from ..visitbook.read import read_book, read_text
from ..visitbook.write import toml_digits, toml_key, toml_text
from .exits import Exit
from .files import REPLACE, free, read_bytes, write
from .main import main
from .visits import VISIT, read


@main.command(name="import")
@VISIT
@click.argument("saved", type=click.Path(path_type=Path))
@click.option(
    "--columns",
    type=click.Path(path_type=Path),
    help="What its columns hold (TOML); without it, one to fill in is printed.",
)
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Visit book to write.")
@REPLACE
def import_(visit: Path, saved: Path, columns: Path | None, output: Path | None, replace: bool) -> None:
    """Take the readings of a file (CSV) that an instrument saved into a visit book, as a new file.

    Each keeps its file, row and digest. What is not known is asked for, all at once, and then nothing is written.
    """
    found = read_saved(read_bytes(saved, limits.SAVED.most + 1), saved.name)
    if columns is None:
        for finding in found.findings:
            click.echo(finding.sentence(), err=True)
        click.echo(_blank(found), nl=False)
        return
    if output is None:
        raise click.UsageError("Which visit book is to be written? Give -o FILE.")
    free(output, replace=replace)
    try:
        book, text = read_book(visit), visit.read_text(encoding="utf-8-sig")
    except VisitBookError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.NOT_OURS)
    if book.visit is None:
        sys.exit(read(book.findings))
    taken = take(found, _mapping(columns), book.visit)
    new, rows = _with(text, taken.rows)
    before = {(f.where, f.what, f.found) for f in book.findings}
    findings = list(taken.findings)
    for f in read_text(new, str(visit)).findings if taken.good else ():
        if (f.where, f.what, f.found) not in before and f.line in rows:
            findings.append(f.at(f"{found.name}, {rows[f.line].cell}", 0))
    for f in findings:
        click.echo(f.sentence(), err=True)
    wrong = sum(f.severity.rank <= Severity.ERROR.rank for f in findings)
    if wrong or not taken.good:
        click.echo(f"Nothing was written: {wrong} to put right.", err=True)
        sys.exit(Exit.UNREAD)
    write(output, new.encode(), replace=replace)
    left = f"; {counted(taken.left_out, 'row')} left out, or without a reading" if taken.left_out else ""
    click.echo(f"Added: {counted(len(taken.rows), 'reading')} after the last step{left}.")
    off = [e.what for e in still_off(book.visit.events)]
    if off:
        click.echo(f"What was still off after the last step holds for them: {', '.join(off)}.")
    click.echo(f"Judge it: earthwright judge {one_line(str(output))}")
    sys.exit(read(book.findings))


def _mapping(path: Path) -> Columns:
    try:
        return columns_from(tomllib.loads(read_bytes(path, limits.SAVED.most).decode("utf-8-sig")))
    except ValueError as error:  # no UTF-8 and no TOML are of this kind too
        raise click.UsageError(f"{one_line(str(path))}: {error}") from error


def _with(text: str, rows: tuple[Row, ...]) -> tuple[str, dict[int, Row]]:
    """The visit book with the readings as its last steps, and the row behind each of the new lines."""
    ending = "\r\n" if "\r\n" in text else "\n"
    lines = text.replace("\r\n", "\n").removesuffix("\n").split("\n")
    behind: dict[int, Row] = {}
    for row in rows:
        for line in ("", "[[step]]", *(f"{k} = {_written(k, str(v))}" for k, v in row.body.items())):
            lines.append(line)
            behind[len(lines)] = row
    return ending.join(lines) + ending, behind


def _written(key: str, value: str) -> str:
    return toml_digits(value) if key == "shown" else toml_text(value)


def _blank(saved: Saved) -> str:
    """A mapping to fill in, with what stands in each column."""
    lines = [
        "# What each column holds: of, test, value, unit, time, point, note, or a test such as r1r2; leave others out."
    ]
    lines += ["[columns]"]
    for i, name in enumerate(saved.columns):
        lines.append(f'#{toml_key(name)} = ""  # {", ".join(saved.begin(i))}')
    lines += [
        "",
        "[tests]  # word of the file = test, or leave out",
        "",
        "[things]  # word of the file = id in the visit book",
    ]
    lines += ["", "[units]  # column = unit, where neither it nor a column of units says it", ""]
    top = [
        "#ahead_s = 0  # how far the instrument's clock was ahead, in seconds",
        '#days = "day first"',
        '#leads = "long"',
        '#instrument = "tester"',
        "",
    ]
    return "\n".join(top + lines) + "\n"
