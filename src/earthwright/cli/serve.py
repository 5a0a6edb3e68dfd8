"""``earthwright serve``: the pages on this machine, for its own browser or, with a pass phrase, for others."""

from __future__ import annotations

import ipaddress
import os
import socket
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from .exits import Exit
from .main import main

if TYPE_CHECKING:
    from ..web.settings import Settings
    from .workers import Choices, Workers

PHRASE = "EARTHWRIGHT_PASS_PHRASE"


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
@click.option(
    "--name",
    "names",
    multiple=True,
    help="Name under which others ask for the pages through a proxy on this machine, e.g. visits.example.",
)
@click.option("--blind", is_flag=True, help="Show what a reading should be only after it was taken.")
@click.option("--portfolio", default="", help="Folder of the tables of many homes: shows their pages at /portfolio/.")
@click.option("--demo/--no-demo", default=True, show_default=True, help="Have the demo visit ready.")
@click.option(
    "--certificate", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="Certificate for HTTPS (PEM)."
)
@click.option("--key", type=click.Path(exists=True, dir_okay=False, path_type=Path), help="Its private key (PEM).")
@click.option(
    "--phone",
    "folder",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="Hand out this folder, made by ./run phone, and no pages; with --journal phones send and fetch there as well.",
)
@click.option(
    "--from",
    "origins",
    multiple=True,
    help="Address of a phone's folder handed out elsewhere, e.g. https://phone.example: its phones may send here.",
)
def serve(
    journal: str,
    host: str,
    port: int,
    names: tuple[str, ...],
    blind: bool,
    portfolio: str,
    demo: bool,
    certificate: Path | None,
    key: Path | None,
    folder: Path | None,
    origins: tuple[str, ...],
) -> None:
    """Open the pages on this machine, with the journal beside them. No account, nothing sent anywhere.

    A journal that has a firm (``earthwright firm begin``) asks everybody to sign in. Otherwise, for other machines give --host, or --name behind a proxy; then a pass phrase of at least 12 characters is needed in the
    environment variable EARTHWRIGHT_PASS_PHRASE, and HTTPS, because on the way it could be read.
    """
    from ..records import JournalError
    from ..sync.carried import address_of
    from ..web.settings import Settings
    from .workers import Choices, Workers, open_once

    here = is_loopback(host)
    if key is not None and certificate is None:
        raise click.UsageError("--key is the private key of a --certificate; give both.")
    scheme = "https" if certificate else "http"
    listen: dict[str, Any] = {
        "host": host,
        "port": port,
        "names": names,
        "ssl_certfile": certificate,
        "ssl_keyfile": key,
    }
    own = ("localhost", "127.0.0.1", "[::1]", host)
    hosts = (*own, *(n.lower() for n in names)) if here else ()
    try:
        allowed = tuple(address_of(o) for o in origins)
    except JournalError as error:
        raise click.UsageError(f"--from: {error}") from error
    if folder is not None:
        named = click.get_current_context().get_parameter_source("journal") is ParameterSource.COMMANDLINE
        office = _office(Choices(journal, origins=allowed), Settings(hosts=hosts, origins=allowed)) if named else None
        _hand_out(folder, here or bool(names), scheme, office, **listen)
        return
    # Behind a proxy the name alone leads here; a certificate of our own is met at our own port.
    at = "" if here or port == 443 else f":{port}"
    phone = f"https://{names[0].lower()}{at}/" if names else "" if here else f"{scheme}://{_for_others(host)}{at}/"
    try:
        choices = open_once(Choices(journal, blind, portfolio, phone, origins=allowed), demo)
    except JournalError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.JOURNAL)
    phrase = "" if choices.firm or (here and not names) else _phrase_for(names[0] if names else host)
    if not here and certificate is None and not names:
        click.secho(
            "Without HTTPS the pass phrase and every entry can be read on the way. Give --certificate and --key, or "
            "stand behind a server that has them.",
            fg="yellow",
            err=True,
        )
    settings = Settings(blind=blind, pass_phrase=phrase, hosts=hosts, origins=allowed)
    shown = f"[{host}]" if ":" in host else host
    click.echo(f"{scheme}://{shown}:{port}/  (journal: {journal}; stop with Ctrl-C)")
    if phone:
        click.echo(f"On a phone: {phone}  (its QR code stands on the first page)")
    _listen(Workers(choices, settings), **listen)


def _office(choices: Choices, settings: Settings) -> Workers:
    """What answers the devices that send to a journal."""
    from ..records import JournalError
    from .workers import Workers, open_once

    try:
        return Workers(open_once(choices, demo=False), settings)
    except JournalError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.JOURNAL)


def _hand_out(folder: Path, fit: bool, scheme: str, office: Workers | None, **listen: Any) -> None:
    """The program for phones, as files. ``fit``: on this machine, or behind a server that has a certificate."""
    from .handout import handed_out, is_phone

    if not is_phone(folder):
        raise click.UsageError(
            f"{folder} was not made by ./run phone: it has no sw.js. Make it: ./run phone --out {folder}"
        )
    if scheme == "http" and not fit:
        click.secho(
            "A phone installs it only over HTTPS: give --certificate and --key, see docs/phone.md.",
            fg="yellow",
            err=True,
        )
    host = _for_others(listen["host"])
    click.echo(f"The program for phones: {scheme}://{host}:{listen['port']}/  (stop with Ctrl-C)")
    _listen(handed_out(folder, office), **listen)


def _listen(app: Any, *, host: str, port: int, names: tuple[str, ...], **more: Any) -> None:
    import uvicorn

    from ..base import limits
    from .listener import careful

    config = uvicorn.Config(
        app,
        host=host,
        port=port,
        http=careful(frozenset({"127.0.0.1", "::1"} if names else ())),
        ws="none",
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=bool(names),  # else anybody on this machine could choose an address to guess from
        h11_max_incomplete_event_size=65536,
        timeout_keep_alive=limits.IDLE.most,
        **more,
    )
    uvicorn.Server(config).run()


def _for_others(host: str) -> str:
    """How others on this network call this machine, when it listens on all its addresses; nothing is sent to find it."""
    if host not in ("0.0.0.0", "::"):
        return f"[{host}]" if ":" in host else host
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("10.254.254.254", 9))  # any address: UDP sends nothing yet, the machine only picks its own
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()


def _phrase_for(host: str) -> str:
    """The pass phrase, which is needed where others can reach the pages."""
    from ..web.phrase import SHORTEST, unfit

    phrase = os.environ.get(PHRASE, "").strip()
    if why := unfit(phrase):
        raise click.UsageError(
            f"{host} can be reached from other machines. Set a pass phrase of at least {SHORTEST} characters in "
            f"{PHRASE} ({why}); every visitor is asked for it. HTTPS is needed too: give --certificate and --key, or stand "
            "behind a server that has them."
        )
    return phrase
