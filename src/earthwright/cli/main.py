"""Commands over visit books.

Exit codes: 0 all judged, nothing disproved, no error; 1 something was disproved, fails its rule or must go back;
2 the command was used wrongly; 3 entries could not be read (the rest was judged); 4 the file is no visit book.
"""

from __future__ import annotations

import datetime as dt
import json
import sys
from pathlib import Path

import click

from .. import __version__
from ..assess import assess
from ..errors import EarthwrightError, Severity, VisitBookError
from ..judged import Assessment
from ..oneline import one_line
from ..visitbook import BLANK, read_book
from .schedule_view import fails

VISIT = click.argument("visit", type=click.Path(path_type=Path))
OUT = click.option("-o", "--output", "output", type=click.Path(path_type=Path), required=True, help="File to write.")


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="earthwright")
def main() -> None:
    """Judge what readings on earthing and bonding prove.

    The tool advises; the inspector judges and signs. Local codes, the instrument's instructions and licensed,
    competent persons decide.
    """


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
        sys.exit(4)
    if book.visit is None:
        return None, [f.sentence() for f in book.findings]
    judged = assess(
        book.visit, found=book.findings, broken=book.broken, previous=previous, today=today, whole_site=site
    )
    return judged, []


def exit_code(a: Assessment) -> int:
    """The exit code that sums up an assessment."""
    if any(f.severity is Severity.ERROR and f.family.startswith("input") for f in a.findings):
        return 3
    bad = any(b.verdict == "disproved" or "fails" in (b.size.judged.outcome, b.joint.outcome) for b in a.bonds)
    return 1 if bad or a.still_off or a.alarms or fails(a) else 0


def needed(visit: Path, last: Path | None = None, today: dt.date | None = None, site: bool | None = None) -> Assessment:
    """The assessment of a visit book, or a clean stop that says what is missing."""
    a, said = load(visit, last, today, site)
    if a is None:
        for sentence in said:
            click.echo(sentence, err=True)
        sys.exit(3)
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
        from ..record import as_text

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
    sys.exit(exit_code(a))


@main.command(name="map")
@VISIT
@OUT
def map_(visit: Path, output: Path) -> None:
    """Draw the earth map of a visit as SVG."""
    from ..paper.earthmap import earth_map

    a = needed(visit)
    write(output, earth_map(a).encode())
    sys.exit(exit_code(a))


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
def start(file: Path) -> None:
    """Write a blank visit book with every line explained."""
    if file.exists():
        raise click.UsageError(f"{one_line(str(file))} is there already and is not overwritten. Name another file.")
    write(file, BLANK.format(today=dt.date.today().isoformat()).encode())
    click.echo(f"Fill it in, then: earthwright judge {one_line(str(file))}")


@main.command()
@click.option("-o", "--output", "folder", type=click.Path(path_type=Path), default=Path("demo-out"), show_default=True)
def demo(folder: Path) -> None:
    """Judge an invented visit and write its record, map and JSON."""
    from ..demo import write_demo
    from .screen import show

    try:
        a, made = write_demo(folder)
    except OSError as error:
        raise click.ClickException(
            f"{one_line(str(folder))} cannot be written: {error.strerror}. Name another with -o."
        ) from error
    show(a, full=False)
    click.echo()
    click.secho("Written", bold=True)
    for path, what in made.items():
        click.echo(f"  {path}  {what}")
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
def schema() -> None:
    """Print the JSON Schema of what ``judge --json`` writes."""
    from ..record import json_schema

    click.echo(json.dumps(json_schema(), ensure_ascii=False, indent=1))


def write(path: Path, content: bytes) -> None:
    """Write a file whole or not at all."""
    partial = path.with_name(path.name + ".part")
    try:
        partial.write_bytes(content)
        partial.replace(path)
    except OSError as error:
        raise click.ClickException(f"{one_line(str(path))} cannot be written: {error.strerror}.") from error
    click.echo(f"{one_line(str(path))} ({len(content):,} bytes)".replace(",", " "))


def run() -> None:
    """Entry point that turns the package's own errors into one line."""
    try:
        main()
    except EarthwrightError as error:
        click.echo(str(error), err=True)
        sys.exit(2)
