"""``earthwright serve``: the pages on this machine, for its own browser or, with a pass phrase, for others."""

from __future__ import annotations

import ipaddress
import os
import sys
from pathlib import Path

import click

from .exits import Exit, FileTrouble
from .main import main

PHRASE = "EARTHWRIGHT_PASS_PHRASE"
SHORTEST = 12


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach an address."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


@main.command()
@click.option(
    "--journal",
    default="journal.sqlite",
    show_default=True,
    help="File of the journal, or postgresql://… of an office.",
)
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Address to listen on; only this machine unless told otherwise.",
)
@click.option("--port", type=click.IntRange(1, 65535), default=8123, show_default=True)
@click.option("--blind", is_flag=True, help="Show what a reading should be only after it was taken.")
@click.option("--demo/--no-demo", default=True, show_default=True, help="Have the demo visit ready.")
@click.option(
    "--certificate", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="Certificate for HTTPS (PEM)."
)
@click.option("--key", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="Its private key (PEM).")
def serve(
    journal: str, host: str, port: int, blind: bool, demo: bool, certificate: Path | None, key: Path | None
) -> None:
    """Open the pages on this machine, with the journal beside them. No account, nothing sent anywhere.

    For other machines give --host; then a pass phrase of at least 12 characters is needed in the environment variable
    EARTHWRIGHT_PASS_PHRASE, and HTTPS, because on the way it could be read.
    """
    phrase = os.environ.get(PHRASE, "")
    if not is_loopback(host):
        if len(phrase) < SHORTEST:
            raise click.UsageError(
                f"{host} can be reached from other machines. Set a pass phrase of at least {SHORTEST} characters in "
                f"{PHRASE}; every visitor is asked for it. HTTPS is needed too: give --certificate and --key, or stand "
                "behind a server that has them. Phones keep their offline pages only over HTTPS."
            )
        if certificate is None:
            click.secho(
                "Without HTTPS the pass phrase and every entry can be read on the way. Give --certificate and --key, or "
                "stand behind a server that has them.",
                fg="yellow",
                err=True,
            )
    try:
        import uvicorn

        from ..desk import Desk
        from ..web import make_app
        from ..web.settings import Settings
        from ..web.views.visits import demo_visit
    except ModuleNotFoundError as error:
        raise FileTrouble(f"The pages need the extras 'web' and 'store' ({error.name} is not installed).") from error
    from ..records import JournalError
    from .sums import single_sums

    try:
        desk = Desk(journal)
        if demo:
            demo_visit(desk)
    except JournalError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.JOURNAL)
    here = is_loopback(host)
    settings = Settings(
        blind=blind,
        pass_phrase="" if here else phrase,
        hosts=("localhost", "127.0.0.1", "[::1]", host) if here else (),
        sums=single_sums(),
    )
    app = make_app(desk, settings)
    scheme = "https" if certificate else "http"
    shown = f"[{host}]" if ":" in host else host
    click.echo(f"{scheme}://{shown}:{port}/  (journal: {journal}; stop with Ctrl-C)")
    config = uvicorn.Config(
        app,
        host=host,
        port=port,
        log_level="warning",
        access_log=False,
        server_header=False,
        ssl_certfile=certificate,
        ssl_keyfile=key,
        h11_max_incomplete_event_size=65536,
    )
    try:
        uvicorn.Server(config).run()
    finally:
        desk.close()
