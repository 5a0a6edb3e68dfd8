"""Commands over one visit book."""

from __future__ import annotations

import datetime as dt
import json
import sys
from collections.abc import Iterable
from pathlib import Path

import click

from ..assess import assess
from ..base.errors import Finding, VisitBookError
from ..base.oneline import one_line
from ..outcomes.assessment import Assessment
from ..report.stops import stops
from ..site.visit import VISIT_KINDS
from ..visitbook import read_book
from .exits import Exit, FileTrouble
from .files import OUT, REPLACE, free, write, write_all
from .main import main
from .schedule_view import fails

MOST_TOLD = 5  # entries that could not be read, told by name beside an answer
VISIT = click.argument("visit", type=click.Path(path_type=Path))


def load(
    visit: Path, last: Path | None = None, today: dt.date | None = None, site: bool | None = None
) -> tuple[Assessment | None, list[str]]:
    """Read and judge a visit book; the sentences of what could not be judged at all.

    last  the visit book of the last visit to the same site;  today  the day of asking
    site  weigh all bonds as one network: True always, None when it can change something
    """
    try:
        book = read_book(visit)
        previous = None if last is None else read_book(last).visit
    except VisitBookError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.NOT_OURS)
    if book.visit is None:
        return None, [f.sentence() for f in book.findings]
    judged = assess(
        book.visit, found=book.findings, broken=book.broken, previous=previous, today=today, whole_site=site
    )
    return judged, []


def done(a: Assessment) -> Exit:
    """The exit code of a command that answers or writes something, whatever the verdicts are; what could not be read is told."""
    code = read(a.findings)
    if code is Exit.UNREAD:
        unread = [f for f in a.findings if f.not_read]
        for f in unread[:MOST_TOLD]:
            click.echo(f.sentence(), err=True)
        rest = len(unread) - MOST_TOLD
        more = f" and {rest} more entries" if rest > 0 else ""
        click.echo(f"What rests on this{more} is not judged: earthwright judge tells all of it.", err=True)
    return code


def read(findings: Iterable[Finding]) -> Exit:
    """Whether all entries could be read, as an exit code."""
    unread = any(f.not_read for f in findings)
    return Exit.UNREAD if unread else Exit.DONE


def exit_code(a: Assessment) -> Exit:
    """The exit code of a command that asks whether all is well."""
    bad = any(b.verdict == "disproved" or "fails" in (b.size.judged.outcome, b.joint.outcome) for b in a.bonds)
    return read(a.findings) or (Exit.FOUND if bad or a.still_off or stops(a) or fails(a) else Exit.DONE)


def needed(visit: Path, last: Path | None = None, today: dt.date | None = None, site: bool | None = None) -> Assessment:
    """The assessment of a visit book, or a clean stop that says what is missing."""
    a, said = load(visit, last, today, site)
    if a is None:
        for sentence in said:
            click.echo(sentence, err=True)
        sys.exit(Exit.UNREAD)
    return a


@main.command()
@VISIT
@click.option("--json", "as_json", is_flag=True, help="Everything, as JSON (schema: earthwright schema).")
@click.option("--full", is_flag=True, help="The sums behind each verdict as well.")
@click.option(
    "--last", type=click.Path(path_type=Path), help="Visit book of the last visit, to compare the digits with."
)
@click.option("--site", is_flag=True, help="Weigh all bonds as one network, even where little ties them together.")
def judge(visit: Path, as_json: bool, full: bool, last: Path | None, site: bool) -> None:
    """Judge a visit book: for each bond what the readings prove."""
    a = needed(visit, last, dt.date.today(), True if site else None)
    if as_json:
        from ..report.record import as_text

        click.echo(as_text(a), nl=False)
    else:
        from .screen import show

        show(a, full=full)
    sys.exit(exit_code(a))


@main.command(name="next")
@VISIT
def next_(visit: Path) -> None:
    """What to measure next, what for, and what must come first."""
    from .screen import show_next

    a = needed(visit)
    show_next(a)
    sys.exit(done(a))


@main.command(name="map")
@VISIT
@OUT
@REPLACE
def map_(visit: Path, output: Path, replace: bool) -> None:
    """Draw the earth map of a visit as SVG."""
    from ..paper.earthmap import earth_map

    a = needed(visit)
    write(output, earth_map(a).encode(), replace=replace)
    sys.exit(done(a))


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--kind", type=click.Choice(VISIT_KINDS), help="Add every entry that the document of this kind of visit needs."
)
@REPLACE
def start(file: Path, kind: str | None, replace: bool) -> None:
    """Write a blank visit book with every line explained."""
    from ..paper.begin import blank_book

    free(file, replace=replace)
    write(file, blank_book(dt.date.today(), kind or "").encode(), replace=replace)
    click.echo(f"Fill it in, then: earthwright judge {one_line(str(file))}")


@main.command()
@click.option("-o", "--output", "folder", type=click.Path(path_type=Path), default=Path("demo-out"), show_default=True)
@REPLACE
def demo(folder: Path, replace: bool) -> None:
    """Judge an invented visit and write its record, map and JSON."""
    from ..desk.demo import demo_files
    from .screen import show

    a, made = demo_files()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileTrouble(
            f"{one_line(str(folder))} cannot be written: {error.strerror}. Name another with -o."
        ) from error
    write_all({folder / name: content for name, (content, _) in made.items()}, replace=replace)
    show(a, full=False)
    click.echo()
    click.secho("Written", bold=True)
    for name, (_, what) in made.items():
        click.echo(f"  {folder / name}  {what}")
    click.echo()
    click.secho("Try next", bold=True)
    for line in (
        f"./run judge {folder / 'visit.toml'} --full    the sums behind each verdict",
        f"./run next {folder / 'visit.toml'}            what to do next at each bond",
        "./run serve                              the same visit, unfinished, in the browser",
        "./run start my-visit.toml                a blank visit book of your own",
        "./run bench length --csa 10 --reading 0.02   which lengths a reading can stand for",
    ):
        click.echo(f"  {line}")


@main.command()
@click.argument("what", type=click.Choice(("record", "visit")), default="record")
def schema(what: str) -> None:
    """Print a JSON Schema: of what ``judge --json`` writes, or of a visit book (``schema visit``), for editors."""
    from ..report.record import json_schema
    from ..visitbook.schema import book_schema

    made = json_schema() if what == "record" else book_schema()
    click.echo(json.dumps(made, ensure_ascii=False, indent=1))
