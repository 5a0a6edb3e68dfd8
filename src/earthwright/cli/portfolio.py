"""``earthwright portfolio …``: many kept visits as open tables, asked and judged again."""

from __future__ import annotations

import datetime as dt
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..base.oneline import one_line
from .exits import Exit, Stopped
from .files import REPLACE, free, write
from .main import main
from .progress import Progress

if TYPE_CHECKING:
    from ..portfolio.build import Built

STORE = click.argument("store", type=click.Path(path_type=Path))
PROCESSES = click.option(
    "--processes", type=click.IntRange(1, 256), default=os.cpu_count() or 1, help="How many to judge at a time."
)
MOST_TOLD = 10


@contextmanager
def journal_refusals() -> Iterator[None]:
    """A journal that refuses becomes one line and its exit code."""
    from ..records import JournalError

    try:
        yield
    except JournalError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.JOURNAL)


@main.group()
def portfolio() -> None:
    """Thousands of kept visits as open tables: build them, ask them, judge them again."""


@portfolio.command()
@click.argument("source")
@click.option("-o", "--output", "store", type=click.Path(path_type=Path), required=True, help="Folder of the tables.")
@PROCESSES
def build(source: str, store: Path, processes: int) -> None:
    """Judge what is new in SOURCE (a folder of visit books, or a journal) and bring it into the tables.

    No name, place or free text stands in the tables. Beside them, in STORE.private, stands which number is which home.
    Stopped, it goes on where it was.
    """
    from ..portfolio import build as building
    from ..portfolio.store import Store

    with journal_refusals():
        try:
            made = building.build(source, Store(store), processes=processes, tell=Progress("Judging"))
        except KeyboardInterrupt:
            raise Stopped("Stopped. What was judged is kept; the same command goes on from there.") from None
    _tell(made, store)
    sys.exit(Exit.UNREAD if made.failed else Exit.DONE)


def _tell(made: Built, store: Path) -> None:
    more = f" {made.taken_up} were judged before it was stopped." if made.taken_up else ""
    gone = f" {made.gone} are gone." if made.gone else ""
    click.echo(f"{one_line(str(store))}: {made.new} visits judged.{more}{gone}")
    for name, why, said in made.failed[:MOST_TOLD]:
        click.echo(f"  {one_line(name)}: {why}. {said}".rstrip(), err=True)
    if len(made.failed) > MOST_TOLD:
        click.echo(f"  and {len(made.failed) - MOST_TOLD} more; all stand in the table not_judged.", err=True)


@portfolio.command()
@STORE
@click.argument("question", required=False)
@click.option("--by", type=click.DateTime(["%Y-%m-%d"]), help="Last day that counts, for what is due.")
@click.option("--engine", type=click.Choice(["polars", "duckdb", "dask", "spark"]), default="polars", show_default=True)
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Write the answer as CSV.")
@REPLACE
def ask(
    store: Path, question: str | None, by: dt.datetime | None, engine: str, output: Path | None, replace: bool
) -> None:
    """Ask a QUESTION of the tables in STORE; without one, list the questions."""
    from ..portfolio.answers import answer, as_csv
    from ..portfolio.questions import QUESTIONS, Asked
    from ..portfolio.store import Store

    if question is None:
        for q in QUESTIONS.values():
            click.echo(f"{q.name:<20} {q.sentence}")
        return
    if question not in QUESTIONS:
        raise click.UsageError(f"There is no question '{question}'. See: earthwright portfolio ask {store}")
    if output is not None:
        free(output, replace=replace)
    today = dt.date.today()
    found = answer(Store(store), QUESTIONS[question], Asked(today, by.date() if by else today), engine=engine)
    if output is not None:
        write(output, as_csv(found).encode("utf-8-sig"), replace=replace)
        return
    click.secho(found.question.sentence, bold=True)
    for row in found.rows:
        click.echo("  " + "  ".join(row))
    click.echo(f"{len(found.rows)} rows." if len(found.rows) != 1 else "1 row.")
