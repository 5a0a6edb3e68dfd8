"""``earthwright portfolio …``: many kept visits as open tables, asked and judged again."""

from __future__ import annotations

import datetime as dt
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click
from attrs import frozen

from ..base.counted import counted
from ..base.oneline import one_line
from .exits import Exit, Stopped
from .files import OUT, REPLACE, free, write
from .keep import refusals
from .main import main
from .progress import Progress

if TYPE_CHECKING:
    from ..portfolio.build import Built
    from ..portfolio.running import Runner

STORE = click.argument("store", type=click.Path(path_type=Path))
PROCESSES = click.option(
    "--processes", type=click.IntRange(1, 256), default=os.cpu_count() or 1, help="How many to judge at a time."
)
CLUSTER = click.option(
    "--cluster", default="", help="Judge there: tcp://… of a Dask cluster, spark://… of a Spark one."
)
MOST_TOLD = 10


@main.group()
def portfolio() -> None:
    """Thousands of kept visits as open tables: build them, ask them, judge them again."""


@portfolio.command()
@click.argument("source")
@click.option("-o", "--output", "store", type=click.Path(path_type=Path), required=True, help="Folder of the tables.")
@click.option("--homes", type=click.Path(path_type=Path), help="Register of homes: CSV with place, area, built, kind.")
@click.option(
    "--anew", is_flag=True, help="Judge again what is in the tables already, as after an upgrade of the program."
)
@PROCESSES
@CLUSTER
def build(source: str, store: Path, homes: Path | None, anew: bool, processes: int, cluster: str) -> None:
    """Judge what is new in SOURCE (a folder of visit books, or a journal) and bring it into the tables.

    No name, place or free text stands in the tables. Beside them, in STORE.private, stands which number is which home.
    Stopped, it goes on where it was.
    """
    _get_ready(cluster)
    from ..portfolio import build as building
    from ..portfolio.store import Store

    with refusals():
        try:
            made = building.build(
                source, Store(store), processes=processes, tell=Progress("Judging"), runner=_runner(cluster), anew=anew
            )
        except KeyboardInterrupt:
            raise Stopped("Stopped. What was judged is kept; the same command goes on from there.") from None
    _tell(made, store)
    if homes is not None:
        from ..portfolio.register import read_register

        click.echo(f"{one_line(str(homes))}: {read_register(homes, Store(store)):,} homes.")
    sys.exit(Exit.UNREAD if made.failed else Exit.DONE)


@portfolio.command()
@click.argument("source")
@STORE
@click.option("--edition", default="", help="Edition of the wiring rules, e.g. 2018+A4.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="As if every visit had been on that day.")
@click.option("--decision", type=click.Choice(["simple", "guarded"]), help="Decision rule for every limit.")
@PROCESSES
@CLUSTER
def judge(
    source: str, store: Path, edition: str, on: dt.datetime | None, decision: str | None, processes: int, cluster: str
) -> None:
    """Judge every visit of SOURCE again under other rules, and say what moves against what STORE holds.

    The tables of it stand in STORE/again, with every outcome that is another, old and new, and why. Stopped, it goes on where
    it was. Nothing of the visits themselves changes.
    """
    _get_ready(cluster)
    from ..portfolio.again import judge_again
    from ..portfolio.sources import AsIf
    from ..portfolio.store import Store

    as_if = AsIf(edition, on.date() if on else None, decision or "")
    with refusals():
        try:
            other, made = judge_again(
                source, Store(store), as_if, processes=processes, tell=Progress("Judging"), runner=_runner(cluster)
            )
        except KeyboardInterrupt:
            raise Stopped("Stopped. What was judged is kept; the same command goes on from there.") from None
    _tell(made, other.folder)
    _answer(store, "moved", as_if.name, Asking(dt.date.today()))
    sys.exit(Exit.UNREAD if made.failed else Exit.DONE)


def _get_ready(cluster: str) -> None:
    """Let the processes that will judge load the program while this one loads the tables."""
    from ..portfolio.running import get_ready, guarded

    if not cluster and guarded():
        get_ready("earthwright.portfolio.sources")


def _runner(cluster: str) -> Runner | None:
    """Who does the jobs: a cluster by its address, or none: this machine."""
    if not cluster:
        return None
    from ..portfolio.cluster import on_dask, on_spark

    return on_spark(cluster) if cluster.startswith(("spark", "local", "yarn", "k8s")) else on_dask(cluster)


def _tell(made: Built, store: Path) -> None:
    more = f" {made.taken_up} were judged before it was stopped." if made.taken_up else ""
    gone = f" {made.gone} are gone." if made.gone else ""
    click.echo(f"{one_line(str(store))}: {counted(made.new, 'visit')} judged.{more}{gone}")
    for name, why, said in made.failed[:MOST_TOLD]:
        click.echo(f"  {one_line(name)}: {why}. {said}".rstrip(), err=True)
    if len(made.failed) > MOST_TOLD:
        click.echo(f"  and {len(made.failed) - MOST_TOLD} more; all stand in the table not_judged.", err=True)


@portfolio.command()
@STORE
@click.argument("question", required=False)
@click.option("--by", type=click.DateTime(["%Y-%m-%d"]), help="Last day that counts for what is due; else in 90 days.")
@click.option("--since", type=click.DateTime(["%Y-%m-%d"]), help="Evidence from before it is old; else five years ago.")
@click.option("--again", default="", help="Under which other rules, by the name in STORE/again; else the first there.")
@click.option("--engine", type=click.Choice(["polars", "duckdb", "dask", "spark"]), default="polars", show_default=True)
@click.option("-o", "--output", type=click.Path(path_type=Path), help="Write the answer as CSV.")
@REPLACE
def ask(
    store: Path,
    question: str | None,
    by: dt.datetime | None,
    since: dt.datetime | None,
    again: str,
    engine: str,
    output: Path | None,
    replace: bool,
) -> None:
    """Ask a QUESTION of the tables in STORE; without one, list the questions."""
    from ..portfolio.questions import QUESTIONS

    if question is None:
        for q in QUESTIONS.values():
            click.echo(f"{q.name:<18} {q.sentence}")
        return
    if question not in QUESTIONS:
        raise click.UsageError(f"There is no question '{question}'. See: earthwright portfolio ask {store}")
    if output is not None:
        free(output, replace=replace)
    asking = Asking(dt.date.today(), by.date() if by else None, since.date() if since else None, engine)
    _answer(store, question, again, asking, output, replace=replace)


@frozen
class Asking:
    """What the command was given beside the question."""

    today: dt.date
    by: dt.date | None = None
    since: dt.date | None = None
    engine: str = "polars"


def _answer(
    store: Path, name: str, again: str, asking: Asking, output: Path | None = None, *, replace: bool = False
) -> None:
    from ..portfolio.answers import answer, as_csv, asked_on
    from ..portfolio.questions import QUESTIONS
    from ..portfolio.store import Store

    asked = asked_on(asking.today, asking.by, asking.since)
    found = answer(Store(store), QUESTIONS[name], asked, again=again, engine=asking.engine)
    if output is not None:
        write(output, as_csv(found).encode("utf-8-sig"), replace=replace)
        return
    click.secho(found.question.sentence, bold=True)
    for line in as_lines(found.head, found.rows):
        click.echo(f"  {line}")
    click.echo(f"{counted(len(found.rows), 'row')}. {found.question.about}".rstrip())


@portfolio.command()
@STORE
@OUT
@click.option("--title", default="", help="Whose homes they are, as it should stand on the paper.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day of the report; else today.")
@click.option("--again", default="", help="Under which other rules, by the name in STORE/again; else the first there.")
@REPLACE
def report(store: Path, output: Path, title: str, on: dt.datetime | None, again: str, replace: bool) -> None:
    """Print the report on all homes as PDF, with every list inside it."""
    from ..portfolio.answers import asked_on
    from ..portfolio.printed import report as printed
    from ..portfolio.sections import Looking
    from ..portfolio.store import Store

    free(output, replace=replace)
    day = on.date() if on else dt.date.today()
    write(output, printed(Looking(Store(store), asked_on(day), again), title), replace=replace)


@portfolio.command()
@STORE
@click.option(
    "-o", "--output", "folder", type=click.Path(path_type=Path), required=True, help="New folder for the files."
)
def export(store: Path, folder: Path) -> None:
    """Write every table as CSV, codes as words and numbers as decimals, for a spreadsheet."""
    from ..portfolio.spreadsheet import write_tables
    from ..portfolio.store import Store

    free(folder, replace=False)
    kept = Store(store)
    kept.said()
    folder.mkdir(parents=True)
    for name, size in write_tables(kept, folder):
        click.echo(f"{name} ({size:,} bytes)")


def as_lines(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> Iterator[str]:
    """Columns under one another, each as wide as its widest cell."""
    table = [tuple(h.replace("_", " ") for h in head), *rows]
    wide = [max(len(row[i]) for row in table) for i in range(len(head))]
    for row in table:
        yield "  ".join(cell.ljust(w) for cell, w in zip(row, wide, strict=True)).rstrip()
