"""Many visit books at once: one line each, the worst first, for an office that holds thousands."""

from __future__ import annotations

import json
import multiprocessing
import os
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

import click
from attrs import asdict, fields, frozen

from ..assess import assess
from ..errors import Severity, VisitBookError
from ..judged import Assessment
from ..verdict import FAILS, NOT_DECIDED
from ..visitbook import read_book
from .main import exit_code, main, write

# What an office acts on first: danger, what is disproved, what fails, what stands open.
ORDER = ("alarms", "disproved", "fails", "still_off", "unread", "warnings", "not_shown", "missing")


@frozen
class Row:
    """One visit in one line; ``said`` is why nothing could be judged when there is nothing to judge."""

    file: str
    place: str = ""
    date: str = ""
    kind: str = ""
    edition: str = ""
    alarms: int = 0
    disproved: int = 0
    not_shown: int = 0
    proved: int = 0
    fails: int = 0
    not_decided: int = 0
    missing: int = 0
    still_off: int = 0
    warnings: int = 0
    unread: int = 0
    exit_code: int = 0
    said: str = ""


def row(path: Path) -> Row:
    """Judge one visit book into a row; a book that cannot be read is a row that says so, never an exception."""
    try:
        book = read_book(path)
    except VisitBookError as error:
        return Row(str(path), unread=1, exit_code=4, said=str(error))
    if book.visit is None:
        said = " ".join(f.sentence() for f in book.findings if f.severity is Severity.ERROR)
        return Row(str(path), unread=len(book.findings), exit_code=3, said=said)
    return _row(str(path), assess(book.visit, found=book.findings, broken=book.broken))


def _row(file: str, a: Assessment) -> Row:
    tests = [*a.origin, *(t for e in a.electrodes for t in e.tests)]
    for board in a.boards:
        tests += [*board.tests, *(t for c in board.circuits for t in c.tests)]
    of_bonds = [j.outcome for b in a.bonds for j in (b.size.judged, b.joint)]
    unread = [f for f in a.findings if f.severity is Severity.ERROR and f.family.startswith("input")]
    return Row(
        file=file,
        place=a.visit.site.place,
        date=a.visit.date.isoformat(),
        kind=a.visit.kind,
        edition=", ".join(f"{e.standard}:{e.edition}" for e in a.editions[:1]),
        alarms=len(a.alarms),
        disproved=sum(b.verdict == "disproved" for b in a.bonds),
        not_shown=sum(b.verdict == "not shown" for b in a.bonds),
        proved=sum(b.verdict == "proved" for b in a.bonds),
        fails=sum(t.outcome == FAILS for t in tests if not t.absent) + of_bonds.count(FAILS),
        not_decided=sum(t.outcome == NOT_DECIDED for t in tests if not t.absent) + of_bonds.count(NOT_DECIDED),
        missing=sum(t.absent == "missing" for t in tests),
        still_off=len(a.still_off),
        warnings=sum(f.severity.rank <= Severity.WARNING.rank for f in a.findings) - len(unread),
        unread=len(unread),
        exit_code=exit_code(a),
        said="; ".join(f"{f.where}: {f.what}" for f in unread[:3]),
    )


def books(paths: Iterable[Path]) -> list[Path]:
    """The visit books named, and every ``.toml`` below the folders named, each once, in order."""
    found: dict[Path, None] = {}
    for path in paths:
        for book in sorted(path.rglob("*.toml")) if path.is_dir() else [path]:
            found.setdefault(book)
    return list(found)


def judge_all(paths: list[Path], processes: int) -> Iterator[Row]:
    """Rows as they are done. One book is judged by one process; none waits for another."""
    if processes <= 1 or len(paths) < 8:
        yield from map(row, paths)
        return
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        yield from pool.imap_unordered(row, paths, chunksize=4)


@main.command()
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Write the table as CSV.")
@click.option("--json", "as_json", is_flag=True, help="The rows as JSON.")
@click.option("--processes", type=click.IntRange(1, 64), default=None, help="How many to judge at a time.")
def many(paths: tuple[Path, ...], output: Path | None, as_json: bool, processes: int | None) -> None:
    """Judge many visit books, or folders of them: one line each, the worst first."""
    found = books(paths)
    if not found:
        raise click.UsageError("There is no visit book (*.toml) in these folders.")
    rows: list[Row] = []
    bar = click.progressbar(length=len(found), label="Judging", file=sys.stderr, hidden=not sys.stderr.isatty())
    with bar:
        for done in judge_all(found, processes or os.cpu_count() or 1):
            rows.append(done)
            bar.update(1)
    rows.sort(key=lambda r: (*(-getattr(r, name) for name in ORDER), r.file))
    if output is not None:
        from ..records.cells import table  # the journal's library behind it is slow to load

        names = [f.name for f in fields(Row)]
        write(output, table(names, ([getattr(r, n) for n in names] for r in rows)).encode("utf-8-sig"))
    if as_json:
        click.echo(json.dumps([asdict(r) for r in rows], ensure_ascii=False, indent=1))
    else:
        _show(rows)
    sys.exit(max(r.exit_code for r in rows))


def _open(r: Row) -> bool:
    """Whether somebody has to look at the visit again."""
    return any(getattr(r, name) for name in ORDER)


def _show(rows: list[Row]) -> None:
    for r in rows:
        parts = [f"{getattr(r, n)} {n.replace('_', ' ')}" for n in (*ORDER, "proved") if getattr(r, n)]
        colour = "red" if r.alarms or r.disproved or r.fails or r.still_off else "yellow" if _open(r) else None
        click.secho(
            f"{r.date or '          '}  {r.place or r.file}: {', '.join(parts) or 'nothing to judge'}", fg=colour
        )
        if r.said:
            click.echo(f"            {r.said}")
    troubled = sum(map(_open, rows))
    click.echo(f"{len(rows)} visits, {troubled} that need somebody.")
