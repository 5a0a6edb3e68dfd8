"""``earthwright keep in``: take visit books into a journal, many at a time, each by itself."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click
from attrs import frozen

from ..base import limits
from ..base.counted import counted
from ..base.errors import VisitBookError
from ..portfolio.running import FEW, run
from .exits import Exit, Stopped
from .keep import BY, JOURNAL, keep, opened, plain
from .progress import Progress

if TYPE_CHECKING:
    from ..desk import Desk


@frozen
class Book:
    """One visit book that is to be taken in."""

    path: Path
    journal: str
    by: str
    again: bool


@frozen
class Taken:
    """What came of it, line by line; ``refused``: the exit code of one that was not taken in, else 0."""

    said: tuple[str, ...]
    refused: int = 0
    there: bool = False


_DESKS: dict[str, Desk] = {}  # of this process, one a journal


@contextmanager
def _at(journal: str) -> Iterator[Desk]:
    """The desk that takes in what is taken in by this process itself."""
    with opened(journal, create=True) as desk:
        _DESKS[journal] = desk
        try:
            yield desk
        finally:
            del _DESKS[journal]


def take(book: Book) -> Taken:
    """Take in one visit book. Several processes may do so at once: each takes its turn at the end of the chain."""
    from ..desk import Desk
    from ..records import Conflict, JournalError

    desk = _DESKS.get(book.journal) or _DESKS.setdefault(book.journal, Desk(book.journal))
    name = plain(book.path)
    try:
        visit_id = desk.take_in(_bytes(book.path), by=book.by, again=book.again)
    except (VisitBookError, JournalError) as error:
        said = str(error).removeprefix(f"{name}: ").removeprefix("visit book: ")
        code = Exit.NOT_OURS if isinstance(error, VisitBookError) else Exit.JOURNAL
        return Taken((f"{name}: {said}",), code, isinstance(error, Conflict))
    read = desk.read(visit_id)
    entries = counted(len(read.entries), "entry", "entries")
    findings = (f"  {f.severity.value}: {plain(f.sentence())}" for f in read.book.findings)
    return Taken((f"{name}: kept as visit {visit_id}, {entries}.", *findings, f"State: {read.head}"))


def take_all(books: list[Book], processes: int) -> Iterator[tuple[Book, Taken]]:
    """Take in so many at a time, as they are done. Of the same text twice the second waits until the first is there."""
    first, twice = books, list[Book]()
    if len(books) >= FEW:
        texts: dict[str, Book] = {}
        for book in books:
            texts.setdefault(_text(book.path), book)
        first, known = list(texts.values()), set(texts.values())
        twice = [b for b in books if b not in known]
    for lot, at_a_time in ((first, processes), (twice, 1)):
        for done in run(take, lot, at_a_time):
            said = f"{plain(done.job.path)}: {done.why}. {done.said}".rstrip()
            yield (
                done.job,
                done.result or Taken((f"{said} It may be kept all the same: run this once more.",), Exit.UNREAD),
            )


@keep.command(name="in")
@click.argument("sources", nargs=-1, required=True, type=click.Path(path_type=Path))
@BY
@click.option("--again", is_flag=True, help="Take a visit book in although the very same text is there.")
@click.option("--processes", type=click.IntRange(1, 64), default=None, help="How many to take in at a time.")
@JOURNAL
def in_(sources: tuple[Path, ...], by: str, again: bool, processes: int | None, journal: str) -> None:
    """Take in visit books, or a whole export (folder or .zip).

    A visit book that cannot be taken in, or that is there already, stops none of the others.
    Stopped, the same command goes on: what is there already is left out.
    """
    exports = [s for s in sources if s.is_dir() or s.suffix.lower() == ".zip"]
    whole = set(exports)
    books = [s for s in sources if s not in whole]
    done: dict[Path, Taken] = {}
    with _at(journal) as desk:
        for source in exports:
            _export(desk, source)
        tell = Progress("Taking in")
        try:
            for book, taken in take_all([Book(b, journal, by, again) for b in books], processes or os.cpu_count() or 1):
                done[book.path] = taken
                tell(len(done), len(books))
        except KeyboardInterrupt:
            raise Stopped(
                f"Stopped. {sum(not t.refused for t in done.values())} were taken in; the same command goes on from there."
            ) from None
        finally:
            for path in books:
                for line in done[path].said if path in done else ():
                    click.echo(line, err=bool(done[path].refused))
    refused = [t.refused for t in done.values() if t.refused]
    if len(sources) > 1:
        there = sum(t.there for t in done.values())
        already = f", {there} of them because they are there already" if there else ""
        click.echo(f"{len(sources) - len(refused)} taken in, {len(refused)} not{already}.")
    if refused:
        sys.exit(min(refused))


def _export(desk: Desk, source: Path) -> None:
    from ..records.handover import of_one_visit

    if source.is_dir() and not (source / "events.jsonl").exists() and any(source.glob("*.toml")):
        raise click.UsageError(
            f"{source} is a folder of visit books and no export. Name them: earthwright keep in {source}/*.toml"
        )
    if source.is_file() and of_one_visit(source.read_bytes()):
        taken = desk.take_over(source.read_bytes())
        click.echo(f"{plain(source)}: visit {plain(taken.visit)}, {taken.new} of {taken.count} entries are new here.")
        for doubt in taken.doubts:
            click.echo(f"{plain(source)}: a paper was not compared as a whole. {plain(doubt)}", err=True)
        return
    count = desk.import_(source)
    click.echo(f"{plain(source)}: {counted(count, 'event')} taken in. Last of the chain: {desk.store.head()[1]}")


def _text(path: Path) -> str:
    """What tells a text from others; of one that cannot be read, its name."""
    from ..records.canon import digest

    try:
        return digest(_bytes(path))
    except VisitBookError:
        return str(path)


def _bytes(path: Path) -> bytes:
    """The bytes of a visit book; a far too large file is refused before it is read."""
    try:
        with path.open("rb") as file:
            return file.read(limits.BOOK.most + 1)
    except OSError as error:
        raise VisitBookError(f"{path}: cannot be read: {error.strerror}.") from error
