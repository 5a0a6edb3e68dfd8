"""``earthwright keep …``: take visits into a journal, look at them, check, copy, hand over."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..base.counted import counted
from ..base.errors import VisitBookError
from ..base.oneline import one_line
from ..site.tests import called
from .exits import Exit
from .files import REPLACE, free, write
from .main import main

if TYPE_CHECKING:
    from ..desk import Desk
    from ..records import Kept
    from ..records.replay import Replayed

DEFAULT = "journal.sqlite"
JOURNAL = click.option(
    "--journal",
    envvar="EARTHWRIGHT_JOURNAL",
    default=DEFAULT,
    show_default=True,
    help="File of the journal, or postgresql://… of an office.",
)
BY = click.option("--by", default="", help="Your name, as it should stand in the journal.")


def plain(text: object) -> str:
    """A text from the journal or a file's name for the terminal: one line, nothing in it moves the cursor or turns it round."""
    return one_line(str(text))


@contextmanager
def refusals() -> Iterator[None]:
    """What a journal or a visit book refuses becomes one line and an exit code."""
    from ..records import JournalError

    try:
        yield
    except VisitBookError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.NOT_OURS)
    except JournalError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.JOURNAL)


@contextmanager
def opened(journal: str, *, create: bool = False) -> Iterator[Desk]:
    """The desk at a journal; its refusals become one line and an exit code."""
    from ..desk import Desk

    with refusals(), closing(Desk(journal, create=create)) as desk:
        yield desk


def visit_named(desk: Desk, name: str) -> str:
    """The id of a visit from its beginning, or from ``last``. Stops with what fits when it is not clear."""
    lines = desk.visits()
    found = [v.id for v in lines if v.id == name] or [v.id for v in lines if v.id.startswith(name)]
    if name == "last" and lines:
        return lines[0].id
    if len(found) != 1 or not name:
        what = f"{len(found)} visits begin with '{plain(name)}'" if found else f"there is no visit '{plain(name)}'"
        raise click.UsageError(f"{what}. See: earthwright keep list")
    return found[0]


@main.group()
def keep() -> None:
    """Keep visits in a journal: every entry as typed, in order, never altered."""


@keep.command(name="list")
@JOURNAL
def list_(journal: str) -> None:
    """List the visits, the one changed last first."""
    with opened(journal) as desk:
        lines = desk.visits()
        for v in lines:
            issued = "  issued" if v.issued else ""
            click.echo(
                f"{v.id[:8]}  {plain(v.date)}  {plain(v.kind):<12} {plain(v.place)}  ({counted(v.events, 'event')}{issued})"
            )
        if not lines:
            click.echo("No visits yet. Take one in: earthwright keep in VISIT.toml")


@keep.command()
@click.argument("visit")
@JOURNAL
def show(visit: str, journal: str) -> None:
    """Show a visit (the beginning of its id, or 'last'): entries, what was struck, what was found."""
    with opened(journal) as desk:
        visit_id = visit_named(desk, visit)
        read = desk.read(visit_id)
        click.secho(f"Visit {visit_id}", bold=True)
        for entry in read.entries:
            sign = "struck   " if entry.struck else "corrected" if entry.latest is not entry.event else "         "
            click.echo(f"{entry.event.seq:>5} {sign} {entry.kind:<10} {_said(entry.body)}")
            if entry.struck:
                click.echo(
                    f"      struck by {plain(entry.struck.by or 'nobody named')}: {plain(entry.struck.body['reason'])}"
                )
        _files(read)
        for finding in read.book.findings:
            click.echo(f"  {finding.severity.value}: {plain(finding.sentence())}")
        kept = desk.kept_until(visit_id)
        click.echo(f"Kept until {kept.day or 'further notice'} at least. {kept.why}")
        click.echo(f"State: {read.head}")


def _files(read: Replayed) -> None:
    for event in read.events:
        if event.kind in ("photo", "file"):
            b = event.body
            click.echo(
                f"{event.seq:>5}           {event.kind:<10} {plain(b['caption'])} ({b['size']} bytes, {b['hash'][:12]}…)"
            )


def _said(body: dict[str, Any]) -> str:
    return ", ".join(f"{plain(k)} {_value(v)}" for k, v in body.items())


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return " and ".join(_value(v) for v in value)
    return plain(value)


@keep.command()
@click.argument("visit")
@click.argument("number", type=int)
@JOURNAL
def history(visit: str, number: int, journal: str) -> None:
    """History of one entry of a VISIT: NUMBER is what 'show' prints before it."""
    with opened(journal) as desk:
        events = desk.read(visit_named(desk, visit)).events
        if not 0 < number <= len(events):
            raise click.UsageError(f"The visit has events 1 to {len(events)}, not {number}.")
        event = events[number - 1]
        while event.about:  # a correction belongs to the history of what it corrects
            event = next(e for e in events if e.id == event.about)
        for change in desk.history(event.id):
            click.echo(f"{change.kept_at}  {plain(change.by or 'nobody named')}  {_did(change)}")
            click.echo(f"    {change.hash}")


def _did(event: Kept) -> str:
    if event.kind == "correct":
        return f"corrected to {_said(event.body['body'])}. Reason: {plain(event.body['reason'])}"
    if event.kind == "strike":
        return f"struck {event.about[:8]}. Reason: {plain(event.body['reason'])}"
    return f"entered {event.kind}: {_said(event.body)}"


@keep.command()
@click.argument("file", type=click.Path(path_type=Path))
@JOURNAL
def backup(file: Path, journal: str) -> None:
    """Copy the journal into a new FILE while it is in use, and check the copy."""
    from ..firm.copying import carry

    with opened(journal) as desk:
        count = desk.backup(file, also=lambda copy: carry(desk.store, copy))
        click.echo(f"{plain(file)}: {counted(count, 'event')}, checked. Last of the chain: {desk.store.head()[1]}")


@keep.command()
@click.argument("file", type=click.Path(path_type=Path))
@JOURNAL
def restore(file: Path, journal: str) -> None:
    """Bring a backup FILE into a new, empty journal."""
    from ..firm.copying import carry

    with opened(journal, create=True) as desk:
        count = desk.restore(file, also=lambda saved: carry(saved, desk.store))
        click.echo(f"{counted(count, 'event')} brought back. Last of the chain: {desk.store.head()[1]}")


@keep.command()
@click.argument("target", type=click.Path(path_type=Path))
@click.option(
    "--visit", default="", help="Only one visit: as a visit book, or handed over with photos and names as a .zip."
)
@click.option("--papers", is_flag=True, help="With the printed record (PDF) of every visit that can be judged.")
@REPLACE
@JOURNAL
def out(target: Path, visit: str, papers: bool, replace: bool, journal: str) -> None:
    """Write everything as open files into a new folder or .zip TARGET, or one visit as a visit book."""
    with opened(journal) as desk:
        if visit:
            free(target, replace=replace)
            named = visit_named(desk, visit)
            whole = target.suffix.lower() == ".zip"
            write(target, desk.hand_over(named) if whole else desk.as_visit_book(named).encode(), replace=replace)
            return
        manifest = desk.export(target, papers=desk.paper_of if papers else None)
        click.echo(
            f"{plain(target)}: {counted(manifest['events'], 'event')}, {counted(len(manifest['files']), 'file')}. Last of the chain: {manifest['head']}"
        )


@keep.command(name="next")
@click.argument("visit")
@click.option("--date", default="", help="Day of the new visit, e.g. 2026-11-25; today when left out.")
@BY
@JOURNAL
def next_(visit: str, date: str, by: str, journal: str) -> None:
    """Begin the next visit from what stood at a VISIT: parts, circuits, lengths; never readings."""
    try:
        day = dt.date.fromisoformat(date) if date and date.isascii() else None
    except ValueError:
        day = None
    if date and day is None:
        raise click.UsageError(f"--date: expected a day such as 2026-11-25, found '{plain(date)}'.")
    with opened(journal) as desk:
        old = visit_named(desk, visit)
        before = next(v.date for v in desk.visits() if v.id == old)
        if day is not None and before and day.isoformat() < before:
            raise click.UsageError(f"--date: {day} is before {plain(before)}, the day of the visit that it follows.")
        new = desk.next_visit(old, day or "", by=by)
        taken = len(desk.read(new).entries) - 1
        click.echo(f"Begun as visit {new} with {counted(taken, 'entry', 'entries')} taken over.")
        click.echo(
            f"Readings are new each time. As a visit book: earthwright keep out {new[:8]}.toml --visit {new[:8]}"
        )


@keep.command()
@click.argument("old")
@click.argument("new")
@JOURNAL
def compare(old: str, new: str, journal: str) -> None:
    """Compare two visits to one site: what changed, and which readings moved beyond the instruments."""
    with opened(journal) as desk:
        from ..desk.last_visit import same_place

        ids = visit_named(desk, old), visit_named(desk, new)
        if ids[0] == ids[1]:
            raise click.UsageError("This is one visit and not two. See: earthwright keep list")
        lines = {v.id: v for v in desk.visits()}
        a, b = (lines[i] for i in ids)
        click.echo(f"{plain(a.place)}, {plain(a.date)} → {plain(b.place)}, {plain(b.date)}")
        if same_place(a.place) != same_place(b.place):
            click.echo("The places differ. What follows holds only if these are two names of one site.")
        found = desk.compare(*ids)
        if not found.changes and not found.rows:
            click.echo("Nothing is entered otherwise, and nothing was measured at either visit.")
        for c in found.changes:
            said = f"{plain(c.key)} {plain(c.old or 'nothing')} → {plain(c.new or 'nothing')}" if c.key else ""
            click.echo(f"{c.what}: {c.kind} {plain(c.name)} {said}".rstrip())
        for r in found.rows:
            was, now = ("; ".join(s.shown) if s else "not measured" for s in (r.old, r.new))
            place = f" at {plain(r.point)}" if r.point else ""
            click.echo(f"{called(r.test)} of {plain(r.of)}{place}: {plain(was)} → {plain(now)}, {r.verdict}. {r.why}")


@keep.command()
@click.argument("visit")
@click.option("--by", required=True, help="Name of the person who decides; it stays in the journal.")
@click.option("--reason", required=True, help="Why, e.g. 'asked for by the client'.")
@click.option(
    "--field", "fields", multiple=True, help="Only these fields, e.g. client; the client's all when left out."
)
@click.option("--keep-files", is_flag=True, help="Leave photos and files where they are.")
@click.option(
    "--everywhere", is_flag=True, help="Erase in every other visit that holds the same person or home as well."
)
@click.confirmation_option(prompt="Names, addresses and files of this visit go for good. Go on?")
@JOURNAL
def erase(
    visit: str, by: str, reason: str, fields: tuple[str, ...], keep_files: bool, everywhere: bool, journal: str
) -> None:
    """Take the client's personal data of a VISIT out, signed. What was measured stays, and so does the chain.

    Other visits that hold the same person or home are named; with --everywhere it is erased there too.
    """
    from ..desk.erasure import CLIENT

    with opened(journal) as desk:
        first, wanted = visit_named(desk, visit), fields or CLIENT
        others = desk.same_person(first, wanted)  # asked before: afterwards nobody knows what to look for
        for visit_id in (first, *(o.visit for o in others if everywhere)):
            kept = desk.erase(visit_id, reason, by, fields=wanted, files=not keep_files)
            click.echo(
                f"Visit {visit_id[:8]}: {counted(len(kept.body['keys']), 'name or address', 'names and addresses')} and {counted(len(kept.body['files']), 'file')} erased by {plain(by)}."
            )
        for other in () if everywhere else others:
            held = ", ".join(plain(f) for f in other.fields)
            click.echo(
                f"Visit {other.visit[:8]} holds the same ({held}). To erase it there as well: earthwright keep erase {other.visit[:8]}"
            )
        click.echo("What stands in remarks and other free text is not looked into.")
        click.echo("Backups and exports made before still hold them.")
        click.echo(f"State: {kept.hash}")


@keep.command()
@click.option("--prefix", default="earthwright", show_default=True, help="What the names of the roles begin with.")
@click.option("--reader", default="", help="Only this: let this login of a reader see --visit.")
@click.option("--visit", default="", help="The visit that --reader may see (the beginning of its id).")
@JOURNAL
def roles(prefix: str, reader: str, visit: str, journal: str) -> None:
    """Make the roles of an office's journal in PostgreSQL: owner, application, eraser, reader, server.

    Ask it as a superuser, or as the owner of the journal. The application then owns no table and changes nothing, who acted
    is the login, and a reader sees only the visits that it was given.
    """
    from ..firm.tables import grant, is_there
    from ..records.roles import let_in, make_roles

    if bool(reader) != bool(visit):
        raise click.UsageError("--reader and --visit belong together.")
    with opened(journal) as desk:
        if reader:
            visit_id = visit_named(desk, visit)
            let_in(desk.store, reader, visit_id)
            click.echo(f"{plain(reader)} may see visit {visit_id}.")
            return
        made = make_roles(desk.store, prefix)
        if is_there(desk.store):
            grant(desk.store, made)
        for kind, name in made.items():
            click.echo(f"{kind:<12} {name}")
        click.echo(f"Put each person's login into one of them: GRANT {made['application']} TO login;")
