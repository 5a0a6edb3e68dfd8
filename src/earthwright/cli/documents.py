"""Commands that make documents: paper, observations, deadlines."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path

import click

from ..base.counted import counted
from ..paper.kinds import DOCUMENTS as NAMES
from ..report.coding import edition_if_any
from ..rules import RuleBook, clause_of
from ..site.inspection import ITEMS
from ..site.particulars import NO_CODE
from ..visitbook.write import toml_text
from .exits import Exit
from .files import OUT, REPLACE, write
from .main import main
from .picture import photos_beside
from .screen import paragraph
from .visits import VISIT, done, needed


@main.command()
@VISIT
@OUT
@click.option("--document", type=click.Choice(NAMES), default=NAMES[0], show_default=True, help="Which document.")
@click.option("--draft", is_flag=True, help="Print it although something is missing, with a watermark and the list.")
@REPLACE
def paper(visit: Path, output: Path, document: str, draft: bool, replace: bool) -> None:
    """Print a document of a visit as PDF, with its record inside."""
    from ..paper.documents import NotIssued, make_document

    a = needed(visit)
    try:
        book = visit.read_text(encoding="utf-8-sig")
        content = make_document(a, document, book=book, draft=draft, photos=photos_beside(visit, a.visit))
    except NotIssued as refused:
        click.secho(
            f"{document}: not issued, {counted(len(refused.missing), 'entry', 'entries')} missing.", bold=True, err=True
        )
        for m in refused.missing:
            click.echo(f"  - {m.sentence()}", err=True)
        click.echo("Enter them, or print a draft with --draft.", err=True)
        sys.exit(Exit.REFUSED)
    write(output, content, replace=replace)
    sys.exit(done(a))


@main.command()
@click.argument("visit", type=click.Path(path_type=Path), required=False)
@click.option("--items", is_flag=True, help="List the inspection items by the names they are entered under.")
@click.option("--entries", is_flag=True, help="The proposals as entries to paste into the visit book.")
def observe(visit: Path | None, items: bool, entries: bool) -> None:
    """Observations of a visit: codes proposed and why, what was decided, where each stands."""
    if items:
        a = needed(visit) if visit else None
        edition = edition_if_any(a) if a else RuleBook.load().wiring_for(dt.date.today())
        for item in ITEMS:
            click.echo(
                f"{item.id:<22} {item.words}  ({'; '.join(x for x in (item.group, clause_of(edition, item.rule)) if x)})"
            )
        return
    if visit is None:
        raise click.UsageError("Name a visit book, or ask for --items.")
    from ..report.observations import overall, threads, unanswered

    a = needed(visit)
    left = unanswered(a)
    if entries:
        for p in left:
            click.echo(
                f"\n[[observation]]\nabout = {toml_text(p.about)}\nanswers = {toml_text(p.name)}\nwhat = {toml_text(p.what)}\n"
                f'where = {toml_text(p.where)}\ncode = ""  # {p.code} is proposed; {p.basis}'
            )
        sys.exit(done(a))
    for t in threads(a):
        o = t.observation
        click.echo()
        counts = "" if t.counts or o.code == NO_CODE else ", no longer counts"
        click.secho(f"{o.id}  {o.code or 'no code yet'}  {o.what}", bold=True)
        paragraph(f"{o.where or 'no place entered'}; {t.stage} since {t.since}{counts}.")
        if t.proposed:
            differs = f" The inspector chose {o.code}: {o.reason or 'no reason is entered'}." if t.differs else ""
            paragraph(f"{t.proposed} was proposed ({t.proposals[0].basis}).{differs}")
        for fault in t.faults:
            paragraph(fault)
    for p in left:
        click.echo()
        click.secho(f"proposed  {p.code}  {p.what}", bold=True)
        paragraph(" ".join(x if x.endswith((".", "?")) else f"{x}." for x in p.because))
        paragraph(
            f"Rests on: {p.basis}. Clause: {p.clause or 'none'}. To answer it: about = {toml_text(p.about)}, answers = {toml_text(p.name)}"
        )
    o_all = overall(a)
    click.echo()
    click.secho(f"Going by the codes: {o_all.proposed or 'not decided'} ({o_all.because}).", bold=True)
    click.echo(
        f"The inspector: {o_all.decided or 'has not decided yet'}." + (f" {o_all.reason}" if o_all.reason else "")
    )
    if left:
        click.echo(f"{counted(len(left), 'suggested code')} not taken up or dismissed yet.")
    sys.exit(done(a))


@main.command()
@VISIT
@click.option("--ics", type=click.Path(path_type=Path), help="Write them as a calendar (iCalendar) too.")
@REPLACE
def deadlines(visit: Path, ics: Path | None, replace: bool) -> None:
    """What is due by when after a visit, by which law, as a list and a calendar."""
    from ..report.duties import calendar, duties

    a = needed(visit)
    found = duties(a)
    for d in found.due:
        memory = "; from memory, check it" if d.memory else ""
        left = (d.last_day - dt.date.today()).days
        when = f"in {left} days" if left > 0 else "today" if left == 0 else f"{-left} days ago"
        if d.now:
            click.secho(f"NOW  {d.what}", bold=True, fg="red")
        else:
            click.secho(f"{d.last_day}  {d.what}  ({when})", bold=True)
        paragraph(f"Counted {d.counted}. Source: {d.source}{memory}." + (f" {d.note}." if d.note else ""))
    if not found.due:
        click.echo("Nothing is due by a date.")
    for line in (*found.acts, *found.undated, *found.said):
        paragraph(f"- {line}", indent="", hang="  ")
    if ics is not None:
        write(ics, calendar(a.visit, found).encode("utf-8", "replace"), replace=replace)
    sys.exit(done(a))
