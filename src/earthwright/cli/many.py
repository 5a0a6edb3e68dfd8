"""Many visit books at once: one line each, the worst first, for an office that holds thousands."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import closing
from pathlib import Path

import click
from attrs import asdict, fields, frozen

from ..assess import assess
from ..base.errors import Severity, VisitBookError
from ..base.oneline import one_line
from ..outcomes.assessment import Assessment
from ..outcomes.verdict import FAILS, MEETS, NOT_DECIDED
from ..portfolio.running import FAULT, guarded, run
from ..report.coding import edition_if_any
from ..report.stops import stops
from ..visitbook import ReadBook, read_book
from .begun import Begun, InJournal
from .exits import Exit, Stopped
from .files import REPLACE, free, write
from .main import main
from .progress import Progress
from .visits import exit_code

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
NO_EDITION = "no edition of the wiring rules is known for"
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


def row(of: Path | InJournal) -> BookLine:
    """Judge one visit into a row; a book that cannot be read is a row that says so."""
    name = _name(of)
    try:
        book = read_book(of) if isinstance(of, Path) else _kept(of)
    except VisitBookError as error:
        return BookLine(name, unread=1, exit_code=Exit.NOT_OURS, said=str(error).removeprefix(f"{name}: "))
    if book.visit is None:
        said = " ".join(f.sentence() for f in book.findings if f.severity is Severity.ERROR)
        return BookLine(name, unread=len(book.findings), exit_code=Exit.UNREAD, said=said)
    return _row(name, assess(book.visit, found=book.findings, broken=book.broken, ahead=False))


def _name(of: Path | InJournal) -> str:
    return one_line(str(of) if isinstance(of, Path) else of.name)


def _kept(of: InJournal) -> ReadBook:
    from ..portfolio.sources import kept_book

    return kept_book(of.journal, of.name)


def _lost(of: Path | InJournal, why: str, said: str) -> BookLine:
    """The row of a visit that the program failed at, that took too long or ended its process."""
    more = f": {one_line(said)}" if why == FAULT else ""
    return BookLine(_name(of), unread=1, exit_code=Exit.UNREAD, said=f"{why}, not judged{more}. Judge it by itself.")


def _row(file: str, a: Assessment) -> BookLine:
    tests, circuits = a.tests, [x for c in a.circuits for x in (c.ring, c.cpc) if x is not None]
    of_bonds = [j.outcome for b in a.bonds for j in (b.size.judged, b.joint)]
    unread = [f for f in a.findings if f.not_read]
    edition = edition_if_any(a)
    no_rule = [] if edition else [f"{NO_EDITION} {a.visit.date}: nothing is held against a rule"]
    return BookLine(
        file=file,
        place=a.visit.site.place,
        date=a.visit.date.isoformat(),
        kind=a.visit.kind,
        edition=f"{edition.standard}:{edition.edition}" if edition else "",
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
        said="; ".join([*no_rule, *(f"{f.where}: {f.what}" for f in unread[:3])]),
        meets=sum(t.outcome == MEETS for t in tests if not t.absent) + of_bonds.count(MEETS),
    )


def visits(named: Iterable[str]) -> list[Path | InJournal]:
    """The visit books named, every ``.toml`` below the folders named, every visit of the journals named; each once, in order."""
    found: dict[Path | str, Path | InJournal] = {}
    for one in named:
        if is_journal(one):
            found |= {v.name: v for v in _in_journal(one)}
            continue
        path = Path(one)
        for book in sorted(p for p in path.rglob("*.toml") if not p.is_dir()) if path.is_dir() else [path]:
            found.setdefault(book.resolve(), book)  # one file under two names is one visit
    return list(found.values())


def is_journal(named: str) -> bool:
    """Whether an address of a database or a file of SQLite is named."""
    if "://" in named:
        return True
    try:
        with Path(named).open("rb") as file:
            return file.read(len(SQLITE)) == SQLITE
    except OSError:
        return False


SQLITE = b"SQLite format 3\0"


def _in_journal(journal: str) -> Iterator[InJournal]:
    from ..records.store import Store
    from .keep import refusals

    with refusals(), closing(Store(journal, create=False)) as store:
        for name, _, _, head in store.visits():
            yield InJournal(journal, name, head)


def judge_all(all_of: list[Path | InJournal], processes: int, begun: Begun | None = None) -> Iterator[BookLine]:
    """Rows as they are done, in no order; one that was done before it was stopped comes first."""
    begun = begun or Begun(None)
    left = []
    for one in all_of:
        if (before := begun.of(one)) is None:
            left.append(one)
        else:
            yield BookLine(**before)
    for done in run(row, left, processes):
        if done.result is None:
            yield _lost(done.job, done.why, done.said)
        else:
            begun.keep(done.job, asdict(done.result))
            yield done.result


@main.command()
@click.argument("named", nargs=-1, required=True, metavar="VISITS…")
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Write the table as CSV.")
@click.option("--json", "as_json", is_flag=True, help="The rows as JSON.")
@click.option("--processes", type=click.IntRange(1, 64), default=None, help="How many to judge at a time.")
@REPLACE
def many(named: tuple[str, ...], output: Path | None, as_json: bool, processes: int | None, replace: bool) -> None:
    """Judge many visits: one line each, the worst first. VISITS: visit books, folders of them, or journals (file or address)."""
    if output is not None:
        free(output, replace=replace)
    found = visits(named)
    if not found:
        raise click.UsageError("There is no visit book (*.toml) in these folders, and no visit in these journals.")
    rows: list[BookLine] = []
    tell, begun = Progress("Judging"), Begun(output)
    processes = processes or os.cpu_count() or 1
    if processes > 1 and not guarded():
        click.echo("Judged one after another: for several at a time install pebble (extra 'many').", err=True)
    try:
        for done in judge_all(found, processes, begun):
            rows.append(done)
            tell(len(rows), len(found))
    except KeyboardInterrupt:
        goes_on = " The same command goes on from there." if output else " With -o it goes on from where it was."
        raise Stopped(f"Stopped after {len(rows)} of {len(found)} visits. Nothing was written.{goes_on}") from None
    rows.sort(key=lambda r: (*(-getattr(r, name) for name in ORDER), r.file))
    if output is not None:
        from ..records.cells import table  # the journal's library behind it is slow to load

        names = [f.name for f in fields(BookLine)]
        write(output, table(names, ([getattr(r, n) for n in names] for r in rows)).encode("utf-8-sig"), replace=replace)
        begun.end()
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
    unruled = sum(r.said.startswith(NO_EDITION) for r in rows)
    if unruled:
        click.echo(
            f"{unruled} of {len(rows)}: no edition of the wiring rules is known for the day; judged by physics alone."
        )
    visits, need = ("visit" if len(rows) == 1 else "visits"), ("needs" if troubled == 1 else "need")
    click.echo(f"{len(rows)} {visits}, {troubled} that {need} somebody.")
