"""``earthwright sync`` and ``earthwright device``: this journal together with an office's, and who may send to it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from ..base.counted import counted
from ..records import JournalError
from .exits import FileTrouble
from .keep import JOURNAL, opened, plain
from .main import main

TOKEN = "EARTHWRIGHT_TOKEN"
STAYS = ("demo-visit",)


@main.command()
@click.argument("address", required=False, default="")
@click.option("--token", envvar=TOKEN, default="", help=f"Token that the office gave, once; better in {TOKEN}.")
@click.option("--fetch", "wanted", multiple=True, help="Id of a visit of the office to fetch, and to keep up with.")
@click.option(
    "--certificate",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Own authority's certificate (PEM).",
)
@JOURNAL
def sync(address: str, token: str, wanted: tuple[str, ...], certificate: Path | None, journal: str) -> None:
    """Send what waits to the office at ADDRESS, and fetch what it has more. ADDRESS and token are remembered."""
    from ..sync.carried import begun
    from ..sync.names import office, want
    from .office_line import go

    with opened(journal) as desk:
        try:
            known = office(desk.store)
            if known is None or address or token:
                known = begun(desk.store, address or (known.address if known else ""), token)
            for visit in wanted:
                want(desk.store, visit)
            done = go(desk.store, known, STAYS, certificate)
        except JournalError as error:
            raise FileTrouble(str(error)) from error
        click.echo(f"Sent: {done.sent}. Fetched: {done.fetched}.")
        if abs(done.ahead_ms) > 120_000:
            way = "ahead of" if done.ahead_ms > 0 else "behind"
            click.echo(f"This clock is {abs(done.ahead_ms) // 60_000} minutes {way} the office's. Put it right.")
        from ..sync.names import several_wrote

        for visit in several_wrote(desk.store):
            count = sum(e.contested for e in desk.read(visit).entries)
            if count:
                click.echo(
                    f"Visit {visit[:8]}: two wrote {counted(count, 'entry', 'entries')} unknown to each other. Choose on its pages."
                )


@main.group()
def device() -> None:
    """Which devices may send to this journal: let one in, list them, take a token back."""


@device.command()
@click.argument("name")
@click.option("--login", default="", help="Whose it is, where people sign in: it may do what they may.")
@JOURNAL
def add(name: str, login: str, journal: str) -> None:
    """Let a device in; prints the token that is typed there once."""
    from ..sync.names import let_in

    with opened(journal, create=True) as desk:
        person = _person(desk, login)
        try:
            token = let_in(desk.store, name, dt.datetime.now(dt.UTC), person)
        except JournalError as error:
            raise FileTrouble(str(error)) from error
    click.echo(f"Type this on the device, on its page Office. It stands nowhere else:\n{token}")


def _person(desk: object, login: str) -> str:
    from ..desk import Desk
    from ..firm import Firm, is_there

    assert isinstance(desk, Desk)
    if not is_there(desk.store):
        if login:
            raise FileTrouble("Nobody signs in at this journal: leave --login away.")
        return desk.store.login
    found = Firm(desk).people.named(login) if login else None
    if found is None or found.gone:
        raise FileTrouble("People sign in at this journal: say with --login whose device it is.")
    return found.id


@device.command(name="list")
@JOURNAL
def list_(journal: str) -> None:
    """The devices that may send."""
    from ..sync.names import devices

    with opened(journal) as desk:
        for one in devices(desk.store):
            click.echo(f"{one.number}  {one.since[:10]}  {plain(one.name)}")


@device.command()
@click.argument("number")
@JOURNAL
def remove(number: str, journal: str) -> None:
    """Take a device's token back, by the number in the list. What it sent stays."""
    from ..sync.names import shut_out

    with opened(journal) as desk:
        try:
            click.echo(f"Shut out: {plain(shut_out(desk.store, number))}")
        except JournalError as error:
            raise FileTrouble(str(error)) from error
