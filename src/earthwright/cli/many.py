"""Many visit books at once: one line each, the worst first, for an office that holds thousands."""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

import click
from attrs import asdict, fields, frozen

from ..assess import assess
from ..base.errors import Severity, VisitBookError
from ..base.oneline import one_line
from ..outcomes.assessment import Assessment
from ..outcomes.verdict import FAILS, MEETS, NOT_DECIDED
from ..report.stops import stops
from ..visitbook import read_book
from .exits import Exit, Stopped
from .files import REPLACE, free, write
from .main import exit_code, main

# What an office acts on first: danger, what is disproved, what fails, what stands open.
SAID = {  # one, and more than one
    "alarms": ("alarm", "alarms"),
    "disproved": ("disproved", "disproved"),
    "fails": ("test fails", "tests fail"),
    "still_off": ("still off", "still off"),
    "unread": ("entry unread", "entries unread"),
    "warnings": ("warning", "warnings"),
    "not_shown": ("bond not shown", "bonds not shown"),
    "missing": ("test missing", "tests missing"),
    "proved": ("bond proved", "bonds proved"),
    "meets": ("test meets its rule", "tests meet their rules"),
}
ORDER = ("alarms", "disproved", "fails", "still_off", "unread", "warnings", "not_shown", "missing")


@frozen
class BookLine:
    """One visit in one line; ``said`` is why nothing could be judged when there is nothing to judge.

    disproved  bonds, rings and protective conductors of circuits;  not_shown, proved  bonds alone
    """

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
    meets: int = 0


def row(path: Path) -> BookLine:
    """Judge one visit book into a row; a book that cannot be read is a row that says so, never an exception."""
    try:
        return _judge(path)
    except VisitBookError as error:
        return BookLine(
            one_line(str(path)),
            unread=1,
            exit_code=Exit.NOT_OURS,
            said=str(error).removeprefix(f"{one_line(str(path))}: "),
        )
    except Exception as error:  # one book must not cost the others their rows
        said = (
            f"a fault of the program, not judged: {type(error).__name__}: {one_line(str(error))}. Judge it by itself."
        )
        return BookLine(one_line(str(path)), unread=1, exit_code=Exit.UNREAD, said=said)


def _judge(path: Path) -> BookLine:
    book = read_book(path)
    if book.visit is None:
        said = " ".join(f.sentence() for f in book.findings if f.severity is Severity.ERROR)
        return BookLine(one_line(str(path)), unread=len(book.findings), exit_code=Exit.UNREAD, said=said)
    return _row(one_line(str(path)), assess(book.visit, found=book.findings, broken=book.broken))


def _row(file: str, a: Assessment) -> BookLine:
    tests = [*a.origin, *(t for e in a.electrodes for t in e.tests)]
    for board in a.boards:
        tests += [*board.tests, *(t for c in board.circuits for t in c.tests)]
    circuits = [x for b in a.boards for c in b.circuits for x in (c.ring, c.cpc) if x is not None]
    of_bonds = [j.outcome for b in a.bonds for j in (b.size.judged, b.joint)]
    unread = [f for f in a.findings if f.severity is Severity.ERROR and f.family.startswith("input")]
    return BookLine(
        file=file,
        place=a.visit.site.place,
        date=a.visit.date.isoformat(),
        kind=a.visit.kind,
        edition=", ".join(f"{e.standard}:{e.edition}" for e in a.editions[:1]),
        alarms=len(stops(a)),
        disproved=sum(x.verdict == "disproved" for x in (*a.bonds, *circuits)),
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
        meets=sum(t.outcome == MEETS for t in tests if not t.absent) + of_bonds.count(MEETS),
    )


def books(paths: Iterable[Path]) -> list[Path]:
    """The visit books named, and every ``.toml`` below the folders named, each once, in order."""
    found: dict[Path, Path] = {}
    for path in paths:
        for book in sorted(p for p in path.rglob("*.toml") if not p.is_dir()) if path.is_dir() else [path]:
            found.setdefault(book.resolve(), book)  # one file under two names is one visit
    return list(found.values())


def judge_all(paths: list[Path], processes: int) -> Iterator[BookLine]:
    """Rows as they are done. One book is judged by one process; none waits for another."""
    if processes <= 1 or len(paths) < 8:
        yield from map(row, paths)
        return
    # An interruption is for the first process alone: it ends the others.
    with multiprocessing.get_context("spawn").Pool(processes, signal.signal, (signal.SIGINT, signal.SIG_IGN)) as pool:
        yield from pool.imap_unordered(row, paths, chunksize=4)


@main.command()
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Write the table as CSV.")
@click.option("--json", "as_json", is_flag=True, help="The rows as JSON.")
@click.option("--processes", type=click.IntRange(1, 64), default=None, help="How many to judge at a time.")
@REPLACE
def many(paths: tuple[Path, ...], output: Path | None, as_json: bool, processes: int | None, replace: bool) -> None:
    """Judge many visit books, or folders of them: one line each, the worst first."""
    if output is not None:
        free(output, replace=replace)
    found = books(paths)
    if not found:
        raise click.UsageError("There is no visit book (*.toml) in these folders.")
    rows: list[BookLine] = []
    bar = click.progressbar(length=len(found), label="Judging", file=sys.stderr, hidden=not sys.stderr.isatty())
    try:
        with bar:
            for done in judge_all(found, processes or os.cpu_count() or 1):
                rows.append(done)
                bar.update(1)
    except KeyboardInterrupt:
        raise Stopped(f"Stopped after {len(rows)} of {len(found)} visit books. Nothing was written.") from None
    rows.sort(key=lambda r: (*(-getattr(r, name) for name in ORDER), r.file))
    if output is not None:
        from ..records.cells import table  # the journal's library behind it is slow to load

        names = [f.name for f in fields(BookLine)]
        write(output, table(names, ([getattr(r, n) for n in names] for r in rows)).encode("utf-8-sig"), replace=replace)
    if as_json:
        click.echo(json.dumps([asdict(r) for r in rows], ensure_ascii=False, indent=1))
    else:
        _show(rows)
    sys.exit(max(r.exit_code for r in rows))


def _open(r: BookLine) -> bool:
    """Whether somebody has to look at the visit again."""
    return any(getattr(r, name) for name in ORDER)


def _show(rows: list[BookLine]) -> None:
    for r in rows:
        parts = [f"{n} {SAID[name][n != 1]}" for name in (*ORDER, "proved") if (n := getattr(r, name))]
        if not parts and r.meets:
            parts = [f"{r.meets} {SAID['meets'][r.meets != 1]}"]
        colour = "red" if r.alarms or r.disproved or r.fails or r.still_off else "yellow" if _open(r) else None
        click.secho(
            f"{r.date or '          '}  {r.place or 'no visit'}: {', '.join(parts) or 'nothing to judge'} ({r.file})",
            fg=colour,
        )
        if r.said:
            click.echo(f"            {r.said}")
    troubled = sum(map(_open, rows))
    visits, need = ("visit" if len(rows) == 1 else "visits"), ("needs" if troubled == 1 else "need")
    click.echo(f"{len(rows)} {visits}, {troubled} that {need} somebody.")
