"""The rule data on the terminal: editions with their days, what is from memory, what is covered."""

from __future__ import annotations

import datetime as dt

import click

from ..report.rulebook import coverage, coverage_page, editions_of_day, from_memory, memory_page
from ..rules import RuleBook
from .main import main
from .screen import paragraph


@main.command()
@click.option("--memory", is_flag=True, help="Every value from memory, and what would settle it.")
@click.option("--coverage", "covered", is_flag=True, help="What an inspection asks: judged, asked of you, not covered.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="The day whose rules are meant; today without it.")
@click.option("--page", is_flag=True, help="As Markdown.")
def rules(memory: bool, covered: bool, on: dt.datetime | None, page: bool) -> None:
    """The rule data: editions and their days, what is from memory, what is covered."""
    book, day = RuleBook.load(), on.date() if on else dt.date.today()
    if memory and covered:
        raise click.UsageError("Ask for --memory or for --coverage.")
    if page and not (memory or covered):
        raise click.UsageError("--page goes with --memory or with --coverage.")
    if page:
        lines = memory_page(book, day) if memory else coverage_page(book.wiring_for(day))
        click.echo("\n".join(lines))
    elif memory:
        for m in from_memory(editions_of_day(book, day)):
            click.secho(f"{m.edition}, {m.title} ({m.count} of {m.of})", bold=m.drives)
            paragraph(f"{'; '.join(m.values)}. Settled by: {m.settled_by}.")
    elif covered:
        for a in coverage(book.wiring_for(day)):
            paragraph(f"{a.how}: {a.what}" + (f" ({a.clause})" if a.clause else ""), indent="", hang="  ")
    else:
        for e in book.editions:
            until = e.withdrawn or "open"
            count = sum(m.count for m in from_memory([e]))
            click.echo(f"{e.in_force} to {until}  {e.title}  ({len(e.tables)} tables, {count} values from memory)")
        click.echo("Reviewed until " + ", ".join(sorted({str(e.reviewed_until) for e in book.editions})) + ".")
