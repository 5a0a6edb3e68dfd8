"""``earthwright keep check`` and ``keep witness``: the journal held against what left the house."""

from __future__ import annotations

import datetime as dt
import os
import sys
from pathlib import Path

import click

from ..base.counted import counted
from .exits import Exit, FileTrouble
from .files import read_bytes
from .keep import JOURNAL, keep, opened, plain

LARGEST_CERTIFICATE = 1_000_000


@keep.command()
@click.argument("known", nargs=-1)
@click.option(
    "--witness",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A paper (PDF), export, backup or witness file that was kept; more may follow.",
)
@click.option(
    "--trust", multiple=True, type=click.Path(path_type=Path), help="Certificate of a time stamp server you trust."
)
@JOURNAL
def check(known: tuple[str, ...], witness: tuple[Path, ...], trust: tuple[Path, ...], journal: str) -> None:
    """Check the whole journal; KNOWN hashes, as printed on documents, must be in it.

    With --witness it is held against files that were kept elsewhere: whether it was rolled back, cut or chained anew since.
    """
    files = [*witness, *(Path(k) for k in known if witness and os.path.exists(k))]
    hashes = [k for k in known if not (witness and os.path.exists(k))]
    with opened(journal) as desk:
        from ..desk.anchors import check as held_against
        from ..desk.anchors import read_anchor, stamp_findings

        anchors = [read_anchor(path) for path in files]
        found = held_against(desk, hashes, anchors)
        stamps = list(stamp_findings(anchors, [read_bytes(p, LARGEST_CERTIFICATE) for p in trust]))
    for finding in (*found.faults, *found.notes, *stamps):
        click.echo(f"{finding.severity.value}: {plain(finding.sentence())}")
    for hash_, where in found.found:
        click.echo(f"{plain(hash_)}: {plain(where)}")
    bad = {f.where for f in found.faults}
    for a in anchors:
        if a.source not in bad:
            for head in a.heads:
                click.echo(f"{plain(a.source)}: event {head.no} is the one it was; all up to it is unchanged.")
    done = f"{counted(found.events, 'event')} and {counted(found.files, 'file')} worked out again"
    if not found.whole or any(s.severity.value == "error" for s in stamps):
        click.echo(f"Not whole: {done}.")
        sys.exit(Exit.FOUND)
    click.echo(f"Whole: {done}. Last of the chain: {found.head or 'nothing yet'}")
    if not anchors:
        click.echo(
            "Only what is kept elsewhere can tell later whether the end is missing: earthwright keep witness FILE"
        )


@keep.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--stamp", default="", metavar="URL", help="Have it time stamped by this server (RFC 3161); only the hash is sent."
)
@JOURNAL
def witness(file: Path, stamp: str, journal: str) -> None:
    """Add the last event of the journal to a witness FILE, to be kept somewhere else than the journal."""
    with opened(journal) as desk:
        from ..desk.anchors import WITNESS, witness_line

        no, head = desk.store.head()
        if not no:
            raise click.UsageError("The journal is empty: there is nothing to witness yet.")
        if not desk.verify().whole:
            click.echo("The journal is not whole, so nothing was written. See: earthwright keep check", err=True)
            sys.exit(Exit.FOUND)
        if file.exists() and file.stat().st_size and WITNESS.encode() not in read_bytes(file, 200):
            raise click.UsageError(f"{plain(file)} is there already and is no witness file. Name another file.")
        token = b""
        if stamp:
            from ..paper.stamp import stamped

            token = stamped(head, stamp)
        now = dt.datetime.now(dt.UTC).isoformat(timespec="seconds")
        try:
            with file.open("a", encoding="utf-8") as out:
                out.write(witness_line(no, head, now, token, stamp))
        except OSError as error:
            raise FileTrouble(f"{plain(file)}: cannot be written: {error.strerror}.") from error
    click.echo(f"{plain(file)}: event {no}, {head}{', time stamped' if token else ''}.")
    click.echo("Keep it where whoever can write the journal cannot. Later: earthwright keep check --witness FILE")
