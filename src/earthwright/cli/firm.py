"""``earthwright firm``: the people who sign in at a journal that many share."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from .exits import FileTrouble
from .keep import JOURNAL, opened, plain
from .main import main

if TYPE_CHECKING:
    from ..firm import Firm

BY = "the keeper of the server"


@main.group()
def firm() -> None:
    """The people of a firm: begin with accounts, let somebody in, see who there is, let somebody go.

    Once a journal has a firm, ``serve`` asks everybody to sign in, and who acted comes from the login.
    """


@contextmanager
def _firm(journal: str) -> Iterator[Firm]:
    from ..firm import Firm, is_there
    from ..firm.people import Refused

    with opened(journal) as desk:
        if not is_there(desk.store):
            raise FileTrouble("This journal has no firm yet. Begin with: earthwright firm begin NAME")
        try:
            yield Firm(desk)
        except Refused as error:
            raise FileTrouble(str(error)) from error


@firm.command()
@click.argument("name")
@click.option("--address", default="", help="Address of the pages, e.g. https://visits.example.")
@JOURNAL
def begin(name: str, address: str, journal: str) -> None:
    """Begin: from now on everybody signs in. NAME is the first qualified supervisor, who lets the others in."""
    from ..firm import Firm, is_there
    from ..firm.rights import SUPERVISOR
    from ..firm.tables import make

    with opened(journal, create=True) as desk:
        if is_there(desk.store):
            raise FileTrouble("This journal has a firm already. Let somebody in with: earthwright firm invite NAME")
        make(desk.store)
        _said(Firm(desk).people.invite(name, SUPERVISOR, BY), address)


@firm.command()
@click.argument("name")
@click.option(
    "--role", default="inspector", show_default=True, help="inspector, 'qualified supervisor', office, client or erase."
)
@click.option("--mail", default="", help="Where reminders go.")
@click.option("--address", default="", help="Address of the pages, e.g. https://visits.example.")
@JOURNAL
def invite(name: str, role: str, mail: str, address: str, journal: str) -> None:
    """Let somebody in: prints an address that works once, for seven days."""
    with _firm(journal) as there:
        _said(there.people.invite(name, role, BY, mail), address)


def _said(key: str, address: str) -> None:
    click.echo(f"{address.rstrip('/')}/join/{key}")
    click.echo(
        "Send this address to the person alone. It works once, for seven days; the name cannot be changed later."
    )


@firm.command()
@JOURNAL
def people(journal: str) -> None:
    """Everybody with an account, those who left among them."""
    with _firm(journal) as there:
        for p in there.people.all():
            click.echo(
                f"{plain(p.login):<20} {plain(p.role):<22} {plain(p.name)}{f'  left {p.gone[:10]}' if p.gone else ''}"
            )


@firm.command()
@click.argument("login")
@JOURNAL
def leave(login: str, journal: str) -> None:
    """Somebody has left: they cannot act from now on, and what they did stays under their name."""
    with _firm(journal) as there:
        found = there.people.named(login)
        if found is None or found.gone:
            raise FileTrouble(f"There is no login '{plain(login)}' that is in use.")
        there.people.leave(found, BY)
        click.echo(f"{plain(found.name)} has left.")


@firm.command()
@click.option("--smtp", required=True, help="The firm's own mail server, HOST or HOST:PORT (465: TLS, else STARTTLS).")
@click.option("--sender", required=True, help="Address the reminders come from.")
@click.option("--login", default="", help="Login there; its password stands in EARTHWRIGHT_SMTP_PASSWORD.")
@click.option("--address", default="", help="Address of the pages, e.g. https://visits.example.")
@click.option("--plain", is_flag=True, help="No TLS: only for a mail server on this machine.")
@click.option("--look", is_flag=True, help="Print what would be sent, and send nothing.")
@JOURNAL
def remind(smtp: str, sender: str, login: str, address: str, plain: bool, look: bool, journal: str) -> None:
    """Write to everybody what falls due within two weeks, or is past its day. To be run once a day by a timer."""
    from ..firm.mail import by_smtp
    from ..firm.mail import remind as write

    host, _, port = smtp.partition(":")
    if port and not (port.isascii() and port.isdigit()):
        raise click.UsageError("--smtp is HOST or HOST:PORT.")
    send = by_smtp(host, int(port or 587), login, os.environ.get("EARTHWRIGHT_SMTP_PASSWORD", ""), plain=plain)
    with _firm(journal) as there:
        try:
            told = write(there, dt.date.today(), sender, address, click.echo if look else send)
        except OSError as error:
            raise FileTrouble(
                f"The mail server {smtp} could not be used: {error}. Not everybody was written to."
            ) from error
    click.echo(f"{len(told)} {'would be ' if look else ''}written to.")
